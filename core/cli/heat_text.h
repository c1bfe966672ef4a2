/* heat_text.h - where the heat goes, as a person reads it. */
#ifndef HEATLEDGER_HEAT_TEXT_H
#define HEATLEDGER_HEAT_TEXT_H

#include <stdio.h>

#include "heatledger/heatledger.h"

/* Each part's strongest ways out, in watts per way. */
void heat_text_ways(FILE *to, const hl_design *design, const hl_workspace *workspace);
/* Every link with its law and watts. */
void heat_text_links(FILE *to, const hl_design *design, const hl_workspace *workspace);

#endif
