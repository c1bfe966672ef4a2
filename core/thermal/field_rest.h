/* field_rest.h - what the steady impedance has beyond the modes of the grid, in time. */
#ifndef HEATLEDGER_THERMAL_FIELD_REST_H
#define HEATLEDGER_THERMAL_FIELD_REST_H

#include "thermal/field_core.h"

enum { REST_TIMES = 3 };

/* Heat of a port reaches each of its columns with a lag of first order: lag' = (heat - lag) / time.  Per port
 * and time, the port's times one after the other. */
typedef struct field_rest {
    int columns;     /* ports x REST_TIMES */
    double *time;    /* s; 0: at once */
    double *row;     /* K/W, rows of each column */
    double *spot;    /* K/W, followed places of each */
    double *leaving; /* W out of the box per W of a column */
} field_rest;

bool rest_create(field_rest *rest, const hl_field *field); /* false: no memory */
void rest_release(field_rest *rest);

/* What a mode takes of a watt into a port. */
static inline double mode_in(const hl_field *field, int mode, int port)
{
    return field->modes.in[(size_t)mode * (size_t)field->n_ports + (size_t)port];
}

#endif
