/* plan.c - axes, columns, limits and what is kept. */
#include "sweep/plan.h"
#include "diagnostic/joined.h"
#include "quantity/float_state.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

static hl_status no_memory(hl_diagnostics *diagnostics)
{
    hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; make the plan smaller");
    return HL_NO_MEMORY;
}

hl_sweep *hl_sweep_create(const hl_design *design, const double settings[])
{
    arena *memory = arena_create();
    hl_sweep *sweep = memory ? arena_take(memory, sizeof *sweep) : NULL;
    if (!sweep) {
        arena_destroy(memory);
        return NULL;
    }
    sweep->memory = memory;
    sweep->design = design;
    sweep->n_settings = hl_design_settings(design);
    sweep->base = arena_array(memory, sweep->n_settings + 1, sizeof *sweep->base);
    sweep->stamp = fingerprint_begin;
    if (!sweep->base) {
        arena_destroy(memory);
        return NULL;
    }
    memcpy(sweep->base, settings, sweep->n_settings * sizeof *settings);
    return sweep;
}

void hl_sweep_destroy(hl_sweep *sweep)
{
    if (sweep) arena_destroy(sweep->memory);
}

/* Names become columns of the store: nothing in them may need care. */
static bool name_is_plain(const char *name)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-. ";
    size_t length = strlen(name);
    return length > 0 && length < NAME_MAX_LENGTH && strspn(name, plain) == length && name[0] != ' ';
}

static bool name_is_taken(const hl_sweep *sweep, const char *name)
{
    static const char *const own[] = {"point", "status", "reason", "broken"};
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
        if (!strcasecmp(own[i], name)) return true;
    for (size_t i = 0; i < sweep->n_axes; i++)
        if (!strcasecmp(sweep->axes[i].name, name)) return true;
    for (size_t i = 0; i < sweep->n_columns; i++)
        if (!strcasecmp(sweep->columns[i].name, name)) return true;
    return false;
}

static hl_status check_name(const hl_sweep *sweep, const char *what, const char *name, size_t n, size_t most,
                            hl_diagnostics *diagnostics)
{
    if (!name_is_plain(name))
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                           "%s '%s' is not usable as a name; use letters, digits, . _ - and spaces", what,
                           name);
    else if (name_is_taken(sweep, name))
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "%s '%s' is there already; keep one", what, name);
    else if (n >= most)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "%s '%s' is one too many; %zu are possible", what,
                           name, most);
    else
        return HL_OK;
    return HL_BAD_INPUT;
}

/* ------------------------------------------------------------------ axes -- */

static bool chooses_part(const hl_design *design, size_t setting)
{
    for (size_t i = 0; i < hl_design_items(design); i++)
        if (hl_design_part_setting(design, i) == setting) return true;
    return false;
}

static hl_status check_settings(const hl_sweep *sweep, const char *name, size_t n, const size_t settings[],
                                hl_diagnostics *diagnostics)
{
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < sweep->n_axes; i++)
            for (size_t j = 0; j < sweep->axes[i].n_settings; j++) {
                if (sweep->axes[i].setting[j] != settings[k]) continue;
                hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "axes '%s' and '%s' both set %s; keep one",
                                   sweep->axes[i].name, name,
                                   hl_design_setting_name(sweep->design, settings[k]));
                return HL_BAD_INPUT;
            }
    return HL_OK;
}

static bool copy_axis(hl_sweep *sweep, axis *to, const char *name, size_t n_settings, const size_t settings[])
{
    to->name = arena_copy(sweep->memory, name);
    to->n_settings = n_settings;
    to->setting = arena_array(sweep->memory, n_settings, sizeof *to->setting);
    if (!to->name || !to->setting) return false;
    memcpy(to->setting, settings, n_settings * sizeof *settings);
    for (size_t k = 0; k < n_settings; k++)
        if (chooses_part(sweep->design, settings[k])) to->swaps = true;
    return true;
}

