/* check_design_figures.c - every figure of whole designs, at drawn settings, is the one of before.
 *
 * Points converge to 1e-11 of the power and 1e-9 K; what two builds differ by is less, since both go the same
 * way but for rounding.  So powers may move by 1e-9 of 2 % of the input, temperatures by 1e-9 of the greatest
 * rise, and quantities, which have no common size, by 1e-9 of themselves; what stands on a knife-edge is left
 * out when the record is made. */
#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/session.h"
#include "heatledger/limits.h"
#include "kept_figures.h"
#include "story.h"

enum { NAME_ROOM = 96, HEADROOM_ROOM = 24, HARMONICS = 15, DRAWN_MOST = 12 };

typedef struct design_case {
    const char *name, *script, *network;
    int points;  /* drawn */
    int by_name; /* of these, the first are told figure by figure */
} design_case;

#define EXAMPLE(name) HL_PROJECT_SOURCE "/examples/" name
#define OWN(name)     HL_TEST_SOURCE "/" name

static const design_case cases[] = {
    {"desk_charger", EXAMPLE("desk_charger/charger.lua"), NULL, 12, 1},
    {"marked_charger", EXAMPLE("desk_charger/marked.lua"), NULL, 4, 0},
    {"tool_charger", EXAMPLE("tool_charger/charger.lua"), NULL, 12, 1},
    {"wall_adapter", EXAMPLE("wall_adapter/adapter.lua"), NULL, 12, 1},
    {"small_adapter", EXAMPLE("small_adapter/adapter.lua"), NULL, 12, 1},
    {"dc_stages", OWN("solve/absurd/direct.lua"), NULL, 16, 1},
    {"totem_pole", OWN("solve/absurd/totem_pole.lua"), NULL, 16, 1},
    {"leaky_by_rule", OWN("field/leaky.lua"), "rule", 16, 1},
    {"standing_box", OWN("figures/boxed_standing.lua"), NULL, 10, 0},
    {"blanket_box", OWN("figures/boxed_under_a_blanket.lua"), NULL, 10, 0},
    {"potted_box_by_field", OWN("figures/boxed_potted.lua"), NULL, 10, 1},
    {"table_box_by_field", OWN("figures/boxed_on_a_table.lua"), NULL, 16, 1},
};
enum { CASES = sizeof cases / sizeof *cases };

typedef struct subject {
    const design_case *of;
    session opened;
    const hl_design *design;
    hl_workspace *work;
    double *settings;
    size_t n;
    bool by_name;
    double input, rise; /* scales of the point at hand: W, K */
} subject;

static void begin(subject *s, const design_case *of)
{
    const session_options options = {.script = of->script, .quiet = true, .network = of->network};
    *s = (subject){.of = of};
    setenv("HEATLEDGER_CACHE", "", 1); /* fields are made anew, not read from where another build left them */
    ck_assert_msg(session_open(&s->opened, &options), "%s cannot be opened", of->script);
    s->design = s->opened.bound->design;
    s->work = s->opened.bound->workspace;
    s->settings = s->opened.bound->settings;
    s->n = hl_design_settings(s->design);
}

/* ----------------------------------------------------------------- draws -- */

/* Three digits, so that the name of the line says all of it. */
static double rounded(double value)
{
    char text[40];
    snprintf(text, sizeof text, "%.3g", value);
    return strtod(text, NULL);
}

typedef struct draw {
    subject *subject;
    size_t n, index[DRAWN_MOST];
    double value[DRAWN_MOST];
    char name[400];
} draw;

static void set(draw *d, const char *name, double value)
{
    size_t at = hl_design_find_setting(d->subject->design, name, NULL), used = strlen(d->name);
    if (at >= d->subject->n || d->n == DRAWN_MOST) return;
    bool celsius = strcmp(name, "ambient.temperature") == 0;
    value = rounded(value);
    snprintf(d->name + used, sizeof d->name - used, ",%s=%g", hl_design_setting_name(d->subject->design, at),
             value);
    d->index[d->n] = at;
    d->value[d->n++] = celsius ? value + 273.15 : value;
}

/* Any figure of a part or stage, up to a fifth beside its own. */
static void set_any(draw *d, lottery *luck)
{
    const subject *s = d->subject;
    for (int tries = 0; tries < 40; tries++) {
        size_t at = lottery_below(luck, s->n);
        const hl_parameter *of = hl_design_setting(s->design, at);
        double now = s->settings[at], share = lottery_between(luck, 0.8, 1.2);
        bool whole = now == floor(now) && fabs(now) < 100; /* a count, as a rule */
        if (of->kind != HL_NUMBER || !isfinite(now) || now == 0 || whole ||
            strchr(hl_design_setting_name(s->design, at), '.') == NULL)
            continue;
        set(d, hl_design_setting_name(s->design, at), now * share);
        return;
    }
}

