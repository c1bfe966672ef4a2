/* node_ring.h - where the node of a switching leg stands, and what it has lost, some time after the current
 * of its inductor has come to zero.
 *
 * The node's capacitance C = Q(U) / U then rings with the inductor: from the rail at which the current ended
 * about the place where it will rest, `swing` A away, towards the other rail, U away. The first half wave is
 * taken as lossless, u = A (1 - cos w t), w = (L C)^-1/2. Where it would pass the other rail, a diode there
 * holds it while the inductor gives its current back, A sin / (U - A) in angle, and a ring of U - A goes on.
 * What rings on, B about the rest, fades by exp(-w t / 2 Q), and what it has lost is (1 - fade^2) C B^2 / 2.
 * How many turns it has made is known but to a tenth of them, as L and C are; so the square of what is left
 * to swing is a mean over that, with E cos(n phi) = cos(n phi) exp(-n^2 s^2 / 2). source: textbook solution
 * of the L-C circuit; the mean by the characteristic function of the normal distribution; Q of ten and a
 * tenth are common practice, no source. docs/theory/buck.md */
#ifndef NODE_RING_H
#define NODE_RING_H

#include <math.h>
#include <stdbool.h>

static const double node_ring_quality = 10.0, node_ring_unsure = 0.1;

typedef struct node_ring {
    double left; /* V that the switch at the other rail still blocks, root of the mean square */
    double died; /* share of C A^2 / 2 that is lost */
} node_ring;

/* whole: U, V between the rails; swing: A, V; charge: Q(U), A s; idle: s since the current came to zero.
 * Without a charge or an inductance the node is at rest at once. */
static inline node_ring node_ring_after(double whole, double swing, double inductance, double charge,
                                        double idle)
{
    const double half_turn = 3.14159265358979324;
    double a = fmin(swing, whole), beyond = whole - a;
    if (!(a > 0.0 && idle > 0.0)) return (node_ring){whole, 0.0};
    if (!(charge > 0.0 && isfinite(charge) && inductance > 0.0)) return (node_ring){beyond, 1.0};
    bool held = beyond < a; /* by the diode at the other rail */
    double turn = idle / sqrt(inductance * charge / whole);
    double touch = held ? acos(1.0 - whole / a) : half_turn, ring = held ? beyond : a;
    if (turn <= touch) return (node_ring){whole - a * (1.0 - cos(turn)), 0.0};
    if (held) touch += a * sin(touch) / beyond; /* without end where it rests at that rail */
    if (turn <= touch) return (node_ring){0.0, 0.0};
    double on = turn - touch, fade = exp(-0.5 * on / node_ring_quality), s = node_ring_unsure * on;
    double once = cos(on) * exp(-0.5 * s * s), twice = cos(2.0 * on) * exp(-2.0 * s * s), b = ring * fade;
    double square = beyond * beyond - 2.0 * beyond * b * once + 0.5 * b * b * (1.0 + twice);
    return (node_ring){sqrt(fmax(square, 0.0)), (1.0 - fade * fade) * (ring / a) * (ring / a)};
}

/* J lost of what the capacitance of `charge` at `whole` volts has put into the ring. */
static inline double node_ring_loss(const node_ring *ring, double whole, double swing, double charge)
{
    if (!(charge > 0.0 && isfinite(charge) && swing > 0.0)) return 0.0;
    return 0.5 * ring->died * charge / whole * swing * swing;
}

#endif
