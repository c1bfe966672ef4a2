/* slow.c - harmonics of a wave whose pieces are short against what rings in them, as those of an inductor
 * between capacitors are: each is a polynomial of the ninth degree to rounding.
 *
 * By parts, until nothing is left to integrate, with the jump J_p of the p-th derivative (per radian) at each
 * corner's angle a; this is docs/theory/waveforms.md eq. 12 with what follows steps and bends:
 *   pi c_k = sum over corners e^(-j k a) sum over p of J_p / (j k)^(p + 1)
 */
#include "wave/slow.h"

#include <string.h>

#include "wave/four_pieces.h"
#include "wave/inverse_factorial.h"
#include "wave/lanes_turn.h"

enum { DEGREE = 9 };
static const double two_pi = 6.28318530717958647693, over_pi = 0.318309886183790671538;
/* Of |decay + j omega| t: the tenth power over 10! leaves 3e-17 of the ringing. */
static const double short_turn = 0.1;
/* Of |decay + j omega|, a radian: J_p falls by it from p to p + 1, so of the harmonics 1 to 4 J_8 and J_9 are
 * 1e-15 of the ringing, and from 5 on J_6 to J_9 are. */
static const double slight_rate = 0.0133;
enum { FIRST_DEGREE = 7, NEXT_DEGREE = 5 };
/* Of the period; a derivative then keeps 13 digits. What is level may be briefer. */
static const double briefest = 0.002, briefest_level = 1e-9;
static const double inverse[] = {0,       1,       1 / 2.0, 1 / 3.0, 1 / 4.0, 1 / 5.0,
                                 1 / 6.0, 1 / 7.0, 1 / 8.0, 1 / 9.0, 1 / 10.0};

/* Up to four pieces; those that a wave has not, or that do not last, are nought. */
typedef struct slow_wave {
    lanes angle, width; /* radians: where a piece begins, how long it is */
    lanes share;        /* of the period */
    lanes level, rise;  /* its straight part: at the beginning, and until the end */
    lanes cosine, sine;
    lanes decay, turn; /* until its end */
    bool slight;       /* all ring as slowly as slight_rate */
} slow_wave;

/* false: some piece rings too much, or is too brief for what it does. */
WITHIN_LANES bool gather(const hl_wave *wave, slow_wave *w)
{
    four_pieces p;
    take_pieces(wave->segment, wave->n, &p);
    double period = lanes_total(p.duration),
           before[LANES] = {0, p.duration[0], p.duration[0] + p.duration[1]};
    before[3] = before[2] + p.duration[2];
    if (!(period > 0)) return false;
    const lanes none = {0}, one = {1, 1, 1, 1};
    lanes per_period = one / period, decay = p.decay * p.duration, turn = p.omega * p.duration;
    lanes_mask lasts = p.duration > none;
    lanes_mask bent = (p.slope != none) | (p.cosine != none) | (p.sine != none);
    lanes_keep(&bent, &decay);
    lanes_keep(&bent, &turn);
    w->share = p.duration * per_period;
    w->width = two_pi * w->share;
    w->angle = two_pi * (lanes_load(before) * per_period);
    lanes reach = decay * decay + turn * turn;
    lanes_mask good = (reach <= short_turn * short_turn) &
                      ((w->share >= briefest) | (~bent & (w->share >= briefest_level)));
    good |= ~lasts;
    lanes_mask bad = ~good;
    if (lanes_any(&bad)) return false;
    w->level = p.offset;
    w->rise = p.slope * p.duration;
    w->cosine = p.cosine;
    w->sine = p.sine;
    w->decay = decay;
    w->turn = turn;
    lanes rest = one; /* a width for those that have none */
    lasts = ~lasts;
    lanes_keep(&lasts, &rest);
    w->width += rest;
    lanes_mask faster = ~(reach <= slight_rate * slight_rate * (w->width * w->width));
    w->slight = !lanes_any(&faster);
    return true;
}

/* Coefficients of each piece, in its own length: those of Re(A e^z x) are Re(A z^m) / m!. */
WITHIN_LANES void coefficients(const slow_wave *w, lanes c[DEGREE + 1])
{
    lanes re = w->cosine, im = -w->sine, decay = w->decay, turn = w->turn;
    for (int m = 0; m <= DEGREE; m++) {
        lanes before = re;
        c[m] = re * inverse_factorial[m];
        re = -(re * decay) - im * turn;
        im = before * turn - im * decay;
    }
    c[0] += w->level;
    c[1] += w->rise;
}

