/* inductor_course.h - one inductor between switches followed in time by a numerical integrator (CVODE), as an
 * independent check of the closed forms. The periodic state is found by shooting with differences. */
#ifndef INDUCTOR_COURSE_H
#define INDUCTOR_COURSE_H

#include <stdbool.h>
#include <stddef.h>

enum { COURSE_TAGS = 4, COURSE_STATES_MAX = 8 };

/* L di/dt = source - resistance i - (feeds ? u : 0); `tag` names the part whose integrals are kept, -1 none.
 */
typedef struct course_path {
    double source, resistance;
    bool feeds;
    int tag;
} course_path;

typedef struct course_state {
    course_path positive, negative; /* by sign of the current; a channel uses only `positive` */
    bool channel;
    double base, rate; /* lasts base + rate * control */
} course_state;

typedef struct course_circuit {
    double inductance, capacitance, esr, load, voltage; /* voltage: mean wanted at the output */
    size_t states;
    course_state state[COURSE_STATES_MAX];
} course_circuit;

typedef struct course_result {
    double control, current, capacitor, period;
    double mean, rms;                                  /* A, inductor */
    double average[COURSE_TAGS], tag_rms[COURSE_TAGS]; /* A */
    double ripple_rms;                                 /* A, rms of g i - load */
} course_result;

/* Refine control, first current and first capacitor voltage from a guess until the cycle closes to about
 * 1e-10. Fails the running test when the integrator does. Returns the residual left (relative). */
double course_settle(const course_circuit *circuit, double control, double current, double capacitor,
                     course_result *result);

#endif
