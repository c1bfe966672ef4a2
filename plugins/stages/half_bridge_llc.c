/* half_bridge_llc.c - half-bridge LLC converter, exact periodic solution.
 *
 * The tank is solved as linear circuits joined at the instants the rectifier starts or stops conducting and
 * the node leaves or meets a rail; Newton closes the half wave upon itself at the frequency that carries the
 * load.  No first-harmonic assumption enters the answer (it only starts the search).  Equations, sources
 * and limits: docs/theory/llc.md. */
#include "llc_memory.h"
#include "llc_report.h"
#include "llc_search.h"

static const char *const secondaries[] = {"centre_tapped", "full_bridge", NULL};
static const char *const transitions[] = {"dead_time", "instant", NULL};
static const char *const output_models[] = {"stiff", "capacitor", NULL};
static const char *const light_loads[] = {"burst", "continuous", NULL};

/* clang-format off */
static const hl_parameter parameters[LLC_PARAMETERS] = {
    [LLC_SECONDARY] = {"secondary", "1", HL_CHOICE, HL_DEFAULT, LLC_CENTRE_TAPPED, 0, 0, NULL, secondaries,
        "two half windings with two rectifiers, or one winding with four", "board and transformer"},
    [LLC_OUTPUT_VOLTAGE] = {"output_voltage", "V", HL_NUMBER, 0, 0, 0.5, 1000, NULL, NULL,
        "voltage held at the output; otherwise what the port asks for", "feedback divider or label"},
    [LLC_DEAD_TIME] = {"dead_time", "s", HL_NUMBER, HL_DEFAULT, 250e-9, 0, 5e-6, NULL, NULL,
        "both switches off, once per half period", "controller data sheet or oscilloscope"},
    [LLC_TRANSITION] = {"transition", "1", HL_CHOICE, HL_DEFAULT, 0, 0, 0, NULL, transitions,
        "solve the node voltage through the dead time, or let it flip at once and judge by charge only",
        "choice of accuracy"},
    [LLC_OUTPUT_MODEL] = {"output_model", "1", HL_CHOICE, HL_DEFAULT, 0, 0, 0, NULL, output_models,
        "output voltage without ripple, or the bus capacitor with its ESR in the waveform",
        "choice of accuracy: capacitor where the ripple is above about 1 % of the voltage"},
    [LLC_MINIMUM_FREQUENCY] = {"minimum_frequency", "Hz", HL_NUMBER, 0, 0, 1e3, 5e6, NULL, NULL,
        "the controller goes no lower; more load is out of reach", "controller data sheet"},
    [LLC_MAXIMUM_FREQUENCY] = {"maximum_frequency", "Hz", HL_NUMBER, 0, 0, 1e3, 2e7, NULL, NULL,
        "the controller goes no higher; less load is carried in packets", "controller data sheet"},
    [LLC_LIGHT_LOAD] = {"light_load", "1", HL_CHOICE, HL_DEFAULT, 0, 0, 0, NULL, light_loads,
        "switch in packets below burst_current or above maximum_frequency, or never stop",
        "controller data sheet"},
    [LLC_BURST_CURRENT] = {"burst_current", "A", HL_NUMBER, 0, 0, 1e-4, 1000, NULL, NULL,
        "load current of a packet: below it the stage switches part of the time", "oscilloscope at light load"},
};

