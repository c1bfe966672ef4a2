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
#include <stdbool.h>

typedef struct llc_pair {
    double c, s;
} llc_pair;

typedef struct llc_group {
    double a, sigma;     /* 1/s, 1/s^2 */
    double beta;         /* a^2 + sigma: product of both eigenvalues */
    double omega;        /* sqrt(sigma), 0 unless it rings */
    double reach;        /* bound on the size of either eigenvalue */
    double c[12], s[12]; /* power series in t */
} llc_group;

/* Both c and s solve y'' = -2 a y' - beta y, which gives their series term by term. */
static llc_group llc_group_of(double a, double beta)
{
    llc_group g = {.a = a, .beta = beta, .sigma = beta - a * a, .c = {1.0, -a}, .s = {0.0, 1.0}};
    g.omega = g.sigma > 0 ? sqrt(g.sigma) : 0.0;
    g.reach = fabs(a) + sqrt(fabs(g.sigma));
    for (int k = 0; k < 10; k++) {
        double scale = 1.0 / ((k + 1) * (k + 2));
        g.c[k + 2] = (-2.0 * a * (k + 1) * g.c[k + 1] - beta * g.c[k]) * scale;
        g.s[k + 2] = (-2.0 * a * (k + 1) * g.s[k + 1] - beta * g.s[k]) * scale;
    }
    return g;
}

static inline llc_pair llc_pair_product(const llc_group *g, llc_pair x, llc_pair y)
{
    return (llc_pair){x.c * y.c - g->sigma * x.s * y.s, x.c * y.s + x.s * y.c};
}

/* c and s at -t from those at t. */
static inline llc_pair llc_pair_inverse(const llc_group *g, llc_pair z)
{
    double scale = 1.0 / (z.c * z.c + g->sigma * z.s * z.s);
    return (llc_pair){z.c * scale, -z.s * scale};
}

/* Below this reach * t twelve terms leave 1e-17; below the short one seven do. */
static const double llc_series_reach = 0.25, llc_short_reach = 0.02;

/* Power series of c and s, and of their integrals from 0 to t. */
static llc_pair llc_group_series(const llc_group *g, double t, llc_pair *integral)
{
    bool brief = g->reach * fabs(t) < llc_short_reach;
    llc_pair z = {0, 0};
    for (int k = 11; k > 6 && !brief; k--) z = (llc_pair){z.c * t + g->c[k], z.s * t + g->s[k]};
    for (int k = 6; k >= 0; k--) z = (llc_pair){z.c * t + g->c[k], z.s * t + g->s[k]};
    if (integral) {
        llc_pair area = {0, 0};
        for (int k = brief ? 6 : 11; k >= 0; k--) {
            double share = 1.0 / (k + 1);
            area = (llc_pair){area.c * t + g->c[k] * share, area.s * t + g->s[k] * share};
        }
        *integral = (llc_pair){area.c * t, area.s * t};
    }
    return z;
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
