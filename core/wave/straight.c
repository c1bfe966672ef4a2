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

/* Four waves of as many pieces, all of which last and are without any ringing. false: they are not. */
FOUR_LANES static bool take_alike(const hl_wave *const wave[], straight_waves *all)
{
    const hl_segment *s[LANES] = {wave[0]->segment, wave[1]->segment, wave[2]->segment, wave[3]->segment};
    size_t n = wave[0]->n;
    lanes period = {0}, time = {0}, mean = {0}, square = {0}, end = {0}, slope = {0};
    lanes_mask other = {0};
    for (int w = 1; w < LANES; w++)
        if (wave[w]->n != n) return false;
    if (n == 0 || n > STRAIGHT_CORNERS) return false;
    for (size_t i = 0; i < n; i++, s[0]++, s[1]++, s[2]++, s[3]++) {
        lanes duration = lanes_of(s, duration);
        other |= ~(duration > 0.0) | (lanes_of(s, cosine) != 0.0) | (lanes_of(s, sine) != 0.0);
        period += duration;
    }
    for (size_t i = 0; i < n; i++) {
        for (int w = 0; w < LANES; w++) s[w] = &wave[w]->segment[i];
        lanes duration = lanes_of(s, duration), start = lanes_of(s, offset), rate = lanes_of(s, slope);
        lanes share = duration / period, rise = rate * duration, bent = rate * period / two_pi;
        lanes half = 0.5 * rise, middle = start + half;
        other |= (rate != 0.0) & (share < briefest);
        lanes_store(all->angle[i], two_pi * (time / period));
        lanes_store(all->step[i], start - end);
        lanes_store(all->bend[i], bent - slope);
        mean += share * middle;
        square += share * (middle * middle + half * half / 3.0); /* straight_mean_square */
        time += duration;
        end = start + rise;
        slope = bent;
    }
    lanes_store(all->step[0], lanes_load(all->step[0]) - end); /* the first follows the last */
    lanes_store(all->bend[0], lanes_load(all->bend[0]) - slope);
    lanes_store(all->square, square);
    lanes_store(all->ripple, square - mean * mean);
    lanes_store(all->period, period);
    all->corners = (int)n;
    for (; n < STRAIGHT_CORNERS; n++)
        for (int w = 0; w < LANES; w++) all->angle[n][w] = all->step[n][w] = all->bend[n][w] = 0.0;
    other |= ~(period < INFINITY);
    return !lanes_any(&other);
}

/* As most waves that are not straight do: so that no more of them is looked at. */
static bool rings_at_once(const hl_wave *wave)
{
    double start, rate;
    return wave->n > 0 && segment_lasts(wave->segment) && !segment_straight(wave->segment, &start, &rate);
}

/* One wave into lane w. */
static bool take_wave(const hl_wave *wave, straight_waves *all, int w)
{
    double period = hl_wave_period(wave), time = 0.0, mean = 0.0, square = 0.0, start, rate;
    double end = 0.0, slope = 0.0; /* of the piece before, per radian */
    int n = 0;
    if (wave->n > PIECES_MOST || !(period > 0.0 && isfinite(period))) return false;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        double share = s->duration / period;
        if (!segment_lasts(s)) continue;
        if (n == STRAIGHT_CORNERS || !segment_straight(s, &start, &rate)) return false;
        if (rate != 0.0 && share < briefest) return false;
        double rise = rate * s->duration, bent = rate * period / two_pi;
        all->angle[n][w] = two_pi * (time / period);
        all->step[n][w] = start - end;
        all->bend[n++][w] = bent - slope;
        mean += share * (start + 0.5 * rise);
        square += share * straight_mean_square(start, rise);
        time += s->duration;
        end = start + rise;
        slope = bent;
    }
    if (n == 0) return false;
    all->step[0][w] -= end; /* the first follows the last */
    all->bend[0][w] -= slope;
    all->period[w] = period;
    all->square[w] = square;
    all->ripple[w] = square - mean * mean;
    if (n > all->corners) all->corners = n;
    for (; n < STRAIGHT_CORNERS; n++) all->angle[n][w] = all->step[n][w] = all->bend[n][w] = 0.0;
    return true;
}

static void take_nothing(straight_waves *all, int w)
{
    for (int i = 0; i < STRAIGHT_CORNERS; i++) all->angle[i][w] = all->step[i][w] = all->bend[i][w] = 0.0;
    all->period[w] = all->square[w] = all->ripple[w] = 0.0;
}

