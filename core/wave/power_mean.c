/* power_mean.c - mean of |value|^p, as core loss by a Steinmetz exponent needs it, and with it the swing of
 * the flux: where the power is known at a few places, so is the integral. */
#include <math.h>

#include "wave/inverse_factorial.h"
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

/* |v|^p of four values. */
WITHIN_LANES void absolute_powers(const lanes *value, double p, lanes *power)
{
    lanes size;
    lanes_size(value, &size);
    lanes_power(&size, p, power);
}

/* One segment's values at four times. */
WITHIN_LANES void values_at(const hl_segment *s, const lanes *t, lanes *value)
{
    lanes growth = -s->decay * *t, turn = s->omega * *t, envelope, cosine, sine;
    lanes_hold(&growth, lanes_growth_most);
    lanes_exponential(&growth, &envelope);
    lanes_cos_sin(&turn, &cosine, &sine);
    *value = s->offset + s->slope * *t + envelope * (s->cosine * cosine + s->sine * sine);
}

/* Of |v|^p and of v, weighted. */
typedef struct sums {
    double power, value;
} sums;

/* Over n places from + h place, a multiple of four. */
FOUR_LANES static sums near_sums(const hl_segment *s, double p, double from, double h, const double place[],
                                 const double weight[], int n)
{
    lanes powers = {0.0}, values = {0.0}, value, power;
    for (int i = 0; i < n; i += LANES) {
        lanes t = from + h * lanes_load(place + i);
        values_at(s, &t, &value);
        absolute_powers(&value, p, &power);
        powers += lanes_load(weight + i) * power;
        values += lanes_load(weight + i) * value;
    }
    return (sums){lanes_total(powers), lanes_total(values)};
}

/* The same, also of segments that ring too long for lanes_turn.h. */
static sums weighed_sums(const hl_segment *s, double p, double from, double h, const double place[],
                         const double weight[], int n)
{
    sums sum = {0.0, 0.0};
    if (s->omega * s->duration < lanes_turn_most) return near_sums(s, p, from, h, place, weight, n);
    for (int i = 0; i < n; i++) {
        double value = segment_value(s, from + h * place[i], NULL);
        sum.power += weight[i] * pow(fabs(value), p);
        sum.value += weight[i] * value;
    }
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
    return h * (weighed_sums(segment, p, from, h, both_place, both_weight, HALF).power +
                weighed_sums(segment, p, to, -h, both_place, both_weight, HALF).power);
}

