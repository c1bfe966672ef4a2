/* fit.c - `heatledger fit`: adjust free values until the adapter agrees with the bench. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/command.h"
#include "cli/csv_text.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/wrapped.h"
#include "heatledger/fit.h"
#include "lua/lua_fit.h"

static const char help[] =
    "usage: heatledger fit FILE.lua READINGS.yaml [--overlay FITTED.yaml] [--set NAME=VALUE]...\n"
    "\n"
    "Adjust the free values that READINGS.yaml names until the adapter that FILE.lua returns agrees\n"
    "with what was read: input and port power, temperatures, quantities of stages.  Show how sure\n"
    "each value is, which readings disagree, and what the readings cannot tell.\n"
    "\n"
    "  --overlay FILE    write the fitted parts as a part file: hl.parts { ..., over = FILE }\n"
    "  --csv             one row for each reading\n"
    "  --json            the whole in the schema heatledger.fit/1\n"
    "  --strict          exit with 2 when a reading disagrees\n"
    "  --set NAME=VALUE  change a setting for this run, at every point that does not set "
    "it\n" OPTION_HELP_SCRIPT "  --quiet           errors only: no warnings, no progress\n"
    "\n"
    "exit: 0 good, 1 bad input, 2 a reading disagrees (with --strict), 3 no solution\n";

static const double kelvin = 273.15;

typedef struct choices {
    session_options session;
    option_list rest;
    const char *overlay;
    bool json, csv, strict;
} choices;

static bool parse(int argc, char **argv, choices *chosen)
{
    const own_option own[] = {
        {"overlay", OWN_TEXT, &chosen->overlay}, {"json", OWN_FLAG, &chosen->json},
        {"csv", OWN_FLAG, &chosen->csv},         {"strict", OWN_FLAG, &chosen->strict},
        {NULL, OWN_REST, &chosen->rest},         {NULL, OWN_FLAG, NULL},
    };
    memset(chosen, 0, sizeof *chosen);
    if (!options_read("fit", argc, argv, &chosen->session, own)) return false;
    if (chosen->rest.n == 1) return true;
    fputs("heatledger fit: name one script and one file of readings; `heatledger fit --help` tells more\n",
          stderr);
    return false;
}

static void quantity(double value, const char *unit, char *text, size_t size)
{
    if (isfinite(value))
        hl_quantity_print(value, unit, 4, text, size);
    else
        snprintf(text, size, "not told");
}

static const char *difference_unit(const char *unit)
{
    return strcmp(unit, "degC") ? unit : "K";
}

static void print_values(const hl_bench *bench, const hl_fit_result *result)
{
    bool edge = false, untold = false;
    printf("\n%-38s %12s %12s %12s\n", "value", "start", "fitted", "+-");
    for (size_t k = 0; k < hl_fit_values(result); k++) {
        const hl_fit_value *v = hl_bench_value(bench, k);
        const hl_fit_estimate *e = hl_fit_estimate_of(result, k);
        const char *unit = hl_bench_value_unit(bench, k);
        char start[40], fitted[40], u[40];
        quantity(v->start, unit, start, sizeof start);
        quantity(e->value, unit, fitted, sizeof fitted);
        quantity(e->u, difference_unit(unit), u, sizeof u);
        bool long_name = strlen(v->name) > 38;
        if (long_name) puts(v->name);
        printf("%-38s %12s %12s %12s%s\n", long_name ? "" : v->name, start, fitted, u,
               e->at_edge || e->at_bound ? " !"
               : e->told                 ? ""
                                         : " ?");
        if (e->at_edge) {
            edge = true;
            continue;
        }
        if (e->at_bound) printf("  ! it lies at its bound: widen the bounds, or doubt the readings\n");
        untold |= !e->at_bound && !e->told;
    }
    if (edge)
        wrapped_print(stdout, "  ! ", 4,
                      "beside these the adapter has no solution, and the readings pull it there: the search "
                      "was stopped, at no minimum. Doubt the readings that are furthest off, and the values "
                      "that are not free");
    if (untold)
        wrapped_print(stdout, "  ? ", 4,
                      "the readings leave more open than half of what its bounds do, or than its band does: "
                      "they do not tell it. Free fewer values, or read what answers to it");
}

/* Pairs that go together: their sum is known better than each. */
static void print_pairs(const hl_bench *bench, const hl_fit_result *result)
{
    bool begun = false;
    for (size_t a = 0; a < hl_fit_values(result); a++)
        for (size_t b = 0; b < a; b++) {
            double r = hl_fit_correlation(result, a, b);
            if (!(fabs(r) >= 0.7)) continue;
            if (!begun) printf("\nvalues whose errors go together\n");
            begun = true;
            printf("  %+.2f  %s and %s\n", r, hl_bench_value(bench, b)->name, hl_bench_value(bench, a)->name);
        }
}

