#include "flyback_design.h"

stage_bench *flyback_bench;

void flyback_set_up(void)
{
    flyback_bench = stage_bench_create("flyback", NULL);
}

void flyback_tear_down(void)
{
    stage_bench_destroy(flyback_bench);
}

double flyback_asked(const char *quantity)
{
    return stage_bench_quantity(flyback_bench, quantity);
}

void flyback_solved(void)
{
    stage_bench_expect_solved(flyback_bench);
    stage_bench_check_contract(flyback_bench, 1e-9);
}

void flyback_lay_out(stage_bench *bench, const flyback_design *d)
{
    hl_terminal *chip = stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1);
    chip->resistance = d->channel;
    hl_terminal *core = stage_bench_fill(bench, "transformer", HL_FAMILY_MAGNETIC, 1);
    core->inductance = d->magnetizing;
    core->leakage = d->leakage;
    core->turns_ratio = d->ratio;
    core->winding_resistance[0] = d->winding;
    core->winding_resistance[1] = 0.4 * d->secondary;
    hl_terminal *rectifier =
        stage_bench_fill(bench, "rectifier", d->drop > 0 ? HL_FAMILY_DIODE : HL_FAMILY_SWITCH, 1);
    rectifier->resistance = 0.6 * d->secondary;
    rectifier->voltage = d->drop;
    stage_bench_choose(bench, "mode", d->frequency > 0 ? "fixed_frequency" : "quasi_resonant");
    if (d->frequency > 0)
        stage_bench_set(bench, "switching_frequency", d->frequency);
    else
        stage_bench_unset(bench, "switching_frequency");
    stage_bench_set(bench, "valley", d->valley);
    stage_bench_set(bench, "drain_capacitance", d->capacitance);
    stage_bench_choose(bench, "clamp", "stiff");
    stage_bench_set(bench, "clamp_voltage", d->clamp);
    bench->in.input_voltage = d->input;
    stage_bench_load(bench, d->output, d->load);
}

flyback_design flyback_adapter(double input, double load, double frequency)
{
    return (flyback_design){.input = input,
                            .output = 20,
                            .load = load,
                            .frequency = frequency,
                            .magnetizing = 480e-6,
                            .leakage = 9e-6,
                            .ratio = 5.6,
                            .winding = 0.35,
                            .channel = 0.28,
                            .secondary = 0.009,
                            .clamp = 165,
                            .capacitance = 105e-12};
}

flyback_design flyback_draw(lottery *luck, bool resonant)
{
    flyback_design d = {.input = lottery_scale(luck, resonant ? 50 : 100, 400),
                        .output = lottery_scale(luck, 5, 48)};
    double reflected = lottery_between(luck, 60, 140), power = lottery_scale(luck, 5, 120);
    d.drop = lottery_below(luck, 2) ? lottery_between(luck, 0.3, 1.0) : 0.0;
    d.ratio = reflected / (d.output + d.drop);
    d.load = power / d.output;
    d.frequency = resonant ? 0 : lottery_between(luck, 50e3, 150e3);
    double boundary = d.input * reflected / (d.input + reflected); /* V D at the border of the modes */
    double around = resonant ? lottery_between(luck, 60e3, 200e3) : d.frequency;
    d.magnetizing = boundary * boundary / (2 * power * around) * lottery_scale(luck, 0.3, 5);
    d.leakage = d.magnetizing * lottery_between(luck, 0.005, 0.03);
    double impedance = d.input * d.input / power;
    d.winding = impedance * lottery_scale(luck, 1e-4, 3e-3);
    d.channel = impedance * lottery_scale(luck, 1e-4, 3e-3);
    d.secondary = d.output / d.load * lottery_scale(luck, 1e-4, 5e-3);
    d.clamp = reflected * lottery_between(luck, 1.3, 2.5);
    d.capacitance = resonant ? lottery_scale(luck, 30e-12, 300e-12) : 0;
    d.valley = resonant ? 1 + (double)lottery_below(luck, 3) : 0;
    return d;
}
