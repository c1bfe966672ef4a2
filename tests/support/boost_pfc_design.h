/* boost_pfc_design.h - boost power-factor stages of plain parts laid out on a stage bench, for tests. */
#ifndef BOOST_PFC_DESIGN_H
#define BOOST_PFC_DESIGN_H

#include "stage_bench.h"

typedef struct boost_pfc_path { /* what one phase sees: H, ohm, ohm, V, ohm */
    double inductance, winding, channel, drop, slope;
} boost_pfc_path;

/* Ideal parts: no resistance, no drop, no capacitance at the node. */
void boost_pfc_lay_out_ideal(stage_bench *bench, double inductance);
void boost_pfc_lay_out(stage_bench *bench, const boost_pfc_path *path);
/* The mains: V rms, Hz. */
void boost_pfc_mains(stage_bench *bench, double voltage, double frequency);
/* Solves, checks the contract to 1e-9 and returns the quantity. */
double boost_pfc_asked(stage_bench *bench, const char *quantity);

#endif
