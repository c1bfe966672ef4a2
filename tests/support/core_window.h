/* core_window.h - the steady field of wires in the window of an E core, solved in two dimensions.
 *
 * Half of the core, planar: the middle of the inner leg at x = 0, the mid-plane at y = 0, air about it.
 *   d/dx (dA/dx / mu) + d/dy (dA/dy / mu) = -J,  A = 0 at x = 0 and far away, dA/dy = 0 at y = 0
 * by finite volumes on a grid of 0.1 mm, conjugate gradients. Knows nothing of sheets, walls and series.
 * source: K. J. Binns, P. J. Lawrenson, C. W. Trowbridge, The Analytical and Numerical Solution of Electric
 * and Magnetic Fields, 1992 */
#ifndef CORE_WINDOW_H
#define CORE_WINDOW_H

#include <stddef.h>

typedef struct core_window {
    double leg;                  /* m, half the inner leg */
    double depth, half_width;    /* m, of the window: from leg to leg, from the mid-plane to the yoke */
    double yoke, outer_leg;      /* m */
    double inner_gap, outer_gap; /* m, about the mid-plane */
    double permeability;         /* of the core, relative */
} core_window;

/* Currents (A) at x from the leg's surface and y > 0 (m, whole steps of the grid; their images below the
 * mid-plane carry the same): the square of the field without its own at each place, (A/m)^2. Fails the
 * running test when the solution does not settle. */
void core_window_squares(const core_window *window, size_t n, const double x[], const double y[],
                         const double current[], double square[]);

#endif
