/* band.c - how far a value may lie from its central one: shapes, quantiles, deviations. */
#include "catalogue/band.h"

#include <math.h>

/* 95 % quantile of the standard normal: a 90 % band reaches this many deviations either way. */
static const double reach_of_90_percent = 1.6448536269514722;

double band_reach(void)
{
    return reach_of_90_percent;
}

static double polynomial(const double coefficient[8], double x)
{
    double sum = coefficient[7];
    for (int i = 6; i >= 0; i--) sum = sum * x + coefficient[i];
    return sum;
}

/* Quantile of the standard normal, relative error about 1e-16 for 1e-300 < p < 1.
 * source: M. J. Wichura, Applied Statistics 37(3), 1988, pp. 477-484, algorithm AS 241, PPND16 */
static double normal_quantile(double p)
{
    static const double a[8] = {3.3871328727963666080e0,  1.3314166789178437745e+2, 1.9715909503065514427e+3,
                                1.3731693765509461125e+4, 4.5921953931549871457e+4, 6.7265770927008700853e+4,
                                3.3430575583588128105e+4, 2.5090809287301226727e+3};
    static const double b[8] = {1.0,
                                4.2313330701600911252e+1,
                                6.8718700749205790830e+2,
                                5.3941960214247511077e+3,
                                2.1213794301586595867e+4,
                                3.9307895800092710610e+4,
                                2.8729085735721942674e+4,
                                5.2264952788528545610e+3};
    static const double c[8] = {1.42343711074968357734e0,  4.63033784615654529590e0,
                                5.76949722146069140550e0,  3.64784832476320460504e0,
                                1.27045825245236838258e0,  2.41780725177450611770e-1,
                                2.27238449892691845833e-2, 7.74545014278341407640e-4};
    static const double d[8] = {1.0,
                                2.05319162663775882187e0,
                                1.67638483018380384940e0,
                                6.89767334985100004550e-1,
                                1.48103976427480074590e-1,
                                1.51986665636164571966e-2,
                                5.47593808499534494600e-4,
                                1.05075007164441684324e-9};
    static const double e[8] = {6.65790464350110377720e0,  5.46378491116411436990e0,
                                1.78482653991729133580e0,  2.96560571828504891230e-1,
                                2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                2.71155556874348757815e-5, 2.01033439929228813265e-7};
    static const double f[8] = {1.0,
                                5.99832206555887937690e-1,
                                1.36929880922735805310e-1,
                                1.48753612908506148525e-2,
                                7.86869131145613259100e-4,
                                1.84631831751005468180e-5,
                                1.42151175831644588870e-7,
                                2.04426310338993978564e-15};
    double q = p - 0.5;
    if (fabs(q) <= 0.425) {
        double r = 0.180625 - q * q;
        return q * polynomial(a, r) / polynomial(b, r);
    }
    double tail = q < 0 ? p : 1 - p;
    if (!(tail > 0)) return q < 0 ? -HUGE_VAL : HUGE_VAL;
    double r = sqrt(-log(tail));
    double z = r <= 5 ? polynomial(c, r - 1.6) / polynomial(d, r - 1.6)
                      : polynomial(e, r - 5) / polynomial(f, r - 5);
    return q < 0 ? -z : z;
}

/* Inverse of the distribution of a triangle with its peak at `central`.
 * source: JCGM 101:2008, 6.4.5 for the symmetric one; the general one by integrating the density */
static double triangular_quantile(const hl_band *band, double p)
{
    double width = band->high - band->low, left = band->central - band->low;
    if (!(width > 0)) return band->central;
    if (p * width <= left) return band->low + sqrt(p * width * left);
    return band->high - sqrt((1 - p) * width * (width - left));
}

static double unheld_quantile(const hl_band *band, double p)
{
    switch (band->kind) {
    case HL_BAND_UNIFORM:
        return band->low + p * (band->high - band->low);
    case HL_BAND_TRIANGULAR:
        return triangular_quantile(band, p);
    case HL_BAND_NORMAL:
        return band->central + band->sigma * normal_quantile(p);
    case HL_BAND_LOG_NORMAL:
        return band->central * exp(band->sigma * normal_quantile(p));
    case HL_BAND_NONE:
        break;
    }
    return band->central;
}

double hl_band_quantile(const hl_band *band, double probability)
{
    if (!(probability >= 0)) probability = 0;
    if (probability > 1) probability = 1;
    double value = unheld_quantile(band, band->opposed ? 1 - probability : probability);
    if (band->floor < band->ceiling) value = fmin(fmax(value, band->floor), band->ceiling);
    return value;
}

/* uniform: width / sqrt(12); triangle: sqrt((a^2 + b^2 + c^2 - ab - ac - bc) / 18);
 * log-normal: central sqrt(e^(s^2) (e^(s^2) - 1)).
 * source: M. Evans, N. Hastings, B. Peacock, Statistical Distributions, 3rd ed., Wiley 2000 */
double hl_band_deviation(const hl_band *band)
{
    double a = band->low, b = band->high, c = band->central;
    switch (band->kind) {
    case HL_BAND_UNIFORM:
        return (b - a) / sqrt(12);
    case HL_BAND_TRIANGULAR:
        return sqrt(fmax(0, a * a + b * b + c * c - a * b - a * c - b * c) / 18);
    case HL_BAND_NORMAL:
        return band->sigma;
    case HL_BAND_LOG_NORMAL: {
        double variance = band->sigma * band->sigma;
        return fabs(c) * sqrt(exp(variance) * expm1(variance));
    }
    case HL_BAND_NONE:
        break;
    }
    return 0;
}

const char *hl_band_name(hl_band_kind kind)
{
    static const char *const names[] = {"none", "uniform", "triangular", "normal", "log_normal"};
    return (size_t)kind < sizeof names / sizeof names[0] ? names[kind] : "none";
}

hl_band band_exact(double number)
{
    return (hl_band){.low = number, .central = number, .high = number};
}

hl_band band_factor(double number, double factor)
{
    double low = number / factor, high = number * factor;
    return (hl_band){.kind = HL_BAND_LOG_NORMAL,
                     .low = fmin(low, high),
                     .central = number,
                     .high = fmax(low, high),
                     .sigma = log(factor) / reach_of_90_percent};
}

hl_band band_normal(double number, double sigma)
{
    double reach = sigma * reach_of_90_percent;
    return (hl_band){.kind = HL_BAND_NORMAL,
                     .low = number - reach,
                     .central = number,
                     .high = number + reach,
                     .sigma = sigma};
}

hl_band band_between(hl_band_kind kind, double low, double central, double high)
{
    if (!(high > low)) return band_exact(central);
    if (kind == HL_BAND_NORMAL) return band_normal(central, (high - low) / (2 * reach_of_90_percent));
    if (kind == HL_BAND_LOG_NORMAL) return band_factor(central, sqrt(high / low));
    return (hl_band){.kind = kind, .low = low, .central = central, .high = high};
}

hl_band band_about_one(hl_band band, double number)
{
    if (band.kind == HL_BAND_NONE || !(number > 0)) return (hl_band){.low = 1, .central = 1, .high = 1};
    band.low /= number;
    band.high /= number;
    band.central = 1;
    if (band.kind == HL_BAND_NORMAL) band.sigma /= number;
    return band;
}
