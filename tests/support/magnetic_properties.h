/* magnetic_properties.h - what must hold for every magnetic model, tried on random parts and waves. */
#ifndef MAGNETIC_PROPERTIES_H
#define MAGNETIC_PROPERTIES_H

#include "lottery.h"
#include "magnetic_bench.h"

/* Values anywhere in their plausible ranges; optional ones now and then absent; up to `windings` entries in
 * lists. */
void random_magnetic_draw(lottery *luck, magnetic_bench *bench, size_t windings);
/* Waves of straight lines, steps, ringing pieces; any of them may be absent. */
void random_waves_draw(lottery *luck, magnetic_bench *bench, size_t windings);

/* Draws `parts` parts (those prepare() refuses need a reason and do not count), a few stresses each: losses
 * finite and not negative, slope equal to a central difference within 1e-6, no stress no loss, terminal and
 * limits finite; twice the currents give four times the winding loss; the same call twice the same bits. */
void magnetic_properties(const char *model, size_t parts, size_t windings);

/* ns per cycle of one call of loss() on the bench's stress; also printed. */
double magnetic_cost(const magnetic_bench *bench, const char *what);

#endif
