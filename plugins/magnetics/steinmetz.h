/* steinmetz.h - core loss of any flux waveform from a sine-wave fit.
 *
 * The fit P = k f^alpha B^beta (f in Hz, B = peak of the sine in T, P in W/m^3) becomes
 *   P = ki mean(|dB/dt|^alpha) (peak-to-peak B)^(beta - alpha),
 *   ki = k / ((2 pi)^(alpha - 1) 2^(beta - alpha) integral_0^2pi |cos x|^alpha dx),
 * the integral being 2 sqrt(pi) Gamma((alpha + 1) / 2) / Gamma(alpha / 2 + 1). Minor loops are taken out and
 * summed with their own peak-to-peak flux. Valid where the fit is (frequency and flux range are checked), for
 * unbiased flux, and without relaxation at constant flux.
 * source: K. Venkatachalam, C. R. Sullivan, T. Abdallah, H. Tacca, IEEE Workshop on Computers in Power
 * Electronics, 2002, pp. 36-41, eq. 8-11 and the splitting of section IV (equation numbers from memory) */
#ifndef STEINMETZ_H
#define STEINMETZ_H

#include <math.h>

#include "../lanes.h"
#include "heatledger/plugin.h"
#include "loss_table.h"

typedef struct steinmetz {
    double alpha, beta, ki;
} steinmetz;

/* tgamma, since lgamma keeps a sign in a global that threads would share. */
static inline double steinmetz_ki(double k, double alpha, double beta)
{
    const double pi = 3.14159265358979324;
    double integral = 2.0 * sqrt(pi) * tgamma(0.5 * alpha + 0.5) / tgamma(0.5 * alpha + 1.0);
    return k / (pow(2.0 * pi, alpha - 1.0) * pow(2.0, beta - alpha) * integral);
}

static inline bool steinmetz_straight(const hl_segment *s)
{
    return s->cosine == 0.0 && s->sine == 0.0;
}

/* ------------------------------------------------------------ minor loops -- */

/* A piece in which the flux moves one way: straight voltage of one sign. */
typedef struct flux_piece {
    double v0, slope, duration; /* V, V/s, s */
    double rise;                /* V s, signed */
} flux_piece;

enum { FLUX_PIECES = 64 };

static inline double piece_rise(double v0, double slope, double duration)
{
    return duration * (v0 + 0.5 * slope * duration);
}

/* Pieces of a wave of straight segments; 0 when it has others, or too many. `turns` = changes of direction,
 * pieces of no rise left out. */
static inline size_t flux_pieces(const hl_wave *wave, flux_piece piece[], size_t *turns)
{
    size_t n = 0;
    double before = 0.0, first = 0.0;
    *turns = 0;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!(s->duration > 0.0)) continue;
        if (!steinmetz_straight(s)) return 0;
        double cut = s->slope != 0.0 ? -s->offset / s->slope : 0.0, from = 0.0;
        for (int part = 0; part < 2; part++) {
            bool crosses = part == 0 && cut > 0.0 && cut < s->duration;
            double to = crosses ? cut : s->duration, v0 = s->offset + s->slope * from;
            double rise = piece_rise(v0, s->slope, to - from);
            if (rise != 0.0) {
                if (n == FLUX_PIECES) return 0;
                piece[n++] = (flux_piece){v0, s->slope, to - from, rise};
                *turns += before * rise < 0.0;
                if (first == 0.0) first = rise;
                before = rise;
            }
            if (!crosses) break;
            from = to;
        }
    }
    *turns += before * first < 0.0;
    return n;
}

/* integral of |v|^p over a piece of one sign, in units of *large^p, the power of its largest value */
static inline double piece_shape(const flux_piece *piece, double p, double *large)
{
    double v0 = fabs(piece->v0), v1 = fabs(piece->v0 + piece->slope * piece->duration);
    *large = v0 > v1 ? v0 : v1;
    if (!(*large > 0.0)) return 0.0;
    double r = ((v0 > v1 ? v1 : v0) - *large) / *large; /* -1 .. 0 */
    return r > -1e-12 ? piece->duration : piece->duration * expm1((p + 1.0) * log1p(r)) / ((p + 1.0) * r);
}

static inline double piece_power(const flux_piece *piece, double p)
{
    double large, shape = piece_shape(piece, p, &large);
    return large > 0.0 ? pow(large, p) * shape : 0.0;
}

