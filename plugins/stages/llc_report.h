/* llc_report.h - what the stage answers: both sides, the stress of each slot, the named quantities. */
#ifndef LLC_REPORT_H
#define LLC_REPORT_H

#include "llc_circuit.h"
#include "llc_figures.h"
#include "llc_lines.h"
#include "llc_waves.h"
#include "mirror.h"
#include "stress_stretch.h"

/* A point solved.  A burst is two cycles: packets for `duty` of the time, then a pause. */
typedef struct llc_answer {
    const llc_point *point;
    const llc_circuits *all;
    const llc_half *half;
    llc_figures figures;
    llc_cuts cuts, whole;                                /* of curves with and without magnetizing current */
    hl_segment *curve[LLC_CURVES];                       /* one half period each, with room for the other */
    double duty;                                         /* 1, of time in which it switches */
    size_t cycles;                                       /* 1, or 2 in burst */
    const double *weight, *frequency, *double_frequency; /* [cycles] */
} llc_answer;

/* A per-cycle array: `value` while it switches, `paused` in the pause. */
static const double *llc_cycle_and_pause(const llc_answer *answer, double value, double paused,
                                         hl_scratch *scratch, bool *good)
{
    double *array = hl_scratch_take(scratch, answer->cycles * sizeof *array);
    if (!array) {
        *good = false;
        return NULL;
    }
    array[0] = value;
    if (answer->cycles > 1) array[1] = paused;
    return array;
}

/* The same with zero in the pause. */
static const double *llc_cycle(const llc_answer *answer, double value, hl_scratch *scratch, bool *good)
{
    return llc_cycle_and_pause(answer, value, 0.0, scratch, good);
}

static bool llc_cycles(llc_answer *answer, hl_scratch *scratch)
{
    bool good = true;
    double *weight = hl_scratch_take(scratch, 2 * sizeof *weight);
    if (!weight) return false;
    answer->cycles = answer->duty < 1.0 ? 2 : 1;
    weight[0] = answer->duty;
    weight[1] = 1.0 - answer->duty;
    answer->weight = weight;
    answer->frequency = llc_cycle(answer, answer->figures.frequency, scratch, &good);
    answer->double_frequency = llc_cycle(answer, 2.0 * answer->figures.frequency, scratch, &good);
    return good;
}

/* Room for one wave per cycle, the pause being the zero wave. */
static hl_wave *llc_waves(const llc_answer *answer, hl_scratch *scratch)
{
    hl_wave *wave = hl_scratch_take(scratch, answer->cycles * sizeof *wave);
    if (wave) memset(wave, 0, answer->cycles * sizeof *wave);
    return wave;
}

/* The curves that waves are made of, each written once. */
static bool llc_curves(llc_answer *answer, hl_scratch *scratch)
{
    llc_cut(answer->all, answer->half, &answer->cuts, &answer->whole);
    for (int j = 0; j < LLC_CURVES; j++) {
        size_t n = j == LLC_RECTIFIED ? answer->cuts.total : answer->whole.total;
        answer->curve[j] = hl_scratch_take(scratch, 2 * n * sizeof *answer->curve[j]);
        if (!answer->curve[j]) return false;
    }
    llc_write_curves(answer->all, answer->half, &answer->whole, &answer->cuts, answer->curve);
    return true;
}

/* Of a whole period: a share of a curve times `factor` in one half, another times `again` more in the other.
 */
static hl_wave *llc_period_waves(const llc_answer *answer, llc_curve curve, llc_share first, llc_share second,
                                 double factor, double again, hl_scratch *scratch)
{
    hl_wave *wave = llc_waves(answer, scratch);
    const llc_cuts *cuts = curve == LLC_RECTIFIED ? &answer->cuts : &answer->whole;
    hl_segment *segment = hl_scratch_take(scratch, 2 * cuts->total * sizeof *segment);
    if (!wave || !segment) return NULL;
    size_t n = llc_take_share(answer->half, cuts, first, factor, answer->curve[curve], segment);
    n += llc_take_share(answer->half, cuts, second, factor * again, answer->curve[curve], segment + n);
    wave[0] = (hl_wave){n, segment};
    return wave;
}

