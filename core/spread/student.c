/* student.c - Student's t by the incomplete beta function. */
#include <math.h>

#include "heatledger/spread.h"

enum { TERMS_MOST = 2000, STEPS_MOST = 200 };

/* Continued fraction of the incomplete beta function, by Lentz's method as modified by Thompson and Barnett.
 * source: DLMF 8.17.22; converges fast for x < (a + 1) / (a + b + 2) */
static double beta_fraction(double a, double b, double x)
{
    const double tiny = 1e-300;
    double c = 1, d = 1 - (a + b) * x / (a + 1);
    d = 1 / (fabs(d) < tiny ? tiny : d);
    double value = d;
    for (int m = 1; m < TERMS_MOST; m++) {
        double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
        d = 1 + even * d;
        c = 1 + even / c;
        d = 1 / (fabs(d) < tiny ? tiny : d);
        c = fabs(c) < tiny ? tiny : c;
        value *= d * c;
        d = 1 + odd * d;
        c = 1 + odd / c;
        d = 1 / (fabs(d) < tiny ? tiny : d);
        c = fabs(c) < tiny ? tiny : c;
        value *= d * c;
        if (fabs(d * c - 1) < 1e-15) break;
    }
    return value;
}

/* log of Gamma for x > 0 without the global sign that lgamma keeps: Stirling's series after lifting x
 * above 15. source: DLMF 5.11.1; relative error below 1e-14 there */
static double log_gamma(double x)
{
    double lift = 0;
    while (x < 15) {
        lift += log(x);
        x += 1;
    }
    double s = 1 / (x * x);
    double series = (1.0 / 12 - s * (1.0 / 360 - s * (1.0 / 1260 - s * (1.0 / 1680 - s / 1188)))) / x;
    return (x - 0.5) * log(x) - x + 0.91893853320467274178 + series - lift;
}

/* Regularised incomplete beta function I_x(a, b).  source: DLMF 8.17.4, 8.17.22 */
static double beta_share(double a, double b, double x, double complement)
{
    if (x <= 0) return 0;
    if (complement <= 0) return 1;
    double front = exp(log_gamma(a + b) - log_gamma(a) - log_gamma(b) + a * log(x) + b * log(complement));
    if (x < (a + 1) / (a + b + 2)) return front * beta_fraction(a, b, x) / a;
    return 1 - front * beta_fraction(b, a, complement) / b;
}

/* Share beyond |x| on one side: 1/2 I_{v/(v+x^2)}(v/2, 1/2).  source: Abramowitz and Stegun 26.7.1.
 * So far out that the square has no number the tail falls as x^-v, the leading term of the same. */
static double upper_tail(double x, double freedom)
{
    const double far = 1e150;
    if (!(freedom < 1e10)) return 0.5 * erfc(x * M_SQRT1_2);
    if (x > far) return upper_tail(far, freedom) * pow(far / x, freedom);
    double square = x * x;
    return 0.5 * beta_share(freedom / 2, 0.5, freedom / (freedom + square), square / (freedom + square));
}

double hl_student_probability(double x, double freedom)
{
    if (!(freedom > 0) || isnan(x)) return NAN;
    double tail = upper_tail(fabs(x), freedom);
    return x < 0 ? tail : 1 - tail;
}

/* Density, for Newton's steps. */
static double density(double x, double v)
{
    return exp(log_gamma((v + 1) / 2) - log_gamma(v / 2) - 0.5 * log(v * M_PI) -
               (v + 1) / 2 * log1p(x * x / v));
}

/* |x| with this share beyond it, share < 1/2: Newton within a bracket that is halved where a step leaves it.
 */
static double from_tail(double tail, double freedom)
{
    double low = 0, high = 1;
    while (upper_tail(high, freedom) > tail && high < 1e300) {
        low = high;
        high *= high < 16 ? 2 : 16;
    }
    double x = fmin(high, fmax(low, -hl_normal_quantile(tail)));
    for (int step = 0; step < STEPS_MOST; step++) {
        double off = upper_tail(x, freedom) - tail;
        if (off > 0)
            low = x;
        else
            high = x;
        double next = x + off / density(x, freedom);
        if (!(next > low && next < high)) next = 0.5 * (low + high);
        if (fabs(next - x) <= 1e-14 * fabs(next)) return next;
        x = next;
    }
    return x;
}

double hl_student_quantile(double probability, double freedom)
{
    if (!(freedom > 0) || !(probability >= 0 && probability <= 1)) return NAN;
    if (probability == 0.5) return 0;
    if (probability == 0) return -HUGE_VAL;
    if (probability == 1) return HUGE_VAL;
    if (!(freedom < 1e10)) return hl_normal_quantile(probability);
    return probability < 0.5 ? -from_tail(probability, freedom) : from_tail(1 - probability, freedom);
}
