/* lua_point.h - a solved point, handed to a script. */
#ifndef HEATLEDGER_LUA_POINT_H
#define HEATLEDGER_LUA_POINT_H

#include "lua/binding.h"

/* A solved point, for the length of one call: point[name] reads a figure. */
typedef struct bound_point {
    const hl_workspace *workspace;
    const double *settings;
} bound_point;

/* Push the one point object of this state; its workspace is NULL while there is nothing to read. */
bound_point *point_push(lua_State *L);

#endif
