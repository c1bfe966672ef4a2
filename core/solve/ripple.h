/* ripple.h - lines of a ripple spectrum. */
#ifndef HEATLEDGER_RIPPLE_H
#define HEATLEDGER_RIPPLE_H

#include "heatledger/plugin.h"

enum {
    RIPPLE_CYCLES_MAX = 64,
    RIPPLE_HARMONICS = 12, /* per cycle; what lies above is added to the last, so the rms is exact */
    RIPPLE_LINES_MAX = (RIPPLE_CYCLES_MAX + 1) * RIPPLE_HARMONICS,
};

/* Append the lines of one side's ripple; returns the number appended (at most RIPPLE_LINES_MAX). */
size_t ripple_lines(const hl_side *side, double frequency[], double rms_squared[]);

#endif
