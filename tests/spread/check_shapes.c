/* check_shapes.c - the shapes that knowledge of a value may have: their quantiles, means and deviations agree
 * with each other and with closed forms, and parameters that make no shape give no number. */
#include <math.h>
#include <string.h>

#include "heatledger/spread.h"
#include "lottery.h"
#include "story.h"

/* Mean and deviation by the quantiles in the middle of `n` even layers. */
static void by_layers(const hl_distribution *shape, int n, double *mean, double *deviation)
{
    double sum = 0, square = 0;
    for (int i = 0; i < n; i++) {
        double x = hl_distribution_quantile(shape, (i + 0.5) / n);
        sum += x;
        square += x * x;
    }
    *mean = sum / n;
    *deviation = sqrt(fmax(0, square / n - *mean * *mean));
}

START_TEST(mean_and_deviation_are_those_of_the_quantiles)
{
    /* tolerance: what 4000 layers leave of the tails, widest for Student's t */
    static const struct {
        hl_distribution shape;
        double relative;
    } row[] = {
        {{HL_SHAPE_FIXED, {7, 0, 0}}, 0},
        {{HL_SHAPE_UNIFORM, {-1, 5, 0}}, 1e-6},
        {{HL_SHAPE_UNIFORM, {2, 2, 0}}, 0},
        {{HL_SHAPE_TRIANGULAR, {-1, 4, 5}}, 1e-5},
        {{HL_SHAPE_TRIANGULAR, {1, 1, 5}}, 1e-5},
        {{HL_SHAPE_TRIANGULAR, {3, 3, 3}}, 0},
        {{HL_SHAPE_NORMAL, {10, 3, 0}}, 1e-3},
        {{HL_SHAPE_NORMAL, {10, 0, 0}}, 0},
        {{HL_SHAPE_LOG_NORMAL, {2, 0.3, 0}}, 3e-3},
        {{HL_SHAPE_STUDENT, {10, 1, 9}}, 1e-2},
        {{HL_SHAPE_ARC_SINE, {-1, 3, 0}}, 1e-6},
        {{HL_SHAPE_INEXACT_UNIFORM, {-1, 3, 0.5}}, 1e-5},
        {{HL_SHAPE_INEXACT_UNIFORM, {-1, 3, 2}}, 1e-5},
        {{HL_SHAPE_INEXACT_UNIFORM, {-1, 3, 0}}, 1e-6},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const hl_distribution *shape = &row[i].shape;
        double mean, deviation;
        by_layers(shape, 4000, &mean, &deviation);
        ck_near(hl_distribution_mean(shape), mean, row[i].relative, 1e-9);
        ck_near(hl_distribution_deviation(shape), deviation, row[i].relative, 1e-7);
    }
}
END_TEST

START_TEST(parameters_that_make_no_shape_give_no_number)
{
    static const hl_distribution none[] = {
        {HL_SHAPE_FIXED, {NAN, 0, 0}},
        {HL_SHAPE_FIXED, {HUGE_VAL, 0, 0}},
        {HL_SHAPE_UNIFORM, {2, 1, 0}},
        {HL_SHAPE_ARC_SINE, {NAN, 1, 0}},
        {HL_SHAPE_TRIANGULAR, {2, 1, 3}},
        {HL_SHAPE_TRIANGULAR, {1, 3, 2}},
        {HL_SHAPE_NORMAL, {HUGE_VAL, 1, 0}},
        {HL_SHAPE_NORMAL, {1, -1, 0}},
        {HL_SHAPE_LOG_NORMAL, {0, 1, 0}},
        {HL_SHAPE_LOG_NORMAL, {1, -1, 0}},
        {HL_SHAPE_STUDENT, {NAN, 1, 3}},
        {HL_SHAPE_STUDENT, {1, -1, 3}},
        {HL_SHAPE_STUDENT, {1, 1, 0.5}},
        {HL_SHAPE_INEXACT_UNIFORM, {2, 1, 0}},
        {HL_SHAPE_INEXACT_UNIFORM, {1, 2, -1}},
        {HL_SHAPE_INEXACT_UNIFORM, {1, 2, 0.6}},
        {(hl_shape)99, {1, 2, 3}},
    };
    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        ck_assert_msg(isnan(hl_distribution_quantile(&none[i], 0.5)), "case %zu", i);
        ck_assert_msg(isnan(hl_distribution_mean(&none[i])), "case %zu", i);
        ck_assert_msg(isnan(hl_distribution_deviation(&none[i])), "case %zu", i);
    }
}
END_TEST

