/* boost_pfc.c - boost power-factor stage: rectified mains in, regulated bus out. The work is in
 * boost_solve.h, shared with the bridgeless variant. */
#include "boost_solve.h"
#include "heatledger/plugin.h"

/* clang-format off */
static const hl_parameter parameters[BOOST_PARAMETERS] = {
    BOOST_PARAMETER_ROWS("each dead time of a synchronous rectifier"),
};

static const hl_slot slots[SLOTS] = {
    {"switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "boost switch of each phase", NULL},
    {"rectifier", HL_FITS(HL_FAMILY_DIODE) | HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 1, "boost diode, or synchronous switch, of each phase", NULL},
    {"boost_inductor", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "inductor of each phase", NULL},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "in the return, carries the input current of all phases", HL_KINDS("resistor", "trace", "wire")},
};
/* clang-format on */

static unsigned positions(const hl_value *values, size_t slot)
{
    return slot == SENSE ? 1u : phases_of(values);
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    return boost_solve(in, false, out);
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_RECTIFIED,
    .output = HL_DC,
    .regulates = true,
    .memory_size = sizeof(kept),
    .scratch_size = BOOST_SCRATCH,
    .positions = positions,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "boost_pfc",
    .title = "boost power-factor stage",
    .source =
        "R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 5, 18, 20",
    .parameters = parameters,
    .n_parameters = BOOST_PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("boost_pfc", "0.1.0", "heatledger", "MIT", &model);
