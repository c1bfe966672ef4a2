/* old_plugin.c - a device and a stage as somebody wrote them against the first header of ABI 1.
 *
 * Built three times: against plugin_1.h (old_plugin.so), against today's header (today_plugin.so), and with
 * every table grown at its end, as a plugin of a later minor version would have it (later_plugin.so).  All three
 * must load and give the same bits. */
#if defined OLD_ABI
#include "plugin_1.h"
#else
#include "heatledger/plugin.h"
#endif
#include <stdio.h>
#include <string.h>

#ifdef GROWN
typedef struct { hl_parameter known; const char *later[3]; } row;
typedef struct { hl_slot known; double later; } place;
typedef struct { hl_device known; void (*later)(void); } behaviour;
typedef struct { hl_stage known; void *later[2]; } circuit;
typedef struct { hl_model known; const char *later; } kind;
#define KNOWN(...) {.known = __VA_ARGS__}
#else
typedef hl_parameter row;
typedef hl_slot place;
typedef hl_device behaviour;
typedef hl_stage circuit;
typedef hl_model kind;
#define KNOWN(...) __VA_ARGS__
#endif

/* ---------------------------------------------------------------- device -- */

enum { RESISTANCE, COEFFICIENT, PARAMETERS };

static const row of_device[PARAMETERS] = {
    KNOWN({.name = "resistance", .dimension = "ohm", .kind = HL_NUMBER, .flags = HL_REQUIRED, .low = 1e-4,
           .high = 10, .meaning = "at 25 degC", .source = "bench"}),
    KNOWN({.name = "coefficient", .dimension = "1/K", .kind = HL_NUMBER, .flags = HL_DEFAULT, .fallback = 0.004,
           .low = 0, .high = 0.01, .meaning = "of the resistance", .source = "handbook"}),
};

typedef struct bar {
    double r25, alpha;
} bar;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(bar);
}

static bool prepare(void *state, const hl_value *values, hl_reason *reason)
{
    bar *b = state;
    *b = (bar){values[RESISTANCE].number, values[COEFFICIENT].number};
    if (b->r25 > 0 && b->alpha >= 0) return true;
    snprintf(reason->text, sizeof reason->text, "resistance %g ohm", b->r25);
    return false;
}

static double at(const bar *b, double temperature)
{
    return b->r25 * (1 + b->alpha * (temperature - 298.15));
}

/* As old code does: the whole of what is to be filled is assigned, in the size its author knew.  Built against a
 * newer header that would write past what an older host has, so members are set there. */
#ifdef OLD_ABI
#define CLEAR(structure) (*(structure) = (__typeof__(*(structure))){.struct_size = sizeof *(structure)})
#else
#define CLEAR(structure) ((void)(structure))
#endif

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    CLEAR(terminal);
    terminal->resistance = at(state, temperature);
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const bar *b = state;
    double square = stress->total_rms * stress->total_rms;
    for (size_t k = 0; k < stress->n; k++) {
        double i = hl_stress_at(stress->current_rms, k);
        square += 0.001 * stress->weight[k] * i * i;
    }
    out->watts[HL_CONDUCTION] += at(b, temperature) * square;
    out->slope += b->r25 * b->alpha * square;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)state, (void)temperature;
    list[0] = (hl_limit){"current", "A", stress->total_rms, 20};
    return 1;
}

static const behaviour device = KNOWN({
    .struct_size = sizeof(behaviour), .family = HL_FAMILY_RESISTOR, .state_size = state_size, .prepare = prepare,
    .present = present, .loss = loss, .limits = limits,
});

static const kind bar_model = KNOWN({
    .struct_size = sizeof(kind), .name = "old_bar", .title = "bar", .source = "Ohm's law",
    .parameters = (const hl_parameter *)of_device, .n_parameters = PARAMETERS, .parameter_size = sizeof(row),
    .device = (const hl_device *)&device,
});

/* ----------------------------------------------------------------- stage -- */

static const place slots[] = {
    KNOWN({.name = "bar", .families = HL_FITS(HL_FAMILY_RESISTOR), .flags = HL_REQUIRED, .positions = 1,
           .meaning = "in series"}),
    KNOWN({.name = "second_bar", .families = HL_FITS(HL_FAMILY_RESISTOR), .positions = 1, .meaning = "behind it"}),
};

static const row of_stage[] = {
    KNOWN({.name = "standing_loss", .dimension = "W", .kind = HL_NUMBER, .flags = HL_DEFAULT, .fallback = 0.01,
           .low = 0, .high = 1, .meaning = "taken at the input", .source = "bench"}),
};

typedef struct figures {
    double weight, frequency, current;
} figures;

static hl_stage_status solve(const hl_stage_input *in, hl_stage_output *out)
{
    double v = in->input_voltage, i = in->load.current, drop = 0, own = in->values[0].number;
    figures *f = hl_scratch_take(in->scratch, sizeof *f);
    if (!f) return HL_STAGE_NO_MEMORY;
    *f = (figures){1, 100e3, i};
    CLEAR(out);
    for (size_t s = 0; s < 2; s++) {
        const hl_slot_view *slot = &in->slot[s];
        hl_terminal seen = {.struct_size = sizeof seen};
        if (!slot->count) continue;
        slot->device->present(slot->state, slot->temperature, 0, &seen);
        drop += seen.resistance * i / slot->count;
        out->stress[s] = (hl_stress){.struct_size = sizeof(hl_stress), .n = 1, .weight = &f->weight,
                                     .frequency = &f->frequency, .current_rms = &f->current,
                                     .total_rms = i / slot->count};
    }
    if (!(drop < v)) {
        snprintf(out->reason.text, sizeof out->reason.text, "%g V drop of %g V", drop, v);
        return HL_STAGE_INFEASIBLE;
    }
    out->own_loss = own;
    out->own_name = "standing";
    out->circuit_loss = drop * i + own;
    out->output = (hl_side){.voltage = v - drop, .current = i, .power = (v - drop) * i, .current_peak = i};
    out->input = (hl_side){.voltage = v, .power = out->output.power + out->circuit_loss + in->extra_loss};
    out->input.current = out->input.current_peak = out->input.power / v;
    out->quantity[out->quantities++] = (hl_quantity){"drop", "V", drop};
    return HL_STAGE_SOLVED;
}

static const circuit stage = KNOWN({
    .struct_size = sizeof(circuit), .slots = (const hl_slot *)slots, .n_slots = 2, .slot_size = sizeof(place),
    .input = HL_DC, .output = HL_DC, .scratch_size = 64, .solve = solve,
});

static const kind stage_model = KNOWN({
    .struct_size = sizeof(kind), .name = "old_path", .title = "two bars in series", .source = "Ohm's law",
    .parameters = (const hl_parameter *)of_stage, .n_parameters = 1, .parameter_size = sizeof(row),
    .stage = (const hl_stage *)&stage,
});

static const hl_model *const models[] = {(const hl_model *)&bar_model, (const hl_model *)&stage_model};

HL_EXPORT const hl_plugin hl_plugin_table = {
    .struct_size = sizeof(hl_plugin), .abi = 1, .name = "old", .version = "1", .author = "an old hand",
    .licence = "MIT", .models = models, .n_models = 2,
};
