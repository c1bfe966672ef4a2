/* check_bench.c - bench files: what is wrong with its place, fits of a design over many synthetic benches,
 * the overlay. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "heatledger/fit.h"
#include "heatledger/spread.h"
#include "story.h"
#include "uncertain_buck.h"

static const char bench_text[] =
    "heatledger: bench/1\n"
    "free:\n"
    "  - { value: high.on_resistance, low: 4 mohm, high: 16 mohm }\n"
    "  - { value: buck.inductor.dc_resistance, low: 8 mohm, high: 40 mohm }\n"
    "points:\n"
    "  - name: full\n"
    "    settings: { load: 1 }\n"
    "    readings:\n"
    "      - { of: input power, value: 50 W, uncertainty: 20 mW }\n"
    "      - { of: buck.high_switch, value: 60 degC, uncertainty: 0.7 K, by: thermocouple }\n"
    "      - { of: buck.low_switch, value: 60 degC, uncertainty: 0.7 K }\n"
    "      - { of: buck.inductor, value: 60 degC, uncertainty: 0.7 K }\n"
    "  - name: half\n"
    "    settings: { load: 0.5 }\n"
    "    readings:\n"
    "      - { of: input power, value: 25 W, uncertainty: 10 mW }\n"
    "      - { of: buck.high_switch, value: 40 degC, uncertainty: 0.7 K }\n"
    "      - { of: buck.inductor, value: 40 degC, uncertainty: 0.7 K }\n"
    "      - { of: buck.duty_ratio, value: 0.25, uncertainty: 0.002 }\n";

static hl_bench *read_bench(const uncertain_buck *buck, const char *text)
{
    return hl_bench_read_text(buck->design, "bench.yaml", text, strlen(text), buck->said);
}

/* Readings of a specimen with these values, with noise, and one of them off by `wrong` uncertainties. */
static size_t take_readings(hl_bench *bench, uint64_t seed, const double truth[], double wrong)
{
    double predicted[16];
    size_t n = hl_bench_readings(bench), planted = (size_t)(hl_chance_bits(seed, 9, 0) % n);
    ck_assert_uint_le(n, 16);
    ck_assert_msg(hl_bench_predict(bench, truth, predicted), "%s", hl_bench_reason(bench));
    for (size_t i = 0; i < n; i++) {
        double u = hl_bench_reading(bench, i, NULL, NULL, NULL)->u;
        hl_bench_set_reading(bench, i,
                             predicted[i] + u * hl_normal_quantile(hl_chance(seed, 8, i)) +
                                 (i == planted ? wrong * u : 0));
    }
    return planted;
}

START_TEST(benches_of_a_design_are_fitted_honestly)
{
    int benches = getenv("HEATLEDGER_LONG") ? 1000 : 200;
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    hl_bench *bench = read_bench(&buck, bench_text);
    ck_assert_msg(bench != NULL, "%s",
                  hl_diagnostics_count(buck.said) ? hl_diagnostics_text(buck.said, 0) : "");
    double pull[2] = {0}, square[2] = {0}, chi = 0;
    int found = 0, alarms = 0;
    for (uint64_t seed = 1; seed <= (uint64_t)benches; seed++)
        for (int wrong = 0; wrong < 2; wrong++) {
            const double truth[2] = {6e-3 + 6e-3 * hl_chance(seed, 1, 0),
                                     14e-3 + 12e-3 * hl_chance(seed, 1, 1)};
            size_t planted = take_readings(bench, seed, truth, wrong ? 10 : 0);
            hl_fit_result *result;
            ck_assert_int_eq(hl_bench_fit(bench, NULL, &result, buck.said), HL_OK);
            for (size_t i = 0; i < hl_fit_readings(result); i++) {
                bool named = hl_fit_residual_of(result, i)->disagrees;
                if (wrong) found += named && i == planted;
                if (!wrong) alarms += named;
            }
            for (size_t k = 0; !wrong && k < 2; k++) {
                double z =
                    (hl_fit_estimate_of(result, k)->value - truth[k]) / hl_fit_estimate_of(result, k)->u;
                pull[k] += z;
                square[k] += z * z;
            }
            double freedom;
            if (!wrong) chi += hl_fit_chi_square(result, &freedom) / freedom;
            hl_fit_destroy(result);
        }
    printf("%d benches: chi-square %.3f, found %.1f %%, alarms in %.1f %%\n", benches, chi / benches,
           100.0 * found / benches, 100.0 * alarms / benches);
    for (int k = 0; k < 2; k++) {
        printf("value %d: mean pull %.3f, its square %.3f\n", k, pull[k] / benches, square[k] / benches);
        ck_near(pull[k] / benches, 0, 0, 2 / sqrt(benches));
        ck_near(square[k] / benches, 1, 0, 0.25);
    }
    ck_near(chi / benches, 1, 0, 0.2);
    ck_assert_int_ge(found, benches * 95 / 100);
    ck_assert_int_le(alarms, benches / 10);
    hl_bench_destroy(bench);
    drafted_end(&buck);
}
END_TEST

