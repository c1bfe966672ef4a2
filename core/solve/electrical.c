/* electrical.c - one walk over the tree of stages, leaves first.
 *
 * Each stage is asked with the voltage offered upstream and the current drawn
 * downstream, its parts turn the stress into watts, and the watts its waveforms
 * do not contain come back in the next walk as extra load.  This is the sweep
 * by which radial networks are solved; it contracts by about the loss fraction. */
#include "solve/question.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plugin/calling.h"
#include "solve/vectors.h"

/* What a last correction may add to losses, as a share of them. */
static const double last_share = 1e-4;
/* Early walks offer guessed voltages: a stage may not yet find an operating point. */
enum { GUESSED_PASSES = 4 };

/* As a model is handed it, to add to. */
static void clear_loss(hl_loss *loss)
{
    bytes_clear(loss, sizeof *loss);
    loss->struct_size = sizeof *loss;
}

static void book_nothing(item_state *item)
{
    if (item->clear) return;
    clear_loss(&item->loss);
    item->watts = 0;
    item->clear = true;
}

static double greater(double a, double b)
{
    return a > b ? a : b;
}

/* What a stage asks of its output until it has been solved: its own set value, the
 * port's wish, the crest of the mains behind a rectifier, or what comes in. */
static double guess_voltage(const hl_workspace *work, size_t index, double offered)
{
    const design_stage *stage = &work->design->stages[index];
    const hl_stage *model = stage->model->stage;
    size_t own = work->stages[index].own_voltage;
    if (own < stage->set.n && work->stages[index].set.values[own].given)
        return work->stages[index].set.values[own].number;
    if (model->regulates && stage->asked_by >= 0)
        return work->settings[work->design->ports[stage->asked_by].voltage_setting];
    if (model->output == HL_DC && model->input != HL_DC) return 1.4142135623730951 * offered;
    return offered;
}

size_t electrical_own_voltage(const design_stage *stage)
{
    size_t i = 0;
    while (i < stage->set.n && strcmp(hl_model_parameter(stage->model, i)->name, "output_voltage")) i++;
    return i;
}

void electrical_guess(hl_workspace *work)
{
    const hl_design *design = work->design;
    for (size_t i = design->n_stages; i-- > 0;) { /* parents before children */
        size_t index = (size_t)design->order[i];
        const design_stage *stage = &design->stages[index];
        double offered =
            stage->parent < 0 ? work->settings[SETTING_VOLTAGE] : work->stages[stage->parent].guess;
        work->stages[index].guess = stage->model->stage->terminal ? 0.0 : guess_voltage(work, index, offered);
    }
}

void electrical_ask_anew(hl_workspace *work)
{
    for (size_t i = 0; i < work->design->n_stages; i++) work->stages[i].in.load.voltage = NAN;
}

static void clear_text(hl_reason *reason)
{
    if (reason->text[0]) memset(reason, 0, sizeof *reason);
}

/* In longer runs than these 2 kB a library clears by other means, which take long to begin. */
enum { SLOTS_AT_ONCE = 2048 / sizeof(hl_stress) };

/* An answer of nothing.  Most of its room, for more slots and quantities than a stage has, stays clean, and
 * so does that for texts as a rule. */
static void clear_output(const design_stage *stage, stage_state *state)
{
    hl_stage_output *out = &state->out;
    size_t kept = out->quantities < HL_QUANTITIES_MAX ? out->quantities : HL_QUANTITIES_MAX;
    if (state->clear) return;
    bytes_clear(out, offsetof(hl_stage_output, stress));
    for (size_t s = 0, n = slots_of(stage); s < n; s += SLOTS_AT_ONCE)
        bytes_clear(&out->stress[s], (n - s < SLOTS_AT_ONCE ? n - s : SLOTS_AT_ONCE) * sizeof *out->stress);
    bytes_clear(out->quantity, kept * sizeof *out->quantity);
    out->quantities = 0;
    clear_text(&out->reason);
    memset(&out->headroom_value, 0,
           offsetof(hl_stage_output, note) - offsetof(hl_stage_output, headroom_value));
    clear_text(&out->note);
    bytes_clear(out->crest_share, sizeof *out - offsetof(hl_stage_output, crest_share));
    state->clear = true;
}

