#include "prove/point.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "prove/allocations.h"
#include "prove/older_host.h"

static const double pi = 3.14159265358979324;

bool point_create(trial *t, point *p)
{
    const hl_stage *stage = t->model->stage;
    *p = (point){0};
    p->asked = calloc(t->model->n_parameters + 1, sizeof *p->asked);
    if (p->asked && drawn_values_create(&p->drawn, t->model) &&
        guarded_create(&p->memory, stage->memory_size) && point_give_scratch(p, stage->scratch_size))
        return true;
    point_destroy(p);
    return trial_fail(t, "memory ran out");
}

void point_destroy(point *p)
{
    drawn_values_destroy(&p->drawn);
    guarded_destroy(&p->room);
    guarded_destroy(&p->memory);
    free(p->asked);
    p->asked = NULL;
}

bool point_give_scratch(point *p, size_t size)
{
    guarded_destroy(&p->room);
    if (!guarded_create(&p->room, size)) return false;
    p->scratch = (hl_scratch){p->room.memory, size, 0};
    return true;
}

void point_forget(point *p)
{
    memset(p->memory.memory, 0, p->memory.size);
}

/* ------------------------------------------------------------------ draw -- */

static double clip(double x, double low, double high)
{
    if (!(low < high)) return x;
    return x < low ? low : x > high ? high : x;
}

/* A value of a size that fits the circuit, told by its unit alone. */
static double sensible(chance *luck, const hl_parameter *p, const circuit_size *c)
{
    double ohms = c->volts_in / c->amperes_in, number = draw_within(luck, p->low, p->high);
    if (!strcmp(p->dimension, "Hz"))
        number = c->hertz * chance_scale(luck, 0.2, 5.0);
    else if (!strcmp(p->dimension, "s"))
        number = chance_scale(luck, 1e-3, 0.03) / c->hertz;
    else if (!strcmp(p->dimension, "V"))
        number = c->volts_out * (chance_of(luck, 0.8) ? 1.0 : chance_scale(luck, 0.3, 3.0));
    else if (!strcmp(p->dimension, "A"))
        number = c->amperes_in * chance_scale(luck, 0.03, 30.0);
    else if (!strcmp(p->dimension, "H"))
        number = ohms / (2.0 * pi * c->hertz) * chance_scale(luck, 0.3, 20.0);
    else if (!strcmp(p->dimension, "F"))
        number = chance_scale(luck, 1e-3, 1.0) / (2.0 * pi * c->hertz * ohms);
    else if (!strcmp(p->dimension, "W"))
        number = c->volts_out * c->amperes_out * chance_scale(luck, 1e-4, 0.1);
    else if (!strcmp(p->dimension, "ohm"))
        number = ohms * chance_scale(luck, 1e-5, 1e-2);
    return clip(number, p->low, p->high);
}

static void fit_values(point *p, chance *luck, const circuit_size *c)
{
    drawn_values_draw(&p->drawn, luck, DRAW_REQUIRED);
    for (size_t i = 0; i < p->drawn.model->n_parameters; i++) {
        const hl_parameter *parameter = hl_model_parameter(p->drawn.model, i);
        double share = parameter->flags & HL_REQUIRED ? 1.0 : 0.3, number = 0.0;
        size_t words = 0;
        if (!chance_of(luck, share)) continue;
        if (parameter->kind == HL_CHOICE) {
            while (parameter->choices[words]) words++;
            number = (double)chance_below(luck, words);
        } else if (parameter->kind == HL_NUMBER) {
            number = sensible(luck, parameter, c);
        } else {
            continue;
        }
        drawn_values_put(&p->drawn, i, number);
    }
}

static circuit_size draw_size(chance *luck, const hl_stage *stage)
{
    bool mains = stage->input != HL_DC;
    double power = chance_scale(luck, 0.5, 300.0) * (chance_of(luck, 0.1) ? 1e-3 : 1.0);
    circuit_size c = {.hertz = chance_scale(luck, 3e4, 6e5)};
    c.volts_in = mains ? chance_between(luck, 85.0, 265.0) : chance_scale(luck, 4.0, 420.0);
    if (stage->regulates)
        c.volts_out = c.volts_in * (mains ? chance_between(luck, 1.5, 3.0) : chance_scale(luck, 0.04, 5.0));
    else
        c.volts_out = c.volts_in * (mains && stage->output == HL_DC ? 1.35 : 1.0);
    c.amperes_in = power / c.volts_in;
    c.amperes_out = power / c.volts_out;
    return c;
}