bool straight_take(const hl_wave *const wave[], size_t waves, straight_waves *all)
{
    bool four = waves == LANES && wave[0] && wave[1] && wave[2] && wave[3];
    if (four && take_alike(wave, all)) return true;
    all->corners = 0;
    for (size_t w = 0; w < LANES; w++) {
        if (w >= waves || !wave[w])
            take_nothing(all, (int)w);
        else if (rings_at_once(wave[w]) || !take_wave(wave[w], all, (int)w))
            return false;
    }
    return true;
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
    if (left >= LANES) { /* one by one, so that they stay at hand */
        lanes_store(to, row[0]);
        if (waves > 1) lanes_store(to + stride, row[1]);
        if (waves > 2) lanes_store(to + 2 * stride, row[2]);
        if (waves > 3) lanes_store(to + 3 * stride, row[3]);
        return;
    }
    for (size_t w = 0; w < waves; w++)
        for (size_t k = 0; k < left; k++) to[w * stride + k] = row[w][k];
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
FOUR_LANES void straight_harmonics(const straight_waves *all, size_t waves, size_t n, size_t stride,
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
    if (!straight_take(wave, waves, &all)) return false;
    straight_harmonics(&all, waves, n, stride, cosine, sine);
    return true;
}

/* -------------------------------------------------------------- triangles -- */

enum { TRIANGLE_CORNERS = 3, PAIRS = 3 };
/* Steps that are rounding of the values beside them change no amplitude by more than 1e-11 of itself. */
static const double no_step = 1e-13;

static bool steps_are_none(const straight_waves *all)
{
    for (int w = 0; w < LANES; w++) {
        double bends = 0.0, steps = 0.0;
        for (int i = 0; i < TRIANGLE_CORNERS; i++) {
            bends += fabs(all->bend[i][w]);
            steps += fabs(all->step[i][w]);
        }
        if (!(steps <= no_step * bends)) return false;
    }
    return true;
}

/* What two corners give the squares of four waves, from harmonic to harmonic. */
typedef struct corner_pair {
    lanes now, before, twice, by;
} corner_pair;

WITHIN_LANES void pair_begin(const straight_waves *all, int i, int j, corner_pair *pair)
{
    lanes half = 0.5 * (lanes_load(all->angle[j]) - lanes_load(all->angle[i])), cosine, sine;
    lanes bends = -2.0 * over_pi * over_pi * lanes_load(all->bend[i]) * lanes_load(all->bend[j]);
    lanes_cos_sin(&half, &cosine, &sine);
    lanes first = 2.0 * sine * sine;
    pair->before = (lanes){0.0};
    pair->now = bends * first;
    pair->twice = 2.0 * pair->now;
    pair->by = 2.0 - 2.0 * first;
}

/* The bends B_i of a wave add up to nothing, so of eq. 12 above there remains without steps
 *   |c_k|^2 = -2 / (pi^2 k^4) sum over pairs of corners B_i B_j v_k,  v_k = 1 - cos k (a_j - a_i),
 * with v_(k + 1) = 2 v_1 + 2 (1 - v_1) v_k - v_(k - 1), which keeps the digits of small v. */
WITHIN_LANES void pairs_squares(const straight_waves *all, int pairs, size_t waves, size_t n, size_t stride,
                                double square[])
{
    corner_pair pair[PAIRS];
    lanes k = {1.0, 2.0, 3.0, 4.0};
    pair_begin(all, 0, 1, &pair[0]);
    if (pairs > 1) {
        pair_begin(all, 0, 2, &pair[1]);
        pair_begin(all, 1, 2, &pair[2]);
    }
    for (size_t done = 0; done < n; done += LANES) {
        lanes row[LANES], share = 1.0 / (k * k * (k * k));
        for (int i = 0; i < LANES; i++) {
            row[i] = (lanes){0.0};
            for (int p = 0; p < pairs; p++) {
                lanes now = pair[p].now;
                row[i] += now;
                pair[p].now = pair[p].twice + pair[p].by * now - pair[p].before;
                pair[p].before = now;
            }
            row[i] *= share[i];
        }
        write_four(row, waves, n - done, stride, square + done);
        k += LANES;
    }
}

FOUR_LANES static void triangle_squares(const straight_waves *all, size_t waves, size_t n, size_t stride,
                                        double square[])
{
    if (all->corners <= 2)
        pairs_squares(all, 1, waves, n, stride, square);
    else
        pairs_squares(all, PAIRS, waves, n, stride, square);
}

bool hl_triangles(const hl_wave *const wave[], size_t waves, size_t n, size_t stride, double mean[],
                  double square[])
{
    straight_waves all;
    if (waves > LANES || !straight_take(wave, waves, &all)) return false;
    if (all.corners > TRIANGLE_CORNERS || !steps_are_none(&all)) return false;
    triangle_squares(&all, waves, n, stride, square);
    for (size_t w = 0; mean && w < waves; w++) mean[w] = all.square[w];
    return true;
}
