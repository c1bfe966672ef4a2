/* flyback_caution.h - what a solved flyback rests on that its user may not have meant. */
#ifndef FLYBACK_CAUTION_H
#define FLYBACK_CAUTION_H

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "flyback_plan.h"

static inline void flyback_warn(hl_stage_output *out, const char *sentence, ...)
    __attribute__((format(printf, 2, 3)));

/* Cautions stand side by side; one that no longer fits is left out. */
static inline void flyback_warn(hl_stage_output *out, const char *sentence, ...)
{
    char one[sizeof out->note.text];
    if (!HL_REACHES(out, note)) return;
    va_list numbers;
    va_start(numbers, sentence);
    vsnprintf(one, sizeof one, sentence, numbers);
    va_end(numbers);
    size_t used = strlen(out->note.text), length = strlen(one);
    if (used + length + 3 > sizeof out->note.text) return;
    if (used) {
        memcpy(out->note.text + used, "; ", 2);
        used += 2;
    }
    memcpy(out->note.text + used, one, length + 1);
}

/* Quasi-resonant controllers hold the frequency below some 130 to 250 kHz and cut no smaller peak than a
 * quarter or so of their largest: common practice, no source. */
static inline void flyback_warn_of_control(const flyback_plan *p, double frequency, hl_stage_output *out)
{
    if (p->mode != FLYBACK_RESONANT || p->shortest > 0.0 || p->burst_peak > 0.0 || !(frequency > 250e3))
        return;
    flyback_warn(out,
                 "it runs at %.4g kHz, since neither maximum_frequency nor burst_peak_current is stated; "
                 "controllers hold 130 to 250 kHz",
                 1e-3 * frequency);
}

/* A controller without hysteresis between its valleys jumps to and fro: common practice, no source. */
static inline void flyback_warn_of_jumps(const flyback_plan *p, hl_stage_output *out)
{
    if (!(p->border_shift > 0.0 && p->shortest > 0.0) || p->valley > 0) return;
    flyback_warn(
        out,
        "two valleys call for each other here, and the controller may jump between them; the later one is "
        "shown, as with a clamp at %.5g kHz",
        1e-3 / p->shortest);
}

/* What the resistor takes while the secondary conducts is left out: little while RC is longer than that. */
static inline void flyback_warn_of_clamp(const flyback_plan *p, hl_stage_output *out)
{
    double rc = p->clamp_resistance * p->clamp_capacitance, longest = 0.0;
    if (p->clamp != FLYBACK_RESISTOR || !(rc > 0.0)) return;
    for (size_t n = 0; n < p->n; n++)
        longest = fmax(longest, p->node[n].cycle.fill + p->node[n].cycle.reset + p->node[n].cycle.fall);
    if (!(longest > rc)) return;
    flyback_warn(
        out,
        "the clamp empties in %.3g us, within the %.3g us in which the secondary conducts: its loss is "
        "higher than shown; check clamp_resistor and clamp_capacitor",
        1e6 * rc, 1e6 * longest);
}

static inline void flyback_warn_of_windings(double windings, hl_stage_output *out)
{
    if (!(windings >= 3.0)) return;
    flyback_warn(
        out,
        "the transformer lists %.0f windings and the flyback uses two: the others carry no current; a "
        "secondary of parallel coils is one winding with parallel_wires",
        windings);
}

#endif
