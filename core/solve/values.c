/* values.c - settings into the values of stages and parts; only what changed is prepared again. */
#include "solve/workspace.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "plugin/calling.h"

/* A curve or list as described, or scaled into `row`. */
static void apply_scale(hl_value *value, double scale, double *row)
{
    if (isnan(scale) || scale == 1) return;
    for (size_t k = 0; k < value->curve.n; k++) row[k] = scale * value->curve.y[k];
    value->curve.y = row;
    value->number *= scale;
    value->minimum *= scale;
    value->maximum *= scale;
}

/* true when any number differs from the one applied before. */
static bool apply_set(const value_set *set, const double settings[], applied *to)
{
    bool changed = !to->ready;
    double *row = to->rows;
    for (size_t i = 0; i < set->n; i++) {
        if (set->setting[i] == SIZE_MAX) continue;
        double *own = row;
        row += set->values[i].curve.n;
        double number = settings[set->setting[i]];
        if (to->ready && (number == to->number[i] || (isnan(number) && isnan(to->number[i])))) continue;
        changed = true;
        to->number[i] = number;
        hl_value *value = &to->values[i];
        *value = set->values[i];
        if (value->curve.n) {
            apply_scale(value, number, own);
            continue;
        }
        if (isnan(number) || (value->given && number == value->number)) continue;
        value->number = value->minimum = value->maximum = number;
        value->given = true;
    }
    return changed;
}

static bool apply_stage(hl_workspace *work, size_t index, const double settings[])
{
    const design_stage *stage = &work->design->stages[index];
    applied *set = &work->stages[index].set;
    if (!apply_set(&stage->set, settings, set)) return true;
    hl_reason reason = {""};
    calling(stage->model, "prepare", stage->name);
    set->ready = !stage->model->stage->prepare || stage->model->stage->prepare(set->values, &reason);
    called();
    if (!set->ready) snprintf(work->reason, sizeof work->reason, "%s: %s", stage->name, reason.text);
    return set->ready;
}

static bool apply_item(hl_workspace *work, size_t index, const double settings[])
{
    const design_item *item = &work->design->items[index];
    item_state *state = &work->items[index];
    if (!apply_set(&item->set, settings, &state->set)) return true;
    const hl_device *device = item->set.model->device;
    hl_reason reason = {""};
    calling(item->set.model, "prepare", item->shown.name);
    state->set.ready = device->state_size(state->set.values) <= state->state_size &&
                       device->prepare(state->state, state->set.values, &reason);
    called();
    if (!state->set.ready)
        snprintf(work->reason, sizeof work->reason, "%s: %s", item->shown.name,
                 *reason.text ? reason.text : "its model wants more memory with these values");
    return state->set.ready;
}

static void mark(bool feeds[], const value_set *set)
{
    for (size_t i = 0; i < set->n; i++)
        if (set->setting[i] != SIZE_MAX) feeds[set->setting[i]] = true;
}

/* Which settings are values of stages and parts, or choose parts and heat paths. */
bool values_create(hl_workspace *work)
{
    const hl_design *design = work->design;
    work->feeds = arena_array(work->memory, design->n_settings + 1, sizeof *work->feeds);
    work->placed = arena_array(work->memory, design->n_settings + 1, sizeof *work->placed);
    if (!work->feeds || !work->placed || !sound_create(work)) return false;
    for (size_t i = 0; i < design->n_stages; i++) mark(work->feeds, &design->stages[i].set);
    for (size_t i = 0; i < design->n_items; i++) {
        const design_item *item = &design->items[i];
        mark(work->feeds, &item->set);
        for (size_t k = 0; k < item->n_alternatives; k++) mark(work->feeds, &item->alternatives[k].set);
        if (item->part_setting != SIZE_MAX) work->feeds[item->part_setting] = true;
    }
    for (size_t k = 0; k < design->n_heat; k++) work->feeds[design->heat[k].setting] = true;
    return true;
}

/* The next setting from `from` on that has not the bits it was placed with last; their number: none. */
static size_t settings_changed(const hl_workspace *work, const double settings[], size_t from)
{
    enum { AT_ONCE = 64 }; /* points differ in few of some hundred settings */
    size_t n = work->design->n_settings;
    if (!work->all_placed) return from;
    while (from < n) {
        size_t some = n - from < AT_ONCE ? n - from : AT_ONCE;
        if (memcmp(settings + from, work->placed + from, some * sizeof *settings)) break;
        from += some;
    }
    while (from < n && !memcmp(settings + from, work->placed + from, sizeof *settings)) from++;
    return from;
}

/* Are all sound?  Those placed last were judged then.  *stand: no value or choice rests on one that moved. */
static bool judge_settings(hl_workspace *work, const double settings[], bool *stand)
{
    size_t n = work->design->n_settings;
    *stand = work->all_placed;
    for (size_t i = settings_changed(work, settings, 0); i < n; i = settings_changed(work, settings, i + 1)) {
        if (!sound_setting(work, settings, i)) return false;
        bool same = settings[i] == work->placed[i] || (isnan(settings[i]) && isnan(work->placed[i]));
        *stand = *stand && (same || !work->feeds[i]);
    }
    return true;
}

/* Is every value, and every part chosen, that of the design as it stands? */
static bool is_described(const hl_workspace *work)
{
    for (size_t i = 0; i < work->design->n_settings; i++) {
        double usual = work->design->settings[i].value, now = work->placed[i];
        if (work->feeds[i] && now != usual && !(isnan(now) && isnan(usual))) return false;
    }
    return true;
}

bool values_apply(hl_workspace *work, const double settings[])
{
    bool stand;
    if (!judge_settings(work, settings, &stand)) return false;
    if (stand) return true;
    work->all_placed = false;
    if (!parts_choose(work, settings)) return false;
    for (size_t i = 0; i < work->design->n_stages; i++)
        if (!apply_stage(work, i, settings)) return false;
    for (size_t i = 0; i < work->design->n_items; i++)
        if (!apply_item(work, i, settings)) return false;
    memcpy(work->placed, settings, work->design->n_settings * sizeof *settings);
    work->as_described = is_described(work);
    return work->all_placed = true;
}
