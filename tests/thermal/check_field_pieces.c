/* check_field_pieces.c - what a heat field is made with, each by itself: eigenvectors, factors, fixed points
 * and steps in time against what defines them. */
#include <gsl/gsl_eigen.h>
#include <gsl/gsl_integration.h>
#include <gsl/gsl_sort_vector.h>
#include <math.h>
#include <string.h>

#include "lottery.h"
#include "story.h"
#include "thermal/field_core.h"
#include "thermal/field_factor.h"
#include "thermal/field_warming.h"

enum { N = 24, ROUNDS = 200 };

/* ------------------------------------------------------------ eigenvectors -- */

/* Rows that are nothing, blocks that do not touch and equal eigenvalues among them. */
static int draw_symmetric(lottery *luck, double a[N * N])
{
    int n = 1 + (int)lottery_below(luck, N), parts = 1 + (int)lottery_below(luck, 3);
    double shift = lottery_below(luck, 2) ? lottery_scale(luck, 1e-3, 1e3) : 0;
    for (int i = 0; i < n; i++)
        for (int j = 0; j <= i; j++) {
            bool there = i % parts == j % parts && lottery_below(luck, 4) > 0;
            double entry = there ? lottery_between(luck, -1, 1) * lottery_scale(luck, 1e-3, 10) : 0;
            a[i * n + j] = a[j * n + i] = entry + (i == j ? shift : 0);
        }
    return n;
}

/* A v = value v, the vectors at right angles and of length 1, the values rising and those of GSL's method. */
START_TEST(eigenvectors_are_turned_into_their_multiples)
{
    lottery luck = lottery_open("field_pieces");
    for (int round = 0; round < ROUNDS; round++) {
        double a[N * N] = {0}, v[N * N], value[N], spare[3 * N + 8], there[N * N], most = 0;
        int n = draw_symmetric(&luck, a);
        memcpy(v, a, sizeof v);
        memcpy(there, a, sizeof there);
        ck_assert(symmetric_eigen(n, v, value, spare));
        gsl_matrix_view matrix = gsl_matrix_view_array(there, (size_t)n, (size_t)n);
        gsl_vector *wanted = gsl_vector_alloc((size_t)n);
        gsl_eigen_symm_workspace *space = gsl_eigen_symm_alloc((size_t)n);
        gsl_eigen_symm(&matrix.matrix, wanted, space);
        gsl_sort_vector(wanted);
        for (int i = 0; i < n; i++) most = fmax(most, fabs(value[i]));
        for (int k = 0; k < n; k++) {
            ck_near(value[k], gsl_vector_get(wanted, (size_t)k), 0, 1e-13 * most);
            if (k > 0) ck_assert(value[k] >= value[k - 1]);
            for (int i = 0; i < n; i++) {
                double sum = 0, product = 0;
                for (int j = 0; j < n; j++) {
                    sum += a[i * n + j] * v[j * n + k];
                    product += v[j * n + i] * v[j * n + k];
                }
                ck_near(sum, value[k] * v[i * n + k], 0, 1e-13 * most);
                ck_near(product, i == k, 0, 1e-13);
            }
        }
        gsl_eigen_symm_free(space);
        gsl_vector_free(wanted);
    }
}
END_TEST

/* -------------------------------------------------------- dense and sparse -- */

/* Rows in any order: without the choice of a pivot some of these lose all their digits. */
START_TEST(a_dense_system_is_solved)
{
    lottery luck = lottery_open("field_pieces");
    for (int round = 0; round < ROUNDS; round++) {
        double a[N * N] = {0}, lu[N * N], x[N], v[N];
        int n = 1 + (int)lottery_below(&luck, N), pivot[N];
        for (int i = 0; i < n * n; i++) a[i] = lottery_below(&luck, 3) ? lottery_between(&luck, -1, 1) : 0;
        for (int i = 0; i < n; i++) {
            a[i * n + (i + 1) % n] += 4;
            a[i * n + i] *= 1e-13; /* no pivot to begin with */
            x[i] = lottery_between(&luck, -1, 1);
        }
        if (n == 1) a[0] = 4;
        for (int i = 0; i < n; i++) {
            v[i] = 0;
            for (int j = 0; j < n; j++) v[i] += a[i * n + j] * x[j];
        }
        memcpy(lu, a, sizeof lu);
        ck_assert(dense_factor(n, lu, pivot));
        dense_solve(n, lu, pivot, v);
        for (int i = 0; i < n; i++) ck_near(v[i], x[i], 0, 1e-10);
        for (int i = 0; i < n; i++) a[i * n] = 0; /* a column that is nothing */
        ck_assert(!dense_factor(n, a, pivot));
    }
    double wild[] = {NAN};
    int pivot;
    ck_assert(!dense_factor(1, wild, &pivot));
}
END_TEST

