/* value_check.h - what prepare() looks at first: every stated value must be a number. */
#ifndef VALUE_CHECK_H
#define VALUE_CHECK_H

#include <math.h>
#include <stdio.h>

#include "heatledger/plugin.h"

static inline bool row_finite(const double entry[], size_t n)
{
    for (size_t i = 0; entry && i < n; i++)
        if (!isfinite(entry[i])) return false;
    return true;
}

/* false: reason names the first that is not. */
static inline bool values_finite(const hl_value *values, const hl_parameter *parameters, size_t n,
                                 hl_reason *reason)
{
    for (size_t i = 0; i < n; i++) {
        const hl_value *v = &values[i];
        if (!v->given) continue;
        if (isfinite(v->number) && row_finite(v->curve.y, v->curve.n) && row_finite(v->curve.x, v->curve.n))
            continue;
        snprintf(reason->text, sizeof reason->text, "%s is not a finite number", parameters[i].name);
        return false;
    }
    return true;
}

#endif