/* The first as described; then mains, load split, room, height, and two figures of parts. */
static draw drawn(subject *s, int number)
{
    draw d = {.subject = s};
    lottery luck = {.state = figure_seed(s->of->name, (size_t)number)};
    snprintf(d.name, sizeof d.name, "%s", s->of->name);
    if (number == 0) return d;
    double usual = s->settings[hl_design_find_setting(s->design, "mains.voltage", NULL)];
    bool mains = s->settings[hl_design_find_setting(s->design, "mains.frequency", NULL)] > 0;
    set(&d, "mains.voltage",
        mains ? lottery_between(&luck, 85, 270) : usual * lottery_between(&luck, 0.8, 1.3));
    if (mains && number % 3 == 0) set(&d, "mains.frequency", 60);
    set(&d, "load", number % 5 == 4 ? lottery_scale(&luck, 0.005, 0.1) : lottery_between(&luck, 0.2, 1.15));
    set(&d, "ambient.temperature", floor(lottery_between(&luck, -10, 45)));
    if (number % 2) set(&d, "ambient.altitude", lottery_between(&luck, 0, 4000));
    for (size_t p = 0; number % 3 == 1 && p < hl_design_ports(s->design); p++) {
        char name[NAME_ROOM];
        snprintf(name, sizeof name, "%s.current", hl_design_port_name(s->design, p));
        size_t at = hl_design_find_setting(s->design, name, NULL);
        if (at < s->n) set(&d, name, s->settings[at] * lottery_between(&luck, 0.1, 1.1));
    }
    set_any(&d, &luck);
    set_any(&d, &luck);
    return d;
}

/* --------------------------------------------------------------- figures -- */

static void put(figure_sheet *sheet, double value, double scale, const char *owner, const char *what)
{
    char name[64];
    snprintf(name, sizeof name, "%.34s.%.28s", owner, what);
    figure_sheet_put_of(sheet, name, value, scale);
}

static void say_whole(const subject *s, figure_sheet *sheet)
{
    const hl_power_figures *f = hl_result_power(s->work);
    int leader = -1;
    figure_sheet_put(sheet, "input", f->input);
    figure_sheet_put_of(sheet, "output", f->output, s->input);
    figure_sheet_put_of(sheet, "loss", f->loss, s->input);
    figure_sheet_put(sheet, "efficiency", f->efficiency);
    figure_sheet_put(sheet, "power_factor", f->power_factor);
    figure_sheet_put(sheet, "input_current", f->input_current);
    figure_sheet_put(sheet, "books_close",
                     fabs(f->power_imbalance) <= 1e-9 * f->input &&
                         fabs(f->heat_imbalance) <= 1e-9 * f->input);
    figure_sheet_put_of(sheet, "feedback_gain", hl_result_feedback_gain(s->work, &leader), 1e-3);
    figure_sheet_put(sheet, "leader", leader);
    figure_sheet_put_of(sheet, "case_hottest", hl_result_case_hottest(s->work), 0);
    for (size_t p = 0; p < hl_design_ports(s->design); p++) {
        figure_sheet_put(sheet, "port_voltages", hl_result_port_voltage(s->work, p));
        figure_sheet_put(sheet, "port_currents", hl_result_port_current(s->work, p));
    }
}

static double rise_of(const subject *s, double temperature)
{
    return temperature - hl_result_surroundings(s->work)->temperature;
}

static void say_nodes(const subject *s, figure_sheet *sheet)
{
    char name[NAME_ROOM];
    for (size_t i = 0; i < hl_design_nodes(s->design); i++) {
        hl_headroom limits[HEADROOM_ROOM];
        snprintf(name, sizeof name, "nodes%zu", i / 60);
        put(sheet, rise_of(s, hl_result_node_temperature(s->work, i)), s->rise, name, "rise");
        put(sheet, hl_result_node_heat(s->work, i), s->input, name, "heat");
        size_t n = hl_result_node_headroom(s->work, i, limits, HEADROOM_ROOM);
        for (size_t k = 0; k < n; k++) put(sheet, limits[k].used, 1e-3, name, "used");
    }
}

