/* warmup_field.c - losses of parts into the bodies of a condensed field in time, temperatures back to nodes.
 *
 * A hot spot that is a node of its own holds no heat: it is above its body by R P at every moment, as in
 * field_step.c.  What leaks straight to the surroundings by hand is taken from the bodies' heat and added to
 * both sides of the book. */
#include "solve/warmup_field.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "design/field_heat.h"
#include "solve/field_step.h"
#include "thermal/field_warming.h"

struct field_warmup {
    const hl_design *design;
    hl_field *field; /* the design's, with what time needs */
    hl_field_warming *run;
    hl_heat heat;
    void *context;
    hl_surroundings room;
    size_t bodies, nodes;
    double *power, *slope, *mean;           /* per body */
    double *node_power, *node_slope, *node; /* per node: K */
    double *state;                          /* per node, now: K */
    double *leak;                           /* per body, W/K */
    double leaked;                          /* J so far */
    bool jumps;                             /* at the next step */
};

static const double steepest = 0.98; /* of the slope times R, beyond which a part runs away inside itself */

static size_t boards(const hl_design *design)
{
    return (size_t)(design->first_face - design->first_board);
}

/* ------------------------------------------------------------------- heat -- */

/* Where a part's hot spot is at its body's temperature, with its loss p + s (T - that temperature). */
static double inside_of(const hl_design *design, size_t item, double slope)
{
    return fmax(1 - slope * design->inside[item], 1 - steepest);
}

/* All nodes of parts at the temperature of their bodies. */
static void lay_on_bodies(const field_warmup *f, const double mean[], double node[])
{
    const hl_design *design = f->design;
    for (size_t i = 0; i < design->n_items; i++) {
        int outer = design->items[i].outer;
        node[design->items[i].shown.node] = mean[design->body[i]];
        if (outer >= 0) node[outer] = mean[design->body[i]];
    }
    for (size_t b = 0; b < boards(design); b++)
        node[design->first_board + (int)b] = mean[(size_t)design->first_board_body + b];
}

static void body_heat(void *context, double time, const double mean[], double power[], double slope[])
{
    field_warmup *f = context;
    const hl_design *design = f->design;
    lay_on_bodies(f, mean, f->node);
    f->heat(f->context, time, f->node, f->node_power, f->node_slope);
    memset(power, 0, f->bodies * sizeof *power);
    memset(slope, 0, f->bodies * sizeof *slope);
    for (size_t i = 0; i < design->n_items; i++) {
        int node = design->items[i].shown.node, outer = design->items[i].outer;
        size_t body = design->body[i];
        double part = inside_of(design, i, f->node_slope[node]);
        power[body] += f->node_power[node] / part;
        slope[body] += f->node_slope[node] / part;
        if (outer < 0) continue;
        power[body] += f->node_power[outer];
        slope[body] += f->node_slope[outer];
    }
    for (size_t b = 0; b < boards(design); b++) {
        power[(size_t)design->first_board_body + b] += f->node_power[design->first_board + (int)b];
        slope[(size_t)design->first_board_body + b] += f->node_slope[design->first_board + (int)b];
    }
    for (size_t b = 0; b < f->bodies; b++) {
        power[b] -= f->leak[b] * (mean[b] - f->room.temperature);
        slope[b] -= f->leak[b];
    }
}

/* Temperatures of all nodes at a time, from the means of the bodies and the faces. */
static void fill_nodes(field_warmup *f, double time, const double mean[], const hl_field_face faces[HL_FACES],
                       double node[])
{
    const hl_design *design = f->design;
    lay_on_bodies(f, mean, node);
    for (int face = 0; face < HL_FACES; face++) {
        node[design->first_face + face] = faces[face].mean;
        node[design->first_face + HL_FACES + face] = faces[face].hottest.temperature;
    }
    f->heat(f->context, time, node, f->node_power, f->node_slope);
    for (size_t i = 0; i < design->n_items; i++) {
        int at = design->items[i].shown.node;
        if (design->items[i].outer >= 0)
            node[at] += design->inside[i] * f->node_power[at] / inside_of(design, i, f->node_slope[at]);
    }
}

static double leaking_now(const field_warmup *f)
{
    double sum = 0;
    for (size_t b = 0; b < f->bodies; b++) sum += f->leak[b] * (f->mean[b] - f->room.temperature);
    return sum;
}

static void take_state(field_warmup *f)
{
    hl_field_face faces[HL_FACES];
    hl_field_warm_read(f->run, f->mean, NULL, faces);
    fill_nodes(f, f->run->time, f->mean, faces, f->state);
}

/* ---------------------------------------------------------------- create -- */

