/* transistor_loss.h - channel, reverse path, edges, gate and leakage of a prepared transistor; transistor.h
 * says what is booked where. */
#ifndef TRANSISTOR_LOSS_H
#define TRANSISTOR_LOSS_H

#include "transistor.h"

/* --------------------------------------------------------------- states -- */

/* ohm at T, and its derivative. Power law: lattice-limited mobility ~ T^-n, S. M. Sze, Physics of
 * Semiconductor Devices, ch. 1; n = 2.4 for electrons in silicon, less where channel and package add. */
static inline double on_resistance_at(const transistor *t, double temperature, double *slope, bool *outside)
{
    double r = t->r25 * t->channel_factor;
    if (t->factor.n) {
        double rate, f = hl_curve_at(&t->factor, temperature, &rate, outside);
        *slope = r * rate;
        return r * f;
    }
    double warm = cycle_larger(temperature, 50.0); /* K: a search for temperatures may pass by anywhere */
    double f = pow(warm / reference_temperature, t->exponent);
    *slope = temperature > 50.0 ? r * f * t->exponent / warm : 0.0;
    return r * f;
}

/* V at T; held at 0.1 V so that no temperature makes it a source. */
static inline double reverse_voltage_at(const transistor *t, double temperature, double *slope)
{
    double v = t->reverse_voltage + t->reverse_coefficient * (temperature - reference_temperature);
    double least = cycle_smaller(0.1, t->reverse_voltage);
    *slope = v > least ? t->reverse_coefficient : 0.0;
    return cycle_larger(v, least);
}

static inline void transistor_present(const transistor *t, double temperature, double voltage,
                                      hl_terminal *terminal)
{
    double slope;
    terminal->resistance = on_resistance_at(t, temperature, &slope, NULL);
    terminal->reverse_voltage = reverse_voltage_at(t, temperature, &slope);
    terminal->reverse_resistance = t->reverse_follows_channel ? terminal->resistance : t->reverse_resistance;
    charge_at c = charge_at_voltage(&t->output, fabs(voltage));
    terminal->output_charge = c.charge;
    terminal->output_energy = c.energy;
    terminal->rated_voltage = t->rated_voltage;
    terminal->rated_current = t->rated_current;
    if (!t->table_on.energy.n || !HL_REACHES(terminal, turn_on_first)) return;
    terminal->turn_on_table = 1.0;
    terminal->turn_on_first = fmax(t->table_on.energy.x[0], 0.0);
}

/* --------------------------------------------------------------- losses -- */

static inline void channel_loss(const transistor *t, const hl_stress *s, double temperature, hl_loss *out)
{
    double slope, reverse_slope;
    bool outside = false;
    double square = s->current_rms ? cycle_mean_square(s, s->current_rms) : s->total_rms * s->total_rms;
    double back = fabs(cycle_mean(s, s->reverse_average)), back_square = cycle_mean_square(s, s->reverse_rms);
    double r = on_resistance_at(t, temperature, &slope, &outside);
    double drop = reverse_voltage_at(t, temperature, &reverse_slope);
    double reverse_r = t->reverse_follows_channel ? r : t->reverse_resistance;
    out->watts[HL_CONDUCTION] += r * square;
    out->watts[HL_REVERSE_CONDUCTION] += drop * back + reverse_r * back_square;
    out->slope += slope * square + reverse_slope * back;
    if (t->reverse_follows_channel) out->slope += slope * back_square;
    if (square > 0.0 && outside) out->flags |= HL_OUTSIDE_CURVE;
    if (square > 0.0 && !t->factor.n) out->flags |= HL_FALLBACK;
}

static inline double leakage_power(const transistor *t, const hl_stress *s, double temperature, double *slope)
{
    double sum = 0.0;
    for (size_t k = 0; s->voltage_off && s->weight && k < s->n; k++)
        sum += s->weight[k] * fabs(s->voltage_off[k]) * (1.0 - cycle_smaller(hl_stress_at(s->duty, k), 1.0));
    double exponent = cycle_smaller(t->leakage_rate * (temperature - t->leakage_temperature), 60.0);
    double power = t->leakage * exp(exponent) * sum;
    *slope = exponent < 60.0 ? power * t->leakage_rate : 0.0;
    return power;
}

