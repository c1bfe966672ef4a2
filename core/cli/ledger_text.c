/* ledger_text.c - the ledger as a person reads it: stages, parts, mechanisms, headroom, books. */
#include "cli/ledger_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/wrapped.h"

static const double kelvin = 273.15;

/* Watts with the digits they deserve: three significant, at most a tenth of a milliwatt. */
static const char *watts(double value, char text[24])
{
    double size = fabs(value);
    int decimals = size >= 100 ? 1 : size >= 10 ? 2 : size >= 0.01 ? 3 : 4;
    snprintf(text, 24, "%.*f", decimals, value);
    return text;
}

double ledger_told_share(double used)
{
    return used > 1 ? fmax(used, 1.01) : used;
}

/* Of a temperature's allowance there is nothing to take a share of where the room alone is hotter. */
static const char *used_text(double used, const char *unit, char text[24])
{
    if (isfinite(used))
        snprintf(text, 24, "%.0f%s", 100 * ledger_told_share(used), unit);
    else
        snprintf(text, 24, "over");
    return text;
}

static void print_summary(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    const hl_power_figures *f = hl_result_power(workspace);
    char a[24], b[24], c[24];
    fprintf(to, "%s\n\n", hl_design_name(design));
    fprintf(to, "  input  %10s W", watts(f->input, a));
    fprintf(to, "     output %10s W     lost %8s W\n", watts(f->output, b), watts(f->loss, c));
    fprintf(to, "  efficiency %6.2f %%    power factor %6.3f     input current %.3f A\n\n",
            100 * f->efficiency, f->power_factor, f->input_current);
}

/* The first column of a table. */
static void print_name(FILE *to, size_t width, const char *name)
{
    fputs("  ", to);
    wrapped_name(to, 2, width, name);
}

static void print_ports(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    fprintf(to, "  %-22s %12s %12s %12s\n", "port", "V", "A", "W");
    for (size_t i = 0; i < hl_design_ports(design); i++) {
        double v = hl_result_port_voltage(workspace, i), amperes = hl_result_port_current(workspace, i);
        char power[24];
        print_name(to, 22, hl_design_port_name(design, i));
        fprintf(to, " %12.3f %12.3f %12s\n", v, amperes, watts(v * amperes, power));
    }
    fputc('\n', to);
}

/* Stages end at their output terminals: capacitors on the buses behind them are a row of their own. */
static void print_stages(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    const hl_power_figures *f = hl_result_power(workspace);
    double between = f->loss;
    char a[24], b[24], c[24];
    fprintf(to, "  %-22s %-25s %8s %8s %8s\n", "stage", "model", "in W", "out W", "lost W");
    for (size_t s = 0; s < hl_design_stages(design); s++) {
        double in = hl_result_stage_input(workspace, s), out = hl_result_stage_output(workspace, s);
        between -= in - out;
        print_name(to, 22, hl_design_stage_name(design, s));
        fprintf(to, " %-25s %8s %8s %8s\n", hl_design_stage_model(design, s)->name, watts(in, a),
                watts(out, b), watts(in - out, c));
    }
    if (between > 5e-5) fprintf(to, "  %-66s %8s\n", "capacitors on the buses", watts(between, c));
    fprintf(to, "  %-48s %8s %8s %8s\n\n", "all", watts(f->input, a), watts(f->output, b), watts(f->loss, c));
}

/* The worst-used limit of an item; false when it has none. */
static bool worst(const hl_workspace *workspace, size_t item, hl_headroom *found)
{
    hl_headroom all[2 * HL_LIMITS_MAX];
    size_t n = hl_result_headroom(workspace, item, all, 2 * HL_LIMITS_MAX);
    for (size_t k = 0; k < n; k++)
        if (k == 0 || all[k].used > found->used) *found = all[k];
    return n > 0;
}

static void print_mechanisms(FILE *to, const hl_workspace *workspace, size_t item)
{
    size_t column = 0;
    for (int m = 0; m < HL_MECHANISMS; m++) {
        double loss = hl_result_loss(workspace, item, (hl_mechanism)m);
        if (fabs(loss) < 5e-5) continue;
        char text[24], entry[160];
        size_t warmed = hl_result_heats(workspace, item, (hl_mechanism)m);
        int length =
            snprintf(entry, sizeof entry, "%s %s", hl_mechanism_name((hl_mechanism)m), watts(loss, text));
        if (warmed != item)
            length += snprintf(entry + length, sizeof entry - (size_t)length, " (warms %s)",
                               hl_result_item(workspace, warmed)->slot);
        if (column == 0 || column + (size_t)length + 2 > 76) {
            fprintf(to, "%s      ", column ? "\n" : "");
            column = 6;
        } else
            column += (size_t)fprintf(to, ", ");
        column += (size_t)fprintf(to, "%s", entry);
    }
    if (column) fputc('\n', to);
}

/* How much of a limit's name stands in the last column: whole words of it, all of it in the list of limits.
 */
