/* flyback_report.h - the answer of the flyback stage: sides, stresses, losses and named quantities. */
#ifndef FLYBACK_REPORT_H
#define FLYBACK_REPORT_H

#include "dead_ring.h"
#include "flyback_stress.h"

static inline void flyback_say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

/* Nothing to deliver: no pulse is made. */
static inline void flyback_rest(const hl_stage_input *in, double output, hl_stage_output *out)
{
    for (size_t s = 0; s < SLOTS; s++)
        out->stress[s] = (hl_stress){.struct_size = sizeof(hl_stress), .voltage_peak = in->input_voltage};
    out->input.voltage = out->input.voltage_peak = in->input_voltage;
    out->input.power = in->extra_loss;
    out->input.current = in->extra_loss / in->input_voltage;
    out->output.voltage = out->output.voltage_peak = output;
    flyback_say(out, "switching_frequency", "Hz", 0.0);
    flyback_say(out, "duty_ratio", "1", 0.0);
    flyback_say(out, "burst_duty", "1", 0.0);
}

/* false: the scratch is full. */
static inline bool flyback_stresses(const flyback_plan *p, const flyback_parts *parts, double output,
                                    hl_scratch *scratch, flyback_answer *a, hl_stress stress[])
{
    for (size_t s = 0; s < SLOTS; s++) stress[s].struct_size = sizeof stress[s];
    flyback_switch_stress(p, fmax(parts->count[SWITCH], 1.0), a, &stress[SWITCH]);
    flyback_parts sure = *parts;
    sure.count[RECTIFIER] = fmax(parts->count[RECTIFIER], 1.0);
    if (!flyback_rectifier_stress(p, &sure, output, scratch, a, &stress[RECTIFIER])) return false;
    flyback_transformer_stress(p, fmax(parts->count[TRANSFORMER], 1.0), a, &stress[TRANSFORMER]);
    if (parts->count[CLAMP_CAPACITOR] > 0.0)
        flyback_capacitor_stress(p, parts->count[CLAMP_CAPACITOR], a, &stress[CLAMP_CAPACITOR]);
    if (parts->count[CLAMP_DIODE] > 0.0 &&
        !flyback_diode_stress(p, parts->count[CLAMP_DIODE], scratch, a, &stress[CLAMP_DIODE]))
        return false;
    double taken = 0.0;
    for (size_t n = 0; n < p->n && p->clamp != FLYBACK_ACTIVE; n++)
        taken += flyback_rate_of(&p->node[n]) * p->node[n].figures.clamp_energy;
    if (p->clamp_resistance > 0.0) { /* the rms current whose heat is what the clamp takes */
        hl_stress *r = &stress[CLAMP_RESISTOR];
        double n = parts->count[CLAMP_RESISTOR];
        double steady = sqrt(fmax(taken, 0.0) * p->clamp_resistance); /* V that heat alike */
        r->voltage_dc = steady;
        r->voltage_peak = p->clamp == FLYBACK_RESISTOR ? fmax(flyback_clamp_peak(p), steady) : steady;
        r->total_rms = r->total_average = steady / p->clamp_resistance / n;
        r->total_peak = r->voltage_peak / p->clamp_resistance / n;
    }
    if (parts->count[SENSE] > 0.0) {
        double n = parts->count[SENSE], each = fmax(parts->count[SWITCH], 1.0);
        hl_stress *s = &stress[SENSE];
        double channel = 0.0, square = 0.0;
        for (size_t k = 0; k < a->n; k++) {
            channel += a->weight[k] * a->sw.average[k];
            square += a->weight[k] * a->sw.rms[k] * a->sw.rms[k];
        }
        s->total_rms = sqrt(square) * each / n;
        s->total_average = channel * each / n;
        s->total_peak = stress[SWITCH].total_peak * each / n;
    }
    return true;
}

/* ------------------------------------------------------------ quantities -- */

typedef struct flyback_means { /* over all of the time; cycle figures over the cycles */
    double switching, frequency, frequency_low, frequency_high, share;
    double on_time, duty, start, reset, conducting, commutation, delay, turn_on, node_energy, valley;
    double peak, secondary_peak, clamp_energy, clamp_voltage_ripple;
    double on_average, on_square, winding_square, core_square, secondary, secondary_square;
    double clamp_average, drawn_average, drawn_square, conduction, clamp_loss, drawn, node_loss;
    bool continuous;
} flyback_means;

