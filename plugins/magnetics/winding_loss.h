/* winding_loss.h - loss of windings from their current waves, harmonic by harmonic.
 *
 *   P = R(T) [ mean square of the wave + sum_k (F(k f) - 1) I_k^2 / 2 ]
 * The first term is booked as winding dc: it is what the circuit sees as resistance. The sum, over the
 * harmonics that are asked for, is booked as winding ac; of it, what the field of a gap adds to that of
 * layers alone, where the window is known, as fringing. Where several windings share their field, the mean
 * square field of each harmonic comes from all currents with their phases:
 *   F I_k^2 becomes (1 + own_excess) |I_w|^2 + field sum_uv mix_uv Re(I_u conj I_v).
 * R ~ x and F depends on f / x, x = rho(T) / rho(20 degC), so
 *   dP/dT = R_20 a [ mean square + sum (F - 1 - dF/dln f) I_k^2 / 2 ].
 * source: P. L. Dowell, 1966; superposition over harmonics, linear media. docs/theory/windings.md */
#ifndef WINDING_LOSS_H
#define WINDING_LOSS_H

#include "harmonic_places.h"
#include "winding.h"

enum { MIX_PAIRS = HL_WINDINGS_MAX * (HL_WINDINGS_MAX + 1) / 2 };

/* How the windings' currents make the field at winding w: mean over its layers of the products of field per
 * ampere of u and of v <= u, in units of one ampere of w per pitch, twice where u is not v. */
typedef struct field_mix {
    bool shared;      /* false: own_excess of the tables holds everything */
    bool with_across; /* the second matrix, for the field across the layers, is there too */
    double along[HL_WINDINGS_MAX][MIX_PAIRS];
    double across[HL_WINDINGS_MAX][MIX_PAIRS];
} field_mix;

static inline size_t mix_pair(size_t u, size_t v)
{
    return u * (u + 1) / 2 + v;
}

/* Half sums over the harmonics of one winding, in A^2: excess loss and its slope, and what of it the field of
 * a gap adds. */
typedef struct excess_sum {
    double loss, slope, fringing;
} excess_sum;

WITHIN_LANES excess_sum excess_of(const table_sum *f)
{
    if (!(f->value > 0.0)) return (excess_sum){0.0, 0.0, 0.0}; /* a sum of squares, but for rounding */
    return (excess_sum){0.5 * f->value, 0.5 * (f->value - f->slope), 0.0};
}

WITHIN_LANES excess_sum excess_alone(const coil *winding, const harmonic_series *series, double y,
                                     const double square[])
{
    const double *weight[] = {square, square};
    table_sum f;
    if (!winding->fringing) {
        f = table_read(&winding->table, &series->places, y, 1, weight, false);
        return excess_of(&f);
    }
    f = table_read(&winding->table, &series->places, y, 2, weight, true);
    excess_sum sum = excess_of(&f);
    sum.fringing = fmax(sum.loss - 0.5 * f.first, 0.0);
    return sum;
}

/* One piece of a curve: value + rise u + bend u^2 + twist u^3, u from x on. */
typedef struct curve_piece {
    double x, value, rise, bend, twist;
} curve_piece;

static inline curve_piece piece_of(const hl_curve *c, size_t i)
{
    double h = c->x[i + 1] - c->x[i], secant = (c->y[i + 1] - c->y[i]) / h, left, right;
    curve_piece p = {.x = c->x[i], .value = c->y[i], .rise = secant};
    if (!c->cubic) return p;
    hl_curve_at(c, c->x[i], &left, NULL);
    hl_curve_at(c, c->x[i + 1], &right, NULL);
    p.rise = left;
    p.bend = (3.0 * secant - 2.0 * left - right) / h;
    p.twist = (left + right - 2.0 * secant) / (h * h);
    return p;
}

/* Squares of the harmonics from k + 1 on, up to the frequency `end`; k goes with them. */
static inline double squares_up_to(const harmonic_series *series, const double square[], double step,
                                   double end, size_t *k)
{
    double sum = 0.0;
    for (; *k < series->n && step * ((double)*k + 1.0) < end; ++*k) sum += square[*k];
    return sum;
}

