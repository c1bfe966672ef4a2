#include "prove/words.h"

#include <stdarg.h>
#include <stdio.h>

#include "heatledger/catalogue.h"
#include "heatledger/quantity.h"

typedef struct line {
    char *text;
    size_t size, used;
    bool begun; /* of the present sentence */
} line;

static void add(line *l, const char *format, ...) __attribute__((format(printf, 2, 3)));
static void add(line *l, const char *format, ...)
{
    va_list arguments;
    if (l->used >= l->size) return;
    va_start(arguments, format);
    int n = vsnprintf(l->text + l->used, l->size - l->used, format, arguments);
    va_end(arguments);
    if (n > 0) l->used += (size_t)n;
}

static void head(line *l, const char *what)
{
    add(l, "%s%s: ", l->used ? "; " : "", what);
    l->begun = false;
}

static void comma(line *l)
{
    if (l->begun) add(l, ", ");
    l->begun = true;
}

static void figure(line *l, const char *name, const char *unit, double value)
{
    char number[64];
    comma(l);
    hl_quantity_print(value, unit, 6, number, sizeof number);
    add(l, "%s %s", name, number);
}

static void figure_unless_zero(line *l, const char *name, const char *unit, double value)
{
    if (value != 0.0) figure(l, name, unit, value);
}

static void series(line *l, const hl_parameter *p, const hl_curve *curve)
{
    char x[48], y[48];
    comma(l);
    add(l, "%s [", p->name);
    for (size_t i = 0; i < curve->n; i++) {
        hl_quantity_print(curve->y[i], p->dimension, 5, y, sizeof y);
        if (i) add(l, ", ");
        if (curve->x) {
            hl_quantity_print(curve->x[i], p->x_dimension ? p->x_dimension : "1", 5, x, sizeof x);
            add(l, "%s at %s", y, x);
        } else {
            add(l, "%s", y);
        }
    }
    add(l, "]%s", curve->cubic ? " cubic" : "");
}

static const char *choice_word(const hl_parameter *p, double number)
{
    for (size_t i = 0; p->choices && p->choices[i]; i++)
        if (number == (double)i) return p->choices[i];
    return "(no such choice)";
}

static void value_words(line *l, const hl_parameter *p, const hl_value *v)
{
    if (!v->given) return;
    if (p->kind == HL_CHOICE) {
        comma(l);
        add(l, "%s %s", p->name, choice_word(p, v->number));
    } else if (p->kind == HL_CHOICES) {
        comma(l);
        add(l, "%s [", p->name);
        for (size_t i = 0; i < v->curve.n; i++) add(l, "%s%s", i ? ", " : "", choice_word(p, v->curve.y[i]));
        add(l, "]");
    } else if (p->kind != HL_NUMBER && v->curve.n) {
        series(l, p, &v->curve);
    } else {
        figure(l, p->name, p->dimension, v->number);
    }
}

static void values_words(line *l, const hl_model *model, const hl_value *values)
{
    head(l, "values");
    for (size_t i = 0; i < model->n_parameters; i++) value_words(l, hl_model_parameter(model, i), &values[i]);
    if (!l->begun) add(l, "none");
}

static void cycle_words(line *l, const hl_stress *s)
{
    const struct {
        const char *name, *unit;
        const double *array;
    } rows[] = {
        {"frequency", "Hz", s->frequency},
        {"current_average", "A", s->current_average},
        {"current_rms", "A", s->current_rms},
        {"current_peak", "A", s->current_peak},
        {"current_on", "A", s->current_on},
        {"current_off", "A", s->current_off},
        {"voltage_on", "V", s->voltage_on},
        {"voltage_off", "V", s->voltage_off},
        {"reverse_average", "A", s->reverse_average},
        {"reverse_rms", "A", s->reverse_rms},
        {"slope_off", "A/s", s->slope_off},
        {"charge_on", "V", s->charge_on},
        {"duty", "1", s->duty},
    };
    if (!s->n) return;
    add(l, "%s%zu cycle%s", l->begun ? ", " : "", s->n, s->n == 1 ? "" : "s, the first");
    l->begun = true;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].array) figure(l, rows[i].name, rows[i].unit, rows[i].array[0]);
}

static void wave_words(line *l, const char *name, const char *unit, const hl_wave *wave)
{
    double highest, lowest;
    hl_wave_peaks(wave, &highest, &lowest);
    char text[64];
    hl_quantity_print(highest, unit, 5, text, sizeof text);
    comma(l);
    add(l, "%s up to %s", name, text);
    hl_quantity_print(hl_wave_rms(wave), unit, 5, text, sizeof text);
    add(l, " (rms %s, %zu segments)", text, wave->n);
}

