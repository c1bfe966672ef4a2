/* straight_harmonics.h - harmonics of a wave of straight lines, from its corners alone.
 *
 * Integrating by parts twice leaves the jumps J and the changes of slope S at the corners t_b:
 *   c_k = (2 / P) sum_b e^(-j k w t_b) [ J_b / (j k w) - S_b / (k w)^2 ],  value = sum Re(c_k e^(j k w t))
 * A tenth of the work of integrating each piece; the powers of e^(-j w t_b) come in blocks, so that the inner
 * loop has no chain. A piece shorter than 1e-6 of the period is taken as a jump in its middle (error below
 * 1e-7 of that jump up to harmonic 400), since its slope would lose digits.
 * source: A. Papoulis, The Fourier Integral and its Applications, 1962, ch. 4 (corners and decay) */
#ifndef STRAIGHT_HARMONICS_H
#define STRAIGHT_HARMONICS_H

#include <math.h>

#include "heatledger/plugin.h"

enum { CORNERS = 48, HARMONIC_BLOCK = 8, CORNER_HARMONICS = 400 };
static const double shortest_piece = 1e-6;

typedef struct wave_corner {
    double angle;       /* w t_b */
    double jump, slope; /* change of value, and of slope per radian */
} wave_corner;

typedef struct corner_list {
    wave_corner corner[CORNERS];
    size_t n;
} corner_list;

static inline void corner_add(corner_list *list, double angle, double jump, double slope)
{
    if (jump != 0.0 || slope != 0.0) list->corner[list->n++] = (wave_corner){angle, jump, slope};
}

/* false: the wave has other pieces, too many, or no duration. */
static inline bool corners_of(const hl_wave *wave, corner_list *list)
{
    double period = 0.0, t = 0.0, value = 0.0, slope = 0.0;
    list->n = 0;
    if (wave->n > CORNERS - 1) return false;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!(s->duration > 0.0)) continue;
        if (s->cosine != 0.0 || s->sine != 0.0) return false;
        period += s->duration;
        value = s->offset + s->slope * s->duration; /* of the last piece: what the first follows */
        slope = s->slope;
    }
    if (!(period > 0.0) || !isfinite(period)) return false;
    double w = 6.28318530717958648 / period, wait = 0.0;
    bool last_short = false;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!(s->duration > 0.0)) continue;
        if (s->duration < shortest_piece * period) {
            wait = w * (t + 0.5 * s->duration);
            last_short = true;
        } else {
            double angle = last_short ? wait : w * t;
            corner_add(list, angle, s->offset - value, (s->slope - slope) / w);
            value = s->offset + s->slope * s->duration;
            slope = s->slope;
            last_short = false;
        }
        t += s->duration;
    }
    return !last_short; /* a short piece at the very end would belong to the corner at 0 */
}

/* Sums over the corners of J e^(-j k w t) and of S e^(-j k w t). */
typedef struct corner_sums {
    double jump_re[CORNER_HARMONICS], jump_im[CORNER_HARMONICS];
    double slope_re[CORNER_HARMONICS], slope_im[CORNER_HARMONICS];
} corner_sums;

/* Powers 1 .. HARMONIC_BLOCK of e^(-j angle). */
static inline void corner_powers(double angle, double re[], double im[])
{
    re[0] = cos(angle);
    im[0] = -sin(angle);
    for (int l = 1; l < HARMONIC_BLOCK; l++) {
        int a = (l - 1) / 2, b = l - 1 - a; /* powers a + 1 and b + 1 give l + 1 */
        re[l] = re[a] * re[b] - im[a] * im[b];
        im[l] = re[a] * im[b] + im[a] * re[b];
    }
}

/* sums[k] += size e^(-j k angle) for k = 1 .. n, n whole blocks */
static inline void corner_turn(const double power_re[], const double power_im[], double size, size_t n,
                               double sum_re[], double sum_im[])
{
    double block_re = power_re[HARMONIC_BLOCK - 1], block_im = power_im[HARMONIC_BLOCK - 1];
    double base_re = size, base_im = 0.0;
    for (size_t m = 0; m < n; m += HARMONIC_BLOCK) {
        for (int l = 0; l < HARMONIC_BLOCK; l++) {
            sum_re[m + l] += base_re * power_re[l] - base_im * power_im[l];
            sum_im[m + l] += base_re * power_im[l] + base_im * power_re[l];
        }
        double next = base_re * block_re - base_im * block_im;
        base_im = base_re * block_im + base_im * block_re;
        base_re = next;
    }
}

static inline void corner_harmonics(const wave_corner *c, size_t n, corner_sums *sums)
{
    if (c->angle == 0.0) { /* every wave has a corner there */
        for (size_t k = 0; k < n; k++) {
            sums->jump_re[k] += c->jump;
            sums->slope_re[k] += c->slope;
        }
        return;
    }
    double power_re[HARMONIC_BLOCK], power_im[HARMONIC_BLOCK];
    corner_powers(c->angle, power_re, power_im);
    if (c->jump != 0.0) corner_turn(power_re, power_im, c->jump, n, sums->jump_re, sums->jump_im);
    if (c->slope != 0.0) corner_turn(power_re, power_im, c->slope, n, sums->slope_re, sums->slope_im);
}

/* Harmonics 1 .. n <= CORNER_HARMONICS as hl_wave_fourier gives them, with inverse[k - 1] = 1 / k.
 * false: not a wave of this kind, nothing is written. */
static inline bool straight_harmonics(const hl_wave *wave, size_t n, const double inverse[], double cosine[],
                                      double sine[])
{
    corner_list list;
    corner_sums sums;
    if (!corners_of(wave, &list)) return false;
    size_t whole = (n + HARMONIC_BLOCK - 1) / HARMONIC_BLOCK * HARMONIC_BLOCK;
    for (size_t k = 0; k < whole; k++)
        sums.jump_re[k] = sums.jump_im[k] = sums.slope_re[k] = sums.slope_im[k] = 0.0;
    for (size_t i = 0; i < list.n; i++) corner_harmonics(&list.corner[i], whole, &sums);
    const double inverse_pi = 0.318309886183790672;
    for (size_t k = 0; k < n; k++) { /* c_k = cosine - j sine */
        double scale = inverse_pi * inverse[k];
        cosine[k] = scale * (sums.jump_im[k] - inverse[k] * sums.slope_re[k]);
        sine[k] = scale * (sums.jump_re[k] + inverse[k] * sums.slope_im[k]);
    }
    return true;
}

#endif
