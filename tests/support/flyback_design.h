/* flyback_design.h - flybacks of ideal parts laid out on a stage bench, for tests. */
#ifndef FLYBACK_DESIGN_H
#define FLYBACK_DESIGN_H

#include "lottery.h"
#include "stage_bench.h"

typedef struct flyback_design {
    double input, output, load, frequency; /* frequency 0: quasi-resonant */
    double magnetizing, leakage, ratio, winding, channel, secondary, drop, clamp, capacitance;
    double valley;
} flyback_design;

/* The bench of the running test, the quantities of its last solution, and a solution that must come about and
 * hold the contract to 1e-9. */
extern stage_bench *flyback_bench;
void flyback_set_up(void);
void flyback_tear_down(void);
double flyback_asked(const char *quantity);
void flyback_solved(void);

/* Parts, parameters, voltages and load. Parameters it does not name stay as they were. */
void flyback_lay_out(stage_bench *bench, const flyback_design *d);

/* The adapter of the reference cases: 480 uH, 9 uH, 5.6:1, 20 V, clamp 165 V. */
flyback_design flyback_adapter(double input, double load, double frequency);

/* A converter a designer might draw, 5 to 120 W from a bus of 100 to 400 V. */
flyback_design flyback_draw(lottery *luck, bool resonant);

#endif
