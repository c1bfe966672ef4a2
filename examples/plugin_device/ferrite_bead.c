/* ferrite_bead.c - a bead on a wire: dc resistance, and a core that is lossy for ripple.
 *
 *   P = R(T) I^2,  R(T) = R20 (1 + alpha (T - 293.15 K)),  alpha = 0.00393 / K
 * Source: IEC 60028 (1925) for annealed copper.  Ripple loss in the bead's own ferrite is left out:
 * the part is invented and only shows how a plugin outside the tree is made. */
#include <heatledger/plugin.h>
#include <stdio.h>

enum { RESISTANCE, RATED_CURRENT, PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {.name = "resistance", .dimension = "ohm", .kind = HL_NUMBER, .flags = HL_REQUIRED,
     .low = 1e-4, .high = 1.0, .meaning = "dc resistance at 20 degC", .source = "data sheet"},
    {.name = "rated_current", .dimension = "A", .kind = HL_NUMBER, .flags = 0,
     .low = 0.05, .high = 50, .meaning = "current the bead may carry", .source = "data sheet"},
};
/* clang-format on */

typedef struct bead {
    double r20, rated;
} bead;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(bead);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    bead *b = state;
    b->r20 = values[RESISTANCE].number;
    if (!(b->r20 > 0)) { /* catches what is no number, too */
        snprintf(reason->text, sizeof reason->text, "resistance %g ohm is not above zero", b->r20);
        return false;
    }
    b->rated = values[RATED_CURRENT].given ? values[RATED_CURRENT].number : 0;
    return true;
}

static double resistance_at(const bead *b, double temperature)
{
    return b->r20 * (1 + 0.00393 * (temperature - 293.15)); /* ohm */
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    const bead *b = state;
    terminal->resistance = resistance_at(b, temperature);
    terminal->rated_current = b->rated;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const bead *b = state;
    double i2 = stress->total_rms * stress->total_rms; /* A^2 */
    out->watts[HL_CONDUCTION] += resistance_at(b, temperature) * i2;
    out->slope += b->r20 * 0.00393 * i2;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    const bead *b = state;
    if (!(b->rated > 0)) return 0;
    list[0] = (hl_limit){"current", "A", stress->total_rms, b->rated};
    return 1;
}

static const hl_device device = {
    .struct_size = sizeof(hl_device), .family = HL_FAMILY_RESISTOR, .state_size = state_size,
    .prepare = prepare, .present = present, .loss = loss, .limits = limits,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model), .name = "ferrite_bead", .title = "ferrite bead on a wire",
    .source = "IEC 60028 (1925)", .parameters = parameters, .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter), .device = &device,
};

HL_PLUGIN_TABLE("ferrite_bead", "1.0", "an example", "MIT", &model);
