/* check_switched_stage.c - what buck, boost and four switches have in common, piece by piece. */
#include "../../plugins/stages/switched_stage.h"

#include <string.h>

#include "lottery.h"
#include "story.h"

static hl_value stating(double number)
{
    return (hl_value){.number = number, .given = true};
}

/* Through L and R the current is u/R (1 - e^(-R t/L)): at the time that is told it is the peak asked for. */
START_TEST(a_pulse_lasts_until_its_peak)
{
    lottery l = lottery_open("skipped pulse");
    for (int run = 0; run < 1000; run++) {
        switched_stage b = {.on_limit = 1.0};
        hl_value none = {0}, peak = stating(lottery_scale(&l, 0.01, 10));
        double drive = lottery_between(&l, 1, 50), henry = lottery_scale(&l, 1e-7, 1e-3);
        double share = lottery_scale(&l, 1e-9, 0.99), ohms = share * drive / peak.number;
        b.cycle.output.inductance = henry;
        double t = skip_on_time(&b, &none, &peak, drive, ohms);
        ck_near(-drive / ohms * expm1(-ohms * t / henry), peak.number, 2e-12, 0);
        ck_near(skip_on_time(&b, &none, &peak, drive, 0.0), henry * peak.number / drive, 1e-15, 0);
        hl_value longer = stating(3 * t), shorter = stating(0.3 * t);
        ck_near(skip_on_time(&b, &longer, &peak, drive, ohms), 3 * t, 1e-15, 0);
        ck_near(skip_on_time(&b, &shorter, &peak, drive, ohms), t, 1e-15, 0);
        ck_near(skip_on_time(&b, &shorter, &none, drive, ohms), 0.3 * t, 1e-15, 0);
        ck_assert(skip_on_time(&b, &none, &peak, drive, 1.01 * drive / peak.number) == 1.0);
        b.on_limit = 0.9 * t;
        ck_assert(skip_on_time(&b, &none, &peak, drive, ohms) == 0.9 * t);
    }
}
END_TEST

/* Period less dead times, or the largest duty's share of the period. */
START_TEST(an_on_time_has_two_limits)
{
    hl_stage_output out = {0};
    hl_value none = {0}, duty = stating(0.8), low = stating(0.96);
    switched_stage b = {.kind = "buck", .period = 10e-6};
    ck_assert_int_eq(limit_on_time(&none, 0.5e-6, &b, &out), HL_STAGE_SOLVED);
    ck_near(b.on_limit, 9.5e-6, 1e-12, 0);
    ck_assert_int_eq(limit_on_time(&duty, 0.5e-6, &b, &out), HL_STAGE_SOLVED);
    ck_near(b.on_limit, 8e-6, 1e-12, 0);
    ck_assert_int_eq(limit_on_time(&low, 0.5e-6, &b, &out), HL_STAGE_SOLVED);
    ck_near(b.on_limit, 9.5e-6, 1e-12, 0);
    ck_assert_int_eq(limit_on_time(&duty, 12.5e-6, &b, &out), HL_STAGE_INFEASIBLE);
    ck_assert_msg(strstr(out.reason.text, "take 1.25e+04 ns and leave no on-time in a period of 1e+04 ns"),
                  "%s", out.reason.text);
}
END_TEST

/* Half the output voltage is the most that a pulse may lift. */
START_TEST(a_pulse_that_lifts_too_much_is_refused)
{
    hl_stage_output out = {0};
    bool solved = false;
    switched_stage b = {.kind = "buck", .output = 10, .on_time = 2e-6};
    b.cycle.output.elastance = 1e6;
    ck_assert_int_eq(settle_skipping(&b, 5.2e-6, &solved, &out), HL_STAGE_INFEASIBLE);
    ck_assert_msg(strstr(out.reason.text, "one pulse of 2 us would lift"), "%s", out.reason.text);
    ck_assert_msg(strstr(out.reason.text, "by 5.2 V at an output of 10 V"), "%s", out.reason.text);
}
END_TEST

START_TEST(phases_are_whole_and_at_most_four)
{
    static const double stated[][2] = {{-1, 1}, {0, 1}, {1, 1}, {1.4, 1}, {1.6, 2},
                                       {2, 2},  {3, 3}, {4, 4}, {9, 4}};
    for (size_t k = 0; k < sizeof stated / sizeof *stated; k++) {
        hl_value value = stating(stated[k][0]);
        ck_assert_uint_eq(phases_stated(&value), (unsigned)stated[k][1]);
    }
    ck_assert_uint_eq(phases_stated(&(hl_value){0}), 1);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_pulse_lasts_until_its_peak);
    tcase_add_test(tests, an_on_time_has_two_limits);
    tcase_add_test(tests, a_pulse_that_lifts_too_much_is_refused);
    tcase_add_test(tests, phases_are_whole_and_at_most_four);
}

int main(void)
{
    return story_main("what switched stages share", fill);
}
