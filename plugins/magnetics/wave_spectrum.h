/* wave_spectrum.h - harmonics of the currents of all windings, from the corners of their waves.
 *
 * For waves of straight lines, integrating by parts twice leaves the jumps J and the changes of slope S at
 * the corners t_b:
 *   c_k = (2 / P) sum_b e^(-j k w t_b) [ J_b / (j k w) - S_b / (k w)^2 ],  value = sum Re(c_k e^(j k w t))
 * A tenth of the work of integrating each piece. Windings of one transformer switch together, so the powers
 * of e^(-j w t_b) are found once for every corner they share (within 1e-10 of the period, which turns
 * harmonic 400 by 3e-7). A piece shorter than 1e-6 of the period is taken as a jump in its middle (error
 * below 1e-7 of that jump up to harmonic 400), since its slope would lose digits. Other waves go to
 * hl_wave_fourier. source: A. Papoulis, The Fourier Integral and its Applications, 1962, ch. 4 */
#ifndef WAVE_SPECTRUM_H
#define WAVE_SPECTRUM_H

#include <math.h>

#include "harmonic_places.h"
#include "heatledger/plugin.h"

enum { CORNERS = 48, CORNER_ANGLES = 32, SPECTRUM_BLOCK = 40 }; /* of WAVE_HARMONICS a tenth */
static const double shortest_piece = 1e-6;

typedef struct harmonics {
    double cosine[WAVE_HARMONICS], sine[WAVE_HARMONICS];
} harmonics;

/* ---------------------------------------------------------------- corners -- */

/* Angles w t_b other than 0 that the waves of a cycle have. */
typedef struct corner_angles {
    double angle[CORNER_ANGLES];
    int n;
} corner_angles;

typedef struct wave_corner {
    int angle;          /* of corner_angles */
    double jump, slope; /* change of value, and of slope per radian */
} wave_corner;

typedef struct corner_list {
    double jump, slope; /* at 0: every wave has a corner there */
    wave_corner corner[CORNERS];
    int n;
} corner_list;

/* Its number, new or known; -1 when there is no room. */
static inline int corner_angle(corner_angles *angles, double angle)
{
    for (int i = 0; i < angles->n; i++)
        if (fabs(angles->angle[i] - angle) < 6e-10) return i;
    if (angles->n == CORNER_ANGLES) return -1;
    angles->angle[angles->n] = angle;
    return angles->n++;
}

static inline bool corner_add(corner_list *list, corner_angles *angles, double angle, double jump,
                              double slope)
{
    if (jump == 0.0 && slope == 0.0) return true;
    if (angle == 0.0) {
        list->jump += jump;
        list->slope += slope;
        return true;
    }
    int i = corner_angle(angles, angle);
    if (i < 0) return false;
    list->corner[list->n++] = (wave_corner){i, jump, slope};
    return true;
}

/* Period of a wave that these laws serve, with the value and slope it ends on; else 0. */
static inline double straight_period(const hl_wave *wave, double *value, double *slope)
{
    double period = 0.0;
    if (wave->n > CORNERS - 1) return 0.0;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!(s->duration > 0.0)) continue;
        if (s->cosine != 0.0 || s->sine != 0.0) return 0.0;
        period += s->duration;
        *value = s->offset + s->slope * s->duration;
        *slope = s->slope;
    }
    return isfinite(period) ? period : 0.0;
}

/* false: the wave has other pieces, too many, or no duration. */
static inline bool corners_of(const hl_wave *wave, corner_angles *angles, corner_list *list)
{
    double t = 0.0, value = 0.0, slope = 0.0, wait = 0.0, period = straight_period(wave, &value, &slope);
    bool last_short = false;
    if (!(period > 0.0)) return false;
    double w = 6.28318530717958648 / period, radian = 1.0 / w;
    list->n = 0;
    list->jump = list->slope = 0.0;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!(s->duration > 0.0)) continue;
        if (s->duration < shortest_piece * period) {
            wait = w * (t + 0.5 * s->duration);
            last_short = true;
        } else {
            double angle = last_short ? wait : w * t;
            if (!corner_add(list, angles, angle, s->offset - value, (s->slope - slope) * radian))
                return false;
            value = s->offset + s->slope * s->duration;
            slope = s->slope;
            last_short = false;
        }
        t += s->duration;
    }
    return !last_short; /* a short piece at the very end would belong to the corner at 0 */
}

/* ----------------------------------------------------------------- blocks -- */

/* e^(-j k angle) of every corner for a block of harmonics. */
typedef struct corner_turns {
    double re[CORNER_ANGLES][SPECTRUM_BLOCK], im[CORNER_ANGLES][SPECTRUM_BLOCK];
} corner_turns;

