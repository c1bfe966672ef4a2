/* straight_ripple.c - the cycles of a stage that rides the mains half-wave are alike: each a few straight
 * pieces.  Four of them go side by side (wave/straight.h).  Its slow current is one ringing of the mains, run
 * on through many pieces, and a chord in each: there four corners go side by side, by the law of
 * wave/straight.c: docs/theory/waveforms.md eq. 12. */
#include "solve/straight_ripple.h"

#include <math.h>
#include <string.h>

#include "wave/lanes_turn.h"
#include "wave/segment.h"
#include "wave/straight.h"

enum { CHORDS = 72 };
static const double pi = 3.14159265358979323846, two_pi = 6.28318530717958647693;

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

bool straight_ripple(const hl_wave wave[LANES], double period[LANES], double square[])
{
    const hl_wave *const each[LANES] = {&wave[0], &wave[1], &wave[2], &wave[3]};
    double cosine[LANES][RIPPLE_HARMONICS], sine[LANES][RIPPLE_HARMONICS];
    straight_waves all;
    if (!straight_take(each, LANES, &all)) return false;
    straight_harmonics(&all, LANES, RIPPLE_HARMONICS, RIPPLE_HARMONICS, cosine[0], sine[0]);
    ripple_of(LANES, cosine[0], sine[0], all.ripple, square);
    memcpy(period, all.period, sizeof all.period);
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