/* Cut `piece` where it has risen by `rise` (same sign, no larger): *head before, the rest stays. */
static inline void piece_cut(flux_piece *piece, double rise, flux_piece *head)
{
    double v0 = piece->v0, s = piece->slope;
    double root = sqrt(fmax(v0 * v0 + 2.0 * s * rise, 0.0)), sum = fabs(v0) + root;
    double t = sum > 0.0 ? fmin(2.0 * fabs(rise) / sum, piece->duration) : piece->duration;
    *head = (flux_piece){v0, s, t, rise};
    *piece = (flux_piece){v0 + s * t, s, piece->duration - t, piece->rise - rise};
}

/* Loss sums are over (integral of |v|^alpha over a loop) size(swing of the loop). */
typedef struct flux_law {
    double alpha, excess; /* size = swing^excess, excess = beta - alpha; or, with a table: */
    const loss_table *table;
    double flux_per_linkage; /* T per V s */
} flux_law;

/* With a table size = P(B) / B^alpha, B half the swing in T: beta = alpha with a factor of its own for every
 * flux, so that a sine at the table's frequency loses what the table says. */
static inline double flux_size(const flux_law *law, double swing)
{
    if (!law->table) return pow(swing, law->excess);
    double flux = 0.5 * swing * law->flux_per_linkage;
    return flux > 0.0 ? loss_table_at(law->table, flux) * pow(flux, -law->alpha) : 0.0;
}

static inline double flux_loop(flux_piece piece[], size_t n, const flux_law *law);

/* The part of a loop between its extremes, flux moving along `way` (+1 or -1). What goes further than ever
 * before belongs to the loop, *power; an excursion back until the old extreme is reached again is a loop of
 * its own. Returns what the excursions add. */
static inline double flux_trend(flux_piece piece[], size_t n, double way, const flux_law *law, double *power)
{
    double minor = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (piece[i].rise * way > 0.0) {
            *power += piece_power(&piece[i], law->alpha);
            continue;
        }
        double behind = -piece[i].rise * way;
        size_t j = i + 1;
        while (j < n && piece[j].rise * way < behind) behind -= piece[j++].rise * way;
        if (j == n) { /* never came back but for rounding */
            minor += flux_loop(piece + i, n - i, law);
            break;
        }
        flux_piece rest = piece[j];
        piece_cut(&rest, behind * way, &piece[j]);
        minor += flux_loop(piece + i, j + 1 - i, law);
        piece[j] = rest;
        i = j - 1; /* the rest goes on from the old extreme */
        if (!(rest.rise * way > 0.0)) i = j;
    }
    return minor;
}

/* A stretch that starts at one of its extremes and comes back to it. */
static inline double flux_loop(flux_piece piece[], size_t n, const flux_law *law)
{
    double flux = 0.0, swing = 0.0, power = 0.0;
    size_t far = 0;
    for (size_t i = 0; i < n; i++) {
        flux += piece[i].rise;
        if (fabs(flux) > fabs(swing)) {
            swing = flux;
            far = i + 1;
        }
    }
    if (far == 0) return 0.0;
    double way = swing > 0.0 ? 1.0 : -1.0;
    double sum = flux_trend(piece, far, way, law, &power);
    sum += flux_trend(piece + far, n - far, -way, law, &power);
    return sum + power * flux_size(law, fabs(swing));
}

/* Turn the period so that it starts where the flux is lowest. */
static inline void flux_start_lowest(flux_piece piece[], size_t n)
{
    flux_piece turned[FLUX_PIECES];
    double flux = 0.0, lowest = 0.0;
    size_t start = 0;
    for (size_t i = 0; i + 1 < n; i++) {
        flux += piece[i].rise;
        if (flux < lowest) {
            lowest = flux;
            start = i + 1;
        }
    }
    for (size_t i = 0; i < n; i++) turned[i] = piece[(start + i) % n];
    for (size_t i = 0; i < n; i++) piece[i] = turned[i];
}

/* Loss of a period that is one loop, times its length: all powers at once. */
static inline double flux_one_loop(const flux_piece piece[], size_t n, const flux_law *law, double swing)
{
    double base[FLUX_PIECES + 1], exponent[FLUX_PIECES + 1], shape[FLUX_PIECES], power[FLUX_PIECES + 1];
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        shape[i] = piece_shape(&piece[i], law->alpha, &base[i]);
        exponent[i] = law->alpha;
    }
    base[n] = swing;
    exponent[n] = law->excess;
    hl_powers(base, exponent, law->table ? n : n + 1, power);
    for (size_t i = 0; i < n; i++) sum += power[i] * shape[i];
    return sum * (law->table ? flux_size(law, swing) : power[n]);
}

/* Loss of one cycle over that of ki = 1 and B = flux linkage: mean of |v|^alpha times size(swing), summed
 * over its loops. *swing = flux linkage from peak to peak, V s. */
