#include "boost_pfc_design.h"

void boost_pfc_lay_out_ideal(stage_bench *bench, double inductance)
{
    stage_bench_fill(bench, "switch", HL_FAMILY_SWITCH, 1);
    stage_bench_fill(bench, "rectifier", HL_FAMILY_DIODE, 1);
    stage_bench_fill(bench, "boost_inductor", HL_FAMILY_MAGNETIC, 1)->inductance = inductance;
}

void boost_pfc_lay_out(stage_bench *bench, const boost_pfc_path *path)
{
    boost_pfc_lay_out_ideal(bench, path->inductance);
    bench->part[2].winding_resistance[0] = path->winding;
    bench->part[0].resistance = path->channel;
    bench->part[1].voltage = path->drop;
    bench->part[1].resistance = path->slope;
}

void boost_pfc_mains(stage_bench *bench, double voltage, double frequency)
{
    bench->in.input_voltage = voltage;
    bench->in.input_frequency = frequency;
}

double boost_pfc_asked(stage_bench *bench, const char *quantity)
{
    stage_bench_expect_solved(bench);
    stage_bench_check_contract(bench, 1e-9);
    return stage_bench_quantity(bench, quantity);
}
