/* warmup.h - a whole adapter over time: warm-up, load steps, charge profiles, duty cycles.
 * Part of the host interface: include heatledger.h.
 *
 * The network of a design is integrated over hours; the losses follow temperature and load, solved anew by
 * the circuit as often as it takes.  Units SI, temperatures in kelvin. */
#ifndef HEATLEDGER_WARMUP_H
#define HEATLEDGER_WARMUP_H

#include "heatledger/design.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct hl_profile_step {
    double duration;        /* s, above 0 */
    const double *settings; /* [hl_design_settings] as the step begins */
    double load_end;        /* load factor at its end; NaN: stays as it begins */
    bool straight;          /* from one to the other in a straight line; otherwise exponentially */
    double pulse_period;    /* s; 0: steady.  The nodes feel the mean, the junctions the pulse */
    double pulse_duty;      /* 1, share of the period at the step's load */
    double pulse_rest;      /* load factor for the rest of it */
} hl_profile_step;

typedef struct hl_profile {
    size_t n_steps;
    const hl_profile_step *step;
    size_t cycles; /* times the steps are run through, at least 1 */
    const double
        *start;   /* settings of the steady point to begin from; NULL: cold, at the first step's ambient */
    double every; /* s between rows; 0: about 240 rows in all */
    const double *limit; /* K for each node [hl_design_nodes], NaN: none; NULL: hl_design_node_limit */
} hl_profile;

enum { HL_PROFILE_STEPS_MAX = 100000, HL_PROFILE_ROWS_MAX = 200000 };

/* What came of it; its rows end where it ended. */
typedef struct hl_course hl_course;

/* Run a profile.  HL_OK: *made is the course, whose outcome tells solved, infeasible or run away.
 * The workspace then holds no point: solve again before reading results from it. */
HL_EXPORT hl_status hl_warm_up(hl_workspace *workspace, const hl_profile *profile, hl_course **made,
                               hl_diagnostics *diagnostics);
HL_EXPORT void hl_course_destroy(hl_course *course);

HL_EXPORT hl_outcome hl_course_outcome(const hl_course *course);
HL_EXPORT const char *hl_course_reason(const hl_course *course); /* "" when solved */
HL_EXPORT size_t hl_course_nodes(const hl_course *course);
HL_EXPORT size_t hl_course_rows(const hl_course *course);
typedef struct hl_course_row {
    double time;               /* s */
    double load;               /* load factor */
    double loss;               /* W in all */
    const double *temperature; /* [nodes], K */
} hl_course_row;
HL_EXPORT hl_course_row hl_course_at(const hl_course *course, size_t row);

/* Of one node over the whole course. */
typedef struct hl_course_peak {
    double temperature, time; /* K, and when, s */
    double limit, reached;    /* K (NaN: none), and when it is first reached, s (infinity: never) */
} hl_course_peak;
HL_EXPORT hl_course_peak hl_course_peak_of(const hl_course *course, size_t node);
/* Highest junction of an item with a stated transient impedance, K; equal to its node's peak without pulses.
 */
HL_EXPORT double hl_course_junction_peak(const hl_course *course, size_t item);

typedef struct hl_course_figures {
    double put_in, handed_out, stored; /* J: put_in = handed_out + stored */
    unsigned steps;                    /* of the integrator */
    unsigned solutions;                /* of the circuit */
    double worst_jump; /* greatest correction of the losses when solved anew, as a share of all */
    int leader;        /* node that leads a run-away, -1: none */
} hl_course_figures;
HL_EXPORT const hl_course_figures *hl_course_summary(const hl_course *course);

/* How far a setting (the load factor, the ambient) may rise before the losses outrun the cooling. */
typedef enum hl_border {
    HL_BORDER_NONE,       /* solved all the way to `most` */
    HL_BORDER_FOLD,       /* the feedback gain reaches one: run-away beyond */
    HL_BORDER_INFEASIBLE, /* the circuit gives up first */
    HL_BORDER_BEFORE,     /* the starting point itself has no solution */
} hl_border;
typedef struct hl_critical {
    hl_border border;
    double value;          /* of the setting at the border; `most` without one */
    double gain;           /* feedback gain at the last point solved */
    int leader;            /* node that leads, -1: none */
    double leader_hottest; /* K, its temperature there */
    unsigned points;       /* solved on the way */
} hl_critical;
/* From settings[index] upward to `most`, by continuation along the solved branch; found to 1e-4 of the way.
 * HL_BAD_INPUT: no such setting, or `most` is not above its value. */
HL_EXPORT hl_status hl_critical_setting(hl_workspace *workspace, const double settings[], size_t index,
                                        double most, hl_critical *found);

#ifdef __cplusplus
}
#endif
#endif
