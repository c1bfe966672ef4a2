/* check_elimination.c - small sparse systems against dense ones of GSL, and the feedback gain, which rests on
 * them, against the eigenvalues of the dense matrix. */
#include "thermal/elimination.h"

#include <gsl/gsl_eigen.h>
#include <gsl/gsl_linalg.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/thermal.h"
#include "lottery.h"
#include "story.h"
#include "thermal/repeat.h"

enum { NODES = 60 };

static int rounds(void)
{
    const char *many = getenv("HEATLEDGER_LONG");
    return many && *many == '1' ? 5000 : 100;
}

/* ----------------------------------------------------------------- systems -- */

typedef struct sparse {
    int n, entries;
    int column[NODES + 1], row[NODES * NODES];
    double value[NODES * NODES], dense[NODES * NODES];
} sparse;

/* A symmetric pattern with figures that are not; its diagonal outweighs the rest of each column. */
static void draw_system(lottery *draw, sparse *s)
{
    bool tied[NODES][NODES] = {{false}};
    s->n = 1 + (int)lottery_below(draw, NODES);
    size_t n = (size_t)s->n, links = lottery_below(draw, 4 * n);
    for (size_t k = 0; k < links; k++) {
        size_t a = lottery_below(draw, n), b = lottery_below(draw, n);
        tied[a][b] = tied[b][a] = true;
    }
    memset(s->dense, 0, sizeof s->dense);
    s->entries = 0;
    for (size_t j = 0; j < n; j++) {
        double whole = lottery_scale(draw, 1e-3, 1);
        s->column[j] = s->entries;
        int diagonal = 0;
        for (size_t i = 0; i < n; i++) {
            if (i != j && !tied[i][j]) continue;
            if (i == j) diagonal = s->entries;
            double value = i == j ? 0 : -lottery_scale(draw, 1e-3, 1);
            whole -= value;
            s->row[s->entries] = (int)i;
            s->dense[i * n + j] = s->value[s->entries++] = value;
        }
        s->dense[j * n + j] = s->value[diagonal] = whole;
    }
    s->column[n] = s->entries;
}

static void solve_densely(const sparse *s, double vector[])
{
    size_t n = (size_t)s->n;
    double dense[NODES * NODES], right[NODES];
    memcpy(dense, s->dense, sizeof dense);
    memcpy(right, vector, n * sizeof *right);
    gsl_matrix_view matrix = gsl_matrix_view_array(dense, n, n);
    gsl_vector_view b = gsl_vector_view_array(right, n), x = gsl_vector_view_array(vector, n);
    gsl_permutation *order = gsl_permutation_alloc(n);
    int sign;
    gsl_linalg_LU_decomp(&matrix.matrix, order, &sign);
    gsl_linalg_LU_solve(&matrix.matrix, order, &b.vector, &x.vector);
    gsl_permutation_free(order);
}

/* A factorisation of what is no number, or beyond all numbers, leaves nothing behind. */
static void spoil(lottery *draw, sparse *s, elimination *e)
{
    double *at = &s->value[lottery_below(draw, (size_t)s->entries)], kept = *at;
    *at = lottery_below(draw, 2) ? NAN : INFINITY;
    ck_assert(!elimination_factor(e, s->value));
    ck_assert(!elimination_is_regular(e));
    *at = kept;
}

START_TEST(solves_as_a_dense_system_does)
{
    lottery draw = lottery_open("elimination");
    for (int round = 0; round < rounds(); round++) {
        sparse s;
        double here[NODES], there[NODES], most = 0;
        draw_system(&draw, &s);
        bool fits;
        elimination *e = elimination_create(s.n, s.column, s.row, &fits);
        ck_assert_ptr_nonnull(e);
        for (int again = 0; again < 3; again++) { /* each finds what the one before left */
            ck_assert_msg(elimination_factor(e, s.value), "HL_TEST_SEED=%llu round %d", draw.seed, round);
            ck_assert(elimination_is_regular(e));
            if (again == 1) spoil(&draw, &s, e);
        }
        for (int i = 0; i < s.n; i++) here[i] = there[i] = lottery_between(&draw, -1, 1);
        elimination_solve(e, here);
        solve_densely(&s, there);
        for (int i = 0; i < s.n; i++) most = fmax(most, fabs(there[i]));
        for (int i = 0; i < s.n; i++)
            ck_assert_msg(fabs(here[i] - there[i]) <= 1e-11 * most,
                          "HL_TEST_SEED=%llu round %d: %.17g instead of %.17g", draw.seed, round, here[i],
                          there[i]);
        elimination_destroy(e);
    }
}
END_TEST

