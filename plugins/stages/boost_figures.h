/* boost_figures.h - the named quantities of a solved boost power-factor stage. */
#ifndef BOOST_FIGURES_H
#define BOOST_FIGURES_H

#include "boost_parameters.h"
#include "boost_stress.h"

static inline void say(hl_stage_output *out, const char *name, const char *unit, double value)
{
    if (out->quantities < HL_QUANTITIES_MAX)
        out->quantity[out->quantities++] = (hl_quantity){name, unit, value};
}

static inline void say_one_cycle(const plan *p, double where, hl_stage_output *out)
{
    boost_cycle c;
    if (!cycle_at(p, fmax(where < 1.0 ? drive_at(p, LINE_QUARTER * where) : 1.0, 1e-9), &c)) return;
    say(out, "duty_ratio", "1", c.on / c.period);
    say(out, "inductor_ripple_current", "A", c.peak - c.valley);
    say(out, "inductor_current_peak_of_cycle", "A", c.peak);
    say(out, "switching_frequency_of_cycle", "Hz", 1.0 / c.period);
    if (p->mode == CONTINUOUS) return;
    say(out, "on_time", "s", p->unknown);
    if (where < 1.0) cycle_at(p, 1.0, &c);
    double crest = 1.0 / c.period;
    cycle_at(p, 1e-9, &c);
    say(out, "switching_frequency_minimum", "Hz", crest);
    say(out, "switching_frequency_maximum", "Hz", 1.0 / c.period);
}

/* What each half wave's rectifier carries: a diode of the bridge before the stage, or a slow-leg device. */
static const char *const bridge_names[3] = {"bridge_current_average", "bridge_current_rms",
                                            "bridge_current_rms_with_ripple"};
static const char *const slow_leg_names[3] = {"slow_leg_current_average", "slow_leg_current_rms",
                                              "slow_leg_current_rms_with_ripple"};

static inline void say_leg(const plan *p, const totals *t, bool bridgeless, double line, double ripple,
                           hl_stage_output *out)
{
    const char *const *name = bridgeless ? slow_leg_names : bridge_names;
    if (bridgeless) line = line / p->share; /* no filter between: the slow leg sees the packets */
    say(out, name[0], "A", 0.5 * p->phases * t->line_average);
    say(out, name[1], "A", sqrt(0.5 * line));
    say(out, name[2], "A", sqrt(0.5 * (line + ripple)));
    if (bridgeless)
        say(out, "fast_switch_current_rms", "A", sqrt(0.5 * (t->switch_square + t->rectifier_square)));
}

/* Packets are taken to be short beside the line, so that the input filter smooths their pauses: on the line
 * the current is `share` times that of the packets at any time. */
static inline void say_currents(const plan *p, const totals *t, bool bridgeless, double ripple_in,
                                double ripple_out, double peak, hl_stage_output *out)
{
    double phases = p->phases, line = p->share * phases * phases * t->line_square;
    double mean = phases * t->second[0], square = phases * phases * t->delivered_square;
    double slow = fmax(p->share * square - mean * mean, 0.0), packets = (1.0 - p->share) * square;
    say(out, "switch_current_rms", "A", sqrt(t->switch_square));
    say(out, "switch_current_average", "A", t->switch_average);
    say(out, "rectifier_current_average", "A", t->rectifier_average);
    say(out, "rectifier_current_rms", "A", sqrt(t->rectifier_square));
    say(out, "inductor_current_rms", "A", sqrt(t->switch_square + t->rectifier_square));
    say(out, "inductor_current_line_rms", "A", sqrt(t->line_square));
    say(out, "inductor_current_ripple_rms", "A", sqrt(t->ripple_square));
    say(out, "inductor_current_peak", "A", peak);
    say_leg(p, t, bridgeless, line, ripple_in, out);
    say(out, "input_current_rms", "A", sqrt(line));
    say(out, "input_ripple_current_rms", "A", sqrt(ripple_in));
    say(out, "output_capacitor_line_current_rms", "A", sqrt(slow));
    say(out, "output_capacitor_ripple_current_rms", "A", sqrt(ripple_out));
    say(out, "output_capacitor_current_rms", "A", sqrt(slow + packets + ripple_out));
    say(out, "turn_on_current_average", "A", t->turn_on);
    say(out, "turn_off_current_average", "A", t->turn_off);
    say(out, "turn_on_overlap_power_per_time", "W/s", t->turn_on_power);
    say(out, "turn_off_overlap_power_per_time", "W/s", t->turn_off_power);
    say(out, "turn_on_voltage_square_rate", "V^2/s", t->residual_power);
    say(out, "switching_frequency", "Hz", t->frequency);
    say(out, "burst_duty", "1", p->share);
    if (p->period > 0.0) say(out, "boundary_angle", "rad", p->border);
}

/* Hold-up: C (V^2 - Vmin^2) / 2 = P t. source: common practice of every PFC design guide; the energy in the
 * bulk. */
static inline void say_bus(const hl_stage_input *in, double vo, double power, double ripple,
                           hl_stage_output *out)
{
    double least = stated(&in->values[MINIMUM_BUS]), c = in->output_capacitance;
    say(out, "output_current", "A", power / vo);
    say(out, "output_voltage_ripple", "V", ripple);
    say(out, "output_voltage_minimum", "V", vo - 0.5 * ripple);
    if (!(least > 0.0) || !(c > 0.0) || !(power > 0.0)) return;
    double worst = vo - 0.5 * ripple;
    say(out, "hold_up_time", "s", fmax(0.0, 0.5 * c * (vo * vo - least * least) / power));
    say(out, "hold_up_time_from_valley", "s", fmax(0.0, 0.5 * c * (worst * worst - least * least) / power));
}

#endif
