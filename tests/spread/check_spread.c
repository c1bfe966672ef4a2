/* check_spread.c - the spread of a whole design: coverage, drivers, same bits, points without a solution. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/spread.h"
#include "story.h"
#include "uncertain_buck.h"

static hl_spread *spread_of(const uncertain_buck *buck, const hl_spread_options *options)
{
    hl_spread *spread;
    hl_status status = hl_spread_design(buck->design, options, &spread, buck->said);
    ck_assert_msg(status == HL_OK, "%s",
                  hl_diagnostics_count(buck->said) ? hl_diagnostics_text(buck->said, 0) : "");
    return spread;
}

START_TEST(workers_do_not_change_a_bit)
{
    static const size_t workers[] = {1, 2, 7};
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    size_t about = 0;
    hl_spread *spread[3];
    for (int w = 0; w < 3; w++) {
        hl_spread_options options = {.samples = 150,
                                     .seed = 3,
                                     .workers = workers[w],
                                     .about = &about,
                                     .n_about = 1,
                                     .total_base = 16};
        spread[w] = spread_of(&buck, &options);
    }
    for (int w = 1; w < 3; w++) {
        for (size_t f = 0; f < hl_figures_count(hl_spread_figures(spread[0])); f++) {
            size_t n, m;
            const double *a = hl_spread_sorted(spread[0], f, &n), *b = hl_spread_sorted(spread[w], f, &m);
            ck_assert_uint_eq(n, m);
            ck_assert_mem_eq(a, b, n * sizeof *a);
        }
        for (size_t k = 0; k < hl_spread_drivers(spread[0], 0); k++)
            ck_assert_double_eq(hl_spread_driver(spread[0], 0, k)->first,
                                hl_spread_driver(spread[w], 0, k)->first);
    }
    for (int w = 0; w < 3; w++) hl_spread_destroy(spread[w]);
    drafted_end(&buck);
}
END_TEST

/* One part in two slots is one unknown; what --set fixes is known; the coil's resistance drives the coil. */
START_TEST(unknowns_and_their_ranking_make_sense)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    double base[600];
    hl_design_defaults(buck.design, base);
    hl_spread_options options = {.samples = 400, .seed = 1, .base = base};
    hl_spread *spread = spread_of(&buck, &options);
    size_t before = hl_spread_unknowns(spread), shared = 0;
    for (size_t k = 0; k < before; k++) shared += hl_spread_unknown(spread, k)->n == 2;
    ck_assert_uint_ge(shared, 4);
    size_t about = hl_figures_find(hl_spread_figures(spread), "loss buck.inductor", NULL), named;
    hl_spread_destroy(spread);
    options.about = &about;
    options.n_about = 1;
    options.total_base = 64;
    spread = spread_of(&buck, &options);
    ck_assert_uint_ge(hl_spread_drivers(spread, 0), 1);
    const hl_driver *first = hl_spread_driver(spread, 0, 0);
    ck_assert_ptr_nonnull(strstr(hl_spread_unknown(spread, first->unknown)->name, "dc_resistance"));
    ck_assert(first->first > 0.9 && first->total > 0.5);
    size_t n;
    const double *sorted = hl_spread_sorted(spread, about, &n);
    ck_assert(first->left < 0.35 * hl_deviation(n, sorted));
    hl_spread_destroy(spread);
    named = drafted_setting(&buck, "buck.inductor.dc_resistance");
    bool known[600] = {false}; /* measured, and found to be what was supposed */
    known[named] = true;
    options.known = known;
    spread = spread_of(&buck, &options);
    ck_assert_uint_eq(hl_spread_unknowns(spread), before - 1);
    hl_spread_destroy(spread);
    options.known = NULL;
    base[named] *= 1.1;
    spread = spread_of(&buck, &options);
    ck_assert_uint_eq(hl_spread_unknowns(spread), before - 1);
    hl_spread_destroy(spread);
    drafted_end(&buck);
}
END_TEST

/* Bands of another adapter each time: kinds, widths and centres by chance. */
static void draw_bands(const uncertain_buck *buck, uint64_t seed, hl_band bands[])
{
    static const char *const names[] = {
        "buck.high_switch.on_resistance", "buck.high_switch.gate_drain_charge",
        "buck.low_switch.on_resistance",  "buck.inductor.dc_resistance",
        "buck.high_switch.output_charge", "buck.low_switch.output_charge"};
    for (size_t i = 0; i < hl_design_settings(buck->design); i++) {
        hl_design_band(buck->design, i, &bands[i]);
        bands[i].kind = HL_BAND_NONE;
    }
    for (uint64_t k = 0; k < sizeof names / sizeof *names; k++) {
        hl_band *band = &bands[drafted_setting(buck, names[k])];
        double width = 0.05 + 0.3 * hl_chance(seed, 100 + k, 0), centre = band->central;
        band->kind = (hl_band_kind)(HL_BAND_UNIFORM + hl_chance_bits(seed, 100 + k, 1) % 4);
        band->group = NULL;
        band->floor = band->ceiling = 0;
        band->low = centre * (1 - width);
        band->high = centre * (1 + width);
        band->sigma = band->kind == HL_BAND_LOG_NORMAL ? width / 1.645 : width * centre / 1.645;
    }
}