/* One panel per column, or runs of columns that share their rows: a matrix full in blocks along an arrow. */
typedef struct arrow {
    int n, panels, first[N + 1], begin[N + 1], row[N * N];
    double matrix[N * N];
} arrow;

static void draw_arrow(lottery *luck, arrow *s)
{
    int tail = 1 + (int)lottery_below(luck, 9), at = 0, entries = 0;
    s->panels = 0;
    while (at < N - tail) { /* each panel reaches into the tail */
        int width = 1 + (int)lottery_below(luck, 7);
        if (at + width > N - tail) width = N - tail - at;
        s->first[s->panels] = at;
        s->begin[s->panels++] = entries;
        for (int i = 0; i < width; i++) s->row[entries++] = at + i;
        for (int i = 0; i < tail; i++)
            if (lottery_below(luck, 2)) s->row[entries++] = N - tail + i;
        at += width;
    }
    s->first[s->panels] = at;
    s->begin[s->panels++] = entries;
    for (int i = 0; i < tail; i++) s->row[entries++] = at + i;
    s->first[s->panels] = s->n = N;
    s->begin[s->panels] = entries;
    memset(s->matrix, 0, sizeof s->matrix);
    for (int p = 0; p < s->panels; p++)
        for (int c = s->first[p]; c < s->first[p + 1]; c++)
            for (int i = s->begin[p]; i < s->begin[p + 1]; i++) {
                int r = s->row[i];
                double entry = lottery_between(luck, -1, 1);
                if (r > c) s->matrix[r * N + c] = s->matrix[c * N + r] = entry;
            }
    for (int i = 0; i < N; i++) {
        double sum = lottery_between(luck, 0.1, 2);
        for (int j = 0; j < N; j++) sum += fabs(s->matrix[i * N + j]);
        s->matrix[i * N + i] = sum;
    }
}

static field_factor *factor_of(const arrow *s)
{
    field_factor *f = factor_create(&(factor_shape){s->n, s->panels, s->first, s->begin, s->row});
    ck_assert_ptr_nonnull(f);
    double *value = factor_clear(f);
    for (int p = 0; p < s->panels; p++)
        for (int c = s->first[p]; c < s->first[p + 1]; c++)
            for (int i = s->begin[p]; i < s->begin[p + 1]; i++)
                if (s->row[i] >= c) value[factor_place(f, s->row[i], c)] += s->matrix[s->row[i] * N + c];
    return f;
}

START_TEST(a_sparse_system_is_solved)
{
    lottery luck = lottery_open("field_pieces");
    for (int round = 0; round < ROUNDS; round++) {
        static _Alignas(64) double x[N * FACTOR_COLUMNS], wanted[N * FACTOR_COLUMNS];
        arrow s;
        draw_arrow(&luck, &s);
        field_factor *f = factor_of(&s);
        ck_assert(factor_run(f));
        for (int i = 0; i < N * FACTOR_COLUMNS; i++)
            wanted[i] = lottery_below(&luck, 8) ? lottery_between(&luck, -1, 1) : 0;
        for (int i = 0; i < N; i++)
            for (int k = 0; k < FACTOR_COLUMNS; k++) {
                double sum = 0;
                for (int j = 0; j < N; j++) sum += s.matrix[i * N + j] * wanted[j * FACTOR_COLUMNS + k];
                x[i * FACTOR_COLUMNS + k] = sum;
            }
        factor_solve(f, x);
        for (int i = 0; i < N * FACTOR_COLUMNS; i++) ck_near(x[i], wanted[i], 0, 1e-11);
        factor_destroy(f);
        int bad = (int)lottery_below(&luck, N);
        s.matrix[bad * N + bad] = lottery_below(&luck, 2) ? -1 : NAN; /* not positive */
        f = factor_of(&s);
        ck_assert(!factor_run(f));
        factor_destroy(f);
    }
}
END_TEST

/* ------------------------------------------------------------ fixed points -- */

typedef struct mapping {
    double matrix[N * N], value[N];
    int n, asked;
} mapping;

static void map(void *context, double image[])
{
    mapping *m = context;
    m->asked++;
    for (int i = 0; i < m->n; i++) {
        image[i] = 0.3 * sin(m->value[i]) + i - 3;
        for (int j = 0; j < m->n; j++) image[i] += m->matrix[i * m->n + j] * m->value[j];
    }
}

