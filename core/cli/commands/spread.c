/* spread.c - `heatledger spread`: how sure the figures are, and what to measure next. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cli/command.h"
#include "cli/csv_text.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/wrapped.h"
#include "heatledger/spread.h"
#include "lua/lua_spread.h"

static const char help[] =
    "usage: heatledger spread FILE.lua [--samples N] [--about FIGURE]... [--set NAME=VALUE]...\n"
    "\n"
    "Solve the adapter that FILE.lua returns many times, each value drawn from its band: how far\n"
    "losses, temperatures and headroom may lie from the central answer, how likely each limit is\n"
    "broken, how many points have no solution and why, and which unknowns matter, so what to measure\n"
    "next.  Percentiles of temperatures count points without a solution as hotter than any.\n"
    "\n"
    "  --samples N       points to solve; 1000 when not said\n"
    "  --seed S          another seed draws other points; 1 when not said\n"
    "  --quantiles LIST  in percent; 5,50,95 when not said\n"
    "  --about FIGURE    rank what drives this figure: efficiency, loss, 'case hottest' (its hot spot\n"
    "                    with --network field, else the hottest face's mean), a part or a face by\n"
    "                    name (its temperature), 'loss NAME'; may be repeated\n"
    "  --totals N        base points for the shares \"with the others\", 0 for none; samples/32 when not\n"
    "                    said.  They cost N x 11 more solutions\n"
    "  --workers N       threads; one for each processor when not said; the figures are the\n"
    "                    same for any number\n"
    "  --csv             one row for each figure\n"
    "  --json            the whole in the schema heatledger.spread/1\n"
    "  --set NAME=VALUE  change a setting for this run; it is then known, and has no "
    "band\n" OPTION_HELP_SCRIPT "  --quiet           errors only: no warnings, no progress\n"
    "\n"
    "exit: 0 good, 1 bad input, 3 the central point has no solution\n";

static const double kelvin = 273.15;

enum { LEVELS_MOST = 5, NAME_LEAST = 30, WIDE = 80 };

typedef struct choices {
    session_options session;
    const char *samples, *seed, *quantiles, *totals, *workers;
    option_list about;
    bool json, csv;
    double level[LEVELS_MOST];
    size_t n_levels, about_index[OPTION_LIST_MAX];
    hl_spread_options options;
} choices;

static bool whole(const char *name, const char *text, size_t most, size_t otherwise, size_t *value)
{
    *value = otherwise;
    if (!text) return true;
    char *end;
    unsigned long long read = strtoull(text, &end, 10);
    if (*text >= '0' && *text <= '9' && !*end && read <= most) {
        *value = (size_t)read;
        return true;
    }
    fprintf(stderr, "heatledger spread: --%s: '%s' is no whole number up to %zu\n", name, text, most);
    return false;
}

static bool read_levels(choices *chosen)
{
    const char *at = chosen->quantiles ? chosen->quantiles : "5,50,95";
    for (;;) {
        char *end;
        double percent = strtod(at, &end);
        if (end == at || !(percent >= 0 && percent <= 100) || chosen->n_levels == LEVELS_MOST) {
            fprintf(stderr,
                    "heatledger spread: --quantiles: up to %d numbers from 0 to 100 with commas between\n",
                    LEVELS_MOST);
            return false;
        }
        chosen->level[chosen->n_levels++] = percent / 100;
        if (!*end) return true;
        at = end + (*end == ',');
    }
}

static bool parse(int argc, char **argv, choices *chosen)
{
    const own_option own[] = {
        {"samples", OWN_TEXT, &chosen->samples},
        {"seed", OWN_TEXT, &chosen->seed},
        {"quantiles", OWN_TEXT, &chosen->quantiles},
        {"about", OWN_LIST, &chosen->about},
        {"totals", OWN_TEXT, &chosen->totals},
        {"workers", OWN_TEXT, &chosen->workers},
        {"json", OWN_FLAG, &chosen->json},
        {"csv", OWN_FLAG, &chosen->csv},
        {NULL, OWN_FLAG, NULL},
    };
    memset(chosen, 0, sizeof *chosen);
    if (!options_read("spread", argc, argv, &chosen->session, own)) return false;
    hl_spread_options *options = &chosen->options;
    size_t seed;
    if (!whole("samples", chosen->samples, 10000000, 1000, &options->samples)) return false;
    if (!whole("seed", chosen->seed, SIZE_MAX, 1, &seed)) return false;
    if (!whole("workers", chosen->workers, 1024, 0, &options->workers)) return false;
    if (options->samples == 0) options->samples = 1;
    size_t usual = options->samples / 32 > 32 ? options->samples / 32 : 32;
    if (!whole("totals", chosen->totals, 1000000, usual, &options->total_base)) return false;
    options->seed = seed;
    return read_levels(chosen);
}

/* ---------------------------------------------------------------- figures -- */

