/* sweep_plan.h - the plan that a script has stated with hl.sweep, as the sweep command reads it. */
#ifndef HEATLEDGER_LUA_SWEEP_PLAN_H
#define HEATLEDGER_LUA_SWEEP_PLAN_H

#include "lua/binding.h"

/* Has the script that ran in this state stated a plan? */
bool sweep_plan_stated(lua_State *L);
/* The plan over the design that the state finished; its script is part of its hash.  NULL: the reasons are in
 * diagnostics.  Never raises. */
hl_sweep *sweep_plan_build(lua_State *L, const bound_design *bound, const char *script,
                           hl_diagnostics *diagnostics);

/* Call the plan's derive function about the point `workspace` has solved: n figures.  false: why. */
bool sweep_plan_derive(lua_State *L, const hl_workspace *workspace, const double settings[], size_t n,
                       double derived[], char *why, size_t size);

#endif
