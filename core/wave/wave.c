/* wave.c - figures of a whole period: sums of its segments' closed forms. */
#include <math.h>

#include "wave/lanes.h"
#include "wave/segment.h"

static bool mirrors(const hl_segment *a, const hl_segment *b)
{
    return a->duration == b->duration && a->offset == -b->offset && a->slope == -b->slope &&
           a->decay == b->decay && a->omega == b->omega && a->cosine == -b->cosine && a->sine == -b->sine;
}

/* What all of them differ by from the mirror: a finite number differs by nothing from itself alone. */
FOUR_LANES static bool all_mirror(const hl_segment *a, const hl_segment *b, size_t n)
{
    const lanes early = {1.0, -1.0, -1.0, 1.0}, late = {1.0, 1.0, -1.0, -1.0};
    lanes_mask differ = {0};
    for (size_t i = 0; i < n; i++) {
        differ |= lanes_load(&a[i].duration) - early * lanes_load(&b[i].duration) != 0.0;
        differ |= lanes_load(&a[i].decay) - late * lanes_load(&b[i].decay) != 0.0;
    }
    return !lanes_any(&differ);
}

static bool segments_mirror(const hl_segment *a, const hl_segment *b, size_t n)
{
    return n == 0 || (mirrors(a, b) && all_mirror(a, b, n));
}

static bool segments_equal(const hl_segment *a, const hl_segment *b, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!(a[i].duration == b[i].duration && a[i].offset == b[i].offset && a[i].slope == b[i].slope &&
              a[i].decay == b[i].decay && a[i].omega == b[i].omega && a[i].cosine == b[i].cosine &&
              a[i].sine == b[i].sine))
            return false;
    return true;
}

/* Segments in the first half of the period; 0 when none ends there. */
static size_t first_half(const hl_wave *wave)
{
    double half = 0.5 * hl_wave_period(wave), time = 0.0;
    size_t n = 0;
    for (; n < wave->n && time < half * (1.0 - 1e-12); n++)
        if (segment_lasts(&wave->segment[n])) time += wave->segment[n].duration;
    return time <= half * (1.0 + 1e-12) ? n : 0;
}

int wave_moved_half(const hl_wave *a, const hl_wave *b)
{
    if (a->n != b->n || a->n < 2) return 0;
    size_t half = first_half(a), rest = a->n - half;
    if (half == 0 || rest == 0) return 0;
    if (segments_mirror(a->segment, b->segment + rest, half) &&
        segments_mirror(a->segment + half, b->segment, rest))
        return -1;
    return segments_equal(a->segment, b->segment + rest, half) &&
           segments_equal(a->segment + half, b->segment, rest);
}

size_t wave_mirrored(const hl_wave *wave)
{
    size_t half = wave->n / 2;
    if (wave->n % 2 || half == 0) return 0;
    return segments_mirror(wave->segment, wave->segment + half, half) ? half : 0;
}

double hl_wave_period(const hl_wave *wave)
{
    double sum = 0.0;
    for (size_t i = 0; i < wave->n; i++)
        if (segment_lasts(&wave->segment[i])) sum += wave->segment[i].duration;
    return sum;
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
