/* figure_stage.h - stages whose figures are kept: a design drawn for each, with fitting parts and options,
 * and the operating points it is asked for. */
#ifndef FIGURE_STAGE_H
#define FIGURE_STAGE_H

#include "figure_line.h"
#include "kept_figures.h"
#include "stage_bench.h"

enum { FIGURE_RIPPLES = 3 };

/* What a circuit is made for: V and A at its sides, Hz, H of its inductor. */
typedef struct circuit_size {
    double input, output, amperes, hertz, mains, inductance;
} circuit_size;

typedef struct figure_stage {
    stage_bench *bench;
    unsigned long long seed;
    hl_device device[HL_SLOTS_MAX]; /* what sits in the slots: leans with temperature and voltage */
    circuit_size size;
    double output_capacitance, output_esr, input_capacitance, extra; /* extra loss: share of the power */
    bool smooth;                                                     /* a load on the mains: without ripple */
    figure_line_kind kind;
    hl_segment line[FIGURE_LINE_PIECES], ripple[FIGURE_RIPPLES][2];
    hl_wave wave[FIGURE_RIPPLES];
    double weight[FIGURE_RIPPLES], frequency[FIGURE_RIPPLES];
} figure_stage;

/* The number-th design of a bench's model; fails the test for a parameter that no rule draws. */
void figure_stage_deal(figure_stage *stage, stage_bench *bench, size_t number);
/* Ask for shares of its full load and of its input voltage, every input moved by `hair`. */
void figure_stage_point(figure_stage *stage, double load, double input, figure_hair *hair);
/* The same with drawn shares and, where wanted, one part, value or demand that is not as it should be. */
void figure_stage_draw_point(figure_stage *stage, bool amiss, figure_hair *hair);

#endif
