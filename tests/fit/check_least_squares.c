/* check_least_squares.c - fits of plain functions: a published line, honest errors, wrong readings, blind
 * spots. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/fit.h"
#include "heatledger/spread.h"
#include "story.h"

/* JCGM 100:2008, H.3: correction of a thermometer, b = y1 + y2 (t - 20 degC); readings and printed results
 * from memory of table H.6 and H.3.3. */
enum { LINE = 11 };
static const double line_t[LINE] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                                    24.513, 25.002, 25.503, 26.010, 26.511};
static const double line_b[LINE] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                                    -0.156, -0.157, -0.159, -0.161, -0.160};

static bool line(void *context, const double v[], double predicted[])
{
    (void)context;
    for (int i = 0; i < LINE; i++) predicted[i] = v[0] + v[1] * (line_t[i] - 20);
    return true;
}

START_TEST(thermometer_line_of_annex_h3)
{
    hl_fit_value values[2] = {{.name = "y1", .low = -1, .high = 1}, {.name = "y2", .low = -0.1, .high = 0.1}};
    hl_fit_reading readings[LINE];
    for (int i = 0; i < LINE; i++) readings[i] = (hl_fit_reading){"b", line_b[i], 1};
    hl_fit_problem problem = {
        .n_values = 2, .n_readings = LINE, .values = values, .readings = readings, .model = line};
    hl_fit_result *result;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
    double freedom, s = sqrt(hl_fit_chi_square(result, &freedom) / 9);
    const hl_fit_estimate *y1 = hl_fit_estimate_of(result, 0), *y2 = hl_fit_estimate_of(result, 1);
    ck_near(freedom, 9, 0, 0);
    ck_near(s, 0.0035, 0, 0.00005);
    ck_near(y1->value, -0.1712, 0, 0.00005);
    ck_near(y1->u * s, 0.0029, 0, 0.00005);
    ck_near(y2->value, 0.00218, 0, 0.000005);
    ck_near(y2->u * s, 0.00067, 0, 0.000005);
    double r = hl_fit_correlation(result, 0, 1);
    ck_near(r, -0.930, 0, 0.0005);
    /* H.3.4: at 30 degC b = -0.1494 with u = 0.0041 */
    double u1 = y1->u * s, u2 = y2->u * s;
    ck_near(y1->value + 10 * y2->value, -0.1494, 0, 0.00005);
    ck_near(sqrt(u1 * u1 + 100 * u2 * u2 + 20 * r * u1 * u2), 0.0041, 0, 0.00005);
    hl_fit_destroy(result);
}
END_TEST

/* A decay read at twelve moments: bent in both values. */
enum { DECAY = 12, BENCHES = 200 };

static bool decay(void *context, const double v[], double predicted[])
{
    (void)context;
    for (int i = 0; i < DECAY; i++) predicted[i] = v[0] * exp(-v[1] * i * 0.25) + v[2];
    return true;
}

static void read_decay(uint64_t seed, const double truth[3], double wrong, hl_fit_reading readings[DECAY],
                       size_t *planted)
{
    double predicted[DECAY];
    decay(NULL, truth, predicted);
    *planted = (size_t)(hl_chance_bits(seed, 5, 0) % DECAY);
    for (uint64_t i = 0; i < DECAY; i++) {
        double u = 0.01 * (1 + (double)(i % 3));
        readings[i] = (hl_fit_reading){"y", predicted[i] + u * hl_normal_quantile(hl_chance(seed, 4, i)), u};
    }
    readings[*planted].value += wrong * readings[*planted].u;
}

/* The bars: unbiased within 2 standard errors of the mean, chi-square 0.8 to 1.2, a reading 10 standard
 * uncertainties off named in at least 95 %; and few sound ones named. */
