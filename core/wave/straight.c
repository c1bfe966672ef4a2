/* straight.c - harmonics of triangles, trapezoids and pulses: a few straight pieces a period.
 *
 * By parts, twice, with the step A and the bend B (per radian) at each corner's angle a:
 *   pi c_k = sum over corners (-j A / k - B / k^2) e^(-j k a)         docs/theory/waveforms.md eq. 12
 * Each of four waves goes through the same operations in its lane, so none tells on another. */
#include "wave/straight.h"

#include <math.h>

#include "wave/lanes_turn.h"
#include "wave/segment.h"

static const double two_pi = 6.28318530717958647693, over_pi = 0.318309886183790671538;
/* Of the period. A bend is a small difference over an angle: it then keeps 13 digits. */
static const double briefest = 0.002;
enum { PIECES_MOST = 2 * STRAIGHT_CORNERS }; /* with those that take no time */

/* One wave into lane w. */
static bool take_wave(const hl_wave *wave, straight_waves *all, int w)
{
    double period = hl_wave_period(wave), time = 0.0, start, rate;
    double end = 0.0, slope = 0.0; /* of the piece before, per radian */
    int n = 0;
    if (wave->n > PIECES_MOST || !(period > 0.0 && isfinite(period))) return false;
    double per_period = 1.0 / period, per_radian = period / two_pi;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        if (n == STRAIGHT_CORNERS || !segment_straight(s, &start, &rate)) return false;
        if (rate != 0.0 && s->duration < briefest * period) return false;
        double bent = rate * per_radian;
        all->angle[n][w] = two_pi * (time * per_period);
        all->step[n][w] = start - end;
        all->bend[n++][w] = bent - slope;
        time += s->duration;
        end = start + rate * s->duration;
        slope = bent;
    }
    all->step[0][w] -= end; /* the first follows the last */
    all->bend[0][w] -= slope;
    if (n > all->corners) all->corners = n;
    for (; n < STRAIGHT_CORNERS; n++) all->angle[n][w] = all->step[n][w] = all->bend[n][w] = 0.0;
    return true;
}

static void take_nothing(straight_waves *all, int w)
{
    for (int i = 0; i < STRAIGHT_CORNERS; i++) all->angle[i][w] = all->step[i][w] = all->bend[i][w] = 0.0;
}

/* e^(j k angle) of a corner of all four waves. */
typedef struct corner_turn {
    lanes once_re, once_im, re, im;
} corner_turn;

/* One harmonic of all four; the turns then go on to the next. The first corner is at angle 0. */
WITHIN_LANES void one_harmonic(const straight_waves *all, int corners, double inverse,
                               corner_turn turn[STRAIGHT_CORNERS], lanes *cosine, lanes *sine)
{
    double square = inverse * inverse;
    *cosine = -square * lanes_load(all->bend[0]);
    *sine = inverse * lanes_load(all->step[0]);
    for (int i = 1; i < corners; i++) {
        corner_turn *t = &turn[i];
        lanes stepped = inverse * lanes_load(all->step[i]), bent = square * lanes_load(all->bend[i]);
        lanes re = t->re;
        *cosine -= bent * re + stepped * t->im;
        *sine += stepped * re - bent * t->im;
        t->re = re * t->once_re - t->im * t->once_im;
        t->im = t->im * t->once_re + re * t->once_im;
    }
}

/* Four harmonics of four waves, from a wave in each lane to a harmonic in each. */
WITHIN_LANES void write_four(lanes row[LANES], size_t waves, size_t left, size_t stride, double to[])
{
    lanes_turned(row);
    for (size_t w = 0; w < waves; w++) {
        if (left >= LANES)
            lanes_store(to + w * stride, row[w]);
        else
            for (size_t k = 0; k < left; k++) to[w * stride + k] = row[w][k];
    }
}

WITHIN_LANES void all_harmonics(const straight_waves *all, int corners, size_t waves, size_t n, size_t stride,
                                double cosine[], double sine[])
{
    corner_turn turn[STRAIGHT_CORNERS];
    for (int i = 1; i < corners; i++) {
        lanes angle = lanes_load(all->angle[i]);
        lanes_cos_sin(&angle, &turn[i].once_re, &turn[i].once_im);
        turn[i].re = turn[i].once_re;
        turn[i].im = turn[i].once_im;
    }
    for (size_t k = 0; k < n; k += LANES) {
        lanes re[LANES], im[LANES];
        for (size_t i = 0; i < LANES; i++) {
            one_harmonic(all, corners, 1.0 / (double)(k + i + 1), turn, &re[i], &im[i]);
            re[i] *= over_pi;
            im[i] *= over_pi;
        }
        write_four(re, waves, n - k, stride, cosine + k);
        write_four(im, waves, n - k, stride, sine + k);
    }
}

/* Written out for the numbers of corners there are, so that turns stay at hand. */
FOUR_LANES static void harmonics_of(const straight_waves *all, size_t waves, size_t n, size_t stride,
                                    double cosine[], double sine[])
{
    if (all->corners <= 2)
        all_harmonics(all, 2, waves, n, stride, cosine, sine);
    else if (all->corners == 3)
        all_harmonics(all, 3, waves, n, stride, cosine, sine);
    else
        all_harmonics(all, STRAIGHT_CORNERS, waves, n, stride, cosine, sine);
}

bool straight_fourier(const hl_wave *const wave[], size_t waves, size_t n, size_t stride, double cosine[],
                      double sine[])
{
    straight_waves all;
    all.corners = 0;
    for (size_t w = 0; w < LANES; w++) {
        if (w >= waves || !wave[w])
            take_nothing(&all, (int)w);
        else if (!take_wave(wave[w], &all, (int)w))
            return false;
    }
    harmonics_of(&all, waves, n, stride, cosine, sine);
    return true;
}
