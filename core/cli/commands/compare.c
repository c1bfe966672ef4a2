/* compare.c - `heatledger compare`: two adapters side by side, and which of their differences matter. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/command.h"
#include "cli/csv_text.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/wrapped.h"
#include "heatledger/spread.h"
#include "lua/json_tree.h"

static const char help[] =
    "usage: heatledger compare A.lua B.lua [--set NAME=VALUE]... [--json | --csv]\n"
    "\n"
    "Solve both adapters at the same settings: losses and temperatures side by side, the greatest\n"
    "differences first.  Where a stage or part stands in both with the same model, its values are\n"
    "swapped from A to B, one stage or part at a time: so much of the difference is its doing.\n"
    "\n"
    "  --csv             one row for each figure\n"
    "  --json            the whole in the schema heatledger.compare/1\n"
    "  --set NAME=VALUE  change a setting of both for this run\n" OPTION_HELP_SCRIPT
    "  --quiet           errors only: no warnings, no progress\n"
    "\n"
    "exit: 0 good, 1 bad input, 3 one of them has no solution\n";

static const double kelvin = 273.15;

enum { ROWS_SHOWN = 12 };

typedef struct choices {
    session_options session;
    option_list rest;
    bool json, csv;
} choices;

/* One adapter, solved. */
typedef struct side {
    session opened;
    hl_figures *figures;
    double *values;
} side;

/* A figure that both have, or one only: SIZE_MAX where it is missing. */
typedef struct row {
    const hl_figure *figure;
    double a, b;
} row;

/* What swapping one owner's values does to A. */
typedef struct swap {
    const char *owner; /* stage or stage.slot */
    size_t changed;    /* settings that differ */
    bool solved;
    double loss, case_hottest; /* W, K: change of A */
} swap;

typedef struct comparison {
    side a, b;
    row *rows;
    size_t n_rows;
    swap *swaps;
    size_t n_swaps;
    size_t loss, case_hottest; /* A's figures; case_hottest SIZE_MAX without a case */
} comparison;

static bool parse(int argc, char **argv, choices *chosen)
{
    const own_option own[] = {
        {"json", OWN_FLAG, &chosen->json},
        {"csv", OWN_FLAG, &chosen->csv},
        {NULL, OWN_REST, &chosen->rest},
        {NULL, OWN_FLAG, NULL},
    };
    memset(chosen, 0, sizeof *chosen);
    if (!options_read("compare", argc, argv, &chosen->session, own)) return false;
    if (chosen->rest.n == 1) return true;
    fputs("heatledger compare: name two scripts; `heatledger compare --help` tells more\n", stderr);
    return false;
}

/* ------------------------------------------------------------------ sides -- */

static int open_side(side *s, const session_options *options)
{
    if (!session_open(&s->opened, options)) return EXIT_BAD_INPUT;
    bound_design *bound = s->opened.bound;
    hl_status status = hl_solve(bound->workspace, bound->settings);
    if (status != HL_OK || hl_result_outcome(bound->workspace) != HL_SOLVED) {
        fprintf(stderr, "%s: no solution: %s\n", options->script, hl_result_reason(bound->workspace));
        return status == HL_OK ? EXIT_NO_SOLUTION : EXIT_BAD_INPUT;
    }
    s->figures = hl_figures_create(bound->design, bound->workspace);
    size_t n = s->figures ? hl_figures_count(s->figures) : 0;
    s->values = calloc(n + 1, sizeof *s->values);
    if (!s->figures || !s->values) return EXIT_BAD_INPUT;
    hl_figures_read(s->figures, bound->workspace, s->values);
    return EXIT_GOOD;
}

static void close_side(side *s)
{
    hl_figures_destroy(s->figures);
    free(s->values);
    session_close(&s->opened);
}

static bool is_compared(const hl_figure *figure)
{
    return figure->kind != HL_FIGURE_USED && figure->kind != HL_FIGURE_QUANTITY;
}