/* A whole curve times `factor`, the other half period mirrored; times one it stays where it is. */
static hl_wave *llc_whole_waves(const llc_answer *answer, llc_curve curve, double factor, hl_scratch *scratch)
{
    hl_wave *wave = llc_waves(answer, scratch);
    size_t n = answer->whole.total;
    hl_segment *segment = answer->curve[curve];
    if (factor != 1.0) segment = hl_scratch_take(scratch, 2 * n * sizeof *segment);
    if (!wave || !segment) return NULL;
    mirror_unfold(answer->curve[curve], n, factor, segment);
    wave[0] = (hl_wave){2 * n, segment};
    return wave;
}

static void llc_total(hl_stress *stress, const llc_answer *answer, double mean, double mean_square,
                      double peak)
{
    stress->total_average = answer->duty * mean;
    stress->total_rms = sqrt(answer->duty * fmax(mean_square, 0.0));
    stress->total_peak = answer->duty > 0 ? peak : 0.0;
}

static void llc_base(hl_stress *stress, const llc_answer *answer)
{
    stress->struct_size = sizeof *stress;
    stress->n = answer->cycles;
    stress->weight = answer->weight;
    stress->frequency = answer->frequency;
}

/* ---------------------------------------------------------------- switch -- */

/* Mean and mean square over the period of a body diode's current.  With an instant transition it is the
 * charge left over after the node has moved, spread over the rest of the dead time (common practice). */
static void llc_body(const llc_answer *answer, double *mean, double *square)
{
    const llc_figures *f = &answer->figures;
    *mean = f->frequency * f->body_charge;
    *square = f->frequency * f->body_square;
    if (llc_has_dead_time(answer->all)) return;
    double charge = fmax(f->charge_available - f->charge_required, 0.0);
    double span = fmax(answer->point->dead_time - f->transition_time, 0.0);
    if (!(answer->point->dead_time > 0) || !(charge > 0) || !(span > 0)) return;
    *mean = f->frequency * charge;
    *square = *mean * charge / span;
}

static bool llc_switch_stress(const llc_answer *answer, double count, hl_scratch *scratch, hl_stress *stress)
{
    const llc_figures *f = &answer->figures;
    double on = answer->half->half - (llc_has_dead_time(answer->all) ? answer->all->tank.dead_time : 0.0);
    double body_mean, body_square;
    llc_body(answer, &body_mean, &body_square);
    bool good = true;
    llc_base(stress, answer);
    double mean = f->frequency * f->on_charge / count;
    double square = f->frequency * f->on_square / (count * count);
    stress->current_average = llc_cycle(answer, mean, scratch, &good);
    stress->current_rms = llc_cycle(answer, sqrt(square), scratch, &good);
    stress->current_peak = llc_cycle(answer, f->resonant_peak / count, scratch, &good);
    stress->current_on = llc_cycle(answer, f->turn_on / count, scratch, &good);
    stress->current_off = llc_cycle(answer, fmax(f->turn_off, 0.0) / count, scratch, &good);
    stress->voltage_on = llc_cycle(answer, f->residual, scratch, &good);
    double input = answer->all->tank.input; /* in a pause two equal switches in series share it */
    stress->voltage_off = llc_cycle_and_pause(answer, input, 0.5 * input, scratch, &good);
    stress->reverse_average = llc_cycle(answer, body_mean / count, scratch, &good);
    stress->reverse_rms = llc_cycle(answer, sqrt(fmax(body_square, 0.0)) / count, scratch, &good);
    stress->charge_on = llc_cycle(answer, f->residual, scratch, &good);
    stress->duty = llc_cycle(answer, on * f->frequency, scratch, &good);
    stress->voltage_peak = answer->all->tank.input;
    llc_total(stress, answer, mean, square, f->resonant_peak / count);
    return good;
}

/* ------------------------------------------------------------- rectifier -- */

