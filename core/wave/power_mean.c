/* power_mean.c - mean of |value|^p, as core loss by a Steinmetz exponent needs it. */
#include <math.h>

#include "wave/segment.h"

/* Mean of |v|^p along a straight line from v0 to v1.
 *   same sign: |v0|^p / (p+1) * ((1+r)^(p+1) - 1) / r, r = v1/v0 - 1, v0 the larger: no cancellation at r ->
 * 0 crossing:  (|v0|^(p+1) + |v1|^(p+1)) / ((p+1) (|v0| + |v1|)) docs/theory/waveforms.md eq. 14 */
static double straight_mean(double start, double rise, double p)
{
    double v0 = start, v1 = start + rise, larger = fabs(v0) >= fabs(v1) ? v0 : v1;
    if (larger == 0.0) return 0.0;
    double size = pow(fabs(larger), p), smaller = larger == v0 ? v1 : v0;
    if ((v0 < 0.0 && v1 > 0.0) || (v0 > 0.0 && v1 < 0.0)) {
        double ratio = fabs(smaller / larger);
        return size * (1.0 + pow(ratio, p + 1.0)) / ((p + 1.0) * (1.0 + ratio));
    }
    double r = -fabs(rise / larger);
    if (r == 0.0) return size;
    if (r < -1.0) r = -1.0;
    return size * expm1((p + 1.0) * log1p(r)) / ((p + 1.0) * r);
}

/* Gauss-Legendre, 32 points on 0..1: the nodes below the middle, mirrored.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, mapped */
enum { HALF = 16 };
static const double node[HALF] = {
    0.0013680690752592183, 0.0071942442273658326, 0.017618872206246784, 0.032546962031130153,
    0.051839422116973941,  0.075316193133715015,  0.10275810201602879,  0.13390894062985517,
    0.16847786653489241,   0.20614212137961885,   0.24655004553388529,  0.28932436193468231,
    0.33406569885893617,   0.38035631887393145,   0.42776401920860174,  0.47584616715613082,
};
static const double weight[HALF] = {
    0.0035093050047350482, 0.0081371973654528352, 0.012696032654631029, 0.017136931456510716,
    0.021417949011113342,  0.025499029631188087,  0.029342046739267772, 0.032911111388180925,
    0.036172897054424252,  0.039096947893535156,  0.041655962113473374, 0.043826046502201906,
    0.045586939347881945,  0.046922199540402283,  0.04781936003963743,  0.048270044257363899,
};

/* Integral of |v|^p over a monotone piece without a zero inside.  |v|^p has a branch point where v is zero,
 * at an end of the piece or close to it; t = from + h u^4 (35 - 84 u + 70 u^2 - 20 u^3) flattens both ends to
 * the fourth order, so that Gauss-Legendre converges:
 * 1e-10 for p >= 1, 1e-8 for p = 1/2 where the value nearly touches zero.  docs/theory/waveforms.md eq. 15 */
static double piece(const hl_segment *segment, double p, double from, double to)
{
    double h = to - from, sum = 0.0;
    for (int i = 0; i < HALF; i++) {
        double u = node[i], rest = 1.0 - u;
        double x = u * u * u * u * (35.0 + u * (-84.0 + u * (70.0 - 20.0 * u)));
        double stretch = 140.0 * u * u * u * rest * rest * rest;
        double left = fabs(segment_value(segment, from + h * x, NULL));
        double right = fabs(segment_value(segment, to - h * x, NULL));
        sum += weight[i] * stretch * (pow(left, p) + pow(right, p));
    }
    return h * sum;
}

/* A piece many time constants long is cut at growing distances from its steep end; past CUTS, 2000 time
 * constants away, nothing is left of the damped part. */
enum { CUTS = 9 };

static double damped_piece(const hl_segment *segment, double p, double from, double to)
{
    double reach = 4.0 / fabs(segment->decay), sum = 0.0;
    if (!(reach > 0.0)) return piece(segment, p, from, to);
    if (segment->decay > 0.0) {
        for (int i = 0; i < CUTS && to - from > 2.0 * reach; i++, from += reach, reach *= 2.0)
            sum += piece(segment, p, from, from + reach);
    } else if (segment->decay < 0.0) {
        for (int i = 0; i < CUTS && to - from > 2.0 * reach; i++, to -= reach, reach *= 2.0)
            sum += piece(segment, p, to - reach, to);
    }
    return sum + piece(segment, p, from, to);
}

