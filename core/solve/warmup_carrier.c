/* warmup_carrier.c - network or field behind one face. */
#include "solve/warmup_carrier.h"

#include <stdlib.h>

#include "solve/warmup_field.h"
#include "thermal/transient.h"

struct carrier {
    hl_workspace *work;
    transient *network; /* NULL: by field */
    field_warmup *field;
};

carrier *carrier_create(hl_workspace *work, hl_heat heat, void *context, const double start[],
                        const hl_surroundings *steady, double tolerance, hl_diagnostics *diagnostics)
{
    carrier *c = calloc(1, sizeof *c);
    if (!c) return NULL;
    c->work = work;
    if (work->design->field)
        c->field = field_warmup_create(work, heat, context, start, steady, diagnostics);
    else
        c->network =
            transient_create(work->design->network, &work->surroundings, heat, context, start, tolerance);
    if (c->field || c->network) return c;
    free(c);
    return NULL;
}

void carrier_destroy(carrier *c)
{
    if (!c) return;
    transient_destroy(c->network);
    field_warmup_destroy(c->field);
    free(c);
}

hl_status carrier_step(carrier *c, double stop, double *reached)
{
    return c->field ? field_warmup_step(c->field, stop, reached) : transient_step(c->network, stop, reached);
}

hl_status carrier_restart(carrier *c, double now, const hl_surroundings *surroundings)
{
    return c->field ? field_warmup_restart(c->field, surroundings)
                    : transient_restart(c->network, now, surroundings);
}

const double *carrier_state(const carrier *c)
{
    return c->field ? field_warmup_state(c->field) : transient_state(c->network);
}

bool carrier_at(carrier *c, double time, double state[])
{
    return c->field ? field_warmup_at(c->field, time, state) : transient_at(c->network, time, state);
}

void carrier_energy(const carrier *c, const double start[], double energy[3])
{
    if (c->field)
        field_warmup_energy(c->field, energy);
    else
        transient_energy(c->network, start, energy);
}

double carrier_gain(carrier *c, const double temperature[], const double slope[], int *leader)
{
    if (c->field) return field_warmup_gain(c->field, slope, leader);
    return hl_network_gain(c->work->network, &c->work->surroundings, temperature, slope, leader);
}
