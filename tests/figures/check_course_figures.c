/* check_course_figures.c - warm-ups, borders of run-away, ways of the heat and lines of points that begin
 * from each other give the figures of before.
 *
 * Courses keep to the integrator's tolerance, and which steps it takes may turn on a hair: temperatures may
 * move by 1e-6 of the rise.  A border is found to 1e-4 of the way to it, and told so wide.  Points of a line
 * converge to 1e-11 of the power, whatever they begin from; how many passes they take is kept as well, for
 * nothing else tells that points begin well. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/session.h"
#include "heatledger/limits.h"
#include "kept_figures.h"
#include "leaky_buck.h"
#include "story.h"

enum { SETTINGS = 4000, ROWS_TOLD = 12, NODES_TOLD = 5, LIMITS = 24 };

static const double in_time = 1e3, on_the_way = 1e5; /* how much wider than what 1e-9 is of */
static const double one_or_two = 4e7;                /* 4 %: of some fifty passes */

/* --------------------------------------------------------------- courses -- */

static void say_course(figure_sheet *sheet, const hl_design *design, const hl_course *course, double ambient)
{
    const hl_course_figures *f = hl_course_summary(course);
    size_t rows = hl_course_rows(course), nodes = hl_course_nodes(course);
    double most = 1;
    for (size_t i = 0; i < nodes; i++) most = fmax(most, hl_course_peak_of(course, i).temperature - ambient);
    double rise = in_time * most, heat = in_time * fmax(fabs(f->put_in), 1);
    figure_sheet_put(sheet, "outcome", 1 + (double)hl_course_outcome(course));
    for (size_t k = 0; k < ROWS_TOLD && rows > 1; k++) {
        hl_course_row row = hl_course_at(course, k * (rows - 1) / (ROWS_TOLD - 1));
        figure_sheet_put_of(sheet, "times", row.time, 1);
        figure_sheet_put(sheet, "loads", row.load);
        figure_sheet_put_of(sheet, "losses", row.loss, in_time * row.loss);
        for (size_t i = 0; i < NODES_TOLD; i++)
            figure_sheet_put_of(sheet, "rises", row.temperature[i * (nodes - 1) / (NODES_TOLD - 1)] - ambient,
                                rise);
    }
    for (size_t i = 0; i < nodes && i < 60; i++) {
        hl_course_peak peak = hl_course_peak_of(course, i);
        figure_sheet_put_of(sheet, "peaks", peak.temperature - ambient, rise);
        if (isfinite(peak.reached))
            figure_sheet_put_of(sheet, "reached", peak.reached, in_time * (1 + peak.reached));
    }
    for (size_t i = 0; i < hl_design_items(design) && i < 60; i++)
        figure_sheet_put_of(sheet, "junction_peaks", hl_course_junction_peak(course, i) - ambient, rise);
    figure_sheet_put_of(sheet, "put_in", f->put_in, heat);
    figure_sheet_put_of(sheet, "handed_out", f->handed_out, heat);
    figure_sheet_put_of(sheet, "stored", f->stored, heat);
    figure_sheet_put(sheet, "leader", f->leader);
}

/* A leaking diode: how well it is cooled, what it holds, and the profile it goes through. */
typedef struct leaky_course {
    const char *name;
    double resistance, capacity; /* K/W, J/K */
    double celsius, load[2], end;
    bool straight;
    double pulse; /* s */
    bool from_steady;
} leaky_course;

static const leaky_course courses[] = {
    {"cold_start", 12, 2, 25, {1, 1}, NAN, false, 0, false},
    {"load_steps", 12, 2, 25, {0.3, 1.1}, NAN, false, 0, true},
    {"taper", 12, 0.5, 35, {1, 0.5}, 0.2, false, 0, false},
    {"straight_taper", 20, 0.5, 10, {0.4, 1}, 0.9, true, 0, true},
    {"pulses", 12, 2, 25, {1, 0.7}, NAN, false, 20e-3, false},
    {"run_away", 60, 2, 60, {1, 1}, NAN, false, 0, false},
};

static void leaky(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const leaky_course *c = context;
    drafted_adapter b;
    static double set[2][DRAFTED_SETTINGS_MAX];
    hl_profile_step steps[2];
    hl_course *course = NULL;
    leaky_buck_open(&b, c->resistance, c->capacity);
    for (int k = 0; k < 2; k++) {
        memcpy(set[k], b.settings, sizeof set[k]);
        set[k][drafted_setting(&b, "load")] = figure_hair_beside(hair, c->load[k]);
        set[k][drafted_setting(&b, "ambient.temperature")] =
            figure_hair_beside(hair, c->celsius + 273.15 - 5 * (double)k);
        steps[k] = (hl_profile_step){.duration = k ? 300 : 90,
                                     .settings = set[k],
                                     .load_end = k ? NAN : c->end,
                                     .straight = c->straight,
                                     .pulse_period = c->pulse,
                                     .pulse_duty = 0.25,
                                     .pulse_rest = 0.1};
    }
    hl_profile profile = {
        .n_steps = 2, .step = steps, .cycles = 2, .every = 7, .start = c->from_steady ? set[0] : NULL};
    drafted_must(&b, hl_warm_up(b.workspace, &profile, &course, b.said));
    say_course(sheet, b.design, course, c->celsius + 273.15);
    hl_course_destroy(course);
    drafted_end(&b);
}

