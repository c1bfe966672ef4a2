/* peak.c - largest and smallest value, and the swing of the running integral. */
#include <math.h>

#include "wave/segment.h"

typedef struct span {
    double highest, lowest;
} span;

static void widen(span *range, double value)
{
    if (value > range->highest) range->highest = value;
    if (value < range->lowest) range->lowest = value;
}

static void widen_by_turns(span *range, const hl_segment *segment, double from, double to)
{
    double turns[TURNS_MAX];
    size_t n = segment_turns(segment, from, to, turns);
    for (size_t i = 0; i < n; i++) widen(range, hl_segment_at(segment, turns[i]));
}

/* How far a segment can rise above, or fall below, both its ends: T^2 / 8 times its greatest curvature, that
 * of the ringing, |A| |lambda|^2 where it is largest.  docs/theory/waveforms.md eq. 10a */
static double bulge(const hl_segment *s)
{
    double amplitude = sqrt(s->cosine * s->cosine + s->sine * s->sine), T = s->duration;
    if (s->decay < 0.0) amplitude *= exp(-s->decay * T);
    return 0.125 * T * T * amplitude * (s->decay * s->decay + s->omega * s->omega);
}

/* Whether its slope, which changes by no more than T max|v''| = 8 room / T, keeps its sign. */
static bool keeps_its_way(const hl_segment *s, double room)
{
    double slope = s->slope - s->decay * s->cosine + s->omega * s->sine;
    return fabs(slope) * s->duration > 8.0 * room;
}

/* A segment that rings for many windows has its extremes in the first or the last one: line plus envelope
 * is convex (above) and concave (below), so its extremes are at the ends.  docs/theory/waveforms.md eq. 10 */
static void widen_inside(span *range, const hl_segment *segment)
{
    double end = segment->duration, windows = segment_windows(segment);
    if (windows < 3.0) {
        for (int w = 0; w < (int)windows; w++)
            widen_by_turns(range, segment, end * (w / windows), end * ((w + 1.0) / windows));
        return;
    }
    widen_by_turns(range, segment, 0.0, end / windows);
    widen_by_turns(range, segment, end * ((windows - 1.0) / windows), end);
}

/* Values at the ends of the first segments, not to be asked for twice. */
enum { ENDS_KEPT = 128 };

static double end_of(const hl_wave *wave, const double ends[], size_t i)
{
    return i < ENDS_KEPT ? ends[i] : hl_segment_at(&wave->segment[i], wave->segment[i].duration);
}

/* Ends first; then only those segments are searched that could reach beyond all of them. */
void hl_wave_peaks(const hl_wave *wave, double *highest, double *lowest)
{
    span range = {-INFINITY, INFINITY};
    double ends[ENDS_KEPT];
    size_t half = wave_mirrored(wave), n = half ? half : wave->n;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        bool lasts = segment_lasts(s);
        double end = lasts ? hl_segment_at(s, s->duration) : 0.0;
        if (i < ENDS_KEPT) ends[i] = end;
        if (!lasts) continue;
        widen(&range, s->offset + s->cosine);
        widen(&range, end);
    }
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        double start, slope;
        if (!segment_lasts(s) || segment_straight(s, &start, &slope)) continue;
        double room = bulge(s), from = s->offset + s->cosine, to = end_of(wave, ends, i);
        if (fmax(from, to) + room <= range.highest && fmin(from, to) - room >= range.lowest) continue;
        if (keeps_its_way(s, room)) continue;
        widen_inside(&range, s);
    }
    bool empty = !(range.highest >= range.lowest);
    if (empty) range.highest = range.lowest = 0.0;
    *highest = half ? fmax(range.highest, -range.lowest) : range.highest;
    *lowest = half ? -*highest : range.lowest;
}

/* The integral turns where the value crosses zero.  Of a segment that rings for more than WINDOWS_MAX windows
 * (16000 half waves) only the first and last half of them are walked, so that no input can hang the call. */
enum { WINDOWS_MAX = 2000 };

static void widen_by_integral(span *range, const hl_segment *segment, double before)
{
    double end = segment->duration, windows = segment_windows(segment);
    int walked = windows < WINDOWS_MAX ? (int)windows : WINDOWS_MAX;
    for (int k = 0; k < walked; k++) {
        double zeros[TURNS_MAX], w = k < WINDOWS_MAX / 2 ? k : windows - walked + k;
        size_t n = segment_zeros(segment, end * (w / windows), end * ((w + 1.0) / windows), zeros);
        for (size_t i = 0; i < n; i++) widen(range, before + segment_integral(segment, zeros[i]));
    }
}

/* Of a mirrored wave V(t + P/2) = V(P/2) - V(t).  docs/theory/waveforms.md eq. 11 */
double hl_wave_integral_swing(const hl_wave *wave)
{
    span range = {0.0, 0.0};
    double integral = 0.0;
    size_t half = wave_mirrored(wave), n = half ? half : wave->n;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        widen_by_integral(&range, s, integral);
        integral += segment_integral(s, s->duration);
        widen(&range, integral);
    }
    double other = half ? integral - range.lowest : range.highest;
    double lower = half ? integral - range.highest : range.lowest;
    return fmax(range.highest, other) - fmin(range.lowest, lower);
}
