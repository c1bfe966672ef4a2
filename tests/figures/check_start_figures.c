/* check_start_figures.c - points begun in every way there is, along lines and here and there, give the
 * figures of before, begin as near to their ends as before, and take as many passes.
 *
 * Points converge to 1e-11 of the power, whatever they begin from: so of a start that has become worse, an
 * anchor that foretells wrongly or a derivative of a round that is off, no answer tells.  The work does: how
 * far the first round moved the point, which is how far off it was begun, how far the second one did, which
 * is what the derivative left, and the passes.  The first two are smooth figures of what anchors were solved
 * to, 1e-11, and so are kept to parts in a thousand; below what a round leaves open they are not looked at.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/session.h"
#include "kept_figures.h"
#include "lottery.h"
#include "solve/workspace.h"
#include "story.h"

static const double one_or_two = 4e7; /* 4 %: of some fifty passes */
static const double thousandth = 1e6, hundredth = 1e7;

typedef enum begun { ALONE, FROM_BEFORE, LEARNT, ONWARD, BLENDED, BEGINNINGS } begun;

enum { POINTS = 14, ASTRAY = 40, PAST = 4, KNOBS = 4, MOVED_MOST = 12 };

/* Settings that a line of points moves, each from `high` to `low`, or to anywhere between. */
typedef struct moved {
    size_t at;
    double low, high;
} moved;

typedef struct line_case {
    session opened;
    const hl_design *design;
    hl_workspace *work;
    double *own;
    begun from;
    double *settings;
    moved moved[MOVED_MOST];
    size_t n_moved;
    int points;
    bool astray; /* points lie anywhere, not on a line */
} line_case;

/* ----------------------------------------------------------------- work -- */

/* By how much a round moved the circuit, as a share of powers and voltages, and temperatures, K. */
typedef struct stride {
    double power, kelvin;
} stride;

static stride stride_of(const hl_workspace *work, const double step[])
{
    stride most = {0, 0};
    size_t circuit = 3 * work->design->n_stages;
    for (size_t i = 0; i < work->mix.n; i++) {
        if (i < circuit)
            most.power = fmax(most.power, fabs(work->mix.scale[i] * step[i]));
        else
            most.kelvin = fmax(most.kelvin, fabs(step[i]));
    }
    return most;
}

/* Of the first two rounds.  false: the rounds were begun anew in between, or were many.  Differences are kept
 * of what was asked for, x, and what came of it, g, as g and scale (g - x); the point was asked next for what
 * had come of the first round. */
static bool strides(const hl_workspace *work, stride *first, stride *second)
{
    const mixing *mix = &work->mix;
    unsigned kept = work->figures.passes - 1;
    double *step = calloc(mix->n + 1, sizeof *step);
    ck_assert_ptr_nonnull(step);
    bool known = kept <= mix->kept && work->network;
    *second = (stride){0, 0};
    if (known && kept == 0) {
        for (size_t i = 0; i < mix->n; i++) step[i] = work->made[i] - work->handed[i];
        *first = stride_of(work, step);
    } else if (known) {
        unsigned j = (mix->next + MIXING_DEPTH - kept) % MIXING_DEPTH;
        for (size_t i = 0; i < mix->n; i++) step[i] = mix->answer[j][i] - mix->miss[j][i] / mix->scale[i];
        *first = stride_of(work, step);
        *second = stride_of(work, mix->answer[j]);
    }
    free(step);
    return known;
}

static void put_work(figure_sheet *sheet, const char *what, double size, double least, double within)
{
    figure_sheet_put_of(sheet, what, fmax(size, least), within * fmax(size, least));
}

static void say_work(const hl_workspace *work, figure_sheet *sheet)
{
    stride first, second;
    if (!strides(work, &first, &second)) return;
    put_work(sheet, "begun_off_power", first.power, 1e-7, thousandth);
    put_work(sheet, "begun_off_kelvin", first.kelvin, 1e-4, thousandth);
    put_work(sheet, "left_power", second.power, 2e-8, hundredth);
    put_work(sheet, "left_kelvin", second.kelvin, 2e-5, hundredth);
}

/* ---------------------------------------------------------------- points -- */

