/* spectra.c - harmonics of several waves at once, from what corners.h gathers.
 *
 * With the conjugate turns e^(j k a) = cos k a + j sin k a the sums come out as cosine and sine amplitudes:
 *   cosine + j sine = 1/pi sum over kinds conj(1/D) sum over corners (bent - j k y) e^(j k angle).
 * Eight harmonics at a time, four odd ones and four even ones, as each weight is of either; mirrored waves
 * have odd ones alone, which then are all that is worked out. */
#include <math.h>
#include <string.h>

#include "wave/corners.h"
#include "wave/few.h"
#include "wave/lanes_turn.h"
#include "wave/segment.h"
#include "wave/slow.h"
#include "wave/straight.h"

static const double pi = 3.14159265358979323846;

/* Eight numbers: of the odd harmonics of a block and of the even ones. `parts` are one of them, or both. */
enum { BLOCK = 2 * LANES };
typedef struct octet {
    lanes at[2];
} octet;

/* e^(j k angle) for the harmonics of a block, and the step to those of the next. */
typedef struct turning {
    octet re, im;
    double step_re, step_im;
} turning;

typedef struct block {
    turning turn[ANGLES];
    octet k, re[KINDS], im[KINDS]; /* conj(1/D) */
} block;

/* ----------------------------------------------------------------- turns -- */

/* Powers 1 to 8 of four angles' turns, side by side; the eighth is the step. */
WITHIN_LANES void four_turns(const double angle[], int parts, turning turn[])
{
    lanes z = lanes_load(angle), re[BLOCK], im[BLOCK];
    lanes_cos_sin(&z, &re[0], &im[0]);
    for (int i = 1; i < BLOCK; i++) { /* the power i + 1 from two that are about half of it */
        int half = (i - 1) / 2, other = i - 1 - half;
        re[i] = re[half] * re[other] - im[half] * im[other];
        im[i] = re[half] * im[other] + im[half] * re[other];
    }
    for (int i = 0; i < LANES; i++) {
        turn[i].step_re = re[BLOCK - 1][i];
        turn[i].step_im = im[BLOCK - 1][i];
    }
    for (int part = 0; part < parts; part++) {
        lanes own_re[LANES] = {re[part], re[part + 2], re[part + 4], re[part + 6]};
        lanes own_im[LANES] = {im[part], im[part + 2], im[part + 4], im[part + 6]};
        lanes_turned(own_re);
        lanes_turned(own_im);
        for (int i = 0; i < LANES; i++) {
            turn[i].re.at[part] = own_re[i];
            turn[i].im.at[part] = own_im[i];
        }
    }
}

WITHIN_LANES void turns_step(int n, int parts, turning turn[])
{
    for (int i = 1; i < n; i++) {
        turning *t = &turn[i];
        for (int part = 0; part < parts; part++) {
            lanes re = t->re.at[part], im = t->im.at[part];
            t->re.at[part] = t->step_re * re - t->step_im * im;
            t->im.at[part] = t->step_re * im + t->step_im * re;
        }
    }
}

/* ----------------------------------------------------------------- kinds -- */

WITHIN_LANES void kinds_of_block(const spectra *all, block *b, int parts)
{
    for (int part = 0; part < parts; part++) {
        lanes k = b->k.at[part];
        b->re[0].at[part] = -1.0 / (k * k);
        for (int i = 1; i < all->kinds; i++) {
            double d = all->kind[i].d, nu = all->kind[i].nu;
            lanes even = (nu - k) * (nu + k) + d * d, odd = 2.0 * d * k;
            lanes inverse = 1.0 / (even * even + odd * odd);
            lanes_mask others = k != all->kind[i].met;
            lanes_keep(&others, &inverse);
            b->re[i].at[part] = even * inverse;
            b->im[i].at[part] = odd * inverse;
        }
    }
}

/* Sum over the corners of one kind; no steps: their y are nil. */
WITHIN_LANES void corner_sums(const corners *c, int own, const block *b, int parts, bool steps, octet *re,
                              octet *im)
{
    lanes bent_re[2] = {{0.0}, {0.0}}, bent_im[2] = {{0.0}, {0.0}};
    lanes y_re[2] = {{0.0}, {0.0}}, y_im[2] = {{0.0}, {0.0}};
    uint64_t left = c->used[own];
    if (left & 1) /* angle 0 does not turn */
        for (int part = 0; part < parts; part++) {
            bent_re[part] += c->at[own][0].bent[part];
            if (steps) y_re[part] += c->at[own][0].y[part];
        }
    for (left &= ~(uint64_t)1; left; left &= left - 1) {
        int i = __builtin_ctzll(left);
        const turning *t = &b->turn[i];
        const weight *w = &c->at[own][i];
        for (int part = 0; part < parts; part++) {
            bent_re[part] += w->bent[part] * t->re.at[part];
            bent_im[part] += w->bent[part] * t->im.at[part];
            if (!steps) continue;
            y_re[part] += w->y[part] * t->re.at[part];
            y_im[part] += w->y[part] * t->im.at[part];
        }
    }
    for (int part = 0; part < parts; part++) {
        re->at[part] = bent_re[part];
        im->at[part] = bent_im[part];
        if (!steps) continue;
        re->at[part] += b->k.at[part] * y_im[part];
        im->at[part] -= b->k.at[part] * y_re[part];
    }
}

