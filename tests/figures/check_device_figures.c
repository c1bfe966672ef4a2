/* check_device_figures.c - what every shipped device model answers, over parts drawn from its table and over
 * the starter parts varied, is what it answered before.
 *
 * A line is one part: how many draws were refused before it; its loss by mechanism, slope and limits over
 * several stresses; what the circuit sees of it, and a capacitor's impedance, at several temperatures and
 * voltages. */
#include <math.h>
#include <string.h>

#include "figure_part.h"
#include "figure_winding.h"
#include "kept_figures.h"
#include "prove/load.h"
#include "story.h"

enum { STRESSES = 6, LINES = 10, PLACES = 3, PIECES = 6 };

/* What parts a line holds, and at which temperatures. */
typedef enum trial_kind { STARTER, DRAWN, WOUND, FAR } trial_kind;
static const struct {
    size_t parts;
    const char *word; /* in the line's name */
    double low, high; /* K; a search for temperatures may pass by anywhere */
} kinds[] = {
    {2, "", 233.0, 450.0}, {4, "", 233.0, 450.0}, {8, "wound.", 233.0, 450.0}, {8, "far.", 5.0, 2000.0}};

typedef struct trial {
    figure_part *part, *beside;
    trial_kind kind;
    const hl_part *like; /* of a starter */
    size_t first;        /* number, of others */
    const char *name;
} trial;

/* ------------------------------------------------------------------ stress -- */

static void beside_wave(figure_hair *hair, load *l, const hl_wave *wave)
{
    for (size_t i = 0; i < wave->n; i++) {
        hl_segment *s = l->segment + (wave->segment - l->segment) + i;
        double *const input[] = {&s->duration, &s->offset, &s->slope, &s->omega, &s->cosine, &s->sine};
        for (size_t k = 0; k < sizeof input / sizeof *input; k++)
            *input[k] = figure_hair_beside(hair, *input[k]);
    }
}

static void beside_row(figure_hair *hair, double *row, size_t n)
{
    for (size_t i = 0; i < n; i++) row[i] = figure_hair_beside(hair, row[i]);
}

static void beside_load(figure_hair *hair, load *l)
{
    hl_stress *s = &l->stress;
    double *const alone[] = {&s->voltage_dc, &s->voltage_peak,  &s->flux_bias,
                             &s->total_rms,  &s->total_average, &s->total_peak};
    for (size_t a = 1; a < LOAD_ARRAYS; a++) beside_row(hair, l->array[a], s->n);
    beside_row(hair, l->line_frequency, s->lines);
    beside_row(hair, l->line_rms_squared, s->lines);
    for (size_t i = 0; i < sizeof alone / sizeof *alone; i++) *alone[i] = figure_hair_beside(hair, *alone[i]);
    for (size_t k = 0; k < LOAD_CYCLES; k++) {
        beside_wave(hair, l, &l->flux[k]);
        for (size_t w = 0; w < HL_WINDINGS_MAX; w++) beside_wave(hair, l, &l->winding[w][k]);
    }
}

/* Levels, ramps and ringing in any order, so that a flux has loops within loops. */
static void draw_wild(chance *luck, load *l, double period, double size, hl_wave *wave)
{
    hl_segment *s = l->segment + l->segments;
    size_t n = 2 + chance_below(luck, PIECES - 1);
    double whole = 0.0, sum = 0.0;
    bool curved = chance_of(luck, 0.3);
    ck_assert_uint_le(l->segments + n, LOAD_SEGMENTS);
    l->segments += n;
    for (size_t i = 0; i < n; i++) {
        s[i] = (hl_segment){.duration = chance_between(luck, 0.1, 1.0)};
        s[i].offset = (i % 2 ? -size : size) * chance_between(luck, 0.0, 1.0);
        if (curved && chance_of(luck, 0.5)) s[i].slope = chance_between(luck, -size, size) / period;
        if (curved && chance_of(luck, 0.5)) s[i].omega = chance_between(luck, 1.0, 40.0) / period;
        if (s[i].omega > 0.0) s[i].sine = 0.3 * size, s[i].decay = chance_between(luck, 0.0, 9.0) / period;
        whole += s[i].duration;
    }
    for (size_t i = 0; i < n; i++) s[i].duration *= period / whole;
    for (size_t i = 0; i + 1 < n; i++) sum += s[i].offset * s[i].duration;
    if (!curved) s[n - 1].offset = -sum / s[n - 1].duration;
    *wave = (hl_wave){n, s};
}

