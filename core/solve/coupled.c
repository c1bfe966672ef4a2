/* coupled.c - the electro-thermal solution of one point.
 *
 * Rounds (round.c) are repeated until what is still to come is nothing.  A round alone leaves about a
 * hundredth of the error, the share of loss that the circuit itself moves; where its derivative is known from
 * a solved point near by (anchor.c, response.c), Newton's step leaves a few parts in a thousand of that. Both
 * books must close before it stops. */
#include "solve/workspace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "quantity/float_state.h"
#include "solve/feedback.h"
#include "solve/field_step.h"
#include "solve/heat.h"
#include "solve/round.h"
#include "solve/run_away.h"
#include "thermal/network.h"
#include "thermal/repeat.h"

enum { ROUNDS_MAX = 400, HURRIED_ROUNDS = 20 };

static const double settled_power = 2e-11;      /* relative */
static const double settled_temperature = 2e-8; /* K */
/* What may be left where a neighbour, or the round before, has taught how much that is: the estimate fails
 * by some times now and then, where a kink lies between, and points of lines are to hold 1e-9. */
static const double settled_if_shown = 5e-11; /* relative */
/* What a last correction by a known response may be at most: right to some per cent of itself, where losses
 * bend within the anchors' cell. And how many times that where it is known how right, from neighbours or from
 * the round before, and what is told besides is moved along; its slopes are right to a hundredth, to a tenth
 * with other parts than those they were learnt with: see told.c. */
static const double last_power = 2e-9, last_temperature = 2e-6; /* relative; K */
static const two_parts as_usual = {1, 1}, if_told = {2500, 2500}, if_other = {250, 250};
/* Temperatures of an end that is foretold are balanced anew with its losses, which takes away what the bends
 * of the network left: such is the share when it is small.  A greater one comes of losses, and stays. */
static const double before_balance = 5, by_bends = 1e-3;
static const double first_rest = 0.01;
static const double led_well = 0.1;    /* of the change before, at most, while a known response is of use */
static const double first_rise = 30.0; /* K: parts and case before anything is known */
static const double warm = 100.0;      /* K that count as much as all power */
/* Rounds that go to and fro by no more than this do so over a step in some model, and their answer lies
 * within it: a thousand times below what any model is right to, and the books still close. */
static const two_parts small_step = {1e-6, 5e-3}; /* relative; K */

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

static hl_status ran_away(hl_workspace *work)
{
    run_away found = feedback_ran_away(work);
    work->outcome = HL_RAN_AWAY;
    run_away_text(work, found, work->settings[SETTING_LOAD], work->reason, sizeof work->reason);
    return HL_OK;
}

/* What grew, where a stage could not carry it.  The watts and the temperature of the round that failed say
 * nothing: they are those of a part that is long gone. */
static hl_status outgrown(hl_workspace *work, int part)
{
    const item_state *item = &work->items[part];
    int largest = 0;
    for (int m = 1; m < HL_MECHANISMS; m++)
        if (item->loss.watts[m] > item->loss.watts[largest]) largest = m;
    work->outcome = HL_RAN_AWAY;
    work->feedback->leader = work->design->items[part].shown.node;
    snprintf(
        work->reason, sizeof work->reason,
        "thermal run-away led by %s: at load factor %.3g and %.4g degC ambient its %s grows faster than the "
        "heat is carried away, past what the ports take; lower the load or the ambient, carry its heat "
        "better, or check its data",
        work->design->items[part].shown.name, work->settings[SETTING_LOAD],
        work->surroundings.temperature - 273.15, hl_mechanism_name((hl_mechanism)largest));
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
    int part = run_away_outgrown(work);
    if (part >= 0) return outgrown(work, part);
    work->outcome = HL_INFEASIBLE;
    snprintf(work->reason, sizeof work->reason, "%s: %s", work->design->stages[stage].name,
             work->stages[stage].out.reason.text);
    return HL_OK;
}

static void begin(hl_workspace *work, const double settings[])
{
    work->settings = settings;
    work->outcome = HL_INFEASIBLE;
    work->border_shift = 0;
    work->step = (two_parts){0, 0};
    work->reason[0] = '\0';
    memset(&work->figures, 0, sizeof work->figures);
    feedback_begin(work);
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
        snprintf(work->reason, sizeof work->reason,
                 "setting %s = %g (SI) is outside %g … %g; check figure and unit",
                 work->design->settings[range[i].index].name, x, range[i].low, range[i].high);
        return false;
    }
    return true;
}

/* ---------------------------------------------------------------- rounds -- */

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
    work->mix.weighed = true;
}

/* Take in the round just done; returns the share of its change that is still to come.  Changes shrink about
 * evenly, so it is what the round passed on of the change before, here with a margin of three, and never
 * taken to be better than a sixtieth; with a known response, a thousandth. A first round has nothing to
 * compare with: within anchors its step leaves a thousandth as a rule, and ten times that is reckoned with.
 */