static int words_within(const char *text, int room)
{
    int length = (int)strlen(text);
    if (length <= room) return length;
    length = room;
    while (length > 0 && text[length] != ' ') length--;
    return length > 0 ? length : room;
}

static void print_parts(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    enum { NAME_ROOM = 19 }; /* what a line of eighty columns leaves */
    fprintf(to, "  %-31s %3s %7s %7s %6s %s\n", "part (losses in W below it)", "n", "lost W", "degC",
            "used %", "of");
    for (size_t i = 0; i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        hl_headroom most;
        char loss[24], used[24] = "-";
        bool any = worst(workspace, i, &most);
        if (any) used_text(most.used, "", used);
        print_name(to, 31, item->name);
        const char *name = any ? most.limit.name : "";
        fprintf(to, " %3u %7s %7.1f %6s %.*s\n", item->count, watts(hl_result_item_loss(workspace, i), loss),
                hl_result_item_temperature(workspace, i) - kelvin, used, words_within(name, NAME_ROOM), name);
        print_mechanisms(to, workspace, i);
    }
    for (size_t s = 0; s < hl_design_stages(design); s++) {
        const char *name;
        double own = hl_result_own(workspace, s, &name);
        char loss[24], label[160];
        if (!(own != 0)) continue;
        snprintf(label, sizeof label, "%s (%s)", hl_design_stage_name(design, s), name);
        print_name(to, 31, label);
        fprintf(to, " %3s %7s\n", "", watts(own, loss));
    }
    fputc('\n', to);
}

static bool is_item_node(const hl_design *design, size_t node)
{
    for (size_t i = 0; i < hl_design_items(design); i++)
        if (hl_design_item(design, i)->node == (int)node) return true;
    return false;
}

/* Where on the face the node's spot is, in the outer coordinates of the box; nothing for other nodes. */
static void print_spot_place(FILE *to, const hl_workspace *workspace, const char *node)
{
    hl_field_face face;
    char name[24];
    for (int f = 0; f < HL_FACES && hl_result_face(workspace, (hl_face)f, &face); f++) {
        snprintf(name, sizeof name, "face %s spot", hl_face_name((hl_face)f));
        const double *at = face.hottest.place;
        if (!strcmp(name, node))
            fprintf(to, " at %.0f x %.0f x %.0f mm", fabs(1e3 * at[0]), fabs(1e3 * at[1]), fabs(1e3 * at[2]));
    }
}

/* Rules know a face's mean alone, and a limit of touch is judged by it. */
static void say_mean(FILE *to, const hl_design *design)
{
    const char *kind = hl_design_case_hottest(design);
    if (kind && !strcmp(kind, "hottest face, mean") && hl_design_box(design))
        wrapped_print(
            to, "  ", 2,
            "a face's figure is its mean, and its limit is judged by that; its hottest spot may be well "
            "above: --network field finds it");
}

static void print_nodes(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    size_t shown = 0;
    for (size_t i = 0; i < hl_design_nodes(design); i++) {
        if (is_item_node(design, i)) continue;
        if (shown++ == 0) fprintf(to, "  case, boards and air        degC\n");
        print_name(to, 26, hl_design_node_name(design, i));
        fprintf(to, " %6.1f", hl_result_node_temperature(workspace, i) - kelvin);
        print_spot_place(to, workspace, hl_design_node_name(design, i));
        fputc('\n', to);
    }
    if (!shown) return;
    say_mean(to, design);
    fputc('\n', to);
}

typedef struct rank {
    size_t holder;
    hl_headroom headroom;
} rank;

static int by_use(const void *a, const void *b)
{
    double x = ((const rank *)a)->headroom.used, y = ((const rank *)b)->headroom.used;
    if (x != y) return x < y ? 1 : -1;
    size_t i = ((const rank *)a)->holder, j = ((const rank *)b)->holder;
    return i < j ? -1 : i > j;
}

/* A limit's figure in its own unit: degrees and hours as people say them. */
static const char *limit_figure(double value, const char *unit, char text[32])
{
    if (!strcmp(unit, "degC"))
        snprintf(text, 32, "%.1f degC", value - kelvin);
    else if (!strcmp(unit, "h"))
        snprintf(text, 32, "%.0f h", value);
    else
        hl_quantity_print(value, unit, 3, text, 32);
    return text;
}

/* The limits of one holder that are worth a line: the worst used, and all that are broken. */
static size_t rank_limits(const hl_headroom all[], size_t n, size_t holder, rank ranks[])
{
    size_t most = 0, kept = 0;
    for (size_t k = 1; k < n; k++)
        if (all[k].used > all[most].used) most = k;
    for (size_t k = 0; k < n; k++)
        if (k == most || all[k].used > 1) ranks[kept++] = (rank){holder, all[k]};
    return kept;
}