static void make_wild(chance *luck, load *l)
{
    for (size_t k = 0; k < l->stress.n; k++) {
        double period = hl_wave_period(&l->flux[k]), highest, lowest;
        hl_wave_peaks(&l->flux[k], &highest, &lowest);
        draw_wild(luck, l, period, fmax(highest, -lowest), &l->flux[k]);
        for (size_t w = 0; w < l->stress.windings; w++) {
            double rms = hl_wave_rms(&l->winding[w][k]);
            draw_wild(luck, l, period, rms, &l->winding[w][k]);
        }
    }
}

/* ----------------------------------------------------------------- figures -- */

static void say_limits(const trial *t, const hl_stress *stress, double temperature, figure_sheet *sheet)
{
    hl_limit list[HL_LIMITS_MAX] = {0};
    size_t n = t->part->model->device->limits(t->beside->state, stress, temperature, list);
    for (size_t i = 0; i < n; i++) {
        char rated[64];
        snprintf(rated, sizeof rated, "rated_%s", list[i].name);
        figure_sheet_put(sheet, list[i].name, list[i].value);
        figure_sheet_put(sheet, rated, list[i].rated);
    }
}

static double draw_temperature(const trial *t, chance *luck)
{
    double low = kinds[t->kind].low, high = kinds[t->kind].high;
    return t->kind == FAR ? chance_scale(luck, low, high) : chance_between(luck, low, high);
}

/* Cycles in which some of what the one before had comes again: a model may keep what it worked out for that.
 */
static void repeat_some(chance *luck, load *l)
{
    for (size_t a = 1; a < LOAD_ARRAYS; a++)
        for (size_t k = 1; k < l->stress.n; k++)
            if (chance_of(luck, 0.5)) l->array[a][k] = l->array[a][k - 1];
}

static void say_losses(const trial *t, size_t number, figure_hair *hair, figure_sheet *sheet)
{
    static const load_kind kind[STRESSES] = {LOAD_FULL,   LOAD_FULL,     LOAD_FULL,
                                             LOAD_SPARSE, LOAD_CURRENTS, LOAD_VOLTAGES};
    static const size_t cycles[STRESSES] = {1, 3, 12, 4, 2, 2};
    static load l;
    const hl_device *device = t->part->model->device;
    chance luck = {figure_seed(t->name, number)};
    for (size_t k = 0; k < STRESSES; k++) {
        hl_loss loss = {.struct_size = sizeof loss};
        load_draw(&l, &luck, device->family, cycles[k], kind[k]);
        if (device->family == HL_FAMILY_MAGNETIC && (k == 1 || k == 3)) make_wild(&luck, &l);
        if (device->family != HL_FAMILY_MAGNETIC && k == 2) repeat_some(&luck, &l);
        beside_load(hair, &l);
        double temperature = figure_hair_beside(hair, draw_temperature(t, &luck));
        device->loss(t->beside->state, &l.stress, temperature, &loss);
        for (int m = 0; m < HL_MECHANISMS; m++)
            figure_sheet_put(sheet, hl_mechanism_name((hl_mechanism)m), loss.watts[m]);
        figure_sheet_put(sheet, "slope", loss.slope);
        figure_sheet_put(sheet, "flags", (double)loss.flags);
        say_limits(t, &l.stress, temperature, sheet);
    }
}

static void say_terminal(const hl_terminal *terminal, figure_sheet *sheet)
{
    static const char *const name[] = {
        "resistance",         "voltage",          "reverse_voltage", "reverse_resistance", "inductance",
        "leakage_inductance", "capacitance",      "output_charge",   "output_energy",      "turns_ratio",
        "winding_1",          "winding_2",        "winding_3",       "winding_4",          "winding_5",
        "winding_6",          "winding_7",        "winding_8",       "windings",           "rated_voltage",
        "rated_current",      "series_inductance"};
    enum { NAMES = sizeof name / sizeof *name };
    const double *figure = &terminal->resistance;
    _Static_assert(offsetof(hl_terminal, resistance) + NAMES * sizeof(double) ==
                       offsetof(hl_terminal, turn_on_table),
                   "a name for each figure");
    for (size_t i = 0; i < NAMES; i++) figure_sheet_put(sheet, name[i], figure[i]);
    if (terminal->turn_on_table > 0.0) figure_sheet_put(sheet, "turn_on_first", terminal->turn_on_first);
}

static void say_shown(const trial *t, size_t number, figure_hair *hair, figure_sheet *sheet)
{
    chance luck = {figure_seed(t->name, number + 1000)};
    const hl_device *device = t->part->model->device;
    for (size_t k = 0; k < PLACES; k++) {
        hl_terminal terminal = {.struct_size = sizeof terminal};
        double temperature = figure_hair_beside(hair, draw_temperature(t, &luck));
        double volts = figure_hair_beside(hair, k ? chance_scale(&luck, 1.0, 600.0) : 0.0);
        device->present(t->beside->state, temperature, volts, &terminal);
        say_terminal(&terminal, sheet);
        for (double f = 50.0; device->impedance && f < 1e8; f *= 37.0) {
            double real, imaginary;
            device->impedance(t->beside->state, temperature, volts, figure_hair_beside(hair, f), &real,
                              &imaginary);
            figure_sheet_put(sheet, "impedance_real", real);
            figure_sheet_put_of(sheet, "impedance_imaginary", imaginary, fabs(real));
        }
    }
}

