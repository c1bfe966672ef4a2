/* figure_stage.c - stages drawn from their tables, with what sits in their slots and what they feed. */
#include "figure_stage.h"

#include <math.h>
#include <string.h>

#include "flyback_design.h"
#include "llc_design.h"
#include "story.h"

static const double pi = 3.14159265358979324;

static bool now_and_then(lottery *luck, double share)
{
    return lottery_between(luck, 0.0, 1.0) < share;
}

/* ------------------------------------------------------------------- size -- */

/* Where stages are used: V at the input, output over input, W, Hz. */
static const struct range {
    const char *model;
    bool mains;
    double input[2], ratio[2], power[2], hertz[2];
} ranges[] = {{"synchronous_buck", false, {3, 60}, {0.05, 0.95}, {1, 200}, {50e3, 3e6}},
              {"boost", false, {2.5, 60}, {1.05, 8}, {1, 200}, {50e3, 3e6}},
              {"four_switch_buck_boost", false, {3, 50}, {0.3, 3}, {1, 200}, {50e3, 2e6}},
              {"boost_pfc", true, {85, 265}, {1.45, 2.2}, {30, 2000}, {40e3, 500e3}},
              {"totem_pole_pfc", true, {85, 265}, {1.45, 2.2}, {30, 2000}, {40e3, 500e3}},
              {"mains_input_filter", true, {85, 265}, {1, 1}, {5, 2000}, {40e3, 500e3}},
              {"bridge_rectifier", true, {85, 265}, {1, 1}, {5, 2000}, {40e3, 500e3}},
              {"capacitor_input_rectifier", true, {85, 265}, {1.3, 1.3}, {3, 150}, {40e3, 500e3}},
              {"housekeeping", false, {5, 420}, {1, 1}, {0.5, 100}, {40e3, 500e3}},
              {"lc_output_filter", false, {3, 60}, {1, 1}, {1, 200}, {40e3, 2e6}},
              {"output_switch", false, {3, 60}, {1, 1}, {1, 200}, {40e3, 2e6}}};

static circuit_size draw_size(lottery *luck, const char *model)
{
    const struct range *r = NULL;
    for (size_t i = 0; i < sizeof ranges / sizeof *ranges; i++)
        if (!strcmp(ranges[i].model, model)) r = &ranges[i];
    ck_assert_msg(r != NULL, "%s: say in figure_stage.c where it is used", model);
    circuit_size c = {.input = lottery_between(luck, r->input[0], r->input[1]),
                      .hertz = lottery_scale(luck, r->hertz[0], r->hertz[1])};
    c.output = c.input * lottery_scale(luck, r->ratio[0], r->ratio[1] * (1.0 + 1e-12));
    if (!strcmp(model, "four_switch_buck_boost") && now_and_then(luck, 0.3))
        c.output = c.input * lottery_between(luck, 0.85, 1.15);
    c.amperes = lottery_scale(luck, r->power[0], r->power[1]) / c.output;
    c.mains = r->mains ? lottery_between(luck, 47.0, 63.0) : 0.0;
    /* V x duty of the border between the ways of conduction, and a ripple from a tenth to three times the
     * current */
    double low = fmin(c.input, c.output), high = fmax(c.input, c.output);
    double swing = !strcmp(model, "four_switch_buck_boost") || low == high ? low * high / (low + high)
                                                                           : low * (1.0 - low / high);
    double drawn = c.amperes * c.output / low;
    c.inductance = swing / (c.hertz * drawn) * lottery_scale(luck, 0.3, 8.0);
    return c;
}

/* ------------------------------------------------------------------ values -- */

typedef enum measure { PLAIN, WHOLE, HERTZ, PERIOD, INPUT, OUTPUT, PEAK, LOAD, POWER, HENRY } measure;