static bool find_rows(comparison *c)
{
    size_t n = hl_figures_count(c->a.figures), m = hl_figures_count(c->b.figures);
    c->rows = calloc(n + m + 1, sizeof *c->rows);
    if (!c->rows) return false;
    for (size_t i = 0; i < n; i++) {
        const hl_figure *figure = hl_figures_get(c->a.figures, i);
        if (!is_compared(figure)) continue;
        size_t other = hl_figures_find(c->b.figures, figure->name, NULL);
        c->rows[c->n_rows++] = (row){figure, c->a.values[i], other == SIZE_MAX ? NAN : c->b.values[other]};
    }
    for (size_t i = 0; i < m; i++) {
        const hl_figure *figure = hl_figures_get(c->b.figures, i);
        if (is_compared(figure) && hl_figures_find(c->a.figures, figure->name, NULL) == SIZE_MAX)
            c->rows[c->n_rows++] = (row){figure, NAN, c->b.values[i]};
    }
    return true;
}

/* A figure that one side lacks counts as zero watts there; a temperature that one side lacks is no
 * difference. */
static double difference(const row *r)
{
    if (r->figure->kind == HL_FIGURE_LOSS) return (isnan(r->b) ? 0 : r->b) - (isnan(r->a) ? 0 : r->a);
    return isnan(r->a) || isnan(r->b) ? 0 : r->b - r->a;
}

static int by_difference(const void *x, const void *y)
{
    const row *a = x, *b = y;
    double da = fabs(difference(a)), db = fabs(difference(b));
    if (a->figure->kind != b->figure->kind) return a->figure->kind < b->figure->kind ? -1 : 1;
    if (da != db) return da > db ? -1 : 1;
    return strcmp(a->figure->name, b->figure->name);
}

/* ------------------------------------------------------------------ swaps -- */

/* Whether the setting is "owner.something" without a further dot. */
static bool belongs(const char *setting, const char *owner)
{
    size_t length = strlen(owner);
    return !strncmp(setting, owner, length) && setting[length] == '.' && !strchr(setting + length + 1, '.');
}

/* Only settings that both state the same way: numbers, and choices of the same words (the same model). */
static size_t take_over(const comparison *c, const char *owner, double settings[])
{
    const bound_design *a = c->a.opened.bound, *b = c->b.opened.bound;
    size_t changed = 0;
    for (size_t i = 0; i < hl_design_settings(a->design); i++) {
        const char *name = hl_design_setting_name(a->design, i);
        if (!belongs(name, owner)) continue;
        size_t other = hl_design_find_setting(b->design, name, NULL);
        if (other == SIZE_MAX) continue;
        double value = b->settings[other];
        if (value == settings[i] || (isnan(value) && isnan(settings[i]))) continue;
        settings[i] = value;
        changed++;
    }
    return changed;
}

static const hl_item *item_named(const hl_design *design, const char *name)
{
    for (size_t i = 0; i < hl_design_items(design); i++)
        if (!strcmp(hl_design_item(design, i)->name, name)) return hl_design_item(design, i);
    return NULL;
}

static bool same_stage(const comparison *c, size_t stage)
{
    const hl_design *a = c->a.opened.bound->design, *b = c->b.opened.bound->design;
    for (size_t s = 0; s < hl_design_stages(b); s++)
        if (!strcmp(hl_design_stage_name(a, stage), hl_design_stage_name(b, s)))
            return !strcmp(hl_design_stage_model(a, stage)->name, hl_design_stage_model(b, s)->name);
    return false;
}

static void try_swap(comparison *c, const char *owner, double settings[])
{
    bound_design *a = c->a.opened.bound;
    swap *s = &c->swaps[c->n_swaps];
    memcpy(settings, a->settings, hl_design_settings(a->design) * sizeof *settings);
    *s = (swap){.owner = owner, .changed = take_over(c, owner, settings)};
    if (!s->changed) return;
    c->n_swaps++;
    s->solved = hl_solve(a->workspace, settings) == HL_OK && hl_result_outcome(a->workspace) == HL_SOLVED;
    if (!s->solved) return;
    double *values = calloc(hl_figures_count(c->a.figures) + 1, sizeof *values);
    if (values) {
        hl_figures_read(c->a.figures, a->workspace, values);
        s->loss = values[c->loss] - c->a.values[c->loss];
        if (c->case_hottest != SIZE_MAX)
            s->case_hottest = values[c->case_hottest] - c->a.values[c->case_hottest];
    } else {
        s->solved = false;
    }
    free(values);
}

