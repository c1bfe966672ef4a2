#include "prove/subject.h"

#include <string.h>

#include "plugin/table.h"

bool subject_create(trial *t, subject *s)
{
    memset(s, 0, sizeof *s);
    s->is_device = t->model->device != NULL;
    return s->is_device ? part_create(t, &s->part) : point_create(t, &s->point);
}

void subject_destroy(subject *s)
{
    if (s->is_device)
        part_destroy(&s->part);
    else
        point_destroy(&s->point);
}

bool subject_draw(trial *t, subject *s)
{
    trial_beat(t);
    if (!s->is_device) return point_draw(t, &s->point, POINT_SENSIBLE);
    size_t cycles = chance_of(&t->luck, 0.5) ? LOAD_CYCLES : 1;
    if (!part_draw(t, &s->part, (draw_mode)chance_below(&t->luck, 3))) return false;
    load_draw(&s->load, &t->luck, t->model->device->family, cycles, (load_kind)chance_below(&t->luck, 2));
    load_copy(&s->kept, &s->load);
    s->temperature = chance_between(&t->luck, 240.0, 460.0);
    s->voltage = chance_scale(&t->luck, 0.1, 800.0);
    s->frequency = chance_scale(&t->luck, 50.0, 1e7);
    return true;
}

/* Fowler, Noll and Vo's hash over the eight bytes of a number (constants from memory). */
static void mix(uint64_t *bits, double x)
{
    uint64_t word;
    memcpy(&word, &x, sizeof word);
    for (int i = 0; i < 8; i++, word >>= 8) *bits = (*bits ^ (word & 0xFF)) * 0x100000001B3u;
}

static void mix_row(uint64_t *bits, const double *row, size_t n)
{
    for (size_t i = 0; row && i < n; i++) mix(bits, row[i]);
}

enum { THREE = 3 }; /* frequencies at once: of no use to whom four would suit better */

static answer ask_part(trial *t, subject *s)
{
    answer a = {.bits = 0xCBF29CE484222325u, .name = "loss"};
    hl_loss loss;
    hl_terminal seen;
    hl_limit limits[HL_LIMITS_MAX];
    part_present(t, &s->part, s->temperature, s->voltage, &seen);
    mix_row(&a.bits, &seen.resistance, (sizeof seen - offsetof(hl_terminal, resistance)) / sizeof(double));
    if (t->model->device->family == HL_FAMILY_CAPACITOR) {
        double real, imaginary;
        part_impedance(t, &s->part, s->temperature, s->voltage, s->frequency, &real, &imaginary);
        mix(&a.bits, real);
        mix(&a.bits, imaginary);
    }
    if (device_has_impedances(t->model->device)) {
        double f = s->frequency, real[THREE], imaginary[THREE];
        part_impedances(t, &s->part, s->temperature, s->voltage, (double[]){f, 2.0 * f, 3.0 * f}, THREE, real,
                        imaginary);
        mix_row(&a.bits, real, THREE);
        mix_row(&a.bits, imaginary, THREE);
    }
    size_t n = part_limits(t, &s->part, &s->load.stress, s->temperature, limits);
    for (size_t i = 0; i < n && i < HL_LIMITS_MAX; i++)
        mix(&a.bits, limits[i].value), mix(&a.bits, limits[i].rated);
    part_loss(t, &s->part, &s->load.stress, s->temperature, &loss);
    mix_row(&a.bits, loss.watts, HL_MECHANISMS);
    mix(&a.bits, loss.slope);
    mix(&a.bits, loss.flags);
    a.watts = part_watts(&loss);
    return a;
}

static void mix_side(uint64_t *bits, const hl_side *side)
{
    mix(bits, side->voltage);
    mix(bits, side->current);
    mix(bits, side->power);
    mix(bits, hl_wave_rms(&side->line));
    for (size_t k = 0; side->wave && k < side->cycles; k++) mix(bits, hl_wave_rms(&side->wave[k]));
}

static answer ask_stage(trial *t, point *p)
{
    answer a = {.bits = 0xCBF29CE484222325u, .name = "input power"};
    point_forget(p);
    mix(&a.bits, (double)point_solve(t, p));
    const hl_stage_output *out = &p->out;
    mix_side(&a.bits, &out->input);
    mix_side(&a.bits, &out->output);
    mix(&a.bits, out->circuit_loss);
    for (size_t i = 0; i < out->quantities && i < HL_QUANTITIES_MAX; i++)
        mix(&a.bits, out->quantity[i].value);
    for (size_t i = 0; i < t->model->stage->n_slots && i < HL_SLOTS_MAX; i++) {
        const hl_stress *s = &out->stress[i];
        mix_row(&a.bits, s->current_rms, s->n);
        mix_row(&a.bits, s->voltage_on, s->n);
        mix_row(&a.bits, s->line_rms_squared, s->lines);
        mix(&a.bits, s->total_rms);
    }
    a.watts = out->input.power;
    return a;
}

answer subject_ask(trial *t, subject *s)
{
    return s->is_device ? ask_part(t, s) : ask_stage(t, &s->point);
}

bool answers_equal(const answer *a, const answer *b)
{
    return a->bits == b->bits;
}