static two_parts still_to_come(hl_workspace *work, double change)
{
    const two_parts all = {1, 1};
    round_pack(work, work->made);
    if (!(change < 0.5)) { /* some stage is not solved yet */
        mixing_begin(&work->mix);
        return all;
    }
    bool first = !work->mix.begun;
    if (first && !work->mix.weighed) weigh(work);
    if (work->response) response_apply(work->response, work, work->handed, work->made);
    two_parts left = {-1, -1};
    bool surrounded = work->response && work->response->surrounded;
    if (first && surrounded && work->seeded) left = foresight_mend(work);
    if (!first && work->response) foresight_note(work);
    double passed_on = mixing_learn(&work->mix, work->handed, work->made);
    if (left.power >= 0) return left;
    double rest = fmin(1.0, fmax(3.0 * passed_on, work->response ? 1.0 / 1000 : 1.0 / 60));
    if (first) rest = surrounded ? first_rest : 1;
    return (two_parts){rest, rest};
}

/* Where the next round is asked: by Newton's step where the response is known, as long as it leads fast; else
 * where the rounds so far point to, if they come down at all. */
static void look_ahead(hl_workspace *work, double change, double before)
{
    if (work->response) {
        round_unpack(work, work->made);
        foresight_keep(work);
        if (before >= 1 || change <= led_well * before) return;
        work->response = NULL; /* the point is of another kind than the anchor */
        foresight_begin(work);
        mixing_begin(&work->mix);
    }
    if (!work->mix.kept) return;
    if (change > before) {
        mixing_begin(&work->mix);
        return;
    }
    mixing_propose(&work->mix, work->made);
    round_unpack(work, work->made);
}

/* Does the point end with its first round, as a neighbour has taught? */
static bool foretold_by_neighbour(const hl_workspace *work)
{
    return work->response && work->first.mended && !work->first.gone_on;
}

/* Can the figures of told.h be moved along? */
static bool can_be_told(const hl_workspace *work)
{
    return response_knows_told(work->response, work);
}

/* A change within `times` what a last correction may be. */
static bool is_last(const round_end *end, two_parts times)
{
    return end->electrical <= times.power * last_power && end->thermal <= times.kelvin * last_temperature;
}

/* May the last correction be so great? */
static bool can_be_last(const hl_workspace *work, const round_end *end, bool known)
{
    two_parts most = !known ? as_usual : work->as_described ? if_told : if_other;
    return is_last(end, as_usual) || (is_last(end, most) && can_be_told(work));
}

/* Is what the last round left open little enough?  A known response corrects the answer once more, rightly to
 * some per cent of itself. `shown`: another round came before. */
static bool is_settled(const hl_workspace *work, const round_end *end, two_parts rest, bool shown)
{
    double kelvin = settled_temperature, power = settled_power;
    bool mended = foretold_by_neighbour(work), known = work->response && (mended || shown);
    if (known) power = settled_if_shown;
    if (mended && rest.kelvin <= by_bends) kelvin *= before_balance;
    if (work->response && !can_be_last(work, end, known)) return false;
    double open = rest.kelvin * end->thermal, by_kelvin = known ? power_by_kelvin * open : 0;
    return rest.power * end->electrical + by_kelvin <= power && open <= kelvin;
}

/* `tell`: the last correction is so much that it moves what a result tells besides powers. */
static hl_status settled_down(hl_workspace *work, bool tell)
{
    double *more = work->response ? work->bench.start : NULL;
    if (more) {
        round_unpack(work, work->made);
        response_losses(work->response, work, more);
        foresight_mend_losses(work, more);
        foresight_learn(work, more);
        if (tell) told_move(work, more);
    }
    electrical_stand(work, more);
    if (more && round_rebalance(work) != HL_OK) return ran_away(work);
    if (feedback_runs_away(work)) return ran_away(work); /* last: it overwrites what the steps left */
    if (more)
        heat_stand(work);
    else if (work->network)
        heat_gather(work);
    heat_book(work);
    power_book(work);
    work->outcome = sound_result(work) ? HL_SOLVED : HL_INFEASIBLE;
    return HL_OK;
}

static void surround(hl_workspace *work, const double settings[])
{
    work->surroundings =
        (hl_surroundings){settings[SETTING_AMBIENT], hl_air_pressure(settings[SETTING_ALTITUDE])};
}

bool place_settings(hl_workspace *work, const double settings[])
{
    work->settings = settings;
    if (!surroundings_are_sane(work, settings) || !values_apply(work, settings)) return false;
    surround(work, settings);
    electrical_guess(work);
    return true;
}

static void place_at(hl_workspace *work, const double settings[], double rise)
{
    surround(work, settings);
    size_t nodes = hl_design_nodes(work->design);
    for (size_t i = 0; i < nodes; i++) work->temperature[i] = work->surroundings.temperature + rise;
    electrical_begin(work);
    mixing_begin(&work->mix);
    if (work->network) network_forget(work->network);
    work->seeded = false;
    foresight_begin(work);
}