/* In what a parameter is drawn, between which shares of that, and how often it is stated at all. */
static const struct rule {
    const char *name;
    measure of;
    double low, high, share;
} rules[] = {{"switching_frequency", HERTZ, 1, 1, 1},
             {"maximum_frequency", HERTZ, 0.5, 4, 0.4},
             {"minimum_frequency", HERTZ, 0.05, 0.9, 0.3},
             {"ripple_frequency", HERTZ, 1, 1, 0.7},
             {"output_voltage", OUTPUT, 1, 1, 0.3},
             {"minimum_bus_voltage", OUTPUT, 0.5, 0.95, 0.5},
             {"brown_out_voltage", INPUT, 0.5, 1.0, 0.2},
             {"clamp_voltage", OUTPUT, 1, 5, 1},
             {"input_ripple", INPUT, 0.02, 0.4, 0.4},
             {"ripple_voltage", INPUT, 1e-3, 0.1, 0.7},
             {"supply_voltage", INPUT, 0.05, 0.9, 0.5},
             {"maximum_on_time", PERIOD, 0.3, 3, 0.2},
             {"dead_time", PERIOD, 1e-3, 0.03, 0.7},
             {"dead_time_fall", PERIOD, 1e-3, 0.03, 0.7},
             {"dead_time_rise", PERIOD, 1e-3, 0.03, 0.7},
             {"skip_on_time", PERIOD, 0.02, 0.4, 0.5},
             {"minimum_on_time", PERIOD, 2e-3, 0.1, 0.3},
             {"skip_peak_current", PEAK, 0.05, 0.6, 0.5},
             {"peak_current_limit", PEAK, 1, 9, 0.3},
             {"burst_peak_current", PEAK, 0.1, 1, 0.4},
             {"quiescent_current", PEAK, 1e-3, 0.1, 0.7},
             {"burst_current", LOAD, 0.03, 0.5, 0.5},
             {"burst_power", POWER, 0.02, 0.6, 0.5},
             {"power", POWER, 0.01, 1, 0.8},
             {"inductance", HENRY, 0.7, 1.4, 0.2},
             {"drain_capacitance", PLAIN, 2e-11, 5e-10, 0.7},
             {"supply_efficiency", PLAIN, 0.4, 1, 0.7},
             {"commutation_slope", PLAIN, 1e7, 1e9, 0.5},
             {"maximum_duty", PLAIN, 0.6, 0.98, 0.3},
             {"transition_duty", PLAIN, 0.05, 0.3, 0.6},
             {"report_phase", PLAIN, 0.05, 1, 0.5},
             {"source_resistance", PLAIN, 0.1, 5, 0.6},
             {"source_inductance", PLAIN, 2e-5, 3e-3, 0.3},
             {"phases", WHOLE, 1, 5, 0.5},
             {"cycles", WHOLE, 16, 33, 0.3},
             {"ripple_cycles", WHOLE, 1, 9, 0.6},
             {"valley", WHOLE, 0, 5, 0.5},
             {"minimum_valley", WHOLE, 1, 5, 0.4}};

static double unit_of(measure of, const circuit_size *c)
{
    switch (of) {
    case HERTZ:
        return c->hertz;
    case PERIOD:
        return 1.0 / c->hertz;
    case INPUT:
        return c->input;
    case OUTPUT:
        return c->output;
    case PEAK:
        return c->amperes * c->output / fmin(c->input, c->output);
    case LOAD:
        return c->amperes;
    case POWER:
        return c->amperes * c->output;
    case HENRY:
        return c->inductance;
    case PLAIN:
    case WHOLE:
    default:
        return 1.0;
    }
}

static double number_of(lottery *luck, const hl_parameter *p, const struct rule *rule, const circuit_size *c)
{
    if (rule->of == WHOLE) return floor(lottery_between(luck, rule->low, rule->high));
    double share = rule->low == rule->high ? rule->low : lottery_scale(luck, rule->low, rule->high);
    double number = share * unit_of(rule->of, c);
    return p->low < p->high ? fmin(fmax(number, p->low), p->high) : number;
}

