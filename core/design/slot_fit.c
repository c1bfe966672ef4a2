/* slot_fit.c - which parts a slot takes: those of its families, of its kinds where safety or function asks.
 */
#include "design/slot_fit.h"
#include "diagnostic/joined.h"

#include <stdio.h>
#include <string.h>

/* "switch" or "switch or diode" for a slot's families. */
static void families_text(uint32_t families, char *text, size_t size)
{
    text[0] = '\0';
    for (unsigned f = 0; f < HL_FAMILIES; f++)
        if (families & HL_FITS(f)) join_word(text, size, " or ", hl_family_name((hl_family)f));
}

/* The kinds the slot takes. */
static void wanted_text(const hl_stage *stage, size_t slot, char *text, size_t size)
{
    const char *kind;
    text[0] = '\0';
    for (size_t i = 0; (kind = hl_slot_kind(stage, slot, i)) != NULL; i++)
        join_word(text, size, " or ", kind);
}

/* The kinds the part is of. */
static void kinds_text(const hl_part *part, char *text, size_t size)
{
    const hl_model *model = hl_part_model(part);
    const char *kind;
    text[0] = '\0';
    for (size_t i = 0; (kind = hl_device_kind(model->device, i)) != NULL; i++)
        if (hl_device_of_kind(model, hl_part_values(part), kind)) join_word(text, size, ", ", kind);
    if (!text[0]) join_word(text, size, "", "nothing in particular");
}

/* Loaded models whose parts may stand in the slot. */
static void models_text(const hl_host *host, const hl_stage *stage, size_t slot, char *text, size_t size)
{
    text[0] = '\0';
    for (size_t i = 0; i < hl_host_models(host); i++) {
        const hl_model *model = hl_host_model(host, i);
        if (hl_slot_takes(stage, slot, model, NULL)) join_word(text, size, ", ", model->name);
    }
    if (!text[0]) join_word(text, size, "", "none is loaded");
}

bool slot_fits(const draft_stage *stage, size_t slot, const hl_part *part)
{
    return hl_slot_takes(stage->model->stage, slot, hl_part_model(part), hl_part_values(part));
}

bool slot_need_fit(const hl_draft *draft, const draft_stage *stage, size_t slot, const hl_part *part,
                   const hl_place *place, hl_diagnostics *diagnostics)
{
    const hl_slot *wanted = hl_stage_slot(stage->model->stage, slot);
    const hl_model *model = hl_part_model(part);
    if (slot_fits(stage, slot, part)) return true;
    if (!model->device || !(wanted->families & HL_FITS(model->device->family))) {
        char families[96];
        families_text(wanted->families, families, sizeof families);
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s.%s: part '%s' is a %s; this slot takes a %s",
                           stage->name, wanted->name, hl_part_name(part),
                           model->device ? hl_family_name(model->device->family) : "stage", families);
        return false;
    }
    char takes[200], is[200], models[300];
    wanted_text(stage->model->stage, slot, takes, sizeof takes);
    kinds_text(part, is, sizeof is);
    models_text(draft->host, stage->model->stage, slot, models, sizeof models);
    hl_diagnostics_add(
        diagnostics, HL_ERROR, place,
        "%s.%s: part '%s' of model %s is by kind: %s; this slot takes: %s, for another part there "
        "may be unsafe or without function. Put one of that kind there (models: %s)",
        stage->name, wanted->name, hl_part_name(part), model->name, is, takes, models);
    return false;
}
