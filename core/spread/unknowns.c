/* unknowns.c - bands of settings into independent unknowns. */
#include "spread/unknowns.h"

#include <math.h>
#include <string.h>

static bool is_open(const hl_band *band, const hl_parameter *parameter)
{
    if (band->kind == HL_BAND_NONE || parameter->kind != HL_NUMBER) return false;
    return hl_band_deviation(band) > 0;
}

static size_t unknown_of_group(const unknowns *found, const char *group)
{
    for (size_t k = 0; group && k < found->n; k++)
        if (!strcmp(found->list[k].name, group)) return k;
    return SIZE_MAX;
}

static bool read_bands(const hl_design *design, const double base[], const hl_spread_options *options,
                       unknowns *found)
{
    for (size_t i = 0; i < hl_design_settings(design); i++) {
        if (options->bands)
            found->bands[i] = options->bands[i];
        else if (!hl_design_band(design, i, &found->bands[i]))
            return false;
        else if (base[i] != found->bands[i].central)
            found->bands[i].kind = HL_BAND_NONE;
        if (options->known && options->known[i]) found->bands[i].kind = HL_BAND_NONE;
    }
    return true;
}

bool unknowns_find(arena *memory, const hl_design *design, const double base[],
                   const hl_spread_options *options, unknowns *found)
{
    size_t n = hl_design_settings(design);
    memset(found, 0, sizeof *found);
    found->list = arena_array(memory, n + 1, sizeof *found->list);
    found->bands = arena_array(memory, n + 1, sizeof *found->bands);
    size_t *of = arena_array(memory, n + 1, sizeof *of), *pool = arena_array(memory, n + 1, sizeof *pool);
    if (!found->list || !found->bands || !of || !pool || !read_bands(design, base, options, found))
        return false;
    for (size_t i = 0; i < n; i++) {
        const hl_band *band = &found->bands[i];
        of[i] = SIZE_MAX;
        if (!is_open(band, hl_design_setting(design, i))) continue;
        of[i] = unknown_of_group(found, band->group);
        if (of[i] == SIZE_MAX) {
            of[i] = found->n++;
            found->list[of[i]].name = band->group ? band->group : hl_design_setting_name(design, i);
        }
        found->list[of[i]].n++;
    }
    size_t used = 0;
    for (size_t k = 0; k < found->n; k++) {
        found->list[k].settings = pool + used;
        for (size_t i = 0; i < n; i++)
            if (of[i] == k) pool[used++] = i;
    }
    return true;
}

void unknowns_apply(const unknowns *found, const double base[], size_t n_settings, const double p[],
                    double settings[])
{
    memcpy(settings, base, n_settings * sizeof *settings);
    for (size_t k = 0; k < found->n; k++) {
        const hl_unknown *unknown = &found->list[k];
        for (size_t i = 0; i < unknown->n; i++) {
            size_t at = unknown->settings[i];
            settings[at] = hl_band_quantile(&found->bands[at], p[k]);
        }
    }
}
