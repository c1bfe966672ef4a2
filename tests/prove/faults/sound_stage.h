/* sound_stage.h - a stage that keeps every rule: a resistor in series between two dc buses.  A file of this
 * folder puts a solve() of its own in the place of the sound one. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/plugin.h"

#ifndef SOLVE
#define SOLVE sound_solve
#endif
#ifndef MEMORY_SIZE
#define MEMORY_SIZE 0
#endif
#ifndef SCRATCH_SIZE
#define SCRATCH_SIZE 16
#endif

static inline hl_stage_status refuse(hl_stage_output *out, const char *sentence, double a, double b)
{
    snprintf(out->reason.text, sizeof out->reason.text, sentence, a, b);
    return HL_STAGE_INFEASIBLE;
}

static inline hl_stage_status sound_solve(const hl_stage_input *in, hl_stage_output *out)
{
    hl_terminal part = {.struct_size = sizeof part};
    double volts = in->input_voltage, amperes = in->load.current, count = in->slot[0].count;
    if (in->slot[0].device)
        in->slot[0].device->present(in->slot[0].state, in->slot[0].temperature, 0.0, &part);
    double drop = count > 0.0 ? part.resistance * amperes / count : 0.0;
    if (!(volts > 0.0 && isfinite(volts))) return refuse(out, "no bus feeds it (%.4g V)", volts, 0.0);
    if (!(amperes >= 0.0) || !isfinite(amperes + in->extra_loss))
        return refuse(out, "a load of %.4g A is none", amperes, 0.0);
    if (!(drop >= 0.0 && drop < volts))
        return refuse(out, "a drop of %.4g V leaves nothing of %.4g V; lower the resistance", drop, volts);
    double *weight = hl_scratch_take(in->scratch, sizeof *weight);
    if (!weight) return HL_STAGE_NO_MEMORY;
    *weight = 1.0;
    out->circuit_loss = drop * amperes;
    out->output.voltage = out->output.voltage_peak = volts - drop;
    out->output.current = out->output.current_peak = amperes;
    out->output.power = out->output.voltage * amperes;
    out->input.voltage = out->input.voltage_peak = volts;
    out->input.power = out->output.power + out->circuit_loss + in->extra_loss;
    out->input.current = out->input.current_peak = out->input.power / volts;
    double each = count > 0.0 ? amperes / count : 0.0;
    out->stress[0] = (hl_stress){.struct_size = sizeof(hl_stress),
                                 .n = 1,
                                 .weight = weight,
                                 .total_rms = each,
                                 .total_average = each,
                                 .total_peak = each};
    out->quantity[out->quantities++] = (hl_quantity){"output_current", "A", amperes};
    return HL_STAGE_SOLVED;
}

static inline hl_stage_status SOLVE(const hl_stage_input *in, hl_stage_output *out);

static const hl_slot slots[] = {
    {"resistor", HL_FITS(HL_FAMILY_RESISTOR), HL_REQUIRED, 1, "carries the load current", NULL}};

static const hl_stage stage = {
    .struct_size = sizeof(hl_stage),
    .slots = slots,
    .n_slots = 1,
    .slot_size = sizeof(hl_slot),
    .input = HL_DC,
    .output = HL_DC,
    .memory_size = MEMORY_SIZE,
    .scratch_size = SCRATCH_SIZE,
    .solve = SOLVE,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "plain_wire",
    .title = "resistor in series",
    .source = "Ohm's law",
    .parameter_size = sizeof(hl_parameter),
    .stage = &stage,
};

HL_PLUGIN_TABLE("fault", "1", "nobody", "public domain", &model);
