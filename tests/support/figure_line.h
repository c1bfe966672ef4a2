/* figure_line.h - what loads draw from the mains, for stages whose figures are kept. */
#ifndef FIGURE_LINE_H
#define FIGURE_LINE_H

#include "heatledger/plugin.h"

/* A sine in phase; half a sine of its own for a third of the time; straight lines with some of the mains' own
 * sine on top; the same, less in every other half; nothing but its rms and its power. */
typedef enum figure_line_kind {
    FIGURE_SINE,
    FIGURE_PULSE,
    FIGURE_PIECES,
    FIGURE_LOPSIDED,
    FIGURE_UNTOLD,
    FIGURE_LINE_KINDS
} figure_line_kind;

enum { FIGURE_LINE_PIECES = 8 };

/* Of a load of that many A rms at V rms of a mains of `half` s: its line wave, from rising zero to rising
 * zero where it alternates, else half of that, its peak and its power. */
void figure_line_draw(hl_side *load, figure_line_kind kind, double half, bool alternates,
                      hl_segment piece[FIGURE_LINE_PIECES]);

#endif
