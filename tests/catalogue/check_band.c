/* Bands: what a file states becomes a shape with ends, and quantiles that can be trusted. */
#include "story.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"

static const hl_parameter resistance = {"resistance", "ohm", HL_NUMBER, 0, 0, 1e-3, 1e3, NULL, NULL, "", ""};

static hl_band band_of(const char *text, hl_value *value)
{
    static char group[64];
    hl_band band;
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    hl_status status =
        hl_value_read_band(&resistance, text, NULL, value, &band, group, sizeof group, diagnostics);
    ck_assert_msg(status == HL_OK, "%s: %s", text, hl_diagnostics_text(diagnostics, 0));
    hl_diagnostics_destroy(diagnostics);
    return band;
}

static const struct {
    const char *text;
    hl_band_kind kind;
    double low, central, high;
} cases[] = {
    {"2 ohm", HL_BAND_NONE, 2, 2, 2},
    {"2 ohm \xC2\xB1 10 %", HL_BAND_UNIFORM, 1.8, 2, 2.2},
    {"2 ohm +- 300 mohm", HL_BAND_UNIFORM, 1.7, 2, 2.3},
    {"{ typical: 2 ohm, tolerance: 10 % }", HL_BAND_UNIFORM, 1.8, 2, 2.2},
    {"{ typical: 2 ohm, tolerance: +-10 % }", HL_BAND_UNIFORM, 1.8, 2, 2.2},
    {"{ minimum: 1 ohm, maximum: 4 ohm }", HL_BAND_UNIFORM, 1, 2.5, 4},
    {"{ minimum: 1 ohm, maximum: 4 ohm, shape: log_normal }", HL_BAND_LOG_NORMAL, 1, 2, 4},
    {"{ minimum: 1 ohm, typical: 2 ohm, maximum: 4 ohm }", HL_BAND_TRIANGULAR, 1, 2, 4},
    {"{ typical: 2 ohm, maximum: 2.5 ohm }", HL_BAND_TRIANGULAR, 1.6, 2, 2.5}, /* mirrored as a ratio */
    {"{ typical: 2 ohm, minimum: 1.6 ohm }", HL_BAND_TRIANGULAR, 1.6, 2, 2.5},
    {"{ typical: 2 ohm, factor: 2 }", HL_BAND_LOG_NORMAL, 1, 2, 4},
    {"{ typical: 2 ohm, sigma: 5 % }", HL_BAND_NORMAL, 2 - 0.16448536269514722, 2, 2 + 0.16448536269514722},
    {"{ typical: 2 ohm, sigma: 100 mohm }", HL_BAND_NORMAL, 2 - 0.16448536269514722, 2,
     2 + 0.16448536269514722},
    {"{ typical: 2 ohm, tolerance: 10 %, shape: normal }", HL_BAND_NORMAL, 1.8, 2, 2.2},
    {"{ marking: 2R0J }", HL_BAND_UNIFORM, 1.9, 2, 2.1}, /* J: 5 %, IEC 60062 */
    {"{ maximum: 3 ohm }", HL_BAND_NONE, 3, 3, 3},
};

START_TEST(a_band_is_read_as_it_is_written)
{
    hl_value value;
    hl_band band = band_of(cases[_i].text, &value);
    ck_assert_msg(band.kind == cases[_i].kind, "%s: %s", cases[_i].text, hl_band_name(band.kind));
    ck_near(band.low, cases[_i].low, 1e-13, 0);
    ck_near(band.central, cases[_i].central, 1e-13, 0);
    ck_near(band.high, cases[_i].high, 1e-13, 0);
    ck_near(value.number, cases[_i].central, 1e-13, 0);
}
END_TEST

/* How far a temperature may be off is a difference: a degree Celsius of it is a kelvin, not a point on the
 * scale. */