START_TEST(courses_keep_their_figures)
{
    kept_figures *book = kept_figures_open("courses", "a leaking diode over time");
    for (size_t k = 0; k < sizeof courses / sizeof *courses; k++)
        kept_figures_line(book, courses[k].name, leaky, (void *)&courses[k]);
    kept_figures_close(book);
}
END_TEST

static void opened(session *s, const char *script)
{
    const session_options options = {.script = script, .quiet = true};
    setenv("HEATLEDGER_CACHE", "", 1); /* fields are made anew, not read from where another build left them */
    ck_assert_msg(session_open(s, &options), "%s cannot be opened", script);
}

/* A potted box whose heat field is solved: more load in a cooler room, and back; rows between the steps. */
static void in_a_field(void *context, figure_hair *hair, figure_sheet *sheet)
{
    session *s = context;
    bound_design *bound = s->bound;
    size_t n = hl_design_settings(bound->design), load = hl_design_find_setting(bound->design, "load", NULL);
    size_t ambient = hl_design_find_setting(bound->design, "ambient.temperature", NULL);
    double *set = malloc(2 * n * sizeof *set);
    hl_profile_step steps[2];
    hl_course *course = NULL;
    hl_diagnostics *said = hl_diagnostics_create();
    ck_assert(set && said);
    for (int k = 0; k < 2; k++) {
        memcpy(set + (size_t)k * n, bound->settings, n * sizeof *set);
        set[(size_t)k * n + load] = figure_hair_beside(hair, k ? 1.4 : 0.5);
        set[(size_t)k * n + ambient] = figure_hair_beside(hair, k ? 290 : 298);
        steps[k] = (hl_profile_step){.duration = 500, .settings = set + (size_t)k * n, .load_end = NAN};
    }
    hl_profile profile = {.n_steps = 2, .step = steps, .cycles = 2, .every = 7};
    ck_assert_int_eq(hl_warm_up(bound->workspace, &profile, &course, said), HL_OK);
    say_course(sheet, bound->design, course, 298);
    hl_course_destroy(course);
    hl_diagnostics_destroy(said);
    free(set);
}

START_TEST(courses_of_a_field_keep_their_figures)
{
    session s;
    opened(&s, HL_TEST_SOURCE "/figures/boxed_potted.lua");
    kept_figures *book = kept_figures_open("field_courses", "a potted box over time, by its heat field");
    kept_figures_line(book, "potted", in_a_field, &s);
    kept_figures_close(book);
    session_close(&s);
}
END_TEST

/* --------------------------------------------------------------- borders -- */

typedef struct border_case {
    const char *name, *setting;
    double resistance, celsius, load, most;
} border_case;

static const border_case borders[] = {
    {"ambient", "ambient.temperature", 30, -20, 1, 390},
    {"load", "load", 25, 25, 0.3, 2},
    {"supply", "mains.voltage", 30, 20, 1, 90},
    {"none", "load", 8, 0, 0.2, 1},
    {"before", "load", 60, 70, 1, 2},
};

static void border(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const border_case *c = context;
    drafted_adapter b;
    hl_critical found;
    leaky_buck_open(&b, c->resistance, 0);
    b.settings[drafted_setting(&b, "load")] = figure_hair_beside(hair, c->load);
    b.settings[drafted_setting(&b, "ambient.temperature")] = figure_hair_beside(hair, c->celsius + 273.15);
    size_t index = drafted_setting(&b, c->setting);
    double way = c->most - b.settings[index];
    drafted_must(&b, hl_critical_setting(b.workspace, b.settings, index, c->most, &found));
    figure_sheet_put(sheet, "border", 1 + (double)found.border);
    figure_sheet_put_of(sheet, "value", found.value, on_the_way * way);
    figure_sheet_put(sheet, "leader", found.leader);
    if (found.border == HL_BORDER_NONE) {
        figure_sheet_put(sheet, "gain", found.gain);
        figure_sheet_put(sheet, "leader_hottest", found.leader_hottest);
    }
    drafted_end(&b);
}

START_TEST(borders_keep_their_figures)
{
    kept_figures *book = kept_figures_open("borders", "how far a setting may rise before a diode runs away");
    for (size_t k = 0; k < sizeof borders / sizeof *borders; k++)
        kept_figures_line(book, borders[k].name, border, (void *)&borders[k]);
    kept_figures_close(book);
}
END_TEST

