/* harmonic_places.h - sums over harmonics of a smooth function, from its values at a few of them.
 *
 * A resistance factor F(k y) is smooth in the harmonic number k, so where several windings share their field
 *   sum_k F(k y) I_k^2 = sum_j F(x_j y) W_j,  W_j = sum_k l_j(k) I_k^2
 * with places x_j at 1 to 8 and then a quarter of an octave apart, and l_j the interpolation between them:
 * four places about each k, exact for k^(1/2), k, k^(3/2) and k^2, the laws of F above and below the knee.
 * The W_j serve all windings and factors. Error of the sum, for layers and round wire over d / delta 0.1 to
 * 10: 3e-5 for square waves, 1e-6 for triangles. A winding alone takes every harmonic as a place: no error.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, 25.2.1 (interpolation), in
 * the variable sqrt k; errors measured against the full sums */
#ifndef HARMONIC_PLACES_H
#define HARMONIC_PLACES_H

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#include "../lanes.h"

enum { WAVE_HARMONICS = 400, PLACES_WHOLE = 8, PLACES_SHARED = 40, PLACE_STENCIL = 4 };

/* What F is read at: u = x y / knee, as the sums below would else compute again and again. */
typedef struct harmonic_places {
    size_t n;
    double x[WAVE_HARMONICS], ln[WAVE_HARMONICS], square[WAVE_HARMONICS], steep[WAVE_HARMONICS];
} harmonic_places;

/* Harmonics k = from + 1 .. to lie between the same places. */
typedef struct harmonic_band {
    size_t from, to, first;
} harmonic_band;

typedef struct harmonic_series {
    size_t n, bands;
    double weight[WAVE_HARMONICS][PLACE_STENCIL];
    harmonic_band band[PLACES_SHARED];
    harmonic_places places;
} harmonic_series;

static inline void place_put(harmonic_places *places, size_t i, double x)
{
    places->x[i] = x;
    places->ln[i] = log(x);
    places->square[i] = x * x;
    places->steep[i] = x * sqrt(x);
}

static inline void place_add(harmonic_places *places, double x)
{
    place_put(places, places->n++, x);
}

/* The last place again, as often as the lanes ask for; nothing weighs there. */
static inline void places_pad(harmonic_places *places)
{
    for (size_t i = places->n; i < lanes_padded(places->n); i++)
        place_put(places, i, places->x[places->n - 1]);
}

/* Of F / sqrt k a polynomial of sqrt k through the places first .. first + 3. */
static inline void place_weights(const harmonic_places *places, double k, size_t first, double weight[])
{
    double root[PLACE_STENCIL], own = sqrt(k);
    for (int i = 0; i < PLACE_STENCIL; i++) root[i] = sqrt(places->x[first + (size_t)i]);
    for (int i = 0; i < PLACE_STENCIL; i++) {
        weight[i] = own / root[i];
        for (int m = 0; m < PLACE_STENCIL; m++)
            if (m != i) weight[i] *= (own - root[m]) / (root[i] - root[m]);
    }
}

static inline void series_share(harmonic_series *series)
{
    harmonic_places *places = &series->places;
    size_t above = 0, highest = series->n > PLACES_WHOLE ? series->n : PLACES_WHOLE;
    double x = 1.0;
    while (above < 2) {
        place_add(places, x);
        above += x >= (double)highest;
        x = x < PLACES_WHOLE ? x + 1.0 : ceil(1.19 * x);
    }
    size_t first = PLACES_WHOLE - 2;
    for (size_t i = PLACES_WHOLE; i < series->n; i++) {
        double k = (double)i + 1.0;
        while (places->x[first + 2] < k) first++;
        if (!series->bands || series->band[series->bands - 1].first != first)
            series->band[series->bands++] = (harmonic_band){i, i, first};
        series->band[series->bands - 1].to = i + 1;
        place_weights(places, k, first, series->weight[i]);
    }
}

/* `shared`: windings will share their field. */
static inline void harmonic_series_prepare(harmonic_series *series, double harmonics, bool shared)
{
    series->n = harmonics >= 1.0 && harmonics <= WAVE_HARMONICS ? (size_t)harmonics : 40;
    series->bands = series->places.n = 0;
    if (shared)
        series_share(series);
    else
        for (size_t i = 0; i < series->n; i++) place_add(&series->places, (double)i + 1.0);
    places_pad(&series->places);
}

/* W_j of a spectrum square[k - 1] of windings that share their field. */
WITHIN_LANES void place_sums(const harmonic_series *series, const double square[], double sum[])
{
    size_t whole = series->n < PLACES_WHOLE ? series->n : PLACES_WHOLE;
    // NOLINTNEXTLINE(clang-analyzer-core.uninitialized.Assign): the caller filled series->n squares
    for (size_t j = 0; j < whole; j++) sum[j] = square[j];
    for (size_t j = whole; j < lanes_padded(series->places.n); j++) sum[j] = 0.0;
    for (size_t b = 0; b < series->bands; b++) {
        const harmonic_band *band = &series->band[b];
        lanes part = lanes_load(sum + band->first);
        for (size_t k = band->from; k < band->to; k++) part += square[k] * lanes_load(series->weight[k]);
        lanes_store(sum + band->first, part);
    }
}

#endif
