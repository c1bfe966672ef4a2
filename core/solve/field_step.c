/* field_step.c - losses of parts into the bodies of the condensed field, temperatures back to the nodes.
 *
 * A part whose hot spot is a node of its own hands its heat to its body through R = inside.  With its loss
 * linearised about T0, P = P0 + s (T - T0), and T = T_body + R P, the body receives
 *   P = (P0 + s (T_body - T0)) / (1 - s R), which is linear in T_body again.
 * source: series resistance; holds while s R < 1, beyond which the part runs away inside itself. */
#include "solve/field_step.h"

#include <stdlib.h>
#include <string.h>

struct field_state {
    hl_field_work *work;
    size_t bodies;
    double *power, *slope, *at, *mean; /* per body: what it gets, less what leaks */
    double *own, *leak;                /* per body, W/K: of its losses; straight to the surroundings */
    hl_field_face face[HL_FACES];
};

static const double steepest = 0.98; /* of s R */

/* Body of a node that stands for one: a part's (its core or can when it is split) or a board's. */
static size_t body_of_board(const hl_design *design, size_t board)
{
    return (size_t)design->first_board_body + board;
}

static size_t boards(const hl_design *design)
{
    return (size_t)(design->first_face - design->first_board);
}

void field_leaks(const hl_design *design, double leak[])
{
    memset(leak, 0, hl_field_bodies(design->field) * sizeof *leak);
    if (!design->leak) return;
    for (size_t i = 0; i < design->n_items; i++) {
        int outer = design->items[i].outer;
        leak[design->body[i]] = design->leak[outer >= 0 ? outer : design->items[i].shown.node];
    }
    for (size_t b = 0; b < boards(design); b++)
        leak[body_of_board(design, b)] = design->leak[design->first_board + (int)b];
}

bool field_step_create(hl_workspace *work)
{
    const hl_field *field = work->design->field;
    if (!field) return true;
    field_state *state = arena_take(work->memory, sizeof *state);
    if (!state) return false;
    work->field = state;
    state->bodies = hl_field_bodies(field);
    state->power = arena_array(work->memory, state->bodies, sizeof(double));
    state->slope = arena_array(work->memory, state->bodies, sizeof(double));
    state->at = arena_array(work->memory, state->bodies, sizeof(double));
    state->mean = arena_array(work->memory, state->bodies, sizeof(double));
    state->own = arena_array(work->memory, state->bodies, sizeof(double));
    state->leak = arena_array(work->memory, state->bodies, sizeof(double));
    state->work = hl_field_work_create(field);
    if (!state->power || !state->slope || !state->at || !state->mean || !state->own || !state->leak ||
        !state->work)
        return false;
    field_leaks(work->design, state->leak);
    return true;
}

void field_step_destroy(hl_workspace *work)
{
    if (work->field) hl_field_work_destroy(work->field->work);
}

int field_beyond_inside(const hl_workspace *work, double *held)
{
    const hl_design *design = work->design;
    for (size_t i = 0; i < design->n_items; i++) {
        *held = work->slope[design->items[i].shown.node] * design->inside[i];
        if (*held > steepest) return design->items[i].shown.node;
    }
    return -1;
}

/* What parts and boards lose, into their bodies. */
static void gather(hl_workspace *work)
{
    const hl_design *design = work->design;
    field_state *state = work->field;
    memset(state->power, 0, state->bodies * sizeof(double));
    memset(state->own, 0, state->bodies * sizeof(double));
    for (size_t i = 0; i < state->bodies; i++) state->at[i] = work->surroundings.temperature;
    for (size_t i = 0; i < design->n_items; i++) {
        int node = design->items[i].shown.node, outer = design->items[i].outer;
        size_t body = design->body[i];
        double slope = work->slope[node], held = slope * design->inside[i];
        state->at[body] = work->base[node];
        state->power[body] = work->power[node] / (1 - held) + (outer >= 0 ? work->power[outer] : 0);
        state->own[body] = slope / (1 - held);
    }
    for (size_t b = 0; b < boards(design); b++)
        state->power[body_of_board(design, b)] = work->power[design->first_board + (int)b];
}

static bool hand_over(hl_workspace *work)
{
    field_state *state = work->field;
    double held;
    if (field_beyond_inside(work, &held) >= 0) return false;
    gather(work);
    for (size_t b = 0; b < state->bodies; b++) {
        state->power[b] -= state->leak[b] * (state->at[b] - work->surroundings.temperature);
        state->slope[b] = state->own[b] - state->leak[b];
    }
    return true;
}

