/* flyback.c - flyback stage: one switch, one transformer, a rectifier, and a clamp for the leakage.
 *
 * Fixed frequency (discontinuous or continuous) or quasi-resonant with its valleys, solved exactly for the
 * load current; along the ripple of the input bus when there is one. docs/theory/flyback.md
 * source: R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, sect. 6.3.4 and ch.
 * 5; the exact currents by flyback_cycle.h */
#include <math.h>
#include <stddef.h>
#include <stdio.h>

#include "flyback_caution.h"
#include "flyback_report.h"
#include "refusal.h"

enum {
    MODE,
    FREQUENCY,
    VALLEY,
    MINIMUM_VALLEY,
    MAXIMUM_FREQUENCY,
    MINIMUM_FREQUENCY,
    DRAIN_CAPACITANCE,
    CLAMP,
    CLAMP_VOLTAGE,
    OUTPUT_VOLTAGE,
    MAXIMUM_DUTY,
    PEAK_CURRENT_LIMIT,
    BURST_PEAK_CURRENT,
    INPUT_RIPPLE,
    RIPPLE_CYCLES,
    DEAD_TIME,
    COMMUTATION_SLOPE,
    PARAMETERS
};
static const char *const modes[] = {"fixed_frequency", "quasi_resonant", NULL};
static const char *const clamps[] = {"stiff", "resistor", "active", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"mode", "1", HL_CHOICE, HL_DEFAULT, FLYBACK_FIXED, 0, 0, NULL, modes, "fixed_frequency: discontinuous or continuous by itself; quasi_resonant: turns on in a valley of the drain voltage", "controller's data sheet"},
    {"switching_frequency", "Hz", HL_NUMBER, 0, 0, 10e3, 2e6, NULL, NULL, "fixed_frequency: frequency at which the switch turns on", "controller's data sheet, or measured"},
    {"valley", "1", HL_NUMBER, HL_DEFAULT, 0, 0, 100, NULL, NULL, "quasi_resonant: valley in which the switch turns on; 0: the first that maximum_frequency allows", "measured"},
    {"minimum_valley", "1", HL_NUMBER, HL_DEFAULT, 1, 1, 100, NULL, NULL, "quasi_resonant, valley 0: no earlier valley than this", "controller's data sheet"},
    {"maximum_frequency", "Hz", HL_NUMBER, 0, 0, 20e3, 5e6, NULL, NULL, "quasi_resonant: the controller waits for a later valley rather than switch faster, 130 to 250 kHz as a rule; absent: the frequency rises without bound as the load falls", "controller's data sheet"},
    {"minimum_frequency", "Hz", HL_NUMBER, 0, 0, 100, 1e6, NULL, NULL, "quasi_resonant: lowest frequency the controller can make", "controller's data sheet"},
    {"drain_capacitance", "F", HL_NUMBER, 0, 0, 1e-12, 10e-9, NULL, NULL, "all capacitance at the drain: it makes the ring of quasi_resonant, and what switch and diode do not book of it is lost at turn-on; absent: charge of the switch over its voltage", "measured from the ring"},
    {"clamp", "1", HL_CHOICE, HL_DEFAULT, FLYBACK_STIFF, 0, 0, NULL, clamps, "stiff: a suppressor holds clamp_voltage, its loss heats the board; resistor: capacitor and resistor find their voltage, pulse by pulse (no clamp_capacitor: one so large that it stands); active: clamp_voltage, and the energy goes back to the input", "board"},
    {"clamp_voltage", "V", HL_NUMBER, 0, 0, 5, 1000, NULL, NULL, "stiff, active: drain above the input while the leakage resets, without the clamp diode", "marking of the suppressor, or measured"},
    {"output_voltage", "V", HL_NUMBER, 0, 0, 0.5, 400, NULL, NULL, "voltage it regulates to; absent: what the port asks", "feedback divider, or measured"},
    {"maximum_duty", "1", HL_NUMBER, HL_DEFAULT, 1, 0.05, 1, NULL, NULL, "largest on-time over period", "controller's data sheet"},
    {"peak_current_limit", "A", HL_NUMBER, 0, 0, 1e-3, 200, NULL, NULL, "primary peak current the controller cuts at", "threshold over sense resistor"},
    {"burst_peak_current", "A", HL_NUMBER, 0, 0, 1e-3, 100, NULL, NULL, "least primary peak current, a quarter of the largest as a rule; with less load the stage makes pulses of it with pauses between; absent: ever smaller pulses", "controller's data sheet, or measured"},
    {"input_ripple", "V", HL_NUMBER, HL_DEFAULT, 0, 0, 300, NULL, NULL, "peak-to-peak ripple of the input bus, about its mean, up and down in straight lines", "measured, or the rectifier stage's result"},
    {"ripple_cycles", "1", HL_NUMBER, HL_DEFAULT, FLYBACK_NODES_MAX, 1, FLYBACK_NODES_MAX, NULL, NULL, "cycles looked at along the ripple: up to 2, up to 4 or 8", "judgement"},
    {"dead_time", "s", HL_NUMBER, HL_DEFAULT, 0, 0, 2e-6, NULL, NULL, "synchronous rectifier: its body path conducts so long before and after its channel", "measured"},
    {"commutation_slope", "A/s", HL_NUMBER, HL_DEFAULT, 3e8, 1e6, 1e11, NULL, NULL, "di/dt of the rectifier at turn-on where no leakage limits it", "measured; 300 A/us is common practice"},
};