/* Sums over the cycles, W. */
typedef struct edge_sums {
    double on, off, charge;
    double left; /* to the diode that is turned off, beside a table */
} edge_sums;

/* Charges of one block: own energy lost at turn-on, co-energy of the opposite device, charge at turn-off.
 * Voltages repeat from cycle to cycle in most stages, so the last answer is kept. */
static inline void block_charges(const transistor *t, const double v_on[], const double v_off[],
                                 const double swing[], size_t n, double own[], double opposite[],
                                 double charge[])
{
    double last_on = 0.0, last_off = 0.0, last_swing = 0.0, energy = 0.0, co = 0.0;
    charge_at off = {0.0, 0.0};
    for (size_t k = 0; k < n; k++) {
        bool other = v_off[k] != last_off;
        if (other) off = charge_at_voltage(&t->output, v_off[k]);
        if (v_on[k] != last_on)
            energy = v_on[k] == v_off[k] ? off.energy : charge_at_voltage(&t->output, v_on[k]).energy;
        if (swing[k] != last_swing || (other && swing[k] > 0.0))
            co = charge_co_energy(&t->output, v_off[k], &off, swing[k]);
        last_on = v_on[k], last_off = v_off[k], last_swing = swing[k];
        own[k] = energy;
        opposite[k] = co;
        charge[k] = off.charge;
    }
}

static inline void block_overlap(const transistor *t, const hl_stress *s, size_t first, size_t n,
                                 edge_sums *sums)
{
    const double *w = cycle_array(s->weight, first), *f = cycle_array(s->frequency, first);
    const double *i_on = cycle_array(s->current_on, first), *i_off = cycle_array(s->current_off, first);
    const double *v_on = cycle_array(s->voltage_on, first), *v_off = cycle_array(s->voltage_off, first);
    const double *swing = cycle_array(s->charge_on, first), *rate = cycle_array(s->slope_off, first);
    double own[CYCLES_IN_BLOCK], opposite[CYCLES_IN_BLOCK], charge[CYCLES_IN_BLOCK];
    block_charges(t, v_on, v_off, swing, n, own, opposite, charge);
    double on[CYCLES_IN_BLOCK], off[CYCLES_IN_BLOCK], shunting = t->textbook_turn_off ? 0.0 : 1.0;
    for (size_t k = 0; k < n; k++) { /* no sum and no branch in it, so that it becomes vector code */
        double wf = w[k] * f[k], von = cycle_larger(v_on[k], 0.0), voff = cycle_larger(v_off[k], 0.0);
        double ion = cycle_larger(i_on[k], 0.0), forward = cycle_larger(i_off[k], 0.0);
        double ioff = rate[k] > 0.0 ? 0.0 : forward;
        on[k] = wf * gate_overlap(&t->on, von, ion);
        off[k] = wf * gate_turn_off(&t->off, voff, ioff, shunting * charge[k]);
    }
    for (size_t k = 0; k < n; k++) {
        sums->on += on[k];
        sums->off += off[k];
        sums->charge += w[k] * f[k] * (own[k] + opposite[k]);
    }
}

static inline void block_table(const transistor *t, const hl_stress *s, size_t first, size_t n,
                               edge_sums *sums, bool *outside)
{
    const double *w = cycle_array(s->weight, first), *f = cycle_array(s->frequency, first);
    const double *i_on = cycle_array(s->current_on, first), *i_off = cycle_array(s->current_off, first);
    const double *v_on = cycle_array(s->voltage_on, first), *v_off = cycle_array(s->voltage_off, first);
    const double *swing = cycle_array(s->charge_on, first), *rate = cycle_array(s->slope_off, first);
    double own[CYCLES_IN_BLOCK], opposite[CYCLES_IN_BLOCK], charge[CYCLES_IN_BLOCK], share;
    block_charges(t, v_on, v_off, swing, n, own, opposite, charge);
    for (size_t k = 0; k < n; k++) {
        double wf = w[k] * f[k], ioff = rate[k] > 0.0 ? 0.0 : i_off[k];
        double stored = charge_at_voltage(&t->output, v_off[k]).energy;
        double off = energy_from_table(&t->table_off, ioff, v_off[k], &share, outside);
        sums->off += wf * cycle_larger(off - share * stored, 0.0);
        sums->on += wf * energy_from_table(&t->table_on, i_on[k], v_on[k], &share, outside);
        sums->left +=
            wf * energy_left_to_diode(&t->table_recovery, &t->table_on, i_on[k], v_on[k], share, outside);
        sums->charge += wf * (own[k] + (1.0 - share) * opposite[k]);
    }
}