START_TEST(a_temperature_is_off_by_degrees_or_kelvins)
{
    static const hl_parameter temperature = {"temperature", "degC", HL_NUMBER, 0,  0, 200,
                                             900,           NULL,   NULL,      "", ""};
    static const char *const texts[] = {
        "105 degC \xC2\xB1 5 K", "105 degC \xC2\xB1 5 degC", "105 degC +- 5 \xC2\xB0\x43",
        "{ typical: 105 degC, sigma: 3.0397844 K }", "{ typical: 105 degC, sigma: 3.0397844 degC }"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        hl_value value;
        hl_band band;
        hl_diagnostics *said = hl_diagnostics_create();
        hl_status status = hl_value_read_band(&temperature, texts[i], NULL, &value, &band, NULL, 0, said);
        ck_assert_msg(status == HL_OK, "%s: %s", texts[i], hl_diagnostics_text(said, 0));
        ck_near(band.low, 373.15, 1e-7, 0);
        ck_near(band.high, 383.15, 1e-7, 0);
        hl_diagnostics_destroy(said);
    }
}
END_TEST

START_TEST(a_group_is_kept_with_its_direction)
{
    hl_value value;
    hl_band band = band_of("{ typical: 2 ohm, factor: 2, group: core }", &value);
    ck_assert_str_eq(band.group, "core");
    ck_assert(!band.opposed);
    double high = hl_band_quantile(&band, 0.9);
    band = band_of("{ typical: 2 ohm, factor: 2, group: -core }", &value);
    ck_assert_str_eq(band.group, "core");
    ck_assert(band.opposed);
    ck_near(hl_band_quantile(&band, 0.1), high, 1e-14, 0);
}
END_TEST

/* GSL's inverse of the normal distribution, independent of the one in use: 1e-14 of the deviation. */
START_TEST(normal_quantiles_are_those_of_another_library)
{
    const hl_band band = {.kind = HL_BAND_NORMAL, .central = 3, .sigma = 0.5};
    static const double p[] = {1e-12, 1e-6, 1e-3, 0.02, 0.05, 0.0749, 0.0751, 0.3, 0.5, 0.77, 0.95, 0.999};
    for (size_t i = 0; i < sizeof p / sizeof p[0]; i++)
        ck_near(hl_band_quantile(&band, p[i]), 3 + 0.5 * gsl_cdf_ugaussian_Pinv(p[i]), 0, 5e-14);
}
END_TEST

/* Mean square from the quantiles themselves: what the closed forms of the deviation must agree with. */
static double numeric_deviation(const hl_band *band)
{
    enum { N = 400000 };
    double sum = 0, squares = 0;
    for (int i = 0; i < N; i++) {
        double x = hl_band_quantile(band, (i + 0.5) / N);
        sum += x / N;
        squares += x * x / N;
    }
    return sqrt(fmax(0, squares - sum * sum));
}

START_TEST(deviations_agree_with_the_quantiles)
{
    hl_value value;
    hl_band band = band_of(cases[_i].text, &value);
    ck_near(hl_band_deviation(&band), numeric_deviation(&band), 2e-4, 1e-6);
    double last = -INFINITY;
    for (int i = 0; i <= 1000; i++) {
        double x = hl_band_quantile(&band, i / 1000.0);
        ck_assert_msg(x >= last && x >= resistance.low && x <= resistance.high, "%s at %d", cases[_i].text,
                      i);
        last = x;
    }
    ck_assert(hl_band_quantile(&band, 0.05) <= band.central && band.central <= hl_band_quantile(&band, 0.95));
    ck_assert(isfinite(hl_band_quantile(&band, NAN)));
}
END_TEST

static void fill(TCase *tests)
{
    const int n = (int)(sizeof cases / sizeof cases[0]);
    tcase_add_loop_test(tests, a_band_is_read_as_it_is_written, 0, n);
    tcase_add_test(tests, a_temperature_is_off_by_degrees_or_kelvins);
    tcase_add_test(tests, a_group_is_kept_with_its_direction);
    tcase_add_test(tests, normal_quantiles_are_those_of_another_library);
    tcase_add_loop_test(tests, deviations_agree_with_the_quantiles, 0, n);
}

int main(void)
{
    return story_main("band", fill);
}
