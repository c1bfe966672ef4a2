/* llc_group.h - the exponential of a matrix on one pair of its eigenvalues.
 *
 * On the invariant subspace of two eigenvalues a matrix A obeys (A + a)^2 = -sigma, so that
 *   e^(A t) = c(t) + s(t) (A + a),   c = e^(-a t) cos(w t),  s = e^(-a t) sin(w t)/w,  w^2 = sigma,
 * and numbers c + s J with J^2 = -sigma multiply like complex numbers.  sigma may be negative (two real
 * eigenvalues) or zero; a single real eigenvalue is a pair whose J is never used.
 * source: R. A. Horn, C. R. Johnson, Topics in Matrix Analysis, 1991, sec. 6.1; docs/theory/llc.md eq. 3 */
#ifndef LLC_GROUP_H
#define LLC_GROUP_H

#include <math.h>

typedef struct llc_pair {
    double c, s;
} llc_pair;

typedef struct llc_group {
    double a, sigma; /* 1/s, 1/s^2 */
    double beta;     /* a^2 + sigma: product of both eigenvalues */
    double omega;    /* sqrt(sigma), 0 unless it rings */
    double reach;    /* bound on the size of either eigenvalue */
} llc_group;

static inline llc_group llc_group_of(double a, double beta)
{
    llc_group g = {.a = a, .beta = beta, .sigma = beta - a * a};
    g.omega = g.sigma > 0 ? sqrt(g.sigma) : 0.0;
    g.reach = fabs(a) + sqrt(fabs(g.sigma));
    return g;
}

static inline llc_pair llc_pair_product(const llc_group *g, llc_pair x, llc_pair y)
{
    return (llc_pair){x.c * y.c - g->sigma * x.s * y.s, x.c * y.s + x.s * y.c};
}

/* Both c and s solve y'' = -2 a y' - beta y; below this reach * t twelve terms leave 1e-17. */
static const double llc_series_reach = 0.25;
static const double llc_short_reach = 0.02; /* here seven terms do */

/* Power series of c, s and of their integrals from 0 to t. */
static llc_pair llc_group_series(const llc_group *g, double t, llc_pair *integral)
{
    static const double inverse[] = {1.0,     1.0 / 2, 1.0 / 3,  1.0 / 4,  1.0 / 5,  1.0 / 6,  1.0 / 7,
                                     1.0 / 8, 1.0 / 9, 1.0 / 10, 1.0 / 11, 1.0 / 12, 1.0 / 13, 1.0 / 14};
    int terms = g->reach * t < llc_short_reach ? 7 : 12;
    double p = -2.0 * g->a * t, q = -g->beta * t * t;
    double c0 = 1.0, c1 = -g->a * t, s0 = 0.0, s1 = t;
    llc_pair sum = {c0 + c1, s1};
    llc_pair area = {c0 + 0.5 * c1, 0.5 * s1};
    for (int k = 0; k + 2 < terms; k++) {
        double scale = inverse[k] * inverse[k + 1];
        double c2 = (p * (k + 1) * c1 + q * c0) * scale;
        double s2 = (p * (k + 1) * s1 + q * s0) * scale;
        sum.c += c2;
        sum.s += s2;
        area.c += c2 * inverse[k + 2];
        area.s += s2 * inverse[k + 2];
        c0 = c1, c1 = c2, s0 = s1, s1 = s2;
    }
    if (integral) *integral = (llc_pair){area.c * t, area.s * t};
    return sum;
}

/* c and s at t >= 0 and, when asked for, their integrals from 0 to t. */
static llc_pair llc_group_at(const llc_group *g, double t, llc_pair *integral)
{
    double size = g->reach * t;
    if (size < llc_series_reach) return llc_group_series(g, t, integral);
    if (g->omega > 0 && g->omega > g->a * 1e-3) {
        double envelope = exp(-g->a * t);
        llc_pair z = {envelope * cos(g->omega * t), envelope * sin(g->omega * t) / g->omega};
        if (integral) /* (1 - z)(a + J)/beta */
            *integral = (llc_pair){((1.0 - z.c) * g->a + g->sigma * z.s) / g->beta,
                                   ((1.0 - z.c) - g->a * z.s) / g->beta};
        return z;
    }
    /* two real eigenvalues: halve the time until the series holds, then double */
    int doublings = 1 + (int)fmin(log2(size / llc_series_reach), 60.0);
    llc_pair area, z = llc_group_series(g, ldexp(t, -doublings), &area);
    for (int k = 0; k < doublings; k++) {
        area = llc_pair_product(g, (llc_pair){1.0 + z.c, z.s}, area);
        z = llc_pair_product(g, z, z);
    }
    if (integral) *integral = area;
    return z;
}

#endif