static inline double flux_cycle(const hl_wave *voltage, const flux_law *law, double *swing)
{
    flux_piece piece[FLUX_PIECES];
    size_t turns, n = flux_pieces(voltage, piece, &turns);
    if (n == 0) {
        double mean = hl_wave_power_swing(voltage, law->alpha, swing);
        return *swing > 0.0 ? mean * flux_size(law, *swing) : 0.0;
    }
    double flux = 0.0, highest = 0.0, lowest = 0.0, period = hl_wave_period(voltage);
    for (size_t i = 0; i < n; i++) {
        flux += piece[i].rise;
        highest = flux > highest ? flux : highest;
        lowest = flux < lowest ? flux : lowest;
    }
    *swing = highest - lowest;
    if (!(*swing > 0.0)) return 0.0;
    if (turns > 2) {
        flux_start_lowest(piece, n);
        return flux_loop(piece, n, law) / period;
    }
    return flux_one_loop(piece, n, law, *swing) / period;
}

/* ------------------------------------------------------------- four cycles -- */

enum { PULSES = 3 };

/* Four cycles of up to three pieces of level voltage each, as a boost inductor has them. Flux that moves in
 * three pieces turns no more than twice, so each cycle is one loop. */
typedef struct flux_pulses {
    size_t n;                                                    /* pieces in which flux moves */
    double base[PULSES + 1][LANES], exponent[PULSES + 1][LANES]; /* theirs, and after them the swing's */
    double duration[PULSES][LANES], period[LANES], swing[LANES];
} flux_pulses;

/* A size to be raised to a power, or one in place of nothing. */
WITHIN_LANES void pulses_put(flux_pulses *all, const lanes *size, const lanes_mask *some, double exponent)
{
    const lanes one = {1.0, 1.0, 1.0, 1.0};
    lanes base;
    lanes_choose(some, size, &one, &base);
    lanes_store(all->base[all->n], base);
    lanes_store(all->exponent[all->n], exponent * one);
}

/* false: one of them is of another kind. */
FOUR_LANES static bool pulses_take(const hl_wave wave[], const flux_law *law, flux_pulses *all)
{
    const lanes none = {0.0};
    lanes period = none, flux = none, highest = none, deepest = none, size, least;
    lanes_mask some;
    size_t n = wave[0].n;
    if (n > PULSES || wave[1].n != n || wave[2].n != n || wave[3].n != n) return false;
    all->n = 0;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s[LANES] = {wave[0].segment + i, wave[1].segment + i, wave[2].segment + i,
                                      wave[3].segment + i};
        lanes duration = lanes_of(s, duration), level = lanes_of(s, offset);
        lanes_mask other = ~(duration > none) | (lanes_of(s, slope) != none);
        other |= (lanes_of(s, cosine) != none) | (lanes_of(s, sine) != none);
        if (lanes_any(&other)) return false;
        period += duration;
        some = level != none;
        if (!lanes_any(&some)) continue;
        flux += duration * level;
        least = -flux;
        lanes_larger(&flux, &highest, &highest);
        lanes_larger(&least, &deepest, &deepest);
        least = -level;
        lanes_larger(&level, &least, &size);
        pulses_put(all, &size, &some, law->alpha);
        lanes_choose(&some, &duration, &none, &size);
        lanes_store(all->duration[all->n++], size);
    }
    size = highest + deepest;
    some = size > none;
    pulses_put(all, &size, &some, law->excess);
    lanes_store(all->swing, size);
    lanes_store(all->period, period);
    return true;
}

static inline void pulses_loss(const flux_pulses *all, const flux_law *law, double loss[], double swing[])
{
    double power[PULSES + 1][LANES];
    hl_powers(all->base[0], all->exponent[0], LANES * (all->n + !law->table), power[0]);
    for (size_t w = 0; w < LANES; w++) {
        double sum = 0.0;
        for (size_t i = 0; i < all->n; i++) sum += power[i][w] * all->duration[i][w];
        swing[w] = all->swing[w];
        loss[w] = sum * (law->table ? flux_size(law, swing[w]) : power[all->n][w]) / all->period[w];
    }
}

/* flux_cycle of up to four cycles. */
static inline void flux_cycles(const hl_wave voltage[], size_t n, const flux_law *law, double loss[],
                               double swing[])
{
    flux_pulses all;
    if (n == LANES && pulses_take(voltage, law, &all))
        pulses_loss(&all, law, loss, swing);
    else
        for (size_t i = 0; i < n; i++) loss[i] = flux_cycle(&voltage[i], law, &swing[i]);
}

static inline double steinmetz_cycle(const hl_wave *voltage, double alpha, double beta, double *swing)
{
    flux_law law = {.alpha = alpha, .excess = beta - alpha};
    return flux_cycle(voltage, &law, swing);
}

#endif
