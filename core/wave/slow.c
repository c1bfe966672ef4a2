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
#include "wave/harmonic_turn.h"
#include "wave/inverse_factorial.h"

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

/* What the jumps of one corner add up to at four harmonics, the even derivatives and the odd ones: jumps fall
 * with p as 1/k does not. */
WITHIN_LANES void corner_jumps(const lanes jump[], int corner, int degree, const lanes *square, lanes *even,
                               lanes *odd)
{
    *even = *square * -jump[degree - 1][corner] + jump[degree - 3][corner];
    *odd = *square * -jump[degree][corner] + jump[degree - 2][corner];
    for (int p = degree - 5; p >= 0; p -= 2) {
        *even = jump[p][corner] - *square * *even;
        *odd = jump[p + 1][corner] - *square * *odd;
    }
}

/* Four harmonics, from jumps up to a degree; the turns then go on to the next. The first corner is at angle
 * 0. */
WITHIN_LANES void four_harmonics(const lanes jump[], int degree, const lanes *by, harmonic_turn turn[LANES],
                                 lanes *cosine, lanes *sine)
{
    lanes square = *by * *by, even, odd, even_re, even_im = {0}, odd_re, odd_im = {0};
    corner_jumps(jump, 0, degree, &square, &even_re, &odd_re);
    for (int i = 1; i < LANES; i++) {
        harmonic_turn *t = &turn[i];
        corner_jumps(jump, i, degree, &square, &even, &odd);
        even_re += even * t->re;
        even_im += even * t->im;
        odd_re += odd * t->re;
        odd_im += odd * t->im;
        turn_on(t);
    }
    lanes scale = *by * over_pi;
    *cosine = -scale * (*by * odd_re + even_im);
    *sine = scale * (even_re - *by * odd_im);
}

/* Those from + 1 to n. */
WITHIN_LANES void harmonics(const lanes jump[], int degree, size_t from, size_t n, harmonic_turn turn[LANES],
                            double cosine[], double sine[])
{
    lanes k = (double)from + (lanes){1, 2, 3, 4}, re, im;
    for (; from < n; from += LANES, k += LANES) {
        lanes by = 1.0 / k;
        four_harmonics(jump, degree, &by, turn, &re, &im);
        if (n - from >= LANES) {
            lanes_store(cosine + from, re);
            lanes_store(sine + from, im);
            continue;
        }
        for (size_t i = 0; from + i < n; i++) {
            cosine[from + i] = re[i];
            sine[from + i] = im[i];
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
    harmonic_turn turn[LANES];
    corner_turns(&w.angle, 1, turn);
    if (w.slight) {
        harmonics(c, FIRST_DEGREE, 0, n < LANES ? n : LANES, turn, cosine, sine);
        harmonics(c, NEXT_DEGREE, LANES, n, turn, cosine, sine);
    } else {
        harmonics(c, DEGREE, 0, n, turn, cosine, sine);
    }
    return true;
}

bool slow_fourier(const hl_wave *wave, size_t n, double cosine[], double sine[], double *ripple)
{
    return wave->n <= LANES && spread_out(wave, n, cosine, sine, ripple);
}
