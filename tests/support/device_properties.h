/* device_properties.h - what must hold for every device model, tried on random parts and random stresses. */
#ifndef DEVICE_PROPERTIES_H
#define DEVICE_PROPERTIES_H

#include "device_bench.h"
#include "lottery.h"

enum { RANDOM_CYCLES = 70, RANDOM_LINES = 48 };

/* A stress with its own arrays; any of them may be absent. */
typedef struct random_stress {
    double array[13][RANDOM_CYCLES];
    double line_frequency[RANDOM_LINES], line_rms_squared[RANDOM_LINES];
    hl_stress stress;
} random_stress;

void random_stress_draw(lottery *luck, random_stress *room);
/* Values anywhere in their plausible ranges; optional ones now and then absent. */
void random_part_draw(lottery *luck, device_bench *bench);

/* Draws `parts` parts, a tenth of them under sanitizers (those prepare() refuses need a reason and do not
 * count), a few stresses each, and checks: every loss finite and not negative; the slope equal to a central
 * difference within 1e-6; no stress no loss; any array may be absent; the terminal finite and not negative;
 * the impedance finite; limits finite; the same call twice gives the same bits. */
void device_properties(const char *model, size_t parts);

/* Prints the cost of loss() over a stress of `cycles` cycles or lines. */
void device_cost(device_bench *bench, const hl_stress *stress, size_t cycles);

#endif
