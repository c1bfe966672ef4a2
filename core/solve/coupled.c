/* coupled.c - the electro-thermal solution of one point.
 *
 * Each round walks the electrical tree at the present temperatures, then solves
 * the thermal network with every loss linearised about them, P + dP/dT (T - T0),
 * so that the feedback of temperature on loss is taken inside the network
 * (Newton's method in the temperatures; what is left contracts by the share of
 * loss that the circuit itself moves).  Both books must close before it stops. */
#include "solve/workspace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "quantity/float_state.h"
#include "solve/field_step.h"
#include "solve/heat.h"
#include "thermal/network.h"
#include "thermal/work.h"

enum { ROUNDS_MAX = 400, HURRIED_ROUNDS = 20 };

static const double settled_power = 2e-11;      /* relative */
static const double settled_temperature = 2e-8; /* K */
static const double first_rise = 30.0;          /* K: parts and case before anything is known */
static const double warm = 100.0;               /* K that count as much as all power */
static const double destroyed = 900.0;          /* K: no part is left; losses outran the network */

/* ------------------------------------------------------------------ heat -- */

static void linear_heat(void *context, double time, const double temperature[], double power[],
                        double slope[])
{
    const hl_workspace *work = context;
    (void)time;
    size_t n = hl_network_nodes(work->design->network);
    for (size_t i = 0; i < n; i++) {
        power[i] = work->power[i] + work->slope[i] * (temperature[i] - work->base[i]);
        slope[i] = work->slope[i];
    }
}

static void constant_heat(void *context, double time, const double temperature[], double power[],
                          double slope[])
{
    const hl_workspace *work = context;
    (void)time, (void)temperature;
    size_t n = hl_network_nodes(work->design->network);
    for (size_t i = 0; i < n; i++) {
        power[i] = work->power[i];
        slope[i] = 0;
    }
}

static bool heat_is_finite(const hl_workspace *work)
{
    size_t n = hl_network_nodes(work->design->network);
    for (size_t i = 0; i < n; i++)
        if (!isfinite(work->power[i]) || !isfinite(work->slope[i])) return false;
    return true;
}

/* The network in balance.  `open`: what the last round left, as a share; balancing the network much finer
 * would be for nothing, and the step itself is what tells the end.  HL_RUNAWAY: no balance. */
static hl_status network_balance(hl_workspace *work, bool hurry, bool first, double open)
{
    size_t n = hl_network_nodes(work->design->network);
    hl_status status = HL_OK;
    if (first || !hurry ||
        !network_step(work->network, &work->surroundings, linear_heat, work, work->temperature))
        status = network_steady_within(work->network, &work->surroundings, linear_heat, work,
                                       hurry && first ? 1e-2 : 1e-3 * fmin(open, 1e-2), work->temperature);
    if (hurry && status != HL_OK) return HL_RUNAWAY;
    if (status == HL_RUNAWAY ||
        status == HL_NO_SOLUTION) { /* the slope outweighs the links: step without it */
        memcpy(work->temperature, work->base, n * sizeof *work->base);
        status =
            hl_network_steady(work->network, &work->surroundings, constant_heat, work, work->temperature);
    }
    return status == HL_NO_SOLUTION ? HL_RUNAWAY : status;
}

/* New temperatures; *change in K.  HL_RUNAWAY: no balance, or hotter than any part survives. */
static hl_status thermal_step(hl_workspace *work, bool hurry, bool first, double open, double *change)
{
    size_t n = hl_network_nodes(work->design->network);
    heat_gather(work);
    if (!heat_is_finite(work)) return HL_RUNAWAY;
    hl_status status = work->field ? field_step(work) : network_balance(work, hurry, first, open);
    if (status != HL_OK) return status;
    *change = 0;
    double hottest = 0;
    for (size_t i = 0; i < n; i++) {
        *change = fmax(*change, fabs(work->temperature[i] - work->base[i]));
        hottest = fmax(hottest, work->temperature[i]);
    }
    heat_share(work);
    return hottest > destroyed ? HL_RUNAWAY : HL_OK;
}

