#include "prove/load.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979324;

enum row {
    WEIGHT,
    FREQUENCY,
    CURRENT_AVERAGE,
    CURRENT_RMS,
    CURRENT_PEAK,
    CURRENT_ON,
    CURRENT_OFF,
    VOLTAGE_ON,
    VOLTAGE_OFF,
    REVERSE_AVERAGE,
    REVERSE_RMS,
    SLOPE_OFF,
    CHARGE_ON,
    DUTY,
    ROWS
};
_Static_assert(ROWS == (int)LOAD_ARRAYS, "a row for every array");

/* Scales a load is drawn in. */
typedef struct box {
    double amperes, volts, hertz, rate; /* A, V, Hz, A/s */
} box;

static box draw_box(chance *luck, hl_family family, load_kind kind)
{
    bool mains = chance_of(luck, 0.2);
    box b = {chance_scale(luck, 0.01, 60.0), chance_scale(luck, 0.3, 800.0),
             mains ? chance_between(luck, 45.0, 65.0) : chance_scale(luck, 1e3, 3e6),
             chance_scale(luck, 1e5, 1e10)};
    if (family == HL_FAMILY_MAGNETIC) b.volts = chance_scale(luck, 0.1, 1e-2 * fmin(b.hertz, 4e4) + 5.0);
    if (kind == LOAD_CURRENTS) b.volts = 0.0;
    if (kind == LOAD_VOLTAGES) b.amperes = b.rate = 0.0;
    return b;
}

static void draw_cycle(load *l, chance *luck, const box *b, size_t k)
{
    double rms = b->amperes * chance_between(luck, 0.1, 1.0), peak = rms * chance_between(luck, 1.0, 3.0);
    double back = b->amperes * chance_between(luck, 0.0, 0.5);
    l->array[FREQUENCY][k] = b->hertz * chance_between(luck, 0.5, 1.5);
    l->array[CURRENT_RMS][k] = rms;
    l->array[CURRENT_AVERAGE][k] = rms * chance_between(luck, 0.2, 1.0);
    l->array[CURRENT_PEAK][k] = peak;
    l->array[CURRENT_ON][k] = peak * chance_between(luck, -1.0, 1.0);
    l->array[CURRENT_OFF][k] = peak * chance_between(luck, -0.5, 1.0);
    l->array[VOLTAGE_ON][k] = b->volts * chance_between(luck, 0.0, 1.0);
    l->array[VOLTAGE_OFF][k] = b->volts * chance_between(luck, 0.3, 1.0);
    l->array[REVERSE_RMS][k] = back;
    l->array[REVERSE_AVERAGE][k] = back * chance_between(luck, 0.0, 1.0);
    l->array[SLOPE_OFF][k] = chance_of(luck, 0.5) ? 0.0 : b->rate * chance_between(luck, 0.5, 1.5);
    l->array[CHARGE_ON][k] = b->volts * chance_between(luck, 0.0, 1.0);
    l->array[DUTY][k] = chance_between(luck, 0.0, 1.0);
}

static hl_segment *take(load *l, size_t n, hl_wave *wave)
{
    hl_segment *s = l->segment + l->segments;
    l->segments += n;
    memset(s, 0, n * sizeof *s);
    *wave = (hl_wave){n, s};
    return s;
}

/* Volt-seconds balance: a rectangle of two levels, one with rests between, or a sine. */
static void draw_flux(load *l, chance *luck, double volts, double period, hl_wave *wave)
{
    double duty = chance_between(luck, 0.1, 0.9);
    size_t shape = chance_below(luck, 3);
    if (shape == 0) {
        hl_segment *s = take(l, 2, wave);
        s[0].duration = duty * period, s[0].offset = volts;
        s[1].duration = (1.0 - duty) * period, s[1].offset = -volts * duty / (1.0 - duty);
    } else if (shape == 1) {
        hl_segment *s = take(l, 4, wave);
        for (int i = 0; i < 4; i++) s[i].duration = (i % 2 ? 1.0 - duty : duty) * 0.5 * period;
        s[0].offset = volts, s[2].offset = -volts;
    } else {
        hl_segment *s = take(l, 1, wave);
        s->duration = period, s->omega = 2.0 * pi / period, s->sine = volts;
    }
}

