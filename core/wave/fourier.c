/* fourier.c - harmonics of a wave: closed form per segment, one rotation per harmonic.
 *
 * Wanted: c_k = cosine - j sine = 2/P integral of v(t) e^(-j k w t) over the period P, w = 2 pi / P.
 * Sines are taken afresh every BLOCK harmonics, so rounding of the rotations stays below BLOCK * 1e-16. */
#include <math.h>

#include "wave/exponential.h"
#include "wave/segment.h"

static const double pi = 3.14159265358979323846;
enum { BLOCK = 64 };

typedef struct block {
    size_t first, n; /* harmonics first .. first + n - 1 */
    double *cosine, *sine;
    double period;
} block;

static complex_number direction(double angle)
{
    return (complex_number){cos(angle), sin(angle)};
}

/* A straight piece about its middle t_m, with x = k w T / 2, m the middle value and g half the rise:
 *   integral = T e^(-j k w t_m) (m S0(x) + j g S1(x)),
 *   S0 = sin x / x,  S1 = (x cos x - sin x) / x^2.          docs/theory/waveforms.md eq. 12
 * Below x = 1/2 both are taken from their series (error < 1e-17), since S1 loses digits there. */
static void straight(const block *b, double start, double slope, double begin, double duration)
{
    double half_step = pi * duration / b->period;
    double middle_step = 2.0 * pi * (begin + 0.5 * duration) / b->period;
    complex_number place = direction(middle_step * (double)b->first), place_step = direction(middle_step);
    complex_number width = direction(half_step * (double)b->first), width_step = direction(half_step);
    double factor = 2.0 * duration / b->period;
    double g = 0.5 * slope * duration * factor, m = start * factor + g;
    double inverse_step = 1.0 / half_step;
    for (size_t i = 0; i < b->n; i++) {
        double k = (double)(b->first + i), x = k * half_step, s0, s1;
        if (x < 0.5) {
            double q = x * x;
            s0 = 1.0 -
                 q / 6.0 *
                     (1.0 -
                      q / 20.0 * (1.0 - q / 42.0 * (1.0 - q / 72.0 * (1.0 - q / 110.0 * (1.0 - q / 156.0)))));
            s1 =
                -x / 3.0 *
                (1.0 -
                 q / 10.0 *
                     (1.0 - q / 28.0 *
                                (1.0 - q / 54.0 * (1.0 - q / 88.0 * (1.0 - q / 130.0 * (1.0 - q / 180.0))))));
        } else {
            double inverse = inverse_step / k;
            s0 = width.im * inverse;
            s1 = (width.re - s0) * inverse;
        }
        double re = m * s0, im = g * s1;
        b->cosine[i] += re * place.re + im * place.im;
        b->sine[i] += re * place.im - im * place.re;
        place = complex_product(place, place_step);
        width = complex_product(width, width_step);
    }
}

/* The ringing Re(A e^(lambda t)), with z = (lambda - j k w) T and y = (conj(lambda) - j k w) T:
 *   integral = T/2 e^(-j k w t_0) (A E0(z) + conj(A) E0(y)).   docs/theory/waveforms.md eq. 13
 * Where the ringing meets a harmonic z is near 0 and E0 comes from its series. */
static void ringing(const block *b, const hl_segment *s, double begin)
{
    double T = s->duration, w = 2.0 * pi / b->period;
    complex_number place = direction(w * begin * (double)b->first), place_step = direction(w * begin);
    complex_number turn = direction(-w * T * (double)b->first), turn_step = direction(-w * T);
    complex_number a = {s->cosine, -s->sine}, a_mirror = {s->cosine, s->sine};
    double envelope = exp(-s->decay * T);
    complex_number end = direction(s->omega * T);
    complex_number grown = {envelope * end.re, envelope * end.im}, grown_mirror = {grown.re, -grown.im};
    double factor = T / b->period;
    for (size_t i = 0; i < b->n; i++) {
        double kw = (double)(b->first + i) * w;
        complex_number z = {-s->decay * T, (s->omega - kw) * T}, y = {-s->decay * T, (-s->omega - kw) * T};
        complex_number ez = complex_product(grown, turn), ey = complex_product(grown_mirror, turn);
        ez.re -= 1.0;
        ey.re -= 1.0;
        complex_number e0 = complex_product(a, exponential_moment_0(z, ez));
        complex_number e0_mirror = complex_product(a_mirror, exponential_moment_0(y, ey));
        double re = factor * (e0.re + e0_mirror.re), im = factor * (e0.im + e0_mirror.im);
        b->cosine[i] += re * place.re + im * place.im;
        b->sine[i] += re * place.im - im * place.re;
        place = complex_product(place, place_step);
        turn = complex_product(turn, turn_step);
    }
}

void hl_wave_fourier(const hl_wave *wave, size_t n, double cosine[], double sine[])
{
    for (size_t k = 0; k < n; k++) cosine[k] = sine[k] = 0.0;
    double period = hl_wave_period(wave);
    if (!(period > 0.0)) return;
    for (size_t k = 0; k < n; k += BLOCK) {
        block b = {k + 1, n - k < BLOCK ? n - k : BLOCK, cosine + k, sine + k, period};
        double begin = 0.0;
        for (size_t i = 0; i < wave->n; i++) {
            const hl_segment *s = &wave->segment[i];
            if (!segment_lasts(s)) continue;
            double start, slope;
            if (segment_straight(s, &start, &slope)) {
                if (start != 0.0 || slope != 0.0) straight(&b, start, slope, begin, s->duration);
            } else {
                if (s->offset != 0.0 || s->slope != 0.0)
                    straight(&b, s->offset, s->slope, begin, s->duration);
                ringing(&b, s, begin);
            }
            begin += s->duration;
        }
    }
}