/* Whether the table of the switch that turns this one off holds it is the stage's to know: it then tells of
 * no current here (stages/partner_charge.h). */
static inline double recovered_power(const transistor *t, const hl_stress *s)
{
    double sum = 0.0;
    if (!(t->recover.life_time > 0.0) || !s->current_off || !s->weight) return 0.0;
    for (size_t k = 0; k < s->n; k++) {
        double rate = hl_stress_at(s->slope_off, k), i = s->current_off[k];
        double reverse = rate > 0.0 ? fabs(i) : cycle_larger(-i, 0.0);
        sum += s->weight[k] * recovery_power(&t->recover, reverse, rate, hl_stress_at(s->voltage_off, k),
                                             hl_stress_at(s->frequency, k));
    }
    return sum;
}

static inline void edge_loss(const transistor *t, const hl_stress *s, double temperature, hl_loss *out)
{
    edge_sums sums = {0};
    bool outside = false, table = t->table_on.energy.n > 0;
    for (size_t first = 0; first < s->n; first += CYCLES_IN_BLOCK) {
        if (table)
            block_table(t, s, first, cycle_count(s, first), &sums, &outside);
        else
            block_overlap(t, s, first, cycle_count(s, first), &sums);
    }
    double rate = t->energy_coefficient, factor = 1.0, recovery_rate;
    if (table) factor = 1.0 + rate * (temperature - t->energy_temperature);
    if (!(factor > 0.1)) factor = 0.1, rate = 0.0;
    double back = recovered_power(t, s);
    double back_factor = recovery_factor(&t->recover, temperature, &recovery_rate);
    out->watts[HL_TURN_ON] += sums.on * factor;
    out->watts[HL_TURN_OFF] += sums.off * factor;
    out->watts[HL_OUTPUT_CHARGE] += sums.charge;
    out->watts[HL_REVERSE_RECOVERY] += back * back_factor + sums.left * factor;
    out->slope += back * recovery_rate;
    if (table) out->slope += rate * (sums.on + sums.off + sums.left);
    if (outside) out->flags |= HL_OUTSIDE_CURVE;
    if (!table && t->no_gate_data && cycle_highest(s, s->voltage_off) > 0.0 &&
        cycle_mean(s, s->frequency) > 0.0)
        out->flags |= HL_FALLBACK;
    if (t->output.pieces && cycle_highest(s, s->voltage_off) > t->output.piece[t->output.pieces - 1].v &&
        sums.charge + sums.off > 0.0)
        out->flags |= HL_OUTSIDE_CURVE;
    if (t->no_output_data && cycle_highest(s, s->voltage_on) > 0.0) out->flags |= HL_FALLBACK;
}

static inline void transistor_loss(const transistor *t, const hl_stress *s, double temperature, hl_loss *out)
{
    channel_loss(t, s, temperature, out);
    edge_loss(t, s, temperature, out);
    out->watts[HL_GATE_DRIVE] += t->gate_energy * cycle_mean(s, s->frequency);
    if (t->leakage > 0.0) {
        double slope;
        out->watts[HL_LEAKAGE] += leakage_power(t, s, temperature, &slope);
        out->slope += slope;
    }
}

static inline size_t transistor_limits(const transistor *t, const hl_stress *s, hl_limit limits[])
{
    size_t n = 0;
    double blocked = cycle_larger(cycle_highest(s, s->voltage_off), s->voltage_peak);
    double forward = s->current_rms ? cycle_mean_square(s, s->current_rms) : s->total_rms * s->total_rms;
    double peak = cycle_larger(cycle_highest(s, s->current_peak), fabs(s->total_peak));
    double all = sqrt(forward + cycle_mean_square(s, s->reverse_rms));
    limits[n++] = (hl_limit){"drain voltage", "V", blocked, t->rated_voltage};
    if (t->rated_current > 0.0) limits[n++] = (hl_limit){"drain current", "A", all, t->rated_current};
    if (t->rated_pulse > 0.0) limits[n++] = (hl_limit){"peak drain current", "A", peak, t->rated_pulse};
    return n;
}

#endif