/* ----------------------------------------------------------------- books -- */

static void heat_book(hl_workspace *work)
{
    const hl_network *network = work->design->network;
    if (!network) return;
    double in = 0;
    for (size_t i = 0; i < hl_network_nodes(network); i++) in += work->power[i];
    double out = work->field ? field_handed_out(work)
                             : network_handed_out(network, &work->surroundings, work->temperature);
    work->figures.heat_imbalance = in - out;
}

static void power_book(hl_workspace *work)
{
    const hl_design *design = work->design;
    hl_power_figures *f = &work->figures;
    for (size_t i = 0; i < design->n_stages; i++) {
        const stage_state *stage = &work->stages[i];
        if (design->stages[i].parent < 0) {
            f->input += stage->input_power;
            f->input_current += stage->input_current;
        }
        f->loss += stage->slot_loss + stage->bus_loss + stage->out.own_loss;
    }
    for (size_t i = 0; i < design->n_ports; i++)
        f->output += hl_result_port_voltage(work, i) * hl_result_port_current(work, i);
    f->efficiency = f->input > 0 ? f->output / f->input : 0;
    double apparent = work->settings[SETTING_VOLTAGE] * f->input_current;
    f->power_factor = design->alternating && apparent > 0 ? f->input / apparent : 1;
    f->power_imbalance = f->input - f->output - f->loss;
}

/* ------------------------------------------------------------------ ends -- */

static const char *node_name(const hl_workspace *work, int node)
{
    return node >= 0 ? hl_network_node_name(work->design->network, node) : "a part";
}

static void feedback(hl_workspace *work)
{
    if (work->field) {
        field_faces(work);
        work->figures.feedback_gain = field_gain(work, &work->figures.leader);
    }
    if (!work->network) return;
    work->network->near = 1e-5; /* K: the links as the last step saw them */
    work->figures.feedback_gain = hl_network_gain(work->network, &work->surroundings, work->temperature,
                                                  work->slope, &work->figures.leader);
    work->network->near = 0;
}

static hl_status ran_away(hl_workspace *work)
{
    work->outcome = HL_RAN_AWAY;
    int leader = -1;
    double hottest = 0;
    size_t n = hl_network_nodes(work->design->network);
    for (size_t i = 0; i < n; i++)
        if (!(work->base[i] <= hottest)) {
            hottest = work->base[i];
            leader = (int)i;
        }
    if (work->network) hl_network_gain(work->network, &work->surroundings, work->base, work->slope, &leader);
    snprintf(work->reason, sizeof work->reason,
             "thermal run-away led by %s: at load factor %.3g and %.4g degC ambient its losses grow faster "
             "than the heat is carried away; lower the load or the ambient, or carry its heat better",
             node_name(work, leader), work->settings[SETTING_LOAD], work->surroundings.temperature - 273.15);
    work->figures.leader = leader;
    return HL_OK;
}

static hl_status infeasible(hl_workspace *work, size_t stage, hl_stage_status status)
{
    if (status == HL_STAGE_NO_MEMORY) {
        snprintf(work->reason, sizeof work->reason,
                 "%s: its model wants more scratch memory than it declared (scratch_size)",
                 work->design->stages[stage].name);
        return HL_INTERNAL;
    }
    work->outcome = HL_INFEASIBLE;
    snprintf(work->reason, sizeof work->reason, "%s: %s", work->design->stages[stage].name,
             work->stages[stage].out.reason.text);
    return HL_OK;
}

static void begin(hl_workspace *work, const double settings[])
{
    work->settings = settings;
    work->outcome = HL_INFEASIBLE;
    work->reason[0] = '\0';
    memset(&work->figures, 0, sizeof work->figures);
    work->figures.leader = -1;
}

