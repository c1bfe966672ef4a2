/* winding_loss.h - loss of windings from their current waves, harmonic by harmonic.
 *
 *   P = R(T) [ mean square of the wave + sum_k (F(k f) - 1) I_k^2 / 2 ]
 * The first term is booked as winding dc: it is what the circuit sees as resistance. The sum, booked as
 * winding ac, runs over the harmonics that are asked for. Where several windings share their field, the mean
 * square field of each harmonic comes from all currents with their phases:
 *   F I_k^2 becomes (1 + own_excess) |I_w|^2 + field sum_uv mix_uv Re(I_u conj I_v).
 * R ~ x and F depends on f / x, x = rho(T) / rho(20 degC), so
 *   dP/dT = R_20 a [ mean square + sum (F - 1 - dF/dln f) I_k^2 / 2 ].
 * source: P. L. Dowell, 1966; superposition over harmonics, linear media. docs/theory/windings.md */
#ifndef WINDING_LOSS_H
#define WINDING_LOSS_H

#include "straight_harmonics.h"
#include "winding.h"

enum { WAVE_HARMONICS = 400 };

/* How the windings' currents make the field at winding w: mean over its layers of the products of field per
 * ampere of u and of v, in units of one ampere of w per pitch. */
typedef struct field_mix {
    bool shared;      /* false: own_excess of the tables holds everything */
    bool with_across; /* the second matrix, for the field across the layers, is there too */
    double along[HL_WINDINGS_MAX][HL_WINDINGS_MAX][HL_WINDINGS_MAX];
    double across[HL_WINDINGS_MAX][HL_WINDINGS_MAX][HL_WINDINGS_MAX];
} field_mix;

/* Of the harmonic number k: what the sums below would else compute again and again. */
typedef struct harmonic_series {
    size_t n;
    double ln[WAVE_HARMONICS], inverse[WAVE_HARMONICS], square[WAVE_HARMONICS], steep[WAVE_HARMONICS];
} harmonic_series;

static inline void harmonic_series_prepare(harmonic_series *series, double harmonics)
{
    series->n = harmonics >= 1.0 && harmonics <= WAVE_HARMONICS ? (size_t)harmonics : 40;
    for (size_t i = 0; i < series->n; i++) {
        double k = (double)i + 1.0;
        series->ln[i] = log(k);
        series->inverse[i] = 1.0 / k;
        series->square[i] = k * k;
        series->steep[i] = k * sqrt(k);
    }
}

typedef struct harmonics {
    double cosine[WAVE_HARMONICS], sine[WAVE_HARMONICS];
} harmonics;

static inline void harmonics_of(const hl_wave *wave, const harmonic_series *series, harmonics *h)
{
    if (wave && wave->n) {
        if (!straight_harmonics(wave, series->n, series->inverse, h->cosine, h->sine))
            hl_wave_fourier(wave, series->n, h->cosine, h->sine);
        return;
    }
    for (size_t k = 0; k < series->n; k++) h->cosine[k] = h->sine[k] = 0.0;
}

/* y of the fundamental in the table's terms. */
typedef struct table_start {
    double ln_y, square, steep; /* ln y, u^2, u^(3/2) */
} table_start;

static inline table_start table_start_of(const resistance_table *table, double y)
{
    double u = y / table->knee;
    return (table_start){log(y), u * u, u * sqrt(u)};
}

static inline void table_read_harmonic(const resistance_table *table, const table_start *start,
                                       const harmonic_series *series, size_t k, int factors,
                                       table_reading *reading)
{
    table_read(table, start->square * series->square[k], start->steep * series->steep[k],
               start->ln_y + series->ln[k], factors, reading);
}

/* Half sums over the harmonics of one winding: excess loss and its slope, both in A^2. */
typedef struct excess_sum {
    double loss, slope;
} excess_sum;

static inline excess_sum excess_alone(const coil *winding, const harmonic_series *series, double y,
                                      const harmonics *h)
{
    excess_sum sum = {0.0, 0.0};
    table_start start = table_start_of(&winding->table, y);
    for (size_t k = 0; k < series->n; k++) {
        double square = h->cosine[k] * h->cosine[k] + h->sine[k] * h->sine[k];
        table_reading f;
        table_read_harmonic(&winding->table, &start, series, k, 1, &f);
        sum.loss += square * f.value[0];
        sum.slope += square * (f.value[0] - f.slope[0]);
    }
    return (excess_sum){0.5 * sum.loss, 0.5 * sum.slope};
}

/* By a measured curve. Beyond its ends F is held, and said so when what lies there matters: more than a
 * thousandth of the square. */
