/* lua_spread.h - the spread of a design as a tree in the schema heatledger.spread/1. */
#ifndef HEATLEDGER_LUA_SPREAD_H
#define HEATLEDGER_LUA_SPREAD_H

#include <jansson.h>

#include "heatledger/spread.h"

/* New reference; levels are probabilities 0..1.  NULL: no memory. */
json_t *spread_document(const hl_design *design, const hl_spread *spread, const hl_spread_options *options,
                        const double levels[], size_t n_levels);

#endif