static bool begin_point(const line_case *c, hl_start *const past[PAST], hl_start *next, int k)
{
    const hl_start *kept[PAST] = {past[0], past[1], past[2], past[3]};
    const double beyond[2] = {2, -1};
    if (k == 0 || c->from == ALONE) return false;
    if (c->from == ONWARD) return hl_start_onward(next, kept, k < PAST ? (size_t)k : PAST);
    if (c->from == BLENDED && k > 1) return hl_start_blend(next, kept, beyond, 2);
    return true;
}

static void place(const line_case *c, lottery *luck, figure_hair *hair, int k)
{
    memcpy(c->settings, c->own, hl_design_settings(c->design) * sizeof *c->settings);
    for (size_t i = 0; i < c->n_moved; i++) {
        const moved *m = &c->moved[i];
        double share = c->astray && k ? lottery_between(luck, 0, 1) : (double)k / (c->points - 1);
        c->settings[m->at] = figure_hair_beside(hair, m->high + (m->low - m->high) * share);
    }
}

static void keep_point(const line_case *c, hl_start *past[PAST])
{
    size_t at[KNOBS], n = c->n_moved < KNOBS ? c->n_moved : KNOBS;
    double step[KNOBS];
    hl_start *oldest = past[PAST - 1];
    memmove(past + 1, past, (PAST - 1) * sizeof *past);
    past[0] = oldest;
    ck_assert(hl_start_take(past[0], c->work));
    for (size_t i = 0; i < n; i++)
        at[i] = c->moved[i].at, step[i] = 1e-3 * (c->moved[i].high - c->moved[i].low);
    if (c->from == LEARNT) ck_assert(hl_start_learn(past[0], c->work, at, step, n));
}

/* All points, each begun in the way asked for. */
static void follow(line_case *c, figure_hair *hair, figure_sheet *sheet, hl_start *past[PAST], hl_start *next)
{
    lottery luck = {.state = figure_seed("astray", (size_t)c->from)};
    double passes = 0;
    int solved = 0;
    for (int k = 0; k < c->points; k++) {
        place(c, &luck, hair, k);
        bool begins = solved && begin_point(c, past, next, k);
        const hl_start *from = c->from == ONWARD || (c->from == BLENDED && k > 1) ? next : past[0];
        ck_assert_int_eq(hl_solve_from(c->work, c->settings, begins ? from : NULL), HL_OK);
        figure_sheet_put(sheet, "outcome", 1 + (double)hl_result_outcome(c->work));
        if (hl_result_outcome(c->work) != HL_SOLVED) continue;
        const hl_power_figures *f = hl_result_power(c->work);
        passes += f->passes;
        figure_sheet_put(sheet, "input", f->input);
        figure_sheet_put_of(sheet, "loss", f->loss, 0.02 * f->input);
        say_work(c->work, sheet); /* before the gain, and learning, write over it */
        figure_sheet_put_of(sheet, "gain", hl_result_feedback_gain(c->work, NULL), 1e-2);
        if (c->from != LEARNT || !solved) keep_point(c, past);
        solved++;
    }
    figure_sheet_put_of(sheet, "passes", passes, one_or_two * passes);
}

static void line(void *context, figure_hair *hair, figure_sheet *sheet)
{
    line_case *c = context;
    hl_start *past[PAST], *next = hl_start_create(c->design);
    for (int i = 0; i < PAST; i++) ck_assert_ptr_nonnull(past[i] = hl_start_create(c->design));
    ck_assert_ptr_nonnull(next);
    follow(c, hair, sheet, past, next);
    for (int i = 0; i < PAST; i++) hl_start_destroy(past[i]);
    hl_start_destroy(next);
}

/* ----------------------------------------------------------------- lines -- */

static const char *const scripts[] = {"desk_charger/charger", "wall_adapter/adapter", "tool_charger/charger",
                                      "small_adapter/adapter"};
static const char *const script_names[] = {"desk_charger", "wall_adapter", "tool_charger", "small_adapter"};
enum { SCRIPTS = sizeof scripts / sizeof *scripts };

static const char *const names[BEGINNINGS] = {"alone", "from_before", "learnt", "onward", "blended"};