static const struct rule *rule_of(const hl_parameter *p)
{
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++)
        if (!strcmp(rules[i].name, p->name)) return &rules[i];
    return NULL;
}

/* What a design has laid out is left as it is. */
static void draw_values(stage_bench *bench, const circuit_size *c, unsigned long long seed)
{
    for (size_t i = 0; i < bench->model->n_parameters; i++) {
        const hl_parameter *p = &bench->model->parameters[i];
        const struct rule *rule = rule_of(p);
        size_t words = 0;
        lottery luck = {.state = figure_seed(p->name, seed)};
        if (bench->values[i].origin == HL_ORIGIN_BENCH) continue;
        while (p->choices && p->choices[words]) words++;
        ck_assert_msg(words || rule, "%s.%s: say in figure_stage.c how it is drawn", bench->model->name,
                      p->name);
        if (words)
            stage_bench_set(bench, p->name, (double)lottery_below(&luck, words));
        else if (now_and_then(&luck, rule->share))
            stage_bench_set(bench, p->name, number_of(&luck, p, rule, c));
    }
}

/* ------------------------------------------------------------------- parts -- */

static bool named(const char *slot, const char *word)
{
    return strstr(slot, word) != NULL;
}

static void draw_magnetic(hl_terminal *m, lottery *luck, const char *slot, const circuit_size *c, double ohms)
{
    m->inductance = named(slot, "common_mode")    ? lottery_scale(luck, 1e-3, 3e-2)
                    : named(slot, "differential") ? lottery_scale(luck, 3e-5, 1e-3)
                                                  : c->inductance;
    m->leakage = m->inductance * lottery_scale(luck, 3e-3, 0.03);
    m->turns_ratio = 1.0;
    m->windings = named(slot, "common_mode") ? 2.0 : 1.0;
    m->winding_resistance[0] = now_and_then(luck, 0.8) ? ohms * lottery_scale(luck, 1e-4, 0.02) : 0.0;
    m->winding_resistance[1] = m->winding_resistance[0];
    m->resistance = m->winding_resistance[0];
}

static void draw_part(hl_terminal *part, lottery *luck, const char *slot, hl_family family,
                      const circuit_size *c)
{
    double least = fmin(c->input, c->output), ohms = least * least / (c->amperes * c->output);
    switch (family) {
    case HL_FAMILY_SWITCH:
        part->resistance = ohms * lottery_scale(luck, 1e-4, 0.02);
        part->reverse_voltage = fmin(lottery_between(luck, 0.0, 1.8), 0.15 * least);
        part->reverse_resistance = part->resistance * (double)lottery_below(luck, 3);
        part->output_charge = lottery_scale(luck, 1e-5, 0.01) * c->amperes / c->hertz;
        part->output_energy = 0.5 * part->output_charge * c->output;
        break;
    case HL_FAMILY_DIODE:
        part->voltage = fmin(lottery_between(luck, 0.2, 1.0), 0.1 * least);
        part->resistance = ohms * lottery_scale(luck, 1e-4, 0.02);
        break;
    case HL_FAMILY_CAPACITOR:
        part->capacitance =
            named(slot, "x_capacitor") ? lottery_scale(luck, 4e-8, 1e-6) : lottery_scale(luck, 1e-10, 1e-8);
        part->resistance = lottery_scale(luck, 1e-3, 1.0);
        part->series_inductance = lottery_scale(luck, 1e-9, 3e-8);
        break;
    case HL_FAMILY_MAGNETIC:
        draw_magnetic(part, luck, slot, c, ohms);
        break;
    case HL_FAMILY_RESISTOR:
    default:
        part->resistance = named(slot, "discharge") || named(slot, "varistor") || named(slot, "bleeder")
                               ? lottery_scale(luck, 300.0, 1e5) * ohms
                               : lottery_scale(luck, 1e-4, 0.02) * ohms;
        break;
    }
    part->rated_voltage = 2.0 * fmax(c->input, c->output);
    part->rated_current = 3.0 * c->amperes;
}

