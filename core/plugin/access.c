/* access.c - rows of tables whose element size is the plugin's, not ours. */
#include "heatledger/catalogue.h"

const hl_parameter *hl_model_parameter(const hl_model *model, size_t index)
{
    if (!model || index >= model->n_parameters) return NULL;
    const unsigned char *rows = (const unsigned char *)model->parameters;
    return (const void *)(rows + index * model->parameter_size);
}

const hl_slot *hl_stage_slot(const hl_stage *stage, size_t index)
{
    if (!stage || index >= stage->n_slots) return NULL;
    const unsigned char *rows = (const unsigned char *)stage->slots;
    return (const void *)(rows + index * stage->slot_size);
}
