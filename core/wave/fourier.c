/* fourier.c - harmonics of any wave in closed form, from what happens at the borders of its segments.
 *
 * Wanted: c_k = cosine - j sine = 2/P integral of v(t) e^(-j k w t) over the period P, w = 2 pi / P.
 * Angles are in radians of the period, so time is w t, decay is d/w, and so on.  Harmonics come in blocks
 * of BLOCK, whose loops have no chain from one harmonic to the next; the powers e^(-j k a) of a border's
 * angle are made by doubling, so that their rounding grows as the logarithm of BLOCK. */
#include <math.h>

#include "wave/exponential.h"
#include "wave/lanes.h"
#include "wave/segment.h"

static const double pi = 3.14159265358979323846;
enum { BLOCK = 64 };

typedef struct block {
    size_t first, step, n; /* harmonics first, first + step, ..: n of them */
    double k[BLOCK], inverse[BLOCK];
    double re[BLOCK], im[BLOCK]; /* pi c_k */
    double period;
} block;

/* e^(-j k angle) for the harmonics of a block */
typedef struct turns {
    double re[BLOCK], im[BLOCK];
} turns;

static complex_number direction(double angle)
{
    return (complex_number){cos(angle), sin(angle)};
}

FOUR_LANES static void turns_of(const block *b, double angle, turns *turn)
{
    complex_number start = direction(-angle * (double)b->first);
    complex_number step = b->first == b->step ? start : direction(-angle * (double)b->step);
    turn->re[0] = start.re;
    turn->im[0] = start.im;
    for (size_t have = 1; have < b->n; have *= 2) {
        size_t more = b->n - have < have ? b->n - have : have;
        for (size_t i = 0; i < more; i++) {
            turn->re[have + i] = turn->re[i] * step.re - turn->im[i] * step.im;
            turn->im[have + i] = turn->re[i] * step.im + turn->im[i] * step.re;
        }
        step = complex_product(step, step);
    }
}

/* -------------------------------------------------------------- straight -- */

/* A line from p to q, between borders with turns e and f.  Integrating by parts twice, s = slope:
 *   pi c_k = -j/k (p e - q f) - s/k^2 (e - f)                     docs/theory/waveforms.md eq. 12
 * Loses digits as 1e-16 (q - p) / angle, so it serves pieces longer than SHORT of the period. */
static const double short_piece = 0.01;

FOUR_LANES static void straight_long(block *b, double p, double q, double angle, const turns *e,
                                     const turns *f)
{
    double slope = (q - p) / angle;
    for (size_t i = 0; i < b->n; i++) {
        double inverse = b->inverse[i], bend = slope * inverse;
        b->re[i] += inverse * ((p * e->im[i] - q * f->im[i]) - bend * (e->re[i] - f->re[i]));
        b->im[i] -= inverse * ((p * e->re[i] - q * f->re[i]) + bend * (e->im[i] - f->im[i]));
    }
}

/* About its middle, with x = k angle / 2, m the middle value and g half the rise:
 *   pi c_k = angle e^(-j k middle) (m S0(x) + j g S1(x)),
 *   S0 = sin x / x,  S1 = (x cos x - sin x) / x^2.                docs/theory/waveforms.md eq. 12a
 * Below x = 1/2 both come from their series (error < 1e-17), since S1 loses digits there. */
static void straight_short(block *b, double p, double q, double angle, double begin)
{
    turns place;
    turns_of(b, begin + 0.5 * angle, &place);
    double m = 0.5 * (p + q) * angle, g = 0.5 * (q - p) * angle;
    for (size_t i = 0; i < b->n; i++) {
        double x = 0.5 * angle * b->k[i], s0, s1;
        if (x < 0.5) {
            double y = x * x;
            s0 = 1.0 -
                 y / 6.0 *
                     (1.0 -
                      y / 20.0 * (1.0 - y / 42.0 * (1.0 - y / 72.0 * (1.0 - y / 110.0 * (1.0 - y / 156.0)))));
            s1 =
                -x / 3.0 *
                (1.0 -
                 y / 10.0 *
                     (1.0 - y / 28.0 *
                                (1.0 - y / 54.0 * (1.0 - y / 88.0 * (1.0 - y / 130.0 * (1.0 - y / 180.0))))));
        } else {
            complex_number width = direction(x);
            s0 = width.im / x;
            s1 = (width.re - s0) / x;
        }
        double re = m * s0, im = g * s1;
        b->re[i] += re * place.re[i] - im * place.im[i];
        b->im[i] += re * place.im[i] + im * place.re[i];
    }
}