static void say_part(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const trial *t = context;
    for (size_t i = 0; i < kinds[t->kind].parts; i++) {
        bool accepted = t->kind == STARTER ? figure_part_vary(t->part, t->like, i)
                        : t->kind == WOUND ? figure_winding_draw(t->part, t->first + i)
                                           : figure_part_draw(t->part, t->first + i);
        ck_assert_msg(accepted, "%s: none of %zu draws is accepted: %s", t->name, t->part->refused,
                      t->part->reason.text);
        figure_part_beside(t->beside, t->part, hair);
        figure_sheet_put(sheet, "refused", (double)t->part->refused);
        say_losses(t, i, hair, sheet);
        say_shown(t, i, hair, sheet);
    }
}

/* --------------------------------------------------------------- programs -- */

static void keep_line(kept_figures *kept, const hl_model *model, trial_kind kind, const hl_part *like,
                      size_t line)
{
    char name[128];
    size_t first = line * kinds[kind].parts, last = first + kinds[kind].parts - 1;
    trial t = {figure_part_create(model), figure_part_create(model), kind, like, first, name};
    if (like)
        snprintf(name, sizeof name, "%s.%s", model->name, hl_part_name(like));
    else
        snprintf(name, sizeof name, "%s.%s%zu-%zu", model->name, kinds[kind].word, first, last);
    kept_figures_line(kept, name, say_part, &t);
    figure_part_destroy(t.part);
    figure_part_destroy(t.beside);
}

static void keep_model(kept_figures *kept, const hl_model *model)
{
    for (size_t line = 0; line < LINES; line++) keep_line(kept, model, DRAWN, NULL, line);
    for (size_t line = 0; figure_winding_of(model) && line < LINES - 2; line++)
        keep_line(kept, model, WOUND, NULL, line);
    keep_line(kept, model, FAR, NULL, 0);
}

static void keep_starters(kept_figures *kept, const hl_host *host, const char *family, hl_diagnostics *said)
{
    char path[1024];
    hl_catalogue *catalogue = hl_catalogue_create(host);
    ck_assert_int_eq(
        hl_catalogue_read_rules_folder(catalogue, HL_PROJECT_SOURCE "/scripts/heatledger/estimates", said),
        HL_OK);
    snprintf(path, sizeof path, HL_PROJECT_SOURCE "/scripts/heatledger/catalogue/%s.yaml", family);
    ck_assert_int_eq(hl_catalogue_read_file(catalogue, path, said), HL_OK);
    for (size_t i = 0; i < hl_catalogue_parts(catalogue); i++)
        keep_line(kept, hl_part_model(hl_catalogue_part(catalogue, i)), STARTER,
                  hl_catalogue_part(catalogue, i), 0);
    hl_catalogue_destroy(catalogue);
}

static const struct {
    hl_family family;
    const char *files, *what;
} families[] = {
    {HL_FAMILY_SWITCH, "switches", "Every switch model over drawn parts, and over the starter parts varied."},
    {HL_FAMILY_DIODE, "diodes", "Every diode model over drawn parts, and over the starter parts varied."},
    {HL_FAMILY_CAPACITOR, "capacitors",
     "Every capacitor model over drawn parts, and over the starter parts varied."},
    {HL_FAMILY_MAGNETIC, "magnetics",
     "Every magnetic model over drawn parts, and over the starter parts varied."},
    {HL_FAMILY_RESISTOR, "resistors",
     "Every resistor model over drawn parts, and over the starter parts varied."}};

START_TEST(no_figure_of_a_family_moves_unasked)
{
    hl_diagnostics *said = hl_diagnostics_create();
    hl_host *host = hl_host_create();
    ck_assert_int_eq(hl_host_load_folder(host, HL_TEST_PLUGINS, said), HL_OK);
    kept_figures *kept = kept_figures_open(families[_i].files, families[_i].what);
    for (size_t i = 0; i < hl_host_models(host); i++) {
        const hl_model *model = hl_host_model(host, i);
        if (model->device && model->device->family == families[_i].family) keep_model(kept, model);
    }
    keep_starters(kept, host, families[_i].files, said);
    kept_figures_close(kept);
    hl_host_destroy(host);
    hl_diagnostics_destroy(said);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, no_figure_of_a_family_moves_unasked, 0, sizeof families / sizeof *families);
}

int main(void)
{
    return story_main("device figures", fill);
}
