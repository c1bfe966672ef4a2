/* load.h - stresses for a device, anywhere in the box that adapters of 1 W to some kilowatts fill. */
#ifndef HEATLEDGER_LOAD_H
#define HEATLEDGER_LOAD_H

#include "heatledger/plugin.h"
#include "prove/chance.h"

enum {
    LOAD_CYCLES = 16,
    LOAD_LINES = 24,
    LOAD_ARRAYS = 14,
    LOAD_SEGMENTS = LOAD_CYCLES * (HL_WINDINGS_MAX + 1) * 4
};

typedef enum load_kind {
    LOAD_FULL,     /* everything */
    LOAD_SPARSE,   /* arrays absent (NULL) or zero at random */
    LOAD_CURRENTS, /* no voltage anywhere: shows the losses of currents alone */
    LOAD_VOLTAGES, /* no current anywhere */
    LOAD_KINDS
} load_kind;

/* A stress with the memory its arrays and waves live in. */
typedef struct load {
    double array[LOAD_ARRAYS][LOAD_CYCLES];
    double line_frequency[LOAD_LINES], line_rms_squared[LOAD_LINES];
    hl_wave flux[LOAD_CYCLES], winding[HL_WINDINGS_MAX][LOAD_CYCLES];
    hl_segment segment[LOAD_SEGMENTS];
    size_t segments;
    hl_stress stress;
} load;

/* cycles: 0 .. LOAD_CYCLES */
void load_draw(load *l, chance *luck, hl_family family, size_t cycles, load_kind kind);
/* A copy with its own memory. */
void load_copy(load *to, const load *from);
/* All zero: with n cycles of weight 1/n and arrays of zeros, or (n = 0) nothing at all. */
void load_nothing(load *l, size_t cycles);

void load_scale_currents(load *l, double factor);
void load_scale_frequency(load *l, double factor);
void load_scale_flux(load *l, double factor);

#endif