START_TEST(errors_are_honest_over_two_hundred_benches)
{
    static const double truth[3] = {2, 0.8, 0.5};
    static const hl_fit_value values[3] = {{.name = "a", .start = 1, .low = 0, .high = 5},
                                           {.name = "k", .start = 0.5, .low = 0, .high = 3},
                                           {.name = "c", .start = 0, .low = -2, .high = 2}};
    double pull[3] = {0}, square[3] = {0}, chi = 0;
    int alarms = 0, found = 0, blamed = 0;
    for (uint64_t seed = 1; seed <= BENCHES; seed++)
        for (int wrong = 0; wrong < 2; wrong++) {
            hl_fit_reading readings[DECAY];
            size_t planted;
            read_decay(seed, truth, wrong ? 10 : 0, readings, &planted);
            hl_fit_problem problem = {
                .n_values = 3, .n_readings = DECAY, .values = values, .readings = readings, .model = decay};
            hl_fit_result *result;
            ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
            for (size_t i = 0; i < DECAY; i++) {
                bool named = hl_fit_residual_of(result, i)->disagrees;
                if (!wrong) alarms += named;
                if (wrong && i == planted) found += named;
                if (wrong && i != planted) blamed += named;
            }
            for (size_t k = 0; !wrong && k < 3; k++) {
                const hl_fit_estimate *e = hl_fit_estimate_of(result, k);
                double z = (e->value - truth[k]) / e->u;
                pull[k] += z;
                square[k] += z * z;
            }
            double freedom;
            if (!wrong) chi += hl_fit_chi_square(result, &freedom) / freedom;
            hl_fit_destroy(result);
        }
    printf("chi-square %.3f, found %.1f %%, alarms %.1f %% of benches, others blamed %d\n", chi / BENCHES,
           100.0 * found / BENCHES, 100.0 * alarms / BENCHES, blamed);
    for (int k = 0; k < 3; k++) {
        printf("value %d: mean pull %.3f, its square %.3f\n", k, pull[k] / BENCHES, square[k] / BENCHES);
        ck_near(pull[k] / BENCHES, 0, 0, 2 / sqrt(BENCHES));
        ck_near(square[k] / BENCHES, 1, 0, 0.2);
    }
    ck_near(chi / BENCHES, 1, 0, 0.2);
    ck_assert_int_ge(found, BENCHES * 95 / 100);
    ck_assert_int_le(alarms, BENCHES / 10);
    ck_assert_int_le(blamed, BENCHES / 10);
}
END_TEST

/* y = a b x + c: only the product of a and b is told. */
static bool product(void *context, const double v[], double predicted[])
{
    (void)context;
    for (int i = 0; i < 5; i++) predicted[i] = v[0] * v[1] * i + v[2] + 0 * v[3];
    return true;
}

START_TEST(values_that_cannot_be_told_apart_are_named)
{
    hl_fit_value values[4] = {{.name = "a", .start = 2, .low = 1, .high = 3},
                              {.name = "b", .start = 2, .low = 1, .high = 3},
                              {.name = "c", .start = 0, .low = -1, .high = 1},
                              {.name = "d", .start = 0, .low = -1, .high = 1}};
    hl_fit_reading readings[5];
    for (int i = 0; i < 5; i++) readings[i] = (hl_fit_reading){"y", 4.2 * i + 0.1, 0.01};
    hl_fit_problem problem = {
        .n_values = 4, .n_readings = 5, .values = values, .readings = readings, .model = product};
    hl_fit_result *result;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
    ck_assert_uint_eq(hl_fit_blinds(result), 2);
    int pairs = 0, lone = 0;
    for (size_t i = 0; i < 2; i++) {
        const hl_fit_blind *blind = hl_fit_blind_of(result, i);
        if (blind->n == 2) pairs += blind->value[0] + blind->value[1] == 1;
        if (blind->n == 1) lone += blind->value[0] == 3;
    }
    ck_assert_int_eq(pairs, 1);
    ck_assert_int_eq(lone, 1);
    ck_assert(isinf(hl_fit_estimate_of(result, 0)->u));
    ck_near(hl_fit_estimate_of(result, 2)->value, 0.1, 0, 0.03);
    hl_fit_destroy(result);
    values[0].prior = 2; /* what is known before settles it */
    values[0].prior_u = 0.02;
    values[3].prior_u = 0.1;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
    ck_near(hl_fit_estimate_of(result, 0)->u, 0.02, 1e-3, 0);
    ck_near(hl_fit_estimate_of(result, 1)->value, 2.1, 0.01, 0);
    ck_assert_uint_eq(hl_fit_blinds(result), 2); /* the readings alone still do not tell */
    hl_fit_destroy(result);
}
END_TEST

