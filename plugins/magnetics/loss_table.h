/* loss_table.h - loss of a sine over its peak flux density, as a data sheet draws it, at one frequency.
 *
 * Between two points P = P1 (B / B1)^e, a straight line on the paper's two logarithmic scales, so two points
 * of a Steinmetz material give that material back. Beyond its ends the table goes on from its last
 * point with the exponent of its last piece, held between 1 and 4 as all cores lie there, and says so.
 * source: common practice, no source (reading a chart) */
#ifndef LOSS_TABLE_H
#define LOSS_TABLE_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#include "heatledger/plugin.h"

typedef struct loss_table {
    const hl_curve *curve; /* W/m^3 over T, 2 points or more; NULL: none */
} loss_table;

/* false: `what` says what is wrong with it. */
static inline bool loss_table_sound(const hl_curve *curve, const char **what)
{
    *what = "needs two points or more";
    if (curve->n < 2) return false;
    *what = "flux densities and losses must be above zero";
    for (size_t i = 0; i < curve->n; i++)
        if (!(curve->x[i] > 0.0 && curve->y[i] > 0.0)) return false;
    return true;
}

static inline bool loss_table_outside(const loss_table *table, double flux)
{
    const hl_curve *c = table->curve;
    return !(flux >= c->x[0] && flux <= c->x[c->n - 1]);
}

/* W/m^3 at a peak flux density above zero, T */
static inline double loss_table_at(const loss_table *table, double flux)
{
    const hl_curve *c = table->curve;
    size_t i = 0, last = c->n - 1;
    while (i + 1 < last && flux > c->x[i + 1]) i++;
    double exponent = log(c->y[i + 1] / c->y[i]) / log(c->x[i + 1] / c->x[i]);
    if (loss_table_outside(table, flux)) exponent = fmin(fmax(exponent, 1.0), 4.0);
    if (flux > c->x[last]) i = last;
    return c->y[i] * pow(flux / c->x[i], exponent);
}

#endif