/* Found to the tolerance, in few rounds where the mapping is flat, and in fewer than by plain rounds alone
 * where it is not: a mapping that shrinks distances by a tenth a round takes 250 of those to 1e-11. */
START_TEST(a_fixed_point_is_found)
{
    lottery luck = lottery_open("field_pieces");
    for (int round = 0; round < ROUNDS; round++) {
        mapping m = {.n = 1 + (int)lottery_below(&luck, 8)};
        double space[FIELD_SETTLE_SPACE * N], image[N], size = 0, reach = round % 2 ? 0.55 : 0.1;
        for (int i = 0; i < m.n; i++) {
            for (int j = 0; j < m.n; j++)
                m.matrix[i * m.n + j] = lottery_between(&luck, -0.1, 0.1) * reach / m.n;
            m.matrix[i * m.n + i] -= reach;
            m.value[i] = lottery_between(&luck, -9, 9);
        }
        ck_assert(field_settle(&(field_settling){m.n, m.value, space, 1e-11, map, &m}));
        ck_assert_int_lt(m.asked, 30);
        map(&m, image);
        for (int i = 0; i < m.n; i++) size += fabs(image[i] - m.value[i]);
        ck_assert_double_le(size, 1e-11);
    }
}
END_TEST

/* ------------------------------------------------------------------- steps -- */

typedef struct line {
    double rate, h, w0, w1;
} line;

/* x at the end of a step, of the heat at time t in it. */
static double left_of(double t, void *context)
{
    const line *l = context;
    return exp(-l->rate * (l->h - t)) * (l->w0 + (l->w1 - l->w0) * t / l->h);
}

/* The same of the integral of x over the step. */
static double summed_of(double t, void *context)
{
    const line *l = context;
    return -expm1(-l->rate * (l->h - t)) / l->rate * (l->w0 + (l->w1 - l->w0) * t / l->h);
}

static double integral(double (*of)(double, void *), line *l, gsl_integration_workspace *space)
{
    double result, error;
    gsl_function f = {of, l};
    gsl_integration_qag(&f, 0, l->h, 0, 1e-13, 1000, GSL_INTEG_GAUSS61, space, &result, &error);
    return result;
}

/* x' = w - rate x, and of a lag x' = (w - x) rate: convolutions of the heat with what is left of it. */
START_TEST(a_step_is_what_heat_leaves_of_itself)
{
    gsl_integration_workspace *space = gsl_integration_workspace_alloc(1000);
    for (double q = 1e-6; q < 300; q *= 1.6) {
        line early = {q / 7, 7, 1, 0}, late = {q / 7, 7, 0, 1};
        stepping s = warming_mode_step(early.rate, early.h), lag = warming_lag_step(1 / early.rate, early.h);
        ck_near(s.fade, exp(-q), 1e-14, 0);
        ck_near(s.early, integral(left_of, &early, space), 1e-11, 0);
        ck_near(s.late, integral(left_of, &late, space), 1e-11, 0);
        ck_near(s.sum_fade, -expm1(-q) / early.rate, 1e-12, 0);
        ck_near(s.sum_early, integral(summed_of, &early, space), 1e-11, 0);
        ck_near(s.sum_late, integral(summed_of, &late, space), 1e-11, 0);
        ck_near(lag.fade, s.fade, 1e-14, 0);
        ck_near(lag.early, s.early * early.rate, 1e-13, 0);
        ck_near(lag.late, s.late * early.rate, 1e-13, 0);
        ck_near(lag.sum_fade, s.sum_fade, 1e-13, 0);
        ck_near(lag.sum_early, s.sum_early * early.rate, 1e-13, 0);
        ck_near(lag.sum_late, s.sum_late * early.rate, 1e-13, 0);
    }
    gsl_integration_workspace_free(space);
    stepping at_once =
        warming_lag_step(0, 7); /* after the step what it ends with, on the way the line itself */
    ck_assert(at_once.fade == 0 && at_once.early == 0 && at_once.late == 1);
    ck_assert(at_once.sum_fade == 0 && at_once.sum_early == 3.5 && at_once.sum_late == 3.5);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, eigenvectors_are_turned_into_their_multiples);
    tcase_add_test(tests, a_dense_system_is_solved);
    tcase_add_test(tests, a_sparse_system_is_solved);
    tcase_add_test(tests, a_fixed_point_is_found);
    tcase_add_test(tests, a_step_is_what_heat_leaves_of_itself);
}

int main(void)
{
    return story_main("pieces of a heat field", fill);
}
