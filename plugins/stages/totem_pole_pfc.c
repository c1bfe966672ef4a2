/* totem_pole_pfc.c - bridgeless totem-pole power-factor stage: mains in, regulated bus out.
 *
 * In the positive half wave the lower fast switch is the boost switch, the upper one rectifies and the lower
 * slow device ties the neutral to the bus; in the negative half wave all are mirrored. So one half wave is
 * the boost stage of boost_solve.h with a synchronous rectifier and, in its return, the slow device.
 * boost_totem_pole.h shares the losses out. Not in it: the blanking of the legs around the line's zero. */
#include "boost_solve.h"
#include "heatledger/plugin.h"

/* clang-format off */
static const hl_parameter parameters[BOOST_PARAMETERS] = {
    BOOST_PARAMETER_ROWS("each dead time of the fast leg"),
};

static const hl_slot slots[SLOTS] = {
    {"fast_switch", HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 2, "both switches of each phase's fast leg: boost switch in one half wave, synchronous rectifier in the other", NULL},
    {"slow_rectifier", HL_FITS(HL_FAMILY_DIODE) | HL_FITS(HL_FAMILY_SWITCH), HL_REQUIRED, 2, "both devices of the slow leg: each carries the line current of all phases for one half wave", NULL},
    {"boost_inductor", HL_FITS(HL_FAMILY_MAGNETIC), HL_REQUIRED, 1, "inductor of each phase, on the ac side", NULL},
    {"sense_resistor", HL_FITS(HL_FAMILY_RESISTOR), 0, 1, "in the line, carries the input current of all phases", HL_KINDS("resistor", "trace", "wire")},
};
/* clang-format on */

static unsigned positions(const hl_value *values, size_t slot)
{
    if (slot == SWITCH) return 2u * phases_of(values);
    return slot == RECTIFIER ? 2u : slot == INDUCTOR ? phases_of(values) : 1u;
}

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    return boost_solve(in, true, out);
}

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = SLOTS,
    .slot_size = sizeof(hl_slot),
    .input = HL_AC,
    .output = HL_DC,
    .regulates = true,
    .memory_size = sizeof(kept),
    .scratch_size = BOOST_SCRATCH,
    .positions = positions,
    .solve = solve,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "totem_pole_pfc",
    .title = "bridgeless totem-pole power-factor stage",
    .source = "R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 5, 18, "
              "20; legs by "
              "symmetry of the half waves",
    .parameters = parameters,
    .n_parameters = BOOST_PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("totem_pole_pfc", "0.1.0", "heatledger", "MIT", &model);