static void say_items(const subject *s, figure_sheet *sheet)
{
    for (size_t i = 0; i < hl_design_items(s->design); i++) {
        const hl_item *item = hl_result_item(s->work, i);
        const char *owner = s->by_name ? item->name : item->stage;
        hl_headroom limits[HEADROOM_ROOM];
        put(sheet, rise_of(s, hl_result_item_temperature(s->work, i)), s->rise, owner, "rise");
        put(sheet, hl_result_item_loss(s->work, i), s->input, owner, "part_loss");
        put(sheet, hl_result_item_flags(s->work, i), 0, owner, "flags");
        for (int m = 0; m < HL_MECHANISMS; m++) {
            double loss = hl_result_loss(s->work, i, (hl_mechanism)m);
            if (loss != 0)
                put(sheet, loss, s->input, s->by_name ? owner : "all", hl_mechanism_name((hl_mechanism)m));
        }
        size_t n = hl_result_headroom(s->work, i, limits, HEADROOM_ROOM);
        for (size_t k = 0; k < n; k++) {
            put(sheet, limits[k].limit.value, 0, owner, s->by_name ? limits[k].limit.name : "limit_values");
            put(sheet, limits[k].limit.rated, 0, owner, "ratings");
            put(sheet, limits[k].used, 1e-3, owner, "used");
        }
    }
}

static void say_stages(const subject *s, figure_sheet *sheet)
{
    for (size_t i = 0; i < hl_design_stages(s->design); i++) {
        const char *owner = hl_design_stage_name(s->design, i);
        put(sheet, hl_result_stage_input(s->work, i), s->input, owner, "input");
        put(sheet, hl_result_stage_output(s->work, i), s->input, owner, "output");
        put(sheet, hl_result_own(s->work, i, NULL), s->input, owner, "own_loss");
        for (size_t q = 0; q < hl_result_quantities(s->work, i); q++) {
            const hl_quantity *of = hl_result_quantity(s->work, i, q);
            put(sheet, of->value, 0, owner, s->by_name ? of->name : "quantities");
        }
    }
}

static void say_faces(const subject *s, figure_sheet *sheet)
{
    for (int f = 0; f < HL_FACES; f++) {
        hl_field_face face;
        if (!hl_result_face(s->work, (hl_face)f, &face)) return;
        figure_sheet_put_of(sheet, "face_means", rise_of(s, face.mean), s->rise);
        figure_sheet_put_of(sheet, "face_hottest", rise_of(s, face.hottest.temperature), s->rise);
        figure_sheet_put_of(sheet, "face_heat", face.heat, s->input);
        for (int axis = 0; axis < 3; axis++)
            figure_sheet_put_of(sheet, "hottest_places", face.hottest.place[axis], 0.01);
    }
    double *heat = calloc(7 * hl_design_items(s->design), sizeof *heat),
           *watts = heat + hl_design_items(s->design);
    ck_assert_ptr_nonnull(heat);
    ck_assert(hl_result_leaves_by(s->work, heat, watts));
    for (size_t i = 0; i < hl_design_items(s->design); i++) {
        figure_sheet_put_of(sheet, "leaves", heat[i], s->input);
        for (size_t f = 0; f < HL_FACES; f++)
            figure_sheet_put_of(sheet, "leaves_by", watts[6 * i + f], s->input);
    }
    free(heat);
    for (size_t p = 0; p < hl_result_patches(s->work) && p < 60; p++) {
        hl_field_patch patch;
        hl_result_patch(s->work, p, &patch);
        figure_sheet_put_of(sheet, "patch_means", rise_of(s, patch.mean), s->rise);
        figure_sheet_put_of(sheet, "patch_heat", patch.heat, s->input);
    }
}

/* Warnings name parts, links and stages: told by their length, as numbers in them are rounded. */
static void say_warnings(const subject *s, figure_sheet *sheet)
{
    hl_diagnostics *said = hl_diagnostics_create();
    size_t letters = 0;
    hl_result_warnings(s->work, said);
    for (size_t i = 0; i < hl_diagnostics_count(said); i++) letters += strlen(hl_diagnostics_text(said, i));
    figure_sheet_put(sheet, "warnings", (double)hl_diagnostics_count(said));
    figure_sheet_put(sheet, "letters_of_warnings", (double)letters);
    hl_diagnostics_destroy(said);
}