static void print_blinds(const hl_bench *bench, const hl_fit_result *result)
{
    for (size_t i = 0; i < hl_fit_blinds(result); i++) {
        const hl_fit_blind *blind = hl_fit_blind_of(result, i);
        printf(i ? "" : "\n");
        if (blind->n == 1)
            printf("the readings say nothing of %s\n", hl_bench_value(bench, blind->value[0])->name);
        else
            printf("the readings cannot tell apart:\n");
        for (size_t k = 0; blind->n > 1 && k < blind->n; k++)
            printf("  %+.2f  %s\n", blind->part[k], hl_bench_value(bench, blind->value[k])->name);
    }
}

static size_t print_readings(const hl_bench *bench, const hl_fit_result *result)
{
    size_t wrong = 0, before = SIZE_MAX;
    printf("\n%-33s %10s %10s %8s %6s\n", "reading", "read", "fitted", "off by", "judged");
    for (size_t i = 0; i < hl_fit_readings(result); i++) {
        const hl_fit_residual *r = hl_fit_residual_of(result, i);
        const char *unit;
        size_t point;
        const hl_fit_reading *reading = hl_bench_reading(bench, i, &unit, &point, NULL);
        char read[40], fitted[40], off[40];
        if (point != before) printf("%s\n", hl_bench_point_name(bench, point));
        before = point;
        quantity(reading->value, unit, read, sizeof read);
        quantity(r->predicted, unit, fitted, sizeof fitted);
        hl_quantity_print(reading->value - r->predicted, difference_unit(unit), 2, off, sizeof off);
        bool long_name = strlen(reading->name) > 31;
        if (long_name) printf("  %s\n", reading->name);
        printf("  %-31s %10s %10s %8s %+5.1f%s\n", long_name ? "" : reading->name, read, fitted, off,
               r->deleted,
               r->disagrees ? " disagrees"
               : r->alone   ? " unchecked"
                            : "");
        wrong += r->disagrees;
    }
    puts("  off by: read less fitted, where all readings are fitted together");
    wrapped_print(stdout, "  judged: ", 10,
                  wrong
                      ? "read less fitted without this reading and without those that disagree, in standard "
                        "errors; where readings disagree they pull the fit, so its sign may differ from "
                        "that of off by"
                      : "read less fitted without this reading, in standard errors");
    if (wrong)
        wrapped_print(
            stdout, "  disagrees: ", 13,
            "chance makes judged as great in fewer than 1 of 20 benches; a standard error comes from "
            "the stated uncertainty, so 0.1 W read to 0.02 W weighs more than 7 K read to 2 K");
    return wrong;
}

static void print_sum(const hl_fit_result *result, size_t wrong)
{
    double freedom, chi = hl_fit_chi_square(result, &freedom);
    printf("\nsum of squares %.4g for %g degrees of freedom", chi, freedom);
    if (freedom > 0 && chi / freedom > 1 + 3 * sqrt(2 / freedom))
        printf(": %s",
               wrong ? "readings disagree, see above" : "the model or the stated uncertainties are too good");
    printf("\n");
}

