/* models.c - one host for all inputs, and a look at everything a catalogue holds. */
#include "models.h"

#include <math.h>
#include <string.h>

#include "target.h"

static hl_host *loaded;

static void unload(void)
{
    hl_host_destroy(loaded);
}

const hl_host *models(void)
{
    if (loaded) return loaded;
    hl_diagnostics *said = hl_diagnostics_create();
    loaded = hl_host_create();
    MUST(said && loaded);
    MUST(hl_host_load_shipped(loaded, said) == HL_OK);
    hl_diagnostics_destroy(said);
    atexit(unload);
    return loaded;
}

static void walk_value(const hl_value *v, const hl_band *b)
{
    if (v->given && v->curve.n == 0) MUST(isfinite(v->number));
    for (size_t i = 0; i < v->curve.n; i++) MUST(isfinite(v->curve.y[i]));
    MUST(!(b->low > b->central) && !(b->central > b->high));
    for (int p = 0; p <= 4; p++) {
        double x = hl_band_quantile(b, 0.25 * p);
        MUST(!isnan(x));
    }
    MUST(!b->group || strlen(b->group) < 100000);
}

void walk_parts(const hl_catalogue *catalogue)
{
    for (size_t i = 0; i < hl_catalogue_parts(catalogue); i++) {
        const hl_part *part = hl_catalogue_part(catalogue, i);
        MUST(hl_catalogue_find(catalogue, hl_part_name(part)) == part);
        MUST(strlen(hl_part_description(part)) < 10000000);
        size_t n = hl_part_model(part)->n_parameters;
        for (size_t k = 0; k < n; k++) walk_value(&hl_part_values(part)[k], &hl_part_bands(part)[k]);
        for (size_t k = 0; k < HL_COMMONS; k++)
            walk_value(&hl_part_commons(part)[k], &hl_part_common_bands(part)[k]);
        for (size_t k = 0; k < n + HL_COMMONS; k++) {
            hl_place place;
            const char *source = hl_part_value_rule(part, k, &place);
            MUST(!source || strlen(source) < 10000000);
        }
    }
}
