/* wave.c - figures of a whole period: sums of its segments' closed forms. */
#include <math.h>

#include "wave/segment.h"

static bool mirrors(const hl_segment *a, const hl_segment *b)
{
    return a->duration == b->duration && a->offset == -b->offset && a->slope == -b->slope &&
           a->decay == b->decay && a->omega == b->omega && a->cosine == -b->cosine && a->sine == -b->sine;
}

size_t wave_mirrored(const hl_wave *wave)
{
    size_t half = wave->n / 2;
    if (wave->n % 2) return 0;
    for (size_t i = 0; i < half; i++)
        if (!mirrors(&wave->segment[i], &wave->segment[half + i])) return 0;
    return half;
}

double hl_wave_period(const hl_wave *wave)
{
    double sum = 0.0;
    for (size_t i = 0; i < wave->n; i++)
        if (segment_lasts(&wave->segment[i])) sum += wave->segment[i].duration;
    return sum;
}

/* docs/theory/waveforms.md eq. 6 */
double hl_wave_average(const hl_wave *wave)
{
    double integral = 0.0, period = 0.0;
    if (wave_mirrored(wave)) return 0.0;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        integral += segment_integral(s, s->duration);
        period += s->duration;
    }
    return period > 0.0 ? integral / period : 0.0;
}

/* docs/theory/waveforms.md eq. 7 */
double hl_wave_mean_square(const hl_wave *wave)
{
    double integral = 0.0, period = 0.0;
    size_t half = wave_mirrored(wave), n = half ? half : wave->n;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        integral += s->duration * segment_mean_square(s);
        period += s->duration;
    }
    return period > 0.0 ? integral / period : 0.0;
}

double hl_wave_rms(const hl_wave *wave)
{
    return sqrt(hl_wave_mean_square(wave));
}

double hl_wave_at(const hl_wave *wave, double t)
{
    const hl_segment *last = NULL;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        last = s;
        if (t < s->duration) return hl_segment_at(s, t > 0.0 ? t : 0.0);
        t -= s->duration;
    }
    return last ? hl_segment_at(last, last->duration) : 0.0;
}