START_TEST(a_value_stays_within_its_bounds_and_says_so)
{
    hl_fit_value values[2] = {{.name = "y1", .low = -0.1, .high = 1},
                              {.name = "y2", .low = -0.1, .high = 0.1}};
    hl_fit_reading readings[LINE];
    for (int i = 0; i < LINE; i++) readings[i] = (hl_fit_reading){"b", line_b[i], 0.0035};
    hl_fit_problem problem = {
        .n_values = 2, .n_readings = LINE, .values = values, .readings = readings, .model = line};
    hl_fit_result *result;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
    ck_near(hl_fit_estimate_of(result, 0)->value, -0.1, 0, 1e-3);
    ck_assert(hl_fit_estimate_of(result, 0)->at_bound);
    ck_assert(!hl_fit_estimate_of(result, 1)->at_bound);
    hl_fit_destroy(result);
}
END_TEST

static bool none(void *context, const double v[], double predicted[])
{
    (void)context;
    (void)v;
    predicted[0] = NAN;
    return true;
}

START_TEST(senseless_problems_are_refused)
{
    hl_fit_value value = {.name = "a", .start = 0, .low = -1, .high = 1};
    hl_fit_reading reading = {"y", 1, 1};
    hl_fit_problem problem = {
        .n_values = 1, .n_readings = 1, .values = &value, .readings = &reading, .model = none};
    hl_fit_result *result;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_NO_SOLUTION);
    reading.u = 0;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_BAD_INPUT);
    reading.u = NAN;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_BAD_INPUT);
    reading.u = 1;
    value.start = 2;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_BAD_INPUT);
    ck_assert_ptr_null(result);
}
END_TEST

static bool half_of_it(void *context, const double v[], double predicted[])
{
    (void)context;
    predicted[0] = 2 * v[0];
    return v[0] < 0.5; /* no answer beyond */
}

