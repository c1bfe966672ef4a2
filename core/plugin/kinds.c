/* kinds.c - what a part may stand as, and which parts a slot takes.
 *
 * Members that hl_device and hl_slot grew: an older plugin's are not there, which counts as NULL. */
#include <string.h>

#include "heatledger/catalogue.h"
#include "plugin/calling.h"
#include "plugin/table.h"

/* Entry i of a NULL-ended list; NULL beyond its end. */
static const char *entry(const char *const *list, size_t i)
{
    for (size_t k = 0; k < HL_KINDS_MAX && list[k]; k++)
        if (k == i) return list[k];
    return NULL;
}

const char *hl_slot_kind(const hl_stage *stage, size_t index, size_t i)
{
    const hl_slot *slot = hl_stage_slot(stage, index);
    if (!slot || stage->slot_size < SIZE_THROUGH(hl_slot, kinds) || !slot->kinds) return NULL;
    return entry(slot->kinds, i);
}

const char *hl_device_kind(const hl_device *device, size_t i)
{
    if (device->struct_size >= SIZE_THROUGH(hl_device, kinds) && device->kinds)
        return entry(device->kinds, i);
    return i == 0 ? hl_family_name(device->family) : NULL;
}

bool hl_device_of_kind(const hl_model *model, const hl_value *values, const char *kind)
{
    const hl_device *device = model->device;
    bool listed = false;
    const char *word;
    for (size_t i = 0; (word = hl_device_kind(device, i)) != NULL; i++) listed |= !strcmp(word, kind);
    if (!listed || !values || device->struct_size < SIZE_THROUGH(hl_device, of_kind) || !device->of_kind)
        return listed;
    calling(model, "of_kind", "");
    bool is = device->of_kind(values, kind);
    called();
    return is;
}

bool hl_slot_takes(const hl_stage *stage, size_t index, const hl_model *model, const hl_value *values)
{
    const hl_slot *slot = hl_stage_slot(stage, index);
    if (!slot || !model->device || !(slot->families & HL_FITS(model->device->family))) return false;
    if (!hl_slot_kind(stage, index, 0)) return true;
    const char *kind;
    for (size_t i = 0; (kind = hl_slot_kind(stage, index, i)) != NULL; i++)
        if (hl_device_of_kind(model, values, kind)) return true;
    return false;
}
