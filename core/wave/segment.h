/* segment.h - what the files of this folder know about one piece of a wave. */
#ifndef HEATLEDGER_SEGMENT_H
#define HEATLEDGER_SEGMENT_H

#include "heatledger/plugin.h"

/* True when the value is a straight line: *start at t = 0, then *slope. */
static inline bool segment_straight(const hl_segment *segment, double *start, double *slope)
{
    bool silent = segment->cosine == 0.0 && (segment->sine == 0.0 || segment->omega == 0.0);
    bool constant = segment->decay == 0.0 && segment->omega == 0.0;
    if (!silent && !constant) return false;
    *start = segment->offset + segment->cosine;
    *slope = segment->slope;
    return true;
}
/* Whether nothing but a damped ringing is left, whose zeros and decay are known in closed form. */
static inline bool segment_rings_alone(const hl_segment *segment)
{
    return segment->offset == 0.0 && segment->slope == 0.0;
}
/* Whether it takes up any time; a NaN duration does not. */
static inline bool segment_lasts(const hl_segment *segment)
{
    return segment->duration > 0.0;
}
/* Value and its first derivative at t. */
double segment_value(const hl_segment *segment, double t, double *slope);
/* The derivative, again a segment. */
hl_segment segment_derivative(const hl_segment *segment);
/* Integral of the value from 0 to t, 0 <= t <= duration. */
double segment_integral(const hl_segment *segment, double t);
/* Mean of the squared value over the duration, of a segment that rings through |z| > 1. */
double segment_mean_square(const hl_segment *segment);
/* The same of a straight line. */
static inline double straight_mean_square(double start, double rise)
{
    double half = 0.5 * rise, middle = start + half;
    return middle * middle + half * half / 3.0;
}

/* Segments in the first half of a wave whose second half is its mirror, value(t + P/2) = -value(t), to the
 * bit; 0 for all others.  Mains currents and the tank of a bridge are like that: half the work tells all. */
size_t wave_mirrored(const hl_wave *wave);
/* Whether wave b is wave a half a period later, to the bit but for where the half ends (1e-12 of the period),
 * as the windings of a centre tap carry: 1, with turned sign: -1, not: 0. */
int wave_moved_half(const hl_wave *a, const hl_wave *b);

/* hl_wave_fourier piece by piece, whatever the wave: what corners.h is not for. */
void wave_fourier_alone(const hl_wave *wave, size_t n, double cosine[], double sine[]);

/* A window is a stretch of at most WINDOW_HALF_WAVES half waves of the ringing; it holds at most TURNS_MAX
 * extrema and as many zeros, so that nothing has to be allocated. */
enum { WINDOW_HALF_WAVES = 8, TURNS_MAX = 16 };
/* Number of windows a segment takes: 1 unless it rings long; never more than 1e15. */
double segment_windows(const hl_segment *segment);
/* Inner extrema, rising in time, of the value between `from` and `to` (one window at most). */
size_t segment_turns(const hl_segment *segment, double from, double to, double times[TURNS_MAX]);
/* Sign changes likewise. */
size_t segment_zeros(const hl_segment *segment, double from, double to, double times[TURNS_MAX]);

#endif
