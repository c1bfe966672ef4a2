/* check_warmup.c - a whole adapter over time: against its steady points, an independent integration, its
 * books. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "leaky_buck.h"
#include "story.h"

static const double celsius = 273.15;

/* Cold, one step. */
static hl_course *follow(drafted_adapter *b, const hl_profile *profile)
{
    hl_course *course = NULL;
    drafted_must(b, hl_warm_up(b->workspace, profile, &course, b->said));
    ck_assert_ptr_nonnull(course);
    return course;
}

static hl_profile_step hold(const double settings[], double duration)
{
    return (hl_profile_step){.duration = duration, .settings = settings, .load_end = NAN};
}

static int diode_node(const drafted_adapter *b)
{
    return hl_design_item(b->design, leaky_buck_diode(b))->node;
}

static double book_off(const hl_course *course)
{
    const hl_course_figures *f = hl_course_summary(course);
    return fabs(f->put_in - f->handed_out - f->stored) / fmax(fabs(f->put_in), 1);
}

/* ----------------------------------------------------------------- course -- */

START_TEST(it_ends_at_the_steady_point)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 2);
    hl_profile_step step = hold(b.settings, 3600);
    hl_course *course = follow(&b, &(hl_profile){.n_steps = 1, .step = &step, .cycles = 1});
    ck_assert_int_eq(leaky_buck_at(&b, 25), HL_SOLVED);
    hl_course_row last = hl_course_at(course, hl_course_rows(course) - 1);
    ck_assert_double_eq(last.time, 3600);
    for (size_t i = 0; i < hl_design_nodes(b.design); i++)
        ck_near(last.temperature[i], hl_result_node_temperature(b.workspace, i), 0, 0.01);
    ck_near(last.loss, hl_result_power(b.workspace)->loss, 1e-4, 0);
    ck_assert(book_off(course) < 1e-9); /* asked for: 1e-6 */
    hl_course_destroy(course);
    drafted_end(&b);
}
END_TEST

enum { SAMPLES = 241 };

/* The diode's loss over its own temperature, from steady points at many ambients: its stress is the same at
 * all, for switch and coil have constant resistances. */
static void sample_loss(drafted_adapter *b, double temperature[], double loss[])
{
    for (int k = 0; k < SAMPLES; k++) {
        ck_assert_int_eq(leaky_buck_at(b, -20 + 0.25 * k), HL_SOLVED);
        temperature[k] = hl_result_item_temperature(b->workspace, leaky_buck_diode(b));
        loss[k] = hl_result_item_loss(b->workspace, leaky_buck_diode(b));
    }
}

static double loss_at(const double temperature[], const double loss[], double t)
{
    int k = 0;
    while (k < SAMPLES - 2 && temperature[k + 1] < t) k++;
    double share = (t - temperature[k]) / (temperature[k + 1] - temperature[k]);
    return loss[k] + share * (loss[k + 1] - loss[k]);
}

/* C dT/dt = P(T) - (T - Ta) / R by the classical Runge and Kutta rule, 0.05 s steps. */
START_TEST(it_follows_an_independent_integration)
{
    drafted_adapter b;
    double temperature[SAMPLES], loss[SAMPLES];
    leaky_buck_open(&b, 12, 2);
    sample_loss(&b, temperature, loss);
    b.settings[drafted_setting(&b, "ambient.temperature")] = 25 + celsius;
    hl_profile_step step = hold(b.settings, 120);
    hl_course *course = follow(&b, &(hl_profile){.n_steps = 1, .step = &step, .cycles = 1, .every = 5});
    double t = 25 + celsius, h = 0.05, worst = 0;
    size_t row = 0;
    for (int k = 0; k <= 2400; k++) {
        if (row < hl_course_rows(course) && fabs(hl_course_at(course, row).time - k * h) < 1e-6)
            worst = fmax(worst, fabs(hl_course_at(course, row++).temperature[diode_node(&b)] - t));
#define RATE(x) ((loss_at(temperature, loss, (x)) - ((x)-25 - celsius) / 12) / 2)
        double k1 = RATE(t), k2 = RATE(t + 0.5 * h * k1), k3 = RATE(t + 0.5 * h * k2), k4 = RATE(t + h * k3);
        t += h / 6 * (k1 + 2 * k2 + 2 * k3 + k4);
#undef RATE
    }
    ck_assert_uint_eq(row, 25);
    ck_near(worst, 0, 0, 0.05); /* K */
    hl_course_destroy(course);
    drafted_end(&b);
}
END_TEST

