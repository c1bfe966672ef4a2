/* sound.h - the smallest plugin that loads: one resistor of one parameter and one stage of one slot.
 * A file of this folder defines one macro wrongly and includes it. */
#include <math.h>

#include "heatledger/plugin.h"

#ifndef PLUGIN_SIZE
#define PLUGIN_SIZE sizeof(hl_plugin)
#endif
#ifndef PLUGIN_ABI
#define PLUGIN_ABI HL_PLUGIN_ABI
#endif
#ifndef LICENCE
#define LICENCE "public domain"
#endif
#ifndef MODELS
#define MODELS &device_model, &stage_model
#endif
#ifndef MODEL_SIZE
#define MODEL_SIZE sizeof(hl_model)
#endif
#ifndef MODEL_NAME
#define MODEL_NAME "plain_resistor"
#endif
#ifndef MODEL_SOURCE
#define MODEL_SOURCE "Ohm's law"
#endif
#ifndef DEVICE
#define DEVICE &device
#endif
#ifndef DEVICE_STAGE
#define DEVICE_STAGE NULL
#endif
#ifndef PARAMETER_SIZE
#define PARAMETER_SIZE sizeof(hl_parameter)
#endif
#ifndef PARAMETERS
#define PARAMETERS RESISTANCE
#endif
#define RESISTANCE                                                                                           \
    {                                                                                                        \
        "resistance", "ohm", HL_NUMBER, HL_REQUIRED, 0, 1e-6, 1e9, NULL, NULL, "Resistance.", "marking"      \
    }
#ifndef DEVICE_SIZE
#define DEVICE_SIZE sizeof(hl_device)
#endif
#ifndef FAMILY
#define FAMILY HL_FAMILY_RESISTOR
#endif
#ifndef LOSS
#define LOSS loss
#endif
#ifndef KINDS
#define KINDS NULL
#endif
#ifndef STAGE_SIZE
#define STAGE_SIZE sizeof(hl_stage)
#endif
#ifndef SLOTS
#define SLOTS RESISTOR_SLOT
#endif
#define RESISTOR_SLOT                                                                                        \
    {                                                                                                        \
        "resistor", HL_FITS(HL_FAMILY_RESISTOR), HL_REQUIRED, 1, "Carries all the current.", NULL            \
    }
#ifndef SLOT_SIZE
#define SLOT_SIZE sizeof(hl_slot)
#endif
#ifndef SOLVE
#define SOLVE solve
#endif
#ifndef STAGE_NAME
#define STAGE_NAME "plain_wire"
#endif

static inline size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(double);
}

static inline bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    (void)reason;
    *(double *)state = values[0].number;
    return true;
}

static inline void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)temperature;
    (void)voltage;
    terminal->resistance = *(const double *)state;
}

static inline void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    (void)temperature;
    out->watts[HL_CONDUCTION] += *(const double *)state * stress->total_rms * stress->total_rms;
}

static inline size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)state;
    (void)stress;
    (void)temperature;
    (void)list;
    return 0;
}

static inline hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    out->output.voltage = in->input_voltage;
    return HL_STAGE_SOLVED;
}

static const hl_parameter parameters[] = {PARAMETERS};

static const hl_device device = {
    .struct_size = (uint32_t)(DEVICE_SIZE),
    .family = FAMILY,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = LOSS,
    .limits = limits,
    .kinds = KINDS,
};

static const hl_slot slots[] = {SLOTS};

static const hl_stage stage = {
    .struct_size = (uint32_t)(STAGE_SIZE),
    .slots = slots,
    .n_slots = sizeof slots / sizeof *slots,
    .slot_size = SLOT_SIZE,
    .solve = SOLVE,
};

static const hl_model device_model = {
    .struct_size = (uint32_t)(MODEL_SIZE),
    .name = MODEL_NAME,
    .title = "resistor",
    .source = MODEL_SOURCE,
    .parameters = parameters,
    .n_parameters = sizeof parameters / sizeof *parameters,
    .parameter_size = PARAMETER_SIZE,
    .device = DEVICE,
    .stage = DEVICE_STAGE,
};

static const hl_model stage_model = {
    .struct_size = sizeof(hl_model),
    .name = STAGE_NAME,
    .title = "wire",
    .source = "Ohm's law",
    .stage = &stage,
};

static const hl_model *const models[] = {MODELS};

HL_EXPORT const hl_plugin hl_plugin_table = {
    .struct_size = (uint32_t)(PLUGIN_SIZE),
    .abi = PLUGIN_ABI,
    .name = "sound",
    .version = "1",
    .author = "nobody",
    .licence = LICENCE,
    .models = models,
    .n_models = sizeof models / sizeof *models,
};