static void print_text(const bound_design *bound, const hl_bench *bench, const hl_fit_result *result)
{
    size_t values = hl_fit_values(result), readings = hl_fit_readings(result),
           points = hl_bench_points(bench);
    printf("%s\n%zu free value%s, %zu reading%s at %zu point%s\n", hl_design_name(bound->design), values,
           printed_plural(values), readings, printed_plural(readings), points, printed_plural(points));
    print_values(bench, result);
    print_pairs(bench, result);
    print_blinds(bench, result);
    print_sum(result, print_readings(bench, result));
}

static void print_csv(const hl_bench *bench, const hl_fit_result *result)
{
    printf("point,of,unit,read,uncertainty,fitted,normalised,deleted,disagrees\n");
    for (size_t i = 0; i < hl_fit_readings(result); i++) {
        const hl_fit_residual *r = hl_fit_residual_of(result, i);
        const char *unit;
        size_t point;
        const hl_fit_reading *reading = hl_bench_reading(bench, i, &unit, &point, NULL);
        double shift = strcmp(unit, "degC") ? 0 : kelvin;
        csv_text(stdout, hl_bench_point_name(bench, point));
        putchar(',');
        csv_text(stdout, reading->name);
        printf(",%s,%.10g,%.10g,%.10g,%.10g,%.10g,%d\n", unit, reading->value - shift, reading->u,
               r->predicted - shift, r->normalised, r->deleted, r->disagrees);
    }
}

static bool any_wrong(const hl_fit_result *result)
{
    for (size_t i = 0; i < hl_fit_readings(result); i++)
        if (hl_fit_residual_of(result, i)->disagrees) return true;
    return false;
}

static bool print_json(const bound_design *bound, const hl_bench *bench, const hl_fit_result *result)
{
    json_t *document = fit_document(bound->design, bench, result);
    return printed_json(document, 0);
}

static int show(const choices *chosen, const bound_design *bound, const hl_bench *bench,
                const hl_fit_result *result, hl_diagnostics *said)
{
    bool good = true;
    if (chosen->json)
        good = print_json(bound, bench, result);
    else if (chosen->csv)
        print_csv(bench, result);
    else
        print_text(bound, bench, result);
    good = printed_whole(good);
    if (good && chosen->overlay) {
        good = hl_bench_write_overlay(bench, result, chosen->overlay, said) == HL_OK;
        if (good) fprintf(stderr, "wrote %s\n", chosen->overlay);
    }
    if (!good) return EXIT_BAD_INPUT;
    return chosen->strict && any_wrong(result) ? EXIT_LIMIT_BROKEN : EXIT_GOOD;
}

static int work(const choices *chosen, const bound_design *bound)
{
    hl_diagnostics *said = hl_diagnostics_create();
    if (!said) return EXIT_BAD_INPUT;
    int code = EXIT_BAD_INPUT;
    hl_bench *bench = hl_bench_read_file(bound->design, chosen->rest.text[0], said);
    if (bench) {
        hl_fit_result *result;
        hl_status status = hl_bench_fit(bench, bound->settings, &result, said);
        code = status == HL_OK            ? show(chosen, bound, bench, result, said)
               : status == HL_NO_SOLUTION ? EXIT_NO_SOLUTION
                                          : EXIT_BAD_INPUT;
        hl_fit_destroy(result);
    }
    session_print(said, session_least(&chosen->session));
    hl_diagnostics_destroy(said);
    hl_bench_destroy(bench);
    return code;
}

static int run(int argc, char **argv)
{
    choices chosen;
    if (!parse(argc, argv, &chosen)) return EXIT_BAD_INPUT;
    session opened;
    int code = EXIT_BAD_INPUT;
    if (session_open(&opened, &chosen.session)) code = work(&chosen, opened.bound);
    session_close(&opened);
    return code;
}

extern const command command_fit;
const command command_fit = {"fit", "adjust free values to bench readings", help, run};