static bool allocate(field_warmup *f)
{
    struct {
        double **at;
        size_t n;
    } vectors[] = {{&f->power, f->bodies}, {&f->slope, f->bodies},     {&f->mean, f->bodies},
                   {&f->leak, f->bodies},  {&f->node_power, f->nodes}, {&f->node_slope, f->nodes},
                   {&f->node, f->nodes},   {&f->state, f->nodes}};
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++)
        if (!(*vectors[i].at = calloc(vectors[i].n + 1, sizeof(double)))) return false;
    f->run = hl_field_warming_create(f->field);
    return f->run != NULL;
}

/* Surroundings of the first step come with the restart at its beginning. */
static hl_status begin(field_warmup *f, const hl_workspace *work, const double start[],
                       const hl_surroundings *steady)
{
    f->room = steady ? *steady : work->surroundings;
    if (!steady) return hl_field_warm_even(f->run, &f->room, start[0]);
    field_heat heat = field_step_heat(work);
    return hl_field_warm_steady(f->run, &f->room, heat.power, heat.slope, heat.at);
}

field_warmup *field_warmup_create(hl_workspace *work, hl_heat heat, void *context, const double start[],
                                  const hl_surroundings *steady, hl_diagnostics *diagnostics)
{
    field_warmup *f = calloc(1, sizeof *f);
    if (!f) return NULL;
    f->design = work->design;
    f->heat = heat;
    f->context = context;
    f->nodes = hl_design_nodes(work->design);
    f->field = field_heat_in_time(work->design, diagnostics);
    f->bodies = f->field ? hl_field_bodies(f->field) : 0;
    if (f->field && allocate(f)) {
        field_leaks(f->design, f->leak);
        if (begin(f, work, start, steady) == HL_OK) {
            memcpy(f->state, start, f->nodes * sizeof *f->state);
            hl_field_warm_read(f->run, f->mean, NULL, NULL);
            f->jumps = true;
            return f;
        }
    }
    field_warmup_destroy(f);
    return NULL;
}

void field_warmup_destroy(field_warmup *f)
{
    if (!f) return;
    hl_field_warming_destroy(f->run);
    hl_field_destroy(f->field);
    void *blocks[] = {f->power, f->slope, f->mean, f->leak, f->node_power, f->node_slope, f->node, f->state};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(f);
}

/* ------------------------------------------------------------------- run -- */

hl_status field_warmup_step(field_warmup *f, double stop, double *reached)
{
    hl_status status = HL_OK;
    double before = f->run->time;
    if (f->jumps) status = warming_jump(f->run, body_heat, f, stop);
    f->jumps = false;
    if (status == HL_OK) {
        hl_field_warm_read(f->run, f->mean, NULL, NULL);
        double leaking = leaking_now(f);
        status = warming_step(f->run, body_heat, f, stop);
        take_state(f);
        f->leaked += 0.5 * (leaking + leaking_now(f)) * (f->run->time - before);
    }
    *reached = f->run->time;
    return status;
}

hl_status field_warmup_restart(field_warmup *f, const hl_surroundings *surroundings)
{
    f->room = *surroundings;
    f->jumps = true;
    return warming_enter_room(f->run, surroundings) ? HL_OK : HL_BAD_INPUT;
}

const double *field_warmup_state(const field_warmup *f)
{
    return f->state;
}

bool field_warmup_at(field_warmup *f, double time, double state[])
{
    hl_field_face faces[HL_FACES];
    if (!(time >= f->run->time_before && time <= f->run->time)) return false;
    warming_read_at(f->run, time, f->mean, NULL, faces);
    fill_nodes(f, time, f->mean, faces, state);
    return true;
}

void field_warmup_energy(const field_warmup *f, double energy[3])
{
    hl_field_warm_book(f->run, energy, NULL);
    energy[0] += f->leaked;
    energy[1] += f->leaked;
}

/* At the present state; the heat that the field holds. */
double field_warmup_gain(field_warmup *f, const double slope[], int *leader)
{
    const hl_design *design = f->design;
    size_t body = SIZE_MAX;
    memset(f->slope, 0, f->bodies * sizeof *f->slope);
    for (size_t i = 0; i < design->n_items; i++) {
        double own = slope[design->items[i].shown.node];
        f->slope[design->body[i]] += own / inside_of(design, i, own);
    }
    double gain = hl_field_gain(f->run->work, f->slope, f->leak, &body);
    if (leader) *leader = -1;
    for (size_t i = 0; leader && i < design->n_items; i++)
        if (design->body[i] == body) *leader = design->items[i].shown.node;
    return gain;
}
