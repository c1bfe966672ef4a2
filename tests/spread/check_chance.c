/* check_chance.c - chance, distributions, samples and quantiles. */
#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/spread.h"
#include "story.h"

/* J. K. Salmon and others, SC11, 2011: known answers published with the generator's definition, from memory.
 */
START_TEST(block_gives_the_published_answers)
{
    static const struct {
        uint32_t counter[4], key[2], out[4];
    } known[] = {
        {{0, 0, 0, 0}, {0, 0}, {0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}},
        {{0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff},
         {0xffffffff, 0xffffffff},
         {0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}},
        {{0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344},
         {0xa4093822, 0x299f31d0},
         {0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}},
    };
    const size_t k = (size_t)_i;
    uint32_t out[4];
    hl_chance_block(known[k].counter, known[k].key, out);
    ck_assert_mem_eq(out, known[k].out, sizeof out);
}
END_TEST

START_TEST(chance_is_even_and_never_an_end)
{
    enum { N = 100000 };
    double sum = 0, square = 0, lag = 0, before = 0.5;
    for (uint64_t i = 0; i < N; i++) {
        double x = hl_chance(7, 3, i);
        ck_assert(x > 0 && x < 1);
        sum += x;
        square += x * x;
        lag += (x - 0.5) * (before - 0.5);
        before = x;
    }
    ck_near(sum / N, 0.5, 0, 4 * sqrt(1.0 / 12 / N));
    ck_near(square / N, 1.0 / 3, 0, 4 * sqrt(4.0 / 45 / N));
    ck_near(lag / N, 0, 0, 4.0 / 12 / sqrt(N));
    ck_assert_uint_ne(hl_chance_bits(7, 3, 0), hl_chance_bits(8, 3, 0));
    ck_assert_uint_ne(hl_chance_bits(7, 3, 0), hl_chance_bits(7, 4, 0));
}
END_TEST

/* Against an independent library. */
START_TEST(student_agrees_with_another_library)
{
    static const double freedom[] = {1, 2, 2.5, 5, 16, 24, 300, 1e5},
                        share[] = {1e-6, 0.005, 0.025, 0.3, 0.5, 0.9, 0.9995};
    for (size_t f = 0; f < sizeof freedom / sizeof *freedom; f++)
        for (size_t s = 0; s < sizeof share / sizeof *share; s++) {
            double x = gsl_cdf_tdist_Pinv(share[s], freedom[f]);
            ck_near(hl_student_quantile(share[s], freedom[f]), x, 1e-8, 1e-10);
            ck_near(hl_student_probability(x, freedom[f]), share[s], 1e-9, 1e-14);
        }
    /* one degree of freedom in closed form, far out where the other library is 5e-8 off */
    ck_near(hl_student_quantile(1e-9, 1), -1 / tan(M_PI * 1e-9), 1e-11, 0);
    /* JCGM 100:2008, table G.2: 99 %, 16 degrees of freedom: 2.92 */
    ck_near(hl_student_quantile(0.995, 16), 2.92, 0, 0.005);
    ck_near(hl_student_quantile(0.975, HUGE_VAL), 1.959963984540054, 1e-12, 0);
    ck_assert(isnan(hl_student_quantile(0.5, -1)) && isnan(hl_student_quantile(NAN, 3)));
    ck_assert(isinf(hl_student_quantile(1, 3)));
}
END_TEST

/* Mean and deviation of each shape from its own quantiles, midpoint rule over 50,000 layers. */
START_TEST(quantiles_have_the_stated_mean_and_deviation)
{
    static const hl_distribution cases[] = {
        {HL_SHAPE_UNIFORM, {-1, 3, 0}},
        {HL_SHAPE_TRIANGULAR, {1, 2, 7}},
        {HL_SHAPE_NORMAL, {5, 2, 0}},
        {HL_SHAPE_LOG_NORMAL, {3, 0.4, 0}},
        {HL_SHAPE_STUDENT, {1, 2, 8}},
        {HL_SHAPE_ARC_SINE, {-0.5, 0.5, 0}},
        {HL_SHAPE_INEXACT_UNIFORM, {-1, 5, 0.7}},
        {HL_SHAPE_INEXACT_UNIFORM, {-1, 1, 1}},
        {HL_SHAPE_FIXED, {4, 0, 0}},
    };
    enum { N = 50000 };
    const hl_distribution *d = &cases[_i];
    double sum = 0, square = 0, mean = hl_distribution_mean(d), deviation = hl_distribution_deviation(d),
           last = -HUGE_VAL;
    for (int i = 0; i < N; i++) {
        double x = hl_distribution_quantile(d, (i + 0.5) / N);
        ck_assert(x >= last);
        last = x;
        sum += x;
        square += (x - mean) * (x - mean);
    }
    ck_near(sum / N, mean, 1e-5, 1e-5);
    ck_near(sqrt(square / N), deviation, 5e-3, 1e-12);
}
END_TEST

