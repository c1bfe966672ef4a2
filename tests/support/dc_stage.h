/* dc_stage.h - what every dc-fed stage with an inductor is asked alike: books and waves over random settings,
 * figures against a course in time, time per solution. */
#ifndef DC_STAGE_H
#define DC_STAGE_H

#include "../../plugins/stages/node_ring.h"

#include "lottery.h"
#include "stage_bench.h"

/* Random settings a test tries: 5000, or HL_TEST_POINTS. */
size_t dc_stage_points(void);

/* A stage and how it is tried. `voltage`: what the circulating current stands at, V. An unloaded stage draws
 * next to nothing, so its books are held to 1e-9 of the input or to rounding of the power that circulates. */
typedef struct dc_stage {
    const char *plugin;
    void (*deal)(stage_bench *bench, lottery *luck);
    double (*voltage)(const stage_bench *bench);
} dc_stage;

/* Deal and solve dc_stage_points() times. Fails unless over half are solved, none is given up, each refusal
 * has its words, the books balance, and the waves' means and ripple are what the figures say to 1e-4 of the
 * peak current. */
void dc_stage_try(const dc_stage *stage);

typedef struct dc_figure {
    const char *name;
    double expected;
} dc_figure;

/* Each named quantity within 1e-6 of what is expected, or of 1e-6 of `least`, else fail saying `what`. 1e-6
 * is what the integrator and its differences leave; the design asks for 0.5 %. */
void dc_stage_compare(const stage_bench *bench, const dc_figure figure[], size_t n, double least,
                      const char *what);

/* The ring of a node with this inductance and charge over the time that `resting`, which blocks meanwhile, is
 * told to rest: check_node_ring.c holds it to an integral. */
node_ring dc_stage_ring(const stage_bench *bench, const char *resting, double whole, double swing,
                        double inductance, double charge);

/* us of processor time a solution of the bench as it stands; fails above 200, generous to sanitizers and busy
 * machines. Printed with `what`. */
void dc_stage_time(stage_bench *bench, const char *what);

#endif
