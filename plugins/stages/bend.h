/* bend.h - where a chord stands for an exponential, and how the one hands over to the other. */
#ifndef BEND_H
#define BEND_H

/* How much of its bend a curve is drawn with that decays over x time constants: none up to `few` of them,
 * where its chord is near enough and is cheaper to take harmonics of; all from twice as many; between, in
 * proportion, so that no loss jumps at the border, as one did by 7e-4 of itself. */
static inline double bend_drawn(double x, double few)
{
    return !(x > few) ? 0.0 : x < 2.0 * few ? x / few - 1.0 : 1.0;
}

#endif