static void straight(block *b, double p, double q, double angle, double begin, const turns *e, const turns *f)
{
    if (p == 0.0 && q == 0.0) return;
    if (angle > 2.0 * pi * short_piece)
        straight_long(b, p, q, angle, e, f);
    else
        straight_short(b, p, q, angle, begin);
}

/* --------------------------------------------------------------- ringing -- */

/* y = Re(A e^(lambda t)) obeys y'' + 2 d y' + (d^2 + nu^2) y = 0, so between borders with turns e and f
 *   pi c_k = (N(0) e - N(end) f) / D,  N = y' + 2 d y + j k y,
 *   D = (nu - k)(nu + k) + d^2 + 2 j d k.                         docs/theory/waveforms.md eq. 13
 * Rounding comes to 1e-16 of the amplitude over |lambda - j k|: all harmonics but one that it meets. */
typedef struct ring {
    double d, nu;
    double y0, y1;       /* at both borders */
    double bent0, bent1; /* y' + 2 d y */
} ring;

static ring ring_of(const hl_segment *s, double radian)
{
    double T = s->duration, envelope = exp(-s->decay * T);
    complex_number end = direction(s->omega * T);
    ring r = {.d = s->decay / radian, .nu = s->omega / radian, .y0 = s->cosine};
    r.y1 = envelope * (s->cosine * end.re + s->sine * end.im);
    double turning = envelope * (s->sine * end.re - s->cosine * end.im);
    r.bent0 = r.nu * s->sine + r.d * r.y0;
    r.bent1 = r.nu * turning + r.d * r.y1;
    return r;
}

FOUR_LANES static void ringing_apart(block *b, const ring *r, size_t from, size_t to, const turns *e,
                                     const turns *f)
{
    double square = r->d * r->d;
    for (size_t i = from; i < to; i++) {
        double k = b->k[i], even = (r->nu - k) * (r->nu + k) + square, odd = 2.0 * r->d * k;
        double im0 = k * r->y0, im1 = k * r->y1;
        double re = (r->bent0 * e->re[i] - im0 * e->im[i]) - (r->bent1 * f->re[i] - im1 * f->im[i]);
        double im = (r->bent0 * e->im[i] + im0 * e->re[i]) - (r->bent1 * f->im[i] + im1 * f->re[i]);
        double inverse = 1.0 / (even * even + odd * odd);
        b->re[i] += (re * even + im * odd) * inverse;
        b->im[i] += (im * even - re * odd) * inverse;
    }
}

/* The same by moments, z = (lambda - j k w) T and y = (conj(lambda) - j k w) T:
 *   pi c_k = angle/2 e^(-j k begin) (A E0(z) + conj(A) E0(y)),
 * exact where z is near 0.                                             docs/theory/waveforms.md eq. 13a */
static void ringing_met(block *b, const hl_segment *s, size_t i, double angle, const turns *e)
{
    double turn = b->k[i] * angle, decay = -s->decay * s->duration, own = s->omega * s->duration;
    complex_number z = {decay, own - turn}, y = {decay, -own - turn};
    complex_number a = {s->cosine, -s->sine}, a_mirror = {s->cosine, s->sine};
    complex_number e0 = complex_product(a, exponential_moment(z));
    complex_number mirror = complex_product(a_mirror, exponential_moment(y));
    complex_number sum = {0.5 * angle * (e0.re + mirror.re), 0.5 * angle * (e0.im + mirror.im)};
    b->re[i] += sum.re * e->re[i] - sum.im * e->im[i];
    b->im[i] += sum.re * e->im[i] + sum.im * e->re[i];
}

