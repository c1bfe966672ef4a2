/* llc_design.h - half-bridge LLCs of ideal parts laid out on a stage bench, for tests. */
#ifndef LLC_DESIGN_H
#define LLC_DESIGN_H

#include "lottery.h"
#include "stage_bench.h"

typedef struct llc_design {
    double input, series, magnetizing, capacitance, ratio, primary, secondary, charge, dead_time, body_drop;
    bool full_bridge, instant;
    double drop; /* V of one diode; 0: synchronous */
} llc_design;
typedef struct llc_point {
    llc_design d;
    double output, load;
} llc_point;
/* The first design of the references. */
extern const llc_design llc_wide;

/* A bench with the stage and nothing in its slots. */
stage_bench *llc_bench(void);

/* Parts, parameters and input voltage; and load, too. */
void llc_lay_out(stage_bench *bench, const llc_design *d);
void llc_lay_out_point(stage_bench *bench, const llc_point *p);

/* A converter a designer might draw: resonance 60 to 300 kHz, inductance ratio 3 to 10, gain 0.8 to 1.15,
 * loaded quality 0.2 to 0.6 at full load, of which 2 to 120 % are drawn. */
llc_point llc_draw(lottery *luck);

#endif
