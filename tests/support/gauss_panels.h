/* gauss_panels.h - integrals to compare closed forms with. */
#ifndef GAUSS_PANELS_H
#define GAUSS_PANELS_H

/* Integral of f(of, s) for s from 0 to `length`: five-point Gauss on each of so many even panels.
 * source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, table 25.4 */
double gauss_panels(double (*f)(const void *of, double s), const void *of, double length, int panels);

#endif