void electrical_begin(hl_workspace *work)
{
    const hl_design *design = work->design;
    electrical_guess(work);
    for (size_t i = 0; i < design->n_stages; i++) {
        const design_stage *stage = &design->stages[i];
        stage_state *state = &work->stages[i];
        state->voltage = state->guess;
        state->solved = false;
        state->slot_loss = state->bus_loss = state->input_power = state->input_current = 0;
        state->extra = state->bus_drawn = 0;
        clear_output(stage, state);
        if (state->memory) memset(state->memory, 0, stage->model->stage->memory_size);
    }
    for (size_t i = 0; i < design->n_items; i++) {
        book_nothing(&work->items[i]);
        work->items[i].stress = NULL;
    }
}

/* ----------------------------------------------------------------- solve -- */

/* Does the stage's waveform hold the ESR of its bus?  Then the loss of those capacitors belongs to the
 * stage's own balance and does not load the bus. */
static bool bus_in_circuit(const stage_state *state)
{
    return state->solved && state->out.bus_circuit_loss > 0;
}

/* Losses booked at the stage that its waveforms do not contain. */
static double extra_loss(const stage_state *state)
{
    double booked = state->slot_loss + state->out.own_loss + (bus_in_circuit(state) ? state->bus_loss : 0);
    return booked - state->out.circuit_loss;
}

static void book_item(hl_workspace *work, int index)
{
    item_state *item = &work->items[index];
    book_nothing(item);
    item->booked_at = item->temperature;
    if (!item->stress) return;
    const design_item *described = &work->design->items[index];
    calling(described->set.model, "loss", described->shown.name);
    item->clear = false;
    described->set.model->device->loss(item->state, item->stress, item->temperature, &item->loss);
    called();
    item->watts = loss_watts(&item->loss);
}

/* What its stage tells of its node, in W of all of them. */
static void book_node(hl_workspace *work, int index, double watts)
{
    item_state *item = &work->items[index];
    double each = watts / work->design->items[index].shown.count;
    item->loss.watts[HL_OUTPUT_CHARGE] += each;
    item->watts += each;
}

/* How what warms another part rises with the temperature of the part that it is booked to: a model gives the
 * slope of all its losses together, so by a difference. */
static void book_sent(hl_workspace *work, int index, const hl_stage_output *out, size_t slot)
{
    static const double step = 0.1; /* K */
    item_state *item = &work->items[index];
    const design_item *described = &work->design->items[index];
    double sent = loss_watts_of(&item->loss, out->heats_by[slot]);
    hl_loss loss;
    item->sent_slope = 0;
    if (!(sent > 0) || !item->stress) return;
    clear_loss(&loss);
    calling(described->set.model, "loss", described->shown.name);
    described->set.model->device->loss(item->state, item->stress, item->temperature + step, &loss);
    called();
    item->sent_slope = (loss_watts_of(&loss, out->heats_by[slot]) - sent) / step;
}

static void book_slot(hl_workspace *work, size_t index, size_t slot)
{
    int item = work->design->stages[index].item[slot];
    stage_state *state = &work->stages[index];
    if (item < 0) return;
    state->out.stress[slot].struct_size = sizeof(hl_stress);
    work->items[item].stress = &state->out.stress[slot];
    book_item(work, item);
    if (state->out.node_loss[slot] != 0) book_node(work, item, state->out.node_loss[slot]);
    if (state->out.heats[slot]) book_sent(work, item, &state->out, slot);
    state->slot_loss += item_watts(work, item);
}