/* Amplitudes of one wave. */
WITHIN_LANES void wave_block(const spectra *all, const corners *c, const block *b, int parts, octet *cosine,
                             octet *sine)
{
    octet re, im;
    if (c->steps)
        corner_sums(c, 0, b, parts, true, &re, &im);
    else
        corner_sums(c, 0, b, parts, false, &re, &im);
    for (int part = 0; part < parts; part++) {
        cosine->at[part] = re.at[part] * b->re[0].at[part];
        sine->at[part] = im.at[part] * b->re[0].at[part];
    }
    for (int own = 1; own < all->kinds; own++) {
        if (!c->used[own]) continue;
        corner_sums(c, own, b, parts, true, &re, &im);
        for (int part = 0; part < parts; part++) {
            lanes q_re = b->re[own].at[part], q_im = b->im[own].at[part];
            cosine->at[part] += re.at[part] * q_re - im.at[part] * q_im;
            sine->at[part] += re.at[part] * q_im + im.at[part] * q_re;
        }
    }
}

/* ---------------------------------------------------------------- blocks -- */

/* Odd and even harmonics in their order, of those that are left. */
WITHIN_LANES void write_block(const octet *from, size_t left, double to[])
{
    lanes first = __builtin_shufflevector(from->at[0], from->at[1], 0, 4, 1, 5);
    lanes last = __builtin_shufflevector(from->at[0], from->at[1], 2, 6, 3, 7);
    if (left >= LANES) lanes_store(to, first);
    if (left >= BLOCK) {
        lanes_store(to + LANES, last);
        return;
    }
    size_t done = left >= LANES ? LANES : 0;
    for (size_t i = done; i < left; i++) to[i] = done ? last[i - done] : first[i];
}

WITHIN_LANES void some_waves(const spectra *all, const int source[], size_t waves, const block *b,
                             size_t left, size_t stride, double cosine[], double sine[])
{
    for (size_t w = 0; w < waves; w++) {
        if (source[w] != (int)w) continue;
        octet c, s;
        if (all->corners[w].odd_only) {
            wave_block(all, &all->corners[w], b, 1, &c, &s);
            c.at[1] = s.at[1] = (lanes){0.0};
        } else {
            wave_block(all, &all->corners[w], b, 2, &c, &s);
        }
        write_block(&c, left, cosine + w * stride);
        write_block(&s, left, sine + w * stride);
    }
}

/* 1: all waves have odd harmonics alone. */
static int parts_of(const spectra *all, const int source[], size_t waves)
{
    for (size_t w = 0; w < waves; w++)
        if (source[w] == (int)w && !all->corners[w].odd_only) return 2;
    return 1;
}

FOUR_LANES static void all_blocks(const spectra *all, const int source[], size_t waves, size_t n,
                                  size_t stride, double cosine[], double sine[])
{
    block b;
    int parts = parts_of(all, source, waves);
    for (int i = 0; i < all->angles.n; i += LANES) four_turns(all->angles.angle + i, parts, b.turn + i);
    b.k = (octet){{{1.0, 3.0, 5.0, 7.0}, {2.0, 4.0, 6.0, 8.0}}};
    for (size_t done = 0; done < n; done += BLOCK) {
        if (done) turns_step(all->angles.n, parts, b.turn);
        kinds_of_block(all, &b, parts);
        some_waves(all, source, waves, &b, n - done, stride, cosine + done, sine + done);
        b.k.at[0] += 8.0;
        b.k.at[1] += 8.0;
    }
}

/* ----------------------------------------------------------------- waves -- */

/* Harmonics of a wave half a period later: even ones the same, odd ones of the other sign; turned about the
 * other way round. sign 0: the very same wave. */
FOUR_LANES static void copy_moved(int sign, size_t n, const double from[], double to[])
{
    double even = sign ? sign : 1.0, odd = sign ? -even : 1.0;
    lanes both = {odd, even, odd, even};
    size_t k = 0;
    for (; k + LANES <= n; k += LANES) lanes_store(to + k, both * lanes_load(from + k));
    for (; k < n; k++) to[k] = (k % 2 ? even : odd) * from[k];
}

enum { NOBODY = -1, ALONE = -2 };

/* From which wave w has its harmonics: itself, an earlier one, nobody (none), or, with a
 * period of its own, alone by hl_wave_fourier. */
