/* settings.c - the flat array of everything that may vary, by name. */
#include "design/settings.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "quantity/float_state.h"

/* clang-format off */
const hl_parameter setting_ambient = {"ambient.temperature", "degC", HL_NUMBER, 0, 298.15, 213.15, 398.15,
    NULL, NULL, "temperature of the surrounding air", "bench"};
const hl_parameter setting_altitude = {"ambient.altitude", "m", HL_NUMBER, 0, 0, -500, 9000,
    NULL, NULL, "height above sea level, for the pressure of the air", "bench"};
const hl_parameter setting_voltage = {"mains.voltage", "V", HL_NUMBER, 0, 230, 1, 1500,
    NULL, NULL, "rms mains voltage, or the dc supply's voltage", "bench"};
const hl_parameter setting_frequency = {"mains.frequency", "Hz", HL_NUMBER, 0, 50, 0, 1000,
    NULL, NULL, "mains frequency; 0 for a dc supply", "bench"};
const hl_parameter setting_load = {"load", "1", HL_NUMBER, 0, 1, 0, 2,
    NULL, NULL, "factor on every port's current", "user"};
const hl_parameter setting_port_voltage = {"voltage", "V", HL_NUMBER, 0, 5, 0.5, 1000,
    NULL, NULL, "voltage the port asks for", "negotiation log, label"};
const hl_parameter setting_port_current = {"current", "A", HL_NUMBER, 0, 0, 0, 1000,
    NULL, NULL, "current drawn at the port before the load factor", "negotiation log, label"};
/* A curve or a list varies as a whole. */
static const hl_parameter setting_scale = {"scale", "1", HL_NUMBER, 0, 1, 0.01, 100,
    NULL, NULL, "factor on every value of the curve or list", "its band"};
/* clang-format on */

size_t settings_add(hl_design *design, const char *name, const hl_parameter *parameter, double value)
{
    hl_band exact = {.low = value, .central = value, .high = value};
    design->settings[design->n_settings] = (setting){name, parameter, value, exact};
    return design->n_settings++;
}

static char *joined(hl_design *design, const char *a, const char *b)
{
    size_t length = strlen(a) + strlen(b) + 2;
    char *name = arena_take(design->memory, length);
    if (name) snprintf(name, length, "%s.%s", a, b);
    return name;
}

/* What is not known of a part is the same unknown in every slot it fills: such values move together. */
static bool adopt_band(hl_design *design, setting *to, const char *part, const char *value,
                       const hl_band *band)
{
    if (band->kind == HL_BAND_NONE) return true;
    to->band = *band;
    if (band->group)
        to->band.group = arena_copy(design->memory, band->group);
    else if (part)
        to->band.group = joined(design, part, value);
    else
        return true;
    return to->band.group != NULL;
}

/* "owner.parameter.scale", for a curve or list that has a band: the spread of its values has no other place.
 */
static bool add_scale(hl_design *design, const char *owner, const char *part, value_set *set, size_t i)
{
    const hl_parameter *parameter = hl_model_parameter(set->model, i);
    bool rows = parameter->kind == HL_CURVE || parameter->kind == HL_LIST;
    if (!rows || !set->bands || !set->values[i].curve.n || set->bands[i].kind == HL_BAND_NONE) return true;
    const char *plain = joined(design, owner, parameter->name);
    const char *name = plain ? joined(design, plain, setting_scale.name) : NULL;
    if (!name) return false;
    set->setting[i] = settings_add(design, name, &setting_scale, 1);
    setting *added = &design->settings[set->setting[i]];
    added->band.origin = set->values[i].origin;
    if (!adopt_band(design, added, part, parameter->name, &set->bands[i])) return false;
    added->band.floor = setting_scale.low;
    added->band.ceiling = setting_scale.high;
    return true;
}

bool settings_add_set(hl_design *design, const char *owner, const char *part, value_set *set)
{
    set->setting = arena_array(design->memory, set->n + 1, sizeof *set->setting);
    if (!set->setting) return false;
    for (size_t i = 0; i < set->n; i++) {
        const hl_parameter *parameter = hl_model_parameter(set->model, i);
        set->setting[i] = SIZE_MAX;
        if (parameter->kind != HL_NUMBER && parameter->kind != HL_CHOICE) {
            if (!add_scale(design, owner, part, set, i)) return false;
            continue;
        }
        char *name = joined(design, owner, parameter->name);
        if (!name) return false;
        set->setting[i] =
            settings_add(design, name, parameter, set->values[i].given ? set->values[i].number : NAN);
        setting *added = &design->settings[set->setting[i]];
        added->band.origin = set->values[i].origin;
        if (set->bands && set->values[i].given &&
            !adopt_band(design, added, part, parameter->name, &set->bands[i]))
            return false;
    }
    return true;
}

/* "stage.slot" = the name of the part that stands there. */
static bool add_choice(hl_design *design, design_item *item)
{
    hl_parameter *parameter = arena_take(design->memory, sizeof *parameter);
    const char **names = arena_array(design->memory, item->n_alternatives + 1, sizeof *names);
    if (!parameter || !names) return false;
    for (size_t i = 0; i < item->n_alternatives; i++) names[i] = hl_part_name(item->alternatives[i].part);
    *parameter = (hl_parameter){.name = item->shown.name,
                                .dimension = "1",
                                .kind = HL_CHOICE,
                                .high = (double)(item->n_alternatives - 1),
                                .choices = names,
                                .meaning = "the part that stands there",
                                .source = "user"};
    item->part_setting = settings_add(design, item->shown.name, parameter, 0);
    return true;
}