/* V: mean of the winding's voltage, secondary side, while no rectifier conducts: n v_m = L_m di_m/dt. */
static double llc_open_winding(const llc_answer *answer, double *open)
{
    const llc_half *half = answer->half;
    double moved = 0.0;
    *open = 0.0;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        if (stretch->sign) continue;
        moved += stretch->to[LLC_IM] - stretch->x[LLC_IM];
        *open += stretch->duration;
    }
    const llc_tank *tank = &answer->all->tank;
    return *open > 0.0 ? fabs(tank->magnetizing * moved / *open) / tank->ratio : 0.0;
}

/* Open, the one half of a centre tap blocks the output and the winding, the other the output less the
 * winding, and they change places in the next half period; in a bridge two diodes in series share the same,
 * taken as equal.  In the pause of a burst the winding has no voltage. */
static bool llc_rectifier_rests(const llc_answer *answer, hl_scratch *scratch, hl_stress *stress)
{
    double open, winding = llc_open_winding(answer, &open), each = answer->point->full_bridge ? 0.5 : 1.0;
    double output = answer->point->output_voltage, share[2] = {open * answer->figures.frequency, 0.0};
    double high[2] = {each * (output + winding), 0.0}, low[2] = {each * fmax(output - winding, 0.0), 0.0};
    const stress_stretch kind[2] = {{share, high}, {share, low}};
    return stress_tell_apart(stress, 2, kind, scratch);
}

static bool llc_rectifier_stress(const llc_answer *answer, double count, hl_scratch *scratch,
                                 hl_stress *stress)
{
    const llc_figures *f = &answer->figures;
    const llc_point *point = answer->point;
    bool good = true;
    llc_base(stress, answer);
    double mean = 0.5 * f->secondary_mean / count;
    double square = 0.5 * f->secondary_square / (count * count);
    double one = point->full_bridge ? 0.5 * point->tank.drop : point->tank.drop;
    double blocked = point->full_bridge ? point->output_voltage + one : 2.0 * point->output_voltage + one;
    stress->current_average = llc_cycle(answer, mean, scratch, &good);
    stress->current_rms = llc_cycle(answer, sqrt(fmax(square, 0.0)), scratch, &good);
    stress->current_peak = llc_cycle(answer, f->secondary_peak / count, scratch, &good);
    double still = (point->full_bridge ? 0.5 : 1.0) * point->output_voltage;
    stress->voltage_off = llc_cycle_and_pause(answer, blocked, still, scratch, &good);
    stress->slope_off = llc_cycle(answer, f->commutation_slope / count, scratch, &good);
    stress->duty = llc_cycle(answer, f->conduction * f->frequency, scratch, &good);
    stress->voltage_peak = blocked;
    llc_total(stress, answer, mean, square, f->secondary_peak / count);
    return good && llc_rectifier_rests(answer, scratch, stress);
}

/* ------------------------------------------------------------- capacitor -- */

/* Mean squares of the odd harmonics 1, 3, ... of the resonant current; by its wave where a line meets the
 * ringing. */
static bool llc_odd_lines(const llc_answer *answer, hl_scratch *scratch, double square[LLC_LINES])
{
    if (llc_resonant_lines(answer->half, square)) return true;
    const hl_wave *wave = llc_whole_waves(answer, LLC_RESONANT, 1.0, scratch);
    if (!wave) return false;
    double cosine[2 * LLC_LINES], sine[2 * LLC_LINES];
    hl_wave_fourier(wave, 2 * LLC_LINES, cosine, sine);
    for (int k = 0; k < LLC_LINES; k++)
        square[k] = 0.5 * (cosine[2 * k] * cosine[2 * k] + sine[2 * k] * sine[2 * k]);
    return true;
}

