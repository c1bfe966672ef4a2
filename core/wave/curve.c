/* curve.c - lookup and integral of a table, by straight lines or a monotone cubic. */
#include <math.h>

#include "heatledger/plugin.h"

/* Interval i with x[i] <= x < x[i+1]; n >= 2 and x inside the table. */
static size_t interval(const hl_curve *c, double x)
{
    size_t low = 0, high = c->n - 1;
    while (high - low > 1) {
        size_t middle = low + (high - low) / 2;
        if (c->x[middle] <= x)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static double secant(const hl_curve *c, size_t i)
{
    return (c->y[i + 1] - c->y[i]) / (c->x[i + 1] - c->x[i]);
}

/* The slope nearest to `wanted` that keeps the cubic monotone beside secant d: same sign, at most 3 |d|. */
static double limited(double wanted, double d)
{
    if (!(wanted * d > 0.0)) return 0.0;
    return fabs(wanted) <= 3.0 * fabs(d) ? wanted : 3.0 * d;
}

/* Slope at point i: that of the parabola through three neighbours, drawn into the square |m| <= 3 |d| on both
 * sides, which lies inside the region where a cubic piece is monotone.  It needs three points only, so no
 * slopes are stored.
 * source: F. N. Fritsch, R. E. Carlson, SIAM J. Numer. Anal. 17(2), 1980, section 3 (region), section 4 (S1)
 */
static double knot_slope(const hl_curve *c, size_t i)
{
    size_t n = c->n;
    if (n == 2) return secant(c, 0);
    if (i == 0 || i == n - 1) {
        size_t near = i == 0 ? 0 : n - 2, far = i == 0 ? 1 : n - 3;
        double h = c->x[near + 1] - c->x[near], k = c->x[far + 1] - c->x[far];
        double d = secant(c, near), e = secant(c, far);
        return limited(((2.0 * h + k) * d - h * e) / (h + k), d);
    }
    double h = c->x[i] - c->x[i - 1], k = c->x[i + 1] - c->x[i];
    double d = secant(c, i - 1), e = secant(c, i);
    if (!(d * e > 0.0)) return 0.0;
    return limited(limited((k * d + h * e) / (h + k), d), e);
}

/* One cubic piece in u = x - x[i]: y + m u + q u^2 + r u^3; a straight one has q = r = 0. */
typedef struct cubic {
    double y, m, q, r;
} cubic;

static cubic piece(const hl_curve *c, size_t i)
{
    double d = secant(c, i);
    if (!c->cubic) return (cubic){c->y[i], d, 0.0, 0.0};
    double h = c->x[i + 1] - c->x[i], left = knot_slope(c, i), right = knot_slope(c, i + 1);
    return (cubic){c->y[i], left, (3.0 * d - 2.0 * left - right) / h, (left + right - 2.0 * d) / (h * h)};
}

double hl_curve_at(const hl_curve *curve, double x, double *slope, bool *outside)
{
    size_t n = curve->n;
    if (slope) *slope = 0.0;
    if (n == 0) return 0.0;
    if (n == 1) return curve->y[0]; /* a lone number holds everywhere */
    if (!(x >= curve->x[0] && x <= curve->x[n - 1])) {
        if (outside) *outside = true;
        return x > curve->x[n - 1] ? curve->y[n - 1] : curve->y[0];
    }
    if (x == curve->x[n - 1] && !slope) return curve->y[n - 1];
    size_t i = interval(curve, x);
    cubic p = piece(curve, i);
    double u = x - curve->x[i];
    if (slope) *slope = p.m + u * (2.0 * p.q + u * 3.0 * p.r);
    if (x == curve->x[n - 1]) return curve->y[n - 1];
    return p.y + u * (p.m + u * (p.q + u * p.r));
}

/* Integral over piece i from its left end plus a to its left end plus b. */
static double piece_integral(const hl_curve *c, size_t i, double a, double b)
{
    cubic p = piece(c, i);
    double to = b * (p.y + b * (p.m / 2.0 + b * (p.q / 3.0 + b * p.r / 4.0)));
    double from = a * (p.y + a * (p.m / 2.0 + a * (p.q / 3.0 + a * p.r / 4.0)));
    return to - from;
}

double hl_curve_integral(const hl_curve *curve, double x0, double x1)
{
    size_t n = curve->n;
    if (n == 0 || x0 == x1) return 0.0;
    if (n == 1) return curve->y[0] * (x1 - x0);
    if (x0 > x1) return -hl_curve_integral(curve, x1, x0);
    double first = curve->x[0], last = curve->x[n - 1], sum = 0.0;
    if (x0 < first) {
        double end = x1 < first ? x1 : first;
        sum += curve->y[0] * (end - x0);
        x0 = end;
    }
    if (x1 > last) {
        double begin = x0 > last ? x0 : last;
        sum += curve->y[n - 1] * (x1 - begin);
        x1 = begin;
    }
    if (!(x0 < x1)) return sum;
    for (size_t i = interval(curve, x0); i < n - 1 && curve->x[i] < x1; i++) {
        double a = x0 > curve->x[i] ? x0 - curve->x[i] : 0.0;
        double b = (x1 < curve->x[i + 1] ? x1 : curve->x[i + 1]) - curve->x[i];
        sum += piece_integral(curve, i, a, b);
    }
    return sum;
}