/* ------------------------------------------------------------------ ways -- */

static void join(drafted_adapter *b, const char *one, const char *other, hl_law law, double first,
                 double second)
{
    const double p[4] = {first, second};
    drafted_must(b, hl_draft_link(b->draft, NULL, one, other, law, HL_VERTICAL, p, b->said));
}

/* A plate and a shield beside the diode, limits that no part states, a policy. */
static void more(drafted_adapter *b)
{
    const hl_insulation_class classes[] = {{"A", 378.15}, {"B", 403.15}};
    drafted_must(b, hl_draft_node(b->draft, NULL, "plate", 10, b->said));
    drafted_must(b, hl_draft_node(b->draft, NULL, "shield", 4, b->said));
    join(b, "buck.low_switch", "plate", HL_LAW_FIXED, 0.1, 0);
    join(b, "buck.high_switch", "plate", HL_LAW_FIXED, 0.02, 0);
    join(b, "plate", "shield", HL_LAW_RADIATION, 0.8, 0.01);
    join(b, "plate", "ambient", HL_LAW_NATURAL, 0.02, 0.1);
    join(b, "shield", "ambient", HL_LAW_FIXED, 0.06, 0);
    drafted_must(b, hl_draft_limit(b->draft, NULL, "plate", "touch", 340, b->said));
    drafted_must(b, hl_draft_insulation(b->draft, NULL, 2, classes, "A", b->said));
    drafted_must(b, hl_draft_derating(b->draft, NULL, "voltage", 0.8, 0, b->said));
    drafted_must(b, hl_draft_derating(b->draft, NULL, "temperature", 1, 20, b->said));
}

static void say_ways(figure_sheet *sheet, const drafted_adapter *b)
{
    hl_trace *trace = hl_trace_create(b->workspace);
    size_t n = hl_design_nodes(b->design);
    double input = 0.02 * hl_result_power(b->workspace)->input;
    ck_assert_ptr_nonnull(trace);
    for (size_t k = 0; k < hl_network_links(hl_design_network(b->design)); k++)
        figure_sheet_put_of(sheet, "flows", hl_trace_flow(trace, k), input);
    for (size_t s = 0; s < n; s++) {
        hl_heat_path path[6];
        size_t ways = hl_trace_paths(trace, (int)s, 1e-4, path, 6);
        figure_sheet_put(sheet, "ways", (double)ways);
        for (size_t k = 0; k < ways; k++) figure_sheet_put_of(sheet, "watts", path[k].watts, input);
        for (size_t i = 0; i < n; i++)
            figure_sheet_put_of(sheet, "exits", hl_trace_exit(trace, (int)s, (int)i), input);
    }
    hl_trace_destroy(trace);
}

static void ways(void *context, figure_hair *hair, figure_sheet *sheet)
{
    drafted_adapter b;
    hl_headroom limits[LIMITS];
    leaky_buck_open_with(&b, 20, 0, more);
    b.settings[drafted_setting(&b, "load")] = figure_hair_beside(hair, *(double *)context);
    b.settings[drafted_setting(&b, "ambient.temperature")] = figure_hair_beside(hair, 299);
    drafted_must(&b, hl_solve(b.workspace, b.settings));
    ck_assert_int_eq(hl_result_outcome(b.workspace), HL_SOLVED);
    say_ways(sheet, &b);
    for (size_t i = 0; i < hl_design_items(b.design); i++) {
        size_t n = hl_result_headroom(b.workspace, i, limits, LIMITS);
        for (size_t k = 0; k < n; k++) {
            figure_sheet_put(sheet, "rated", limits[k].limit.rated);
            figure_sheet_put_of(sheet, "used", limits[k].used, 1e-3);
        }
    }
    for (size_t i = 0; i < hl_design_nodes(b.design); i++) {
        figure_sheet_put(sheet, "node_limits", hl_design_node_limit(b.design, i));
        if (hl_result_node_headroom(b.workspace, i, limits, LIMITS))
            figure_sheet_put(sheet, "node_used", limits[0].used);
    }
    drafted_end(&b);
}

START_TEST(ways_of_the_heat_keep_their_figures)
{
    static double loads[] = {0.4, 1};
    kept_figures *book = kept_figures_open("ways", "ways of the heat and limits of nodes");
    kept_figures_line(book, "load=0.4", ways, &loads[0]);
    kept_figures_line(book, "load=1", ways, &loads[1]);
    kept_figures_close(book);
}
END_TEST

/* ----------------------------------------------------------------- lines -- */

typedef enum begun { ALONE, FROM_BEFORE, LEARNT, ONWARD, BLENDED, BEGINNINGS } begun;