static void open_case(line_case *c, int index)
{
    char script[512];
    snprintf(script, sizeof script, "%s/examples/%s.lua", HL_PROJECT_SOURCE, scripts[index]);
    const session_options options = {.script = script, .quiet = true};
    ck_assert_msg(session_open(&c->opened, &options), "%s cannot be opened", script);
    c->design = c->opened.bound->design;
    c->work = c->opened.bound->workspace;
    c->own = c->opened.bound->settings;
    c->settings = calloc(hl_design_settings(c->design), sizeof *c->settings);
    ck_assert_ptr_nonnull(c->settings);
}

static void move_one(line_case *c, const char *name, double high, double low)
{
    size_t at = hl_design_find_setting(c->design, name, NULL);
    ck_assert_msg(at < hl_design_settings(c->design), "there is no setting %s", name);
    if (c->n_moved < MOVED_MOST) c->moved[c->n_moved++] = (moved){at, low, high};
}

START_TEST(lines_of_points_keep_their_figures)
{
    static const struct {
        const char *setting;
        double low, high;
    } ways_to_go[] = {{"load", 0.55, 1}, {"mains.voltage", 190, 250}, {"ambient.temperature", 290, 318}};
    char group[64];
    line_case c = {.points = POINTS};
    open_case(&c, _i);
    snprintf(group, sizeof group, "lines_%s", script_names[_i]);
    kept_figures *book = kept_figures_open(group, "lines of points, and the passes that they take");
    for (int from = 0; from < BEGINNINGS; from++)
        for (size_t w = 0; w < sizeof ways_to_go / sizeof *ways_to_go; w++) {
            c.from = (begun)from;
            c.n_moved = 0;
            move_one(&c, ways_to_go[w].setting, ways_to_go[w].high, ways_to_go[w].low);
            snprintf(group, sizeof group, "%s,%s", ways_to_go[w].setting, names[from]);
            kept_figures_line(book, group, line, &c);
        }
    kept_figures_close(book);
    free(c.settings);
    session_close(&c.opened);
}
END_TEST

/* Regions where points lie anywhere: about the design as it stands, and out to where anchors end or have no
 * solution. */
static const struct region {
    const char *name;
    double voltage[2], load[2], ambient[2], split[2]; /* high, low; the last of the ports' currents */
} regions[] = {
    {"voltage_and_load", {255, 190}, {1, 0.3}, {298.15, 298.15}, {1, 1}},
    {"room", {230, 230}, {1, 1}, {323, 258}, {1, 1}},
    {"split", {230, 230}, {0.9, 0.4}, {298.15, 298.15}, {1.05, 0.2}},
    {"about", {260, 180}, {1.02, 0.15}, {318, 273}, {1.05, 0.3}},
    {"wide", {800, 60}, {1.9, 0.02}, {330, 250}, {1.2, 0.1}},
};

static void move_to(line_case *c, const struct region *r)
{
    c->n_moved = 0;
    move_one(c, "mains.voltage", r->voltage[0], r->voltage[1]);
    move_one(c, "load", r->load[0], r->load[1]);
    move_one(c, "ambient.temperature", r->ambient[0], r->ambient[1]);
    for (size_t p = 0; p < hl_design_ports(c->design); p++) {
        char name[96];
        snprintf(name, sizeof name, "%s.current", hl_design_port_name(c->design, p));
        double own = c->own[hl_design_find_setting(c->design, name, NULL)];
        move_one(c, name, own * r->split[0], own * r->split[1]);
    }
}

START_TEST(points_anywhere_keep_their_figures)
{
    static const begun ways[] = {ALONE, FROM_BEFORE, LEARNT};
    char group[64];
    line_case c = {.points = ASTRAY, .astray = true};
    open_case(&c, _i);
    snprintf(group, sizeof group, "starts_%s", script_names[_i]);
    kept_figures *book = kept_figures_open(group, "points here and there, how far off they begin");
    for (size_t w = 0; w < sizeof ways / sizeof *ways; w++)
        for (size_t r = 0; r < sizeof regions / sizeof *regions; r++) {
            c.from = ways[w];
            move_to(&c, &regions[r]);
            snprintf(group, sizeof group, "%s,%s", regions[r].name, names[c.from]);
            kept_figures_line(book, group, line, &c);
        }
    kept_figures_close(book);
    free(c.settings);
    session_close(&c.opened);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, lines_of_points_keep_their_figures, 0, SCRIPTS);
    tcase_add_loop_test(tests, points_anywhere_keep_their_figures, 0, SCRIPTS);
}

int main(void)
{
    return story_main("start figures", fill);
}
