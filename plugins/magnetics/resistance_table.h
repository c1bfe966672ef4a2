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
    double cell[TABLE_FACTORS][TABLE_CELLS][4];
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
        if (!isfinite(node[0][i]) || !isfinite(node[1][i]) || !isfinite(node[2][i])) {
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
            double *cell = table->cell[k][i];
            cell[0] = v[i];
            cell[1] = slope[0];
            cell[2] = 3.0 * rise - 2.0 * slope[0] - slope[1];
            cell[3] = slope[0] + slope[1] - 2.0 * rise;
        }
    return true;
}

/* A sum of factors, and its derivative by ln y; and, when asked for, the first factor's share. */
typedef struct table_sum {
    double value, slope, first;
} table_sum;

/* Where four places lie in the table, and s(u) there. */
typedef struct table_places {
    lanes_whole cell;  /* its first number, counted from those of its factor */
    lanes t, inside;   /* inside: 0 beyond the ends, where the end holds */
    lanes shape, damp; /* ln s(u) rises by 0.5 + 1.5 damp per ln u */
} table_places;

/* A frequency, as all places need it. */
typedef struct table_row {
    double square, steep, start, unit, last;
} table_row;

/* No further than the ends of the table: which cell, and where in it. */
WITHIN_LANES void table_hold(const table_row *row, const lanes *place, lanes *low, table_places *at)
{
    const lanes none = {0.0}, one = none + 1.0;
    lanes held = *place, end = none + row->last, most = end + 1.0;
    lanes_mask below = held < none;
    lanes_choose(&below, &none, &held, &held);
    lanes_mask above = held > most;
    lanes_choose(&above, &most, &held, &held);
    above = held > end;
    lanes_choose(&above, &end, &held, low);
    lanes_mask same = held == *place;
    lanes_choose(&same, &one, &none, &at->inside);
    at->t = held;
}

WITHIN_LANES void table_find(const table_row *row, const harmonic_places *places, size_t j, bool within,
                             table_places *at)
{
    at->t = row->start + lanes_load(places->ln + j) * row->unit;
    lanes low = at->t, place = low;
    if (!within) table_hold(row, &place, &low, at);
    lanes_whole cell = __builtin_convertvector(low, lanes_whole);
    at->t -= __builtin_convertvector(cell, lanes);
    at->cell = cell * LANES;
    at->damp = 1.0 / (1.0 + row->steep * lanes_load(places->steep + j));
    at->shape = row->square * lanes_load(places->square + j) * at->damp;
}

/* Four pieces of the table times s(u), each the sum of its factors times their weights: *scale times it. */
WITHIN_LANES void table_pieces(const resistance_table *table, const table_places *at, size_t factors,
                               const double *const weight[], size_t j, lanes piece[LANES], lanes *scale)
{
    for (int i = 0; i < LANES; i++) {
        unsigned cell = (unsigned)at->cell[i]; /* none is below zero */
        piece[i] = lanes_load(table->cell[0][0] + cell);
        if (factors > 1) piece[i] *= weight[0][j + (size_t)i];
        for (size_t k = 1; k < factors; k++)
            piece[i] += weight[k][j + (size_t)i] * lanes_load(table->cell[k][0] + cell);
    }
    lanes_turned(piece); /* coefficients of four places become four coefficients of all places */
    *scale = at->shape;
    if (factors == 1) *scale *= lanes_load(weight[0] + j);
}

/* Value of the cubic pieces, and their rise by t when asked for. */
WITHIN_LANES void table_cubic(const lanes piece[LANES], const lanes *t, lanes *value, lanes *rise)
{
    lanes third = *t * piece[3], second = piece[2] + third, first = piece[1] + *t * second;
    *value = piece[0] + *t * first;
    if (rise) *rise = first + *t * (second + third);
}

/* What the places add up to so far, in four parts each: the value, its rise by the place in the table, its
 * share that goes as damp, the first factor's. */
typedef struct table_parts {
    lanes value, risen, damped, first;
} table_parts;

WITHIN_LANES void table_places_sum(const resistance_table *table, const harmonic_places *places,
                                   const table_row *row, bool within, size_t factors,
                                   const double *const weight[], bool first, table_parts *parts)
{
    lanes value = {0.0}, risen = {0.0}, damped = {0.0}, one = {0.0};
    for (size_t j = 0; j < places->n; j += LANES) {
        table_places at;
        lanes piece[LANES], scale, own, rise;
        table_find(row, places, j, within, &at);
        table_pieces(table, &at, factors, weight, j, piece, &scale);
        table_cubic(piece, &at.t, &own, &rise);
        own *= scale;
        rise *= scale;
        value += own;
        if (!within) rise *= at.inside;
        risen += rise;
        damped += at.damp * own;
        if (!first) continue;
        table_pieces(table, &at, 1, weight, j, piece, &scale);
        table_cubic(piece, &at.t, &own, NULL);
        one += scale * own;
    }
    *parts = (table_parts){value, risen, damped, one};
}

/* sum over the places x_j and the factors i of weight[i][j] F_i(x_j y); weights are padded with zeros */
WITHIN_LANES void table_read_parts(const resistance_table *table, const harmonic_places *places, double y,
                                   size_t factors, const double *const weight[], bool first,
                                   table_parts *parts)
{
    double u = y / table->knee;
    table_row row = {.square = u * u,
                     .steep = u * sqrt(u),
                     .start = (log(y) - table->ln_first) * table->cells_per_unit,
                     .unit = table->cells_per_unit,
                     .last = table->cells - 1};
    double end = row.start + places->ln[places->n - 1] * row.unit; /* places rise */
    if (row.start >= 0.0 && end <= row.last)
        table_places_sum(table, places, &row, true, factors, weight, first, parts);
    else
        table_places_sum(table, places, &row, false, factors, weight, first, parts);
}

WITHIN_LANES table_sum table_total(const resistance_table *table, const table_parts *parts)
{
    double sum = lanes_total(parts->value);
    double slope =
        table->cells_per_unit * lanes_total(parts->risen) + 0.5 * sum + 1.5 * lanes_total(parts->damped);
    return (table_sum){sum, slope, lanes_total(parts->first)};
}

WITHIN_LANES table_sum table_read(const resistance_table *table, const harmonic_places *places, double y,
                                  size_t factors, const double *const weight[], bool first)
{
    table_parts parts;
    table_read_parts(table, places, y, factors, weight, first, &parts);
    return table_total(table, &parts);
}

#endif