static void take_back(hl_workspace *work)
{
    const hl_design *design = work->design;
    const field_state *state = work->field;
    for (size_t i = 0; i < design->n_items; i++) {
        int node = design->items[i].shown.node, outer = design->items[i].outer;
        double mean = state->mean[design->body[i]], slope = work->slope[node];
        double heat =
            (work->power[node] + slope * (mean - work->base[node])) / (1 - slope * design->inside[i]);
        work->temperature[node] = mean + (outer >= 0 ? design->inside[i] * heat : 0);
        if (outer >= 0) work->temperature[outer] = mean;
    }
    for (size_t b = 0; b < boards(design); b++)
        work->temperature[design->first_board + (int)b] = state->mean[body_of_board(design, b)];
}

hl_status field_step(hl_workspace *work)
{
    field_state *state = work->field;
    if (!hand_over(work)) return HL_RUNAWAY;
    hl_status status =
        hl_field_solve(state->work, &work->surroundings, state->power, state->slope, state->at, state->mean);
    if (status == HL_OK) take_back(work);
    return status;
}

hl_status field_stand_still(hl_workspace *work)
{
    field_state *state = work->field;
    gather(work);
    for (size_t b = 0; b < state->bodies; b++) {
        state->at[b] = work->surroundings.temperature;
        state->slope[b] = -state->leak[b];
    }
    return hl_field_solve(state->work, &work->surroundings, state->power, state->slope, state->at,
                          state->mean);
}

field_heat field_step_heat(const hl_workspace *work)
{
    return (field_heat){work->field->power, work->field->slope, work->field->at};
}

void field_faces(hl_workspace *work)
{
    hl_field_spots(work->field->work, NULL, work->field->face);
    for (int f = 0; f < HL_FACES; f++) {
        work->temperature[work->design->first_face + f] = work->field->face[f].mean;
        work->temperature[work->design->first_face + HL_FACES + f] = work->field->face[f].hottest.temperature;
    }
}

double field_handed_out(const hl_workspace *work)
{
    const hl_design *design = work->design;
    double in, out;
    hl_field_book(work->field->work, &in, &out);
    for (int node = 0; design->leak && node < design->first_face; node++)
        out += design->leak[node] * (work->temperature[node] - work->surroundings.temperature);
    return out;
}

/* As by a network (feedback.c), with half of what is sent to another part at both. */
double field_gain(hl_workspace *work, int *leader)
{
    const hl_design *design = work->design;
    field_state *state = work->field;
    size_t body = SIZE_MAX;
    bool sent = false;
    memcpy(state->slope, state->own, state->bodies * sizeof *state->slope);
    for (size_t i = 0; i < design->n_items; i++) {
        double more = work->sent[design->items[i].shown.node];
        state->slope[design->body[i]] += more;
        sent |= more != 0;
    }
    double gain = hl_field_gain(state->work, state->slope, state->leak, &body);
    if (sent && !(gain < 1)) {
        gain = hl_field_gain(state->work, state->own, state->leak, &body);
        if (gain < 1) gain = below_one;
    }
    *leader = -1;
    for (size_t i = 0; i < design->n_items; i++)
        if (design->body[i] == body) *leader = design->items[i].shown.node;
    return gain;
}

/* ----------------------------------------------------------------- reading -- */

bool hl_result_face(const hl_workspace *work, hl_face face, hl_field_face *out)
{
    if (!work->field || work->outcome != HL_SOLVED || face >= HL_FACES) return false;
    *out = work->field->face[face];
    return true;
}

bool hl_result_leaves_by(const hl_workspace *work, double heat[], double watts[])
{
    const field_state *state = work->field;
    const hl_design *design = work->design;
    double *share =
        state && work->outcome == HL_SOLVED ? calloc(state->bodies * HL_FACES, sizeof *share) : NULL;
    bool known = share && hl_field_shares(state->work, share);
    for (size_t i = 0; known && i < design->n_items; i++) {
        size_t body = design->body[i];
        double given = state->power[body] + state->slope[body] * (state->mean[body] - state->at[body]);
        if (heat) heat[i] = 0;
        for (size_t f = 0; f < HL_FACES; f++) {
            watts[i * HL_FACES + f] = given * share[body * HL_FACES + f];
            if (heat) heat[i] += watts[i * HL_FACES + f];
        }
    }
    free(share);
    return known;
}

size_t hl_result_patches(const hl_workspace *work)
{
    return work->field && work->outcome == HL_SOLVED ? hl_field_patches(work->design->field) : 0;
}

void hl_result_patch(const hl_workspace *work, size_t index, hl_field_patch *out)
{
    hl_field_patch_of(work->field->work, index, out);
}