typedef struct line_case {
    session opened;
    const hl_design *design;
    hl_workspace *work;
    double *own;
    begun from;
    double *settings;
    const char *setting;
    double low, high;
} line_case;

enum { POINTS = 14, PAST = 4 };

static bool begin_point(const line_case *c, hl_start *const past[PAST], hl_start *next, int k)
{
    const hl_start *kept[PAST] = {past[0], past[1], past[2], past[3]};
    const double beyond[2] = {2, -1};
    if (k == 0 || c->from == ALONE) return false;
    if (c->from == ONWARD) return hl_start_onward(next, kept, k < PAST ? (size_t)k : PAST);
    if (c->from == BLENDED && k > 1) return hl_start_blend(next, kept, beyond, 2);
    return true;
}

/* Along one setting, each point begun in the way asked for. */
static void follow(line_case *c, figure_hair *hair, figure_sheet *sheet, hl_start *past[PAST], hl_start *next)
{
    size_t at = hl_design_find_setting(c->design, c->setting, NULL);
    double passes = 0;
    for (int k = 0; k < POINTS; k++) {
        memcpy(c->settings, c->own, hl_design_settings(c->design) * sizeof *c->settings);
        c->settings[at] = figure_hair_beside(hair, c->high + (c->low - c->high) * k / (POINTS - 1));
        bool begins = begin_point(c, past, next, k);
        const hl_start *from = c->from == ONWARD || (c->from == BLENDED && k > 1) ? next : past[0];
        ck_assert_int_eq(hl_solve_from(c->work, c->settings, begins ? from : NULL), HL_OK);
        figure_sheet_put(sheet, "outcome", 1 + (double)hl_result_outcome(c->work));
        if (hl_result_outcome(c->work) != HL_SOLVED) continue;
        const hl_power_figures *f = hl_result_power(c->work);
        passes += f->passes;
        figure_sheet_put(sheet, "input", f->input);
        figure_sheet_put_of(sheet, "loss", f->loss, 0.02 * f->input);
        figure_sheet_put_of(sheet, "gain", hl_result_feedback_gain(c->work, NULL), 1e-2);
        if (c->from == LEARNT && k > 0) continue;
        hl_start *oldest = past[PAST - 1];
        memmove(past + 1, past, (PAST - 1) * sizeof *past);
        past[0] = oldest;
        ck_assert(hl_start_take(past[0], c->work));
        const double step = 1e-3 * (c->high - c->low);
        if (c->from == LEARNT) ck_assert(hl_start_learn(past[0], c->work, &at, &step, 1));
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

static const char *const scripts[] = {"desk_charger/charger", "wall_adapter/adapter", "tool_charger/charger"};
static const char *const script_names[] = {"desk_charger", "wall_adapter", "tool_charger"};
enum { SCRIPTS = sizeof scripts / sizeof *scripts };

START_TEST(lines_of_points_keep_their_figures)
{
    static const char *const names[BEGINNINGS] = {"alone", "from_before", "learnt", "onward", "blended"};
    static const struct {
        const char *setting;
        double low, high;
    } ways_to_go[] = {{"load", 0.55, 1}, {"mains.voltage", 190, 250}, {"ambient.temperature", 290, 318}};
    char script[512], group[64];
    line_case c;
    snprintf(script, sizeof script, "%s/examples/%s.lua", HL_PROJECT_SOURCE, scripts[_i]);
    opened(&c.opened, script);
    c.design = c.opened.bound->design;
    c.work = c.opened.bound->workspace;
    c.own = c.opened.bound->settings;
    c.settings = calloc(hl_design_settings(c.design), sizeof *c.settings);
    ck_assert_ptr_nonnull(c.settings);
    snprintf(group, sizeof group, "lines_%s", script_names[_i]);
    kept_figures *book = kept_figures_open(group, "lines of points, and the passes that they take");
    for (int from = 0; from < BEGINNINGS; from++)
        for (size_t w = 0; w < sizeof ways_to_go / sizeof *ways_to_go; w++) {
            c.from = (begun)from;
            c.setting = ways_to_go[w].setting, c.low = ways_to_go[w].low, c.high = ways_to_go[w].high;
            snprintf(group, sizeof group, "%s,%s", c.setting, names[from]);
            kept_figures_line(book, group, line, &c);
        }
    kept_figures_close(book);
    free(c.settings);
    session_close(&c.opened);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, courses_keep_their_figures);
    tcase_add_test(tests, courses_of_a_field_keep_their_figures);
    tcase_add_test(tests, borders_keep_their_figures);
    tcase_add_test(tests, ways_of_the_heat_keep_their_figures);
    tcase_add_loop_test(tests, lines_of_points_keep_their_figures, 0, SCRIPTS);
}

int main(void)
{
    return story_main("course figures", fill);
}
