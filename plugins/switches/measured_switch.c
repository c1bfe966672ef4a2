/* measured_switch.c - a switch known by three figures from the bench, or ideal where they are zero.
 *
 *   P = R i_rms^2 + V_r i_reverse_avg + f E(v),  Q = Q0 v / V0 (constant capacitance)
 * For circuits whose switch nobody knows, and for checking a circuit apart from its parts. */
#include "../charge_law.h"
#include "../cycle_block.h"

enum { RESISTANCE, REVERSE_VOLTAGE, OUTPUT_CHARGE, OUTPUT_VOLTAGE, RATED_VOLTAGE, PARAMETERS };

/* clang-format off */
#define ROW(name, unit, flags, fallback, low, high, meaning, source) \
    {name, unit, HL_NUMBER, flags, fallback, low, high, NULL, NULL, meaning, source}

static const hl_parameter parameters[PARAMETERS] = {
    ROW("resistance", "ohm", HL_DEFAULT, 0, 0, 100, "on-resistance at working temperature", "bench"),
    ROW("reverse_voltage", "V", HL_DEFAULT, 0, 0, 10, "drop of the reverse path", "bench"),
    ROW("output_charge", "C", HL_DEFAULT, 0, 0, 1e-5, "charge of the output capacitance at output_voltage", "bench"),
    ROW("output_voltage", "V", HL_DEFAULT | HL_CONDITION, 400, 1, 3000, "voltage output_charge was taken at", "bench"),
    ROW("rated_voltage", "V", 0, 0, 5, 3500, "largest voltage it may block", "marking"),
};
/* clang-format on */

typedef struct measured {
    double resistance, reverse_voltage, rated_voltage;
    charge_law output;
} measured;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(measured);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    (void)reason;
    measured *m = state;
    m->resistance = values[RESISTANCE].number;
    m->reverse_voltage = values[REVERSE_VOLTAGE].number;
    m->rated_voltage = values[RATED_VOLTAGE].given ? values[RATED_VOLTAGE].number : 0.0;
    return charge_law_from_point(&m->output, values[OUTPUT_CHARGE].number, 0.0, values[OUTPUT_VOLTAGE].number,
                                 1.0);
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)temperature;
    const measured *m = state;
    charge_at c = charge_at_voltage(&m->output, voltage < 0.0 ? -voltage : voltage);
    terminal->resistance = m->resistance;
    terminal->reverse_voltage = m->reverse_voltage;
    terminal->output_charge = c.charge;
    terminal->output_energy = c.energy;
    terminal->rated_voltage = m->rated_voltage;
}

static void loss(const void *state, const hl_stress *s, double temperature, hl_loss *out)
{
    (void)temperature;
    const measured *m = state;
    double square = s->current_rms ? cycle_mean_square(s, s->current_rms) : s->total_rms * s->total_rms,
           charged = 0.0;
    for (size_t k = 0; s->weight && (s->voltage_on || s->charge_on) && k < s->n; k++) {
        double bus = hl_stress_at(s->voltage_off, k);
        charge_at own = charge_at_voltage(&m->output, hl_stress_at(s->voltage_on, k));
        charge_at at_bus = charge_at_voltage(&m->output, bus);
        charged += s->weight[k] * hl_stress_at(s->frequency, k) *
                   (own.energy + charge_co_energy(&m->output, bus, &at_bus, hl_stress_at(s->charge_on, k)));
    }
    out->watts[HL_CONDUCTION] += m->resistance * square;
    out->watts[HL_REVERSE_CONDUCTION] += m->reverse_voltage * fabs(cycle_mean(s, s->reverse_average));
    out->watts[HL_OUTPUT_CHARGE] += charged;
}

static size_t limits(const void *state, const hl_stress *s, double temperature, hl_limit list[])
{
    (void)temperature;
    const measured *m = state;
    if (!(m->rated_voltage > 0.0)) return 0;
    list[0] = (hl_limit){"drain voltage", "V",
                         cycle_larger(cycle_highest(s, s->voltage_off), s->voltage_peak), m->rated_voltage};
    return 1;
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_SWITCH,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "measured_switch",
    .title = "switch known by measured figures, or ideal",
    .source = "definitions of resistance, charge and energy",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("measured_switch", "0.1.0", "heatledger", "MIT", &model);
