/* resistance_table.h - the factors of a conductor over frequency, tabulated once per part.
 *
 * Frequency and conductivity enter the field equations only as their product, so one table over
 * y = f rho_20 / rho(T) serves every temperature. All three factors rise with y^2 well below the knee and
 * with y^(1/2) well above it; divided by s(u) = u^2 / (1 + u^(3/2)), u = y / knee, they are flat at both
 * ends, and cubic pieces over ln y with slopes of fourth order follow them: to 1e-7 with 24 points per decade
 * (foil), 1e-5 with 8 (round wire). Beyond the ends the asymptotes hold. */
#ifndef RESISTANCE_TABLE_H
#define RESISTANCE_TABLE_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#include "layer_winding.h"

enum { TABLE_FACTORS = 3, TABLE_CELLS = 216 };

typedef struct resistance_table {
    double knee, ln_first, cells_per_unit;
    int cells; /* 0: no table, all factors are those of direct current */
    double cell[TABLE_CELLS][TABLE_FACTORS][4];
} resistance_table;

/* Factors at y, and their derivatives by ln y. */
typedef struct table_reading {
    double value[TABLE_FACTORS], slope[TABLE_FACTORS];
} table_reading;

/* factor_at(context, y) gives the factors at y Hz and 20 degC conductivity. */
typedef ac_factor (*factor_at)(const void *context, double y);

static inline double table_shape(double u)
{
    return u * u / (1.0 + u * sqrt(u));
}

/* false when a factor is not finite: then there is no table. */
static inline bool table_build(resistance_table *table, double knee, int per_decade, factor_at at,
                               const void *context)
{
    enum { BELOW = 3, ABOVE = 6 }; /* decades about the knee */
    const double decade = 2.30258509299404568;
    double node[TABLE_FACTORS][TABLE_CELLS + 1];
    table->knee = knee;
    table->cells = per_decade * (BELOW + ABOVE);
    table->ln_first = log(knee) - BELOW * decade;
    table->cells_per_unit = per_decade / decade;
    for (int i = 0; i <= table->cells; i++) {
        double y = exp(table->ln_first + i / table->cells_per_unit), shape = table_shape(y / knee);
        ac_factor f = at(context, y);
        node[0][i] = f.own_excess / shape;
        node[1][i] = f.field / shape;
        node[2][i] = f.across / shape;
        if (!isfinite(node[0][i] + node[1][i] + node[2][i])) {
            table->cells = 0;
            return false;
        }
    }
    for (int k = 0; k < TABLE_FACTORS; k++)
        for (int i = 0; i < table->cells; i++) {
            double slope[2], *v = node[k];
            for (int end = 0; end < 2; end++) {
                int j = i + end;
                bool inner = j >= 2 && j <= table->cells - 2;
                slope[end] = inner ? (8.0 * (v[j + 1] - v[j - 1]) - (v[j + 2] - v[j - 2])) / 12.0 : 0.0;
            }
            double rise = v[i + 1] - v[i];
            table->cell[i][k][0] = v[i];
            table->cell[i][k][1] = slope[0];
            table->cell[i][k][2] = 3.0 * rise - 2.0 * slope[0] - slope[1];
            table->cell[i][k][3] = slope[0] + slope[1] - 2.0 * rise;
        }
    return true;
}

/* Wants u^2, u^(3/2), u = y / knee, and ln y, as the caller has them at hand. */
static inline void table_read(const resistance_table *table, double square, double steep, double ln_y,
                              int factors, table_reading *reading)
{
    double place = (ln_y - table->ln_first) * table->cells_per_unit, t;
    int i = 0;
    double inside = 1.0;
    if (!(place > 0.0)) {
        t = 0.0;
        inside = 0.0;
    } else if (place >= table->cells) {
        i = table->cells - 1;
        t = 1.0;
        inside = 0.0;
    } else {
        i = (int)place;
        t = place - i;
    }
    double damp = 1.0 / (1.0 + steep), shape = square * damp, bend = 2.0 - 1.5 * steep * damp;
    double unit = inside * table->cells_per_unit;
    for (int k = 0; k < factors; k++) {
        const double *c = table->cell[i][k];
        double q = c[0] + t * (c[1] + t * (c[2] + t * c[3]));
        double dq = unit * (c[1] + t * (2.0 * c[2] + t * 3.0 * c[3]));
        reading->value[k] = shape * q;
        reading->slope[k] = shape * (dq + bend * q);
    }
}

#endif
