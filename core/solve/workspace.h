/* workspace.h - the memory of one thread while it solves points of one design. */
#ifndef HEATLEDGER_WORKSPACE_H
#define HEATLEDGER_WORKSPACE_H

#include "design/design.h"
#include "solve/foresight.h"
#include "solve/mixing.h"
#include "solve/response.h"

/* Values of a stage or part at this point, and the setting values they came from. */
typedef struct applied {
    hl_value *values;
    double *number; /* settings applied last; NaN where absent */
    double *rows;   /* room for the curves and lists that a setting scales */
    bool ready;     /* prepared with these values */
} applied;

typedef struct stage_state {
    bool clear;       /* out is an answer of nothing */
    bool solved;      /* out is the answer to `in` */
    bool bus_shown;   /* within a walk: capacitance and esr are known */
    double slot_loss; /* W booked by the parts in its slots */
    double bus_loss;  /* W booked by the capacitors on its output bus */
    /* handed to the next walk: */
    double extra;       /* W booked beyond circuit_loss, to be drawn at the input */
    double bus_drawn;   /* W that the capacitors draw from its output bus */
    double voltage;     /* V at its output: solved, or a first guess */
    double guess;       /* V, that guess */
    size_t own_voltage; /* of its values: what it sets its output to; beyond them: none does */
    double input_power, input_current;
    double capacitance, esr; /* what the capacitors on its output bus show the circuit */
    applied set;
    hl_scratch scratch;
    void *memory;
    hl_stage_input in; /* what it was asked last */
    hl_stage_output out;
} stage_state;

typedef struct item_state {
    void *state;
    const hl_stress *stress;
    double temperature; /* K */
    double booked_at;   /* K, temperature of `loss` */
    double sent_slope;  /* W/K, of those mechanisms of one part that warm another */
    double watts;       /* W, all mechanisms of `loss`, which only changes together with it */
    bool clear;         /* nothing is booked since that was cleared */
    hl_loss loss;       /* of one part */
    applied set;
    void *spare; /* a second state, for sensitivities */
    size_t state_size;
    size_t chosen; /* of the item's alternatives */
    double *line_frequency, *line_rms_squared;
    hl_stress bus; /* stress of a bus capacitor */
} item_state;

/* field_step.c, feedback.h */
typedef struct field_state field_state;
typedef struct feedback feedback;

struct hl_workspace {
    const hl_design *design; /* a copy, whose items hold the chosen parts and whose network fits them */
    const hl_design *described;
    design_item *chosen_items;  /* the copy's items */
    hl_network *chosen_network; /* the copy's network, when parts change it; NULL: the described one */
    arena *memory;
    stage_state *stages;
    item_state *items;
    hl_network_work *network;                   /* NULL: none, or a field carries the heat */
    field_state *field;                         /* NULL: no field */
    feedback *feedback;                         /* worked out when it is first read */
    double *temperature, *base, *power, *slope; /* per node */
    double *sent; /* per node: W/K, half of what rises at one node with the temperature of another: at both */
    double *steep;         /* per node: slope and sent, see feedback.c */
    mixing mix;            /* of what a round hands to the next */
    double *handed, *made; /* that, before and after the round at hand */
    double *heat_applied;  /* of each heat setting: K/W put into the network last */
    double *most;          /* of each setting: the largest size that is taken */
    bool *feeds;           /* of each setting: a value, or a choice, rests on it */
    double *placed;        /* the settings whose values were applied last */
    bool all_placed;       /* and without fail */
    bool as_described;     /* and they are those of the design */
    size_t lines_room;
    double *line_frequency, *line_rms_squared; /* of the bus at hand */
    double *line_real, *line_imaginary;        /* admittance of its capacitors */
    double *line_resistance, *line_reactance;  /* of one of them */
    const double *settings;
    hl_surroundings surroundings;
    double border_shift; /* 1, handed to each stage: hl_stage_input */
    two_parts step;      /* what each round changes for ever, where rounds end so; nought */
    bool seeded;         /* what the first round is handed is another point's end, not a guess */
    hl_outcome outcome;
    char reason[512];
    hl_power_figures figures;
    struct anchors *anchors;       /* where points without a start of their own begin */
    const hl_start *foretold;      /* what they say of the point at hand; NULL: nothing */
    const response_mean *response; /* how rounds answer near the point at hand; NULL: not known */
    response_bench bench;
    foresight sight;   /* of points beside the one at hand */
    first_round first; /* of the point at hand */
    bool measuring;
    hl_times times;
};