static bool add_about(choices *chosen, const hl_figures *figures, const char *name)
{
    const char *near;
    size_t index = hl_figures_find(figures, name, &near);
    if (index == SIZE_MAX) {
        fprintf(stderr, "heatledger spread: no figure '%s'%s%s%s\n", name, near ? "; did you mean '" : "",
                near ? near : "", near ? "'?" : "");
        return false;
    }
    chosen->about_index[chosen->options.n_about++] = index;
    return true;
}

/* The figures of the central point tell which names there are. */
static int find_about(choices *chosen, bound_design *bound)
{
    hl_status status = hl_solve(bound->workspace, bound->settings);
    if (status != HL_OK || hl_result_outcome(bound->workspace) != HL_SOLVED) {
        fprintf(stderr, "no solution at the central point: %s\n", hl_result_reason(bound->workspace));
        return status == HL_OK ? EXIT_NO_SOLUTION : EXIT_BAD_INPUT;
    }
    hl_figures *figures = hl_figures_create(bound->design, bound->workspace);
    bool good = figures != NULL;
    for (size_t i = 0; good && i < chosen->about.n; i++)
        good = add_about(chosen, figures, chosen->about.text[i]);
    if (good && chosen->about.n == 0) {
        good = add_about(chosen, figures, "efficiency");
        if (hl_figures_find(figures, "case hottest", NULL) != SIZE_MAX)
            good = good && add_about(chosen, figures, "case hottest");
    }
    hl_figures_destroy(figures);
    chosen->options.about = chosen->about_index;
    return good ? EXIT_GOOD : EXIT_BAD_INPUT;
}

static bool tell(void *context, size_t done, size_t of)
{
    (void)context;
    if (!isatty(STDERR_FILENO)) return true;
    if (done < of)
        fprintf(stderr, "\r%zu of %zu points", done, of);
    else
        fprintf(stderr, "\r%*s\r", 40, "");
    return true;
}

/* ------------------------------------------------------------------- text -- */

typedef struct scale {
    double factor, shift;
    int decimals;
    const char *unit;
} scale;

static scale scale_of(const hl_figure *figure)
{
    if (figure->kind == HL_FIGURE_TEMPERATURE) return (scale){1, kelvin, 1, "degC"};
    if (figure->kind == HL_FIGURE_EFFICIENCY) return (scale){100, 0, 2, "%"};
    if (figure->kind == HL_FIGURE_USED) return (scale){100, 0, 0, "%"};
    return (scale){1, 0, 3, "W"};
}

static int name_width(const choices *chosen)
{
    return WIDE - 9 * ((int)chosen->n_levels + 1);
}

static void print_head(const choices *chosen, const char *title)
{
    printf("\n%-*.*s%9s", name_width(chosen), name_width(chosen), title, "central");
    for (size_t k = 0; k < chosen->n_levels; k++) printf("%7.4g %%", 100 * chosen->level[k]);
    putchar('\n');
}

static bool all_solve(const hl_spread *spread)
{
    return hl_spread_solved(spread) == hl_spread_samples(spread);
}

/* In the place of a percentile that lies among the points without a solution. */
static const char *beyond_word(const hl_spread *spread)
{
    for (size_t k = 0; k < hl_spread_reasons(spread); k++) {
        hl_outcome outcome;
        hl_spread_reason(spread, k, NULL, &outcome);
        if (outcome != HL_RAN_AWAY) return "none";
    }
    return "run-away";
}

static void print_figure(const choices *chosen, const hl_spread *spread, size_t index, const char *name)
{
    const hl_figure *figure = hl_figures_get(hl_spread_figures(spread), index);
    scale s = scale_of(figure);
    if (strlen(name) > (size_t)name_width(chosen)) { /* whole, in lines of its own */
        wrapped_print(stdout, "", 2, name);
        name = "";
    }
    printf("%-*s %8.*f", name_width(chosen), name, s.decimals,
           s.factor * (hl_spread_central(spread, index) - s.shift));
    for (size_t k = 0; k < chosen->n_levels; k++) {
        double quantile = hl_spread_quantile(spread, index, chosen->level[k], NULL);
        if (isinf(quantile))
            printf(" %8s", beyond_word(spread));
        else
            printf(" %8.*f", s.decimals, s.factor * (quantile - s.shift));
    }
    putchar('\n');
}

