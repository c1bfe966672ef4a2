/* checks.h - the checks, one function each; false after trial_fail. */
#ifndef HEATLEDGER_CHECKS_H
#define HEATLEDGER_CHECKS_H

#include "prove/trial.h"

/* devices: check_prepare.c, check_loss.c, check_slope.c, check_scaling.c, check_shown.c */
bool check_prepare(trial *t);
bool check_bad_values(trial *t);
bool check_losses(trial *t);
bool check_zero_stress(trial *t);
bool check_slope(trial *t);
bool check_current_scaling(trial *t);
bool check_frequency_scaling(trial *t);
bool check_terminal(trial *t);
bool check_impedance(trial *t);
bool check_limits(trial *t);
/* stages: check_stage.c, check_outside.c */
bool check_stage_values(trial *t);
bool check_books(trial *t);
bool check_reasons(trial *t);
bool check_outside(trial *t);
bool check_warm_start(trial *t);
bool check_scratch(trial *t);
/* both: check_manners.c, check_threads.c */
bool check_repeatable(trial *t);
bool check_own_memory(trial *t);
bool check_allocation(trial *t);
bool check_static_data(trial *t);
bool check_threads(trial *t);

#endif
