/* figure_winding.h - wound parts whose pieces fit together, for kept figures: wire that fills its layers,
 * layers that fill their window, a core about it, a material of usual loss.  A part drawn anywhere in the
 * plausible box hardly ever has such, and then no field in its window. */
#ifndef FIGURE_WINDING_H
#define FIGURE_WINDING_H

#include "figure_part.h"

/* Is the model one that is built from windings? */
bool figure_winding_of(const hl_model *model);
/* The number-th such part of its model; false when none of many is accepted. */
bool figure_winding_draw(figure_part *part, size_t number);

#endif