/* Up and down in straight lines about a mean, a pulse, or a sine. */
static void draw_current(load *l, chance *luck, double amperes, double period, hl_wave *wave)
{
    double duty = chance_between(luck, 0.1, 0.9), ripple = amperes * chance_between(luck, 0.0, 1.0);
    double mean = amperes * chance_between(luck, -1.0, 1.0);
    size_t shape = chance_below(luck, 3);
    if (shape == 0) {
        hl_segment *s = take(l, 2, wave);
        s[0].duration = duty * period, s[0].offset = mean - 0.5 * ripple, s[0].slope = ripple / s[0].duration;
        s[1].duration = period - s[0].duration;
        s[1].offset = mean + 0.5 * ripple, s[1].slope = -ripple / s[1].duration;
    } else if (shape == 1) {
        hl_segment *s = take(l, 2, wave);
        s[0].duration = duty * period, s[0].offset = amperes, s[0].slope = -0.5 * amperes / s[0].duration;
        s[1].duration = period - s[0].duration;
    } else {
        hl_segment *s = take(l, 1, wave);
        s->duration = period, s->offset = mean, s->omega = 2.0 * pi / period;
        s->sine = ripple, s->cosine = amperes - ripple;
    }
}

static void point_to_arrays(load *l)
{
    hl_stress *s = &l->stress;
    s->weight = l->array[WEIGHT];
    s->frequency = l->array[FREQUENCY];
    s->current_average = l->array[CURRENT_AVERAGE];
    s->current_rms = l->array[CURRENT_RMS];
    s->current_peak = l->array[CURRENT_PEAK];
    s->current_on = l->array[CURRENT_ON];
    s->current_off = l->array[CURRENT_OFF];
    s->voltage_on = l->array[VOLTAGE_ON];
    s->voltage_off = l->array[VOLTAGE_OFF];
    s->reverse_average = l->array[REVERSE_AVERAGE];
    s->reverse_rms = l->array[REVERSE_RMS];
    s->slope_off = l->array[SLOPE_OFF];
    s->charge_on = l->array[CHARGE_ON];
    s->duty = l->array[DUTY];
}

/* The optional arrays in the order of the rows from CURRENT_AVERAGE on. */
static void for_optional(load *l, const double **entries[LOAD_ARRAYS])
{
    hl_stress *s = &l->stress;
    const double **list[] = {
        &s->frequency,   &s->current_average, &s->current_rms, &s->current_peak,    &s->current_on,
        &s->current_off, &s->voltage_on,      &s->voltage_off, &s->reverse_average, &s->reverse_rms,
        &s->slope_off,   &s->charge_on,       &s->duty};
    _Static_assert(sizeof list / sizeof *list == LOAD_ARRAYS - 1, "all but the weights");
    memcpy(entries, list, sizeof list);
}

static void thin_out(load *l, chance *luck)
{
    const double **entries[LOAD_ARRAYS];
    bool all = chance_of(luck, 0.15);
    for_optional(l, entries);
    for (size_t a = 0; a + 1 < LOAD_ARRAYS; a++) {
        if (all || chance_of(luck, 0.3))
            *entries[a] = NULL;
        else if (chance_of(luck, 0.2))
            memset(l->array[a + 1], 0, sizeof l->array[a + 1]);
    }
    if (chance_of(luck, 0.3)) l->stress.flux_voltage = NULL;
    for (size_t w = 0; w < HL_WINDINGS_MAX; w++)
        if (chance_of(luck, 0.3)) l->stress.winding_current[w] = NULL;
    if (chance_of(luck, 0.2))
        l->stress.lines = 0, l->stress.line_frequency = l->stress.line_rms_squared = NULL;
}

static void draw_waves(load *l, chance *luck, const box *b)
{
    hl_stress *s = &l->stress;
    s->windings = 1 + chance_below(luck, HL_WINDINGS_MAX);
    for (size_t k = 0; k < s->n; k++) {
        double period = 1.0 / l->array[FREQUENCY][k];
        draw_flux(l, luck, b->volts * chance_between(luck, 0.1, 1.0), period, &l->flux[k]);
        for (size_t w = 0; w < s->windings; w++)
            draw_current(l, luck, b->amperes * chance_between(luck, 0.0, 1.0), period, &l->winding[w][k]);
    }
    if (!s->n) return;
    s->flux_voltage = l->flux;
    for (size_t w = 0; w < s->windings; w++) s->winding_current[w] = l->winding[w];
    if (chance_of(luck, 0.5)) s->flux_bias = chance_between(luck, -1.0, 1.0) * b->volts / b->hertz;
}

static void draw_totals(load *l, chance *luck, const box *b)
{
    hl_stress *s = &l->stress;
    s->lines = 1 + chance_below(luck, LOAD_LINES);
    for (size_t i = 0; i < s->lines; i++) {
        double current = b->amperes * chance_between(luck, 0.0, 1.0);
        l->line_frequency[i] =
            chance_of(luck, 0.3) ? (double)(i + 1) * b->hertz : chance_scale(luck, 50.0, 5e6);
        l->line_rms_squared[i] = current * current / (double)s->lines;
    }
    s->line_frequency = l->line_frequency;
    s->line_rms_squared = l->line_rms_squared;
    s->voltage_dc = b->volts * chance_between(luck, -0.1, 1.0);
    s->voltage_peak = b->volts * chance_between(luck, 1.0, 1.4);
    s->total_rms = b->amperes * chance_between(luck, 0.0, 1.0);
    s->total_average = s->total_rms * chance_between(luck, 0.0, 1.0);
    s->total_peak = s->total_rms * chance_between(luck, 1.0, 4.0);
}