/* Integral over one window, cut at its extrema and zeros. */
static double window(const hl_segment *segment, double p, double from, double to)
{
    double turns[TURNS_MAX], zeros[TURNS_MAX], sum = 0.0;
    size_t n_turns = segment_turns(segment, from, to, turns),
           n_zeros = segment_zeros(segment, from, to, zeros);
    size_t t = 0, z = 0;
    while (t < n_turns || z < n_zeros) {
        double next = z >= n_zeros || (t < n_turns && turns[t] <= zeros[z]) ? turns[t++] : zeros[z++];
        if (next > from) sum += damped_piece(segment, p, from, next);
        from = next > from ? next : from;
    }
    return sum + damped_piece(segment, p, from, to);
}

/* ----------------------------------------------------------------- steady -- */

/* Gauss-Legendre nodes and weights on 0..1, 8 points.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, mapped */
enum { STEADY_NODES = 8, STRETCHES_MAX = 8 };
static const double steady_node[STEADY_NODES] = {
    0.019855071751231884, 0.10166676129318664, 0.2372337950418355,  0.40828267875217511,
    0.59171732124782495,  0.7627662049581645,  0.89833323870681336, 0.98014492824876809,
};
static const double steady_weight[STEADY_NODES] = {
    0.050614268145188129, 0.11119051722668724, 0.15685332293894363, 0.181341891689181,
    0.181341891689181,    0.15685332293894363, 0.11119051722668724, 0.050614268145188129,
};

/* A value that stays near a level, as a winding's voltage does while it is clamped, needs no cuts: in
 * stretches of |lambda| h <= 1, line and ringing depart from the level by less than 70 % of it in the whole
 * ellipse that reaches three half stretches from the middle, so |v|^p is analytic there and 8 points leave
 * 1e-12.
 *
 * return the number of stretches; 0: the value is not like that
 * source: L. N. Trefethen, SIAM Rev. 50(1), 2008, theorem 4.5 (number from memory)
 *         docs/theory/waveforms.md eq. 15a */
static int steady_stretches(const hl_segment *s)
{
    double T = s->duration, rate = sqrt(s->decay * s->decay + s->omega * s->omega);
    double stretches = fmax(1.0, ceil(rate * T)), h = T / stretches;
    double amplitude = sqrt(s->cosine * s->cosine + s->sine * s->sine) * fmax(1.0, exp(-s->decay * T));
    double level = fmin(fabs(s->offset), fabs(s->offset + s->slope * T));
    if (s->offset * (s->offset + s->slope * T) < 0.0) return 0;
    bool steady = amplitude * exp(1.5 * rate * h) + 1.5 * fabs(s->slope) * h <= 0.7 * level;
    return steady && stretches <= STRETCHES_MAX ? (int)stretches : 0;
}

static double steady_integral(const hl_segment *segment, double p, int stretches)
{
    double h = segment->duration / stretches, sum = 0.0;
    for (int k = 0; k < stretches; k++)
        for (int i = 0; i < STEADY_NODES; i++) {
            double value = segment_value(segment, h * (k + steady_node[i]), NULL);
            sum += steady_weight[i] * pow(fabs(value), p);
        }
    return h * sum;
}

/* ----------------------------------------------------------------- curved -- */

/* A segment that rings for more than WINDOWS_MAX windows (8000 half waves) is sampled by that many evenly
 * spaced ones, so that no input can hang the call. */
enum { WINDOWS_MAX = 1000 };

static double curved_integral(const hl_segment *segment, double p)
{
    int stretches = steady_stretches(segment);
    if (stretches > 0) return steady_integral(segment, p, stretches);
    double windows = segment_windows(segment), width = segment->duration / windows, sum = 0.0;
    double taken = windows < WINDOWS_MAX ? windows : WINDOWS_MAX;
    for (int i = 0; i < taken; i++) {
        double from = floor(i * windows / taken) * width;
        sum += window(segment, p, from, from + width);
    }
    return sum * (windows / taken);
}

double hl_wave_power_mean(const hl_wave *wave, double power)
{
    if (!(power > 0.0)) return 0.0;
    if (power == 2.0) return hl_wave_mean_square(wave);
    double integral = 0.0, period = 0.0;
    size_t half = wave_mirrored(wave), n = half ? half : wave->n;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        double start, slope;
        if (segment_straight(s, &start, &slope))
            integral += s->duration * straight_mean(start, slope * s->duration, power);
        else
            integral += curved_integral(s, power);
        period += s->duration;
    }
    return period > 0.0 ? integral / period : 0.0;
}