/* Those of all that are left. */
WITHIN_LANES double squares_from(const harmonic_series *series, const double square[], size_t k)
{
    lanes four = {0.0};
    double sum = 0.0;
    for (; k + LANES <= series->n; k += LANES) four += lanes_load(square + k);
    for (; k < series->n; k++) sum += square[k];
    return sum + lanes_total(four);
}

/* By a measured curve, whose pieces are walked through as the frequency rises. Below 1, F counts as 1. Beyond
 * its ends it is held, and said so when what lies there matters: more than a thousandth of the square. */
WITHIN_LANES excess_sum excess_measured(const coil *winding, const harmonic_series *series, double y,
                                        const double square[], uint32_t *flags)
{
    const hl_curve *c = winding->measured;
    size_t n = c->n, k = 0;
    double step = y * winding->measured_ratio, loss = 0.0, slope = 0.0, inside = 0.0;
    if (n == 0) return (excess_sum){0.0, 0.0, 0.0};
    double below = n > 1 ? squares_up_to(series, square, step, c->x[0], &k) : 0.0;
    for (size_t i = 0; i + 1 < n; i++) {
        bool last = i + 2 == n;
        if (!(step * ((double)k + 1.0) <= c->x[i + 1])) continue;
        curve_piece p = piece_of(c, i);
        for (; k < series->n; k++) {
            double f = step * ((double)k + 1.0), u = f - p.x;
            if (!(last ? f <= c->x[i + 1] : f < c->x[i + 1])) break;
            double excess = p.value - 1.0 + u * (p.rise + u * (p.bend + u * p.twist));
            double rise = p.rise + u * (2.0 * p.bend + u * 3.0 * p.twist);
            inside += square[k];
            if (!(excess > 0.0)) continue;
            loss += square[k] * excess;
            slope += square[k] * (excess - f * rise);
        }
    }
    double beyond = squares_from(series, square, k);
    double held = below * fmax(c->y[0] - 1.0, 0.0) + beyond * fmax(c->y[n - 1] - 1.0, 0.0);
    if (n > 1 && below + beyond > 1e-3 * (below + inside + beyond)) *flags |= HL_OUTSIDE_CURVE;
    return (excess_sum){0.5 * (loss + held), 0.5 * (slope + held), 0.0};
}

/* Of one winding's current: value = average + sum cosine[k - 1] cos(k w t) + sine[k - 1] sin(k w t). */
typedef struct harmonics {
    double cosine[WAVE_HARMONICS], sine[WAVE_HARMONICS];
} harmonics;

/* Weighted products of every two windings' currents, Re(I_u conj I_v) for v <= u, in the order of field_mix,
 * over cycles of one frequency: loss is linear in them, so the factors are read once for all those cycles.
 * Windings that do not share their field need their squares alone. */
typedef struct current_products {
    double frequency; /* Hz; 0: no cycle yet */
    double product[MIX_PAIRS][WAVE_HARMONICS];
} current_products;

static inline void products_start(current_products *products, size_t n, const harmonic_series *series,
                                  double frequency)
{
    products->frequency = frequency;
    for (size_t p = 0; p < mix_pair(n, 0); p++)
        for (size_t k = 0; k < lanes_padded(series->n); k++) products->product[p][k] = 0.0;
}

FOUR_LANES static void products_add(current_products *products, const harmonics h[], size_t n, bool shared,
                                    const harmonic_series *series, double weight)
{
    for (size_t u = 0; u < n; u++)
        for (size_t v = shared ? 0 : u; v <= u; v++) {
            double *product = products->product[mix_pair(u, v)];
            for (size_t k = 0; k < series->n; k++)
                // NOLINTNEXTLINE(clang-analyzer-core.uninitialized.Assign): products_start filled it
                product[k] += weight * (h[u].cosine[k] * h[v].cosine[k] + h[u].sine[k] * h[v].sine[k]);
        }
}

/* The same, summed at the places. */
typedef struct place_products {
    size_t n;
    double sum[MIX_PAIRS][PLACES_SHARED];
} place_products;