static void put_open(figure_sheet *sheet, const char *whose, const hl_reliance *open, const subject *s)
{
    put(sheet, open->loss, 1e-2 * s->input, whose, "open_loss");
    put(sheet, open->temperature, 1e-2 * s->rise, whose, "open_temperature");
    put(sheet, open->loss_share, 1e-2, whose, "loss_share");
    put(sheet, open->temperature_share, 1e-2, whose, "temperature_share");
}

/* What estimates leave open; of the mains current, its harmonics. */
static void say_more(const subject *s, figure_sheet *sheet)
{
    hl_reliance total, *items = calloc(hl_design_items(s->design) + 1, sizeof *items);
    double rms[HARMONICS];
    ck_assert_ptr_nonnull(items);
    ck_assert_int_eq(hl_result_mains_harmonics(s->work, HARMONICS, rms), HL_OK);
    for (int k = 0; k < HARMONICS; k++) figure_sheet_put_of(sheet, "mains_harmonics", rms[k], 0.1);
    say_warnings(s, sheet);
    ck_assert_int_eq(hl_result_reliance(s->work, items, &total), HL_OK);
    figure_sheet_put_of(sheet, "open_loss", total.loss, 1e-2 * s->input);
    figure_sheet_put_of(sheet, "open_temperature", total.temperature, 1e-2 * s->rise);
    figure_sheet_put_of(sheet, "loss_share", total.loss_share, 1e-2);
    figure_sheet_put_of(sheet, "temperature_share", total.temperature_share, 1e-2);
    for (size_t i = 0; i < hl_design_items(s->design); i++) put_open(sheet, "items", &items[i], s);
    free(items);
}

static double greatest_rise(const subject *s)
{
    double most = 1;
    for (size_t i = 0; i < hl_design_nodes(s->design); i++)
        most = fmax(most, rise_of(s, hl_result_node_temperature(s->work, i)));
    return most;
}

static void settle(const draw *d, figure_hair *hair, double settings[])
{
    const subject *s = d->subject;
    memcpy(settings, s->settings, s->n * sizeof *settings);
    for (size_t i = 0; i < d->n; i++) settings[d->index[i]] = d->value[i];
    for (size_t i = 0; i < s->n; i++) {
        bool whole = settings[i] == floor(settings[i]) && fabs(settings[i]) < 100;
        if (hl_design_setting(s->design, i)->kind == HL_NUMBER && isfinite(settings[i]) && !whole)
            settings[i] = figure_hair_beside(hair, settings[i]);
    }
}

static void say_point(subject *s, figure_sheet *sheet)
{
    s->input = 0.02 * hl_result_power(s->work)->input;
    s->rise = greatest_rise(s);
    say_whole(s, sheet);
    say_nodes(s, sheet);
    say_items(s, sheet);
    say_stages(s, sheet);
    say_faces(s, sheet);
    say_more(s, sheet);
}

/* Why there is no answer, by the length of the sentence and the numbers in it. */
static void say_reason(const subject *s, figure_sheet *sheet)
{
    const char *at = hl_result_reason(s->work);
    figure_sheet_put(sheet, "letters_of_reason", (double)strlen(at));
    while (*at) {
        char *end = NULL;
        if (isdigit((unsigned char)*at)) figure_sheet_put(sheet, "numbers_of_reason", strtod(at, &end));
        at = end ? end : at + 1;
    }
}

static void point(void *context, figure_hair *hair, figure_sheet *sheet)
{
    draw *d = context;
    subject *s = d->subject;
    double *settings = malloc(s->n * sizeof *settings);
    ck_assert_ptr_nonnull(settings);
    settle(d, hair, settings);
    hl_status status = hl_solve(s->work, settings);
    figure_sheet_put(sheet, "status", 1 + (double)status);
    figure_sheet_put(sheet, "outcome", 1 + (double)hl_result_outcome(s->work));
    if (status == HL_OK && hl_result_outcome(s->work) == HL_SOLVED)
        say_point(s, sheet);
    else
        say_reason(s, sheet);
    free(settings);
}

START_TEST(designs_keep_their_figures)
{
    subject s;
    char record[NAME_ROOM];
    begin(&s, &cases[_i]);
    snprintf(record, sizeof record, "design_%s", s.of->name);
    kept_figures *book = kept_figures_open(record, "solved points of one design");
    for (int k = 0; k < s.of->points; k++) {
        draw d = drawn(&s, k);
        s.by_name = k < s.of->by_name;
        kept_figures_line(book, d.name, point, &d);
    }
    kept_figures_close(book);
    session_close(&s.opened);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, designs_keep_their_figures, 0, CASES);
}

int main(void)
{
    return story_main("design figures", fill);
}
