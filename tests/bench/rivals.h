/* rivals.h - the same figures by other ways: circuits stepped through time, formulas in plain Lua. */
#ifndef RIVALS_H
#define RIVALS_H

#include <stdbool.h>

/* Processor seconds that a numerical integrator (CVODE) with shooting takes to bring one converter to its
 * periodic steady state, at one temperature and a given frequency; negative: it failed. */
double rival_llc_seconds(void);
double rival_buck_seconds(void); /* its largest: 24 V to 20 V, 5 A */
double rival_other_bucks_seconds(void);
/* The boost stage before it, cycle by cycle over half a line period (Runge-Kutta, fourth order), as often as
 * it takes to find the on-time. */
double rival_boost_seconds(double *cycles, unsigned *half_lines);

typedef struct rival_formula {
    const char *name;
    double here, lua; /* s a call */
} rival_formula;

enum { RIVAL_FORMULAS = 3 };
/* Time formulas of the product and their twins in the Lua file.  false: the file does not run. */
bool rival_formulas(const char *lua_file, rival_formula formula[RIVAL_FORMULAS]);

/* Processor time, s. */
double bench_now(void);

#endif
