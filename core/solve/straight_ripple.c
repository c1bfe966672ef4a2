/* straight_ripple.c - the cycles of a stage that rides the mains half-wave are alike: each a few straight
 * pieces.  Four of them go through the same operations side by side.  Its slow current is one ringing of the
 * mains, run on through many pieces, and a chord in each: there four corners go side by side.
 *
 * By parts, twice, with the step A and the bend B (per radian) at each corner's angle a:
 *   pi c_k = sum over corners (-j A / k - B / k^2) e^(-j k a)         docs/theory/waveforms.md eq. 12
 * A bend is a small difference over an angle, so pieces that slope must last a while; others go one by one.
 */
#include "solve/straight_ripple.h"

#include <math.h>

#include "wave/lanes_turn.h"
#include "wave/segment.h"

enum { CORNERS = 4, CHORDS = 72 };
static const double pi = 3.14159265358979323846, two_pi = 6.28318530717958647693;
static const double briefest = 0.002; /* of the period; a bend then keeps 13 digits */

/* Of four waves; corners that a wave has not weigh nothing. */
typedef struct cornered {
    double angle[CORNERS][LANES], step[CORNERS][LANES], bend[CORNERS][LANES];
    double whole[LANES]; /* mean square about the mean */
    double *period;      /* [LANES] */
    size_t most;         /* corners of the wave that has most */
} cornered;

/* Four waves of as many pieces, all of which last and are without any ringing. false: they are not. */
FOUR_LANES static bool gather_alike(const hl_wave wave[LANES], cornered *all)
{
    const hl_segment *s[LANES] = {wave[0].segment, wave[1].segment, wave[2].segment, wave[3].segment};
    size_t n = wave[0].n;
    lanes period = {0}, time = {0}, mean = {0}, square = {0}, end = {0}, slope = {0};
    lanes_mask other = {0};
    for (int w = 1; w < LANES; w++)
        if (wave[w].n != n) return false;
    if (n == 0 || n > CORNERS) return false;
    for (size_t i = 0; i < n; i++, s[0]++, s[1]++, s[2]++, s[3]++) {
        lanes duration = lanes_of(s, duration);
        other |= ~(duration > 0.0) | (lanes_of(s, cosine) != 0.0) | (lanes_of(s, sine) != 0.0);
        period += duration;
    }
    for (size_t i = 0; i < n; i++) {
        for (int w = 0; w < LANES; w++) s[w] = &wave[w].segment[i];
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
    lanes_store(all->whole, square - mean * mean);
    lanes_store(all->period, period);
    all->most = n;
    return !(other[0] | other[1] | other[2] | other[3]);
}

/* One wave into lane w. */
static bool gather(const hl_wave *wave, cornered *all, int w)
{
    double period = hl_wave_period(wave), time = 0, mean = 0, square = 0;
    double end = 0, slope = 0; /* of the piece before, per radian */
    size_t n = 0;
    if (wave->n > CORNERS || !(period > 0)) return false;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        double start, rate;
        if (!segment_lasts(s)) continue;
        double share = s->duration / period;
        if (!segment_straight(s, &start, &rate) || (rate != 0 && share < briefest)) return false;
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
    if (n > all->most) all->most = n;
    all->period[w] = period;
    all->step[0][w] -= end; /* the first follows the last */
    all->bend[0][w] -= slope;
    for (; n < CORNERS; n++) all->angle[n][w] = all->step[n][w] = all->bend[n][w] = 0;
    all->whole[w] = square - mean * mean;
    return true;
}

FOUR_LANES static void add_corner(const double angle[LANES], const double step[LANES],
                                  const double bend[LANES], double re[][LANES], double im[][LANES])
{
    lanes turn = lanes_load(angle), a = lanes_load(step), b = lanes_load(bend), c1, s1;
    lanes_cos_sin(&turn, &c1, &s1);
    lanes c = c1, s = s1;
    for (int k = 0; k < RIPPLE_HARMONICS; k++) {
        double inverse = 1.0 / (k + 1);
        lanes stepped = a * inverse, bent = b * (inverse * inverse), before = c;
        lanes_store(re[k], lanes_load(re[k]) - (bent * c + stepped * s));
        lanes_store(im[k], lanes_load(im[k]) + (bent * s - stepped * c));
        c = c * c1 - s * s1;
        s = s * c1 + before * s1;
    }
}

/* From pi c_k to mean squares, what they leave of the whole in the tail. */
FOUR_LANES static void square_up(double re[][LANES], double im[][LANES], const double whole[LANES],
                                 double square[][RIPPLE_WAVE_LINES])
{
    lanes rest = lanes_load(whole);
    for (int k = 0; k < RIPPLE_HARMONICS; k++) {
        lanes a = lanes_load(re[k]), b = lanes_load(im[k]);
        lanes each = (a * a + b * b) * (0.5 / (pi * pi));
        rest -= each;
        for (int w = 0; w < LANES; w++) square[w][k] = each[w];
    }
    for (int w = 0; w < LANES; w++) ripple_tail(rest[w], square[w]);
}

static bool gather_each(const hl_wave wave[LANES], cornered *all)
{
    all->most = 0;
    for (int w = 0; w < LANES; w++)
        if (!gather(&wave[w], all, w)) return false;
    return true;
}

bool straight_ripple(const hl_wave wave[LANES], double period[LANES], double square[LANES][RIPPLE_WAVE_LINES])
{
    cornered all;
    all.period = period;
    if (!gather_alike(wave, &all) && !gather_each(wave, &all)) return false;
    double re[RIPPLE_HARMONICS][LANES] = {{0}}, im[RIPPLE_HARMONICS][LANES] = {{0}};
    for (size_t i = 0; i < all.most; i++) add_corner(all.angle[i], all.step[i], all.bend[i], re, im);
    square_up(re, im, all.whole, square);
    return true;
}

/* ------------------------------------------------------------ slow waves -- */

/* A ringing that does not decay, of the harmonic `met`, with chords. */
typedef struct chorded {
    size_t n; /* pieces that last */
    double period, cosine, sine;
    size_t met;                         /* 0: there is no ringing */
    double time[CHORDS];                /* s, where they begin */
    double start[CHORDS], rate[CHORDS]; /* of the chords, per second */
    double own_cosine[CHORDS], own_sine[CHORDS];
    double last[CHORDS]; /* s, how long */
} chorded;

static const double runs_on = 1e-12; /* of the ringing, from piece to piece */
static const double meets = 1e-11;   /* of a turn */
static const double no_chord = 1e-6; /* of the period: a chord so short has no slope worth the name */

/* false: it rings with more than one frequency, or decays, or there are too many pieces. */
static bool chords_of(const hl_wave *wave, chorded *c)
{
    double omega = 0, time = 0;
    c->n = 0;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        if (c->n == CHORDS || s->decay != 0 || (c->n && s->omega != omega)) return false;
        size_t k = c->n++;
        omega = s->omega;
        c->time[k] = time;
        c->last[k] = s->duration;
        c->start[k] = omega == 0 ? s->offset + s->cosine : s->offset;
        c->rate[k] = s->slope;
        c->own_cosine[k] = omega == 0 ? 0 : s->cosine;
        c->own_sine[k] = omega == 0 ? 0 : s->sine;
        time += s->duration;
    }
    if (!c->n) return false;
    for (size_t k = c->n; k % LANES; k++) c->own_cosine[k] = c->own_sine[k] = 0;
    c->period = time;
    c->cosine = c->own_cosine[0];
    c->sine = c->own_sine[0];
    double turns = omega * time / two_pi, whole = floor(turns + 0.5);
    c->met = whole <= RIPPLE_HARMONICS ? (size_t)whole : 0;
    return omega == 0 || (c->met > 0 && fabs(turns - whole) <= meets * whole);
}