/* Four places at a time, so that their sums stay at hand. */
WITHIN_LANES void mixed_squares(const double mix[], const place_products *products, size_t places,
                                double weight[])
{
    for (size_t j = 0; j < places; j += LANES) {
        lanes sum = {0.0};
        for (size_t p = 0; p < products->n; p++) sum += mix[p] * lanes_load(products->sum[p] + j);
        lanes_store(weight + j, sum);
    }
}

WITHIN_LANES excess_sum excess_shared(const coil *winding, const harmonic_series *series, double y,
                                      const place_products *products, size_t w, const field_mix *mix)
{
    double along[PLACES_SHARED], across[PLACES_SHARED];
    const double *weight[] = {products->sum[mix_pair(w, w)], along, across};
    mixed_squares(mix->along[w], products, series->places.n, along);
    if (mix->with_across) mixed_squares(mix->across[w], products, series->places.n, across);
    table_sum f = table_read(&winding->table, &series->places, y, mix->with_across ? 3 : 2, weight, false);
    return excess_of(&f);
}

static inline void add_resistive(const coil *winding, double ratio, double square, hl_loss *loss)
{
    loss->watts[HL_WINDING_DC] += winding->resistance * ratio * square;
    loss->slope += winding->resistance * winding->coefficient * square;
}

static inline void book_excess(const coil *winding, double ratio, double weight, const excess_sum *sum,
                               hl_loss *loss)
{
    double scale = weight * winding->resistance * ratio;
    loss->watts[HL_WINDING_AC] += scale * (sum->loss - sum->fringing);
    loss->watts[HL_FRINGING] += scale * sum->fringing;
    loss->slope += weight * winding->resistance * winding->coefficient * sum->slope;
}

WITHIN_LANES bool squares_equal(const double a[], const double b[], size_t n)
{
    lanes_mask other = {0};
    for (size_t k = 0; k < lanes_padded(n); k += LANES) other |= lanes_load(a + k) != lanes_load(b + k);
    return !lanes_any(&other);
}

/* Loss of the cycles in `products`. The halves of a centre tap, alike and with the same squares, are looked
 * up once. */
FOUR_LANES static void add_excess(const coil winding[], size_t n, const field_mix *mix,
                                  const harmonic_series *series, const current_products *products,
                                  double temperature, hl_loss *loss)
{
    place_products places;
    excess_sum sum[HL_WINDINGS_MAX];
    bool shared = mix && mix->shared;
    if (!(products->frequency > 0.0)) return;
    for (places.n = 0; shared && places.n < mix_pair(n, 0); places.n++)
        place_sums(series, products->product[places.n], places.sum[places.n]);
    for (size_t w = 0; w < n; w++) {
        const coil *own = &winding[w];
        const double *square = products->product[mix_pair(w, w)];
        if (!own->table.cells && !own->measured) continue;
        double ratio = copper_ratio(own->coefficient, temperature), y = products->frequency / ratio;
        if (own->measured)
            sum[w] = excess_measured(own, series, y, square, &loss->flags);
        else if (shared)
            sum[w] = excess_shared(own, series, y, &places, w, mix);
        else if (own->like &&
                 squares_equal(square, products->product[mix_pair(own->like - 1, own->like - 1)], series->n))
            sum[w] = sum[own->like - 1];
        else
            sum[w] = excess_alone(own, series, y, square);
        book_excess(own, ratio, 1.0, &sum[w], loss);
    }
}

/* Mean squares of one cycle, booked at once. */
static inline void resistive_cycle(const coil winding[], size_t n, const hl_wave *const wave[], double weight,
                                   double temperature, hl_loss *loss)
{
    double square[HL_WINDINGS_MAX];
    hl_waves_mean_square(wave, n, square);
    for (size_t w = 0; w < n; w++)
        add_resistive(&winding[w], copper_ratio(winding[w].coefficient, temperature), weight * square[w],
                      loss);
}

