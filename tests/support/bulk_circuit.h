/* bulk_circuit.h - a bridge onto a bulk capacitor as a handful of numbers, for tests that follow it in time.
 */
#ifndef BULK_CIRCUIT_H
#define BULK_CIRCUIT_H

#include "stage_bench.h"

typedef struct circuit {
    double voltage, frequency, capacitance, resistance, inductance;
    double drop, slope;    /* of one diode */
    double power, current; /* one of them */
} circuit;

/* Onto a bench of a capacitor_input_rectifier, but for the inductance. */
void bulk_circuit_put(stage_bench *bench, const circuit *c);

#endif