hl_status hl_sweep_axis(hl_sweep *sweep, const char *name, size_t n_settings, const size_t settings[],
                        size_t n_entries, const double values[], const char *const labels[],
                        hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    if (check_name(sweep, "axis", name, sweep->n_axes, AXES_MAX, diagnostics) != HL_OK) return HL_BAD_INPUT;
    if (n_entries < 1 || n_settings < 1 || n_settings > AXIS_SETTINGS_MAX) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                           "axis '%s' has %zu entries of %zu settings; give 1 entry or more, of 1 to %d",
                           name, n_entries, n_settings, AXIS_SETTINGS_MAX);
        return HL_BAD_INPUT;
    }
    if (check_settings(sweep, name, n_settings, settings, diagnostics) != HL_OK) return HL_BAD_INPUT;
    axis made = {.n_entries = n_entries};
    if (!copy_axis(sweep, &made, name, n_settings, settings)) return no_memory(diagnostics);
    made.value = arena_array(sweep->memory, n_entries * n_settings, sizeof *made.value);
    made.label = labels ? arena_array(sweep->memory, n_entries, sizeof *made.label) : NULL;
    if (!made.value || (labels && !made.label)) return no_memory(diagnostics);
    memcpy(made.value, values, n_entries * n_settings * sizeof *values);
    for (size_t i = 0; labels && i < n_entries; i++)
        if (labels[i] && !(made.label[i] = arena_copy(sweep->memory, labels[i])))
            return no_memory(diagnostics);
    sweep->axes[sweep->n_axes++] = made;
    return HL_OK;
}

hl_status hl_sweep_range(hl_sweep *sweep, size_t setting, double low, double high,
                         hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    char name[NAME_MAX_LENGTH + 8];
    snprintf(name, sizeof name, "%s%s", hl_design_setting_name(sweep->design, setting),
             strcmp(hl_design_setting(sweep->design, setting)->dimension, "degC") ? "" : "_c");
    if (check_name(sweep, "axis", name, sweep->n_axes, AXES_MAX, diagnostics) != HL_OK ||
        check_settings(sweep, name, 1, &setting, diagnostics) != HL_OK)
        return HL_BAD_INPUT;
    if (!(low < high) || !isfinite(low) || !isfinite(high) ||
        hl_design_setting(sweep->design, setting)->kind != HL_NUMBER) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "axis '%s' needs a number from low to a higher one",
                           name);
        return HL_BAD_INPUT;
    }
    axis made = {.low = low, .high = high};
    if (!copy_axis(sweep, &made, name, 1, &setting)) return no_memory(diagnostics);
    sweep->axes[sweep->n_axes++] = made;
    return HL_OK;
}

void hl_sweep_sample(hl_sweep *sweep, size_t points, uint64_t seed)
{
    sweep->sampled = true;
    sweep->points = points;
    sweep->seed = seed;
}

/* --------------------------------------------------------------- columns -- */

static hl_status add_column(hl_sweep *sweep, const char *name, const column *made,
                            hl_diagnostics *diagnostics)
{
    if (check_name(sweep, "figure", name, sweep->n_columns, COLUMNS_MAX, diagnostics) != HL_OK)
        return HL_BAD_INPUT;
    column *to = &sweep->columns[sweep->n_columns];
    *to = *made;
    to->name = arena_copy(sweep->memory, name);
    if (!to->name) return no_memory(diagnostics);
    sweep->n_columns++;
    sweep->n_derived += made->derived;
    return HL_OK;
}

hl_status hl_sweep_figure(hl_sweep *sweep, const char *name, hl_diagnostics *diagnostics)
{
    column made = {.derived = false};
    if (!hl_probe_find(sweep->design, name, &made.figure)) {
        char advice[400];
        hl_probe_advice(sweep->design, name, advice, sizeof advice);
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "the adapter has no figure '%s'; %s", name, advice);
        return HL_BAD_INPUT;
    }
    if (sweep->n_derived) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "figure '%s' stands behind derived ones", name);
        return HL_BAD_INPUT;
    }
    return add_column(sweep, name, &made, diagnostics);
}

hl_status hl_sweep_derived(hl_sweep *sweep, const char *name, hl_diagnostics *diagnostics)
{
    column made = {.derived = true};
    return add_column(sweep, name, &made, diagnostics);
}