static void book_bus(hl_workspace *work, size_t index)
{
    const design_stage *stage = &work->design->stages[index];
    bus_share(work, index);
    for (size_t c = 0; c < stage->n_capacitors; c++) {
        book_item(work, stage->capacitors[c]);
        work->stages[index].bus_loss += item_watts(work, stage->capacitors[c]);
    }
}

/* `more` W in a part that loses some, shared as those are. */
static void add_watts(item_state *item, double more)
{
    double factor = 1 + more / item->watts;
    for (int m = 0; m < HL_MECHANISMS; m++) item->loss.watts[m] *= factor;
    item->watts += more;
}

/* The same losses at temperatures that moved a little: by their slopes. */
static void move_item(hl_workspace *work, int index)
{
    item_state *item = &work->items[index];
    double more = item->loss.slope * (item->temperature - item->booked_at);
    item->booked_at = item->temperature;
    if (item->watts > 0) add_watts(item, more);
}

static void move_stage(hl_workspace *work, size_t index)
{
    const design_stage *stage = &work->design->stages[index];
    stage_state *state = &work->stages[index];
    state->slot_loss = state->bus_loss = 0;
    for (size_t s = 0, n = slots_of(stage); s < n; s++) {
        if (stage->item[s] < 0) continue;
        move_item(work, stage->item[s]);
        state->slot_loss += item_watts(work, stage->item[s]);
    }
    for (size_t c = 0; c < stage->n_capacitors; c++) {
        move_item(work, stage->capacitors[c]);
        state->bus_loss += item_watts(work, stage->capacitors[c]);
    }
}

/* What the stage draws once its losses are those just booked: the contract of a stage is that watts booked
 * beyond its waveforms come on top, so upstream need not wait a walk for them. */
static void draw(stage_state *state, double late)
{
    const hl_side *input = &state->out.input;
    state->input_power = input->power + late;
    state->input_current =
        input->power > 0 ? input->current * (state->input_power / input->power) : input->current;
}

/* From losses just booked to what is handed on; returns how far that is from what the stage was asked with,
 * `extra` and `drawn`.  Powers follow from that within a walk, so when it stands all stands. */
static double hand_on(hl_workspace *work, size_t index, double extra, double drawn, double more_load)
{
    stage_state *state = &work->stages[index];
    bool terminal = work->design->stages[index].model->stage->terminal;
    state->extra = extra_loss(state);
    state->bus_drawn = terminal || bus_in_circuit(state) ? 0 : state->bus_loss;
    double late = state->extra - state->in.extra_loss, late_drawn = state->bus_drawn - drawn;
    draw(state, late + late_drawn + more_load);
    /* losses matter in proportion to the power they ride on */
    return greater(fabs(state->extra - extra), fabs(late_drawn)) / greater(fabs(state->input_power), 1e-3);
}

/* A stage as a walk asks it. */
typedef struct asked {
    size_t index;
    bool anew; /* its answer is new, and not yet booked */
    bool first;
    double drawn, voltage; /* by and at its bus, when it was asked */
    double change;         /* how far that and its losses are from those it was asked with */
} asked;

static void accept(hl_workspace *work, asked *one)
{
    stage_state *state = &work->stages[one->index];
    one->anew = true;
    one->first = !state->solved && !work->seeded;
    one->drawn = state->bus_drawn;
    one->voltage = state->voltage;
    state->solved = true;
    state->slot_loss = state->bus_loss = 0;
    if (!work->design->stages[one->index].model->stage->terminal) state->voltage = state->out.output.voltage;
}

static void hand_on_booked(hl_workspace *work, asked *one)
{
    const stage_state *state = &work->stages[one->index];
    double change = hand_on(work, one->index, state->in.extra_loss, one->drawn, 0);
    double moved = fabs(state->voltage - one->voltage) / greater(fabs(state->voltage), 1e-3);
    one->change = one->first ? 1 : greater(change, moved);
}

/* The stage stands as it was solved: only its temperatures, its load and what it is offered have moved, by
 * next to nothing. */