/* Slots that a stage has; those behind them are empty. */
static inline size_t slots_of(const design_stage *stage)
{
    size_t n = stage->model->stage->n_slots;
    return n < HL_SLOTS_MAX ? n : HL_SLOTS_MAX;
}

/* times.c: seconds of a steady clock, 0 unless measuring; and the time since, added to a sum. */
double times_now(const hl_workspace *work);
void times_add(hl_workspace *work, double *sum, double since);

/* A point that stands has a gain below one, whatever a bound from above tells. */
static const double below_one = 1 - 1e-6;

/* All mechanisms of one part together, W: four sums side by side. */
static inline double loss_watts(const hl_loss *loss)
{
    enum { SUMS = 4 };
    _Static_assert(HL_MECHANISMS % SUMS == 0, "no mechanism is left over");
    double sum[SUMS] = {0};
    for (int m = 0; m < HL_MECHANISMS; m += SUMS)
        for (int k = 0; k < SUMS; k++) sum[k] += loss->watts[m + k];
    return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

/* Of all parts of an item, W. */
static inline double item_watts(const hl_workspace *work, size_t item)
{
    return work->items[item].watts * work->design->items[item].shown.count;
}

/* Those of `mechanisms` together, a sum of 1u << mechanism, W. */
static inline double loss_watts_of(const hl_loss *loss, uint32_t mechanisms)
{
    double watts = 0;
    for (int m = 0; m < HL_MECHANISMS; m++)
        if (mechanisms >> m & 1u) watts += loss->watts[m];
    return watts;
}

/* The item that a slot of a stage warms by what heats_by names; -1: none. */
static inline int slot_warms(const hl_workspace *work, size_t stage, size_t slot)
{
    unsigned to = work->stages[stage].out.heats[slot];
    return to > 0 && to <= HL_SLOTS_MAX ? work->design->stages[stage].item[to - 1] : -1;
}

/* The item that what is booked to this one by a mechanism warms: this one, unless its stage says otherwise.
 */
static inline size_t item_heats(const hl_workspace *work, size_t item, hl_mechanism mechanism)
{
    const design_item *own = &work->design->items[item];
    size_t stage = own->shown.stage_index;
    const hl_stage_output *out = &work->stages[stage].out;
    if (own->slot < 0 || !(out->heats_by[own->slot] >> mechanism & 1u)) return item;
    int other = slot_warms(work, stage, (size_t)own->slot);
    return other < 0 ? item : (size_t)other;
}

/* headroom.c: what an item's model says of its limits under a stress, at its temperature; how many, at most
 * HL_LIMITS_MAX.  Those without a rating are among them. */
size_t item_limits(const hl_workspace *work, size_t item, const hl_stress *stress, hl_limit limits[]);

/* Settings of another point in a workspace that goes on from where it stands; false: reason is set. */
bool place_settings(hl_workspace *work, const double settings[]);

/* values.c: once, when all items are there (false: no memory); then put settings into values, prepare what
 * changed.  false: reason is set. */
bool values_create(hl_workspace *work);
bool values_apply(hl_workspace *work, const double settings[]);

/* sound.c: once (false: no memory); then, is a setting of a size to compute with, and, of a point just
 * solved, all figures numbers?  false: reason is set.  sound_blame: the setting that lies farthest outside
 * what is plausible, in words; false: none does. */
bool sound_create(hl_workspace *work);
bool sound_setting(hl_workspace *work, const double settings[], size_t index);
bool sound_result(hl_workspace *work);
bool sound_blame(const hl_workspace *work, char *text, size_t size);

/* parts.c: make the copy and its items; put chosen parts into it.  false: no memory; reason is set. */
bool parts_create(hl_workspace *work, const hl_design *design);
bool parts_choose(hl_workspace *work, const double settings[]);

/* bus.c: ripple on the output bus of a stage, shared among its capacitors. */
void bus_share(hl_workspace *work, size_t stage);
/* F and ohm of all capacitors on the bus at its voltage; 0 without any. */
void bus_present(hl_workspace *work, size_t stage, double *capacitance, double *esr);

/* electrical.c: one walk over the tree, leaves first.  *change = the greatest change of what a stage hands to
 * the next walk, relative to its power or voltage.  HL_STAGE_INFEASIBLE: *failed = the stage. */
hl_stage_status electrical_pass(hl_workspace *work, unsigned pass, double *change, size_t *failed);
void electrical_begin(hl_workspace *work);
/* The first guesses of all voltages, which follow from the settings alone. */
void electrical_guess(hl_workspace *work);
/* Index of the value that a stage's output is set to; beyond all: none. */
size_t electrical_own_voltage(const design_stage *stage);
/* Every stage is asked again in the next walk, though it be the same question: settings have changed. */
void electrical_ask_anew(hl_workspace *work);
/* A last walk in which every stage stands as it was solved: losses at the temperatures now, and what that
 * draws upstream, so that both books close on what is reported.  `more`: what losses of parts and circuits
 * will be beyond those booked, as in response_losses; NULL: by their slopes. */
void electrical_stand(hl_workspace *work, const double more[]);
/* With temperatures moved since the walk: what is sure to differ in the next one. */
void electrical_foresee(hl_workspace *work);

/* start.c: put what another point ended with in place of the first guesses; false: it is of another shape. */
bool start_seed(hl_workspace *work, const hl_start *start);
bool start_is_taken(const hl_start *start);
/* The shape, per node, in which temperatures would run away there; all nought: not known. */
const double *start_mode(const hl_start *start);
/* Take that besides, right after hl_start_take; it costs the feedback gain. */
void start_take_mode(hl_start *start, const hl_workspace *work);
/* How rounds answer where it was taken; NULL: not known. */
const response_mean *start_response(const hl_start *start);
/* Room to keep that, `list` and `gain` as in response_create, and how the point moves with `n` settings;
 * false: no memory.  A port's current counts times the load. */
bool start_make_room(hl_start *start, const told *list, float *gain, const size_t settings[], size_t n);
/* Learn both, right after hl_start_take, by differences of `step` (NULL: small shares of the settings). */
bool start_learn(hl_start *start, hl_workspace *work, const double step[]);
/* A start that has learnt, among those that surround a point. */
enum { STARTS_BETWEEN_MAX = RESPONSES_MOST, KNOBS_BETWEEN_MAX = 32 };
typedef struct start_share {
    const hl_start *start;
    double weight;                 /* of what it ended with */
    double linear;                 /* of how rounds answer there */
    double off[KNOBS_BETWEEN_MAX]; /* of its slope along each setting it knows, in units of that setting */
    double square, cube;           /* of its bend and twist along the first setting that has them */
} start_share;
/* The start at `settings` by others, to which room was made: sums of values and slopes.  `inside`: they
 * surround the point. */
bool start_between(hl_start *to, const start_share share[], size_t n, bool inside, const double settings[]);
/* How a start that has learnt bends along setting `along` of those it knows, from points `step` below and
 * above it: value and slope here, and the values there, make a cubic. */
void start_bend(hl_start *start, size_t along, const hl_start *below, const hl_start *above, double step);
/* Where a start that has learnt stands on the axis of a setting. */
double start_knob(const hl_start *start, size_t index);
/* W that the ports ask for, as far as settings tell. */
double start_power(const hl_design *design, const double settings[]);

/* coupled.c: a point begun from `start` (NULL: from nothing), near which rounds answer so (NULL: not known).
 */
hl_status solve_begun(hl_workspace *work, const double settings[], const hl_start *start,
                      const response_mean *answers);

/* anchor.c: solved points of the design about which others begin; those of `beside`, unless NULL. */
typedef struct anchors anchors;
bool anchors_create(hl_workspace *work, const hl_workspace *beside);
void anchors_destroy(hl_workspace *work);
/* The one nearest to these settings, solved when first asked for; it follows from the design and these
 * settings alone.  Empty: none has a solution.  *answers: how rounds answer there, or NULL. */
const hl_start *anchor_near(hl_workspace *work, const double settings[], const response_mean **answers);

#endif