START_TEST(each_figure_of_a_problem_must_make_sense)
{
    const hl_fit_value good = {.name = "a", .start = 0, .low = -1, .high = 1};
    const hl_fit_reading read = {"y", 0.4, 0.1};
    for (int wrong = 0; wrong < 15; wrong++) {
        hl_fit_value value = good;
        hl_fit_reading reading = read;
        hl_fit_problem problem = {
            .n_values = 1, .n_readings = 1, .values = &value, .readings = &reading, .model = half_of_it};
        if (wrong == 1) problem.n_values = 0;
        if (wrong == 2) problem.n_readings = 0;
        if (wrong == 3) problem.model = NULL;
        if (wrong == 4) value.low = 1;
        if (wrong == 5) value.low = -HUGE_VAL;
        if (wrong == 6) value.high = HUGE_VAL;
        if (wrong == 7) value.high = NAN;
        if (wrong == 8) value.start = -1.5;
        if (wrong == 9) value.start = NAN;
        if (wrong == 10) value.prior_u = -1;
        if (wrong == 11) value.prior_u = 1, value.prior = NAN;
        if (wrong == 12) reading.value = HUGE_VAL;
        if (wrong == 13) reading.u = -1;
        if (wrong == 14) reading.u = HUGE_VAL;
        hl_fit_result *result;
        ck_assert_msg(hl_fit(&problem, &result) == (wrong ? HL_BAD_INPUT : HL_OK), "case %d", wrong);
        if (!wrong) {
            ck_near(hl_fit_estimate_of(result, 0)->value, 0.2, 1e-6, 0);
            ck_near(hl_fit_estimate_of(result, 0)->u, 0.05, 1e-4, 0);
            ck_assert(!hl_fit_estimate_of(result, 1) && !hl_fit_residual_of(result, 1));
            ck_assert(!hl_fit_blind_of(result, 0) && isnan(hl_fit_correlation(result, 0, 1)));
            ck_assert(isnan(hl_fit_correlation(result, 1, 0)) && hl_fit_correlation(result, 0, 0) == 1);
            ck_near(hl_fit_chi_square(result, NULL), 0, 0, 1e-9);
        }
        hl_fit_destroy(result);
    }
    /* no answer at the start at all, and a step of its own */
    hl_fit_value value = good;
    hl_fit_reading reading = read;
    hl_fit_problem problem = {.n_values = 1,
                              .n_readings = 1,
                              .values = &value,
                              .readings = &reading,
                              .model = half_of_it,
                              .step = 1e-4};
    hl_fit_result *result;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
    ck_near(hl_fit_estimate_of(result, 0)->value, 0.2, 1e-5, 0);
    hl_fit_destroy(result);
    value.start = 0.7;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_NO_SOLUTION);
    ck_assert_ptr_null(result);
    double a[2] = {1, NAN}, s[1], v[1];
    ck_assert_int_eq(hl_singular_values(2, 1, a, s, v), HL_BAD_INPUT);
}
END_TEST

/* A hair before the model's end, a step ahead has no answer: the slope is found by one back. */
START_TEST(a_fit_sets_out_from_where_the_model_ends)
{
    static const double start[] = {0.499999, 0.4999999, 0.49999999999};
    for (size_t i = 0; i < sizeof start / sizeof *start; i++) {
        hl_fit_value value = {.name = "a", .start = start[i], .low = -1, .high = 1};
        hl_fit_reading reading = {"y", 0.4, 0.1};
        hl_fit_problem problem = {
            .n_values = 1, .n_readings = 1, .values = &value, .readings = &reading, .model = half_of_it};
        hl_fit_result *result;
        ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
        ck_near(hl_fit_estimate_of(result, 0)->value, 0.2, 1e-6, 0);
        hl_fit_destroy(result);
    }
}
END_TEST

/* Rises ever steeper up to a = 1, and has no answer beyond: heat that runs away.  At the end it reads 2. */
static bool runs_away(void *context, const double v[], double predicted[])
{
    (void)context;
    if (!(v[0] <= 1)) return false;
    predicted[0] = 2 - sqrt(1 - v[0]) + v[1];
    predicted[1] = v[1];
    return true;
}

/* A reading that no answer reaches pulls the search to the end of the answers: steps beyond are taken back,
 * the search ends there and says so, and nothing is taken for told.  Within reach all is as ever. */
START_TEST(a_fit_pulled_to_where_the_model_ends_says_so)
{
    for (int far = 0; far < 2; far++) {
        hl_fit_value values[2] = {{.name = "a", .start = 0.1, .low = 0, .high = 5},
                                  {.name = "b", .start = 0, .low = -1, .high = 1}};
        hl_fit_reading readings[2] = {{"y", far ? 3 : 1.5, 0.01}, {"z", 0, 0.001}};
        hl_fit_problem problem = {
            .n_values = 2, .n_readings = 2, .values = values, .readings = readings, .model = runs_away};
        hl_fit_result *result;
        ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
        const hl_fit_estimate *a = hl_fit_estimate_of(result, 0), *b = hl_fit_estimate_of(result, 1);
        ck_assert_int_eq(a->at_edge, far);
        ck_assert_int_eq(a->told, !far);
        ck_assert(!b->at_edge && b->told && !a->at_bound);
        ck_near(a->value, far ? 1 : 0.75, 0, 1e-3);
        ck_assert(far ? isinf(a->u) : fabs(a->u - 0.01) < 1e-3); /* dy/da is one at 0.75 */
        hl_fit_destroy(result);
    }
}
END_TEST

