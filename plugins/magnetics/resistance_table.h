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

#include "harmonic_places.h"
#include "layer_winding.h"

enum { TABLE_FACTORS = 3, TABLE_CELLS = 216 };

typedef struct resistance_table {
    double knee, ln_first, cells_per_unit;
    int cells; /* 0: no table, all factors are those of direct current */
    double cell[TABLE_CELLS][TABLE_FACTORS][4];
} resistance_table;

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

/* A sum of factors, and its derivative by ln y; and, when asked for, the first factor's share. */
typedef struct table_sum {
    double value, slope, first;
} table_sum;

/* Where each place lies in the table, and s(u) there with its logarithmic slope. */
typedef struct table_places {
    int cell[WAVE_HARMONICS];
    double t[WAVE_HARMONICS], inside[WAVE_HARMONICS]; /* inside: 0 beyond the ends, where the end holds */
    double shape[WAVE_HARMONICS], bend[WAVE_HARMONICS];
} table_places;

static inline void table_find(const resistance_table *table, const harmonic_places *places, double y,
                              table_places *at)
{
    double u = y / table->knee, square = u * u, steep = u * sqrt(u), last = table->cells - 1;
    double unit = table->cells_per_unit, start = (log(y) - table->ln_first) * unit;
    for (size_t j = 0; j < places->n; j++) {
        double place = start + places->ln[j] * unit, above = place > 0.0 ? place : 0.0;
        double held = above < last + 1.0 ? above : last + 1.0, low = held < last ? held : last;
        int cell = (int)low;
        at->cell[j] = cell;
        at->t[j] = held - cell;
        at->inside[j] = held == place ? unit : 0.0;
        double high = steep * places->steep[j], damp = 1.0 / (1.0 + high);
        at->shape[j] = square * places->square[j] * damp;
        at->bend[j] = 2.0 - 1.5 * high * damp;
    }
}

/* sum over the places x_j and the factors i of weight[i][j] F_i(x_j y) */
static inline table_sum table_read(const resistance_table *table, const harmonic_places *places, double y,
                                   size_t factors, const double *const weight[], bool first)
{
    table_places at;
    table_sum sum = {0.0, 0.0, 0.0};
    table_find(table, places, y, &at);
    for (size_t j = 0; j < places->n; j++) {
        const double *cell = table->cell[at.cell[j]][0];
        quad piece = {{0.0, 0.0}, {0.0, 0.0}};
        for (size_t k = 0; k < factors; k++) quad_add(&piece, weight[k][j], cell + 4 * k);
        double t = at.t[j], a = piece.low[0], b = piece.low[1], c = piece.high[0], d = piece.high[1];
        double q = a + t * (b + t * (c + t * d)), rise = b + t * (2.0 * c + t * 3.0 * d);
        sum.value += at.shape[j] * q;
        sum.slope += at.shape[j] * (at.inside[j] * rise + at.bend[j] * q);
        if (first)
            sum.first += weight[0][j] * at.shape[j] * (cell[0] + t * (cell[1] + t * (cell[2] + t * cell[3])));
    }
    return sum;
}

#endif