/* Slots that a design has filled keep their parts. */
static void draw_parts(stage_bench *bench, const circuit_size *c, unsigned long long seed)
{
    const hl_stage *stage = bench->model->stage;
    for (size_t s = 0; s < stage->n_slots; s++) {
        const hl_slot *slot = &stage->slots[s];
        lottery luck = {.state = figure_seed(slot->name, seed)};
        hl_slot_view *view = &bench->in.slot[s];
        size_t family = lottery_below(&luck, HL_FAMILIES);
        bool there = slot->flags & HL_REQUIRED || now_and_then(&luck, 0.6);
        if (!view->count && there) {
            while (!(slot->families & HL_FITS(family))) family = (family + 1) % HL_FAMILIES;
            unsigned count = lottery_below(&luck, 4) ? 1 : 2 + (unsigned)lottery_below(&luck, 2);
            draw_part(stage_bench_fill(bench, slot->name, (hl_family)family, count), &luck, slot->name,
                      (hl_family)family, c);
        }
        view->temperature = lottery_between(&luck, 250.0, 420.0);
        view->loss = now_and_then(&luck, 0.3) ? 0.01 * c->amperes * c->output : 0.0;
    }
}

/* By 40 % in 100 K and, for what a voltage bends, down to a third: which temperature and voltage a stage asks
 * for shows in what it answers.  Rules of thumb, no part in particular. */
static void leaning_present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    *terminal = *(const hl_terminal *)state;
    double warmer = 0.01 * (temperature - 300.0), stands = fabs(voltage) / (fabs(voltage) + 100.0);
    terminal->resistance *= 1.0 + 0.4 * warmer;
    terminal->reverse_resistance *= 1.0 + 0.2 * warmer;
    terminal->voltage *= 1.0 - 0.15 * warmer;
    terminal->reverse_voltage *= 1.0 - 0.2 * warmer;
    terminal->inductance *= 1.0 - 0.05 * warmer;
    terminal->leakage *= 1.0 - 0.03 * warmer;
    terminal->capacitance *= (1.0 - 0.67 * stands) * (1.0 - 0.05 * warmer);
    terminal->output_charge *= 0.4 + 0.6 * stands;
    terminal->output_energy *= 0.2 + 0.8 * stands;
    for (int w = 0; w < HL_WINDINGS_MAX; w++) terminal->winding_resistance[w] *= 1.0 + 0.39 * warmer;
}

static void leaning_impedance(const void *state, double temperature, double voltage, double frequency,
                              double *real, double *imaginary)
{
    hl_terminal part;
    double w = 2.0 * pi * frequency;
    leaning_present(state, temperature, voltage, &part);
    *real = part.resistance * (1.0 + 0.1 * log1p(1e-4 * frequency));
    *imaginary = w * part.series_inductance - 1.0 / (w * part.capacitance);
}

static void let_lean(figure_stage *stage)
{
    for (size_t s = 0; s < stage->bench->model->stage->n_slots; s++) {
        hl_slot_view *view = &stage->bench->in.slot[s];
        if (!view->device) continue;
        stage->device[s] = *view->device;
        stage->device[s].present = leaning_present;
        if (view->device->impedance) stage->device[s].impedance = leaning_impedance;
        view->device = &stage->device[s];
    }
}

/* ----------------------------------------------------------------- designs -- */

static circuit_size lay_out_llc(stage_bench *bench, lottery *luck)
{
    llc_point p = llc_draw(luck);
    llc_lay_out_point(bench, &p);
    if (now_and_then(luck, 0.2)) stage_bench_fill(bench, "rectifier", HL_FAMILY_SWITCH, 0);
    double resonance = 1.0 / (2.0 * pi * sqrt(p.d.series * p.d.capacitance));
    return (circuit_size){p.d.input, p.output, p.load, resonance, 0.0, p.d.series};
}

