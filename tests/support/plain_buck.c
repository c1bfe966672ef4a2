#include "plain_buck.h"

stage_bench *plain_buck(const char *mode, double load)
{
    stage_bench *bench = stage_bench_create("synchronous_buck", NULL);
    stage_bench_set(bench, "switching_frequency", 420e3);
    stage_bench_choose(bench, "light_load", mode);
    hl_terminal *high = stage_bench_fill(bench, "high_switch", HL_FAMILY_SWITCH, 1);
    hl_terminal *low = stage_bench_fill(bench, "low_switch", HL_FAMILY_SWITCH, 1);
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    high->resistance = 0.014;
    low->resistance = 0.0085;
    high->reverse_voltage = low->reverse_voltage = 0.78;
    high->output_charge = low->output_charge = 4e-9;
    choke->inductance = 4.4e-6;
    choke->winding_resistance[0] = 0.011;
    bench->in.input_voltage = 24.0;
    bench->in.output_capacitance = 66e-6;
    bench->in.output_esr = 0.0025;
    stage_bench_load(bench, 5.0, load);
    return bench;
}