/* What its lines leave is booked at the last one. */
static bool llc_capacitor_stress(const llc_answer *answer, double count, hl_scratch *scratch,
                                 hl_stress *stress)
{
    const llc_figures *f = &answer->figures;
    double *frequency = hl_scratch_take(scratch, LLC_LINES * sizeof *frequency);
    double *square = hl_scratch_take(scratch, LLC_LINES * sizeof *square);
    if (!frequency || !square || !llc_odd_lines(answer, scratch, square)) return false;
    double scale = answer->duty / (count * count), rest = f->resonant_square;
    for (int k = 0; k < LLC_LINES; k++) {
        frequency[k] = (2 * k + 1) * f->frequency;
        rest -= square[k];
        square[k] *= scale;
    }
    if (rest > 0) square[LLC_LINES - 1] += scale * rest;
    llc_base(stress, answer);
    stress->lines = LLC_LINES;
    stress->line_frequency = frequency;
    stress->line_rms_squared = square;
    stress->voltage_dc = 0.5 * answer->all->tank.input;
    stress->voltage_peak = stress->voltage_dc + (answer->duty > 0 ? f->capacitor_peak : 0.0);
    llc_total(stress, answer, 0.0, f->resonant_square / (count * count), f->resonant_peak / count);
    return true;
}

/* -------------------------------------------------------------- magnetics -- */

static bool llc_inductor_stress(const llc_answer *answer, double count, hl_scratch *scratch,
                                hl_stress *stress)
{
    const llc_figures *f = &answer->figures;
    double inductance = answer->point->external_inductance; /* of all in parallel */
    llc_base(stress, answer);
    stress->windings = 1;
    stress->flux_voltage = llc_whole_waves(answer, LLC_SLOPE, inductance, scratch);
    stress->winding_current[0] = llc_whole_waves(answer, LLC_RESONANT, 1.0 / count, scratch);
    llc_total(stress, answer, 0.0, f->resonant_square / (count * count), f->resonant_peak / count);
    return stress->flux_voltage && stress->winding_current[0];
}

static bool llc_transformer_stress(const llc_answer *answer, double count, hl_scratch *scratch,
                                   hl_stress *stress)
{
    const llc_figures *f = &answer->figures;
    llc_base(stress, answer);
    stress->flux_voltage = llc_whole_waves(answer, LLC_CORE, 1.0, scratch);
    stress->winding_current[0] = llc_whole_waves(answer, LLC_RESONANT, 1.0 / count, scratch);
    llc_total(stress, answer, 0.0, f->resonant_square / (count * count), f->resonant_peak / count);
    /* Counted into the dotted ends, as the ABI wants: what a secondary delivers leaves its dot, but the
     * second half of a centre tap is wound on the other way round its dot. */
    if (answer->point->full_bridge) {
        stress->winding_current[1] =
            llc_period_waves(answer, LLC_RECTIFIED, LLC_SIGNED, LLC_SIGNED, -1.0 / count, -1.0, scratch);
        stress->windings = 2;
    } else {
        stress->winding_current[1] =
            llc_period_waves(answer, LLC_RECTIFIED, LLC_WITH, LLC_AGAINST, -1.0 / count, 1.0, scratch);
        stress->winding_current[2] =
            llc_period_waves(answer, LLC_RECTIFIED, LLC_AGAINST, LLC_WITH, 1.0 / count, 1.0, scratch);
        stress->windings = 3;
        if (!stress->winding_current[2]) return false;
    }
    return stress->flux_voltage && stress->winding_current[0] && stress->winding_current[1];
}

static bool llc_stresses(const hl_stage_input *in, const llc_answer *answer, hl_stage_output *out)
{
    hl_scratch *scratch = in->scratch;
    bool good =
        llc_switch_stress(answer, llc_parallel(in, LLC_SWITCH), scratch, &out->stress[LLC_SWITCH]) &&
        llc_rectifier_stress(answer, llc_parallel(in, LLC_RECTIFIER), scratch, &out->stress[LLC_RECTIFIER]) &&
        llc_transformer_stress(answer, llc_parallel(in, LLC_TRANSFORMER), scratch,
                               &out->stress[LLC_TRANSFORMER]);
    if (!good) return false;
    if (in->slot[LLC_INDUCTOR].count &&
        !llc_inductor_stress(answer, llc_parallel(in, LLC_INDUCTOR), scratch, &out->stress[LLC_INDUCTOR]))
        return false;
    return llc_capacitor_stress(answer, llc_parallel(in, LLC_CAPACITOR), scratch,
                                &out->stress[LLC_CAPACITOR]);
}