/* Figures of one kind; `least`: those whose highest quantile stays below are left out and counted. */
static void print_kind(const choices *chosen, const hl_spread *spread, hl_figure_kind kind, const char *title,
                       const char *prefix, double least)
{
    const hl_figures *figures = hl_spread_figures(spread);
    size_t left_out = 0;
    bool begun = false;
    for (size_t i = 0; i < hl_figures_count(figures); i++) {
        const hl_figure *figure = hl_figures_get(figures, i);
        if (figure->kind != kind || strncmp(figure->name, prefix, strlen(prefix)) != 0) continue;
        size_t n;
        const double *sorted = hl_spread_sorted(spread, i, &n);
        if (hl_quantile(n, sorted, 0.95) < least) {
            left_out++;
            continue;
        }
        if (!begun) print_head(chosen, title);
        begun = true;
        print_figure(chosen, spread, i, figure->name + strlen(prefix));
    }
    if (!left_out) return;
    if (kind == HL_FIGURE_USED)
        printf("  %zu more below %g %%%s\n", left_out, 100 * least,
               all_solve(spread) ? "" : ", of points that solve");
    else
        printf("  %zu more below %g W\n", left_out, least);
}

static void print_whole(const choices *chosen, const hl_spread *spread)
{
    static const char *const names[] = {"efficiency", "input power", "loss", "case hottest"};
    const hl_figures *figures = hl_spread_figures(spread);
    print_head(chosen, "the whole");
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        size_t at = hl_figures_find(figures, names[i], NULL);
        if (at == SIZE_MAX) continue;
        char title[60];
        snprintf(title, sizeof title, "%s, %s", hl_figures_title(figures, at),
                 scale_of(hl_figures_get(figures, at)).unit);
        print_figure(chosen, spread, at, title);
    }
}

/* No more digits than so many draws tell: one of 200 is 0.5 %. */
static int share_decimals(size_t draws)
{
    return draws < 1000 ? 0 : draws < 10000 ? 1 : 2;
}

static void print_share(const char *name, double share, size_t draws)
{
    enum { ROOM = 70 };
    if (strlen(name) > ROOM) {
        wrapped_print(stdout, "", 2, name);
        name = "";
    }
    int decimals = share_decimals(draws);
    char text[24];
    if (100 * share < 1 && !decimals)
        snprintf(text, sizeof text, "< 1");
    else
        snprintf(text, sizeof text, "%.*f", decimals, 100 * share);
    printf("%-*s %7s %%\n", ROOM, name, text);
}

static void print_broken(const hl_spread *spread)
{
    const hl_figures *figures = hl_spread_figures(spread);
    bool begun = false;
    for (size_t i = 0; i < hl_figures_count(figures); i++) {
        const hl_figure *figure = hl_figures_get(figures, i);
        size_t n;
        const double *sorted = hl_spread_sorted(spread, i, &n);
        double share = figure->kind == HL_FIGURE_USED ? hl_share_above(n, sorted, 1) : 0;
        if (share <= 0) continue;
        if (!begun)
            printf("\nlimits that may be broken%s\n", all_solve(spread) ? "" : ", of points that solve");
        begun = true;
        print_share(figure->name + strlen("used "), share, n);
    }
    if (!begun) printf("\nno limit is broken in any of the points solved\n");
}

/* Before all else: where the adapter has no answer the figures below say nothing of it. */
static void print_unsolved(const hl_spread *spread)
{
    size_t all = hl_spread_samples(spread), solved = hl_spread_solved(spread), missing = all - solved;
    if (!missing) return;
    printf("\nwithout a solution: %zu of %zu points (%.*f %%)\n", missing, all, share_decimals(all),
           100.0 * (double)missing / (double)all);
    for (size_t k = 0; k < hl_spread_reasons(spread); k++) {
        size_t count;
        hl_outcome outcome;
        const char *reason = hl_spread_reason(spread, k, &count, &outcome);
        char lead[60];
        snprintf(lead, sizeof lead, "%7zu  %s, as: ", count,
                 outcome == HL_RAN_AWAY ? "run-away" : "not feasible");
        wrapped_print(stdout, lead, 9, reason);
    }
    char text[300];
    snprintf(text, sizeof text,
             "of temperatures, and of shares of their limits, over all %zu points, those without a solution "
             "counted as hotter than any (%s: it lies among them); of all else over the %zu that solve",
             all, beyond_word(spread), solved);
    wrapped_print(stdout, "  percentiles below: ", 4, text);
}