START_TEST(a_probability_is_held_to_what_is_one)
{
    const hl_distribution even = {HL_SHAPE_UNIFORM, {1, 3, 0}}, normal = {HL_SHAPE_NORMAL, {0, 1, 0}};
    ck_near(hl_distribution_quantile(&even, -4), 1, 1e-12, 0);
    ck_near(hl_distribution_quantile(&even, 4), 3, 1e-12, 0);
    ck_assert(isnan(hl_distribution_quantile(&even, NAN)));
    ck_assert(isfinite(hl_distribution_quantile(&normal, 0)) &&
              isfinite(hl_distribution_quantile(&normal, 1)));
    ck_assert(hl_normal_quantile(0) == -HUGE_VAL && hl_normal_quantile(1) == HUGE_VAL);
    ck_assert(isnan(hl_normal_quantile(-0.1)) && isnan(hl_normal_quantile(1.1)) &&
              isnan(hl_normal_quantile(NAN)));
    const hl_distribution two = {HL_SHAPE_STUDENT, {0, 1, 2}};
    ck_assert(hl_distribution_deviation(&two) == HUGE_VAL);
}
END_TEST

/* In closed form: one degree of freedom (Cauchy) tan(pi (p - 1/2)), two (2 p - 1) / sqrt(2 p (1 - p)); the
 * rest as printed in JCGM 100:2008, table G.2, three digits. */
START_TEST(student_quantiles_are_the_known_ones)
{
    static const double shares[] = {1e-300, 1e-12, 0.01, 0.3, 0.5, 0.55, 0.975, 1 - 1e-9};
    for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
        double p = shares[i], one = p < 1e-9 ? -1 / (M_PI * p) : tan(M_PI * (p - 0.5));
        ck_near(hl_student_quantile(p, 1), one, 1e-7, 1e-12);
        ck_near(hl_student_quantile(p, 2), (2 * p - 1) / sqrt(2 * p * (1 - p)), 1e-7, 1e-12);
        if (p > 1e-100) ck_near(hl_student_probability(hl_student_quantile(p, 3.5), 3.5), p, 1e-9, 1e-15);
    }
    static const struct {
        double freedom, printed;
    } row[] = {{3, 3.18}, {5, 2.57}, {10, 2.23}, {20, 2.09}, {50, 2.01}, {100, 1.984}, {HUGE_VAL, 1.960}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++)
        ck_near(hl_student_quantile(0.975, row[i].freedom), row[i].printed, 0, 0.005);
    ck_near(hl_student_quantile(0.3, 1e11), hl_normal_quantile(0.3), 1e-9, 0);
    ck_near(hl_student_probability(1.96, HUGE_VAL), 0.975, 1e-4, 0);
    ck_near(hl_student_probability(-HUGE_VAL, 4) + hl_student_probability(0, 4), 0.5, 1e-12, 0);
    ck_assert(hl_student_quantile(0, 4) == -HUGE_VAL && hl_student_quantile(1, 4) == HUGE_VAL);
    ck_assert(isnan(hl_student_quantile(0.5, 0)) && isnan(hl_student_quantile(-0.5, 3)));
    ck_assert(isnan(hl_student_quantile(1.5, 3)) && isnan(hl_student_probability(1, 0)));
    ck_assert(isnan(hl_student_probability(NAN, 3)) && isnan(hl_student_quantile(0.5, NAN)));
}
END_TEST

/* ----------------------------------------------------------------- lists -- */

static int by_size(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return *x < *y ? -1 : *x > *y;
}

START_TEST(any_list_is_sorted_and_what_is_no_number_left_out)
{
    enum { MOST = 3000 };
    static double values[MOST], expected[MOST];
    lottery luck = lottery_open("sorted lists");
    for (int round = 0; round < 60; round++) {
        size_t n = (size_t)lottery_between(&luck, 0, round % 2 ? 60 : MOST), good = 0;
        for (size_t i = 0; i < n; i++) {
            double x = lottery_between(&luck, -5, 5);
            if (round % 5 == 1) x = floor(x);                                /* many equal */
            if (round % 5 == 2) x = (double)i;                               /* sorted */
            if (round % 5 == 3) x = i < n / 2 ? (double)i : (double)(n - i); /* up and down */
            values[i] = round % 7 == 3 && i % 11 == 0 ? NAN : x;
            if (!isnan(values[i])) expected[good++] = values[i];
        }
        qsort(expected, good, sizeof *expected, by_size);
        ck_assert_uint_eq(hl_sort(n, values), good);
        ck_assert_mem_eq(values, expected, good * sizeof *values);
        for (size_t i = good; i < n; i++) ck_assert(isnan(values[i]));
    }
}
END_TEST