static circuit_size lay_out_flyback(stage_bench *bench, lottery *luck, bool resonant)
{
    flyback_design d = flyback_draw(luck, resonant);
    if (now_and_then(luck, 0.25)) { /* resistances that bend its currents */
        double lossy = lottery_scale(luck, 3.0, 100.0);
        d.winding *= lossy, d.channel *= lossy, d.secondary *= lossy;
    }
    flyback_lay_out(bench, &d);
    size_t kind = lottery_below(luck, 3);
    stage_bench_choose(bench, "clamp", kind == 0 ? "stiff" : kind == 1 ? "resistor" : "active");
    if (kind == 1) {
        double watts = 0.03 * d.load * d.output, volts = d.clamp;
        stage_bench_fill(bench, "clamp_resistor", HL_FAMILY_RESISTOR, 1)->resistance = volts * volts / watts;
    }
    bench->part[0].output_charge = d.capacitance * d.input * lottery_between(luck, 0.3, 1.0);
    bench->part[0].reverse_voltage = lottery_between(luck, 0.5, 1.2);
    bench->part[0].reverse_resistance = d.channel * lottery_between(luck, 0.0, 3.0);
    bench->part[2].reverse_voltage = lottery_between(luck, 0.5, 1.2);
    if (now_and_then(luck, 0.5)) stage_bench_set(bench, "valley", (double)lottery_below(luck, 5));
    if (now_and_then(luck, 0.2)) stage_bench_unset(bench, "drain_capacitance");
    bench->in.border_shift = now_and_then(luck, 0.2) ? lottery_between(luck, 0.0, 1.0) : 0.0;
    return (circuit_size){d.input, d.output, d.load, resonant ? 1e5 : d.frequency, 0.0, d.magnetizing};
}

void figure_stage_deal(figure_stage *stage, stage_bench *bench, size_t number)
{
    const char *model = bench->model->name;
    unsigned long long seed = figure_seed(model, number);
    lottery luck = {.state = seed};
    *stage = (figure_stage){.bench = bench, .seed = seed};
    circuit_size c = !strcmp(model, "half_bridge_llc") ? lay_out_llc(bench, &luck)
                     : !strcmp(model, "flyback")       ? lay_out_flyback(bench, &luck, number % 2)
                                                       : draw_size(&luck, model);
    for (size_t s = 0; s < HL_SLOTS_MAX; s++) /* what a design laid out alone may have company */
        if (bench->in.slot[s].count == 1 && now_and_then(&luck, 0.3)) bench->in.slot[s].count = 2;
    draw_values(bench, &c, seed);
    draw_parts(bench, &c, seed);
    let_lean(stage);
    stage->size = c;
    double ripple = c.mains > 0.0 ? lottery_scale(&luck, 0.02, 0.3) : lottery_scale(&luck, 1e-4, 0.1);
    double period = c.mains > 0.0 ? 0.5 / c.mains : 1.0 / c.hertz;
    if (c.mains > 0.0 || now_and_then(&luck, 0.75))
        stage->output_capacitance = c.amperes * period / (ripple * c.output);
    if (now_and_then(&luck, 0.66))
        stage->output_esr = c.output / c.amperes * lottery_scale(&luck, 1e-4, 0.02);
    if (now_and_then(&luck, 0.7)) stage->input_capacitance = lottery_scale(&luck, 1e-7, 1e-3);
    if (now_and_then(&luck, 0.5)) stage->extra = lottery_between(&luck, 0.0, 0.03);
    stage->smooth = now_and_then(&luck, 0.3);
    stage->kind = (figure_line_kind)lottery_below(&luck, FIGURE_LINE_KINDS);
    for (size_t k = 0; k < FIGURE_RIPPLES; k++) {
        stage->weight[k] = 1.0 / FIGURE_RIPPLES;
        stage->frequency[k] = c.hertz * lottery_between(&luck, 0.7, 1.4);
    }
}

/* ------------------------------------------------------------------ points -- */