/* The name of what separates most, or NULL. */
static const char *first_to_measure(const hl_spread *spread)
{
    const hl_separator *first = hl_spread_separator(spread, 0);
    return first ? hl_spread_unknown(spread, first->unknown)->name : NULL;
}

static void print_separators(const hl_spread *spread)
{
    enum { SHOWN = 8 };
    size_t all = hl_spread_samples(spread), n = hl_spread_separators(spread);
    if (hl_spread_solved(spread) == all || !hl_spread_unknowns(spread)) return;
    puts("\nwhat separates points without a solution from the others");
    if (!n) {
        puts("  no single value stands out of the noise; take more samples");
        return;
    }
    printf("  %-38s %9s %9s %17s\n", "", "area", "they lie", "in middle");
    for (size_t k = 0; k < n && k < SHOWN; k++) {
        const hl_separator *s = hl_spread_separator(spread, k);
        const char *name = hl_spread_unknown(spread, s->unknown)->name;
        char middle[40];
        snprintf(middle, sizeof middle, "%zu of %zu", s->middle_unsolved, s->middle);
        if (strlen(name) > 38) {
            wrapped_print(stdout, "  ", 4, name);
            name = "";
        }
        printf("  %-38s %7.0f %% %9s %17s\n", name, 100 * s->area, s->area > 0.5 ? "high" : "low", middle);
    }
    wrapped_print(stdout, "  area: ", 4,
                  "how often a point without a solution has the higher value of the two, each picked by "
                  "chance; 50 % tells nothing");
    wrapped_print(stdout, "  in middle: ", 4,
                  "of the points with this value in the middle fifth of its band so many have no solution");
    char text[300];
    snprintf(text, sizeof text, "%.200s first: it decides most on whether there is a solution",
             first_to_measure(spread));
    wrapped_print(stdout, "  measure ", 4, text);
}

enum { DRIVERS_SHOWN = 8 };

static const double noise_most = 0.2; /* a share that is open by more tells nothing */

/* `before`: what decides on whether there is a solution, to be measured before this; NULL: nothing does. */
static void print_next(const char *name, double percent, const char *before)
{
    char text[600];
    if (before && strcmp(before, name) != 0)
        snprintf(
            text, sizeof text,
            "%.200s first, as above, then %.200s: the band of points that solve narrows to about %.0f %% "
            "of its width",
            before, name, percent);
    else
        snprintf(text, sizeof text, "%.200s next: the band narrows to about %.0f %% of its width", name,
                 percent);
    wrapped_print(stdout, "  measure ", 4, text);
}

static void print_drivers(const choices *chosen, const hl_spread *spread, size_t about)
{
    const hl_figure *figure = hl_figures_get(hl_spread_figures(spread), chosen->about_index[about]);
    scale s = scale_of(figure);
    bool quantity = figure->kind == HL_FIGURE_QUANTITY;
    const char *unit = quantity ? figure->unit : figure->kind == HL_FIGURE_TEMPERATURE ? "K" : s.unit;
    size_t n, drivers = hl_spread_drivers(spread, about);
    const double *sorted = hl_spread_sorted(spread, chosen->about_index[about], &n);
    double factor = quantity ? 1 : s.factor;
    printf("\nwhat drives %s (standard deviation %.3g %s)\n",
           hl_figures_title(hl_spread_figures(spread), chosen->about_index[about]),
           factor * hl_deviation(n, sorted), unit);
    printf("  %-38s %9s %15s %13s\n",
           all_solve(spread) ? "of its variance:" : "of its variance, of those that solve:", "by itself",
           "with the others", "once known");
    size_t shown = 0;
    bool vague = false;
    for (size_t k = 0; k < drivers; k++) {
        const hl_driver *driver = hl_spread_driver(spread, about, k);
        const hl_unknown *unknown = hl_spread_unknown(spread, driver->unknown);
        if (unknown && shown++ >= DRIVERS_SHOWN) continue;
        char total[32] = "-";
        if (driver->noise <= noise_most)
            snprintf(total, sizeof total, "%.0f +-%.0f %%", 100 * driver->total, 100 * driver->noise);
        else
            vague |= !isnan(driver->total);
        const char *name = unknown ? unknown->name : "all others together";
        if (strlen(name) > 38) {
            wrapped_print(stdout, "  ", 4, name);
            name = "";
        }
        printf("  %-38s %7.1f %% %15s %9.3g %s\n", name, 100 * driver->first, total, factor * driver->left,
               unit);
    }
    if (drivers) puts("  once known: the standard deviation left when that value is known");
    if (vague) puts("  -: open by more than 20 % with so few base points; raise --totals");
    const hl_driver *first = hl_spread_driver(spread, about, 0);
    const hl_unknown *unknown = first ? hl_spread_unknown(spread, first->unknown) : NULL;
    double now = hl_deviation(n, sorted);
    if (unknown && now > 0)
        print_next(unknown->name, 100 * first->left / now, first_to_measure(spread));
    else
        printf("  nothing stands out of the noise; take more samples, or no value has a band\n");
}

