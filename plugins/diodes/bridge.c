/* bridge.c - a package of four diodes, stressed by the current of the package: mean and rms of the rectified
 * line current.  Two of the four carry it at any time, the other two block the line voltage:
 *
 *   P = 2 (V0 <|i|> + r <i^2>) + 2 I_leak <|v|>,  <|v|> = 2/pi of the peak voltage_off
 * source: Kirchhoff; mean of a rectified sine.  docs/theory/diodes.md
 * The terminal shows one diode, as bridge_rectifier expects. */
#include "diode.h"

enum { PARAMETERS = DIODE_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    DIODE_ROWS(-0.0015, 0.001, 10, 0.5),
};
/* clang-format on */

/* 1.0 V at half the package's rated current: common practice, no source. */
static const diode_kind usual = {0.75, 0.5};
static const double conducting = 2.0, mean_of_sine = 0.63661977236758134; /* 2 / pi */

typedef struct package {
    diode diode; /* one of the four, all alike */
} package;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(package);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    package *p = state;
    return diode_prepare(&p->diode, values, usual, reason);
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    diode_present(state, temperature, voltage, terminal);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const package *p = state;
    diode_conduction(&p->diode, stress, temperature, conducting, out);
    hl_stress always = *stress; /* two block at any time, whatever the duty of each */
    always.duty = NULL;
    diode_leakage(&p->diode, &always, temperature, conducting * mean_of_sine, out);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    return diode_limits(state, stress, list);
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_DIODE,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "bridge",
    .title = "bridge rectifier package of four diodes",
    .source = "S. M. Sze, Physics of Semiconductor Devices; N. Mohan, T. Undeland, W. Robbins, Power "
              "Electronics, ch. 5",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("bridge", "0.1.0", "heatledger", "MIT", &model);