/* Below a kilohertz, as in a choke in the mains, wire has hardly any: common practice, no source. */
static inline bool winding_lacks_ac(const coil *winding, double frequency)
{
    return winding->wire_unknown && !winding->measured && frequency > 1e3;
}

static inline bool winding_has_excess(const coil *winding)
{
    return winding->table.cells > 0 || winding->measured;
}

/* Before one cycle more: those of another frequency are booked. */
static inline void products_turn(current_products *products, const coil winding[], size_t n,
                                 const field_mix *mix, const harmonic_series *series, double frequency,
                                 double temperature, hl_loss *loss)
{
    if (frequency == products->frequency) return;
    add_excess(winding, n, mix, series, products, temperature, loss);
    products_start(products, n, series, frequency);
}

FOUR_LANES static void squares_sum(const harmonics *h, size_t n, double square[])
{
    for (size_t k = 0; k < n; k++) square[k] = h->cosine[k] * h->cosine[k] + h->sine[k] * h->sine[k];
}

/* Mean squares of up to four waves; where `excess` is asked for, the squares of their amplitudes too. */
static inline void squares_of(const hl_wave *const wave[], size_t n, bool excess,
                              const harmonic_series *series, double mean[], double square[][WAVE_HARMONICS])
{
    harmonics h[LANES];
    if (excess && hl_triangles(wave, n, series->n, WAVE_HARMONICS, mean, square[0])) return;
    hl_waves_mean_square(wave, n, mean);
    if (!excess) return;
    hl_waves_fourier(wave, n, series->n, sizeof *h / sizeof(double), h[0].cosine, h[0].sine);
    for (size_t i = 0; i < n; i++) squares_sum(&h[i], series->n, square[i]);
}

/* Cycles of one frequency of a winding alone: `weight` times `square`, of a cycle or of the sum of several.
 */
typedef struct lone_cycles {
    double frequency, weight; /* Hz; 0: no cycle yet */
    const double *square;
    double sum[WAVE_HARMONICS];
    table_parts read; /* of those whose loss is not booked yet: it adds up before it is */
} lone_cycles;

static inline void lone_add(lone_cycles *cycles, const double square[], const harmonic_series *series,
                            double weight)
{
    for (size_t k = 0; k < lanes_padded(series->n); k++)
        cycles->sum[k] = cycles->weight * cycles->square[k] + weight * square[k];
    cycles->square = cycles->sum;
    cycles->weight = 1.0;
}

/* Whether nothing but a sum is asked for, neither what a gap adds nor flags. */
static inline bool sums_alone(const coil *winding)
{
    return !winding->measured && !winding->fringing;
}

WITHIN_LANES void lone_sum(const coil *winding, const harmonic_series *series, double y, lone_cycles *cycles)
{
    table_parts own;
    table_read_parts(&winding->table, &series->places, y, 1, &cycles->square, false, &own);
    cycles->read.value += cycles->weight * own.value;
    cycles->read.risen += cycles->weight * own.risen;
    cycles->read.damped += cycles->weight * own.damped;
}

FOUR_LANES static void lone_excess(const coil *winding, const harmonic_series *series, lone_cycles *cycles,
                                   double temperature, hl_loss *loss)
{
    double ratio = copper_ratio(winding->coefficient, temperature), y = cycles->frequency / ratio;
    excess_sum sum;
    if (!(cycles->frequency > 0.0)) return;
    if (sums_alone(winding)) {
        lone_sum(winding, series, y, cycles);
        return;
    }
    if (winding->measured)
        sum = excess_measured(winding, series, y, cycles->square, &loss->flags);
    else
        sum = excess_alone(winding, series, y, cycles->square);
    book_excess(winding, ratio, cycles->weight, &sum, loss);
}

static inline void lone_begin(lone_cycles *cycles)
{
    const lanes none = {0.0};
    cycles->frequency = 0.0;
    cycles->read = (table_parts){none, none, none, none};
}

/* The last cycles, and what has added up. */
static inline void lone_end(const coil *winding, const harmonic_series *series, lone_cycles *cycles,
                            double temperature, hl_loss *loss)
{
    lone_excess(winding, series, cycles, temperature, loss);
    if (!sums_alone(winding)) return;
    table_sum all = table_total(&winding->table, &cycles->read);
    excess_sum sum = excess_of(&all);
    book_excess(winding, copper_ratio(winding->coefficient, temperature), 1.0, &sum, loss);
}

