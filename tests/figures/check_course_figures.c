/* check_course_figures.c - warm-ups, borders of run-away and ways of the heat give the figures of before.
 *
 * Courses keep to the integrator's tolerance, and which steps it takes may turn on a hair: temperatures may
 * move by 1e-6 of the rise.  A border is found to 1e-4 of the way to it, and told so wide. */
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

/* --------------------------------------------------------------- courses -- */

/* How much work it was, which may turn on a hair as well. */
static void put_work(figure_sheet *sheet, const char *name, double work)
{
    figure_sheet_put_of(sheet, name, work, 5e7 * work);
}

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
    figure_sheet_put(sheet, "rows", (double)rows);
    put_work(sheet, "solutions", f->solutions);
    put_work(sheet, "worst_jump", f->worst_jump);
}

/* A leaking diode: how well it is cooled, what it holds, and the profile it goes through. */
typedef struct leaky_course {
    const char *name;
    double resistance, capacity; /* K/W, J/K */
    double celsius, load[2], end;
    bool straight;
    double pulse; /* s */
    bool from_steady, usual_rows;
} leaky_course;

static const leaky_course courses[] = {
    {"cold_start", 12, 2, 25, {1, 1}, NAN, false, 0, false, false},
    {"load_steps", 12, 2, 25, {0.3, 1.1}, NAN, false, 0, true, false},
    {"taper", 12, 0.5, 35, {1, 0.5}, 0.2, false, 0, false, false},
    {"straight_taper", 20, 0.5, 10, {0.4, 1}, 0.9, true, 0, true, false},
    {"pulses", 12, 2, 25, {1, 0.7}, NAN, false, 20e-3, false, false},
    {"run_away", 60, 2, 60, {1, 1}, NAN, false, 0, false, false},
    {"usual_rows", 12, 2, 25, {0.8, 1}, NAN, false, 0, true, true},
    {"small_and_quick", 30, 0.05, 15, {0.5, 0.2}, 0.9, false, 0, false, false},
    {"long_pulses", 15, 0.3, 30, {1.1, 0.4}, NAN, false, 9, true, false},
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
    hl_profile profile = {.n_steps = 2, .step = steps, .cycles = 2, .start = c->from_steady ? set[0] : NULL};
    if (!c->usual_rows) profile.every = 7;
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

/* A box whose heat field is solved: more load in a cooler room, and back; rows between the steps. */
typedef struct field_course {
    const char *name, *script;
    double load[2], kelvin[2], end; /* `end`: the load that the first tapers to */
    bool from_steady;
    session *in;
} field_course;

static field_course field_courses[] = {
    {"potted", HL_TEST_SOURCE "/figures/boxed_potted.lua", {0.5, 1.4}, {298, 290}, NAN, false, NULL},
    {"with_a_lead", HL_TEST_SOURCE "/figures/boxed_on_a_table.lua", {1.2, 0.6}, {300, 307}, 1, true, NULL},
};

static void in_a_field(void *context, figure_hair *hair, figure_sheet *sheet)
{
    field_course *c = context;
    bound_design *bound = c->in->bound;
    size_t n = hl_design_settings(bound->design), load = hl_design_find_setting(bound->design, "load", NULL);
    size_t ambient = hl_design_find_setting(bound->design, "ambient.temperature", NULL);
    double *set = malloc(2 * n * sizeof *set);
    hl_profile_step steps[2];
    hl_course *course = NULL;
    hl_diagnostics *said = hl_diagnostics_create();
    ck_assert(set && said);
    for (int k = 0; k < 2; k++) {
        memcpy(set + (size_t)k * n, bound->settings, n * sizeof *set);
        set[(size_t)k * n + load] = figure_hair_beside(hair, c->load[k]);
        set[(size_t)k * n + ambient] = figure_hair_beside(hair, c->kelvin[k]);
        steps[k] = (hl_profile_step){
            .duration = 500, .settings = set + (size_t)k * n, .load_end = k ? NAN : c->end, .straight = true};
    }
    hl_profile profile = {.n_steps = 2, .step = steps, .cycles = c->from_steady ? 1 : 2, .every = 7};
    if (c->from_steady) profile.start = set;
    ck_assert_int_eq(hl_warm_up(bound->workspace, &profile, &course, said), HL_OK);
    say_course(sheet, bound->design, course, c->kelvin[0]);
    hl_course_destroy(course);
    hl_diagnostics_destroy(said);
    free(set);
}

START_TEST(courses_of_a_field_keep_their_figures)
{
    kept_figures *book = kept_figures_open("field_courses", "boxes over time, by their heat field");
    for (size_t k = 0; k < sizeof field_courses / sizeof *field_courses; k++) {
        session s;
        opened(&s, field_courses[k].script);
        field_courses[k].in = &s;
        kept_figures_line(book, field_courses[k].name, in_a_field, &field_courses[k]);
        session_close(&s);
    }
    kept_figures_close(book);
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
    const hl_insulation_class classes[] = {{"A", 378.15, 373.15}, {"B", 403.15, 393.15}};
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

static void fill(TCase *tests)
{
    tcase_add_test(tests, courses_keep_their_figures);
    tcase_add_test(tests, courses_of_a_field_keep_their_figures);
    tcase_add_test(tests, borders_keep_their_figures);
    tcase_add_test(tests, ways_of_the_heat_keep_their_figures);
}

int main(void)
{
    return story_main("course figures", fill);
}