/* Harmonics within `meeting` of lambda, in harmonics, go by moments: at most one. */
static void ringing(block *b, const hl_segment *s, double angle, const turns *e, const turns *f)
{
    static const double meeting = 0.25, strange = 1e60; /* beyond, squares would overflow */
    ring r = ring_of(s, 2.0 * pi / b->period);
    size_t from = 0, to = 0; /* those by moments */
    double nearest = floor(r.nu + 0.5), place = (nearest - (double)b->first) / (double)b->step;
    if (!(fabs(r.d) < strange && r.nu < strange)) {
        to = b->n;
    } else if (fabs(r.d) < meeting && fabs(nearest - r.nu) < meeting && place >= 0.0 &&
               place < (double)b->n && place == floor(place)) {
        from = (size_t)place;
        to = from + 1;
    }
    ringing_apart(b, &r, 0, from, e, f);
    for (size_t i = from; i < to; i++) ringing_met(b, s, i, angle, e);
    ringing_apart(b, &r, to, b->n, e, f);
}

/* ------------------------------------------------------------------ wave -- */

/* Turns of the border at 0, which is also that at the end of the period. */
static void no_turns(const block *b, turns *turn)
{
    for (size_t i = 0; i < b->n; i++) {
        turn->re[i] = 1.0;
        turn->im[i] = 0.0;
    }
}

/* Of the border at half the period, for odd harmonics. */
static void half_turns(const block *b, turns *turn)
{
    for (size_t i = 0; i < b->n; i++) {
        turn->re[i] = -1.0;
        turn->im[i] = 0.0;
    }
}

/* The mirror adds as much again to odd harmonics. */
static void add_mirror(block *b)
{
    for (size_t i = 0; i < b->n; i++) {
        b->re[i] *= 2.0;
        b->im[i] *= 2.0;
    }
}

static size_t last_segment(const hl_wave *wave, size_t n)
{
    size_t i = n;
    while (i > 0 && !segment_lasts(&wave->segment[i - 1])) i--;
    return i - 1;
}

static void add_wave(block *b, const hl_wave *wave, size_t half)
{
    double radian = 2.0 * pi / b->period, begin = 0.0, start, slope;
    size_t last = last_segment(wave, half ? half : wave->n);
    turns border[2];
    turns *e = &border[0], *f = &border[1];
    no_turns(b, e);
    for (size_t i = 0; i <= last; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        double angle = radian * s->duration, end = begin + s->duration;
        if (i == last && half)
            half_turns(b, f);
        else if (i == last)
            no_turns(b, f);
        else
            turns_of(b, radian * end, f);
        if (segment_straight(s, &start, &slope)) {
            straight(b, start, start + slope * s->duration, angle, radian * begin, e, f);
        } else {
            straight(b, s->offset, s->offset + s->slope * s->duration, angle, radian * begin, e, f);
            ringing(b, s, angle, e, f);
        }
        begin = end;
        turns *before = e;
        e = f;
        f = before;
    }
    if (half) add_mirror(b);
}

/* A wave whose second half mirrors its first has odd harmonics only. */
void wave_fourier_alone(const hl_wave *wave, size_t n, double cosine[], double sine[])
{
    for (size_t k = 0; k < n; k++) cosine[k] = sine[k] = 0.0;
    double period = hl_wave_period(wave);
    if (!(period > 0.0)) return;
    size_t half = wave_mirrored(wave), step = half ? 2 : 1, wanted = (n + step - 1) / step;
    block b;
    b.period = period;
    b.step = step;
    for (size_t done = 0; done < wanted; done += b.n) {
        b.first = 1 + done * step;
        b.n = wanted - done < BLOCK ? wanted - done : BLOCK;
        for (size_t i = 0; i < b.n; i++) {
            b.k[i] = (double)(b.first + i * step);
            b.inverse[i] = 1.0 / b.k[i];
            b.re[i] = b.im[i] = 0.0;
        }
        add_wave(&b, wave, half);
        for (size_t i = 0; i < b.n; i++) {
            cosine[b.first - 1 + i * step] = b.re[i] / pi;
            sine[b.first - 1 + i * step] = -b.im[i] / pi;
        }
    }
}
