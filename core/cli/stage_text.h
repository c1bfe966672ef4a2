/* stage_text.h - what each stage does, as a person beside an oscilloscope reads it. */
#ifndef HEATLEDGER_STAGE_TEXT_H
#define HEATLEDGER_STAGE_TEXT_H

#include <stdio.h>

#include "heatledger/heatledger.h"

/* Each stage's figures of its waveforms, two in a line: frequency, duty, currents, voltages. */
void stage_text(FILE *to, const hl_design *design, const hl_workspace *workspace);

#endif