/* One line of the bench changed; what is said first. */
static const struct {
    const char *find, *put, *expected;
} wrong[] = {
    {"bench/1", "bench/9", "bench.yaml:1:13:"},
    {"high.on_resistance", "high.on_resistence", "bench.yaml:3:14:"},
    {"high.on_resistance", "high.on_resistence", "did you mean 'high.on_resistance'?"},
    {"value: 50 W", "value: 50 K", "bench.yaml:9:35:"},
    {"uncertainty: 20 mW", "uncertainty: 0 W", "is above zero"},
    {"of: buck.low_switch", "of: buck.low_swich", "did you mean 'buck.low_switch'"},
    {"load: 1", "lod: 1", "no setting 'lod'"},
    {"low: 4 mohm", "low: 40 mohm", "say low: and high:"},
    {"uncertainty: 10 mW", "sigma: 10 mW", "bench.yaml:16:"},
    {"free:\n", "freed:\n", "bench.yaml:2:1:"},
    {"heatledger: bench/1\n", "", "a bench file begins with 'heatledger: bench/1'"},
    {"bench/1", "[bench/1]", "a bench file begins with 'heatledger: bench/1'"},
    {"value: high.on_resistance, ", "", "'value:' is missing: the name of what is free"},
    {"high.on_resistance", "[high]", "value: wants a text"},
    {"low: 4 mohm", "low: [4 mohm]", "low: wants a quantity"},
    {"low: 8 mohm", "low: 8 mV", "bench.yaml:4:"},
    {"high.on_resistance", "buck.light_load", "is a choice; only numbers can be fitted"},
    {"high.on_resistance", "buck.inductor.dc_resistance", "is free already"},
    {"high: 16 mohm", "prior: band, high: 16 mohm, start: 5 V", "bench.yaml:3:"},
    {"high: 16 mohm", "prior: {}, high: 16 mohm", "prior: wants 'band', or value: and uncertainty:"},
    {"high: 16 mohm", "prior: { value: 9 mohm }, high: 16 mohm", "wants 'band', or value:"},
    {"high: 16 mohm", "prior: { value: 9 mohm, uncertainty: 0 ohm }, high: 16 mohm",
     "uncertainty: is above zero"},
    {"high: 16 mohm", "prior: { value: 9 V, uncertainty: 1 mohm }, high: 16 mohm", "bench.yaml:3:"},
    {"value: high.on_resistance, low: 4 mohm, high: 16 mohm",
     "value: buck.switching_frequency, prior: band, low: 4 kHz, high: 900 kHz",
     "the design states no band for this value"},
    {"settings: { load: 1 }", "settings: [load]", "settings: wants a mapping from settings to values"},
    {"settings: { load: 1 }", "settings: { load: [1] }", "settings: wants name: value"},
    {"settings: { load: 1 }", "settings: { load: 1, out.voltage: 300 V }", "this point has no solution"},
    {"name: full", "name: [full]", "name: wants a text"},
    {"of: input power", "of: [input power]", "of: wants a text"},
    {"of: buck.duty_ratio", "of: zzzzzzzzzzzzzzzz", "the design has no such figure; power, a part"},
    {"of: input power, ", "", "a reading says of:, value: and uncertainty:"},
    {"value: 60 degC, uncertainty: 0.7 K, by", "value: 60 degC, uncertainty: 0.7 V, by", "bench.yaml:10:"},
    {"value: 60 degC, uncertainty: 0.7 K, by", "value: [60 degC], uncertainty: 0.7 K, by",
     "wants a quantity"},
    {"    readings:\n      - { of: input power, value: 50 W",
     "    reads:\n      - { of: input power, value: 50 W", "points: 'reads' is not known here"},
    {"points:\n", "points: 3\nfree_of: [\n", "bench.yaml"},
};
enum { WRONG = (int)(sizeof wrong / sizeof wrong[0]) };

START_TEST(what_is_wrong_is_said_with_its_place)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    const char *at = strstr(bench_text, wrong[_i].find);
    char text[4096];
    snprintf(text, sizeof text, "%.*s%s%s", (int)(at - bench_text), bench_text, wrong[_i].put,
             at + strlen(wrong[_i].find));
    size_t before = hl_diagnostics_count(buck.said);
    ck_assert_ptr_null(read_bench(&buck, text));
    ck_assert_uint_gt(hl_diagnostics_count(buck.said), before);
    ck_assert_msg(strstr(hl_diagnostics_text(buck.said, before), wrong[_i].expected) != NULL, "%s",
                  hl_diagnostics_text(buck.said, before));
    drafted_end(&buck);
}
END_TEST