static double stand(hl_workspace *work, size_t index, double load)
{
    move_stage(work, index);
    stage_state *state = &work->stages[index];
    return hand_on(work, index, state->extra, state->bus_drawn, load - state->in.load.power);
}

/* Before the voltages have settled a stage may fail: carry its load through as if ideal. */
static void stand_in(hl_workspace *work, size_t index)
{
    stage_state *state = &work->stages[index];
    double offered = state->in.input_voltage;
    memset(&state->out, 0, sizeof state->out);
    state->input_power = state->in.load.power;
    state->input_current = offered > 0 ? state->input_power / offered : 0;
    state->out.input.power = state->input_power;
    state->out.input.current = state->input_current;
    state->out.input.voltage = offered;
    state->out.output = state->in.load;
    state->out.output.voltage = state->voltage;
    state->solved = false;
    state->extra = 0;
}

static bool answer_is_sound(const hl_workspace *work, size_t index)
{
    const hl_stage_output *out = &work->stages[index].out;
    bool terminal = work->design->stages[index].model->stage->terminal;
    double all = out->input.power + out->input.current + out->circuit_loss; /* finite only if each is */
    if (!terminal) all += out->output.voltage + out->output.power;
    return isfinite(all);
}

/* Losses of one part as the rounds would end with: `more` W than the walk booked. */
static double correct_item(hl_workspace *work, int index, double more)
{
    item_state *item = &work->items[index];
    item->booked_at = item->temperature;
    if (item->watts > 0 && fabs(more) <= last_share * item->watts) add_watts(item, more);
    return item_watts(work, index);
}

static void correct_stage(hl_workspace *work, size_t index, const double more[])
{
    const design_stage *stage = &work->design->stages[index];
    stage_state *state = &work->stages[index];
    state->slot_loss = state->bus_loss = 0;
    for (size_t s = 0, n = slots_of(stage); s < n; s++)
        if (stage->item[s] >= 0) state->slot_loss += correct_item(work, stage->item[s], more[stage->item[s]]);
    for (size_t c = 0; c < stage->n_capacitors; c++)
        state->bus_loss += correct_item(work, stage->capacitors[c], more[stage->capacitors[c]]);
}

void electrical_stand(hl_workspace *work, const double more[])
{
    for (size_t i = 0; i < work->design->n_stages; i++) {
        size_t index = (size_t)work->design->order[i];
        stage_state *state = &work->stages[index];
        double load = question_load(work, index);
        if (!more) {
            stand(work, index, load);
            continue;
        }
        double in_circuit = more[work->design->n_items + index], voltage = question_offered(work, index);
        correct_stage(work, index, more);
        state->out.circuit_loss += in_circuit;
        hand_on(work, index, state->extra, state->bus_drawn, load - state->out.output.power + in_circuit);
        if (voltage > 0) state->input_current *= state->in.input_voltage / voltage;
    }
}

static hl_stage_status solve_stage(hl_workspace *work, asked *one, unsigned pass)
{
    size_t index = one->index;
    const design_stage *stage = &work->design->stages[index];
    const hl_stage *model = stage->model->stage;
    stage_state *state = &work->stages[index];
    question now = question_now(work, index);
    if (state->solved && question_same(work, index, &now)) {
        one->change = stand(work, index, now.load_power);
        return HL_STAGE_SOLVED;
    }
    question_put(work, index, &now);
    clear_output(stage, state);
    state->clear = false;
    state->out.struct_size = sizeof state->out;
    double began = times_now(work);
    calling(stage->model, "solve", stage->name);
    hl_stage_status status = model->solve(&state->in, &state->out);
    called();
    times_add(work, &work->times.stages, began);
    if (status == HL_STAGE_SOLVED && !answer_is_sound(work, index)) {
        char blame[160];
        sound_blame(work, blame, sizeof blame);
        snprintf(state->out.reason.text, sizeof state->out.reason.text,
                 "the %s model gave a figure that is no number; %s", stage->model->name, blame);
        status = HL_STAGE_INFEASIBLE;
    }
    if (status == HL_STAGE_SOLVED) {
        accept(work, one);
    } else if (status == HL_STAGE_INFEASIBLE && pass < GUESSED_PASSES) {
        stand_in(work, index);
        one->change = 1;
        status = HL_STAGE_SOLVED;
    }
    return status;
}