/* Of one winding: four cycles side by side, then its loss frequency by frequency. */
static inline void winding_cycles(const coil *winding, const harmonic_series *series, const hl_stress *stress,
                                  double temperature, hl_loss *loss)
{
    const hl_wave *current = stress->winding_current[0], *wave[LANES];
    double sum = 0.0, mean[LANES], square[2 * LANES][WAVE_HARMONICS]; /* the last four keep theirs */
    bool excess = winding_has_excess(winding);
    lone_cycles cycles;
    lone_begin(&cycles);
    for (size_t i = 0; i < 2 * LANES; i++)
        for (size_t k = series->n; k < lanes_padded(series->n); k++) square[i][k] = 0.0;
    for (size_t k = 0; current && k < stress->n; k += LANES) {
        double(*own)[WAVE_HARMONICS] = square + k % (2 * LANES);
        size_t some = stress->n - k < LANES ? stress->n - k : LANES;
        for (size_t i = 0; i < some; i++) wave[i] = &current[k + i];
        squares_of(wave, some, excess, series, mean, own);
        for (size_t i = 0; i < some; i++) {
            double weight = hl_stress_at(stress->weight, k + i);
            double frequency = hl_stress_at(stress->frequency, k + i);
            sum += weight * mean[i];
            if (winding_lacks_ac(winding, frequency)) loss->flags |= HL_AC_LEFT_OUT;
            if (!excess || !(frequency > 0.0)) continue;
            if (frequency == cycles.frequency) {
                lone_add(&cycles, own[i], series, weight);
                continue;
            }
            lone_excess(winding, series, &cycles, temperature, loss);
            cycles.frequency = frequency;
            cycles.weight = weight;
            cycles.square = own[i];
        }
    }
    add_resistive(winding, copper_ratio(winding->coefficient, temperature), sum, loss);
    lone_end(winding, series, &cycles, temperature, loss);
}

/* Of several, cycle by cycle. */
static inline void windings_cycles(const coil winding[], size_t n, const field_mix *mix,
                                   const harmonic_series *series, const hl_stress *stress, double temperature,
                                   hl_loss *loss)
{
    bool needed = false;
    current_products products;
    products.frequency = 0.0;
    for (size_t w = 0; w < n; w++) needed |= winding_has_excess(&winding[w]);
    for (size_t k = 0; k < stress->n; k++) {
        const hl_wave *wave[HL_WINDINGS_MAX];
        double weight = hl_stress_at(stress->weight, k), frequency = hl_stress_at(stress->frequency, k);
        for (size_t w = 0; w < n; w++)
            wave[w] = stress->winding_current[w] ? &stress->winding_current[w][k] : NULL;
        resistive_cycle(winding, n, wave, weight, temperature, loss);
        for (size_t w = 0; w < n; w++)
            if (wave[w] && winding_lacks_ac(&winding[w], frequency)) loss->flags |= HL_AC_LEFT_OUT;
        if (!needed || !(frequency > 0.0)) continue;
        harmonics h[HL_WINDINGS_MAX];
        hl_waves_fourier(wave, n, series->n, sizeof *h / sizeof(double), h[0].cosine, h[0].sine);
        products_turn(&products, winding, n, mix, series, frequency, temperature, loss);
        products_add(&products, h, n, mix && mix->shared, series, weight);
    }
    add_excess(winding, n, mix, series, &products, temperature, loss);
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
        if (seen == 1 && !(mix && mix->shared))
            winding_cycles(winding, series, stress, temperature, loss);
        else
            windings_cycles(winding, seen, mix, series, stress, temperature, loss);
        return;
    }
    double square = stress->total_rms * stress->total_rms;
    for (size_t w = 0; w < (all ? n : 1); w++)
        add_resistive(&winding[w], copper_ratio(winding[w].coefficient, temperature), square, loss);
}

#endif
