/* question.h - what a stage is asked in a walk, and whether it has been asked that before. */
#ifndef HEATLEDGER_QUESTION_H
#define HEATLEDGER_QUESTION_H

#include "solve/workspace.h"

/* What a stage is asked, but for its parts and the waves of its load. */
typedef struct question {
    double input_voltage, output_voltage; /* V */
    double extra_loss;                    /* W */
    double output_capacitance, output_esr, input_capacitance;
    double load_voltage, load_current, load_power, load_peak;
    double load_factor;       /* 1, what is drawn over that of the only child */
    const stage_state *child; /* the only one of an ac or rectified bus, else NULL */
} question;

/* V offered upstream. */
double question_offered(const hl_workspace *work, size_t index);
/* W that leave the stage. */
double question_load(const hl_workspace *work, size_t index);
question question_now(hl_workspace *work, size_t index);
/* Is `now` what the stage was asked last, and its bus as warm as it was? */
bool question_same(const hl_workspace *work, size_t index, const question *now);
/* Into the stage's input, with its parts and the waves of its load. */
void question_put(hl_workspace *work, size_t index, const question *now);

#endif