/* The current of a load on an ac or rectified bus: a sine in phase, or a pulse at the crest. */
static void draw_line(point *p, chance *luck, const circuit_size *c, hl_terminal_kind kind)
{
    double half = 0.5 / p->in.input_frequency, peak = c->amperes_out * sqrt(2.0);
    hl_side *load = &p->in.load;
    memset(p->line, 0, sizeof p->line);
    load->line_frequency = p->in.input_frequency;
    load->current = c->amperes_out;
    if (chance_of(luck, 0.15)) return; /* a load that tells no wave */
    if (kind == HL_AC || chance_of(luck, 0.5)) {
        p->line[0] =
            (hl_segment){.duration = kind == HL_AC ? 2.0 * half : half, .omega = pi / half, .sine = peak};
        load->line = (hl_wave){1, p->line};
    } else { /* half a sine of width w in the middle: rms^2 = peak^2 w / (2 half) */
        double w = half * chance_between(luck, 0.15, 0.6);
        peak = c->amperes_out * sqrt(2.0 * half / w);
        p->line[0].duration = p->line[2].duration = 0.5 * (half - w);
        p->line[1] = (hl_segment){.duration = w, .omega = pi / w, .sine = peak};
        load->line = (hl_wave){3, p->line};
        /* mean of V sqrt2 sin(theta) times the pulse, theta about the crest: Fourier overlap of two cosines
         */
        double a = pi / half, b = pi / w, e = 0.5 * w;
        double overlap = sin((a - b) * e) / (a - b) + sin((a + b) * e) / (a + b);
        load->power = c->volts_out * sqrt(2.0) * peak * overlap / half;
    }
    load->current_peak = peak;
}

static void draw_terminals(point *p, chance *luck, const hl_stage *stage, const circuit_size *c)
{
    double power = c->volts_out * c->amperes_out;
    bool mains = stage->input != HL_DC;
    hl_stage_input *in = &p->in;
    in->input_voltage = c->volts_in;
    in->input_frequency = mains ? chance_between(luck, 47.0, 63.0) : 0.0;
    in->input_capacitance = chance_of(luck, 0.3) ? 0.0 : chance_scale(luck, 1e-7, 1e-3);
    if (stage->regulates && chance_of(luck, 0.9)) in->output_voltage = c->volts_out;
    if (chance_of(luck, 0.5)) in->extra_loss = power * chance_between(luck, 0.0, 0.03);
    if (stage->terminal) return;
    in->load.voltage = c->volts_out;
    in->load.power = power;
    if (stage->output != HL_DC) {
        draw_line(p, luck, c, stage->output);
        return;
    }
    in->load.current = c->amperes_out;
    double ripple = mains ? chance_scale(luck, 0.02, 0.3) : chance_scale(luck, 1e-4, 0.05);
    if (mains || chance_of(luck, 0.8))
        in->output_capacitance = c->amperes_out / (ripple * c->volts_out * (mains ? 100.0 : c->hertz));
    if (chance_of(luck, 0.6)) in->output_esr = c->volts_out / c->amperes_out * chance_scale(luck, 1e-5, 1e-2);
}

static void fill_slots(point *p, chance *luck, const hl_stage *stage, const circuit_size *c)
{
    for (size_t s = 0; s < HL_SLOTS_MAX; s++) p->in.slot[s].temperature = 298.15;
    for (size_t s = 0; s < stage->n_slots && s < HL_SLOTS_MAX; s++) {
        const hl_slot *slot = hl_stage_slot(stage, s);
        hl_slot_view *view = &p->in.slot[s];
        if (!(slot->flags & HL_REQUIRED) && chance_of(luck, 0.4)) continue;
        size_t family = chance_below(luck, HL_FAMILIES);
        while (!(slot->families & HL_FITS(family))) family = (family + 1) % HL_FAMILIES;
        ideal_draw(&p->part[s], luck, (hl_family)family, c);
        view->count = chance_of(luck, 0.7) ? 1 : 1 + (unsigned)chance_below(luck, 3);
        view->temperature = chance_between(luck, 250.0, 420.0);
        view->device = ideal_device((hl_family)family);
        view->state = &p->part[s];
        if (chance_of(luck, 0.3)) view->loss = 0.01 * c->volts_in * c->amperes_in;
    }
}

