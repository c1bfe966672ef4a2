#include "prove/trial.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "prove/child.h"
#include "prove/words.h"

int trial_count(const trial *t, int usual)
{
    return (int)fmax(1.0, floor(usual * t->times + 0.5));
}

void trial_beat(trial *t)
{
    t->found->beats++;
    child_rearm();
}

bool trial_fail(trial *t, const char *format, ...)
{
    va_list arguments;
    if (t->found->verdict == VERDICT_FAIL) return false;
    t->found->verdict = VERDICT_FAIL;
    va_start(arguments, format);
    vsnprintf(t->found->detail, DETAIL_SIZE, format, arguments);
    va_end(arguments);
    words_of(t->model, &t->now, t->found->inputs, INPUTS_SIZE);
    snprintf(t->found->doing, sizeof t->found->doing, "%s", t->now.function ? t->now.function : "");
    return false;
}

bool trial_pass(trial *t, const char *format, ...)
{
    va_list arguments;
    if (t->found->verdict == VERDICT_FAIL) return true;
    va_start(arguments, format);
    vsnprintf(t->found->detail, DETAIL_SIZE, format, arguments);
    va_end(arguments);
    return true;
}

void trial_overrun(trial *t, const char *format, ...)
{
    va_list arguments;
    if (t->overrun[0]) return;
    va_start(arguments, format);
    vsnprintf(t->overrun, sizeof t->overrun, format, arguments);
    va_end(arguments);
}