static inline flyback_means flyback_average(const flyback_plan *p)
{
    flyback_means m = {.frequency_low = INFINITY};
    double active = 0.0;
    for (size_t n = 0; n < p->n; n++) {
        const flyback_node *node = &p->node[n];
        const flyback_cycle *k = &node->cycle;
        const flyback_figures *f = &node->figures;
        double w = node->weight * node->share, rate = flyback_rate_of(node), v = f->turn_on_voltage;
        active += w;
        m.switching += rate;
        m.frequency_low = fmin(m.frequency_low, 1.0 / k->period);
        m.frequency_high = fmax(m.frequency_high, 1.0 / k->period);
        m.on_time += w * (k->commutation + k->rise);
        m.duty += rate * (k->commutation + k->rise);
        m.start += w * k->start;
        m.reset += w * k->reset;
        m.conducting += w * (k->commutation + k->reset + k->fall);
        m.commutation += w * k->commutation;
        m.delay += w * (node->rings ? node->ring.duration : 0.0);
        m.turn_on += w * v;
        m.node_energy += w * 0.5 * node->tank.capacitance * v * v;
        m.valley += w * (node->rings ? node->ring.valley : 0);
        m.clamp_energy += w * f->clamp_energy;
        m.peak = fmax(m.peak, k->peak);
        m.secondary_peak = fmax(m.secondary_peak, f->secondary_peak);
        m.clamp_voltage_ripple = fmax(m.clamp_voltage_ripple, node->clamp_peak - node->clamp_start);
        m.on_average += rate * f->on_charge;
        m.on_square += rate * f->on_square;
        m.winding_square += rate * (f->on_square + f->clamp_square + f->ring_square);
        m.core_square += rate * f->core_square;
        m.secondary += rate * f->secondary_charge;
        m.secondary_square += rate * f->secondary_square;
        m.clamp_average += rate * f->clamp_charge;
        m.drawn_average += rate * (f->on_charge + f->ring_charge);
        m.drawn_square += rate * (f->on_square + f->ring_square);
        m.conduction += rate * f->conduction;
        m.clamp_loss += rate * f->clamp_energy;
        m.drawn += rate * f->drawn;
        m.node_loss += rate * 0.5 * p->others * v * v; /* lost in the channel that empties it */
        if (k->continuous) m.continuous = true;
    }
    m.share = active;
    double *each[] = {&m.on_time, &m.start,   &m.reset,       &m.conducting, &m.commutation,
                      &m.delay,   &m.turn_on, &m.node_energy, &m.valley,     &m.clamp_energy};
    for (size_t k = 0; k < sizeof each / sizeof *each; k++) *each[k] /= active;
    m.frequency = m.switching / active;
    m.duty /= active;
    if (p->clamp == FLYBACK_ACTIVE) { /* all of it goes back to the input */
        m.drawn -= m.clamp_loss;
        m.clamp_loss = 0.0;
    }
    return m;
}