/* W that a stage's parts, or those on its bus, will lose beyond what was booked, as their temperatures have
 * moved since. */
static double to_come(const hl_workspace *work, const int items[], size_t n)
{
    double watts = 0;
    for (size_t k = 0; k < n; k++) {
        if (items[k] < 0) continue;
        const item_state *item = &work->items[items[k]];
        watts += item->loss.slope * (item->temperature - item->booked_at) *
                 work->design->items[items[k]].shown.count;
    }
    return watts;
}

/* A stage that does not regulate hands on what it is offered, less a drop.  Where the walk has moved the
 * offer since the stage was solved, its output moves alike, and where its parts have warmed, by the share of
 * the power that they will lose more: so the next walk meets voltages that already agree, instead of having
 * them trickle down one level a walk. */
void electrical_foresee(hl_workspace *work)
{
    const hl_design *design = work->design;
    for (size_t i = design->n_stages; i-- > 0;) { /* parents before children */
        size_t index = (size_t)design->order[i];
        const design_stage *stage = &design->stages[index];
        const hl_stage *model = stage->model->stage;
        stage_state *state = &work->stages[index];
        if (!state->solved || model->terminal) continue;
        if (!bus_in_circuit(state))
            state->bus_drawn = state->bus_loss + to_come(work, stage->capacitors, stage->n_capacitors);
        if (stage->parent < 0 || model->regulates) continue;
        double offered = work->stages[stage->parent].voltage, then = state->in.input_voltage;
        double power = state->out.output.power;
        if (!(then > 0 && power > 0)) continue;
        double drop = to_come(work, stage->item, slots_of(stage)) / power;
        if (fabs(drop) < 0.1) state->voltage = state->out.output.voltage * (offered / then) * (1 - drop);
    }
}

/* Stages of one model that do not feed each other, step by step side by side: the code of a walk is more than
 * a processor's inner cache holds, so each step is taken while it is at hand. */
static void book_abreast(hl_workspace *work, asked stages[], size_t n)
{
    double began = times_now(work);
    for (size_t s = 0, slots = slots_of(&work->design->stages[stages[0].index]); s < slots; s++)
        for (size_t k = 0; k < n; k++)
            if (stages[k].anew) book_slot(work, stages[k].index, s);
    times_add(work, &work->times.parts, began);
    began = times_now(work);
    for (size_t k = 0; k < n; k++)
        if (stages[k].anew) book_bus(work, stages[k].index);
    times_add(work, &work->times.buses, began);
    for (size_t k = 0; k < n; k++)
        if (stages[k].anew) hand_on_booked(work, &stages[k]);
}

enum { ABREAST = 8 };

hl_stage_status electrical_pass(hl_workspace *work, unsigned pass, double *change, size_t *failed)
{
    const hl_design *design = work->design;
    *change = 0;
    if (work->network) *work->bench.untold = 0; /* quantities are new */
    for (size_t i = 0; i < design->n_stages; i++) work->stages[i].bus_shown = false;
    for (size_t i = 0, n; i < design->n_stages; i += n) {
        asked stages[ABREAST] = {{0}};
        n = design->abreast[i] < ABREAST ? design->abreast[i] : ABREAST;
        for (size_t k = 0; k < n; k++) {
            stages[k].index = (size_t)design->order[i + k];
            hl_stage_status status = solve_stage(work, &stages[k], pass);
            if (status == HL_STAGE_SOLVED) continue;
            *failed = stages[k].index;
            return status;
        }
        book_abreast(work, stages, n);
        for (size_t k = 0; k < n; k++) *change = greater(stages[k].change, *change);
    }
    electrical_foresee(work);
    return HL_STAGE_SOLVED;
}