/* Mean and mean square of the pieces, times their share. */
WITHIN_LANES void moments(const slow_wave *w, const lanes c[DEGREE + 1], double *mean, double *square)
{
    lanes sum = {0}, squared = {0}, share = w->share;
    for (int m = 0; m <= DEGREE; m++) sum += c[m] * inverse[m + 1];
    for (int m = 0; 2 * m <= DEGREE; m++) {
        lanes with = 0.5 * inverse[2 * m + 1] * c[m];
        for (int n = m + 1; m + n <= DEGREE; n++) with += inverse[m + n + 1] * c[n];
        squared += 2.0 * c[m] * with;
    }
    sum *= share;
    squared *= share;
    *mean = lanes_total(sum);
    *square = lanes_total(squared);
}

/* From coefficients to the jumps of the derivatives where each piece begins. */
WITHIN_LANES void jumps(const slow_wave *w, lanes c[DEGREE + 1])
{
    lanes end[DEGREE + 1], per_radian = 1.0 / w->width, scale = {1, 1, 1, 1};
    for (int m = 0; m <= DEGREE; m++) end[m] = c[m];
    for (int i = 0; i < DEGREE; i++) /* the same about the end: Horner's shift */
        for (int m = DEGREE - 1; m >= i; m--) end[m] += end[m + 1];
    for (int p = 0; p <= DEGREE; p++) {
        lanes last = end[p] * scale;
        c[p] = c[p] * scale - __builtin_shufflevector(last, last, 3, 0, 1, 2);
        scale *= per_radian * (double)(p + 1);
    }
}

/* e^(j k angle) of each corner. */
typedef struct slow_turns {
    lanes once_re, once_im, re, im;
} slow_turns;

/* One harmonic of each corner, from jumps up to a degree; the turns then go on to the next. Jumps fall with p
 * as k does not. */
WITHIN_LANES void one_harmonic(const lanes jump[], int degree, double by, slow_turns *turn, lanes *re,
                               lanes *im)
{
    lanes even = jump[degree - 1], odd = jump[degree], c = turn->re, s = turn->im;
    double square = by * by;
    for (int p = degree - 3; p >= 0; p -= 2) {
        even = jump[p] - square * even;
        odd = jump[p + 1] - square * odd;
    }
    even *= by * over_pi;
    odd *= square * over_pi;
    *re = -(odd * c + even * s);
    *im = even * c - odd * s;
    turn->re = c * turn->once_re - s * turn->once_im;
    turn->im = s * turn->once_re + c * turn->once_im;
}

/* Those from + 1 to n, four at a time, from a corner in each lane to a harmonic in each. */
WITHIN_LANES void harmonics(const lanes jump[], int degree, size_t from, size_t n, slow_turns *turn,
                            double cosine[], double sine[])
{
    for (size_t k = from; k < n; k += LANES) {
        lanes re[LANES], im[LANES];
        for (size_t i = 0; i < LANES; i++)
            one_harmonic(jump, degree, 1.0 / (double)(k + i + 1), turn, &re[i], &im[i]);
        lanes_turned(re);
        lanes_turned(im);
        re[0] = (re[0] + re[1]) + (re[2] + re[3]);
        im[0] = (im[0] + im[1]) + (im[2] + im[3]);
        for (size_t i = 0; i < LANES && k + i < n; i++) {
            cosine[k + i] = re[0][i];
            sine[k + i] = im[0][i];
        }
    }
}

FOUR_LANES static bool spread_out(const hl_wave *wave, size_t n, double cosine[], double sine[],
                                  double *ripple)
{
    slow_wave w;
    lanes c[DEGREE + 1];
    double mean, square;
    if (!gather(wave, &w)) return false;
    coefficients(&w, c);
    if (ripple) {
        moments(&w, c, &mean, &square);
        *ripple = square - mean * mean;
    }
    jumps(&w, c);
    slow_turns turn;
    lanes_cos_sin(&w.angle, &turn.once_re, &turn.once_im);
    turn.re = turn.once_re;
    turn.im = turn.once_im;
    if (w.slight) {
        harmonics(c, FIRST_DEGREE, 0, n < LANES ? n : LANES, &turn, cosine, sine);
        harmonics(c, NEXT_DEGREE, LANES, n, &turn, cosine, sine);
    } else {
        harmonics(c, DEGREE, 0, n, &turn, cosine, sine);
    }
    return true;
}

bool slow_fourier(const hl_wave *wave, size_t n, double cosine[], double sine[], double *ripple)
{
    return wave->n <= LANES && spread_out(wave, n, cosine, sine, ripple);
}
