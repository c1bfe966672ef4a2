/* saturation.c - the core that is furthest beyond saturation.
 *
 * Laws of core loss are powers of flux density, measured below saturation; beyond it they go on to watts that
 * no core has, and the inductance the waves were solved with is gone. So whatever part leads the run-away
 * that follows, the core is what to look at first. */
#include "solve/saturation.h"

#include <stdio.h>
#include <string.h>

static bool tells_saturation(const hl_limit *limit)
{
    return strcmp(limit->unit, "T") == 0 || strstr(limit->name, "saturation") ||
           strstr(limit->name, "magnetizing");
}

/* Of one item; limit->value / limit->rated at most 1: none. */
static hl_limit item_saturation(const hl_workspace *work, size_t item)
{
    const hl_stress *stress = work->items[item].stress;
    hl_limit limits[HL_LIMITS_MAX], most = {"", "", 0.0, 1.0};
    if (work->design->items[item].set.model->device->family != HL_FAMILY_MAGNETIC || !stress) return most;
    size_t n = item_limits(work, item, stress, limits);
    for (size_t i = 0; i < n; i++)
        if (limits[i].rated > 0 && tells_saturation(&limits[i]) &&
            limits[i].value / limits[i].rated > most.value / most.rated)
            most = limits[i];
    return most;
}

void saturation_text(const hl_workspace *work, char text[], size_t size)
{
    double worst = 1.0;
    text[0] = '\0';
    for (size_t i = 0; i < work->design->n_items; i++) {
        hl_limit limit = item_saturation(work, i);
        if (!(limit.value / limit.rated > worst)) continue;
        worst = limit.value / limit.rated;
        snprintf(
            text, size,
            "; %.60s is beyond saturation (%.40s %.3g %.8s, %.3g at most), where neither its loss nor its "
            "inductance is known: check its turns, core and inductance first",
            work->design->items[i].shown.name, limit.name, limit.value, limit.unit, limit.rated);
    }
}