START_TEST(singular_values_by_hand)
{
    double a[6] = {3, 0, 0, -2, 0, 0}, s[2], v[4];
    ck_assert_int_eq(hl_singular_values(3, 2, a, s, v), HL_OK);
    ck_near(s[0], 3, 1e-14, 0);
    ck_near(s[1], 2, 1e-14, 0);
    double b[4] = {1, 1, 1, 1};
    ck_assert_int_eq(hl_singular_values(2, 2, b, s, v), HL_OK);
    ck_near(s[0], 2, 1e-14, 0);
    ck_near(s[1], 0, 0, 1e-14);
    ck_near(fabs(v[0]), sqrt(0.5), 1e-14, 0);
}
END_TEST

typedef struct first_try {
    bool asked;
    double value;
} first_try;

static bool keep_first(void *context, const double values[], double predicted[])
{
    first_try *first = context;
    if (!first->asked) *first = (first_try){true, values[0]};
    predicted[0] = values[0];
    return true;
}

/* A microhenry between none and a henry is near an end as shares go, and no end. */
START_TEST(a_small_start_in_wide_bounds_is_where_it_starts)
{
    first_try first = {0};
    const hl_fit_value value = {.name = "leakage", .start = 2.6e-6, .low = 0, .high = 1};
    const hl_fit_reading reading = {.name = "r", .value = 3e-6, .u = 1e-7};
    const hl_fit_problem problem = {.n_values = 1,
                                    .n_readings = 1,
                                    .values = &value,
                                    .readings = &reading,
                                    .model = keep_first,
                                    .context = &first};
    hl_fit_result *result;
    ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
    ck_near(first.value, 2.6e-6, 1e-9, 0);
    hl_fit_destroy(result);
}
END_TEST

static bool itself(void *context, const double v[], double predicted[])
{
    (void)context;
    predicted[0] = predicted[1] = v[0];
    return true;
}

/* A step in proportion to what stands there would be none here, and the value would be taken for one that
 * nothing depends on. */
START_TEST(a_fit_sets_out_from_a_hair_beside_the_middle)
{
    static const double start[] = {0, 1e-17, -3e-14, 1e-9};
    for (size_t i = 0; i < sizeof start / sizeof *start; i++) {
        hl_fit_value value = {.name = "x", .start = start[i], .low = -1, .high = 1};
        hl_fit_reading readings[2] = {{"a", 0.7, 0.1}, {"b", 0.7, 0.1}};
        hl_fit_problem problem = {
            .n_values = 1, .n_readings = 2, .values = &value, .readings = readings, .model = itself};
        hl_fit_result *result;
        ck_assert_int_eq(hl_fit(&problem, &result), HL_OK);
        ck_near(hl_fit_estimate_of(result, 0)->value, 0.7, 1e-8, 0);
        hl_fit_destroy(result);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_small_start_in_wide_bounds_is_where_it_starts);
    tcase_add_test(tests, a_fit_sets_out_from_a_hair_beside_the_middle);
    tcase_add_test(tests, thermometer_line_of_annex_h3);
    tcase_add_test(tests, errors_are_honest_over_two_hundred_benches);
    tcase_add_test(tests, values_that_cannot_be_told_apart_are_named);
    tcase_add_test(tests, a_value_stays_within_its_bounds_and_says_so);
    tcase_add_test(tests, senseless_problems_are_refused);
    tcase_add_test(tests, each_figure_of_a_problem_must_make_sense);
    tcase_add_test(tests, a_fit_sets_out_from_where_the_model_ends);
    tcase_add_test(tests, a_fit_pulled_to_where_the_model_ends_says_so);
    tcase_add_test(tests, singular_values_by_hand);
}

int main(void)
{
    return story_main("least squares", fill);
}