/* With next to no capacity the nodes stand at the steady point of every moment of the taper. */
START_TEST(a_taper_passes_the_steady_points_of_its_loads)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 1e-3);
    hl_profile_step step = hold(b.settings, 40000);
    step.load_end = 0.2;
    for (int straight = 0; straight < 2; straight++) {
        step.straight = straight;
        hl_course *course =
            follow(&b, &(hl_profile){.n_steps = 1, .step = &step, .cycles = 1, .every = 5000});
        ck_assert_uint_ge(hl_course_rows(course), 9);
        for (size_t r = 1; r < hl_course_rows(course); r++) {
            hl_course_row row = hl_course_at(course, r);
            double share = row.time / 40000, load = straight ? 1 - 0.8 * share : pow(0.2, share), kept[600];
            ck_near(row.load, load, 1e-9, 0);
            memcpy(kept, b.settings, sizeof kept);
            kept[drafted_setting(&b, "load")] = load;
            ck_assert_int_eq(hl_solve(b.workspace, kept), HL_OK);
            for (size_t i = 0; i < hl_design_nodes(b.design); i++)
                ck_near(row.temperature[i], hl_result_node_temperature(b.workspace, i), 0, 0.05);
            ck_near(row.loss, hl_result_power(b.workspace)->loss, 1e-3, 0);
        }
        ck_assert(book_off(course) < 1e-9);
        hl_course_destroy(course);
    }
    drafted_end(&b);
}
END_TEST

/* Three steps, one in another room, run through four times: the book of energy closes over all of it, and the
 * last cycles repeat each other. */
START_TEST(a_duty_cycle_settles_and_its_book_closes)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 2);
    double half[600], cold[600];
    memcpy(half, b.settings, sizeof half);
    memcpy(cold, b.settings, sizeof cold);
    half[drafted_setting(&b, "load")] = 0.5;
    cold[drafted_setting(&b, "ambient.temperature")] = 10 + celsius;
    hl_profile_step steps[] = {hold(b.settings, 60), hold(half, 40), hold(cold, 50)};
    steps[1].load_end = 0.3;
    hl_course *course = follow(&b, &(hl_profile){.n_steps = 3, .step = steps, .cycles = 8, .every = 10});
    ck_assert_double_eq(hl_course_at(course, hl_course_rows(course) - 1).time, 1200);
    ck_assert(book_off(course) < 1e-9);
    double at[2] = {0, 0};
    for (size_t r = 0; r < hl_course_rows(course); r++) {
        hl_course_row row = hl_course_at(course, r);
        if (row.time == 1050) at[0] = row.temperature[diode_node(&b)];
        if (row.time == 1200) at[1] = row.temperature[diode_node(&b)];
    }
    ck_near(at[0], at[1], 0, 0.02);
    hl_course_destroy(course);
    drafted_end(&b);
}
END_TEST

START_TEST(from_a_steady_point_nothing_moves_until_the_load_does)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 2);
    hl_profile_step step = hold(b.settings, 600);
    hl_course *course =
        follow(&b, &(hl_profile){.n_steps = 1, .step = &step, .cycles = 1, .start = b.settings});
    hl_course_row first = hl_course_at(course, 0), last = hl_course_at(course, hl_course_rows(course) - 1);
    for (size_t i = 0; i < hl_course_nodes(course); i++)
        ck_near(last.temperature[i], first.temperature[i], 0, 1e-3);
    hl_course_destroy(course);
    drafted_end(&b);
}
END_TEST

/* --------------------------------------------------------- limits, pulses -- */

START_TEST(a_limit_is_reached_when_the_rows_pass_it)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 2);
    double limit[8];
    for (size_t i = 0; i < 8; i++) limit[i] = NAN;
    limit[diode_node(&b)] = 30 + celsius;
    hl_profile_step step = hold(b.settings, 120);
    hl_course *course =
        follow(&b, &(hl_profile){.n_steps = 1, .step = &step, .cycles = 1, .every = 0.25, .limit = limit});
    hl_course_peak peak = hl_course_peak_of(course, (size_t)diode_node(&b));
    ck_assert(peak.temperature > peak.limit && isfinite(peak.reached));
    for (size_t r = 0; r < hl_course_rows(course); r++) {
        hl_course_row row = hl_course_at(course, r);
        bool above = row.temperature[diode_node(&b)] > peak.limit;
        ck_assert_msg(row.time < peak.reached - 0.1   ? !above
                      : row.time > peak.reached + 0.1 ? above
                                                      : true,
                      "reached %.3f s, but at %.3f s %.4f", peak.reached, row.time,
                      row.temperature[diode_node(&b)] - celsius);
    }
    hl_course_destroy(course);
    drafted_end(&b);
}
END_TEST