/* Settings that every point needs, whatever its stages. */
static bool surroundings_are_sane(hl_workspace *work, const double settings[])
{
    static const struct {
        int index;
        double low, high;
    } range[] = {{SETTING_AMBIENT, 173.15, 473.15},
                 {SETTING_ALTITUDE, -500, 20000},
                 {SETTING_VOLTAGE, 0, 1e5},
                 {SETTING_FREQUENCY, 0, 1e5},
                 {SETTING_LOAD, 0, 1e3}};
    for (size_t i = 0; i < sizeof range / sizeof range[0]; i++) {
        double x = settings[range[i].index];
        if (x >= range[i].low && x <= range[i].high) continue;
        snprintf(work->reason, sizeof work->reason, "setting %s = %g (SI) is outside %g … %g",
                 work->design->settings[range[i].index].name, x, range[i].low, range[i].high);
        return false;
    }
    return true;
}

/* ---------------------------------------------------------------- rounds -- */

/* What a round hands to the next: of each stage what it draws beyond its waveforms, what its bus draws and
 * its voltage; and the temperatures. */
static void pack(const hl_workspace *work, double handed[])
{
    for (size_t i = 0; i < work->design->n_stages; i++, handed += 3) {
        const stage_state *stage = &work->stages[i];
        handed[0] = stage->extra;
        handed[1] = stage->bus_drawn;
        handed[2] = stage->voltage;
    }
    memcpy(handed, work->temperature, hl_design_nodes(work->design) * sizeof *handed);
}

static void unpack(hl_workspace *work, const double handed[])
{
    for (size_t i = 0; i < work->design->n_stages; i++, handed += 3) {
        stage_state *stage = &work->stages[i];
        stage->extra = handed[0];
        stage->bus_drawn = handed[1];
        stage->voltage = handed[2];
    }
    memcpy(work->temperature, handed, hl_design_nodes(work->design) * sizeof *handed);
    heat_share(work);
}

/* Watts count against the power of their stage, volts against its voltage. */
static void weigh(hl_workspace *work)
{
    double *scale = work->mix.scale;
    for (size_t i = 0; i < work->design->n_stages; i++, scale += 3) {
        const stage_state *stage = &work->stages[i];
        scale[0] = scale[1] = 1 / fmax(fabs(stage->input_power), 1e-3);
        scale[2] = 1 / fmax(fabs(stage->voltage), 1e-3);
    }
    for (size_t i = 0; i < hl_design_nodes(work->design); i++) scale[i] = 1 / 1e4;
}

/* Take in the round just done; returns the share of its change that is still to come.  Changes shrink about
 * evenly, so it is what the round passed on of the change before, here with a margin of three, and never
 * taken to be better than a sixtieth. */
static double still_to_come(hl_workspace *work, double change)
{
    if (!(change < 0.5)) { /* some stage is not solved yet */
        mixing_begin(&work->mix);
        return 1;
    }
    if (!work->mix.begun && !work->mix.kept) weigh(work);
    pack(work, work->made);
    return fmin(1.0, fmax(3.0 * mixing_learn(&work->mix, work->handed, work->made), 1.0 / 60));
}

/* Where the next round is asked: where the rounds so far point to, if they come down at all. */
static void look_ahead(hl_workspace *work, double change, double before)
{
    if (!work->mix.kept) return;
    if (change > before) {
        mixing_begin(&work->mix);
        return;
    }
    mixing_propose(&work->mix, work->made);
    unpack(work, work->made);
}

static hl_status settled_down(hl_workspace *work)
{
    feedback(work);
    if (work->figures.feedback_gain >= 1) return ran_away(work);
    electrical_stand(work);
    if (work->network) heat_gather(work);
    heat_book(work);
    power_book(work);
    work->outcome = HL_SOLVED;
    return HL_OK;
}