/* One way to the solution: in a hurry, from a usual rise and with an eye on where the rounds lead; or with
 * care, from the surroundings upward and each network balanced, as is needed near a run-away. HL_NO_SOLUTION:
 * no balance within `most` rounds. */
static hl_status approach(hl_workspace *work, bool hurry, unsigned most)
{
    double before = 1;
    round_end end = {.heat = HL_OK};
    for (unsigned round = 0; round < most; round++) {
        const round_way way = {round, hurry, round == 0 && !work->seeded, before};
        round_pack(work, work->handed);
        hl_stage_status stage = round_make(work, &way, &end);
        if (stage != HL_STAGE_SOLVED) return infeasible(work, end.failed, stage);
        if (end.heat == HL_RUNAWAY) return ran_away(work);
        if (end.heat != HL_OK) return end.heat;
        double change = fmax(end.electrical, end.thermal / warm);
        two_parts rest = still_to_come(work, change);
        if (is_settled(work, &end, rest, round > 0)) return settled_down(work, !is_last(&end, as_usual));
        if (hurry) look_ahead(work, change, before);
        before = change;
    }
    work->step = (two_parts){end.electrical, end.thermal};
    return HL_NO_SOLUTION;
}

/* Solved, or known to be beyond the circuit: nothing a more careful way would change. */
static bool is_an_answer(const hl_workspace *work, hl_status status)
{
    return status == HL_OK &&
           (work->outcome == HL_SOLVED || (work->outcome == HL_INFEASIBLE && !work->seeded));
}

/* Just beyond a run-away the rounds creep past the temperatures where a balance has been: rounds that do not
 * end although each kelvin passes on more than this are on their way up. */
static const double creeping = 0.9;

/* Rounds that do not end although what each changes is next to nothing. */
static bool within_a_step(const hl_workspace *work)
{
    return work->step.power <= small_step.power && work->step.kelvin <= small_step.kelvin;
}

/* A design within what is plausible has a balance; one beyond it may not. */
static hl_status without_balance(hl_workspace *work)
{
    char blame[360];
    bool known = sound_blame(work, blame, sizeof blame);
    snprintf(work->reason, sizeof work->reason,
             "no balance after %d rounds, of which the last still moved a power by %.1g of itself and a "
             "temperature by %.1g K; %s",
             (int)ROUNDS_MAX, work->step.power, work->step.kelvin,
             known ? blame : "please report this design");
    work->outcome = HL_INFEASIBLE;
    return known ? HL_OK : HL_INTERNAL;
}

/* Where a stage's ways of running call for each other, as two valleys of a flyback do within thousandths of
 * the border, a controller jumps to and fro. One of the ways is taken: that beyond a border drawn in by this
 * share. */
static const double drawn_in = 5e-3;

static hl_status with_care(hl_workspace *work, const double settings[], double border_shift)
{
    begin(work, settings);
    place_at(work, settings, 0);
    work->border_shift = border_shift;
    work->seeded = false;
    work->response = NULL;
    heat_share(work);
    return approach(work, false, ROUNDS_MAX);
}

hl_status solve_begun(hl_workspace *work, const double settings[], const hl_start *start,
                      const response_mean *answers)
{
    begin(work, settings);
    if (!surroundings_are_sane(work, settings) || !values_apply(work, settings)) return HL_BAD_INPUT;
    work->times.points++;
    hl_status status = HL_NO_SOLUTION;
    for (int way = 0; way < 2 && !is_an_answer(work, status); way++) {
        begin(work, settings);
        place_at(work, settings, first_rise);
        work->response = way == 0 ? answers : NULL;
        work->seeded = way == 0 && start_seed(work, start);
        if (way == 0 && !work->seeded) continue;
        heat_share(work);
        status = approach(work, true, HURRIED_ROUNDS);
    }
    if (!is_an_answer(work, status)) status = with_care(work, settings, 0);
    if (status != HL_NO_SOLUTION) return status;
    if (feedback_runs_away(work) || feedback_gain(work) > creeping) return ran_away(work);
    if (within_a_step(work)) return settled_down(work, false);
    status = with_care(work, settings, drawn_in);
    return status == HL_NO_SOLUTION ? without_balance(work) : status;
}

hl_status hl_solve_from(hl_workspace *work, const double settings[], const hl_start *start)
{
    PLAIN_FLOAT_STATE;
    const response_mean *answers = start_response(start);
    const hl_start *anchor = answers ? NULL : anchor_near(work, settings, &answers);
    work->foretold = anchor;
    return solve_begun(work, settings, start && start_is_taken(start) ? start : anchor, answers);
}

hl_status hl_solve(hl_workspace *work, const double settings[])
{
    PLAIN_FLOAT_STATE;
    return hl_solve_from(work, settings, NULL);
}