static void print_text(const choices *chosen, const bound_design *bound, const hl_spread *spread)
{
    double solving, seconds = hl_spread_seconds(spread, &solving);
    size_t points = hl_spread_samples(spread), unknowns = hl_spread_unknowns(spread);
    printf("%s\n%zu point%s over %zu unknown%s, seed %llu\n", hl_design_name(bound->design), points,
           printed_plural(points), unknowns, printed_plural(unknowns),
           (unsigned long long)chosen->options.seed);
    print_unsolved(spread);
    print_whole(chosen, spread);
    print_kind(chosen, spread, HL_FIGURE_LOSS, "loss, W", "loss ", 0.001);
    print_kind(chosen, spread, HL_FIGURE_TEMPERATURE, "temperature, degC", "temperature ", -HUGE_VAL);
    print_kind(chosen, spread, HL_FIGURE_USED, "share of a limit used, %", "used ", 0.5);
    print_broken(spread);
    print_separators(spread);
    for (size_t a = 0; a < chosen->options.n_about; a++) print_drivers(chosen, spread, a);
    fflush(stdout); /* one file may take both: the time stands below the text, not in the midst of it */
    if (!chosen->session.quiet) fprintf(stderr, "%.2f s, %.2f s of it solving\n", seconds, solving);
}

/* -------------------------------------------------------------------- csv -- */

static void print_csv(const choices *chosen, const hl_spread *spread)
{
    const hl_figures *figures = hl_spread_figures(spread);
    printf("figure,unit,central,mean,deviation,above_limit");
    for (size_t k = 0; k < chosen->n_levels; k++) printf(",q%g", 100 * chosen->level[k]);
    printf(",points\n");
    for (size_t i = 0; i < hl_figures_count(figures); i++) {
        const hl_figure *figure = hl_figures_get(figures, i);
        double shift = strcmp(figure->unit, "degC") ? 0 : kelvin;
        size_t n;
        const double *sorted = hl_spread_sorted(spread, i, &n);
        csv_text(stdout, figure->name);
        printf(",%s,%.10g,%.10g,%.10g,", figure->unit, hl_spread_central(spread, i) - shift,
               hl_mean(n, sorted) - shift, hl_deviation(n, sorted));
        if (figure->kind == HL_FIGURE_USED) printf("%.10g", hl_share_above(n, sorted, 1));
        size_t of = n;
        for (size_t k = 0; k < chosen->n_levels; k++)
            printf(",%.10g", hl_spread_quantile(spread, i, chosen->level[k], &of) - shift);
        printf(",%zu\n", of);
    }
}

static bool print_json(const choices *chosen, const bound_design *bound, const hl_spread *spread)
{
    json_t *document =
        spread_document(bound->design, spread, &chosen->options, chosen->level, chosen->n_levels);
    return printed_json(document, 0);
}

static int work(choices *chosen, bound_design *bound)
{
    int code = find_about(chosen, bound);
    if (code != EXIT_GOOD) return code;
    hl_diagnostics *said = hl_diagnostics_create();
    hl_spread *spread = NULL;
    chosen->options.base = bound->settings;
    chosen->options.known = bound->known;
    chosen->options.progress = chosen->session.quiet ? NULL : tell;
    hl_status status = hl_spread_design(bound->design, &chosen->options, &spread, said);
    session_print(bound->notes, session_least(&chosen->session));
    session_print(said, session_least(&chosen->session));
    hl_diagnostics_destroy(said);
    if (status != HL_OK) return status == HL_NO_SOLUTION ? EXIT_NO_SOLUTION : EXIT_BAD_INPUT;
    bool good = true;
    if (chosen->json)
        good = print_json(chosen, bound, spread);
    else if (chosen->csv)
        print_csv(chosen, spread);
    else
        print_text(chosen, bound, spread);
    hl_spread_destroy(spread);
    return printed_whole(good) ? EXIT_GOOD : EXIT_BAD_INPUT;
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

extern const command command_spread;
const command command_spread = {"spread", "how sure the figures are, and what to measure next", help, run};
