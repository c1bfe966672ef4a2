/* refusal.h - the one sentence of a stage that cannot deliver. */
#ifndef REFUSAL_H
#define REFUSAL_H

#include <stdarg.h>
#include <stdio.h>

#include "heatledger/plugin.h"

/* The compiler compares the sentence with its numbers. */
static inline hl_stage_status refuse(hl_stage_output *out, const char *sentence, ...)
    __attribute__((cold, format(printf, 2, 3)));

static inline hl_stage_status refuse(hl_stage_output *out, const char *sentence, ...)
{
    va_list numbers;
    va_start(numbers, sentence);
    vsnprintf(out->reason.text, sizeof out->reason.text, sentence, numbers);
    va_end(numbers);
    return HL_STAGE_INFEASIBLE;
}

#endif