void load_nothing(load *l, size_t cycles)
{
    memset(l, 0, sizeof *l);
    l->stress.struct_size = sizeof l->stress;
    l->stress.n = cycles;
    for (size_t k = 0; k < cycles; k++) l->array[WEIGHT][k] = 1.0 / (double)cycles;
    if (!cycles) return;
    point_to_arrays(l);
    l->stress.flux_voltage = l->flux;
    l->stress.windings = HL_WINDINGS_MAX;
    for (size_t w = 0; w < HL_WINDINGS_MAX; w++) l->stress.winding_current[w] = l->winding[w];
}

void load_draw(load *l, chance *luck, hl_family family, size_t cycles, load_kind kind)
{
    box b = draw_box(luck, family, kind);
    double sum = 0.0;
    load_nothing(l, cycles);
    for (size_t k = 0; k < cycles; k++) sum += l->array[WEIGHT][k] = chance_between(luck, 0.2, 1.0);
    for (size_t k = 0; k < cycles; k++) {
        l->array[WEIGHT][k] /= sum;
        draw_cycle(l, luck, &b, k);
    }
    memset(l->stress.winding_current, 0, sizeof l->stress.winding_current);
    l->stress.windings = 0;
    l->stress.flux_voltage = NULL;
    if (family == HL_FAMILY_MAGNETIC) draw_waves(l, luck, &b);
    draw_totals(l, luck, &b);
    if (kind == LOAD_SPARSE) thin_out(l, luck);
}

/* Where a pointer into one load points in the other. */
static const void *moved(const void *pointer, load *to, const load *from)
{
    if (!pointer) return NULL;
    return (const char *)to + ((const char *)pointer - (const char *)from);
}

void load_copy(load *to, const load *from)
{
    const double **entries[LOAD_ARRAYS];
    *to = *from;
    hl_stress *s = &to->stress;
    for_optional(to, entries);
    for (size_t a = 0; a + 1 < LOAD_ARRAYS; a++) *entries[a] = moved(*entries[a], to, from);
    s->weight = moved(s->weight, to, from);
    s->line_frequency = moved(s->line_frequency, to, from);
    s->line_rms_squared = moved(s->line_rms_squared, to, from);
    s->flux_voltage = moved(s->flux_voltage, to, from);
    for (size_t w = 0; w < HL_WINDINGS_MAX; w++)
        s->winding_current[w] = moved(s->winding_current[w], to, from);
    for (size_t k = 0; k < LOAD_CYCLES; k++) {
        to->flux[k].segment = moved(to->flux[k].segment, to, from);
        for (size_t w = 0; w < HL_WINDINGS_MAX; w++)
            to->winding[w][k].segment = moved(to->winding[w][k].segment, to, from);
    }
}

static void scale_row(load *l, enum row row, double factor)
{
    for (size_t k = 0; k < LOAD_CYCLES; k++) l->array[row][k] *= factor;
}

/* The segments of a wave lie in the load's own memory, so writing to them is allowed. */
static void scale_wave(load *l, const hl_wave *wave, double factor)
{
    for (size_t i = 0; i < wave->n; i++) {
        hl_segment *s = l->segment + (wave->segment - l->segment) + i;
        s->offset *= factor;
        s->slope *= factor;
        s->cosine *= factor;
        s->sine *= factor;
    }
}

void load_scale_currents(load *l, double factor)
{
    static const enum row rows[] = {CURRENT_AVERAGE, CURRENT_RMS, CURRENT_PEAK,   CURRENT_ON,
                                    CURRENT_OFF,     REVERSE_RMS, REVERSE_AVERAGE};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) scale_row(l, rows[i], factor);
    for (size_t i = 0; i < LOAD_LINES; i++) l->line_rms_squared[i] *= factor * factor;
    for (size_t w = 0; w < HL_WINDINGS_MAX; w++)
        for (size_t k = 0; k < LOAD_CYCLES; k++) scale_wave(l, &l->winding[w][k], factor);
    l->stress.total_rms *= factor;
    l->stress.total_average *= factor;
    l->stress.total_peak *= factor;
}

void load_scale_frequency(load *l, double factor)
{
    scale_row(l, FREQUENCY, factor);
}

void load_scale_flux(load *l, double factor)
{
    for (size_t k = 0; k < LOAD_CYCLES; k++) scale_wave(l, &l->flux[k], factor);
}