/* ------------------------------------------------------------------ sides -- */

/* W: by how much the power drawn and the power booked differ where both are right: rounding of the power that
 * circulates, and of what the output capacitor holds. */
static double llc_rounding(const llc_answer *answer)
{
    const llc_figures *f = &answer->figures;
    double circulating = answer->duty * answer->all->tank.input * sqrt(f->resonant_square);
    double voltage = answer->point->output_voltage;
    double held = answer->all->tank.output_capacitance * voltage * voltage * f->frequency;
    return 1e-10 * circulating + 1e-14 * held;
}

/* Whether the waveform carries the load itself; at no load it carries the least that can be told from none.
 */
static bool llc_carries(const llc_answer *answer, double output, double booked)
{
    double delivered = answer->point->output_voltage * answer->figures.secondary_mean * answer->duty;
    return fabs(delivered - output) <= 1e-9 * booked;
}

/* Power from the bus without extra loss: the charge the waveform draws, so that the book checks it; except
 * where both agree within rounding, or the load is below what a waveform can carry exactly: then the book. */
static double llc_drawn(const llc_answer *answer, double output, double loss)
{
    double drawn = answer->duty * answer->figures.input_power, booked = output + loss;
    bool own = llc_carries(answer, output, booked) && fabs(drawn - booked) > llc_rounding(answer);
    return own ? drawn : booked;
}

static bool llc_sides(const hl_stage_input *in, const llc_answer *answer, hl_stage_output *out)
{
    const llc_figures *f = &answer->figures;
    const llc_point *point = answer->point;
    hl_side *input = &out->input, *output = &out->output;
    output->voltage = point->output_voltage;
    output->current = point->load;
    output->power = point->output_voltage * point->load;
    double excess = 0.0;
    if (answer->all->tank.output_capacitance > 0) /* the ripple's own share of v^2 / R */
        excess = point->tank.load_conductance * f->output_square - output->power;
    out->circuit_loss = answer->duty * (f->primary_loss + f->secondary_loss + f->drop_loss + f->body_loss +
                                        f->closing_loss + f->capacitor_loss) +
                        excess;
    if (HL_REACHES(out, bus_circuit_loss)) out->bus_circuit_loss = answer->duty * f->capacitor_loss;
    input->voltage = in->input_voltage;
    input->power = llc_drawn(answer, output->power, out->circuit_loss) + in->extra_loss;
    input->current = input->power / input->voltage;
    input->current_peak = answer->duty > 0 ? f->resonant_peak : 0.0;
    input->voltage_peak = input->voltage;
    output->current_peak = answer->duty > 0 ? f->secondary_peak : 0.0;
    output->voltage_peak =
        fmax(output->voltage, answer->all->tank.output_capacitance > 0 ? f->output_highest : 0.0);
    input->cycles = output->cycles = answer->cycles;
    input->weight = output->weight = answer->weight;
    input->frequency = answer->frequency;
    output->frequency = answer->double_frequency;
    input->wave = llc_period_waves(answer, LLC_RESONANT, LLC_DRAWN, LLC_RETURNED, 1.0, 1.0, in->scratch);
    hl_wave *delivered_wave = llc_waves(answer, in->scratch);
    output->wave = delivered_wave;
    if (!input->wave || !delivered_wave) return false;
    delivered_wave[0] = (hl_wave){answer->cuts.total, answer->curve[LLC_RECTIFIED]};
    return true;
}

/* ------------------------------------------------------------- quantities -- */