static void stress_words(line *l, const hl_stress *s)
{
    head(l, "stress");
    cycle_words(l, s);
    if (s->n && s->flux_voltage) wave_words(l, "flux voltage", "V", &s->flux_voltage[0]);
    for (size_t w = 0; s->n && w < s->windings && w < HL_WINDINGS_MAX; w++)
        if (s->winding_current[w]) {
            char name[32];
            snprintf(name, sizeof name, "winding %zu", w);
            wave_words(l, name, "A", &s->winding_current[w][0]);
        }
    figure_unless_zero(l, "flux_bias", "V s", s->flux_bias);
    if (s->lines) {
        comma(l);
        add(l, "%zu spectral lines, the first", s->lines);
        if (s->line_frequency) figure(l, "line_frequency", "Hz", s->line_frequency[0]);
        if (s->line_rms_squared) figure(l, "line_rms_squared", "A^2", s->line_rms_squared[0]);
    }
    figure_unless_zero(l, "voltage_dc", "V", s->voltage_dc);
    figure_unless_zero(l, "voltage_peak", "V", s->voltage_peak);
    figure_unless_zero(l, "total_rms", "A", s->total_rms);
    figure_unless_zero(l, "total_average", "A", s->total_average);
    figure_unless_zero(l, "total_peak", "A", s->total_peak);
    if (!l->begun) add(l, "none");
}

static void slot_words(line *l, const hl_slot *slot, const hl_slot_view *view)
{
    hl_terminal seen = {.struct_size = sizeof seen};
    if (!view->count || !view->device) return;
    view->device->present(view->state, view->temperature, 0.0, &seen);
    char what[96];
    snprintf(what, sizeof what, "%u x %s in '%s'", view->count, hl_family_name(view->device->family),
             slot->name);
    head(l, what);
    figure_unless_zero(l, "resistance", "ohm", seen.resistance);
    figure_unless_zero(l, "voltage", "V", seen.voltage);
    figure_unless_zero(l, "reverse_voltage", "V", seen.reverse_voltage);
    figure_unless_zero(l, "reverse_resistance", "ohm", seen.reverse_resistance);
    figure_unless_zero(l, "inductance", "H", seen.inductance);
    figure_unless_zero(l, "leakage", "H", seen.leakage);
    figure_unless_zero(l, "capacitance", "F", seen.capacitance);
    figure_unless_zero(l, "output_charge", "C", seen.output_charge);
    figure_unless_zero(l, "turns_ratio", "1", seen.turns_ratio);
    for (int w = 0; w < HL_WINDINGS_MAX; w++)
        figure_unless_zero(l, "winding resistance", "ohm", seen.winding_resistance[w]);
}

static void stage_words(line *l, const hl_model *model, const hl_stage_input *in)
{
    values_words(l, model, in->values);
    head(l, "input");
    figure(l, "voltage", "V", in->input_voltage);
    figure(l, "frequency", "Hz", in->input_frequency);
    figure(l, "bus capacitance", "F", in->input_capacitance);
    head(l, "output");
    figure(l, "wanted", "V", in->output_voltage);
    figure(l, "capacitance", "F", in->output_capacitance);
    figure(l, "esr", "ohm", in->output_esr);
    head(l, "load");
    figure(l, "voltage", "V", in->load.voltage);
    figure(l, "current", "A", in->load.current);
    figure(l, "power", "W", in->load.power);
    if (in->load.line.n) wave_words(l, "line current", "A", &in->load.line);
    head(l, "extra loss");
    figure(l, "booked", "W", in->extra_loss);
    for (size_t s = 0; s < model->stage->n_slots && s < HL_SLOTS_MAX; s++)
        slot_words(l, hl_stage_slot(model->stage, s), &in->slot[s]);
}

void words_of(const hl_model *model, const given *now, char *text, size_t size)
{
    line l = {text, size, 0, false};
    if (!size) return;
    text[0] = 0;
    if (now->values) values_words(&l, model, now->values);
    if (now->in) stage_words(&l, model, now->in);
    if (now->figures) head(&l, "at");
    if (now->figures & AT_TEMPERATURE) figure(&l, "temperature", "degC", now->temperature);
    if (now->figures & AT_VOLTAGE) figure(&l, "voltage", "V", now->voltage);
    if (now->figures & AT_FREQUENCY) figure(&l, "frequency", "Hz", now->frequency);
    if (now->stress) stress_words(&l, now->stress);
}