static inline excess_sum excess_measured(const coil *winding, const harmonic_series *series, double y,
                                         const harmonics *h, uint32_t *flags)
{
    excess_sum sum = {0.0, 0.0};
    double all = 0.0, beyond = 0.0;
    for (size_t k = 0; k < series->n; k++) {
        double square = h->cosine[k] * h->cosine[k] + h->sine[k] * h->sine[k], slope;
        double f = y * winding->measured_ratio * ((double)k + 1.0);
        bool outside = false;
        double excess = hl_curve_at(winding->measured, f, &slope, &outside) - 1.0;
        if (!(excess > 0.0)) excess = slope = 0.0;
        sum.loss += square * excess;
        sum.slope += square * (excess - f * slope);
        all += square;
        if (outside) beyond += square;
    }
    if (beyond > 1e-3 * all) *flags |= HL_OUTSIDE_CURVE;
    return (excess_sum){0.5 * sum.loss, 0.5 * sum.slope};
}

static inline double mixed_square(const double mix[HL_WINDINGS_MAX][HL_WINDINGS_MAX], size_t n,
                                  const harmonics h[], size_t k)
{
    double sum = 0.0;
    for (size_t u = 0; u < n; u++)
        for (size_t v = 0; v <= u; v++) {
            double product = h[u].cosine[k] * h[v].cosine[k] + h[u].sine[k] * h[v].sine[k];
            sum += (u == v ? 1.0 : 2.0) * mix[u][v] * product;
        }
    return fmax(sum, 0.0); /* a mean square, but for rounding */
}

static inline excess_sum excess_shared(const coil *winding, const harmonic_series *series, double y,
                                       const harmonics h[], size_t n, size_t w, const field_mix *mix)
{
    excess_sum sum = {0.0, 0.0};
    table_start start = table_start_of(&winding->table, y);
    int factors = mix->with_across ? 3 : 2;
    for (size_t k = 0; k < series->n; k++) {
        double square[3] = {h[w].cosine[k] * h[w].cosine[k] + h[w].sine[k] * h[w].sine[k],
                            mixed_square(mix->along[w], n, h, k), 0.0};
        if (mix->with_across) square[2] = mixed_square(mix->across[w], n, h, k);
        table_reading f;
        table_read_harmonic(&winding->table, &start, series, k, factors, &f);
        for (int i = 0; i < factors; i++) {
            sum.loss += square[i] * f.value[i];
            sum.slope += square[i] * (f.value[i] - f.slope[i]);
        }
    }
    return (excess_sum){0.5 * sum.loss, 0.5 * sum.slope};
}

static inline void add_resistive(const coil *winding, double ratio, double square, hl_loss *loss)
{
    loss->watts[HL_WINDING_DC] += winding->resistance * ratio * square;
    loss->slope += winding->resistance * winding->coefficient * square;
}

static inline void windings_cycle(const coil winding[], size_t n, const field_mix *mix,
                                  const harmonic_series *series, const hl_stress *stress, size_t k,
                                  double temperature, hl_loss *loss)
{
    harmonics h[HL_WINDINGS_MAX];
    bool needed = false;
    for (size_t w = 0; w < n; w++) needed |= winding[w].table.cells > 0 || winding[w].measured;
    double weight = hl_stress_at(stress->weight, k), frequency = hl_stress_at(stress->frequency, k);
    for (size_t w = 0; w < n; w++) {
        const hl_wave *wave = stress->winding_current[w] ? &stress->winding_current[w][k] : NULL;
        double ratio = copper_ratio(winding[w].coefficient, temperature);
        if (wave) add_resistive(&winding[w], ratio, weight * hl_wave_mean_square(wave), loss);
        if (needed) harmonics_of(wave, series, &h[w]);
    }
    if (!needed || !(frequency > 0.0)) return;
    for (size_t w = 0; w < n; w++) {
        const coil *own = &winding[w];
        if (!own->table.cells && !own->measured) continue;
        double y = frequency / copper_ratio(own->coefficient, temperature);
        excess_sum sum;
        if (own->measured)
            sum = excess_measured(own, series, y, &h[w], &loss->flags);
        else if (mix && mix->shared)
            sum = excess_shared(own, series, y, h, n, w, mix);
        else
            sum = excess_alone(own, series, y, &h[w]);
        double ratio = copper_ratio(own->coefficient, temperature);
        loss->watts[HL_WINDING_AC] += weight * own->resistance * ratio * sum.loss;
        loss->slope += weight * own->resistance * own->coefficient * sum.slope;
    }
}

/* Loss of all windings. Without waves the total rms of the stress flows in winding 0 (`all`: in each). */
static inline void windings_loss(const coil winding[], size_t n, const field_mix *mix,
                                 const harmonic_series *series, bool all, const hl_stress *stress,
                                 double temperature, hl_loss *loss)
{
    size_t seen = stress->windings < n ? stress->windings : n;
    for (size_t w = 0; w < n; w++)
        if (winding[w].rough) loss->flags |= HL_FALLBACK;
    if (stress->n > 0 && seen > 0) {
        for (size_t k = 0; k < stress->n; k++)
            windings_cycle(winding, seen, mix, series, stress, k, temperature, loss);
        return;
    }
    double square = stress->total_rms * stress->total_rms;
    for (size_t w = 0; w < (all ? n : 1); w++)
        add_resistive(&winding[w], copper_ratio(winding[w].coefficient, temperature), square, loss);
}

#endif