static const hl_slot slots[SLOTS] = {
    {"switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "primary switch", NULL},
    {"transformer", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "winding 0 primary, winding 1 secondary", NULL},
    {"rectifier", HL_FITS(HL_FAMILY_SWITCH) | HL_FITS(HL_FAMILY_DIODE), HL_REQUIRED, 1, "secondary diode, or synchronous switch", NULL},
    {"clamp_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "takes the clamp's energy", HL_KINDS("resistor")},
    {"clamp_capacitor", HL_FITS(HL_FAMILY_CAPACITOR), 0, 1, "holds the clamp voltage", NULL},
    {"clamp_diode", HL_FITS(HL_FAMILY_DIODE), 0, 1, "from the drain into the clamp", NULL},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "in series with the switch", HL_KINDS("resistor", "trace", "wire")},
};
/* clang-format on */

static double stated(const hl_value *value)
{
    return value->given && isfinite(value->number) ? value->number : 0.0;
}

/* ----------------------------------------------------------------- input -- */

/* F that takes the same charge up to V. */
static double by_charge(const hl_terminal *part, double volts)
{
    double charge = part->output_charge;
    return charge > 0.0 && isfinite(charge) && volts > 0.0 ? charge / volts : 0.0;
}

static hl_stage_status look_at_parts(const hl_stage_input *in, double output, flyback_plan *p,
                                     flyback_parts *parts, hl_stage_output *out)
{
    const hl_slot_view *slot = in->slot;
    for (int s = 0; s < SLOTS; s++) parts->count[s] = slot_filled(&slot[s]) ? slot[s].count : 0.0;
    hl_terminal core = slot_terminal(&slot[TRANSFORMER], 0.0), re = slot_terminal(&slot[RECTIFIER], output);
    hl_terminal diode = slot_terminal(&slot[CLAMP_DIODE], 0.0), sense = slot_terminal(&slot[SENSE], 0.0);
    double n = core.turns_ratio, rs = core.winding_resistance[1] + re.resistance;
    if (!(n > 0.0) || !isfinite(n) || !(core.inductance > 0.0) || !isfinite(core.inductance))
        return refuse(
            out,
            "the transformer of the flyback shows a turns ratio of %.4g and a primary inductance of "
            "%.4g H; it needs both",
            n, core.inductance);
    if (!(core.leakage >= 0.0 && core.leakage <= core.inductance))
        return refuse(out, "a leakage of %.4g H is not between none and the primary inductance of %.4g H",
                      core.leakage, core.inductance);
    double v0 = n * (output + re.voltage),
           leakage = core.leakage < 1e-7 * core.inductance ? 0.0 : core.leakage;
    hl_terminal sw = slot_terminal(&slot[SWITCH], in->input_voltage + v0);
    flyback_circuit c = {.input = in->input_voltage,
                         .magnetizing = core.inductance,
                         .leakage = leakage,
                         .ratio = n,
                         .on_resistance = core.winding_resistance[0] + sw.resistance + sense.resistance,
                         .winding = core.winding_resistance[0],
                         .clamp_path = diode.resistance,
                         .reflected = v0,
                         .reflected_resistance = n * n * rs};
    const double each[] = {sw.resistance, sense.resistance, c.winding,          c.clamp_path,         rs,
                           re.voltage,    diode.voltage,    sw.reverse_voltage, sw.reverse_resistance};
    for (size_t k = 0; k < sizeof each / sizeof *each; k++)
        if (!(each[k] >= 0.0 && isfinite(each[k])))
            return refuse(out,
                          "a part of the flyback shows a resistance or drop that is negative or no number; "
                          "check the parts in its slots");
    double capacitance = stated(&in->values[DRAIN_CAPACITANCE]);
    double own = by_charge(&sw, in->input_voltage + v0);
    parts->synchronous = parts->count[RECTIFIER] > 0.0 && slot[RECTIFIER].device->family == HL_FAMILY_SWITCH;
    if (!(capacitance > 0.0)) {
        capacitance = own;
    } else {
        double blocked = in->input_voltage / n + output;
        hl_terminal off = slot_terminal(&slot[RECTIFIER], blocked);
        double behind = by_charge(&off, blocked) / (n * n);
        p->others = fmax(capacitance - own - behind, 0.0);
    }
    p->node[0].circuit = c;
    p->node[0].tank = (flyback_tank){.input = c.input,
                                     .reflected = v0,
                                     .inductance = c.magnetizing + c.leakage,
                                     .capacitance = fmax(capacitance, 0.0),
                                     .resistance = c.winding,
                                     .body_drop = sw.reverse_voltage,
                                     .body_resistance = sw.reverse_resistance};
    p->losses = (flyback_losses){.secondary_resistance = rs, .drop = re.voltage, .clamp_drop = diode.voltage};
    parts->rectifier = &slot[RECTIFIER];
    parts->dead_time = fmax(stated(&in->values[DEAD_TIME]), 0.0);
    return HL_STAGE_SOLVED;
}

static hl_stage_status look_at_clamp(const hl_stage_input *in, flyback_plan *p, hl_stage_output *out)
{
    const flyback_circuit *c = &p->node[0].circuit;
    p->clamp = (int)stated(&in->values[CLAMP]);
    p->clamp_resistance = slot_terminal(&in->slot[CLAMP_RESISTOR], 0.0).resistance;
    p->clamp_voltage = stated(&in->values[CLAMP_VOLTAGE]);
    if (!flyback_leaks(c)) {
        p->clamp = FLYBACK_STIFF;
        return HL_STAGE_SOLVED; /* nothing for it to do */
    }
    if (p->clamp == FLYBACK_RESISTOR) {
        /* what a biased capacitor has at 1.5 times the reflected voltage, where clamps stand: common
         * practice, no source */
        double c1 = slot_terminal(&in->slot[CLAMP_CAPACITOR], 1.5 * c->reflected).capacitance;
        p->clamp_capacitance = c1 > 0.0 && isfinite(c1) ? c1 : 0.0;
        if (p->clamp_resistance > 0.0 && isfinite(p->clamp_resistance)) return HL_STAGE_SOLVED;
        return refuse(out,
                      "a resistor clamp needs a clamp_resistor (%.4g ohm is there); fill that slot, or "
                      "choose another clamp",
                      p->clamp_resistance);
    }
    double least = flyback_least_clamp(c);
    if (!(p->clamp_voltage > 0.0))
        return refuse(
            out,
            "the clamp needs a clamp_voltage above the reflected output voltage of %.4g V; state it, "
            "or choose the resistor clamp",
            c->reflected);
    if (!(p->clamp_voltage + p->losses.clamp_drop > least * (1.0 + 1e-9)))
        return refuse(
            out,
            "the clamp at %.4g V is not above the reflected output voltage, %.4g V with the "
            "leakage: no current would reach the secondary; raise the clamp or lower the turns ratio",
            p->clamp_voltage + p->losses.clamp_drop, least);
    return HL_STAGE_SOLVED;
}

static hl_stage_status look_at_control(const hl_stage_input *in, flyback_plan *p, hl_stage_output *out)
{
    const hl_value *v = in->values;
    double f = stated(&v[FREQUENCY]), most = stated(&v[MAXIMUM_FREQUENCY]);
    p->mode = (int)stated(&v[MODE]);
    if (p->mode == FLYBACK_FIXED && !(f > 0.0))
        return refuse(
            out,
            "a fixed-frequency flyback does not run at a switching_frequency of %.4g Hz; state a higher one",
            f);
    p->period = f > 0.0 ? 1.0 / f : 0.0;
    bool asked = HL_REACHES(in, border_shift);
    p->border_shift = asked && p->mode == FLYBACK_RESONANT ? in->border_shift : 0.0;
    p->shortest = most > 0.0 ? (1.0 + p->border_shift) / most : 0.0;
    double valley = round(stated(&v[VALLEY])), least = round(stated(&v[MINIMUM_VALLEY]));
    p->valley = valley >= 1.0 && valley < 1e6 ? (int)valley : 0;
    p->minimum_valley = least >= 2.0 && least < 1e6 ? (int)least : 1;
    p->burst_peak = fmax(stated(&v[BURST_PEAK_CURRENT]), 0.0);
    p->default_slope = fmax(stated(&v[COMMUTATION_SLOPE]), 0.0);
    return HL_STAGE_SOLVED;
}

/* Nodes along the ripple: a bus that goes up and down in straight lines is at every voltage equally long.
 * source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 25.4.30 */
static hl_stage_status look_along_ripple(const hl_stage_input *in, flyback_plan *p, hl_stage_output *out)
{
    double ripple = stated(&in->values[INPUT_RIPPLE]), mean = in->input_voltage;
    double wanted = round(stated(&in->values[RIPPLE_CYCLES]));
    p->n = 1;
    p->node[0].weight = 1.0;
    if (!(ripple > 1e-6 * mean) || wanted < 2.0) return HL_STAGE_SOLVED;
    if (!(0.5 * ripple < 0.95 * mean))
        return refuse(out, "an input ripple of %.4g V does not fit on a bus of %.4g V; lower input_ripple",
                      ripple, mean);
    size_t n = wanted < 3.0 ? 2 : wanted < 5.0 ? 4 : 8;
    static const double node[3][4] = {
        {0.577350269189625765},
        {0.339981043584856265, 0.861136311594052575},
        {0.183434642495649805, 0.525532409916328986, 0.796666477413626740, 0.960289856497536232}};
    static const double weight[3][4] = {
        {0.5},
        {0.326072577431273071, 0.173927422568726929},
        {0.181341891689180991, 0.156853322938943644, 0.111190517226687235, 0.050614268145188130}};
    size_t row = n == 2 ? 0 : n == 4 ? 1 : 2;
    flyback_node model = p->node[0];
    for (size_t k = 0; k < n; k++) {
        size_t at = k < n / 2 ? n / 2 - 1 - k : k - n / 2;
        double x = (k < n / 2 ? -1.0 : 1.0) * node[row][at];
        p->node[k] = model;
        p->node[k].circuit.input = p->node[k].tank.input = mean + 0.5 * ripple * x;
        p->node[k].weight = weight[row][at];
    }
    p->n = n;
    return HL_STAGE_SOLVED;
}

static hl_stage_status look_at_input(const hl_stage_input *in, flyback_plan *p, flyback_parts *parts,
                                     double *output, hl_stage_output *out)
{
    const hl_value *wanted = &in->values[OUTPUT_VOLTAGE];
    *output = wanted->given ? wanted->number : in->output_voltage;
    if (!(*output > 0.0) || !isfinite(*output))
        return refuse(out,
                      "nothing says which voltage the flyback gives; state its output_voltage, or let a port "
                      "ask for one");
    if (!(in->input_voltage > 0.0) || !isfinite(in->input_voltage))
        return refuse(out, "no input voltage is there (%.4g V); check what feeds it", in->input_voltage);
    if (!(in->load.current >= 0.0) || !isfinite(in->load.current) || !isfinite(in->extra_loss))
        return refuse(out, "the load of the flyback is no number, or negative (%.4g A)", in->load.current);
    p->load = in->load.current;
    hl_stage_status status = look_at_parts(in, *output, p, parts, out);
    if (status == HL_STAGE_SOLVED) status = look_at_control(in, p, out);
    if (status == HL_STAGE_SOLVED) status = look_at_clamp(in, p, out);
    if (status == HL_STAGE_SOLVED) status = look_along_ripple(in, p, out);
    return status;
}

/* ----------------------------------------------------------------- limits -- */

static hl_stage_status no_solution(const flyback_plan *p, size_t at, double output, hl_stage_output *out)
{
    const flyback_circuit *c = &p->node[at].circuit;
    if (p->mode == FLYBACK_RESONANT && p->node[at].tank.capacitance > 0.0) {
        const flyback_tank *k = &p->node[at].tank;
        double most = 2.0 * sqrt(k->inductance / k->capacitance);
        if (k->resistance >= most)
            return refuse(out,
                          "the drain does not ring: %.4g ohm in the winding, %.4g ohm end the ring; there "
                          "are no valleys to turn on in",
                          k->resistance, most);
    }
    snprintf(
        out->reason.text, sizeof out->reason.text,
        "no steady cycle delivers %.4g A at %.4g V from %.4g V: the primary loop of %.3g ohm takes up the "
        "input at %.4g A; lower the load or the resistances, or raise the input",
        p->load, output, c->input, c->on_resistance,
        c->on_resistance > 0.0 ? c->input / c->on_resistance : 0.0);
    return HL_STAGE_INFEASIBLE;
}

static hl_stage_status check_limits(const hl_stage_input *in, const flyback_plan *p, hl_stage_output *out)
{
    double limit = stated(&in->values[PEAK_CURRENT_LIMIT]), duty = stated(&in->values[MAXIMUM_DUTY]);
    double most = stated(&in->values[MAXIMUM_FREQUENCY]), least = stated(&in->values[MINIMUM_FREQUENCY]);
    out->headroom_name = limit > 0.0 ? "peak current" : "duty ratio";
    out->headroom_unit = limit > 0.0 ? "A" : "1";
    out->headroom_limit = limit > 0.0 ? limit : duty;
    for (size_t n = 0; n < p->n; n++) {
        const flyback_cycle *k = &p->node[n].cycle;
        double on = (k->commutation + k->rise) / k->period, v = p->node[n].circuit.input;
        if (limit > 0.0 && !(k->peak <= limit))
            return refuse(
                out,
                "needs a primary peak current of %.4g A at %.4g V but the controller cuts at %.4g A; "
                "lower the load or raise the input or peak_current_limit",
                k->peak, v, limit);
        if (duty > 0.0 && !(on <= duty * (1.0 + 1e-12)))
            return refuse(
                out,
                "needs a duty ratio of %.4g at %.4g V but the controller makes at most %.4g; lower the "
                "load or raise the input or maximum_duty",
                on, v, duty);
        if (p->mode == FLYBACK_RESONANT && most > 0.0 && !(1.0 <= most * k->period * (1.0 + 1e-9)))
            return refuse(
                out,
                "valley %.0f comes at %.4g kHz but the controller switches at most at %.4g kHz; choose a "
                "later valley, or valley 0",
                (double)p->node[n].ring.valley, 1e-3 / k->period, 1e-3 * most);
        if (p->mode == FLYBACK_RESONANT && least > 0.0 && !(1.0 >= least * k->period * (1.0 - 1e-9)))
            return refuse(
                out,
                "needs a frequency of %.4g kHz at %.4g V but the controller switches at least at %.4g "
                "kHz; lower the load, raise the input or lower the inductance",
                1e-3 / k->period, v, 1e-3 * least);
        out->headroom_value = fmax(out->headroom_value, limit > 0.0 ? k->peak : on);
    }
    return HL_STAGE_SOLVED;
}

/* ------------------------------------------------------------------ solve -- */

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    double output;
    flyback_parts parts = {0};
    flyback_plan *p = hl_scratch_take(in->scratch, sizeof *p);
    if (!p) return HL_STAGE_NO_MEMORY;
    memset(p, 0, sizeof *p);
    hl_stage_status status = look_at_input(in, p, &parts, &output, out);
    if (status != HL_STAGE_SOLVED) return status;
    if (!(p->load > 0.0)) {
        flyback_rest(in, output, out);
        return HL_STAGE_SOLVED;
    }
    size_t at = 0;
    if (!flyback_plan_solve(p, in->memory, &at)) return no_solution(p, at, output, out);
    status = check_limits(in, p, out);
    if (status != HL_STAGE_SOLVED) return status;
    flyback_answer *a = hl_scratch_take(in->scratch, sizeof *a);
    if (!a) return HL_STAGE_NO_MEMORY;
    memset(a, 0, offsetof(flyback_answer, segment));
    flyback_begin(p, parts.count[TRANSFORMER], a);
    if (!flyback_stresses(p, &parts, output, in->scratch, a, out->stress)) return HL_STAGE_NO_MEMORY;
    flyback_report(in, p, &parts, output, a, out);
    flyback_warn_of_control(p, flyback_highest_frequency(p), out);
    flyback_warn_of_jumps(p, out);
    flyback_warn_of_clamp(p, out);
    flyback_warn_of_windings(slot_terminal(&in->slot[TRANSFORMER], 0.0).windings, out);
    return HL_STAGE_SOLVED;
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_DC,
    .output = HL_DC,
    .regulates = true,
    .memory_size = sizeof(flyback_kept),
    .scratch_size = sizeof(flyback_plan) + sizeof(flyback_answer) + FLYBACK_STRETCH_SCRATCH + 64,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "flyback",
    .title = "flyback stage, fixed frequency or quasi-resonant",
    .source = "R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 5 and 6",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("flyback", "0.1.0", "heatledger", "MIT", &model);