/* Is the ringing of every piece that of the first, gone on to there? With the angles of the corners. */
FOUR_LANES static bool rings_on(const chorded *c, double angle[])
{
    double size = fabs(c->cosine) + fabs(c->sine), met = (double)c->met;
    for (size_t k = 0; k < c->n; k++) angle[k] = two_pi * (c->time[k] / c->period);
    for (size_t k = c->n; k % LANES; k++) angle[k] = 0;
    for (size_t k = 0; k < c->n; k += LANES) {
        lanes turn = met * lanes_load(angle + k), cosine, sine;
        lanes_cos_sin(&turn, &cosine, &sine);
        lanes off = lanes_load(c->own_cosine + k) - (c->cosine * cosine + c->sine * sine);
        lanes off_sine = lanes_load(c->own_sine + k) - (c->sine * cosine - c->cosine * sine);
        lanes square = off * off + off_sine * off_sine;
        for (size_t i = 0; i < LANES; i++)
            if (k + i < c->n && !(square[i] <= runs_on * runs_on * size * size)) return false;
    }
    return true;
}

/* Step and bend at each corner, and the mean square of the chords about their mean.  false: one is too steep.
 */
static bool corners_of(const chorded *c, double step[], double bend[], double *whole)
{
    double mean = 0, square = 0, per_radian = c->period / two_pi;
    size_t last = c->n - 1;
    double end = c->start[last] + c->rate[last] * c->last[last], rate = c->rate[last];
    for (size_t k = 0; k < c->n; k++) {
        double share = c->last[k] / c->period, rise = c->rate[k] * c->last[k];
        if (share < no_chord && rise != 0) return false;
        step[k] = c->start[k] - end;
        bend[k] = (c->rate[k] - rate) * per_radian;
        mean += share * (c->start[k] + 0.5 * rise);
        square += share * straight_mean_square(c->start[k], rise);
        end = c->start[k] + rise;
        rate = c->rate[k];
    }
    for (size_t k = c->n; k % LANES; k++) step[k] = bend[k] = 0;
    *whole = square - mean * mean;
    return true;
}

bool chord_ripple(const hl_wave *wave, double square[RIPPLE_WAVE_LINES])
{
    chorded c;
    double angle[CHORDS], step[CHORDS], bend[CHORDS], rest;
    if (!chords_of(wave, &c) || !rings_on(&c, angle) || !corners_of(&c, step, bend, &rest)) return false;
    double re[RIPPLE_HARMONICS][LANES] = {{0}}, im[RIPPLE_HARMONICS][LANES] = {{0}};
    for (size_t k = 0; k < c.n; k += LANES) add_corner(angle + k, step + k, bend + k, re, im);
    for (size_t k = 0; k < RIPPLE_HARMONICS; k++) {
        double a = ((re[k][0] + re[k][1]) + (re[k][2] + re[k][3])) / pi;
        double b = ((im[k][0] + im[k][1]) + (im[k][2] + im[k][3])) / -pi;
        rest -= 0.5 * (a * a + b * b);
        if (k + 1 == c.met) {
            a += c.cosine;
            b += c.sine;
        }
        square[k] = 0.5 * (a * a + b * b);
    }
    ripple_tail(rest, square);
    return true;
}