static void llc_name(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

/* Root mean square over time, pauses included. */
static double llc_rms(const llc_answer *answer, double mean_square)
{
    return sqrt(answer->duty * fmax(mean_square, 0.0));
}

static void llc_name_currents(const llc_answer *answer, hl_stage_output *out)
{
    const llc_figures *f = &answer->figures;
    double mean = f->secondary_mean * answer->duty;
    double ripple = answer->all->tank.output_capacitance > 0
                        ? f->capacitor_square
                        : answer->duty * f->secondary_square - mean * mean;
    llc_name(out, "resonant_current_rms", "A", llc_rms(answer, f->resonant_square));
    llc_name(out, "resonant_current_peak", "A", f->resonant_peak);
    llc_name(out, "magnetizing_current_rms", "A", llc_rms(answer, f->magnetizing_square));
    llc_name(out, "magnetizing_current_peak", "A", f->magnetizing_peak);
    llc_name(out, "switch_current_rms", "A", llc_rms(answer, f->frequency * f->on_square));
    llc_name(out, "switch_current_turn_off", "A", f->turn_off);
    llc_name(out, "rectifier_current_average", "A", 0.5 * mean);
    llc_name(out, "rectifier_current_rms", "A", llc_rms(answer, 0.5 * f->secondary_square));
    llc_name(out, "rectifier_current_peak", "A", f->secondary_peak);
    llc_name(out, "secondary_current_rms", "A", llc_rms(answer, f->secondary_square));
    llc_name(out, "output_current_mean", "A", mean);
    llc_name(out, "output_capacitor_current_rms", "A", sqrt(fmax(ripple, 0.0)));
    llc_name(out, "resonant_capacitor_current_rms", "A", llc_rms(answer, f->resonant_square));
}

static void llc_name_voltages(const llc_answer *answer, hl_stage_output *out)
{
    const llc_figures *f = &answer->figures;
    const llc_tank *tank = &answer->all->tank;
    llc_name(out, "output_voltage_mean", "V", answer->point->output_voltage);
    llc_name(out, "output_voltage_ripple", "V", f->output_highest - f->output_lowest);
    llc_name(out, "resonant_capacitor_ac_voltage_peak", "V", f->capacitor_peak);
    llc_name(out, "resonant_capacitor_voltage_peak", "V", f->capacitor_peak + 0.5 * tank->input);
    llc_name(out, "tank_gain", "1",
             2.0 * tank->ratio * (answer->point->output_voltage + answer->point->tank.drop) / tank->input);
}

static void llc_name_losses(const llc_answer *answer, hl_stage_output *out)
{
    const llc_figures *f = &answer->figures;
    llc_name(out, "primary_conduction_loss", "W", answer->duty * f->primary_loss);
    llc_name(out, "secondary_conduction_loss", "W", answer->duty * f->secondary_loss);
    llc_name(out, "rectifier_drop_loss", "W", answer->duty * f->drop_loss);
    llc_name(out, "body_diode_loss", "W", answer->duty * f->body_loss);
    llc_name(out, "residual_charge_loss", "W", answer->duty * f->closing_loss);
    llc_name(out, "output_capacitor_loss", "W", f->capacitor_loss);
}

static void llc_name_commutation(const llc_answer *answer, hl_stage_output *out)
{
    const llc_figures *f = &answer->figures;
    double input = answer->all->tank.input;
    llc_name(out, "zero_voltage_charge_available", "C", f->charge_available);
    llc_name(out, "zero_voltage_charge_required", "C", f->charge_required);
    llc_name(out, "zero_voltage_switching", "1", f->residual > 1e-9 * input ? 0.0 : 1.0);
    llc_name(out, "zero_voltage_swing_fraction", "1", 1.0 - fmin(f->residual / input, 1.0));
    llc_name(out, "node_residual_voltage", "V", f->residual);
    llc_name(out, "transition_time", "s", f->transition_time);
}

static void llc_quantities(const llc_answer *answer, hl_stage_output *out)
{
    const llc_figures *f = &answer->figures;
    double series = answer->all->resonance / 6.283185307179586;
    llc_name(out, "switching_frequency", "Hz", f->frequency);
    llc_name(out, "series_resonance", "Hz", series);
    llc_name(out, "frequency_ratio", "1", f->frequency / series);
    llc_name(out, "burst_duty", "1", answer->duty);
    llc_name(out, "rectifier_conduction_fraction", "1", f->conduction / answer->half->half);
    llc_name_currents(answer, out);
    llc_name_voltages(answer, out);
    llc_name_losses(answer, out);
    llc_name_commutation(answer, out);
}

#endif
