/* power_mean.c - mean of |value|^p, as core loss by a Steinmetz exponent needs it. */
#include <math.h>

#include "wave/lanes_power.h"
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
    return size * expm1((p + 1.0) * log1p(r)) / ((p + 1.0) * r);
}

/* ---------------------------------------------------------------- samples -- */

/* |v|^p at four times of one segment. */
WITHIN_LANES void powers_at(const hl_segment *s, double p, const lanes *t, lanes *power)
{
    lanes growth = -s->decay * *t, turn = s->omega * *t, envelope, cosine, sine;
    lanes_hold(&growth, lanes_growth_most);
    lanes_exponential(&growth, &envelope);
    lanes_cos_sin(&turn, &cosine, &sine);
    lanes value = s->offset + s->slope * *t + envelope * (s->cosine * cosine + s->sine * sine);
    lanes_bits bits;
    memcpy(&bits, &value, sizeof bits);
    bits &= 0x7fffffffffffffffull;
    memcpy(&value, &bits, sizeof value);
    lanes_power(&value, p, power);
}

/* Sum of weight |v(from + h place)|^p over n places, a multiple of four. */
FOUR_LANES static double near_sum(const hl_segment *s, double p, double from, double h, const double place[],
                                  const double weight[], int n)
{
    lanes sum = {0.0}, power;
    for (int i = 0; i < n; i += LANES) {
        lanes t = from + h * lanes_load(place + i);
        powers_at(s, p, &t, &power);
        sum += lanes_load(weight + i) * power;
    }
    return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

/* The same, of segments that ring too long for lanes_turn.h. */
static double weighed_sum(const hl_segment *s, double p, double from, double h, const double place[],
                          const double weight[], int n)
{
    double sum = 0.0;
    if (s->omega * s->duration < lanes_turn_most) return near_sum(s, p, from, h, place, weight, n);
    for (int i = 0; i < n; i++) sum += weight[i] * pow(fabs(segment_value(s, from + h * place[i], NULL)), p);
    return sum;
}

/* ----------------------------------------------------------------- pieces -- */

/* Places x = u^4 (35 - 84 u + 70 u^2 - 20 u^3), u the 16 nodes below the middle of Gauss-Legendre with 32
 * points on 0..1, and their weights times dx/du.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, mapped */
enum { HALF = 16 };
static const double both_place[HALF] = {
    1.2220064120028155e-10, 9.214893089132119e-08, 3.2321882842563257e-06, 3.62890298647789e-05,
    0.0002226514940361877,  0.000935144069061005,  0.003019989224428244,   0.00802532532093372,
    0.018320851398363255,   0.03698884596526036,   0.06741671102459325,    0.11261838387522356,
    0.17442377689228902,    0.25275734219141394,   0.3452408313791155,     0.44728661899983696,
};
static const double both_weight[HALF] = {
    1.2528225860529764e-09, 4.1509860646283953e-07, 9.216593121398002e-06, 7.490005650094253e-05,
    0.00035606726949238203, 0.001205858995466104,   0.0032195509226965622, 0.007187700512655949,
    0.013923914004089396,   0.02398829560748091,    0.0373838219412882,    0.05333712804322394,
    0.07026811171770177,    0.08600117411807107,    0.09819062751498857,   0.10485321635179376,
};

/* Integral of |v|^p over a monotone piece without a zero inside.  |v|^p has a branch point where v is zero,
 * at an end of the piece or close to it; t = from + h u^4 (35 - 84 u + 70 u^2 - 20 u^3) flattens both ends to
 * the fourth order, so that Gauss-Legendre converges:
 * 1e-10 for p >= 1, 1e-8 for p = 1/2 where the value nearly touches zero.  docs/theory/waveforms.md eq. 15 */
static double piece(const hl_segment *segment, double p, double from, double to)
{
    double h = to - from;
    return h * (weighed_sum(segment, p, from, h, both_place, both_weight, HALF) +
                weighed_sum(segment, p, to, -h, both_place, both_weight, HALF));
}

/* Places u^4 at the 16 nodes of Gauss-Legendre on 0..1, and weights times 4 u^3. */
static const double one_place[16] = {
    7.887697393289124e-10, 5.897963781791516e-07, 2.0373879868638333e-05, 0.00022370439637909347,
    0.0013325888253411164, 0.005392912676993652,  0.016647028603219306,   0.04192280383409168,
    0.08985791562713909,   0.16861446360369758,   0.28244253672172914,    0.42821434337398845,
    0.5934563156317694,    0.757152226754828,     0.8936733972727161,     0.9789697856902161,
};
static const double one_weight[16] = {
    8.082614198696039e-09, 2.6498452491134014e-06, 5.7714234850664615e-05, 0.00045593706082048044,
    0.002086757916436682,  0.006732653707604915,   0.016925497204757653,   0.03510457708948811,
    0.06218609127052151,   0.09609703987253167,    0.13107392774371773,    0.15837836384358311,
    0.1685351814095005,    0.15447743138699266,    0.11444005516953436,    0.05344611416179668,
};

/* From a zero to an end, of a value that is nearly straight between them: |v|^p is |t - zero|^p times a
 * smooth factor, so t = zero + h u^4 flattens the one end that needs it. */
static double from_zero(const hl_segment *segment, double p, double zero, double end)
{
    double h = end - zero;
    return fabs(h) * weighed_sum(segment, p, zero, h, one_place, one_weight, 16);
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
 * stretches h so short that line and ringing depart from the level by less than 70 % of it in the whole
 * ellipse that reaches three half stretches from the middle, |v|^p is analytic and 8 points leave 1e-12.
 *
 * return the number of stretches; 0: the value is not like that
 * source: L. N. Trefethen, SIAM Rev. 50(1), 2008, theorem 4.5 (number from memory)
 *         docs/theory/waveforms.md eq. 15a */
static int steady_stretches(const hl_segment *s)
{
    double T = s->duration, rate = sqrt(s->decay * s->decay + s->omega * s->omega);
    double amplitude = sqrt(s->cosine * s->cosine + s->sine * s->sine);
    double level = 0.7 * fmin(fabs(s->offset), fabs(s->offset + s->slope * T));
    if (!(amplitude < level) || s->offset * (s->offset + s->slope * T) < 0.0) return 0;
    if (s->decay < 0.0) amplitude *= exp(-s->decay * T);
    for (int stretches = 1; stretches <= STRETCHES_MAX; stretches *= 2) {
        double h = T / stretches;
        if (amplitude * exp(1.5 * rate * h) + 1.5 * fabs(s->slope) * h <= level) return stretches;
    }
    return 0;
}

static double steady_integral(const hl_segment *segment, double p, int stretches)
{
    double h = segment->duration / stretches, sum = 0.0;
    for (int k = 0; k < stretches; k++)
        sum += weighed_sum(segment, p, h * k, h, steady_node, steady_weight, STEADY_NODES);
    return h * sum;
}

/* One short piece of a ringing, as a dead time is: it may be steady about the value at its middle, though
 * not about its straight part; or it may run through zero, so nearly straight that what bends it,
 * T^2 max|v''|, is less than STRAIGHT of its rise.
 * return the integral; NaN: neither */
static const double straight_share = 0.6;

static double short_integral(const hl_segment *s, double p)
{
    double T = s->duration, rate = sqrt(s->decay * s->decay + s->omega * s->omega), zeros[TURNS_MAX];
    if (!(rate * T <= 1.0)) return NAN;
    double amplitude = sqrt(s->cosine * s->cosine + s->sine * s->sine) * fmax(1.0, exp(-s->decay * T));
    double reach = exp(1.5 * rate * T), start = s->offset + s->cosine, end = segment_value(s, T, NULL);
    if (start * end > 0.0) {
        bool steady = amplitude * (reach - 1.0) + 1.5 * fabs(s->slope) * T <=
                      0.7 * fabs(segment_value(s, 0.5 * T, NULL));
        return steady ? steady_integral(s, p, 1) : NAN;
    }
    if (!(amplitude * rate * rate * T * T * reach <= straight_share * fabs(end - start))) return NAN;
    if (start * end == 0.0) return start == 0.0 ? from_zero(s, p, 0.0, T) : from_zero(s, p, T, 0.0);
    if (segment_zeros(s, 0.0, T, zeros) != 1) return NAN;
    return from_zero(s, p, zeros[0], 0.0) + from_zero(s, p, zeros[0], T);
}

/* ---------------------------------------------------------------- ringing -- */

/* (e^z - 1) / z */
static double growth_moment(double z)
{
    return z == 0.0 ? 1.0 : expm1(z) / z;
}

/* From a zero to a time within the half wave beside it. While that is at most this many radians away, the
 * next zero stands so far outside that the 16 points of from_zero leave 1e-11. */
static const double near_zero = 1.7;

static double part_of_half_wave(const hl_segment *s, double p, double zero, double to)
{
    if (s->omega * fabs(to - zero) <= near_zero) return from_zero(s, p, zero, to);
    return zero < to ? piece(s, p, zero, to) : piece(s, p, to, zero);
}

/* A damped ringing about zero: each half wave is e^(-p decay pi / omega) of the one before, so a single one,
 * with what is before its zero and what is left at the end, tells all. Without ringing e^(-p decay t) is
 * left. return the integral; NaN: no zero inside, or damped too much in a half wave source: derived here,
 * docs/theory/waveforms.md eq. 15c */
static double ringing_integral(const hl_segment *s, double p)
{
    static const double pi = 3.14159265358979323846, most = 2.0;
    double T = s->duration, zeros[TURNS_MAX];
    if (s->omega == 0.0) return pow(fabs(s->cosine), p) * T * growth_moment(-p * s->decay * T);
    double half = pi / s->omega, damped = -p * s->decay * half;
    if (!(fabs(damped) <= most) || segment_zeros(s, 0.0, fmin(T, 2.0 * half), zeros) == 0) return NAN;
    double first = zeros[0], whole = floor((T - first) / half), last = first + whole * half;
    if (!(fabs(damped) * whole < lanes_growth_most)) return NAN;
    double sum = part_of_half_wave(s, p, first, 0.0);
    if (whole > 0.0)
        sum +=
            piece(s, p, first, first + half) * whole * growth_moment(damped * whole) / growth_moment(damped);
    return last < T ? sum + part_of_half_wave(s, p, last, T) : sum;
}

/* ----------------------------------------------------------------- curved -- */

/* A segment that rings for more than WINDOWS_MAX windows (8000 half waves) is sampled by that many evenly
 * spaced ones, so that no input can hang the call. */
enum { WINDOWS_MAX = 1000 };

static double curved_integral(const hl_segment *segment, double p)
{
    double integral = segment_rings_alone(segment) ? ringing_integral(segment, p) : NAN;
    if (!isnan(integral)) return integral;
    int stretches = steady_stretches(segment);
    if (stretches > 0) return steady_integral(segment, p, stretches);
    integral = short_integral(segment, p);
    if (!isnan(integral)) return integral;
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