static void place_at(hl_workspace *work, const double settings[], double rise)
{
    work->surroundings =
        (hl_surroundings){settings[SETTING_AMBIENT], hl_air_pressure(settings[SETTING_ALTITUDE])};
    size_t nodes = hl_design_nodes(work->design);
    for (size_t i = 0; i < nodes; i++) work->temperature[i] = work->surroundings.temperature + rise;
    electrical_begin(work);
    mixing_begin(&work->mix);
    if (work->network) work_forget(work->network);
    work->seeded = false;
}

/* One way to the solution: in a hurry, from a usual rise and with an eye on where the rounds lead; or with
 * care, from the surroundings upward and each network balanced, as is needed near a run-away. HL_NO_SOLUTION:
 * no balance within `most` rounds. */
static hl_status approach(hl_workspace *work, bool hurry, unsigned most)
{
    double before = 1;
    for (unsigned round = 0; round < most; round++) {
        double electrical = 0, thermal = 0;
        size_t failed = 0;
        pack(work, work->handed);
        hl_stage_status stage = electrical_pass(work, round, &electrical, &failed);
        work->figures.passes++;
        work->times.passes++;
        if (stage != HL_STAGE_SOLVED) return infeasible(work, failed, stage);
        if (work->network || work->field) {
            double began = times_now(work);
            hl_status status = thermal_step(work, hurry, round == 0 && !work->seeded, before, &thermal);
            times_add(work, &work->times.network, began);
            if (status == HL_RUNAWAY) return ran_away(work);
            if (status != HL_OK) return status;
            electrical_foresee(work);
        }
        double change = fmax(electrical, thermal / warm), rest = still_to_come(work, change);
        if (rest * electrical <= settled_power && rest * thermal <= settled_temperature)
            return settled_down(work);
        if (hurry) look_ahead(work, change, before);
        before = change;
    }
    return HL_NO_SOLUTION;
}

/* Solved, or known to be beyond the circuit: nothing a more careful way would change. */
static bool is_an_answer(const hl_workspace *work, hl_status status)
{
    return status == HL_OK &&
           (work->outcome == HL_SOLVED || (work->outcome == HL_INFEASIBLE && !work->seeded));
}

/* The design as it stands is solved once, before the first point that brings no start of its own: where that
 * ended is where such points begin. It follows from the design alone, so bits do not depend on what came
 * before. Empty when the design as it stands has no solution. */
static const hl_start *usual_start(hl_workspace *work)
{
    if (!work->usual_known) {
        work->usual_known = true;
        hl_design_defaults(work->described, work->usual_settings);
        if (hl_solve_from(work, work->usual_settings, work->usual) == HL_OK) hl_start_take(work->usual, work);
    }
    return work->usual;
}

hl_status hl_solve_from(hl_workspace *work, const double settings[], const hl_start *start)
{
    PLAIN_FLOAT_STATE;
    if (!start) start = usual_start(work);
    begin(work, settings);
    if (!surroundings_are_sane(work, settings) || !values_apply(work, settings)) return HL_BAD_INPUT;
    work->times.points++;
    hl_status status = HL_NO_SOLUTION;
    for (int way = 0; way < 3 && !is_an_answer(work, status); way++) {
        bool careful = way == 2;
        begin(work, settings);
        place_at(work, settings, careful ? 0 : first_rise);
        work->seeded = way == 0 && start_seed(work, start);
        if (way == 0 && !work->seeded) continue;
        heat_share(work);
        status = approach(work, !careful, careful ? ROUNDS_MAX : HURRIED_ROUNDS);
    }
    if (status != HL_NO_SOLUTION) return status;
    snprintf(work->reason, sizeof work->reason, "no balance after %d rounds; please report this design",
             ROUNDS_MAX);
    return HL_INTERNAL;
}

hl_status hl_solve(hl_workspace *work, const double settings[])
{
    PLAIN_FLOAT_STATE;
    return hl_solve_from(work, settings, NULL);
}