static int source_of(const hl_wave *const wave[], size_t w, const int source[], double period, int *sign)
{
    *sign = 0;
    if (!wave[w]) return NOBODY;
    double own = hl_wave_period(wave[w]);
    if (!(own > 0.0)) return NOBODY;
    for (size_t v = 0; v < w; v++)
        if (source[v] == (int)v && (wave[v] == wave[w] || (*sign = wave_moved_half(wave[v], wave[w]))))
            return (int)v;
    return fabs(own - period) <= 1e-12 * period ? (int)w : ALONE;
}

static double first_period(const hl_wave *const wave[], size_t waves)
{
    double period = 0.0;
    for (size_t w = 0; w < waves && !(period > 0.0); w++) period = wave[w] ? hl_wave_period(wave[w]) : 0.0;
    return period;
}

/* False where one of them is not straight. */
static bool all_straight(const hl_wave *const wave[], size_t waves, size_t n, size_t stride, double cosine[],
                         double sine[])
{
    for (size_t w = 0; w < waves; w += LANES)
        if (!straight_fourier(wave + w, waves - w < LANES ? waves - w : LANES, n, stride, cosine + w * stride,
                              sine + w * stride))
            return false;
    return true;
}

/* Wave by wave, of those that are their own source. false: one of them is not for few.h. */
static bool all_few(const hl_wave *const wave[], const int source[], size_t waves, size_t n, size_t stride,
                    double cosine[], double sine[])
{
    for (size_t w = 0; w < waves; w++)
        if (source[w] == (int)w && !few_fourier(wave[w], n, cosine + w * stride, sine + w * stride, NULL))
            return false;
    return true;
}

/* Nearer than this to a harmonic the quotient loses more than 1e-12. */
static const double together_meeting = 1e-4;

void hl_waves_fourier(const hl_wave *const wave[], size_t waves, size_t n, size_t stride, double cosine[],
                      double sine[])
{
    corners each[HL_WINDINGS_MAX];
    spectra all;
    int source[HL_WINDINGS_MAX] = {NOBODY}, sign[HL_WINDINGS_MAX];
    if (waves > HL_WINDINGS_MAX) waves = HL_WINDINGS_MAX;
    if (all_straight(wave, waves, n, stride, cosine, sine)) return;
    if (waves == 1 && wave[0] && slow_fourier(wave[0], n, cosine, sine, NULL)) return;
    double period = first_period(wave, waves);
    all.corners = each;
    all.meeting = together_meeting;
    all.steepest = INFINITY;
    all.moments = false;
    all.radian = period > 0.0 ? 2.0 * pi / period : 0.0;
    for (size_t w = 0; w < waves; w++) source[w] = source_of(wave, w, source, period, &sign[w]);
    bool done = all_few(wave, source, waves, n, stride, cosine, sine);
    if (!done && isfinite(all.radian) && corners_gather(&all, wave, source, waves, n)) {
        all_blocks(&all, source, waves, n, stride, cosine, sine);
        done = true;
    }
    for (size_t w = 0; w < waves; w++) {
        double *c = cosine + w * stride, *s = sine + w * stride;
        if (source[w] == NOBODY) {
            for (size_t k = 0; k < n; k++) c[k] = s[k] = 0.0;
        } else if (source[w] == ALONE) {
            hl_wave_fourier(wave[w], n, c, s);
        } else if (source[w] == (int)w && !done) {
            wave_fourier_alone(wave[w], n, c, s);
        } else if (source[w] != (int)w) {
            copy_moved(sign[w], n, cosine + (size_t)source[w] * stride, c);
            copy_moved(sign[w], n, sine + (size_t)source[w] * stride, s);
        }
    }
}

/* One wave by its corners where that costs no digits: a harmonic that a ringing comes so near to is left to
 * moments, no straight part is steep against the values of its own piece, and the turns of so many harmonics
 * lose none. */
enum { ONE_MOST = 64 };
static const double one_meeting = 0.01, one_steepest = 1e3;

void hl_wave_fourier(const hl_wave *wave, size_t n, double cosine[], double sine[])
{
    corners one;
    spectra all;
    const int source[] = {0};
    if (n <= ONE_MOST &&
        (straight_fourier(&wave, 1, n, n, cosine, sine) || slow_fourier(wave, n, cosine, sine, NULL)))
        return;
    if (few_fourier(wave, n, cosine, sine, NULL)) return;
    double period = hl_wave_period(wave);
    all.corners = &one;
    all.meeting = one_meeting;
    all.steepest = one_steepest;
    all.moments = true;
    all.radian = period > 0.0 ? 2.0 * pi / period : INFINITY;
    if (!(n <= ONE_MOST && isfinite(all.radian) && corners_gather(&all, &wave, source, 1, n))) {
        wave_fourier_alone(wave, n, cosine, sine);
        return;
    }
    all_blocks(&all, source, 1, n, n, cosine, sine);
    corners_met(&all, wave, cosine, sine);
}
