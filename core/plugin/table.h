/* table.h - is what a plugin says about itself fit for use? */
#ifndef HEATLEDGER_TABLE_H
#define HEATLEDGER_TABLE_H

#include "heatledger/plugin.h"
#include "plugin/report.h"

/* Checks the table and every model in it; all problems are reported, not the first only. */
bool table_sound(const hl_plugin *table, report *r);

/* Pieces of it, each about one thing; `where` is "model 'x'". */
bool word_sound(const char *word);         /* lower case, digits, _; a letter first */
bool text_present(const char *text);       /* neither NULL nor empty */
bool size_fits(size_t size, size_t least); /* of a structure that may have grown */
bool parameters_sound(const hl_model *model, report *r);
bool device_sound(const hl_model *model, report *r);
bool stage_sound(const hl_model *model, report *r);

/* Sizes of the structures as first published with ABI 1.  A plugin's may be larger (built against a newer
 * header), never smaller. */
#define SIZE_THROUGH(type, member) (offsetof(type, member) + sizeof(((type *)0)->member))
enum {
    PLUGIN_LEAST = SIZE_THROUGH(hl_plugin, n_models),
    MODEL_LEAST = SIZE_THROUGH(hl_model, stage),
    PARAMETER_LEAST = SIZE_THROUGH(hl_parameter, source),
    DEVICE_LEAST = SIZE_THROUGH(hl_device, impedance),
    STAGE_LEAST = SIZE_THROUGH(hl_stage, solve),
    SLOT_LEAST = SIZE_THROUGH(hl_slot, meaning),
};

/* What a device may have since: does it tell its impedance at many frequencies at once? */
static inline bool device_has_impedances(const hl_device *device)
{
    return device->struct_size >= SIZE_THROUGH(hl_device, impedances) && device->impedances;
}

#endif
