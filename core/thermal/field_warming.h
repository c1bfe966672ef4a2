/* field_warming.h - a condensed field in time, one step after the other, for who changes heat or room on the
 * way. */
#ifndef HEATLEDGER_THERMAL_FIELD_WARMING_H
#define HEATLEDGER_THERMAL_FIELD_WARMING_H

#include "thermal/field_rest.h"

/* What one step makes of a state with a rate: after = fade before + early w0 + late w1; and its integral. */
typedef struct stepping {
    double fade, early, late;
    double sum_fade, sum_early, sum_late;
} stepping;

struct hl_field_warming {
    const hl_field *field;
    hl_field_work *work; /* rise and port: those of now */
    int bodies, ports, rows, modes;
    field_rest rest;
    double *x, *lag;               /* modes, columns of the rest */
    double *x_before, *lag_before; /* the same at the step's beginning */
    double *rest_column;           /* rows x ports: of the rest at the end of a step, per W there */
    double *leaving;               /* W out of the box per unit of a mode */
    stepping *mode_step, *rest_step;
    double *body_column;  /* rows x bodies */
    double *base;         /* rows: rise at the end of the step by what is known */
    double *begun, *slow; /* ports: w at the step's beginning and one step before */
    double *amount;       /* modes */
    double *spot_rise;
    double *power, *slope, *mean;                      /* bodies */
    double *departed_rows;                             /* rows */
    double *then_rise, *then_port, *then_x, *then_lag; /* of a time within the last step */
    double total;                                      /* W, of |heat| */
    double time, time_before;
    double next, last_step; /* s: step to try, and the one taken last; 0: none since a jump */
    double put_in, handed_out, stored_first;
    size_t steps;
};

/* Of a mode; of a lag of the rest. */
stepping warming_mode_step(double rate, double h);
stepping warming_lag_step(double time, double h);
/* What all modes take of heat from port `first` on: fills amount. */
void warming_take(const hl_field_warming *w, const double port[], int first, double amount[]);

/* The surroundings change now; the bodies keep their temperatures.  False: they make no sense. */
bool warming_enter_room(hl_field_warming *w, const hl_surroundings *surroundings);
/* Heat or room jump now; heat is asked no later than `end`. */
hl_status warming_jump(hl_field_warming *w, hl_heat heat, void *context, double end);
/* One step of its own length, never beyond `stop`. */
hl_status warming_step(hl_field_warming *w, hl_heat heat, void *context, double stop);
/* As hl_field_warm_read at a time within the last step. */
void warming_read_at(hl_field_warming *w, double time, double mean[], hl_field_spot hottest[],
                     hl_field_face faces[]);

#endif
