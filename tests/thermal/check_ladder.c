/* check_ladder.c - ladders of transient impedance: pulses, trains, one form into the other, fits. */
#include "heatledger/heatledger.h"

#include <math.h>

#include "lottery.h"
#include "story.h"

/* Seven stages of a power module as published in a notebook on thermal ladders by B. Wang (values read
 * there); the Cauer form and the impedance beside them were computed independently by continued fractions in
 * 50 digits. */
static const hl_ladder seven = {
    7,
    {0.002748817, 0.005715661, 0.04153561, 0.05616478, 0.3286516, 1.016057, 0.130071},
    {2.916343e-05, 0.0001725521, 0.0002092143, 0.001786133, 0.002129755, 0.008451135, 0.0863404}};

static const hl_ladder seven_cauer = {
    7,
    {0.0048788, 0.020667, 0.049149, 0.2056, 0.38079, 0.9141, 0.0057611},
    {2.1728e-05, 7.1424e-05, 0.00011574, 0.00075014, 0.0012405, 0.0071454, 1.9066}};

START_TEST(single_pulse_matches_the_published_ladder)
{
    static const double curve[][2] = {{1e-6, 0.012062}, {1e-5, 0.048147}, {1e-4, 0.14211}, {1e-3, 0.47884},
                                      {1e-2, 1.2105},   {1e-1, 1.5809},   {1, 1.5809}};
    /* five digits are printed; at 0.1 s the longest stage (11 ms) has 1e-4 of its own rise to go */
    for (size_t k = 0; k < sizeof curve / sizeof curve[0]; k++)
        ck_near(hl_foster_step(&seven, curve[k][0]), curve[k][1], 6e-5, 0);
}
END_TEST

START_TEST(foster_becomes_the_published_cauer)
{
    hl_ladder cauer, back;
    ck_assert_int_eq(hl_foster_to_cauer(&seven, &cauer), HL_OK);
    for (size_t i = 0; i < 7; i++) {
        ck_near(cauer.resistance[i], seven_cauer.resistance[i], 1e-4, 0); /* five digits printed */
        ck_near(cauer.capacity[i], seven_cauer.capacity[i], 1e-4, 0);
    }
    ck_assert_int_eq(hl_cauer_to_foster(&cauer, &back), HL_OK);
    for (double t = 1e-7; t < 10; t *= 1.7)
        ck_near(hl_foster_step(&back, t), hl_foster_step(&seven, t), 1e-9, 0);
}
END_TEST

static void one_watt(void *context, double time, const double temperature[], double power[], double slope[])
{
    (void)context, (void)time, (void)temperature;
    for (int i = 0; i < 3; i++) power[i] = slope[i] = 0;
    power[0] = 1;
}

/* A chain of places integrated as a network gives the same junction as the ladder it turns into. */
START_TEST(cauer_chain_as_a_network_follows_its_foster)
{
    const hl_ladder chain = {3, {0.1, 0.5, 1.2}, {0.3, 0.8, 2.0}};
    hl_ladder foster;
    ck_assert_int_eq(hl_cauer_to_foster(&chain, &foster), HL_OK);
    hl_network *network = hl_network_create();
    for (int i = 0; i < 3; i++) hl_network_add_node(network, "place", chain.capacity[i]);
    for (int i = 0; i < 3; i++) {
        hl_link link = {i, i < 2 ? i + 1 : HL_AMBIENT, HL_LAW_FIXED, 0, {1 / chain.resistance[i], 0, 0, 0}};
        ck_assert_int_ge(hl_network_add_link(network, &link), 0);
    }
    const hl_surroundings room = {300, 101325};
    const double times[] = {0.01, 0.1, 0.5, 1, 3, 10}, start[3] = {300, 300, 300};
    double course[18];
    ck_assert_int_eq(hl_network_transient(network, &room, one_watt, NULL, start, 6, times, course, NULL),
                     HL_OK);
    for (int k = 0; k < 6; k++) ck_near(course[3 * k] - 300, hl_foster_step(&foster, times[k]), 0, 1e-5);
    hl_network_destroy(network);
}
END_TEST

