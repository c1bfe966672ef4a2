/* check_indices.c - sensitivity indices against functions whose indices are known in closed form. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/spread.h"
#include "story.h"

/* T. Ishigami, T. Homma, 1990: y = sin x1 + a sin^2 x2 + b x3^4 sin x1, x in -pi .. pi, a = 7, b = 0.1.
 * Indices in closed form: A. Saltelli and others, Sensitivity Analysis, Wiley 2000 (from memory; they follow
 * from V1 = (1 + b pi^4/5)^2 / 2, V2 = a^2/8, V13 = b^2 pi^8 (1/18 - 1/50)). */
static bool ishigami(void *context, size_t worker, const double p[], double y[])
{
    (void)context;
    (void)worker;
    double x[3];
    for (int i = 0; i < 3; i++) x[i] = M_PI * (2 * p[i] - 1);
    y[0] = sin(x[0]) + 7 * sin(x[1]) * sin(x[1]) + 0.1 * pow(x[2], 4) * sin(x[0]);
    return true;
}

static void ishigami_indices(double first[3], double total[3])
{
    double pi4 = pow(M_PI, 4), v1 = 0.5 * pow(1 + 0.1 * pi4 / 5, 2), v2 = 49.0 / 8,
           v13 = 0.01 * pi4 * pi4 * (1.0 / 18 - 1.0 / 50), v = v1 + v2 + v13;
    first[0] = v1 / v, first[1] = v2 / v, first[2] = 0;
    total[0] = (v1 + v13) / v, total[1] = v2 / v, total[2] = v13 / v;
}

/* I. M. Sobol', g-function: product of (|4 x_i - 2| + a_i) / (1 + a_i); V_i = 1 / (3 (1 + a_i)^2). */
enum { G = 8 };
static const double g_a[G] = {0, 1, 4.5, 9, 99, 99, 99, 99};

static bool g_function(void *context, size_t worker, const double p[], double y[])
{
    (void)context;
    (void)worker;
    y[0] = 1;
    for (int i = 0; i < G; i++) y[0] *= (fabs(4 * p[i] - 2) + g_a[i]) / (1 + g_a[i]);
    y[1] = 3 * y[0] + 1; /* a second output with the same indices */
    return true;
}

static void g_indices(double first[G], double total[G])
{
    double v[G], all = 1;
    for (int i = 0; i < G; i++) {
        v[i] = 1 / (3 * (1 + g_a[i]) * (1 + g_a[i]));
        all *= 1 + v[i];
    }
    for (int i = 0; i < G; i++) {
        first[i] = v[i] / (all - 1);
        total[i] = v[i] * all / (1 + v[i]) / (all - 1);
    }
}

START_TEST(ishigami_indices_are_within_two_hundredths)
{
    double first[3], total[3], noise[3], s[3], t[3];
    hl_indices_job job = {
        .base = 16384, .unknowns = 3, .outputs = 1, .seed = (uint64_t)_i, .model = ishigami};
    ck_assert_int_eq(hl_indices(&job, s, t, noise), HL_OK);
    ishigami_indices(first, total);
    for (int i = 0; i < 3; i++) {
        ck_near(s[i], first[i], 0, 0.02);
        ck_near(t[i], total[i], 0, 0.02);
        ck_near(t[i], total[i], 0, 5 * noise[i] + 1e-3);
    }
}
END_TEST

START_TEST(g_function_indices_are_within_two_hundredths)
{
    double first[G], total[G], s[2 * G], t[2 * G];
    hl_indices_job job = {
        .base = 16384, .unknowns = G, .outputs = 2, .seed = (uint64_t)_i, .model = g_function};
    ck_assert_int_eq(hl_indices(&job, s, t, NULL), HL_OK);
    g_indices(first, total);
    for (int k = 0; k < 2; k++)
        for (int i = 0; i < G; i++) {
            ck_near(s[k * G + i], first[i], 0, 0.02);
            ck_near(t[k * G + i], total[i], 0, 0.02);
        }
}
END_TEST

/* The cheap estimator on 10,000 points. */
START_TEST(first_order_comes_from_a_sample_that_is_there)
{
    enum { N = 10000 };
    static double p[N * G], y[N];
    double first[G], total[G], both[2];
    hl_latin_hypercube((uint64_t)_i, N, 3, p);
    for (int i = 0; i < N; i++) ishigami(NULL, 0, &p[i * 3], &y[i]);
    ishigami_indices(first, total);
    for (int i = 0; i < 3; i++) ck_near(hl_first_order(N, p + i, 3, y), first[i], 0, 0.02);
    hl_latin_hypercube((uint64_t)_i, N, G, p);
    for (int i = 0; i < N; i++) {
        g_function(NULL, 0, &p[i * G], both);
        y[i] = i % 50 ? both[0] : NAN; /* points without an answer are left out */
    }
    g_indices(first, total);
    for (int i = 0; i < G; i++) ck_near(hl_first_order(N, p + i, G, y), first[i], 0, 0.02);
}
END_TEST

START_TEST(groups_carry_their_members)
{
    static const size_t group[3] = {0, 1, 0};
    double first[3], total[3], s[2], t[2];
    hl_indices_job job = {
        .base = 8192, .unknowns = 3, .outputs = 1, .groups = 2, .group = group, .model = ishigami};
    ck_assert_int_eq(hl_indices(&job, s, t, NULL), HL_OK);
    ishigami_indices(first, total);
    ck_near(s[0], 1 - first[1], 0, 0.02);
    ck_near(t[0], 1 - first[1], 0, 0.02);
    ck_near(t[1], total[1], 0, 0.02);
}
END_TEST