START_TEST(a_pivot_that_is_not_positive_is_told)
{
    static const int column[] = {0, 2, 4}, row[] = {0, 1, 0, 1};
    bool fits;
    elimination *e = elimination_create(2, column, row, &fits);
    const double fine[] = {2, -1, -1, 2}, negative[] = {1, -2, -2, 1}, singular[] = {0, 0, 0, 1},
                 wild[] = {NAN, 0, 0, 1};
    double x[] = {1, 0};
    ck_assert(elimination_factor(e, fine) && elimination_is_regular(e));
    ck_assert(!elimination_factor(e, negative) && elimination_is_regular(e));
    elimination_solve(e, x); /* beyond a fold one still solves */
    ck_near(x[0], -1.0 / 3, 1e-15, 0);
    ck_near(x[1], -2.0 / 3, 1e-15, 0);
    ck_assert(!elimination_factor(e, singular) && !elimination_is_regular(e));
    ck_assert(!elimination_factor(e, wild) && !elimination_is_regular(e));
    elimination_destroy(e);
}
END_TEST

/* What is too large is left to others, not begun. */
START_TEST(a_large_pattern_is_refused)
{
    enum { MANY = 300 };
    int *column = calloc(MANY + 1, sizeof *column), *row = calloc((size_t)MANY * MANY, sizeof *row);
    for (int j = 0; j < MANY; j++) {
        column[j + 1] = (j + 1) * MANY;
        for (int i = 0; i < MANY; i++) row[j * MANY + i] = i;
    }
    bool fits = true;
    ck_assert_ptr_null(elimination_create(MANY, column, row, &fits));
    ck_assert(!fits);
    free(column);
    free(row);
}
END_TEST

/* -------------------------------------------------------------------- gain -- */

typedef struct heated {
    size_t n;
    double links[NODES * NODES], slope[NODES], temperature[NODES]; /* links: derivative of link heat */
} heated;

static void join(heated *h, hl_network *network, int a, int b, hl_law law, double figure)
{
    const double sigma = 5.670374419e-8;
    hl_link link = {a, b, law, 0, {figure, 1e-2, 0, 0}};
    ck_assert_int_ge(hl_network_add_link(network, &link), 0);
    bool fixed = law == HL_LAW_FIXED;
    double t[2] = {a < 0 ? 300 : h->temperature[a], b < 0 ? 300 : h->temperature[b]};
    double by_a = fixed ? figure : 4 * sigma * figure * 1e-2 * t[0] * t[0] * t[0],
           by_b = fixed ? figure : 4 * sigma * figure * 1e-2 * t[1] * t[1] * t[1];
    size_t i = (size_t)a, j = (size_t)b;
    h->links[i * h->n + i] += by_a;
    if (b < 0) return;
    h->links[i * h->n + j] -= by_b;
    h->links[j * h->n + i] -= by_a;
    h->links[j * h->n + j] += by_b;
}

/* Groups that hardly know of one another have eigenvalues close by; some have none. */
static hl_network *draw_network(lottery *draw, heated *h)
{
    memset(h, 0, sizeof *h);
    hl_network *network = hl_network_create();
    h->n = 1 + lottery_below(draw, NODES);
    for (size_t i = 0; i < h->n; i++) {
        hl_network_add_node(network, "node", 1);
        h->temperature[i] = lottery_between(draw, 290, 450);
        if (lottery_below(draw, 3)) h->slope[i] = lottery_scale(draw, 1e-5, 1e-2);
        if (!lottery_below(draw, 6)) h->slope[i] = -h->slope[i];
    }
    for (size_t i = 0; i < h->n; i++) {
        int to = lottery_below(draw, 3) ? (int)lottery_below(draw, i + 1) - 1 : HL_AMBIENT;
        join(h, network, (int)i, to, HL_LAW_FIXED, lottery_scale(draw, 1e-2, 1));
        int other = (int)lottery_below(draw, h->n + 1) - 1;
        if (other != (int)i) join(h, network, (int)i, other, HL_LAW_RADIATION, lottery_between(draw, 0, 1));
    }
    return network;
}