/* Pulses of 20 ms at a quarter: the node feels the mean, the junction stands above it by the train's ripple.
 */
START_TEST(a_pulsed_junction_stands_above_its_node)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 2);
    hl_profile_step step = hold(b.settings, 1800);
    step.pulse_period = 20e-3;
    step.pulse_duty = 0.25;
    step.pulse_rest = 0;
    hl_course *course = follow(&b, &(hl_profile){.n_steps = 1, .step = &step, .cycles = 1});
    const double time[] = {1e-3, 1e-2, 1e-1, 1}, impedance[] = {0.5, 1.1, 1.6, 2};
    hl_ladder ladder;
    ck_assert_int_eq(hl_foster_fit(4, time, impedance, 6, &ladder, NULL), HL_OK);
    size_t diode = leaky_buck_diode(&b);
    double node = hl_course_peak_of(course, (size_t)diode_node(&b)).temperature;
    double above = hl_course_junction_peak(course, diode) - node;
    /* pulse and pause: what steady points at those loads lose, but for the leakage of a few kelvin */
    ck_assert_int_eq(leaky_buck_at(&b, 22), HL_SOLVED);
    double pulse = hl_result_item_loss(b.workspace, diode);
    b.settings[drafted_setting(&b, "load")] = 0;
    ck_assert_int_eq(leaky_buck_at(&b, 26), HL_SOLVED);
    pulse -= hl_result_item_loss(b.workspace, diode);
    double ripple = hl_foster_train(&ladder, 20e-3, 0.25) - hl_foster_mean(&ladder, 0.25);
    ck_near(above, pulse * ripple, 0.01, 0);
    ck_assert(book_off(course) < 1e-9);
    hl_course_destroy(course);
    drafted_end(&b);
}
END_TEST

/* ------------------------------------------------------------------- ends -- */

START_TEST(a_run_away_on_the_way_is_named)
{
    drafted_adapter b;
    leaky_buck_open(&b, 60, 2);
    double hot[600];
    memcpy(hot, b.settings, sizeof hot);
    hot[drafted_setting(&b, "ambient.temperature")] = 60 + celsius;
    hl_profile_step step = hold(hot, 36000);
    hl_course *course = follow(&b, &(hl_profile){.n_steps = 1, .step = &step, .cycles = 1});
    ck_assert_int_eq(hl_course_outcome(course), HL_RAN_AWAY);
    ck_assert_ptr_nonnull(strstr(hl_course_reason(course), "buck.low_switch"));
    hl_course_peak peak = hl_course_peak_of(course, (size_t)diode_node(&b));
    ck_assert(isfinite(peak.reached)); /* the diode's own 150 degC, on its way out */
    for (size_t r = 0; r < hl_course_rows(course); r++)
        for (size_t i = 0; i < hl_course_nodes(course); i++)
            ck_assert(isfinite(hl_course_at(course, r).temperature[i]));
    hl_course_destroy(course);
    drafted_end(&b);
}
END_TEST

START_TEST(an_infeasible_step_ends_it_with_the_reason)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 2);
    double low[600];
    memcpy(low, b.settings, sizeof low);
    low[drafted_setting(&b, "mains.voltage")] = 9; /* a buck cannot make 12 V of it */
    hl_profile_step steps[] = {hold(b.settings, 60), hold(low, 60)};
    hl_course *course = follow(&b, &(hl_profile){.n_steps = 2, .step = steps, .cycles = 1});
    ck_assert_int_eq(hl_course_outcome(course), HL_INFEASIBLE);
    ck_assert_ptr_nonnull(strstr(hl_course_reason(course), "after 60 s: buck"));
    hl_course_destroy(course);
    drafted_end(&b);
}
END_TEST

START_TEST(senseless_profiles_are_refused)
{
    drafted_adapter b;
    leaky_buck_open(&b, 12, 2);
    double frozen[600];
    memcpy(frozen, b.settings, sizeof frozen);
    frozen[drafted_setting(&b, "ambient.temperature")] = NAN;
    const hl_profile_step good = hold(b.settings, 60);
    hl_profile_step bad[8];
    for (size_t k = 0; k < 8; k++) bad[k] = good;
    bad[0].duration = 0;
    bad[1].duration = NAN;
    bad[2].load_end = -1;
    bad[3].load_end = 0; /* exponential */
    bad[4].pulse_period = -1;
    bad[5].pulse_period = 1, bad[5].pulse_duty = 2;
    bad[6].pulse_period = 100; /* longer than the step */
    bad[7].settings = frozen;
    for (size_t k = 0; k < 8; k++) {
        hl_course *course = (hl_course *)1;
        hl_profile profile = {.n_steps = 1, .step = &bad[k], .cycles = 1};
        ck_assert_int_eq(hl_warm_up(b.workspace, &profile, &course, b.said), HL_BAD_INPUT);
        ck_assert_ptr_null(course);
    }
    hl_course *course;
    hl_profile none = {.n_steps = 0, .cycles = 1}, never = {.n_steps = 1, .step = &good, .cycles = 0};
    ck_assert_int_eq(hl_warm_up(b.workspace, &none, &course, b.said), HL_BAD_INPUT);
    ck_assert_int_eq(hl_warm_up(b.workspace, &never, &course, b.said), HL_BAD_INPUT);
    drafted_end(&b);
}
END_TEST