static column *find_column(hl_sweep *sweep, const char *name, hl_diagnostics *diagnostics)
{
    for (size_t i = 0; i < sweep->n_columns; i++)
        if (!strcmp(sweep->columns[i].name, name)) return &sweep->columns[i];
    hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "'%s' is no figure of this plan; add it to its figures",
                       name);
    return NULL;
}

hl_status hl_sweep_limit(hl_sweep *sweep, const char *name, double least, double most,
                         hl_diagnostics *diagnostics)
{
    column *found = find_column(sweep, name, diagnostics);
    if (!found) return HL_BAD_INPUT;
    if (!(least <= most)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                           "limit of '%s': nothing is at least %g and at most %g", name, least, most);
        return HL_BAD_INPUT;
    }
    if (!found->derived && !strcmp(name, "case_hottest_c") && !hl_design_case_hottest(sweep->design)) {
        hl_diagnostics_add(
            diagnostics, HL_ERROR, NULL,
            "limit of '%s': the script describes no case, so there is no such figure; describe it with "
            "box, or leave the limit out",
            name);
        return HL_BAD_INPUT;
    }
    found->limited = true;
    found->least = least;
    found->most = most;
    return HL_OK;
}

bool plan_broken(const hl_sweep *sweep, const double figures[], char *text, size_t size)
{
    text[0] = '\0';
    for (size_t i = 0; i < sweep->n_columns; i++) {
        const column *c = &sweep->columns[i];
        if (!c->limited || (figures[i] >= c->least && figures[i] <= c->most)) continue;
        join_word(text, size, ", ", c->name);
        if (isnan(figures[i])) join_word(text, size, "", " (no value here)");
    }
    return *text != '\0';
}

hl_status hl_sweep_keep(hl_sweep *sweep, hl_keep keep, size_t most, size_t n_aims, const hl_aim aims[],
                        hl_diagnostics *diagnostics)
{
    size_t wanted = keep == HL_KEEP_BEST ? 1 : keep == HL_KEEP_PARETO ? 2 : 0;
    bool counted = keep == HL_KEEP_BEST || keep == HL_KEEP_FAILURES;
    if (n_aims > HL_AIMS_MAX || (wanted == 0) != (n_aims == 0) || n_aims < wanted ||
        (keep == HL_KEEP_BEST && n_aims > 1) || (counted && (most < 1 || most > 1000000))) {
        hl_diagnostics_add(
            diagnostics, HL_ERROR, NULL,
            "what to keep is not clear: all; the best N by one figure; the Pareto set of 2 to %d "
            "figures; or the first N failures",
            HL_AIMS_MAX);
        return HL_BAD_INPUT;
    }
    for (size_t i = 0; i < n_aims; i++) {
        const column *found = find_column(sweep, aims[i].column, diagnostics);
        if (!found) return HL_BAD_INPUT;
        sweep->aims[i] = (aim){(size_t)(found - sweep->columns), aims[i].highest};
    }
    sweep->keep = keep;
    sweep->keep_most = most;
    sweep->n_aims = n_aims;
    return HL_OK;
}

hl_status hl_sweep_stamp(hl_sweep *sweep, const char *name, const char *text, size_t length)
{
    sweep->stamp = fingerprint(sweep->stamp, name, strlen(name) + 1);
    sweep->stamp = fingerprint(sweep->stamp, text, length);
    return HL_OK;
}

size_t hl_sweep_points(const hl_sweep *sweep)
{
    return sweep->points;
}

const char *hl_sweep_hash(const hl_sweep *sweep)
{
    return sweep->hash;
}

size_t hl_sweep_columns(const hl_sweep *sweep)
{
    return sweep->n_columns;
}

size_t hl_sweep_derived_columns(const hl_sweep *sweep)
{
    return sweep->n_derived;
}

const char *hl_sweep_aim(const hl_sweep *sweep, bool *highest)
{
    if (sweep->keep != HL_KEEP_BEST || !sweep->n_aims) return NULL;
    *highest = sweep->aims[0].highest;
    return sweep->columns[sweep->aims[0].column].name;
}

const char *hl_sweep_column(const hl_sweep *sweep, size_t index)
{
    return index < sweep->n_columns ? sweep->columns[index].name : NULL;
}