/* The greatest eigenvalue of J^-1 S of the whole matrix. */
static double dense_gain(const heated *h)
{
    size_t n = h->n;
    double j[NODES * NODES], s[NODES * NODES] = {0}, most = 0;
    memcpy(j, h->links, sizeof j);
    for (size_t i = 0; i < n; i++) {
        if (h->slope[i] > 0)
            s[i * n + i] = h->slope[i];
        else
            j[i * n + i] -= h->slope[i];
    }
    gsl_matrix_view jm = gsl_matrix_view_array(j, n, n), sm = gsl_matrix_view_array(s, n, n);
    gsl_permutation *order = gsl_permutation_alloc(n);
    int sign;
    gsl_linalg_LU_decomp(&jm.matrix, order, &sign);
    for (size_t k = 0; k < n; k++) {
        gsl_vector_view column = gsl_matrix_column(&sm.matrix, k);
        gsl_linalg_LU_svx(&jm.matrix, order, &column.vector);
    }
    gsl_eigen_nonsymm_workspace *work = gsl_eigen_nonsymm_alloc(n);
    gsl_vector_complex *value = gsl_vector_complex_alloc(n);
    ck_assert_int_eq(gsl_eigen_nonsymm(&sm.matrix, value, work), 0);
    for (size_t k = 0; k < n; k++) most = fmax(most, GSL_REAL(gsl_vector_complex_get(value, k)));
    gsl_vector_complex_free(value);
    gsl_eigen_nonsymm_free(work);
    gsl_permutation_free(order);
    return most;
}

START_TEST(gain_is_the_greatest_eigenvalue)
{
    lottery draw = lottery_open("gain");
    const hl_surroundings room = {300, 101325};
    for (int round = 0; round < rounds(); round++) {
        heated h;
        hl_network *network = draw_network(&draw, &h);
        hl_network_work *work = hl_network_work_create(network);
        int leader;
        double gain = hl_network_gain(work, &room, h.temperature, h.slope, &leader), dense = dense_gain(&h);
        ck_assert_msg(fabs(gain - dense) <= 1e-8 * dense,
                      "HL_TEST_SEED=%llu round %d: %.12g instead of %.12g", draw.seed, round, gain, dense);
        ck_assert(dense > 0 ? leader >= 0 && h.slope[leader] > 0 : leader < 0);
        hl_network_work_destroy(work);
        hl_network_destroy(network);
    }
}
END_TEST

/* Heat that keeps the network just where it is. */
typedef struct even_heat {
    const heated *of;
    double watts[NODES];
} even_heat;

static void keep_even(void *context, double time, const double temperature[], double power[], double slope[])
{
    const even_heat *e = context;
    (void)time;
    for (size_t i = 0; i < e->of->n; i++) {
        power[i] = e->watts[i] + e->of->slope[i] * (temperature[i] - e->of->temperature[i]);
        slope[i] = e->of->slope[i];
    }
}

static even_heat balanced(const hl_network *network, const hl_surroundings *room, const heated *h)
{
    static double flow[4 * NODES];
    even_heat e = {h, {0}};
    hl_network_flows(network, room, h->temperature, flow);
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        if (link->a >= 0) e.watts[link->a] += flow[k];
        if (link->b >= 0) e.watts[link->b] -= flow[k];
    }
    return e;
}

/* The glance may be too careful, but where it says that a network holds, the gain is below one: with the
 * slopes of the last step, and with steeper ones by the same factors. */
START_TEST(a_glance_never_overlooks_a_run_away)
{
    lottery draw = lottery_open("glance");
    const hl_surroundings room = {300, 101325};
    int held = 0, doubted = 0;
    for (int round = 0; round < rounds(); round++) {
        heated h;
        hl_network *network = draw_network(&draw, &h);
        hl_network_work *work = hl_network_work_create(network);
        even_heat heat = balanced(network, &room, &h);
        double temperature[NODES];
        memcpy(temperature, h.temperature, sizeof temperature);
        bool stepped = network_step(work, &room, keep_even, &heat, temperature);
        for (int k = 0; stepped && k < 6; k++) {
            double steeper = k == 0 ? 1 : lottery_scale(&draw, 0.5, 50);
            for (size_t i = 0; i < h.n; i++) h.slope[i] *= steeper;
            bool holds = network_holds(work, &room, h.temperature, h.slope);
            double dense = dense_gain(&h);
            ck_assert_msg(!holds || dense < 1, "HL_TEST_SEED=%llu round %d: a gain of %.12g holds", draw.seed,
                          round, dense);
            ck_assert_msg(k > 0 || holds, "HL_TEST_SEED=%llu round %d: doubts a gain of %.12g", draw.seed,
                          round, dense);
            held += holds;
            doubted += !holds;
        }
        hl_network_work_destroy(work);
        hl_network_destroy(network);
    }
    ck_assert_msg(held > rounds() && doubted > rounds(), "%d held, %d doubted", held, doubted);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, solves_as_a_dense_system_does);
    tcase_add_test(tests, a_pivot_that_is_not_positive_is_told);
    tcase_add_test(tests, a_large_pattern_is_refused);
    tcase_add_test(tests, gain_is_the_greatest_eigenvalue);
    tcase_add_test(tests, a_glance_never_overlooks_a_run_away);
}

int main(void)
{
    return story_main("elimination", fill);
}
