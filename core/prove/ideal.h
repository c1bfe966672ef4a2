/* ideal.h - parts for the slots of a stage under trial: they show a chosen terminal and lose nothing. */
#ifndef HEATLEDGER_IDEAL_H
#define HEATLEDGER_IDEAL_H

#include "heatledger/plugin.h"
#include "prove/chance.h"

/* Its state is the hl_terminal it shows. */
const hl_device *ideal_device(hl_family family);

/* Size of a circuit: what voltage, current and frequency its parts are made for. */
typedef struct circuit_size {
    double volts_in, volts_out, amperes_in, amperes_out, hertz;
} circuit_size;

/* A part such as such a circuit might hold: drops of some percent, reactances near its impedance. */
void ideal_draw(hl_terminal *shown, chance *luck, hl_family family, const circuit_size *size);

#endif