/* Down and up again about nothing, of an amplitude that grows with the line's current. */
static void ripple_of(figure_stage *s, double amperes)
{
    hl_side *load = &s->bench->in.load;
    for (size_t k = 0; k < FIGURE_RIPPLES; k++) {
        double period = 1.0 / s->frequency[k], on = (0.3 + 0.2 * (double)k) * period;
        double swing = amperes * 0.3 * (double)(k + 1);
        s->ripple[k][0] = (hl_segment){.duration = on, .offset = -0.5 * swing, .slope = swing / on};
        s->ripple[k][1] =
            (hl_segment){.duration = period - on, .offset = 0.5 * swing, .slope = -swing / (period - on)};
        s->wave[k] = (hl_wave){2, s->ripple[k]};
    }
    load->cycles = FIGURE_RIPPLES;
    load->weight = s->weight;
    load->frequency = s->frequency;
    load->wave = s->wave;
}

/* On the mains. */
static void line_of(figure_stage *s, double amperes)
{
    const hl_stage *stage = s->bench->model->stage;
    hl_side *load = &s->bench->in.load;
    load->line_frequency = s->size.mains;
    figure_line_draw(load, s->kind, 0.5 / s->size.mains, stage->output == HL_AC, s->line);
    if (!s->smooth) ripple_of(s, amperes);
}

static void beside_segments(figure_hair *hair, hl_segment *s, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        s[i].offset = figure_hair_beside(hair, s[i].offset);
        s[i].slope = figure_hair_beside(hair, s[i].slope);
        s[i].cosine = figure_hair_beside(hair, s[i].cosine);
        s[i].sine = figure_hair_beside(hair, s[i].sine);
    }
}

static void beside_parts(stage_bench *bench, figure_hair *hair)
{
    for (size_t s = 0; s < bench->model->stage->n_slots; s++) {
        hl_terminal *part = &bench->part[s];
        double windings = part->windings, *figure = &part->resistance;
        size_t n = (sizeof *part - offsetof(hl_terminal, resistance)) / sizeof *figure;
        for (size_t i = 0; i < n; i++) figure[i] = figure_hair_beside(hair, figure[i]);
        part->windings = windings;
        bench->in.slot[s].temperature = figure_hair_beside(hair, bench->in.slot[s].temperature);
        bench->in.slot[s].loss = figure_hair_beside(hair, bench->in.slot[s].loss);
    }
}

static void beside_values(stage_bench *bench, figure_hair *hair)
{
    for (size_t i = 0; i < bench->model->n_parameters; i++) {
        hl_value *v = &bench->values[i];
        bool counts = !strcmp(bench->model->parameters[i].dimension, "1") && v->number == floor(v->number);
        if (!counts) v->number = v->minimum = v->maximum = figure_hair_beside(hair, v->number);
    }
}

static void beside_input(hl_stage_input *in, figure_hair *hair)
{
    double *const input[] = {&in->input_voltage, &in->output_voltage,    &in->output_capacitance,
                             &in->output_esr,    &in->input_capacitance, &in->extra_loss,
                             &in->border_shift,  &in->load.voltage,      &in->load.current,
                             &in->load.power,    &in->load.current_peak};
    for (size_t i = 0; i < sizeof input / sizeof *input; i++) *input[i] = figure_hair_beside(hair, *input[i]);
}

void figure_stage_point(figure_stage *s, double load, double input, figure_hair *hair)
{
    stage_bench *bench = s->bench;
    const hl_stage *stage = bench->model->stage;
    hl_stage_input *in = &bench->in;
    double amperes = load * s->size.amperes, volts = s->size.output;
    if (!stage->regulates && stage->output != HL_DC) volts *= input;
    in->input_voltage = s->size.input * input;
    in->input_frequency = s->size.mains;
    in->output_voltage = stage->regulates ? volts : 0.0;
    in->output_capacitance = s->output_capacitance;
    in->output_esr = s->output_esr;
    in->input_capacitance = s->input_capacitance;
    in->extra_loss = s->extra * amperes * volts;
    in->load = (hl_side){.voltage = volts, .current = amperes, .power = volts * amperes};
    if (stage->terminal) in->load = (hl_side){.voltage = volts};
    if (stage->output != HL_DC && !stage->terminal) line_of(s, amperes);
    if (!hair->off) return;
    beside_values(bench, hair);
    beside_parts(bench, hair);
    beside_input(in, hair);
    beside_segments(hair, s->line, FIGURE_LINE_PIECES);
    for (size_t k = 0; k < FIGURE_RIPPLES; k++) beside_segments(hair, s->ripple[k], 2);
}