START_TEST(senseless_distributions_give_no_number)
{
    static const hl_distribution cases[] = {
        {HL_SHAPE_UNIFORM, {1, 0, 0}},         {HL_SHAPE_TRIANGULAR, {0, 3, 2}},
        {HL_SHAPE_NORMAL, {0, -1, 0}},         {HL_SHAPE_LOG_NORMAL, {0, 1, 0}},
        {HL_SHAPE_STUDENT, {0, 1, 0}},         {HL_SHAPE_UNIFORM, {NAN, 1, 0}},
        {HL_SHAPE_INEXACT_UNIFORM, {0, 1, 2}},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        ck_assert(isnan(hl_distribution_quantile(&cases[i], 0.5)));
        ck_assert(isnan(hl_distribution_deviation(&cases[i])));
    }
}
END_TEST

START_TEST(hypercube_has_one_point_in_each_layer)
{
    enum { N = 500, K = 7 };
    static double p[N * K];
    ck_assert_int_eq(hl_latin_hypercube(11, N, K, p), HL_OK);
    for (int k = 0; k < K; k++) {
        char seen[N] = {0};
        for (int i = 0; i < N; i++) {
            size_t layer = (size_t)(p[i * K + k] * N);
            ck_assert_uint_lt(layer, N);
            ck_assert(!seen[layer]);
            seen[layer] = 1;
        }
    }
}
END_TEST

START_TEST(reordering_gives_the_wanted_correlations)
{
    enum { N = 4000, K = 3 };
    static double p[N * K], before[N * K];
    static const double r[9] = {1, 0.9, -0.3, 0.9, 1, -0.5, -0.3, -0.5, 1};
    ck_assert_int_eq(hl_latin_hypercube(5, N, K, p), HL_OK);
    memcpy(before, p, sizeof p);
    ck_assert_int_eq(hl_sample_correlate(N, K, r, p), HL_OK);
    for (int a = 0; a < K; a++)
        for (int b = 0; b < K; b++) {
            double sum = 0;
            for (int i = 0; i < N; i++)
                sum += hl_normal_quantile(p[i * K + a]) * hl_normal_quantile(p[i * K + b]);
            ck_near(sum / N, r[a * K + b], 0, 0.01);
        }
    double was = 0, is = 0; /* the numbers of a column stay */
    for (int i = 0; i < N; i++) was += before[i * K] * before[i * K], is += p[i * K] * p[i * K];
    ck_near(is, was, 1e-12, 0);
    static const double impossible[9] = {1, 0.9, -0.9, 0.9, 1, 0.9, -0.9, 0.9, 1};
    ck_assert_int_eq(hl_sample_correlate(N, K, impossible, p), HL_BAD_INPUT);
}
END_TEST

START_TEST(quantiles_follow_the_stated_rule)
{
    double v[] = {4, NAN, 1, 3, 2}, low, high;
    ck_assert_uint_eq(hl_sort(5, v), 4);
    ck_near(hl_quantile(4, v, 0.5), 2.5, 1e-15, 0);
    ck_near(hl_quantile(4, v, 0.125), 1, 1e-15, 0); /* value 1 stands at (1 - 1/2) / 4 */
    ck_near(hl_quantile(4, v, 0), 1, 0, 0);
    ck_near(hl_quantile(4, v, 1), 4, 0, 0);
    ck_assert(isnan(hl_quantile(0, v, 0.5)));
    ck_near(hl_share_above(4, v, 2), 0.5, 0, 0);
    /* JCGM 101:2008, 7.7: M = 100, 95 %: q = 95, r = 2 (symmetric): y(2) .. y(97), from memory */
    double hundred[100];
    for (int i = 0; i < 100; i++) hundred[i] = i + 1;
    hl_interval_symmetric(100, hundred, 0.95, &low, &high);
    ck_near(low, 2, 0, 0);
    ck_near(high, 97, 0, 0);
    for (int i = 0; i < 10; i++) hundred[i] -= 100;
    hl_interval_shortest(100, hundred, 0.5, &low, &high);
    ck_near(high - low, 50, 0, 0);
}
END_TEST

START_TEST(sorting_is_right_for_any_order)
{
    enum { N = 5000 };
    static double v[N];
    for (int kind = 0; kind < 5; kind++) {
        for (int i = 0; i < N; i++)
            v[i] = kind == 0   ? hl_chance(1, 2, (uint64_t)i)
                   : kind == 1 ? i
                   : kind == 2 ? -i
                   : kind == 3 ? i % 7
                               : 1;
        ck_assert_uint_eq(hl_sort(N, v), N);
        for (int i = 1; i < N; i++) ck_assert(v[i] >= v[i - 1]);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, block_gives_the_published_answers, 0, 3);
    tcase_add_test(tests, chance_is_even_and_never_an_end);
    tcase_add_test(tests, student_agrees_with_another_library);
    tcase_add_loop_test(tests, quantiles_have_the_stated_mean_and_deviation, 0, 9);
    tcase_add_test(tests, senseless_distributions_give_no_number);
    tcase_add_test(tests, hypercube_has_one_point_in_each_layer);
    tcase_add_test(tests, reordering_gives_the_wanted_correlations);
    tcase_add_test(tests, quantiles_follow_the_stated_rule);
    tcase_add_test(tests, sorting_is_right_for_any_order);
}

int main(void)
{
    return story_main("chance", fill);
}
