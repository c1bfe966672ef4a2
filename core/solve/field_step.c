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
    double *power, *slope, *at, *mean; /* per body */
    hl_field_face face[HL_FACES];
};

static const double steepest = 0.98; /* of s R */

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
    state->work = hl_field_work_create(field);
    return state->power && state->slope && state->at && state->mean && state->work;
}

void field_step_destroy(hl_workspace *work)
{
    if (work->field) hl_field_work_destroy(work->field->work);
}

/* Body of a node that stands for one: a part's (its core or can when it is split) or a board's. */
static size_t body_of_board(const hl_design *design, size_t board)
{
    return (size_t)design->first_board_body + board;
}

static size_t boards(const hl_design *design)
{
    return (size_t)(design->first_face - design->first_board);
}

static void lead_away(hl_workspace *work, size_t body, int node)
{
    field_state *state = work->field;
    double leak = work->design->leak ? work->design->leak[node] : 0;
    state->power[body] -= leak * (state->at[body] - work->surroundings.temperature);
    state->slope[body] -= leak;
}

static bool hand_over(hl_workspace *work)
{
    const hl_design *design = work->design;
    field_state *state = work->field;
    memset(state->power, 0, state->bodies * sizeof(double));
    memset(state->slope, 0, state->bodies * sizeof(double));
    for (size_t i = 0; i < state->bodies; i++) state->at[i] = work->surroundings.temperature;
    for (size_t i = 0; i < design->n_items; i++) {
        int node = design->items[i].shown.node, outer = design->items[i].outer;
        size_t body = design->body[i];
        double slope = work->slope[node], held = slope * design->inside[i];
        if (held > steepest) return false;
        state->at[body] = work->base[node];
        state->power[body] = work->power[node] / (1 - held) + (outer >= 0 ? work->power[outer] : 0);
        state->slope[body] = slope / (1 - held);
        lead_away(work, body, outer >= 0 ? outer : node);
    }
    for (size_t b = 0; b < boards(design); b++) {
        int node = design->first_board + (int)b;
        state->power[body_of_board(design, b)] = work->power[node];
        lead_away(work, body_of_board(design, b), node);
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

double field_gain(hl_workspace *work, int *leader)
{
    size_t body = SIZE_MAX;
    double gain = hl_field_gain(work->field->work, work->field->slope, &body);
    *leader = -1;
    for (size_t i = 0; i < work->design->n_items; i++)
        if (work->design->body[i] == body) *leader = work->design->items[i].shown.node;
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