/* A trial value at which the adapter has no answer is told with the bounds to give. */
START_TEST(no_fit_says_at_which_value)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    static const char find[] = "buck.inductor.dc_resistance, low: 8 mohm, high: 40 mohm",
                      put[] = "out.voltage, start: 300 V";
    const char *at = strstr(bench_text, find);
    char text[4096];
    snprintf(text, sizeof text, "%.*s%s%s", (int)(at - bench_text), bench_text, put, at + strlen(find));
    hl_bench *bench = read_bench(&buck, text);
    ck_assert_ptr_nonnull(bench);
    hl_fit_result *result;
    size_t before = hl_diagnostics_count(buck.said);
    ck_assert_int_eq(hl_bench_fit(bench, NULL, &result, buck.said), HL_NO_SOLUTION);
    const char *said = hl_diagnostics_text(buck.said, before);
    ck_assert_msg(strstr(said, "out.voltage = 300 V: point 'full': "), "%s", said);
    ck_assert_msg(strstr(said, "give low: and high: near what is likely for out.voltage"), "%s", said);
    ck_assert_ptr_null(strstr(said, "likely for high.on_resistance"));
    hl_fit_destroy(result);
    hl_bench_destroy(bench);
    drafted_end(&buck);
}
END_TEST

/* An uncertainty in degrees Celsius is one in kelvins. */
START_TEST(an_uncertainty_is_a_difference)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    char text[4096];
    const char *at = strstr(bench_text, "0.7 K, by");
    snprintf(text, sizeof text, "%.*s0.7 degC, by%s", (int)(at - bench_text), bench_text, at + 9);
    hl_bench *bench = read_bench(&buck, text);
    ck_assert_ptr_nonnull(bench);
    ck_near(hl_bench_reading(bench, 1, NULL, NULL, NULL)->u, 0.7, 1e-9, 0);
    hl_bench_destroy(bench);
    drafted_end(&buck);
}
END_TEST

/* Files of another make, not one line changed. */
START_TEST(other_files_are_refused)
{
    static const struct {
        const char *text, *expected;
    } cases[] = {
        {"heatledger: bench/1\nfree: {}\npoints: []\n",
         "'free:' and 'points:' are lists, and both are wanted"},
        {"heatledger: bench/1\nfree: []\n", "'free:' and 'points:' are lists, and both are wanted"},
        {"heatledger: bench/1\nfree: []\npoints: {}\n",
         "'free:' and 'points:' are lists, and both are wanted"},
        {"heatledger: bench/1\nfree: []\npoints: []\n", "at least one free value and one reading are wanted"},
        {"heatledger: bench/1\nfree: []\npoints: [{ name: a }]\n",
         "'readings:' is missing, a list of what was read at this point"},
        {"heatledger: bench/1\nfree: []\npoints: [{ readings: 3 }]\n",
         "'readings:' is missing, a list of what was read at this point"},
        {"- a\n", "bench.yaml:1:1:"},
    };
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    for (size_t k = 0; k < sizeof cases / sizeof cases[0]; k++) {
        size_t before = hl_diagnostics_count(buck.said);
        ck_assert_ptr_null(read_bench(&buck, cases[k].text));
        ck_assert_uint_gt(hl_diagnostics_count(buck.said), before);
        ck_assert_msg(strstr(hl_diagnostics_text(buck.said, before), cases[k].expected) != NULL, "%s: %s",
                      cases[k].text, hl_diagnostics_text(buck.said, before));
    }
    drafted_end(&buck);
}
END_TEST

START_TEST(cut_off_files_are_refused_whole)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    for (size_t n = 0; n < strlen(bench_text); n += 7) {
        hl_bench *bench = hl_bench_read_text(buck.design, "cut.yaml", bench_text, n, buck.said);
        hl_bench_destroy(bench); /* some cuts leave a smaller bench; none may crash */
    }
    drafted_end(&buck);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, benches_of_a_design_are_fitted_honestly);
    tcase_add_loop_test(tests, what_is_wrong_is_said_with_its_place, 0, WRONG);
    tcase_add_test(tests, no_fit_says_at_which_value);
    tcase_add_test(tests, an_uncertainty_is_a_difference);
    tcase_add_test(tests, other_files_are_refused);
    tcase_add_test(tests, cut_off_files_are_refused_whole);
}

int main(void)
{
    return story_main("bench", fill);
}
