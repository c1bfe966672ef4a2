#include "llc_design.h"

const llc_design llc_wide = {
    .input = 390,
    .series = 62e-6,
    .magnetizing = 372e-6,
    .capacitance = 33e-9,
    .ratio = 8.25,
    .primary = 0.31,
    .secondary = 0.0065,
    .charge = 46e-9,
    .dead_time = 250e-9,
    .body_drop = 0.9,
};

void llc_lay_out(stage_bench *bench, const llc_design *d)
{
    hl_terminal *chip = stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1);
    chip->resistance = 0.4 * d->primary;
    chip->output_charge = d->charge;
    chip->reverse_voltage = d->body_drop;
    hl_terminal *choke = stage_bench_fill(bench, "resonant_inductor", HL_FAMILY_MAGNETIC, 1);
    choke->inductance = 0.7 * d->series;
    choke->winding_resistance[0] = 0.2 * d->primary;
    hl_terminal *capacitor = stage_bench_fill(bench, "resonant_capacitor", HL_FAMILY_CAPACITOR, 1);
    capacitor->capacitance = d->capacitance;
    capacitor->resistance = 0.1 * d->primary;
    hl_terminal *transformer = stage_bench_fill(bench, "transformer", HL_FAMILY_MAGNETIC, 1);
    transformer->inductance = d->magnetizing;
    transformer->leakage = 0.3 * d->series;
    transformer->turns_ratio = d->ratio;
    transformer->winding_resistance[0] = 0.3 * d->primary;
    transformer->winding_resistance[1] = transformer->winding_resistance[2] = 0.4 * d->secondary;
    hl_terminal *rectifier =
        stage_bench_fill(bench, "rectifier", d->drop > 0 ? HL_FAMILY_DIODE : HL_FAMILY_SWITCH, 1);
    rectifier->resistance = d->full_bridge ? 0.3 * d->secondary : 0.6 * d->secondary;
    rectifier->voltage = d->drop;
    stage_bench_choose(bench, "secondary", d->full_bridge ? "full_bridge" : "centre_tapped");
    stage_bench_choose(bench, "transition", d->instant ? "instant" : "dead_time");
    stage_bench_set(bench, "dead_time", d->dead_time);
    bench->in.input_voltage = d->input;
}

stage_bench *llc_bench(void)
{
    return stage_bench_create("half_bridge_llc", NULL);
}
llc_point llc_draw(lottery *luck)
{
    double pi = 3.14159265358979323846;
    double resonance = lottery_between(luck, 60e3, 300e3), impedance = lottery_scale(luck, 20, 200);
    double gain = lottery_between(luck, 0.8, 1.15), quality = lottery_between(luck, 0.2, 0.6);
    llc_point p = {.d.input = lottery_between(luck, 340, 420), .output = lottery_scale(luck, 5, 60)};
    p.d.series = impedance / (2 * pi * resonance);
    p.d.capacitance = 1 / (2 * pi * resonance * impedance);
    p.d.magnetizing = p.d.series * lottery_between(luck, 3, 10);
    p.d.ratio = gain * 0.5 * p.d.input / p.output;
    p.d.primary = impedance * lottery_scale(luck, 1e-3, 2e-2);
    p.d.secondary = impedance * lottery_scale(luck, 1e-3, 2e-2) / (p.d.ratio * p.d.ratio);
    p.d.charge = lottery_scale(luck, 0.02, 0.3) * 1e-6 * 20 / impedance;
    p.d.dead_time = lottery_between(luck, 0.01, 0.06) / resonance;
    p.d.body_drop = lottery_between(luck, 0.5, 3);
    p.d.full_bridge = lottery_below(luck, 2) == 1;
    p.d.instant = lottery_below(luck, 2) == 1;
    p.d.drop = lottery_below(luck, 3) == 0 ? lottery_between(luck, 0.3, 1.0) : 0.0;
    double full = quality * 8 * p.d.ratio * p.d.ratio / (pi * pi) * p.output / impedance;
    p.load = full * lottery_scale(luck, 0.02, 1.2);
    return p;
}

void llc_lay_out_point(stage_bench *bench, const llc_point *p)
{
    llc_lay_out(bench, &p->d);
    stage_bench_load(bench, p->output, p->load);
}