static const hl_slot slots[LLC_SLOTS] = {
    [LLC_SWITCH] = {"switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 2, "upper and lower switch of the half bridge", NULL},
    [LLC_INDUCTOR] = {"resonant_inductor", HL_FITS(HL_FAMILY_MAGNETIC), 0, 1,
        "separate series inductor; empty when the transformer's leakage does it alone", NULL},
    [LLC_CAPACITOR] = {"resonant_capacitor", HL_FITS(HL_FAMILY_CAPACITOR), HL_REQUIRED, 1, "in series with the tank", NULL},
    [LLC_TRANSFORMER] = {"transformer", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1,
        "primary, then one secondary or both half windings", NULL},
    [LLC_RECTIFIER] = {"rectifier", HL_FITS(HL_FAMILY_SWITCH) | HL_FITS(HL_FAMILY_DIODE), 0, 4,
        "synchronous switches or diodes; empty: ideal", NULL},
};
/* clang-format on */

static unsigned positions(const hl_value *values, size_t slot)
{
    if (slot != LLC_RECTIFIER) return slots[slot].positions;
    bool full = values[LLC_SECONDARY].given && values[LLC_SECONDARY].number == LLC_FULL_BRIDGE;
    return full ? 4 : 2;
}

static bool prepare(const hl_value *values, hl_reason *reason)
{
    const hl_value *low = &values[LLC_MINIMUM_FREQUENCY], *high = &values[LLC_MAXIMUM_FREQUENCY];
    if (!low->given || !high->given || low->number < high->number) return true;
    snprintf(reason->text, sizeof reason->text,
             "minimum_frequency %.6g kHz is not below maximum_frequency %.6g kHz", low->number / 1e3,
             high->number / 1e3);
    return false;
}

/* ---------------------------------------------------------------- reasons -- */

static void say_beyond(const llc_point *point, const llc_circuits *all, const llc_peak *peak,
                       hl_reason *reason)
{
    double scale = 2.0 * all->tank.ratio / all->tank.input;
    double needed = scale * (point->output_voltage + point->tank.drop);
    char best[64] = "";
    if (peak->voltage > 0)
        snprintf(best, sizeof best, "at most %.4g (at %.4g kHz)", scale * peak->voltage,
                 0.5e-3 / peak->voltage_half);
    else
        snprintf(best, sizeof best, "only %.4g A at that gain", peak->current);
    snprintf(
        reason->text, sizeof reason->text,
        "needs a gain of %.4g for %.4g V at %.4g A from %.4g V, but the tank gives %s; lower the voltage "
        "or the load, raise the bus, or lower the magnetizing inductance",
        needed, point->output_voltage, point->load, all->tank.input, best);
}

static void say_slow(const llc_point *point, double frequency, hl_reason *reason)
{
    snprintf(
        reason->text, sizeof reason->text,
        "%.4g V at %.4g A needs %.4g kHz, below the minimum_frequency of %.4g kHz; lower the load or the "
        "output voltage, or raise the bus",
        point->output_voltage, point->load, frequency / 1e3, point->minimum / 1e3);
}

static void say_fast(const llc_point *point, double frequency, hl_reason *reason)
{
    snprintf(
        reason->text, sizeof reason->text,
        "%.4g V at %.4g A needs more than %.4g kHz, the highest frequency allowed; choose light_load burst, "
        "raise the output voltage, or lower the bus",
        point->output_voltage, point->load, frequency / 1e3);
}

static void say_drained(const llc_point *point, const llc_figures *figures, hl_reason *reason)
{
    snprintf(reason->text, sizeof reason->text,
             "the output capacitance of %.3g F lets %.4g V swing between %.3g and %.3g V; use more, or "
             "output_model "
             "stiff",
             point->tank.output_capacitance, point->output_voltage, figures->output_lowest,
             figures->output_highest);
}

static void say_lost(const llc_point *point, hl_reason *reason)
{
    snprintf(
        reason->text, sizeof reason->text,
        "no periodic operation was found for %.4g V at %.4g A from %.4g V; the resistances (%.3g and %.3g "
        "ohm) or the dead time may leave the tank no resonance",
        point->output_voltage, point->load, point->tank.input, point->tank.primary_resistance,
        point->tank.secondary_resistance);
}

/* ------------------------------------------------------------------ solve -- */

typedef struct search {
    const llc_point *point;
    llc_circuits circuits;
    llc_half half;
    llc_step step;
    double behind; /* V, behind the rectifier: drops ride on a stiff output */
    double duty;
} search;

/* Below this share of the tank's own current the load cannot be told from none. */
static const double smallest_load = 1e-7;

static llc_found at_load(search *s, double load, const llc_memory *kept, llc_peak *peak)
{
    double floor = smallest_load * s->circuits.tank.ratio * s->circuits.current_scale;
    bool warm = llc_recall(kept, &s->circuits, s->behind, load, &s->half);
    return llc_find(&s->circuits, s->behind, fmax(load, floor), warm, &s->half, &s->step, peak);
}

/* Packets at a fixed half period: the load decides how much of the time they take. */
static bool in_packets(search *s, double half_period)
{
    s->half.half = half_period;
    llc_guess_state(&s->circuits, s->behind, s->point->load, &s->half);
    if (!llc_periodic(&s->circuits, &s->half, &s->step)) {
        s->half.start = (lanes){0};
        s->half.start[LLC_VO] = s->behind;
        if (!llc_periodic(&s->circuits, &s->half, &s->step)) return false;
    }
    double current = llc_mean(&s->half);
    if (!(current > 0) || s->point->load > current) return false;
    s->duty = s->point->load / current;
    return true;
}

static bool prepare_tank(search *s, bool stiff)
{
    llc_tank tank = s->point->tank;
    if (stiff) tank.output_capacitance = tank.output_esr = tank.load_conductance = 0.0;
    s->behind = s->point->output_voltage + (tank.output_capacitance > 0 ? 0.0 : tank.drop);
    s->duty = 1.0;
    return llc_prepare(&tank, &s->circuits);
}

static hl_stage_status out_of_reach(search *s, llc_peak *peak, hl_reason *reason)
{
    if (prepare_tank(s, true)) {
        llc_half from = s->half;
        from.half = peak->half;
        from.start[LLC_VO] = s->behind;
        llc_peak_voltage(&s->circuits, s->point->load, &from, peak);
        double needed = s->behind;
        if (!(peak->voltage < needed)) peak->voltage = 0.0; /* of the stiff output; say the current instead */
    }
    say_beyond(s->point, &s->circuits, peak, reason);
    return HL_STAGE_INFEASIBLE;
}

/* Too light for the highest frequency: packets there, when allowed. */
static hl_stage_status too_light(search *s, double frequency, hl_reason *reason)
{
    if (s->point->burst_allowed && prepare_tank(s, true) && in_packets(s, 0.5 / frequency))
        return HL_STAGE_SOLVED;
    say_fast(s->point, frequency, reason);
    return HL_STAGE_INFEASIBLE;
}

static hl_stage_status search_point(search *s, const llc_memory *kept, hl_reason *reason)
{
    const llc_point *point = s->point;
    bool packets = point->burst_current > point->load;
    if (!prepare_tank(s, packets)) {
        say_lost(point, reason);
        return HL_STAGE_INFEASIBLE;
    }
    llc_peak peak = {0};
    llc_found found = at_load(s, packets ? point->burst_current : point->load, kept, &peak);
    double frequency = 0.5 / s->half.half, highest = 0.5 / llc_shortest(&s->circuits);
    if (point->maximum > 0 && point->maximum < highest) highest = point->maximum;
    if (found == LLC_ABOVE || (found == LLC_FOUND && frequency > highest))
        return too_light(s, highest, reason);
    if (found == LLC_BEYOND) return out_of_reach(s, &peak, reason);
    if (found == LLC_LOST) {
        say_lost(point, reason);
        return HL_STAGE_INFEASIBLE;
    }
    if (frequency < point->minimum) {
        say_slow(point, frequency, reason);
        return HL_STAGE_INFEASIBLE;
    }
    if (packets) s->duty = point->load / point->burst_current;
    return HL_STAGE_SOLVED;
}

static hl_stage_status report(const hl_stage_input *in, const search *s, hl_stage_output *out)
{
    llc_answer answer = {.point = s->point, .all = &s->circuits, .half = &s->half, .duty = s->duty};
    llc_measure(&s->circuits, &s->half, s->point->node_charge, s->point->dead_time, &answer.figures);
    if (s->circuits.tank.output_capacitance > 0 &&
        !(answer.figures.output_lowest > 0.5 * s->point->output_voltage)) {
        say_drained(s->point, &answer.figures, &out->reason);
        return HL_STAGE_INFEASIBLE;
    }
    if (!llc_cycles(&answer, in->scratch) || !llc_curves(&answer, in->scratch) ||
        !llc_sides(in, &answer, out) || !llc_stresses(in, &answer, out))
        return HL_STAGE_NO_MEMORY;
    llc_quantities(&answer, out);
    if (s->point->minimum > 0) {
        out->headroom_name = "switching period";
        out->headroom_unit = "s";
        out->headroom_value = 2.0 * s->half.half;
        out->headroom_limit = 1.0 / s->point->minimum;
    }
    return HL_STAGE_SOLVED;
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    llc_point point;
    llc_read(in, &point);
    if (!llc_sane(in, &point, &out->reason)) return HL_STAGE_INFEASIBLE;
    search s;
    s.point = &point;
    hl_stage_status status = search_point(&s, in->memory, &out->reason);
    if (status != HL_STAGE_SOLVED) return status;
    llc_keep(in->memory, &s.circuits, s.behind, s.duty < 1.0 ? point.burst_current : point.load, &s.half);
    return report(in, &s, out);
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = LLC_SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_DC,
    .output = HL_DC,
    .regulates = true,
    .memory_size = sizeof(llc_memory),
    .scratch_size =
        (18 * LLC_STRETCHES * LLC_PIECES_MAX + 8) * sizeof(hl_segment) + STRETCH_SCRATCH(2, 2) + 8192,
    .positions = positions,
    .prepare = prepare,
    .solve = solve,
};

static const hl_model half_bridge_llc = {
    .struct_size = sizeof(hl_model),
    .name = "half_bridge_llc",
    .title = "half-bridge LLC resonant converter",
    .source = "Kirchhoff's laws solved piecewise in closed form, docs/theory/llc.md; first estimate after "
              "R. L. Steigerwald, IEEE Trans. Power Electronics 3(2), 1988",
    .parameters = parameters,
    .n_parameters = LLC_PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("half_bridge_llc", "0.1.0", "heatledger", "MIT", &half_bridge_llc);
