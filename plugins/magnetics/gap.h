/* gap.h - inductance of turns on a gapped core.
 *
 *   L = mu0 N^2 A / (gap / F + path / mu_r)
 * with F the widening of the gap by its fringing field: F = 1 + gap / sqrt(A) ln(2 G / gap), G the window
 * width (C. W. T. McLyman, Transformer and Inductor Design Handbook, 4th ed. 2011, ch. 8); where that is not
 * known F = (1 + gap / D)^2, D the diameter of a round leg of area A (L. H. Dixon, Magnetics Design Handbook,
 * 2001, section 5). Both for one gap of up to a fifth of the leg: 4 % against a field solution. */
#ifndef GAP_H
#define GAP_H

#include <math.h>

#include "copper.h"

static inline double gap_widening(double gap, double area, double window)
{
    const double pi = 3.14159265358979324;
    if (!(gap > 0.0)) return 1.0;
    if (2.0 * window > gap) return 1.0 + gap / sqrt(area) * log(2.0 * window / gap);
    double widened = 1.0 + gap / sqrt(4.0 * area / pi);
    return widened * widened;
}

/* H; infinite or NaN when neither gap nor path is known. */
static inline double gapped_inductance(double turns, double area, double path, double gap, double mu,
                                       double window)
{
    double length = gap / gap_widening(gap, area, window) + path / mu;
    return vacuum_permeability * turns * turns * area / length;
}

#endif
