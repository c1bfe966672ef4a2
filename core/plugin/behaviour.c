/* behaviour.c - checks that a device or a stage brings every function and that its slots make sense. */
#include <stdio.h>
#include <string.h>

#include "heatledger/catalogue.h"
#include "plugin/table.h"

/* A warm start or the scratch of one solve beyond this is a slip of the pen. */
static const size_t memory_max = (size_t)1 << 28;

static void require(const hl_model *model, bool present, const char *function, report *r)
{
    if (!present) complain(r, "model '%s': no function '%s'", model->name, function);
}

/* NULL-ended words that name kinds; `of` says whose they are. */
static void check_kinds(const hl_model *model, const char *of, const char *const *kinds, report *r)
{
    size_t n = 0;
    for (; kinds && n < HL_KINDS_MAX && kinds[n]; n++)
        if (!word_sound(kinds[n])) {
            complain(r, "model '%s': %s: kind '%.40s' is not lower case words joined by _", model->name, of,
                     kinds[n]);
            return;
        }
    if (kinds && (n == 0 || n == HL_KINDS_MAX))
        complain(r, "model '%s': %s: its list of kinds is empty or has no end; write HL_KINDS(\"fuse\")",
                 model->name, of);
}

bool device_sound(const hl_model *model, report *r)
{
    const hl_device *d = model->device;
    size_t before = r->count;
    if (!size_fits(d->struct_size, DEVICE_LEAST))
        return complain(
            r,
            "model '%s': struct_size of its device is %u, at least %d is needed; set it to sizeof(hl_device)",
            model->name, d->struct_size, (int)DEVICE_LEAST);
    if ((unsigned)d->family >= HL_FAMILIES)
        return complain(r, "model '%s': family %u is unknown", model->name, (unsigned)d->family);
    require(model, d->state_size, "state_size", r);
    require(model, d->prepare, "prepare", r);
    require(model, d->present, "present", r);
    require(model, d->loss, "loss", r);
    require(model, d->limits, "limits", r);
    if (d->family == HL_FAMILY_CAPACITOR) require(model, d->impedance, "impedance", r);
    if (d->struct_size >= SIZE_THROUGH(hl_device, kinds)) check_kinds(model, "its device", d->kinds, r);
    return r->count == before;
}

static void check_slot(const hl_model *model, size_t index, report *r)
{
    const hl_slot *slot = hl_stage_slot(model->stage, index);
    if (!word_sound(slot->name)) {
        complain(r, "model '%s': slot %zu: the name '%.40s' is not lower case words joined by _", model->name,
                 index + 1, slot->name ? slot->name : "");
        return;
    }
    if (slot->families == 0 || slot->families >= HL_FITS(HL_FAMILIES))
        complain(r, "model '%s': slot '%s': families %#x; a sum of HL_FITS(family) is meant", model->name,
                 slot->name, (unsigned)slot->families);
    if ((slot->flags & ~(uint32_t)HL_REQUIRED) != 0)
        complain(r, "model '%s': slot '%s': flags %#x; HL_REQUIRED or 0 is meant", model->name, slot->name,
                 (unsigned)slot->flags);
    if (slot->positions < 1 || slot->positions > 64)
        complain(r, "model '%s': slot '%s': stands for %u positions; 1 to 64 are expected", model->name,
                 slot->name, slot->positions);
    if (model->stage->slot_size >= SIZE_THROUGH(hl_slot, kinds)) {
        char of[80];
        snprintf(of, sizeof of, "slot '%s'", slot->name);
        check_kinds(model, of, slot->kinds, r);
    }
    if (!text_present(slot->meaning))
        complain(r, "model '%s': slot '%s': no meaning given", model->name, slot->name);
    for (size_t k = 0; k < index; k++) {
        const char *other = hl_stage_slot(model->stage, k)->name;
        if (other && strcmp(other, slot->name) == 0)
            complain(r, "model '%s': slot '%s' stands twice", model->name, slot->name);
    }
}

static void check_slots(const hl_model *model, report *r)
{
    const hl_stage *s = model->stage;
    if (s->n_slots == 0) return;
    if (!s->slots || s->n_slots > HL_SLOTS_MAX) {
        complain(r, "model '%s': it has %zu slots; up to %d are possible", model->name,
                 s->slots ? s->n_slots : 0, (int)HL_SLOTS_MAX);
        return;
    }
    if (!size_fits(s->slot_size, SLOT_LEAST) || s->slot_size % sizeof(void *) != 0) {
        complain(r, "model '%s': slot_size is %zu, at least %d is needed; set it to sizeof(hl_slot)",
                 model->name, s->slot_size, (int)SLOT_LEAST);
        return;
    }
    for (size_t i = 0; i < s->n_slots; i++) check_slot(model, i, r);
}

bool stage_sound(const hl_model *model, report *r)
{
    const hl_stage *s = model->stage;
    size_t before = r->count;
    if (!size_fits(s->struct_size, STAGE_LEAST))
        return complain(
            r,
            "model '%s': struct_size of its stage is %u, at least %d is needed; set it to sizeof(hl_stage)",
            model->name, s->struct_size, (int)STAGE_LEAST);
    if ((unsigned)s->input > HL_RECTIFIED || (unsigned)s->output > HL_RECTIFIED)
        complain(r, "model '%s': kinds %u and %u of input and output; HL_DC, HL_AC or HL_RECTIFIED is meant",
                 model->name, (unsigned)s->input, (unsigned)s->output);
    if (s->memory_size > memory_max || s->scratch_size > memory_max)
        complain(r, "model '%s': asks for %zu bytes of memory and %zu of scratch; at most %zu each",
                 model->name, s->memory_size, s->scratch_size, memory_max);
    require(model, s->solve, "solve", r);
    check_slots(model, r);
    return r->count == before;
}