static inline void flyback_say_all(const flyback_plan *p, const flyback_means *m, hl_stage_output *out)
{
    double is2 = fmax(m->secondary_square - m->secondary * m->secondary, 0.0);
    double ic2 = fmax(m->drawn_square - m->drawn_average * m->drawn_average, 0.0);
    flyback_say(out, "switching_frequency", "Hz", m->frequency);
    flyback_say(out, "switching_frequency_minimum", "Hz", m->frequency_low);
    flyback_say(out, "switching_frequency_maximum", "Hz", m->frequency_high);
    flyback_say(out, "on_time", "s", m->on_time);
    flyback_say(out, "duty_ratio", "1", m->duty);
    flyback_say(out, "burst_duty", "1", m->share);
    flyback_say(out, "continuous_conduction", "1", m->continuous ? 1.0 : 0.0);
    flyback_say(out, "primary_current_peak", "A", m->peak);
    flyback_say(out, "primary_current_start", "A", m->start);
    flyback_say(out, "switch_current_average", "A", m->on_average);
    flyback_say(out, "switch_current_rms", "A", sqrt(m->on_square));
    flyback_say(out, "primary_winding_current_rms", "A", sqrt(m->winding_square));
    flyback_say(out, "magnetizing_current_rms", "A", sqrt(m->core_square));
    flyback_say(out, "secondary_current_peak", "A", m->secondary_peak);
    flyback_say(out, "secondary_current_average", "A", m->secondary);
    flyback_say(out, "secondary_current_rms", "A", sqrt(m->secondary_square));
    flyback_say(out, "output_capacitor_current_rms", "A", sqrt(is2));
    flyback_say(out, "input_capacitor_current_rms", "A", sqrt(ic2));
    flyback_say(out, "clamp_energy", "J", m->clamp_energy);
    flyback_say(out, "clamp_loss", "W", m->clamp_loss);
    flyback_say(out, "clamp_current_average", "A", m->clamp_average);
    flyback_say(out, "clamp_voltage", "V", p->clamp_voltage);
    if (p->clamp == FLYBACK_RESISTOR && p->clamp_capacitance > 0.0) {
        flyback_say(out, "clamp_voltage_peak", "V", flyback_clamp_peak(p));
        flyback_say(out, "clamp_voltage_ripple", "V", m->clamp_voltage_ripple);
    }
    flyback_say(out, "leakage_reset_time", "s", m->reset);
    flyback_say(out, "secondary_conduction_time", "s", m->conducting);
    flyback_say(out, "commutation_time", "s", m->commutation);
    flyback_say(out, "drain_voltage_peak", "V", flyback_drain_peak(p));
    flyback_say(out, "conduction_loss", "W", m->conduction);
    flyback_say(out, "valley_delay", "s", m->delay);
    flyback_say(out, "valley_number", "1", m->valley);
    flyback_say(out, "turn_on_voltage", "V", m->turn_on);
    flyback_say(out, "node_energy_turn_on", "J", m->node_energy);
    if (p->others > 0.0) flyback_say(out, "node_loss", "W", m->node_loss);
}

/* W that the rings of the drain lose which are not followed and so have died out at turn-on: what the switch
 * and others store there; the rectifier pays for its own (flyback_charges). Winding and core damp the ring.
 * Of one that is followed the winding's part is in the waveform. */
static inline double flyback_dead_rings(const hl_stage_input *in, const flyback_plan *p)
{
    double sum = 0.0;
    for (size_t n = 0; n < p->n; n++) {
        const flyback_node *node = &p->node[n];
        const flyback_circuit *c = &node->circuit;
        if (node->cycle.continuous || !(node->cycle.rest > 0.0) || node->rings) continue;
        sum += flyback_rate_of(node) *
               dead_ring_loss(&in->slot[SWITCH], p->others, c->input + c->reflected, c->input);
    }
    return sum;
}

static inline void flyback_report(const hl_stage_input *in, const flyback_plan *p, const flyback_parts *parts,
                                  double output, flyback_answer *a, hl_stage_output *out)
{
    flyback_means m = flyback_average(p);
    flyback_say_all(p, &m, out);
    hl_side *input = &out->input, *given = &out->output;
    input->voltage = in->input_voltage;
    input->power = m.drawn + in->extra_loss;
    input->current = input->power / in->input_voltage;
    input->current_peak = m.peak;
    for (size_t n = 0; n < p->n; n++)
        input->voltage_peak = fmax(input->voltage_peak, p->node[n].circuit.input);
    given->voltage = given->voltage_peak = output;
    given->current = p->load;
    given->power = p->load * output;
    given->current_peak = m.secondary_peak;
    input->cycles = given->cycles = a->n;
    input->weight = given->weight = a->weight;
    input->frequency = given->frequency = a->frequency;
    input->wave = a->wave[FLYBACK_INPUT];
    given->wave = a->wave[FLYBACK_SECONDARY];
    if (HL_REACHES(out, node_loss)) {
        out->node_loss[SWITCH] = m.node_loss;
        out->node_loss[TRANSFORMER] = flyback_dead_rings(in, p);
    }
    if (HL_REACHES(out, crest_share)) {
        out->crest_share[SWITCH] = out->crest_share[CLAMP_DIODE] = 1.0;
        out->crest_share[RECTIFIER] = 1.0 / p->node[0].circuit.ratio;
    }
    out->circuit_loss = m.conduction + m.clamp_loss;
    if (m.clamp_loss > 0.0 && !(parts->count[CLAMP_RESISTOR] > 0.0)) {
        out->own_loss = m.clamp_loss;
        out->own_name = "clamp";
    }
}

#endif