bool point_prepare(trial *t, point *p)
{
    const hl_stage *stage = t->model->stage;
    t->now = (given){.function = "prepare", .values = p->drawn.values};
    memset(&p->reason, 0, sizeof p->reason);
    return !stage->prepare || stage->prepare(p->drawn.values, &p->reason);
}

bool point_draw(trial *t, point *p, point_kind kind)
{
    enum { DRAWS = 4000 };
    const hl_stage *stage = t->model->stage;
    circuit_size c = {0};
    for (int i = 0; i < DRAWS; i++) {
        if (i % 100 == 0) trial_beat(t);
        c = draw_size(&t->luck, stage);
        if (kind == POINT_SENSIBLE)
            fit_values(p, &t->luck, &c);
        else
            drawn_values_draw(&p->drawn, &t->luck, (draw_mode)chance_below(&t->luck, DRAW_MODES));
        if (!point_prepare(t, p)) continue;
        p->in = (hl_stage_input){.struct_size = sizeof p->in,
                                 .values = p->drawn.values,
                                 .scratch = &p->scratch,
                                 .memory = p->memory.memory};
        draw_terminals(p, &t->luck, stage, &c);
        fill_slots(p, &t->luck, stage, &c);
        point_forget(p);
        return true;
    }
    return trial_fail(t, "prepare() refused all of %d random sets of values; the last reason: %.200s",
                      (int)DRAWS, p->reason.text);
}

/* ----------------------------------------------------------------- solve -- */

static void inspect(trial *t, const point *p, const hl_stage_input *before)
{
    long breach = guarded_breach(&p->room);
    if (breach)
        trial_overrun(t,
                      "solve() writes %ld bytes outside its scratch of %zu bytes; take memory with "
                      "hl_scratch_take() only",
                      labs(breach), p->room.size);
    breach = guarded_breach(&p->memory);
    if (breach)
        trial_overrun(t, "solve() writes %ld bytes outside its warm-start memory of %zu bytes (memory_size)",
                      labs(breach), p->memory.size);
    if (p->scratch.used > p->scratch.size)
        trial_overrun(t, "solve() leaves %zu bytes taken of a scratch of %zu", p->scratch.used,
                      p->scratch.size);
    if (memcmp(before, &p->in, sizeof p->in)) trial_overrun(t, "solve() writes to its input");
    if (memcmp(p->asked, p->drawn.values, p->drawn.model->n_parameters * sizeof *p->asked))
        trial_overrun(t, "solve() writes to the values it was handed");
}

hl_stage_status point_solve(trial *t, point *p)
{
    struct {
        hl_stage_output out;
        unsigned char ground[64];
    } room;
    size_t reach = older_output_size(t->host);
    p->in.struct_size = (uint32_t)older_input_size(t->host);
    p->in.border_shift = t->host ? 0.3 : 0.0; /* beyond an older host's: not to be read */
    hl_stage_input before = p->in;
    memset(&room.out, OLDER_MARK, sizeof room.out);
    memset(room.ground, 0x5A, sizeof room.ground);
    memset(&room.out, 0, reach);
    room.out.struct_size = (uint32_t)reach;
    p->scratch.used = 0;
    memcpy(p->asked, p->drawn.values, p->drawn.model->n_parameters * sizeof *p->asked);
    t->now = (given){.function = "solve", .in = &p->in};
    size_t taken = allocations_counted();
    hl_stage_status status = t->model->stage->solve(&p->in, &room.out);
    t->allocated += allocations_counted() - taken;
    inspect(t, p, &before);
    for (size_t i = 0; i < sizeof room.ground; i++)
        if (room.ground[i] != 0x5A) trial_overrun(t, "solve() writes past the end of its output");
    older_host_inspect(t, &room.out, reach, sizeof room.out, "solve");
    p->out = room.out;
    return status;
}
