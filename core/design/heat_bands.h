/* heat_bands.h - settings for the heat paths of parts whose band is known. */
#ifndef HEATLEDGER_HEAT_BANDS_H
#define HEATLEDGER_HEAT_BANDS_H

#include "design/design.h"

/* Adds "STAGE.SLOT.resistance_board" and "...resistance_case" for each part that states or estimates them
 * with a band and has a fixed link they stand in. Room for two per item was counted. false: no memory. */
bool heat_bands_add(hl_design *design);

#endif
