/* sample_models.c - a plugin whose models ask for every kind of value, for the tests of part files. */
#include <stdio.h>
#include <string.h>

#include "heatledger/plugin.h"

static const char *const technologies[] = {"enhancement", "cascode", NULL};
static const char *const conductors[] = {"litz", "foil", "round", NULL};

/* clang-format off */
static const hl_parameter switch_parameters[] = {
    {"on_resistance", "ohm", HL_NUMBER, HL_REQUIRED, 0, 0.5e-3, 20, NULL, NULL, "channel at 25 degC", "data sheet"},
    {"output_charge", "C", HL_NUMBER, HL_REQUIRED, 0, 1e-12, 10e-6, NULL, NULL, "at the stated voltage", "data sheet"},
    {"resistance_factor", "1", HL_CURVE, HL_DEFAULT, 1, 0.2, 10, "degC", NULL, "of the channel over temperature", "data sheet"},
    {"threshold", "V", HL_NUMBER, 0, 0, 0.5, 10, NULL, NULL, "gate threshold", "data sheet"},
    {"technology", "1", HL_CHOICE, HL_DEFAULT, 0, 0, 0, NULL, technologies, "kind of transistor", "data sheet"},
    {"knee_temperature", "degC", HL_NUMBER, HL_DEFAULT, 398.15, 300, 500, NULL, NULL, "where the factor bends", "data sheet"},
    {"gate_resistance", "ohm", HL_NUMBER, HL_DEFAULT, 2, 0, 100, NULL, NULL, "outside the part", "board"},
};
static const hl_parameter winding_parameters[] = {
    {"winding_turns", "1", HL_LIST, HL_REQUIRED, 0, 1, 1000, NULL, NULL, "of each winding", "count them"},
    {"conductor", "1", HL_CHOICES, HL_REQUIRED, 0, 0, 0, NULL, conductors, "of each winding", "look"},
    {"inductance", "H", HL_NUMBER, 0, 0, 1e-9, 1, NULL, NULL, "of winding 0", "measure"},
    {"damping_capacitance", "F", HL_NUMBER, 0, 0, 1e-13, 1e-3, NULL, NULL, "across winding 0", "marking"},
    {"maximum_temperature", "degC", HL_NUMBER, 0, 0, 313.15, 500, NULL, NULL, "of the insulation", "class"},
};
/* clang-format on */

static size_t no_state(const hl_value *values)
{
    (void)values;
    return 0;
}

static bool accept(void *state, const hl_value *values, hl_reason *reason)
{
    (void)state, (void)values, (void)reason;
    return true;
}

static bool match_windings(void *state, const hl_value *values, hl_reason *reason)
{
    (void)state;
    if (values[0].curve.n == values[1].curve.n) return true;
    snprintf(reason->text, sizeof reason->text, "%zu windings but %zu conductors", values[0].curve.n,
             values[1].curve.n);
    return false;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)state, (void)temperature, (void)voltage, (void)terminal;
}

static void no_loss(const void *state, const hl_stress *stress, double temperature, hl_loss *loss)
{
    (void)state, (void)stress, (void)temperature, (void)loss;
}

static size_t no_limits(const void *state, const hl_stress *stress, double temperature, hl_limit limits[])
{
    (void)state, (void)stress, (void)temperature, (void)limits;
    return 0;
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    (void)in, (void)out;
    return HL_STAGE_SOLVED;
}

#define SAMPLE(of_family, accepts)                                                                           \
    .struct_size = sizeof(hl_device), .family = of_family, .state_size = no_state, .prepare = accepts,       \
    .present = present, .loss = no_loss, .limits = no_limits
static const hl_device switch_device = {SAMPLE(HL_FAMILY_SWITCH, accept)};
static const hl_device winding_device = {SAMPLE(HL_FAMILY_MAGNETIC, match_windings)};
static const hl_slot slots[] = {
    {"switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "the one switch", NULL}};
static const hl_stage stage = {.struct_size = sizeof(hl_stage),
                               .slots = slots,
                               .n_slots = 1,
                               .slot_size = sizeof(hl_slot),
                               .solve = solve};

#define TABLE(rows) rows, sizeof rows / sizeof *rows, sizeof(hl_parameter)
static const hl_model sample_switch = {sizeof(hl_model),
                                       "sample_switch",
                                       "switch of the tests",
                                       "none",
                                       TABLE(switch_parameters),
                                       &switch_device,
                                       NULL};
static const hl_model sample_winding = {sizeof(hl_model),
                                        "sample_winding",
                                        "winding of the tests",
                                        "none",
                                        TABLE(winding_parameters),
                                        &winding_device,
                                        NULL};
static const hl_model sample_stage = {sizeof(hl_model),
                                      "sample_stage",
                                      "stage of the tests",
                                      "none",
                                      NULL,
                                      0,
                                      sizeof(hl_parameter),
                                      NULL,
                                      &stage};
HL_PLUGIN_TABLE("sample_models", "1", "the tests", "MIT", &sample_switch, &sample_winding, &sample_stage);