/* Borders of what a profile may ask for: just beyond each it is refused, just inside it is not. */
START_TEST(a_profile_is_judged_at_its_borders)
{
    static const struct {
        double duration, kelvin, load, end, period, duty, rest;
        bool good;
    } cases[] = {
        {1, 298, 1, NAN, 0, 0, 0, true},       {1.05e9, 298, 1, NAN, 0, 0, 0, false},
        {1, 178, 0.5, NAN, 0, 0, 0, true},     {1, 168, 0.5, NAN, 0, 0, 0, false},
        {1, 468, 0.5, NAN, 0, 0, 0, true},     {1, 480, 0.5, NAN, 0, 0, 0, false},
        {1, 298, 0, NAN, 0, 0, 0, true},       {1, 298, -1e-9, NAN, 0, 0, 0, false},
        {1, 298, 950, NAN, 0, 0, 0, true},     {1, 298, 1050, NAN, 0, 0, 0, false},
        {1, 298, 1, 1e-3, 0, 0, 0, true},      {1, 298, 1, 1050, 0, 0, 0, false},
        {1, 298, 1, NAN, 0.9, 0.5, 0.5, true}, {1, 298, 1, NAN, 1.05, 0.5, 0.5, false},
        {1, 298, 1, NAN, 0.5, 1, 0.5, true},   {1, 298, 1, NAN, 0.5, 1.05, 0.5, false},
        {1, 298, 1, NAN, 0.5, 0, 0.5, true},   {1, 298, 1, NAN, 0.5, -1e-9, 0.5, false},
        {1, 298, 1, NAN, 0.5, 0.5, 0, true},   {1, 298, 1, NAN, 0.5, 0.5, 1050, false},
        {1, 298, 1, NAN, 0.5, 0.5, 950, true}, {1, 298, 1, NAN, 0.5, 0.5, -1e-9, false},
    };
    drafted_adapter b;
    leaky_buck_open(&b, 12, 2);
    size_t ambient = drafted_setting(&b, "ambient.temperature"), load = drafted_setting(&b, "load");
    for (size_t k = 0; k < sizeof cases / sizeof *cases; k++) {
        hl_course *course = NULL;
        b.settings[ambient] = cases[k].kelvin;
        b.settings[load] = cases[k].load;
        hl_profile_step step = {.duration = cases[k].duration,
                                .settings = b.settings,
                                .load_end = cases[k].end,
                                .pulse_period = cases[k].period,
                                .pulse_duty = cases[k].duty,
                                .pulse_rest = cases[k].rest};
        hl_profile profile = {.n_steps = 1, .step = &step, .cycles = 1};
        hl_status status = hl_warm_up(b.workspace, &profile, &course, b.said);
        ck_assert_msg(status == (cases[k].good ? HL_OK : HL_BAD_INPUT), "case %zu: status %d", k,
                      (int)status);
        hl_course_destroy(course);
    }
    drafted_end(&b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_profile_is_judged_at_its_borders);
    tcase_add_test(tests, it_ends_at_the_steady_point);
    tcase_add_test(tests, it_follows_an_independent_integration);
    tcase_add_test(tests, a_taper_passes_the_steady_points_of_its_loads);
    tcase_add_test(tests, a_duty_cycle_settles_and_its_book_closes);
    tcase_add_test(tests, from_a_steady_point_nothing_moves_until_the_load_does);
    tcase_add_test(tests, a_limit_is_reached_when_the_rows_pass_it);
    tcase_add_test(tests, a_pulsed_junction_stands_above_its_node);
    tcase_add_test(tests, a_run_away_on_the_way_is_named);
    tcase_add_test(tests, an_infeasible_step_ends_it_with_the_reason);
    tcase_add_test(tests, senseless_profiles_are_refused);
}

int main(void)
{
    return story_main("warm-up", fill);
}
