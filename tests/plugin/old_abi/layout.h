/* layout.h - where every member of every structure of ABI 1 lies, in the header that was included before.
 *
 * SIZE(structure, grows): those that grow may have become larger since; the others lie inside others by value, or
 * in arrays without an element size, so they keep their size for as long as ABI 1 lives. */
#ifndef LAYOUT_H
#define LAYOUT_H

#include <stdbool.h>
#include <stddef.h>

typedef struct layout_row {
    const char *what;
    size_t value;
    bool grows;
} layout_row;

/* As the first header has it; ended by a row without `what`. */
extern const layout_row layout_1[];

/* clang-format off */
#define MEMBER(structure, member) {#structure "." #member, offsetof(structure, member), false},
#define SIZE(structure, grows) {"size of " #structure, sizeof(structure), grows},
#define COUNT(name) {#name, (size_t)(name), false},

#define LAYOUT_ROWS \
    COUNT(HL_PLUGIN_ABI) COUNT(HL_MECHANISMS) COUNT(HL_WINDINGS_MAX) COUNT(HL_SLOTS_MAX) \
    COUNT(HL_QUANTITIES_MAX) COUNT(HL_LIMITS_MAX) COUNT(HL_CHOICES) COUNT(HL_DEFAULT) COUNT(HL_ORIGIN_BENCH) \
    COUNT(HL_OTHER) COUNT(HL_FALLBACK) COUNT(HL_FAMILY_RESISTOR) COUNT(HL_RECTIFIED) COUNT(HL_STAGE_NO_MEMORY) \
    SIZE(hl_parameter, true) MEMBER(hl_parameter, name) MEMBER(hl_parameter, dimension) \
    MEMBER(hl_parameter, kind) MEMBER(hl_parameter, flags) MEMBER(hl_parameter, fallback) \
    MEMBER(hl_parameter, low) MEMBER(hl_parameter, high) MEMBER(hl_parameter, x_dimension) \
    MEMBER(hl_parameter, choices) MEMBER(hl_parameter, meaning) MEMBER(hl_parameter, source) \
    SIZE(hl_curve, false) MEMBER(hl_curve, n) MEMBER(hl_curve, x) MEMBER(hl_curve, y) \
    MEMBER(hl_curve, cubic) \
    SIZE(hl_value, false) MEMBER(hl_value, number) MEMBER(hl_value, minimum) MEMBER(hl_value, maximum) \
    MEMBER(hl_value, curve) MEMBER(hl_value, origin) MEMBER(hl_value, given) \
    SIZE(hl_segment, false) MEMBER(hl_segment, duration) MEMBER(hl_segment, offset) \
    MEMBER(hl_segment, slope) MEMBER(hl_segment, decay) MEMBER(hl_segment, omega) \
    MEMBER(hl_segment, cosine) MEMBER(hl_segment, sine) \
    SIZE(hl_wave, false) MEMBER(hl_wave, n) MEMBER(hl_wave, segment) \
    SIZE(hl_stress, false) MEMBER(hl_stress, struct_size) MEMBER(hl_stress, n) MEMBER(hl_stress, weight) \
    MEMBER(hl_stress, frequency) MEMBER(hl_stress, current_average) MEMBER(hl_stress, current_rms) \
    MEMBER(hl_stress, current_peak) MEMBER(hl_stress, current_on) MEMBER(hl_stress, current_off) \
    MEMBER(hl_stress, voltage_on) MEMBER(hl_stress, voltage_off) MEMBER(hl_stress, reverse_average) \
    MEMBER(hl_stress, reverse_rms) MEMBER(hl_stress, slope_off) MEMBER(hl_stress, charge_on) \
    MEMBER(hl_stress, duty) MEMBER(hl_stress, lines) MEMBER(hl_stress, line_frequency) \
    MEMBER(hl_stress, line_rms_squared) MEMBER(hl_stress, voltage_dc) MEMBER(hl_stress, voltage_peak) \
    MEMBER(hl_stress, flux_voltage) MEMBER(hl_stress, windings) MEMBER(hl_stress, winding_current) \
    MEMBER(hl_stress, flux_bias) MEMBER(hl_stress, total_rms) MEMBER(hl_stress, total_average) \
    MEMBER(hl_stress, total_peak) \
    SIZE(hl_loss, true) MEMBER(hl_loss, struct_size) MEMBER(hl_loss, watts) MEMBER(hl_loss, slope) \
    MEMBER(hl_loss, flags) \
    SIZE(hl_terminal, true) MEMBER(hl_terminal, struct_size) MEMBER(hl_terminal, resistance) \
    MEMBER(hl_terminal, voltage) MEMBER(hl_terminal, reverse_voltage) \
    MEMBER(hl_terminal, reverse_resistance) MEMBER(hl_terminal, inductance) MEMBER(hl_terminal, leakage) \
    MEMBER(hl_terminal, capacitance) MEMBER(hl_terminal, output_charge) MEMBER(hl_terminal, output_energy) \
    MEMBER(hl_terminal, turns_ratio) MEMBER(hl_terminal, winding_resistance) MEMBER(hl_terminal, windings) \
    MEMBER(hl_terminal, rated_voltage) MEMBER(hl_terminal, rated_current) \
    MEMBER(hl_terminal, series_inductance) \
    SIZE(hl_limit, false) MEMBER(hl_limit, name) MEMBER(hl_limit, unit) MEMBER(hl_limit, value) \
    MEMBER(hl_limit, rated) \
    SIZE(hl_reason, false) MEMBER(hl_reason, text) \
    SIZE(hl_device, true) MEMBER(hl_device, struct_size) MEMBER(hl_device, family) \
    MEMBER(hl_device, state_size) MEMBER(hl_device, prepare) MEMBER(hl_device, present) \
    MEMBER(hl_device, loss) MEMBER(hl_device, limits) MEMBER(hl_device, impedance) \
    SIZE(hl_slot, true) MEMBER(hl_slot, name) MEMBER(hl_slot, families) MEMBER(hl_slot, flags) \
    MEMBER(hl_slot, positions) MEMBER(hl_slot, meaning) \
    SIZE(hl_side, false) MEMBER(hl_side, voltage) MEMBER(hl_side, current) MEMBER(hl_side, power) \
    MEMBER(hl_side, line_frequency) MEMBER(hl_side, cycles) MEMBER(hl_side, weight) \
    MEMBER(hl_side, frequency) MEMBER(hl_side, wave) MEMBER(hl_side, line) MEMBER(hl_side, current_peak) \
    MEMBER(hl_side, voltage_peak) \
    SIZE(hl_quantity, false) MEMBER(hl_quantity, name) MEMBER(hl_quantity, unit) \
    MEMBER(hl_quantity, value) \
    SIZE(hl_scratch, false) MEMBER(hl_scratch, base) MEMBER(hl_scratch, size) MEMBER(hl_scratch, used) \
    SIZE(hl_slot_view, false) MEMBER(hl_slot_view, count) MEMBER(hl_slot_view, temperature) \
    MEMBER(hl_slot_view, device) MEMBER(hl_slot_view, state) MEMBER(hl_slot_view, loss) \
    SIZE(hl_stage_input, true) MEMBER(hl_stage_input, struct_size) MEMBER(hl_stage_input, values) \
    MEMBER(hl_stage_input, slot) MEMBER(hl_stage_input, input_voltage) \
    MEMBER(hl_stage_input, input_frequency) MEMBER(hl_stage_input, output_voltage) \
    MEMBER(hl_stage_input, output_capacitance) MEMBER(hl_stage_input, output_esr) \
    MEMBER(hl_stage_input, input_capacitance) MEMBER(hl_stage_input, extra_loss) \
    MEMBER(hl_stage_input, load) MEMBER(hl_stage_input, scratch) MEMBER(hl_stage_input, memory) \
    SIZE(hl_stage_output, true) MEMBER(hl_stage_output, struct_size) MEMBER(hl_stage_output, input) \
    MEMBER(hl_stage_output, output) MEMBER(hl_stage_output, circuit_loss) \
    MEMBER(hl_stage_output, own_loss) MEMBER(hl_stage_output, own_name) MEMBER(hl_stage_output, stress) \
    MEMBER(hl_stage_output, quantities) MEMBER(hl_stage_output, quantity) MEMBER(hl_stage_output, reason) \
    MEMBER(hl_stage_output, headroom_value) MEMBER(hl_stage_output, headroom_limit) \
    MEMBER(hl_stage_output, headroom_name) MEMBER(hl_stage_output, headroom_unit) \
    SIZE(hl_stage, true) MEMBER(hl_stage, struct_size) MEMBER(hl_stage, slots) MEMBER(hl_stage, n_slots) \
    MEMBER(hl_stage, slot_size) MEMBER(hl_stage, input) MEMBER(hl_stage, output) \
    MEMBER(hl_stage, regulates) MEMBER(hl_stage, terminal) MEMBER(hl_stage, memory_size) \
    MEMBER(hl_stage, scratch_size) MEMBER(hl_stage, positions) MEMBER(hl_stage, prepare) \
    MEMBER(hl_stage, solve) \
    SIZE(hl_model, true) MEMBER(hl_model, struct_size) MEMBER(hl_model, name) MEMBER(hl_model, title) \
    MEMBER(hl_model, source) MEMBER(hl_model, parameters) MEMBER(hl_model, n_parameters) \
    MEMBER(hl_model, parameter_size) MEMBER(hl_model, device) MEMBER(hl_model, stage) \
    SIZE(hl_plugin, true) MEMBER(hl_plugin, struct_size) MEMBER(hl_plugin, abi) MEMBER(hl_plugin, name) \
    MEMBER(hl_plugin, version) MEMBER(hl_plugin, author) MEMBER(hl_plugin, licence) \
    MEMBER(hl_plugin, models) MEMBER(hl_plugin, n_models)
/* clang-format on */

#endif
