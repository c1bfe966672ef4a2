/* question.c - what a stage is asked: the voltage offered upstream, the load drawn downstream, its parts. */
#include "solve/question.h"

#include <math.h>

/* A stage's input that moved less than this is the same question: relative to itself or to the power; for
 * what its bus shows of its capacitors, which only shapes the ripple; and kelvin, with the losses moved along
 * by their slopes.  What that leaves out is below 1e-11 of the power, since losses are a few per cent of it.
 */
static const double same_question = 5e-11, same_bus = 1e-8, same_temperature = 2e-6;

/* A dc bus adds what its children, its ports and its capacitors draw, A. */
static double dc_current(const hl_workspace *work, size_t index)
{
    const hl_design *design = work->design;
    const design_stage *stage = &design->stages[index];
    const stage_state *state = &work->stages[index];
    double current = 0;
    for (size_t c = 0; c < stage->n_children; c++) current += work->stages[stage->children[c]].input_current;
    for (size_t p = 0; p < stage->n_ports; p++)
        current +=
            work->settings[SETTING_LOAD] * work->settings[design->ports[stage->ports[p]].current_setting];
    if (state->voltage > 0) current += state->bus_drawn / state->voltage;
    return current;
}

/* An ac or rectified bus feeds one stage at most: its side, with the bus's own loss on top. */
static const stage_state *single_child(const hl_workspace *work, size_t index)
{
    const design_stage *stage = &work->design->stages[index];
    return stage->n_children ? &work->stages[stage->children[0]] : NULL;
}

/* By that much more than its child draws. */
static double single_factor(const stage_state *state, const stage_state *child)
{
    bool more = state->bus_drawn > 0 && child->input_power > 0;
    return more ? 1.0 + state->bus_drawn / child->input_power : 1.0;
}

static bool has_dc_bus(const hl_workspace *work, size_t index)
{
    const hl_stage *model = work->design->stages[index].model->stage;
    return model->output == HL_DC && !model->terminal;
}

double question_load(const hl_workspace *work, size_t index)
{
    const stage_state *state = &work->stages[index];
    if (has_dc_bus(work, index)) return dc_current(work, index) * state->voltage;
    const stage_state *child = single_child(work, index);
    return child ? single_factor(state, child) * child->input_power : 0;
}

double question_offered(const hl_workspace *work, size_t index)
{
    int parent = work->design->stages[index].parent;
    return parent < 0 ? work->settings[SETTING_VOLTAGE] : work->stages[parent].voltage;
}

/* Once in a walk: temperatures stand through it, and a bus keeps its voltage until its own stage is solved,
 * after all that it feeds. */
static void show_bus(hl_workspace *work, size_t index)
{
    stage_state *state = &work->stages[index];
    if (!state->bus_shown) bus_present(work, index, &state->capacitance, &state->esr);
    state->bus_shown = true;
}

static void ask_load(const hl_workspace *work, size_t index, question *q)
{
    const stage_state *state = &work->stages[index];
    if (has_dc_bus(work, index)) {
        q->load_voltage = state->voltage;
        q->load_current = dc_current(work, index);
        q->load_power = q->load_current * state->voltage;
        return;
    }
    q->child = single_child(work, index);
    if (!q->child) return;
    q->load_factor = single_factor(state, q->child);
    q->load_voltage = q->child->out.input.voltage;
    q->load_current = q->load_factor * q->child->input_current;
    q->load_power = q->load_factor * q->child->input_power;
    q->load_peak = q->child->out.input.current_peak;
}

question question_now(hl_workspace *work, size_t index)
{
    const design_stage *stage = &work->design->stages[index];
    const stage_state *state = &work->stages[index];
    question q = {.input_voltage = question_offered(work, index), .extra_loss = state->extra};
    if (stage->asked_by >= 0)
        q.output_voltage = work->settings[work->design->ports[stage->asked_by].voltage_setting];
    show_bus(work, index);
    q.output_capacitance = state->capacitance;
    q.output_esr = state->esr;
    if (stage->parent >= 0) {
        show_bus(work, (size_t)stage->parent);
        q.input_capacitance = work->stages[stage->parent].capacitance;
    }
    ask_load(work, index, &q);
    return q;
}