/* The bar: 200 adapters, truth drawn from the bands, the 90 % interval covers it in 85 to 95 %; each figure
 * with a spread counts. */
START_TEST(the_interval_covers_the_truth_as_often_as_it_says)
{
    int adapters = getenv("HEATLEDGER_LONG") ? 1000 : 200;
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    hl_workspace *workspace = hl_workspace_create(buck.design);
    size_t n = hl_design_settings(buck.design), covered[5] = {0};
    hl_band *bands = calloc(n, sizeof *bands);
    double *truth = calloc(n, sizeof *truth);
    ck_assert(workspace && bands && truth);
    static const char *const watched[5] = {"efficiency", "loss", "loss buck.high_switch", "buck.high_switch",
                                           "buck.inductor"};
    for (int a = 0; a < adapters; a++) {
        draw_bands(&buck, (uint64_t)a, bands);
        hl_design_defaults(buck.design, truth);
        for (size_t i = 0; i < n; i++)
            if (bands[i].kind != HL_BAND_NONE)
                truth[i] = hl_band_quantile(&bands[i], hl_chance((uint64_t)a, 7, i));
        hl_spread_options options = {.samples = 200, .seed = (uint64_t)a, .bands = bands, .workers = 2};
        hl_spread *spread = spread_of(&buck, &options);
        ck_assert_int_eq(hl_solve(workspace, truth), HL_OK);
        double values[600];
        ck_assert_uint_lt(hl_figures_count(hl_spread_figures(spread)), 600);
        hl_figures_read(hl_spread_figures(spread), workspace, values);
        for (int f = 0; f < 5; f++) {
            size_t at = hl_figures_find(hl_spread_figures(spread), watched[f], NULL), m;
            ck_assert(at != SIZE_MAX);
            const double *sorted = hl_spread_sorted(spread, at, &m);
            covered[f] +=
                values[at] >= hl_quantile(m, sorted, 0.05) && values[at] <= hl_quantile(m, sorted, 0.95);
        }
        hl_spread_destroy(spread);
    }
    for (int f = 0; f < 5; f++) {
        double share = (double)covered[f] / adapters;
        printf("%s: %.1f %% covered\n", watched[f], 100 * share);
        ck_assert_msg(share >= 0.85 && share <= 0.95, "%s: %.3f", watched[f], share);
    }
    free(bands);
    free(truth);
    hl_workspace_destroy(workspace);
    drafted_end(&buck);
}
END_TEST

/* Of 100 points some without a solution: a temperature's are the hottest, an efficiency's are left out. */
static void check_percentiles(const hl_spread *spread, size_t missing)
{
    size_t n, of, hot = hl_figures_find(hl_spread_figures(spread), "buck.inductor", NULL),
                  cool = hl_figures_find(hl_spread_figures(spread), "efficiency", NULL);
    const double *sorted = hl_spread_sorted(spread, hot, &n);
    ck_assert_uint_eq(n, 100 - missing);
    for (size_t r = 1; r <= 100; r++) { /* value r stands at (r - 1/2) / 100 */
        double value = hl_spread_quantile(spread, hot, ((double)r - 0.5) / 100, &of);
        if (r <= n)
            ck_near(value, sorted[r - 1], 1e-12, 0);
        else
            ck_assert(isinf(value) && value > 0);
    }
    ck_assert_uint_eq(of, 100);
    sorted = hl_spread_sorted(spread, cool, &n);
    ck_near(hl_spread_quantile(spread, cool, 0.95, &of), hl_quantile(n, sorted, 0.95), 0, 0);
    ck_assert_uint_eq(of, n);
}