START_TEST(the_summaries_of_little_are_defined)
{
    static const double list[] = {1, 2, 4, 8};
    double low, high;
    ck_assert(isnan(hl_mean(0, list)) && hl_deviation(1, list) == 0);
    ck_assert(isnan(hl_quantile(0, list, 0.5)) && isnan(hl_quantile(4, list, NAN)));
    ck_near(hl_quantile(4, list, 0.5), 3, 0, 0);
    ck_assert(hl_quantile(4, list, 0) == 1 && hl_quantile(4, list, 1) == 8 && hl_quantile(4, list, 9) == 8);
    ck_assert(hl_share_above(0, list, 3) == 0 && hl_share_above(4, list, 3) == 0.5);
    ck_assert(hl_share_above(4, list, 8) == 0 && hl_share_above(4, list, 0) == 1);
    hl_interval_symmetric(0, list, 0.9, &low, &high);
    ck_assert(isnan(low) && isnan(high));
    hl_interval_shortest(0, list, 0.9, &low, &high);
    ck_assert(isnan(low) && isnan(high));
    /* a coverage that is none, or more than all */
    static const struct {
        size_t n;
        double coverage, low, high;
    } row[] = {{1, 0.9, 1, 1}, {4, 0, 1, 2}, {4, NAN, 1, 2}, {4, 2, 1, 8}, {4, 0.5, 1, 4}, {1, 0, 1, 1}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        hl_interval_shortest(row[i].n, list, row[i].coverage, &low, &high);
        ck_assert_msg(low == row[i].low && high == row[i].high, "case %zu: %g .. %g", i, low, high);
        hl_interval_symmetric(row[i].n, list, row[i].coverage, &low, &high);
        ck_assert(low >= 1 && high <= 8 && low <= high);
    }
}
END_TEST

START_TEST(what_is_no_correlation_is_refused)
{
    static const double wrong[][9] = {
        {0.9, 0, 0, 0, 1, 0, 0, 0, 1},             /* not 1 with itself */
        {1, 0.5, 0, 0.4, 1, 0, 0, 0, 1},           /* not symmetric */
        {1, 1.1, 0, 1.1, 1, 0, 0, 0, 1},           /* above 1 */
        {1, NAN, 0, NAN, 1, 0, 0, 0, 1},           /* no number */
        {1, 0.9, 0.9, 0.9, 1, -0.9, 0.9, -0.9, 1}, /* no three values can be correlated so */
    };
    enum { SAMPLES = 40 };
    double p[SAMPLES * 3], before[SAMPLES * 3];
    ck_assert_int_eq(hl_latin_hypercube(3, SAMPLES, 3, p), HL_OK);
    memcpy(before, p, sizeof p);
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        ck_assert_msg(hl_sample_correlate(SAMPLES, 3, wrong[i], p) == HL_BAD_INPUT, "case %zu", i);
        ck_assert_mem_eq(p, before, sizeof p);
    }
    const double none[9] = {1, 0, 0, 0, 1, 0, 0, 0, 1};
    ck_assert_int_eq(hl_sample_correlate(5, 3, none, p), HL_BAD_INPUT); /* too few */
    /* equal numbers keep their order; columns that move as one have no correlation to turn */
    for (int s = 0; s < SAMPLES; s++) p[3 * s] = p[3 * s + 1] = p[3 * s + 2] = (s / 4 + 0.5) / (SAMPLES / 4);
    ck_assert_int_eq(hl_sample_correlate(SAMPLES, 3, none, p), HL_BAD_INPUT);
}
END_TEST

/* A column of few different numbers is reordered, and holds the same numbers afterwards. */
START_TEST(a_column_with_equal_numbers_is_correlated_all_the_same)
{
    enum { SAMPLES = 200 };
    double p[SAMPLES * 2], sum = 0, r[4] = {1, 0.8, 0.8, 1}, together = 0;
    ck_assert_int_eq(hl_latin_hypercube(5, SAMPLES, 2, p), HL_OK);
    for (int s = 0; s < SAMPLES; s++) {
        p[2 * s] = p[2 * s] < 0.5 ? 0.25 : 0.75;
        sum += p[2 * s];
    }
    ck_assert_int_eq(hl_sample_correlate(SAMPLES, 2, r, p), HL_OK);
    for (int s = 0; s < SAMPLES; s++) {
        sum -= p[2 * s];
        together += (p[2 * s] - 0.5) * (p[2 * s + 1] - 0.5);
    }
    ck_near(sum, 0, 0, 1e-9);
    ck_assert_msg(together > 0.04 * SAMPLES, "%g", together / SAMPLES); /* none: 0; fully: 0.0625 */
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, mean_and_deviation_are_those_of_the_quantiles);
    tcase_add_test(tests, parameters_that_make_no_shape_give_no_number);
    tcase_add_test(tests, a_probability_is_held_to_what_is_one);
    tcase_add_test(tests, student_quantiles_are_the_known_ones);
    tcase_add_test(tests, any_list_is_sorted_and_what_is_no_number_left_out);
    tcase_add_test(tests, the_summaries_of_little_are_defined);
    tcase_add_test(tests, what_is_no_correlation_is_refused);
    tcase_add_test(tests, a_column_with_equal_numbers_is_correlated_all_the_same);
}

int main(void)
{
    return story_main("shapes", fill);
}