static int by_effect(const void *x, const void *y)
{
    const swap *a = x, *b = y;
    if (a->solved != b->solved) return a->solved ? -1 : 1;
    if (fabs(a->loss) != fabs(b->loss)) return fabs(a->loss) > fabs(b->loss) ? -1 : 1;
    return strcmp(a->owner, b->owner);
}

static bool find_swaps(comparison *c)
{
    const hl_design *a = c->a.opened.bound->design, *b = c->b.opened.bound->design;
    size_t stages = hl_design_stages(a), items = hl_design_items(a);
    double *settings = calloc(hl_design_settings(a) + 1, sizeof *settings);
    c->swaps = calloc(stages + items + 1, sizeof *c->swaps);
    if (settings && c->swaps) {
        for (size_t s = 0; s < stages; s++)
            if (same_stage(c, s)) try_swap(c, hl_design_stage_name(a, s), settings);
        for (size_t i = 0; i < items; i++) {
            const hl_item *item = hl_design_item(a, i), *other = item_named(b, item->name);
            if (other && !strcmp(hl_part_model(item->part)->name, hl_part_model(other->part)->name))
                try_swap(c, item->name, settings);
        }
        if (c->n_swaps) qsort(c->swaps, c->n_swaps, sizeof *c->swaps, by_effect);
    }
    free(settings);
    return c->swaps != NULL;
}

/* ----------------------------------------------------------------- output -- */

static double shown(const hl_figure *figure, double value)
{
    if (figure->kind == HL_FIGURE_TEMPERATURE) return value - kelvin;
    return figure->kind == HL_FIGURE_EFFICIENCY ? 100 * value : value;
}

static void print_number(double value, int decimals)
{
    if (isnan(value))
        printf(" %11s", "-");
    else
        printf(" %11.*f", decimals, value);
}

/* What "case hottest" is on both sides. */
static const char *case_title(const comparison *c)
{
    const char *a = hl_design_case_hottest(c->a.opened.bound->design),
               *b = hl_design_case_hottest(c->b.opened.bound->design);
    if (!a || !b) return a ? a : b;
    return strcmp(a, b) ? "case: hot spot of one, mean of the other" : a;
}

static void print_kind(const comparison *c, hl_figure_kind kind, const char *title, int decimals, size_t most)
{
    size_t shown_rows = 0, left_out = 0;
    printf("\n%-42s %11s %11s %11s\n", title, "A", "B", "B - A");
    for (size_t i = 0; i < c->n_rows; i++) {
        const row *r = &c->rows[i];
        if (r->figure->kind != kind) continue;
        if (shown_rows++ >= most) {
            left_out++;
            continue;
        }
        const char *gap =
            kind == HL_FIGURE_EFFICIENCY || kind == HL_FIGURE_POWER ? NULL : strchr(r->figure->name, ' ');
        bool of_case = !strcmp(r->figure->name, "case hottest");
        wrapped_name(stdout, 0, 42, of_case ? case_title(c) : gap ? gap + 1 : r->figure->name);
        print_number(shown(r->figure, r->a), decimals);
        print_number(shown(r->figure, r->b), decimals);
        printf(" %+11.*f\n", decimals, kind == HL_FIGURE_EFFICIENCY ? 100 * difference(r) : difference(r));
    }
    if (left_out) printf("  %zu more that differ less\n", left_out);
}

static void print_swaps(const comparison *c)
{
    double whole = c->b.values[hl_figures_find(c->b.figures, "loss", NULL)] - c->a.values[c->loss], sum = 0;
    if (!c->n_swaps) {
        printf("\nno stage or part that both have differs in a value\n");
        return;
    }
    printf("\n%-42s %11s %11s %11s\n", "A with this from B", "values", "loss, W", "case, K");
    for (size_t i = 0; i < c->n_swaps; i++) {
        const swap *s = &c->swaps[i];
        sum += s->solved ? s->loss : 0;
        if (i >= ROWS_SHOWN) continue;
        wrapped_name(stdout, 0, 42, s->owner);
        printf(" %11zu", s->changed);
        if (s->solved)
            printf(" %+11.3f %+11.2f\n", s->loss, s->case_hottest);
        else
            printf(" %11s %11s\n", "no solution", "");
    }
    if (c->n_swaps > ROWS_SHOWN) printf("  %zu more that do less\n", c->n_swaps - ROWS_SHOWN);
    printf("%-42s %11s %+11.3f\n", "all of these, one at a time", "", sum);
    printf("%-42s %11s %+11.3f\n", "B - A", "", whole);
    printf("  what is missing between the two: places, case, tables, parts of other models,\n"
           "  and what differences do together\n");
}

