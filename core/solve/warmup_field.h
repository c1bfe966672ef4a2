/* warmup_field.h - a warm-up by the condensed heat field of a design's box. */
#ifndef HEATLEDGER_SOLVE_WARMUP_FIELD_H
#define HEATLEDGER_SOLVE_WARMUP_FIELD_H

#include "solve/workspace.h"

/* All as in warmup_carrier.h. */
typedef struct field_warmup field_warmup;
field_warmup *field_warmup_create(hl_workspace *work, hl_heat heat, void *context, const double start[],
                                  const hl_surroundings *steady, hl_diagnostics *diagnostics);
void field_warmup_destroy(field_warmup *f);
hl_status field_warmup_step(field_warmup *f, double stop, double *reached);
hl_status field_warmup_restart(field_warmup *f, const hl_surroundings *surroundings);
const double *field_warmup_state(const field_warmup *f);
bool field_warmup_at(field_warmup *f, double time, double state[]);
void field_warmup_energy(const field_warmup *f, double energy[3]);
double field_warmup_gain(field_warmup *f, const double slope[], int *leader);

#endif