START_TEST(points_without_a_solution_are_counted_with_their_reason)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    size_t n = hl_design_settings(buck.design), source = drafted_setting(&buck, "mains.voltage");
    hl_band *bands = calloc(n, sizeof *bands);
    for (size_t i = 0; i < n; i++) hl_design_band(buck.design, i, &bands[i]), bands[i].kind = HL_BAND_NONE;
    bands[source] = (hl_band){.kind = HL_BAND_UNIFORM, .low = 6, .central = 48, .high = 54};
    hl_band *other = &bands[drafted_setting(&buck, "buck.inductor.dc_resistance")]; /* has no part in it */
    double middle = other->central;
    *other = (hl_band){.kind = HL_BAND_UNIFORM, .low = 0.9 * middle, .central = middle, .high = 1.1 * middle};
    hl_spread_options options = {.samples = 100, .seed = 1, .bands = bands};
    hl_spread *spread = spread_of(&buck, &options);
    size_t missing = hl_spread_samples(spread) - hl_spread_solved(spread), told = 0, count;
    hl_outcome outcome;
    ck_assert(missing >= 8 && missing <= 20); /* below about 12.5 V the buck cannot deliver 12 V */
    for (size_t k = 0; k < hl_spread_reasons(spread); k++) {
        ck_assert_ptr_nonnull(strstr(hl_spread_reason(spread, k, &count, &outcome), "buck"));
        told += count;
    }
    ck_assert_uint_eq(told, missing);
    /* all of them lie below all others in the one that matters, and none in the middle of its band */
    ck_assert_uint_eq(hl_spread_separators(spread), 1);
    const hl_separator *first = hl_spread_separator(spread, 0);
    ck_assert_str_eq(hl_spread_unknown(spread, first->unknown)->name, "mains.voltage");
    ck_near(first->area, 0, 0, 0);
    ck_assert(first->middle == 20 && first->middle_unsolved == 0);
    ck_assert_ptr_null(hl_spread_separator(spread, 1));
    check_percentiles(spread, missing);
    hl_spread_destroy(spread);
    free(bands);
    drafted_end(&buck);
}
END_TEST

static bool stop_at_once(void *context, size_t done, size_t of)
{
    *(size_t *)context = of;
    return done > of;
}

START_TEST(what_cannot_be_asked_is_refused_and_what_is_not_there_is_none)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    hl_spread *spread;
    size_t about = 100000, told = 0, n = 7;
    hl_spread_options options = {.samples = 100000000000u};
    ck_assert_int_eq(hl_spread_design(buck.design, &options, &spread, buck.said), HL_BAD_INPUT);
    ck_assert_ptr_null(spread);
    ck_assert_ptr_nonnull(strstr(hl_diagnostics_text(buck.said, 0), "100000000000 samples are more than"));
    options = (hl_spread_options){.samples = 5, .about = &about, .n_about = 1};
    ck_assert_int_eq(hl_spread_design(buck.design, &options, &spread, buck.said), HL_BAD_INPUT);
    ck_assert_str_eq(hl_diagnostics_text(buck.said, 1), "a figure asked about does not exist");
    /* many more than are done before the first word of progress */
    options = (hl_spread_options){.samples = 60000, .workers = 1, .progress = stop_at_once, .context = &told};
    ck_assert_int_eq(hl_spread_design(buck.design, &options, &spread, buck.said), HL_BAD_INPUT);
    ck_assert_str_eq(hl_diagnostics_text(buck.said, 2), "stopped before the end");
    ck_assert_uint_eq(told, 60000);
    options = (hl_spread_options){.samples = 5, .workers = 1};
    ck_assert_int_eq(hl_spread_design(buck.design, &options, &spread, buck.said), HL_OK);
    size_t figures = hl_figures_count(hl_spread_figures(spread));
    ck_assert(hl_spread_samples(spread) == 5 && hl_spread_solved(spread) == 5 &&
              hl_spread_seconds(spread, NULL) > 0);
    ck_assert(isnan(hl_spread_central(spread, figures)) && isfinite(hl_spread_central(spread, 0)));
    ck_assert(!hl_spread_sorted(spread, figures, &n) && n == 0);
    ck_assert(!hl_spread_reason(spread, 0, NULL, NULL) && hl_spread_reasons(spread) == 0);
    ck_assert(hl_spread_drivers(spread, 0) == 0 && !hl_spread_driver(spread, 0, 0));
    ck_assert(!hl_spread_unknown(spread, hl_spread_unknowns(spread)) && hl_spread_unknown(spread, 0)->n > 0);
    const char *near = "";
    ck_assert(hl_figures_find(hl_spread_figures(spread), "efficency", &near) == SIZE_MAX);
    ck_assert_str_eq(near, "efficiency");
    ck_assert_ptr_null(hl_figures_get(hl_spread_figures(spread), figures));
    hl_spread_destroy(spread);
    drafted_end(&buck);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, workers_do_not_change_a_bit);
    tcase_add_test(tests, unknowns_and_their_ranking_make_sense);
    tcase_add_test(tests, the_interval_covers_the_truth_as_often_as_it_says);
    tcase_add_test(tests, points_without_a_solution_are_counted_with_their_reason);
    tcase_add_test(tests, what_cannot_be_asked_is_refused_and_what_is_not_there_is_none);
}

int main(void)
{
    return story_main("spread", fill);
}