/* The train's closed form against the sum of single pulses, switched on and off again two hundred times. */
START_TEST(train_of_pulses_is_the_sum_of_its_pulses)
{
    const double period = 2e-3, duty = 0.3;
    double end = 0, valley = 0;
    for (int k = 0; k < 200; k++) {
        end += hl_foster_step(&seven, duty * period + k * period) - hl_foster_step(&seven, k * period);
        valley += hl_foster_step(&seven, (k + 1) * period) - hl_foster_step(&seven, (k + 1 - duty) * period);
    }
    ck_near(hl_foster_train(&seven, period, duty), end, 1e-9, 0);
    ck_near(hl_foster_valley(&seven, period, duty), valley, 1e-9, 0);
    double mean = hl_foster_mean(&seven, duty);
    ck_assert(mean < end && mean > valley);
    /* ends: a train of endless duty is steady, a very quick one feels the mean, a very slow one the pulse */
    ck_near(hl_foster_train(&seven, period, 1), hl_foster_mean(&seven, 1), 1e-12, 0);
    ck_near(hl_foster_train(&seven, 1e-9, duty), mean, 1e-4, 0);
    ck_near(hl_foster_train(&seven, 1e3, duty), hl_foster_step(&seven, 300), 1e-12, 0);
}
END_TEST

START_TEST(fit_goes_through_its_curve)
{
    double time[13], impedance[13], worst;
    for (int k = 0; k < 13; k++) {
        time[k] = 1e-6 * pow(10, 0.4 * k);
        impedance[k] = hl_foster_step(&seven, time[k]);
    }
    hl_ladder fitted;
    ck_assert_int_eq(hl_foster_fit(13, time, impedance, 6, &fitted, &worst), HL_OK);
    ck_assert_msg(worst < 0.01, "worst deviation %g", worst); /* six stages for seven */
    for (double t = 2e-6; t < 0.05; t *= 1.5)                 /* and between the points */
        ck_near(hl_foster_step(&fitted, t), hl_foster_step(&seven, t), 0.02, 0);
}
END_TEST

START_TEST(random_ladders_survive_both_ways)
{
    lottery draw = lottery_open("check_ladder");
    for (int round = 0; round < 500; round++) {
        hl_ladder foster = {.n = 1 + lottery_below(&draw, 8)}, cauer, back;
        double tau = lottery_scale(&draw, 1e-6, 1e-4);
        for (size_t i = 0; i < foster.n; i++) {
            foster.resistance[i] = lottery_scale(&draw, 1e-2, 10);
            foster.capacity[i] = tau / foster.resistance[i];
            tau *= lottery_between(&draw, 2, 20);
        }
        ck_assert_int_eq(hl_foster_to_cauer(&foster, &cauer), HL_OK);
        ck_assert_int_eq(hl_cauer_to_foster(&cauer, &back), HL_OK);
        for (double t = 1e-7; t < 1e4; t *= 3) {
            double a = hl_foster_step(&foster, t), b = hl_foster_step(&back, t);
            ck_assert_msg(fabs(a - b) <= 1e-6 * a, "HL_TEST_SEED=%llu round %d: %g became %g at %g s",
                          draw.seed, round, a, b, t);
        }
    }
}
END_TEST

START_TEST(bad_ladders_are_refused)
{
    hl_ladder out;
    const double bad[] = {0, -1, NAN, INFINITY};
    for (size_t k = 0; k < 4; k++) {
        hl_ladder wrong = {2, {1, bad[k]}, {1, 1}};
        ck_assert_int_eq(hl_foster_to_cauer(&wrong, &out), HL_BAD_INPUT);
        ck_assert_int_eq(hl_cauer_to_foster(&wrong, &out), HL_BAD_INPUT);
        double time[2] = {1, 2}, impedance[2] = {1, bad[k]};
        ck_assert_int_eq(hl_foster_fit(2, time, impedance, 3, &out, NULL), HL_BAD_INPUT);
    }
    for (double time = 1e-9; time < 2e9; time *= 1e3) { /* one time constant, whichever it is; or two */
        hl_ladder twins = {2, {1, 3}, {time, time / 3}}, sisters = {2, {1, 3}, {time, time}};
        ck_assert_int_eq(hl_foster_to_cauer(&sisters, &out), HL_OK);
        ck_assert_int_eq(hl_foster_to_cauer(&twins, &out), HL_BAD_INPUT);
    }
    hl_ladder none = {0};
    ck_assert_int_eq(hl_foster_to_cauer(&none, &out), HL_BAD_INPUT);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, single_pulse_matches_the_published_ladder);
    tcase_add_test(tests, foster_becomes_the_published_cauer);
    tcase_add_test(tests, cauer_chain_as_a_network_follows_its_foster);
    tcase_add_test(tests, train_of_pulses_is_the_sum_of_its_pulses);
    tcase_add_test(tests, fit_goes_through_its_curve);
    tcase_add_test(tests, random_ladders_survive_both_ways);
    tcase_add_test(tests, bad_ladders_are_refused);
}

int main(void)
{
    return story_main("ladder", fill);
}