static void print_headroom(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    size_t n = 0, holders = hl_design_holders(design);
    rank *ranks = calloc(holders * HL_HOLDER_LIMITS_MAX + 1, sizeof *ranks);
    if (!ranks) return;
    for (size_t i = 0; i < holders; i++) {
        hl_headroom all[HL_HOLDER_LIMITS_MAX];
        n += rank_limits(all, hl_result_holder_headroom(workspace, i, all, HL_HOLDER_LIMITS_MAX), i,
                         ranks + n);
    }
    qsort(ranks, n, sizeof *ranks, by_use);
    if (n)
        fprintf(to, "  %-29s %-18s %10s %10s %5s\n", "what gives way first", "limit", "value", "rated",
                "used");
    for (size_t k = 0; k < n && (k < 8 || ranks[k].headroom.used > 1); k++) {
        const hl_limit *limit = &ranks[k].headroom.limit;
        char value[32], rated[32], used[24];
        /* A long name of a limit takes the blanks before the value. */
        size_t length = strlen(limit->name);
        int width = length <= 18 ? 10 : length < 28 ? 28 - (int)length : 0;
        print_name(to, 29, hl_design_holder_name(design, ranks[k].holder));
        fprintf(to, " %-18s %*s %10s %5s%s\n", limit->name, width,
                limit_figure(limit->value, limit->unit, value),
                limit_figure(limit->rated, limit->unit, rated), used_text(ranks[k].headroom.used, " %", used),
                ranks[k].headroom.used > 1 ? " !" : "");
    }
    if (n) fputc('\n', to);
    free(ranks);
}

/* h: makers do not vouch for more than about 15 years.  docs/theory/capacitors.md */
static const double vouched_life = 130000;

/* Every part with a model of its life, which is the limit of its hours. */
static void print_lives(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    bool first = true, beyond = false;
    for (size_t i = 0; i < hl_design_items(design); i++) {
        hl_headroom all[2 * HL_LIMITS_MAX];
        size_t n = hl_result_headroom(workspace, i, all, 2 * HL_LIMITS_MAX);
        for (size_t k = 0; k < n; k++) {
            const hl_limit *limit = &all[k].limit;
            char life[32], needed[32];
            if (strcmp(limit->unit, "h") != 0) continue;
            if (first)
                fprintf(to, "  %-29s %18s %10s %10s\n", "capacitor life", "hot spot, degC", "life", "needed");
            first = false;
            beyond = beyond || limit->rated > vouched_life;
            print_name(to, 29, hl_design_item(design, i)->name);
            fprintf(to, " %18.1f %10s %10s\n", hl_result_item_temperature(workspace, i) - kelvin,
                    limit_figure(limit->rated, "h", life), limit_figure(limit->value, "h", needed));
        }
    }
    if (beyond) fputs("  makers vouch for no more than about 15 years, 130000 h, whatever is computed\n", to);
    if (!first) fputc('\n', to);
}

size_t ledger_broken(const hl_design *design, const hl_workspace *workspace)
{
    size_t broken = 0;
    for (size_t i = 0; i < hl_design_holders(design); i++) {
        hl_headroom all[HL_HOLDER_LIMITS_MAX];
        size_t n = hl_result_holder_headroom(workspace, i, all, HL_HOLDER_LIMITS_MAX);
        for (size_t k = 0; k < n; k++) broken += all[k].used > 1;
    }
    return broken;
}

/* One line on how much is not measured; the share is of what all bands leave open. */
static void print_reliance(FILE *to, const hl_design *design, hl_workspace *workspace)
{
    hl_reliance total, *items = calloc(hl_design_items(design) + 1, sizeof *items);
    char loss[24], warmth[80] = "", text[300];
    if (items && hl_result_reliance(workspace, items, &total) == HL_OK && total.loss_share > 0) {
        if (isfinite(total.temperature) && total.temperature >= 0.05) /* none without a case */
            snprintf(warmth, sizeof warmth, " and the parts' mean temperature by +-%.1f K",
                     total.temperature);
        snprintf(text, sizeof text,
                 "estimates make the loss uncertain by +-%s W%s (one standard deviation): %.0f %% of the "
                 "loss's variance from all bands; `heatledger spread` tells more",
                 watts(total.loss, loss), warmth, 100 * total.loss_share);
        wrapped_print(to, "  ", 2, text);
    }
    free(items);
}

void ledger_text(FILE *to, const hl_design *design, hl_workspace *workspace)
{
    const hl_power_figures *f = hl_result_power(workspace);
    print_summary(to, design, workspace);
    print_ports(to, design, workspace);
    print_stages(to, design, workspace);
    print_parts(to, design, workspace);
    print_nodes(to, design, workspace);
    print_headroom(to, design, workspace);
    print_lives(to, design, workspace);
    print_reliance(to, design, workspace);
    fprintf(to,
            "  books: power off by %.1e W, heat off by %.1e W\n"
            "  thermal feedback gain %.3f (what losses add to each kelvin; 1 runs away)\n",
            f->power_imbalance, f->heat_imbalance, hl_result_feedback_gain(workspace, NULL));
}
