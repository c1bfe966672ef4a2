/* lua_fit.h - a fit as a tree in the schema heatledger.fit/1. */
#ifndef HEATLEDGER_LUA_FIT_H
#define HEATLEDGER_LUA_FIT_H

#include <jansson.h>

#include "heatledger/fit.h"

/* New reference.  NULL: no memory. */
json_t *fit_document(const hl_design *design, const hl_bench *bench, const hl_fit_result *result);

#endif