START_TEST(workers_do_not_change_a_bit)
{
    static const size_t workers[] = {1, 2, 7};
    double s[3][3], t[3][3];
    for (int w = 0; w < 3; w++) {
        hl_indices_job job = {
            .base = 500, .unknowns = 3, .outputs = 1, .seed = 9, .workers = workers[w], .model = ishigami};
        ck_assert_int_eq(hl_indices(&job, s[w], t[w], NULL), HL_OK);
    }
    ck_assert_mem_eq(s[0], s[1], sizeof s[0]);
    ck_assert_mem_eq(t[0], t[2], sizeof t[0]);
}
END_TEST

static bool never(void *context, size_t worker, const double p[], double y[])
{
    (void)context;
    (void)worker;
    (void)p;
    y[0] = 1e9;
    return false;
}

START_TEST(a_function_without_answers_gives_zeros)
{
    double s[2], t[2], noise[2];
    hl_indices_job job = {.base = 50, .unknowns = 2, .outputs = 1, .model = never};
    ck_assert_int_eq(hl_indices(&job, s, t, noise), HL_OK);
    ck_assert(s[0] == 0 && t[1] == 0 && noise[0] == 0);
    job.base = 0;
    ck_assert_int_eq(hl_indices(&job, s, t, NULL), HL_BAD_INPUT);
}
END_TEST

/* A race of six tortoises against six hares, T H H H H H T T T T T H: of the 36 pairs a tortoise stands
 * behind a hare in 25 (Mann and Whitney's U; counted by hand); the deviation of U among twelve is sqrt(39).
 * With ties and with one of each by hand. */
START_TEST(the_area_of_two_groups_is_counted_right)
{
    static const double tortoises[6] = {1, 7, 8, 9, 10, 11}, hares[6] = {2, 3, 4, 5, 6, 12};
    double deviation;
    ck_near(hl_rank_area(6, tortoises, 6, hares, &deviation), 25.0 / 36, 1e-15, 0);
    ck_near(deviation, sqrt(39) / 36, 1e-15, 0);
    ck_near(hl_rank_area(6, hares, 6, tortoises, NULL), 11.0 / 36, 1e-15, 0);
    static const double same[3] = {1, 1, 2}, other[2] = {1, 3};
    ck_near(hl_rank_area(3, same, 2, other, NULL), (0.5 + 0.5 + 1) / 6, 1e-15, 0);
    ck_assert(isnan(hl_rank_area(0, same, 2, other, &deviation)) && isnan(deviation));
}
END_TEST

/* All orders of three among seven: mean one half, and the variance that the paper gives, (m + n + 1) / (12 m
 * n).
 */
START_TEST(the_area_scatters_as_it_says)
{
    double sum = 0, square = 0, orders = 0, deviation = 0;
    for (unsigned set = 0; set < 128; set++) {
        double in[7], out[7];
        size_t m = 0, n = 0;
        for (unsigned i = 0; i < 7; i++) {
            if (set >> i & 1)
                in[m++] = i;
            else
                out[n++] = i;
        }
        if (m != 3) continue;
        double area = hl_rank_area(m, in, n, out, &deviation);
        sum += area;
        square += area * area;
        orders++;
    }
    ck_near(orders, 35, 0, 0);
    ck_near(sum / orders, 0.5, 1e-14, 0);
    ck_near(sqrt(square / orders - 0.25), deviation, 1e-13, 0);
}
END_TEST

/* Thirteen of a hundred points marked by one unknown: another one of the same hypercube, which has no part in
 * it, is named in one sample of twenty (1.96 deviations). */
START_TEST(the_area_raises_no_more_alarms_than_it_says)
{
    enum { SAMPLES = 100, MARKED = 13, SEEDS = 2000 };
    int alarms = 0;
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        double p[2 * SAMPLES], in[SAMPLES], out[SAMPLES], deviation;
        size_t m = 0, n = 0;
        ck_assert_int_eq(hl_latin_hypercube(seed, SAMPLES, 2, p), HL_OK);
        for (size_t i = 0; i < SAMPLES; i++) {
            if (p[2 * i] < (double)MARKED / SAMPLES)
                in[m++] = p[2 * i + 1];
            else
                out[n++] = p[2 * i + 1];
        }
        ck_assert_uint_eq(m, MARKED);
        hl_sort(m, in);
        hl_sort(n, out);
        alarms += fabs(hl_rank_area(m, in, n, out, &deviation) - 0.5) > 1.96 * deviation;
    }
    printf("%.1f %% alarms\n", 100.0 * alarms / SEEDS);
    ck_near((double)alarms / SEEDS, 0.05, 0, 3 * sqrt(0.05 * 0.95 / SEEDS));
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_area_raises_no_more_alarms_than_it_says);
    tcase_add_test(tests, the_area_of_two_groups_is_counted_right);
    tcase_add_test(tests, the_area_scatters_as_it_says);
    tcase_add_loop_test(tests, ishigami_indices_are_within_two_hundredths, 1, 6);
    tcase_add_loop_test(tests, g_function_indices_are_within_two_hundredths, 1, 4);
    tcase_add_loop_test(tests, first_order_comes_from_a_sample_that_is_there, 1, 4);
    tcase_add_test(tests, groups_carry_their_members);
    tcase_add_test(tests, workers_do_not_change_a_bit);
    tcase_add_test(tests, a_function_without_answers_gives_zeros);
}

int main(void)
{
    return story_main("indices", fill);
}
