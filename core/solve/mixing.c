/* mixing.c - Anderson's method: where a fixed point is heading.
 *
 * Of the rounds x -> g(x) so far, take the combination whose miss g - x is least in the sense of least
 * squares and continue from its g.  For a linear round it is as good as GMRES.  Unknowns are scaled, so that
 * watts, volts and kelvin weigh alike. source: D. G. Anderson, J. ACM 12(4), 1965; H. F. Walker, P. Ni, SIAM
 * J. Numer. Anal. 49(4), 2011, section 2 */
#include "solve/mixing.h"

#include <math.h>
#include <string.h>

/* Columns that add less than this to those before are left out: they would only add rounding. */
static const double independent = 1e-6;

bool mixing_create(mixing *m, arena *memory, size_t n)
{
    m->n = n;
    double **arrays[3 + 3 * MIXING_DEPTH] = {&m->asked, &m->answered, &m->scale};
    for (size_t j = 0; j < MIXING_DEPTH; j++) {
        arrays[3 + 3 * j] = &m->miss[j];
        arrays[4 + 3 * j] = &m->answer[j];
        arrays[5 + 3 * j] = &m->basis[j];
    }
    for (size_t k = 0; k < sizeof arrays / sizeof arrays[0]; k++) {
        *arrays[k] = arena_array(memory, n + 1, sizeof(double));
        if (!*arrays[k]) return false;
    }
    return true;
}

void mixing_begin(mixing *m)
{
    m->kept = m->next = 0;
    m->begun = m->weighed = false;
}

void mixing_copy_scale(mixing *to, const mixing *from)
{
    mixing_begin(to);
    to->weighed = from->weighed;
    memcpy(to->scale, from->scale, to->n * sizeof *to->scale);
}

void mixing_copy(mixing *to, const mixing *from)
{
    mixing_copy_scale(to, from);
    to->kept = from->kept;
    to->next = from->next;
    for (unsigned j = 0; j < from->kept; j++) { /* before it is full, the first ones */
        memcpy(to->miss[j], from->miss[j], to->n * sizeof(double));
        memcpy(to->answer[j], from->answer[j], to->n * sizeof(double));
    }
}

static double product(const double a[], const double b[], size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

double mixing_learn(mixing *m, const double asked[], const double answered[])
{
    double moved = 0, passed_on = 0;
    if (m->begun) {
        double *miss = m->miss[m->next], *answer = m->answer[m->next];
        for (size_t i = 0; i < m->n; i++) {
            double x = asked[i] - m->asked[i], g = answered[i] - m->answered[i];
            answer[i] = g;
            miss[i] = m->scale[i] * (g - x);
            double from = fabs(m->scale[i] * x), to = fabs(m->scale[i] * g);
            if (from > moved) moved = from;
            if (to > passed_on) passed_on = to;
        }
        if (m->kept < MIXING_DEPTH) m->kept++;
        m->next = (m->next + 1) % MIXING_DEPTH;
    }
    memcpy(m->asked, asked, m->n * sizeof *asked);
    memcpy(m->answered, answered, m->n * sizeof *answered);
    m->begun = true;
    return moved > 0 ? passed_on / moved : 1;
}

/* Least squares by modified Gram-Schmidt, the newest difference first. */
void mixing_propose(mixing *m, double answered[])
{
    double triangle[MIXING_DEPTH][MIXING_DEPTH], right[MIXING_DEPTH], share[MIXING_DEPTH];
    unsigned column[MIXING_DEPTH] = {0}, used = 0;
    for (unsigned k = 0; k < m->kept; k++) {
        unsigned j = (m->next + 2 * MIXING_DEPTH - 1 - k) % MIXING_DEPTH;
        double *q = m->basis[used];
        memcpy(q, m->miss[j], m->n * sizeof *q);
        double before = product(q, q, m->n);
        for (unsigned i = 0; i < used; i++) {
            triangle[i][used] = product(m->basis[i], q, m->n);
            for (size_t u = 0; u < m->n; u++) q[u] -= triangle[i][used] * m->basis[i][u];
        }
        double left = product(q, q, m->n);
        if (!(left > independent * independent * before)) continue;
        double size = sqrt(left);
        for (size_t u = 0; u < m->n; u++) q[u] /= size;
        triangle[used][used] = size;
        column[used++] = j;
    }
    for (unsigned i = 0; i < used; i++) {
        right[i] = 0;
        for (size_t u = 0; u < m->n; u++)
            right[i] += m->basis[i][u] * m->scale[u] * (m->answered[u] - m->asked[u]);
    }
    for (unsigned i = used; i-- > 0;) {
        share[i] = right[i];
        for (unsigned j = i + 1; j < used; j++) share[i] -= triangle[i][j] * share[j];
        share[i] /= triangle[i][i];
        for (size_t u = 0; u < m->n; u++) answered[u] -= share[i] * m->answer[column[i]][u];
    }
}