/* ------------------------------------------------------------------- amiss -- */

static double wrong(lottery *luck, double number)
{
    static const double by[] = {-1.0, 0.0, 1e-4, 1e4, (double)NAN};
    return number * by[lottery_below(luck, sizeof by / sizeof *by)];
}

/* One figure that its part shows. */
static void spoil_part(stage_bench *bench, lottery *luck)
{
    size_t slot = lottery_below(luck, bench->model->stage->n_slots);
    double *const figure[] = {
        &bench->part[slot].resistance,           &bench->part[slot].voltage,
        &bench->part[slot].reverse_voltage,      &bench->part[slot].reverse_resistance,
        &bench->part[slot].inductance,           &bench->part[slot].leakage,
        &bench->part[slot].capacitance,          &bench->part[slot].output_charge,
        &bench->part[slot].turns_ratio,          &bench->part[slot].winding_resistance[0],
        &bench->part[slot].winding_resistance[1]};
    size_t n = sizeof figure / sizeof *figure, first = lottery_below(luck, n);
    for (size_t k = 0; k < n; k++) {
        double *f = figure[(first + k) % n];
        if (*f == 0.0) continue;
        *f = wrong(luck, *f);
        return;
    }
}

/* A number at the other end of what its table allows, or none. */
static void spoil_value(stage_bench *bench, lottery *luck)
{
    size_t n = bench->model->n_parameters, first = lottery_below(luck, n);
    for (size_t k = 0; k < n; k++) {
        const hl_parameter *p = &bench->model->parameters[(first + k) % n];
        double number = bench->values[(first + k) % n].number, way = lottery_between(luck, 0.0, 1.0);
        if (p->choices || !bench->values[(first + k) % n].given) continue;
        if (way < 0.2 && !(p->flags & (HL_REQUIRED | HL_DEFAULT))) {
            stage_bench_unset(bench, p->name);
            return;
        }
        number *= way < 0.6 ? 0.02 : 50.0;
        stage_bench_set(bench, p->name, p->low < p->high ? fmin(fmax(number, p->low), p->high) : number);
        return;
    }
}

static void spoil(figure_stage *s, lottery *luck)
{
    stage_bench *bench = s->bench;
    hl_stage_input *in = &bench->in;
    hl_slot_view *view = &in->slot[lottery_below(luck, bench->model->stage->n_slots)];
    switch (lottery_below(luck, 8)) {
    case 0:
        in->input_voltage = wrong(luck, in->input_voltage);
        break;
    case 1:
        in->output_voltage = wrong(luck, in->output_voltage);
        break;
    case 2:
        in->load.current = wrong(luck, in->load.current);
        in->load.power = in->load.voltage * in->load.current;
        break;
    case 3:
        in->extra_loss = lottery_below(luck, 2) ? (double)NAN : in->load.power;
        break;
    case 4:
        view->count = 0;
        view->device = NULL;
        view->state = NULL;
        break;
    case 5:
    case 6:
        spoil_part(bench, luck);
        break;
    default:
        spoil_value(bench, luck);
        break;
    }
}

void figure_stage_draw_point(figure_stage *s, bool amiss, figure_hair *hair)
{
    lottery luck = {.state = figure_seed(amiss ? "amiss" : "drawn", s->seed)};
    double load = lottery_scale(&luck, 3e-3, 1.6);
    figure_stage_point(s, load, lottery_between(&luck, 0.6, 1.35), hair);
    if (amiss) spoil(s, &luck);
}