static bool near(double a, double b, double within)
{
    return fabs(a - b) <= within * fabs(b);
}

bool question_same(const hl_workspace *work, size_t index, const question *now)
{
    const hl_stage_input *then = &work->stages[index].in;
    const design_stage *stage = &work->design->stages[index];
    double power = fabs(then->load.power) + fabs(then->extra_loss);
    bool electrical = near(now->input_voltage, then->input_voltage, same_question) &&
                      near(now->output_voltage, then->output_voltage, same_question) &&
                      near(now->load_voltage, then->load.voltage, same_question) &&
                      near(now->load_current, then->load.current, same_question) &&
                      near(now->load_power, then->load.power, same_question) &&
                      near(now->load_peak, then->load.current_peak, same_question) &&
                      fabs(now->extra_loss - then->extra_loss) <= same_question * power;
    bool bus = near(now->output_capacitance, then->output_capacitance, same_bus) &&
               near(now->output_esr, then->output_esr, same_bus) &&
               near(now->input_capacitance, then->input_capacitance, same_bus);
    if (!electrical || !bus) return false;
    for (size_t s = 0, n = slots_of(stage); s < n; s++) {
        if (stage->item[s] < 0) continue;
        double moved = work->items[stage->item[s]].temperature - then->slot[s].temperature;
        if (!(fabs(moved) <= same_temperature)) return false;
    }
    for (size_t c = 0; c < stage->n_capacitors; c++) {
        const item_state *item = &work->items[stage->capacitors[c]];
        if (!(fabs(item->temperature - item->booked_at) <= same_temperature)) return false;
    }
    return true;
}

static void scale_wave(hl_wave *wave, double factor, hl_scratch *scratch)
{
    hl_segment *scaled = hl_scratch_take(scratch, wave->n * sizeof *scaled);
    if (!scaled) return; /* the slow wave then stays unscaled: a loss of parts in 1e4 of its shape */
    for (size_t k = 0; k < wave->n; k++) {
        scaled[k] = wave->segment[k];
        scaled[k].offset *= factor;
        scaled[k].slope *= factor;
        scaled[k].cosine *= factor;
        scaled[k].sine *= factor;
    }
    wave->segment = scaled;
}

static void put_load(stage_state *state, const question *q)
{
    hl_side *load = &state->in.load;
    *load = q->child ? q->child->out.input : (hl_side){.voltage = q->load_voltage};
    load->current = q->load_current;
    load->power = q->load_power;
    if (q->load_factor > 1 && load->line.n) scale_wave(&load->line, q->load_factor, &state->scratch);
}

/* Every member of it, but for the slots that stay empty, as they were made. */
void question_put(hl_workspace *work, size_t index, const question *q)
{
    const hl_design *design = work->design;
    const design_stage *stage = &design->stages[index];
    stage_state *state = &work->stages[index];
    hl_stage_input *in = &state->in;
    in->struct_size = sizeof *in;
    in->values = state->set.values;
    for (size_t s = 0, n = slots_of(stage); s < n; s++) {
        int item = stage->item[s];
        if (item < 0) continue;
        in->slot[s] = (hl_slot_view){.count = design->items[item].parallel,
                                     .temperature = work->items[item].temperature,
                                     .device = design->items[item].set.model->device,
                                     .state = work->items[item].state,
                                     .loss = item_watts(work, item)};
    }
    in->input_voltage = q->input_voltage;
    in->input_frequency = work->settings[SETTING_FREQUENCY];
    in->output_voltage = q->output_voltage;
    in->output_capacitance = q->output_capacitance;
    in->output_esr = q->output_esr;
    in->input_capacitance = q->input_capacitance;
    in->extra_loss = q->extra_loss;
    state->scratch.used = 0;
    put_load(state, q);
    in->scratch = &state->scratch;
    in->memory = state->memory;
    in->border_shift = work->border_shift;
}