/* Four harmonics at a time, each four from the last by one turn of 4 angle. */
static inline void corner_turn(double angle, size_t first, double re[], double im[])
{
    double step_re = cos(angle), step_im = -sin(angle);
    re[0] = first == 1 ? step_re : cos(angle * (double)first);
    im[0] = first == 1 ? step_im : -sin(angle * (double)first);
    for (int k = 1; k < 4; k++) {
        re[k] = re[k - 1] * step_re - im[k - 1] * step_im;
        im[k] = re[k - 1] * step_im + im[k - 1] * step_re;
    }
    double twice_re = step_re * step_re - step_im * step_im, twice_im = 2.0 * step_re * step_im;
    quad_half far_re = {twice_re * twice_re - twice_im * twice_im, 0.0}, far_im = {2.0 * twice_re * twice_im};
    far_re[1] = far_re[0];
    far_im[1] = far_im[0];
    quad a = quad_load(re), b = quad_load(im);
    for (size_t k = 4; k < SPECTRUM_BLOCK; k += 4) {
        quad c = {a.low * far_re - b.low * far_im, a.high * far_re - b.high * far_im};
        b = (quad){a.low * far_im + b.low * far_re, a.high * far_im + b.high * far_re};
        a = c;
        quad_store(re + k, &a);
        quad_store(im + k, &b);
    }
}

/* Sums over the corners for four harmonics: of S e^(-j k w t) and of J e^(-j k w t). */
typedef struct corner_sums {
    quad slope_re, slope_im, jump_re, jump_im;
} corner_sums;

static inline void corners_sum(const corner_list *list, const corner_turns *turns, size_t k, corner_sums *sum)
{
    const quad none = {{0.0, 0.0}, {0.0, 0.0}};
    quad_half slope = {list->slope, list->slope}, jump = {list->jump, list->jump};
    *sum = (corner_sums){{slope, slope}, none, {jump, jump}, none};
    for (int i = 0; i < list->n; i++) {
        const wave_corner *c = &list->corner[i];
        quad_add(&sum->slope_re, c->slope, turns->re[c->angle] + k);
        quad_add(&sum->slope_im, c->slope, turns->im[c->angle] + k);
        if (c->jump == 0.0) continue;
        quad_add(&sum->jump_re, c->jump, turns->re[c->angle] + k);
        quad_add(&sum->jump_im, c->jump, turns->im[c->angle] + k);
    }
}

/* One block of one wave; c_k = cosine - j sine. */
static inline void corner_block(const corner_list *list, const corner_turns *turns, const double inverse[],
                                double cosine[], double sine[])
{
    const double inverse_pi = 0.318309886183790672;
    for (size_t k = 0; k < SPECTRUM_BLOCK; k += 4) {
        corner_sums sum;
        corners_sum(list, turns, k, &sum);
        quad r = quad_load(inverse + k), re, im;
        re.low = inverse_pi * r.low * (sum.jump_im.low - r.low * sum.slope_re.low);
        re.high = inverse_pi * r.high * (sum.jump_im.high - r.high * sum.slope_re.high);
        im.low = inverse_pi * r.low * (sum.jump_re.low + r.low * sum.slope_im.low);
        im.high = inverse_pi * r.high * (sum.jump_re.high + r.high * sum.slope_im.high);
        quad_store(cosine + k, &re);
        quad_store(sine + k, &im);
    }
}

/* ------------------------------------------------------------------ waves -- */

static inline void harmonics_clear(harmonics *h, size_t n)
{
    for (size_t k = 0; k < n; k++) h->cosine[k] = h->sine[k] = 0.0;
}

/* Harmonics in whole blocks of `windings` waves (NULL: no current) as hl_wave_fourier gives them. */
static inline void spectra_of(const hl_wave *const wave[], size_t windings, const harmonic_series *series,
                              harmonics h[])
{
    corner_list list[HL_WINDINGS_MAX];
    bool straight[HL_WINDINGS_MAX];
    corner_angles angles = {.n = 0};
    for (size_t w = 0; w < windings; w++) {
        straight[w] = wave[w] && wave[w]->n && corners_of(wave[w], &angles, &list[w]);
        if (straight[w]) continue;
        harmonics_clear(&h[w], series->n);
        if (wave[w] && wave[w]->n) hl_wave_fourier(wave[w], series->n, h[w].cosine, h[w].sine);
    }
    corner_turns turns;
    for (size_t done = 0; done < series->n; done += SPECTRUM_BLOCK) {
        for (int i = 0; i < angles.n; i++) corner_turn(angles.angle[i], done + 1, turns.re[i], turns.im[i]);
        for (size_t w = 0; w < windings; w++)
            if (straight[w])
                corner_block(&list[w], &turns, series->inverse + done, h[w].cosine + done, h[w].sine + done);
    }
}

#endif
