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

#include "../lanes.h"

typedef struct llc_pair {
    double c, s;
} llc_pair;

/* The same two side by side in one register. */
typedef double llc_both __attribute__((vector_size(16)));

enum { LLC_TERMS = 14 };

typedef struct llc_group {
    double a, sigma;          /* 1/s, 1/s^2 */
    double beta;              /* a^2 + sigma: product of both eigenvalues */
    double omega;             /* sqrt(sigma), 0 unless it rings */
    double reach;             /* bound on the size of either eigenvalue */
    llc_both term[LLC_TERMS]; /* c, s: power series in t */
} llc_group;

static inline void llc_group_begin(double a, double beta, llc_group *g)
{
    g->a = a;
    g->beta = beta;
    g->sigma = beta - a * a;
    g->omega = g->sigma > 0 ? sqrt(g->sigma) : 0.0;
    g->reach = fabs(a) + sqrt(fabs(g->sigma));
}

/* Two groups of a circuit by a and beta. Both c and s solve y'' = -2 a y' - beta y, which gives their series
 * term by term: those of both groups side by side. */
FOUR_LANES static void llc_groups_of(const double a[2], const double beta[2], llc_group *fast,
                                     llc_group *slow)
{
    const lanes damping = {a[0], a[0], a[1], a[1]}, square = {beta[0], beta[0], beta[1], beta[1]};
    lanes before = {1.0, 0.0, 1.0, 0.0}, term = {-a[0], 1.0, -a[1], 1.0};
    llc_group_begin(a[0], beta[0], fast);
    llc_group_begin(a[1], beta[1], slow);
    for (int k = 0; k < LLC_TERMS; k++) {
        double scale = 1.0 / ((k + 1) * (k + 2));
        lanes next = (-2.0 * damping * (k + 1.0) * scale) * term - (square * scale) * before;
        fast->term[k] = (llc_both){before[0], before[1]};
        slow->term[k] = (llc_both){before[2], before[3]};
        before = term;
        term = next;
    }
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

/* Up to this reach * t all terms leave 1e-17 of c, and of s what t is. */
static const double llc_series_reach = 0.4;

/* As many as leave that little at t. */
static inline int llc_terms(const llc_group *g, double t)
{
    double size = g->reach * fabs(t);
    if (size < 3e-3) return size < 1e-4 ? 4 : 6;
    return size < 0.03 ? 8 : size < 0.1 ? 10 : LLC_TERMS;
}

/* Power series of c and s. */
static inline llc_pair llc_group_series(const llc_group *g, double t)
{
    int k = llc_terms(g, t) - 1;
    llc_both z = g->term[k];
    while (k-- > 0) z = z * t + g->term[k];
    return (llc_pair){z[0], z[1]};
}

/* That of their integrals from 0 to t. */
static inline llc_pair llc_series_area(const llc_group *g, double t)
{
    static const double share[LLC_TERMS] = {1.,     1. / 2, 1. / 3,  1. / 4,  1. / 5,  1. / 6,  1. / 7,
                                            1. / 8, 1. / 9, 1. / 10, 1. / 11, 1. / 12, 1. / 13, 1. / 14};
    int k = llc_terms(g, t) - 1;
    llc_both area = g->term[k] * share[k];
    while (k-- > 0) area = area * t + g->term[k] * share[k];
    return (llc_pair){area[0] * t, area[1] * t};
}

/* Whether c and s are taken from their exponential and its angle. */
static inline bool llc_turns(const llc_group *g)
{
    return g->omega > 0 && g->omega > g->a * 1e-3;
}

/* c and s of two real eigenvalues, and their integrals. */
static llc_pair llc_group_creeping(const llc_group *g, double t, llc_pair *integral)
{
    /* two real eigenvalues: halve the time until the series holds, then double */
    int doublings = 1 + (int)fmin(log2(g->reach * t / llc_series_reach), 60.0);
    double least = ldexp(t, -doublings);
    llc_pair area = llc_series_area(g, least), z = llc_group_series(g, least);
    for (int k = 0; k < doublings; k++) {
        area = llc_pair_product(g, (llc_pair){1.0 + z.c, z.s}, area);
        z = llc_pair_product(g, z, z);
    }
    *integral = area;
    return z;
}

/* c and s at t >= 0. */
static llc_pair llc_group_at(const llc_group *g, double t)
{
    llc_pair unused;
    if (g->reach == 0.0) return (llc_pair){1.0, t};
    if (g->reach * t < llc_series_reach) return llc_group_series(g, t);
    if (!llc_turns(g)) return llc_group_creeping(g, t, &unused);
    double envelope = exp(-g->a * t), turn = g->omega * t, c = cos(turn), s = sin(turn);
    return (llc_pair){envelope * c, envelope * s / g->omega};
}

/* c and s at four times >= 0 in order: power series of a part of them, doubled till it is the whole. */
WITHIN_LANES void llc_group_four(const llc_group *g, const lanes *t, lanes *c, lanes *s)
{
    double part = 1.0, longest = (*t)[LANES - 1];
    int doublings = 0;
    for (; g->reach * longest * part >= llc_series_reach; doublings++) part *= 0.5;
    const lanes at = *t * part;
    int k = llc_terms(g, longest * part) - 1;
    *c = *s = (lanes){0};
    for (; k >= 0; k--) {
        *c = *c * at + g->term[k][0];
        *s = *s * at + g->term[k][1];
    }
    for (; doublings > 0; doublings--) {
        lanes twice = 2.0 * *c * *s;
        *c = *c * *c - g->sigma * *s * *s;
        *s = twice;
    }
}

/* Integrals of c and s from 0 to t >= 0, where they are z. */
static llc_pair llc_group_area(const llc_group *g, double t, llc_pair z)
{
    llc_pair area;
    if (g->reach * t < llc_series_reach) return llc_series_area(g, t);
    if (llc_turns(g)) /* (1 - z)(a + J)/beta */
        return (llc_pair){((1.0 - z.c) * g->a + g->sigma * z.s) / g->beta,
                          ((1.0 - z.c) - g->a * z.s) / g->beta};
    llc_group_creeping(g, t, &area);
    return area;
}

#endif
