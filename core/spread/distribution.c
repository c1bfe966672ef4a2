/* distribution.c - quantiles, means and deviations of the shapes that knowledge of a value may have. */
#include <math.h>

#include "heatledger/spread.h"

/* The ends of an open-ended shape lie infinitely far out; a sample never needs them. */
static const double nearest_end = 1e-15;

/* The band's own normal quantile, so that there is one such routine. */
double hl_normal_quantile(double probability)
{
    if (!(probability >= 0 && probability <= 1)) return NAN;
    if (probability == 0) return -HUGE_VAL;
    if (probability == 1) return HUGE_VAL;
    static const hl_band standard = {.kind = HL_BAND_NORMAL, .sigma = 1};
    return hl_band_quantile(&standard, probability);
}

static bool makes_sense(const hl_distribution *d)
{
    const double *p = d->p;
    switch (d->shape) {
    case HL_SHAPE_FIXED:
        return isfinite(p[0]);
    case HL_SHAPE_UNIFORM:
    case HL_SHAPE_ARC_SINE:
        return p[0] <= p[1];
    case HL_SHAPE_TRIANGULAR:
        return p[0] <= p[1] && p[1] <= p[2];
    case HL_SHAPE_NORMAL:
        return isfinite(p[0]) && p[1] >= 0;
    case HL_SHAPE_LOG_NORMAL:
        return p[0] > 0 && p[1] >= 0;
    case HL_SHAPE_STUDENT:
        return isfinite(p[0]) && p[1] >= 0 && p[2] >= 1;
    case HL_SHAPE_INEXACT_UNIFORM:
        return p[0] <= p[1] && p[2] >= 0 && 2 * p[2] <= p[1] - p[0];
    }
    return false;
}

/* source: M. Evans, N. Hastings, B. Peacock, Statistical Distributions, 3rd ed., Wiley 2000 */
static double triangular(double low, double peak, double high, double share)
{
    double width = high - low;
    if (width == 0) return peak;
    if (share < (peak - low) / width) return low + sqrt(share * width * (peak - low));
    return high - sqrt((1 - share) * width * (high - peak));
}

/* Share that a uniform distribution with ends known to +-d only leaves beyond a distance r from its middle,
 * on one side.  w = half the width; density ln((w + d) / max(r, w - d)) / (4 d) between.
 * source: integral of JCGM 101:2008, 6.4.3.2 */
static double inexact_beyond(double r, double w, double d)
{
    if (r >= w + d) return 0;
    double inner = w - d, outer = w + d;
    double from = fmax(r, inner);
    /* integral of ln(outer / x) from `from` to outer */
    double slope = outer - from - (from > 0 ? from * log(outer / from) : 0);
    double flat = r < inner ? (inner - r) * log(outer / inner) : 0;
    return (slope + flat) / (4 * d);
}

static double inexact(double low, double high, double d, double share)
{
    double middle = 0.5 * (low + high), w = 0.5 * (high - low);
    if (d == 0) return low + share * (high - low);
    double tail = fmin(share, 1 - share), near = 0, far = w + d;
    for (int i = 0; i < 60; i++) {
        double r = 0.5 * (near + far);
        if (inexact_beyond(r, w, d) > tail)
            near = r;
        else
            far = r;
    }
    return share < 0.5 ? middle - near : middle + near;
}

double hl_distribution_quantile(const hl_distribution *distribution, double probability)
{
    const double *p = distribution->p;
    if (!makes_sense(distribution) || isnan(probability)) return NAN;
    double share = fmin(fmax(probability, nearest_end), 1 - nearest_end);
    switch (distribution->shape) {
    case HL_SHAPE_FIXED:
        return p[0];
    case HL_SHAPE_UNIFORM:
        return p[0] + share * (p[1] - p[0]);
    case HL_SHAPE_TRIANGULAR:
        return triangular(p[0], p[1], p[2], share);
    case HL_SHAPE_NORMAL:
        return p[0] + p[1] * hl_normal_quantile(share);
    case HL_SHAPE_LOG_NORMAL:
        return p[0] * exp(p[1] * hl_normal_quantile(share));
    case HL_SHAPE_STUDENT:
        return p[0] + p[1] * hl_student_quantile(share, p[2]);
    case HL_SHAPE_ARC_SINE: /* JCGM 101:2008, 6.4.6 */
        return 0.5 * (p[0] + p[1]) - 0.5 * (p[1] - p[0]) * cos(M_PI * share);
    case HL_SHAPE_INEXACT_UNIFORM:
        return inexact(p[0], p[1], p[2], share);
    }
    return NAN;
}

double hl_distribution_mean(const hl_distribution *distribution)
{
    const double *p = distribution->p;
    if (!makes_sense(distribution)) return NAN;
    switch (distribution->shape) {
    case HL_SHAPE_UNIFORM:
    case HL_SHAPE_ARC_SINE:
    case HL_SHAPE_INEXACT_UNIFORM:
        return 0.5 * (p[0] + p[1]);
    case HL_SHAPE_TRIANGULAR:
        return (p[0] + p[1] + p[2]) / 3;
    case HL_SHAPE_LOG_NORMAL:
        return p[0] * exp(0.5 * p[1] * p[1]);
    case HL_SHAPE_FIXED:
    case HL_SHAPE_NORMAL:
    case HL_SHAPE_STUDENT:
        break;
    }
    return p[0];
}

/* sources: JCGM 101:2008, 6.4 (uniform, inexact 6.4.3.3, arc sine 6.4.6.3, t 6.4.9.4); triangle and
 * log-normal as in M. Evans, N. Hastings, B. Peacock, Statistical Distributions, 3rd ed., Wiley 2000 */
double hl_distribution_deviation(const hl_distribution *distribution)
{
    const double *p = distribution->p;
    if (!makes_sense(distribution)) return NAN;
    switch (distribution->shape) {
    case HL_SHAPE_FIXED:
        return 0;
    case HL_SHAPE_UNIFORM:
        return (p[1] - p[0]) / sqrt(12);
    case HL_SHAPE_TRIANGULAR:
        return sqrt(
            fmax(0, p[0] * p[0] + p[1] * p[1] + p[2] * p[2] - p[0] * p[1] - p[0] * p[2] - p[1] * p[2]) / 18);
    case HL_SHAPE_NORMAL:
        return p[1];
    case HL_SHAPE_LOG_NORMAL:
        return p[0] * sqrt(exp(p[1] * p[1]) * expm1(p[1] * p[1]));
    case HL_SHAPE_STUDENT:
        return p[2] > 2 ? p[1] * sqrt(p[2] / (p[2] - 2)) : HUGE_VAL;
    case HL_SHAPE_ARC_SINE:
        return (p[1] - p[0]) / sqrt(8);
    case HL_SHAPE_INEXACT_UNIFORM:
        return sqrt((p[1] - p[0]) * (p[1] - p[0]) / 12 + p[2] * p[2] / 9);
    }
    return NAN;
}