/* Places u^4 at the 16 nodes of Gauss-Legendre on 0..1, and weights times 4 u^3. */
enum { ONE = 16 };
static const double one_place[ONE] = {
    7.887697393289124e-10, 5.897963781791516e-07, 2.0373879868638333e-05, 0.00022370439637909347,
    0.0013325888253411164, 0.005392912676993652,  0.016647028603219306,   0.04192280383409168,
    0.08985791562713909,   0.16861446360369758,   0.28244253672172914,    0.42821434337398845,
    0.5934563156317694,    0.757152226754828,     0.8936733972727161,     0.9789697856902161,
};
static const double one_weight[ONE] = {
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
    return fabs(h) * weighed_sums(segment, p, zero, h, one_place, one_weight, ONE).power;
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

/* What a piece gives: the integral of |v|^p, and that of v up to its zero and from there on. */
typedef struct piece_sums {
    double power, before, after;
} piece_sums;

static bool steady_piece(const hl_segment *segment, double p, piece_sums *piece)
{
    int stretches = steady_stretches(segment);
    double h = segment->duration / stretches;
    *piece = (piece_sums){0.0, 0.0, 0.0};
    for (int k = 0; k < stretches; k++) {
        sums one = weighed_sums(segment, p, h * k, h, steady_node, steady_weight, STEADY_NODES);
        piece->power += h * one.power;
        piece->before += h * one.value;
    }
    return stretches > 0;
}

/* ------------------------------------------------------------------ short -- */

/* A short piece as its Taylor sum in u = t / T; y'' = 2 Re(z) y' - |z|^2 y gives one derivative of the
 * ringing from the two before. */
enum { SHORT_MOST = 20 };
typedef struct short_piece {
    double coefficient[SHORT_MOST];
    int n; /* of them; their sequel is below 1e-16 of the ringing */
} short_piece;

static void short_take(const hl_segment *s, double square, short_piece *piece)
{
    double T = s->duration, twice = -2.0 * s->decay * T, before = s->cosine;
    double last = s->omega * T * s->sine - s->decay * T * s->cosine, *c = piece->coefficient;
    piece->n = square < 2.5e-3 ? 9 : square < 0.03 ? 11 : square < 0.25 ? 15 : SHORT_MOST;
    c[0] = s->offset + before;
    c[1] = s->slope * T + last;
    for (int k = 2; k < piece->n; k++) {
        double next = twice * last - square * before;
        c[k] = next * inverse_factorial[k];
        before = last;
        last = next;
    }
}

static double short_at(const short_piece *piece, double u, double *slope)
{
    const double *c = piece->coefficient;
    double value = c[piece->n - 1];
    *slope = 0.0;
    for (int k = piece->n - 2; k >= 0; k--) {
        *slope = *slope * u + value;
        value = value * u + c[k];
    }
    return value;
}

/* n is a multiple of eight. */
FOUR_LANES static sums short_sums(const short_piece *piece, double p, double from, double h,
                                  const double place[], const double weight[], int n)
{
    const double *c = piece->coefficient;
    lanes powers = {0.0}, values = {0.0}, power;
    for (int i = 0; i < n; i += 2 * LANES) { /* two times four share their coefficients */
        lanes u[2], value[2];
        for (int j = 0; j < 2; j++) {
            u[j] = from + h * lanes_load(place + i + j * LANES);
            value[j] = 0.0 * u[j] + c[piece->n - 1];
        }
        for (int k = piece->n - 2; k >= 0; k--) {
            value[0] = value[0] * u[0] + c[k];
            value[1] = value[1] * u[1] + c[k];
        }
        for (int j = 0; j < 2; j++) {
            absolute_powers(&value[j], p, &power);
            powers += lanes_load(weight + i + j * LANES) * power;
            values += lanes_load(weight + i + j * LANES) * value[j];
        }
    }
    return (sums){lanes_total(powers), lanes_total(values)};
}

/* Of a piece whose slope is within STRAIGHT of that of its chord: from the chord's zero, at most a fifth of
 * the piece away, each step of Newton's leaves at most 0.75 of the square of what it was off. */
static double short_zero(const short_piece *piece, double start, double end)
{
    double u = start / (start - end), step = 1.0;
    for (int i = 0; i < 8 && fabs(step) > 1e-9; i++) {
        double slope, value = short_at(piece, u, &slope);
        step = value / slope;
        u -= step;
    }
    return fmin(fmax(u, 0.0), 1.0);
}

/* One short piece of a ringing, as a dead time is: it may be steady about the value at its middle, though
 * not about its straight part; or it may run through zero, so nearly straight that what bends it,
 * T^2 max|v''|, is less than STRAIGHT of its rise.
 * false: neither */
static const double straight_share = 0.6;

static bool short_piece_sums(const hl_segment *s, double p, piece_sums *sum)
{
    double T = s->duration, square = T * T * (s->decay * s->decay + s->omega * s->omega), slope;
    if (!(square <= 1.0)) return false;
    double rate = sqrt(square), reach = exp(1.5 * rate);
    double amplitude = sqrt(s->cosine * s->cosine + s->sine * s->sine);
    if (s->decay < 0.0) amplitude *= exp(-s->decay * T);
    short_piece piece;
    short_take(s, square, &piece);
    double start = piece.coefficient[0], end = short_at(&piece, 1.0, &slope);
    if (start * end > 0.0) {
        if (!(amplitude * (reach - 1.0) + 1.5 * fabs(s->slope) * T <=
              0.7 * fabs(short_at(&piece, 0.5, &slope))))
            return false;
        sums one = short_sums(&piece, p, 0.0, 1.0, steady_node, steady_weight, STEADY_NODES);
        *sum = (piece_sums){T * one.power, T * one.value, 0.0};
        return true;
    }
    if (!(amplitude * square * reach <= straight_share * fabs(end - start))) return false;
    double zero = short_zero(&piece, start, end);
    sums before = short_sums(&piece, p, zero, -zero, one_place, one_weight, ONE);
    sums after = short_sums(&piece, p, zero, 1.0 - zero, one_place, one_weight, ONE);
    double early = T * zero, late = T * (1.0 - zero);
    *sum = (piece_sums){early * before.power + late * after.power, early * before.value, late * after.value};
    return true;
}

static void straight_piece(double T, double start, double slope, double p, piece_sums *sum)
{
    double rise = slope * T, end = start + rise, zero = start * end < 0.0 ? -start / slope : T;
    double before = zero * (start + 0.5 * slope * zero);
    *sum = (piece_sums){T * straight_mean(start, rise, p), before, T * (start + 0.5 * rise) - before};
}

/* false: the piece is of another kind, or has more than one zero. */
static bool piece_told(const hl_segment *s, double p, piece_sums *sum)
{
    double start, slope;
    if (segment_straight(s, &start, &slope)) {
        straight_piece(s->duration, start, slope, p, sum);
        return true;
    }
    if (segment_rings_alone(s) && s->omega == 0.0) return false; /* that has its closed form */
    return short_piece_sums(s, p, sum) || steady_piece(s, p, sum);
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
    double windows = segment_windows(segment), width = segment->duration / windows, sum = 0.0;
    double taken = windows < WINDOWS_MAX ? windows : WINDOWS_MAX;
    for (int i = 0; i < taken; i++) {
        double from = floor(i * windows / taken) * width;
        sum += window(segment, p, from, from + width);
    }
    return sum * (windows / taken);
}

/* ----------------------------------------------------------------- waves -- */

/* How far the integral of a wave has come, and the extremes of that. */
typedef struct flux_range {
    double now, highest, lowest;
} flux_range;

static void flux_goes(flux_range *flux, double by)
{
    flux->now += by;
    if (flux->now > flux->highest) flux->highest = flux->now;
    if (flux->now < flux->lowest) flux->lowest = flux->now;
}

/* The integral of |v|^p over n segments; *told: whether that of v is followed in *flux. */
static double powers_of(const hl_segment segment[], size_t n, double p, double *period, flux_range *flux,
                        bool *told)
{
    double integral = 0.0;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &segment[i];
        piece_sums piece;
        if (!segment_lasts(s)) continue;
        *period += s->duration;
        if (piece_told(s, p, &piece)) {
            integral += piece.power;
            flux_goes(flux, piece.before);
            flux_goes(flux, piece.after);
        } else {
            integral += curved_integral(s, p);
            *told = false;
        }
    }
    return integral;
}

/* Of a mirrored wave V(t + P/2) = V(P/2) - V(t), as hl_wave_integral_swing has it. */
static double swing_of(const flux_range *flux, bool mirrored)
{
    double highest = flux->highest, lowest = flux->lowest;
    if (!mirrored) return highest - lowest;
    return fmax(highest, flux->now - lowest) - fmin(lowest, flux->now - highest);
}

double hl_wave_power_swing(const hl_wave *wave, double power, double *swing)
{
    flux_range flux = {0.0, 0.0, 0.0};
    size_t half = wave_mirrored(wave);
    double period = 0.0, integral = 0.0;
    bool told = power > 0.0 && power != 2.0;
    if (told) integral = powers_of(wave->segment, half ? half : wave->n, power, &period, &flux, &told);
    if (swing) *swing = told ? swing_of(&flux, half) : hl_wave_integral_swing(wave);
    if (power == 2.0) return hl_wave_mean_square(wave);
    return period > 0.0 ? integral / period : 0.0;
}

double hl_wave_power_mean(const hl_wave *wave, double power)
{
    return hl_wave_power_swing(wave, power, NULL);
}
