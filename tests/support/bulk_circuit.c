#include "bulk_circuit.h"

void bulk_circuit_put(stage_bench *bench, const circuit *c)
{
    hl_terminal *diode = stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1);
    diode->voltage = c->drop;
    diode->resistance = c->slope;
    stage_bench_set(bench, "source_resistance", c->resistance);
    stage_bench_choose(bench, "load", c->power > 0 ? "constant_power" : "constant_current");
    bench->in.input_voltage = c->voltage;
    bench->in.input_frequency = c->frequency;
    bench->in.output_capacitance = c->capacitance;
    bench->in.load.power = c->power;
    bench->in.load.current = c->power > 0 ? c->power / (1.3 * c->voltage) : c->current;
}