static void print_text(const comparison *c)
{
    printf("A: %s\nB: %s\n", hl_design_name(c->a.opened.bound->design),
           hl_design_name(c->b.opened.bound->design));
    print_kind(c, HL_FIGURE_EFFICIENCY, "efficiency, %", 2, 1);
    print_kind(c, HL_FIGURE_POWER, "power, W", 3, 16);
    print_kind(c, HL_FIGURE_LOSS, "loss, W", 3, ROWS_SHOWN);
    print_kind(c, HL_FIGURE_TEMPERATURE, "temperature, degC", 1, ROWS_SHOWN);
    print_swaps(c);
}

static void print_csv(const comparison *c)
{
    printf("figure,unit,a,b,difference\n");
    for (size_t i = 0; i < c->n_rows; i++) {
        const row *r = &c->rows[i];
        double shift = r->figure->kind == HL_FIGURE_TEMPERATURE ? kelvin : 0;
        csv_text(stdout, r->figure->name);
        printf(",%s,%.10g,%.10g,%.10g\n", r->figure->unit, r->a - shift, r->b - shift, difference(r));
    }
}

static bool print_json(const comparison *c)
{
    json_t *rows = json_array(), *swaps = json_array();
    for (size_t i = 0; i < c->n_rows; i++) {
        const row *r = &c->rows[i];
        double shift = r->figure->kind == HL_FIGURE_TEMPERATURE ? kelvin : 0;
        rows =
            tree_append(rows, json_pack("{s:s, s:s, s:o, s:o, s:o}", "figure", r->figure->name, "unit",
                                        r->figure->unit, "a", tree_number(r->a - shift), "b",
                                        tree_number(r->b - shift), "difference", tree_number(difference(r))));
    }
    for (size_t i = 0; i < c->n_swaps; i++) {
        const swap *s = &c->swaps[i];
        swaps = tree_append(
            swaps,
            json_pack("{s:s, s:I, s:b, s:o, s:o}", "swapped", s->owner, "values", (json_int_t)s->changed,
                      "solved", s->solved, "loss_w", tree_number(s->solved ? s->loss : NAN), "case_hottest_k",
                      tree_number(s->solved && c->case_hottest != SIZE_MAX ? s->case_hottest : NAN)));
    }
    json_t *document = json_pack("{s:s, s:s, s:s, s:o, s:o}", "schema", "heatledger.compare/1", "a",
                                 hl_design_name(c->a.opened.bound->design), "b",
                                 hl_design_name(c->b.opened.bound->design), "figures", rows, "swaps", swaps);
    return printed_json(document, 0);
}

static int work(comparison *c, const choices *chosen)
{
    session_options second = chosen->session;
    second.script = chosen->rest.text[0];
    int code = open_side(&c->a, &chosen->session);
    if (code == EXIT_GOOD) code = open_side(&c->b, &second);
    if (code != EXIT_GOOD) return code;
    c->loss = hl_figures_find(c->a.figures, "loss", NULL);
    c->case_hottest = hl_figures_find(c->a.figures, "case hottest", NULL);
    if (!find_rows(c) || !find_swaps(c)) {
        fputs("memory ran out; close other programs\n", stderr);
        return EXIT_BAD_INPUT;
    }
    qsort(c->rows, c->n_rows, sizeof *c->rows, by_difference);
    bool good = true;
    if (chosen->json)
        good = print_json(c);
    else if (chosen->csv)
        print_csv(c);
    else
        print_text(c);
    return printed_whole(good) ? EXIT_GOOD : EXIT_BAD_INPUT;
}

static int run(int argc, char **argv)
{
    choices chosen;
    if (!parse(argc, argv, &chosen)) return EXIT_BAD_INPUT;
    comparison c;
    memset(&c, 0, sizeof c);
    int code = work(&c, &chosen);
    free(c.rows);
    free(c.swaps);
    close_side(&c.a);
    close_side(&c.b);
    return code;
}

extern const command command_compare;
const command command_compare = {"compare", "two adapters side by side: which differences matter", help, run};