/* Figures of other parts than the first are taken as they are: no setting feeds them. */
static bool fix_values(hl_design *design, value_set *set)
{
    set->setting = arena_array(design->memory, set->n + 1, sizeof *set->setting);
    for (size_t i = 0; set->setting && i < set->n; i++) set->setting[i] = SIZE_MAX;
    return set->setting != NULL;
}

bool settings_add_item(hl_design *design, design_item *item)
{
    if (item->n_alternatives > 1 && !add_choice(design, item)) return false;
    if (!settings_add_set(design, item->shown.name, hl_part_name(item->shown.part), &item->set)) return false;
    item->alternatives[0].set = item->set;
    for (size_t i = 1; i < item->n_alternatives; i++)
        if (!fix_values(design, &item->alternatives[i].set)) return false;
    return true;
}

bool settings_add_common(hl_design *design, const design_item *item, enum hl_common which, size_t *index)
{
    const hl_parameter *parameter = hl_common_parameter(which);
    const char *name = joined(design, item->shown.name, parameter->name);
    if (!name) return false;
    *index = settings_add(design, name, parameter, item->commons[which].number);
    setting *added = &design->settings[*index];
    added->band.origin = item->commons[which].origin;
    return adopt_band(design, added, hl_part_name(item->shown.part), parameter->name,
                      &hl_part_common_bands(item->shown.part)[which]);
}

size_t hl_design_settings(const hl_design *design)
{
    return design->n_settings;
}

const char *hl_design_setting_name(const hl_design *design, size_t index)
{
    return index < design->n_settings ? design->settings[index].name : NULL;
}

const hl_parameter *hl_design_setting(const hl_design *design, size_t index)
{
    return index < design->n_settings ? design->settings[index].parameter : NULL;
}

bool hl_design_band(const hl_design *design, size_t index, hl_band *band)
{
    if (index >= design->n_settings) return false;
    *band = design->settings[index].band;
    return true;
}

void hl_design_defaults(const hl_design *design, double settings[])
{
    for (size_t i = 0; i < design->n_settings; i++) settings[i] = design->settings[i].value;
}

/* "source.voltage" is another word for "mains.voltage" in a design fed from dc. */
static const char *plain_name(const char *name)
{
    if (!strcmp(name, "source.voltage")) return "mains.voltage";
    return name;
}

/* Letters before and with the last dot: "flyback.switch." of flyback.switch.on_resistance; 0 without one. */
static size_t owner_length(const char *name)
{
    const char *dot = strrchr(name, '.');
    return dot ? (size_t)(dot - name) + 1 : 0;
}

/* The word that begins as `wanted` does for the most letters, 3 or more; NULL: none. */
static const char *same_beginning(const char *wanted, const char *const words[])
{
    const char *found = NULL;
    for (size_t most = 2; *words; words++) {
        size_t n = 0;
        while (wanted[n] && wanted[n] == (*words)[n]) n++;
        if (n > most) {
            most = n;
            found = *words;
        }
    }
    return found;
}

/* The setting that a name may have meant.  Where its owner is known, only what that owner has: first a word
 * that holds the one written, as switching_frequency holds freq, then the one that is spelt most alike, else
 * the one that begins alike, as voltage and volts do. */
static const char *near_setting(const hl_design *design, const char *wanted)
{
    const char **words = calloc(design->n_settings + 1, sizeof *words), *nearest = NULL;
    if (!words) return NULL;
    size_t own = owner_length(wanted), n = 0;
    for (size_t i = 0; i < design->n_settings && own; i++) {
        const char *name = design->settings[i].name;
        if (owner_length(name) == own && !strncmp(name, wanted, own)) words[n++] = name + own;
    }
    for (size_t i = 0; i < n && strlen(wanted + own) >= 3 && !nearest; i++)
        if (strstr(words[i], wanted + own)) nearest = words[i];
    if (!nearest && n) nearest = hl_nearest_word(wanted + own, words);
    if (!nearest && n) nearest = same_beginning(wanted + own, words);
    if (nearest) nearest -= own; /* the whole name stands before it */
    for (size_t i = 0; i < design->n_settings && !n; i++) words[i] = design->settings[i].name;
    if (!n) nearest = hl_nearest_word(wanted, words);
    free(words);
    return nearest;
}

size_t hl_design_find_setting(const hl_design *design, const char *name, const char **nearest)
{
    if (nearest) *nearest = NULL;
    const char *wanted = plain_name(name);
    for (size_t i = 0; i < design->n_settings; i++)
        if (!strcmp(design->settings[i].name, wanted)) return i;
    if (!nearest) return SIZE_MAX;
    *nearest = near_setting(design, wanted);
    return SIZE_MAX;
}

hl_status hl_design_set(const hl_design *design, double settings[], const char *name, const char *text,
                        const hl_place *place, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    const char *near;
    size_t index = hl_design_find_setting(design, name, &near);
    if (index == SIZE_MAX) {
        if (near)
            hl_diagnostics_add(diagnostics, HL_ERROR, place, "no setting '%s'; did you mean '%s'?", name,
                               near);
        else
            hl_diagnostics_add(diagnostics, HL_ERROR, place,
                               "no setting '%s'; `heatledger solve FILE --settings` lists them", name);
        return HL_BAD_INPUT;
    }
    hl_value value;
    memset(&value, 0, sizeof value);
    hl_status status = hl_value_read(design->settings[index].parameter, text, place, &value, diagnostics);
    if (status == HL_OK) settings[index] = value.number;
    return status;
}
