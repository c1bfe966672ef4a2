/* mean_square.c - mean of the value and of its square over a period, four segments at a time.
 *
 * docs/theory/waveforms.md eq. 6 to 8 */
#include <math.h>
#include <string.h>

#include "wave/four_pieces.h"
#include "wave/inverse_factorial.h"
#include "wave/lanes_turn.h"
#include "wave/segment.h"
#include "wave/straight.h"

/* Where the whole exponent |z| is small the closed form subtracts nearly equal terms, so the value is written
 * as its Taylor polynomial in u = t/T and the square integrated by Gauss-Legendre. With y = Re(A e^(z u)),
 * y'' = 2 Re(z) y' - |z|^2 y gives one derivative from the two before. */
static const double short_exponent = 4.0; /* |z|^2 */

/* One that rings too long for a Taylor sum goes alone: its integral is added, and it lasts no more. */
WITHIN_LANES void take_apart(four_pieces *p, const hl_segment *segment, const lanes_mask *longer,
                             double (*integral_of)(const hl_segment *), double *integral)
{
    for (int i = 0; i < LANES; i++) {
        if (!(*longer)[i]) continue;
        *integral += integral_of(&segment[i]);
        p->duration[i] = p->decay[i] = p->omega[i] = 0.0;
    }
}

/* |z|^2 of those that ring; 0 of the straight ones. */
WITHIN_LANES void exponents(const four_pieces *p, lanes *square)
{
    lanes_mask rings = (p->cosine != 0.0) | (p->sine != 0.0);
    *square = p->duration * p->duration * (p->decay * p->decay + p->omega * p->omega);
    lanes_keep(&rings, square);
}

/* The largest |z|^2 of pieces that are, or are made, short enough; 0: all are straight. */
WITHIN_LANES double widest_of(four_pieces *p, const hl_segment *segment,
                              double (*integral_of)(const hl_segment *), double *integral)
{
    lanes square;
    exponents(p, &square);
    lanes_mask longer = ~(square <= short_exponent);
    if (lanes_any(&longer)) {
        take_apart(p, segment, &longer, integral_of, integral);
        exponents(p, &square);
    }
    double first = square[0] > square[1] ? square[0] : square[1];
    double last = square[2] > square[3] ? square[2] : square[3];
    return first > last ? first : last;
}

/* Gauss-Legendre nodes and weights on 0..1.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, mapped */
typedef struct gauss {
    double node[9], weight[9];
} gauss;

static const gauss four = {
    {0.069431844202973712, 0.33000947820757187, 0.66999052179242813, 0.93056815579702629},
    {0.17392742256872693, 0.32607257743127307, 0.32607257743127307, 0.17392742256872693}};
static const gauss five = {
    {0.046910077030668004, 0.23076534494715845, 0.5, 0.76923465505284155, 0.953089922969332},
    {0.11846344252809454, 0.23931433524968324, 0.28444444444444444, 0.23931433524968324,
     0.11846344252809454}};
static const gauss six = {{0.033765242898423986, 0.16939530676686774, 0.38069040695840155,
                           0.61930959304159845, 0.83060469323313226, 0.96623475710157601},
                          {0.085662246189585173, 0.18038078652406930, 0.23395696728634552,
                           0.23395696728634552, 0.18038078652406930, 0.085662246189585173}};
static const gauss seven = {{0.025446043828620737, 0.12923440720030278, 0.29707742431130142, 0.5,
                             0.70292257568869858, 0.87076559279969722, 0.97455395617137926},
                            {0.064742483084434847, 0.13985269574463833, 0.19091502525255947,
                             0.20897959183673469, 0.19091502525255947, 0.13985269574463833,
                             0.064742483084434847}};
static const gauss eight = {
    {0.019855071751231884, 0.10166676129318664, 0.2372337950418355, 0.40828267875217511, 0.59171732124782495,
     0.7627662049581645, 0.89833323870681336, 0.98014492824876809},
    {0.050614268145188129, 0.11119051722668724, 0.15685332293894363, 0.181341891689181, 0.181341891689181,
     0.15685332293894363, 0.11119051722668724, 0.050614268145188129}};
static const gauss nine = {{0.01591988024618696, 0.0819844463366821, 0.1933142836497048, 0.33787328829809554,
                            0.5, 0.66212671170190446, 0.8066857163502952, 0.9180155536633179,
                            0.98408011975381304},
                           {0.040637194180787206, 0.090324080347428702, 0.13030534820146773,
                            0.15617353852000142, 0.16511967750062988, 0.15617353852000142,
                            0.13030534820146773, 0.090324080347428702, 0.040637194180787206}};

enum { DEGREE = INVERSE_FACTORIALS };

/* Straight pieces have their squares in closed form, straight_mean_square. */
WITHIN_LANES void straight_squares(const four_pieces *p, lanes *integral)
{
    lanes half = 0.5 * p->slope * p->duration, middle = p->offset + p->cosine + half;
    *integral += p->duration * (middle * middle + half * half * (1.0 / 3.0));
}

/* Written once for each number of points and coefficients. */
WITHIN_LANES void add_squares(const four_pieces *p, int degree, const gauss *g, int points, lanes *integral)
{
    lanes coefficient[DEGREE], derivative[DEGREE], sum = {0.0};
    lanes x = -p->decay * p->duration, y = p->omega * p->duration;
    lanes twice_x = x + x, square = x * x + y * y;
    derivative[0] = p->cosine;
    derivative[1] = p->cosine * x + p->sine * y;
    coefficient[0] = derivative[0] + p->offset;
    coefficient[1] = derivative[1] + p->slope * p->duration;
    for (int k = 2; k < degree; k++) {
        derivative[k] = twice_x * derivative[k - 1] - square * derivative[k - 2];
        coefficient[k] = derivative[k] * inverse_factorial[k];
    }
    for (int i = 0; i + 1 < points; i += 2) { /* two at a time share their coefficients */
        lanes first = coefficient[degree - 1], second = first;
        for (int k = degree - 2; k >= 0; k--) {
            first = first * g->node[i] + coefficient[k];
            second = second * g->node[i + 1] + coefficient[k];
        }
        sum += g->weight[i] * (first * first) + g->weight[i + 1] * (second * second);
    }
    if (points % 2) {
        lanes value = coefficient[degree - 1];
        for (int k = degree - 2; k >= 0; k--) value = value * g->node[points - 1] + coefficient[k];
        sum += g->weight[points - 1] * (value * value);
    }
    *integral += p->duration * sum;
}

/* The same from the middle on, for pieces that turn far: half of |z| is left to either side, so that 16
 * coefficients, or 20, leave as little as 20 or 24 do from the beginning on, and two points as far from the
 * middle share what is even and what is odd of them,
 *   value(-v)^2 + value(v)^2 = 2 (even^2 + odd^2). */
WITHIN_LANES void add_wide_squares(const four_pieces *p, int degree, const gauss *g, int points,
                                   lanes *integral)
{
    lanes coefficient[DEGREE], sum = {0.0}, x = -p->decay * p->duration, y = p->omega * p->duration;
    lanes_mask rings = (p->cosine != 0.0) | (p->sine != 0.0);
    lanes_keep(&rings, &x);
    lanes_keep(&rings, &y);
    lanes twice_x = x + x, square = x * x + y * y, growth = 0.5 * x, turn = 0.5 * y, envelope, c, s;
    lanes_exponential(&growth, &envelope);
    lanes_cos_sin(&turn, &c, &s);
    lanes rise = p->slope * p->duration, before = envelope * (p->cosine * c + p->sine * s);
    lanes last = before * x + envelope * (p->sine * c - p->cosine * s) * y;
    coefficient[0] = before + (p->offset + 0.5 * rise);
    coefficient[1] = last + rise;
    for (int k = 2; k < degree; k++) {
        lanes next = twice_x * last - square * before;
        coefficient[k] = next * inverse_factorial[k];
        before = last;
        last = next;
    }
    for (int i = 0; i < points / 2; i++) {
        double v = 0.5 - g->node[i];
        lanes even = coefficient[degree - 2], odd = coefficient[degree - 1];
        for (int k = degree - 4; k >= 0; k -= 2) {
            even = even * (v * v) + coefficient[k];
            odd = odd * (v * v) + coefficient[k + 1];
        }
        odd *= v;
        sum += 2.0 * g->weight[i] * (even * even + odd * odd);
    }
    if (points % 2) sum += g->weight[points / 2] * (coefficient[0] * coefficient[0]);
    *integral += p->duration * sum;
}

/* Coefficients whose sequel is below 1e-16 of the ringing; four points miss 5.6e-10 (2 |z|)^8 of its square,
 * five 3.9e-13 (2 |z|)^10, six 1.9e-16 (2 |z|)^12, seven 6.5e-20 (2 |z|)^14, eight 1.7e-23 (2 |z|)^16, nine
 * 3.5e-27 (2 |z|)^18: below 1e-15 all. */
WITHIN_LANES void short_squares(const four_pieces *p, double widest, lanes *integral)
{
    if (widest == 0.0)
        straight_squares(p, integral);
    else if (widest < 2.5e-3)
        add_squares(p, 9, &four, 4, integral);
    else if (widest < 0.03)
        add_squares(p, 11, &five, 5, integral);
    else if (widest < 0.0625)
        add_squares(p, 13, &five, 5, integral);
    else if (widest < 0.32)
        add_squares(p, 16, &six, 6, integral);
    else if (widest < 0.64)
        add_squares(p, 17, &seven, 7, integral);
    else if (widest < 1.5625)
        add_wide_squares(p, 16, &eight, 8, integral);
    else
        add_wide_squares(p, 20, &nine, 9, integral);
}

static double long_square(const hl_segment *s)
{
    return s->duration * segment_mean_square(s);
}

/* Of the values themselves: of the Taylor polynomial term by term, 1 / (k + 1)! of each derivative. */
WITHIN_LANES void add_values(const four_pieces *p, int degree, lanes *integral)
{
    lanes x = -p->decay * p->duration, y = p->omega * p->duration, before = p->cosine;
    lanes twice_x = x + x, square = x * x + y * y, last = before * x + p->sine * y;
    lanes sum = p->offset + before + 0.5 * (p->slope * p->duration + last);
    for (int k = 2; k < degree; k++) {
        lanes next = twice_x * last - square * before;
        sum += next * inverse_factorial[k + 1];
        before = last;
        last = next;
    }
    *integral += p->duration * sum;
}

WITHIN_LANES void short_values(const four_pieces *p, double widest, lanes *integral)
{
    if (widest < 2.5e-3)
        add_values(p, 8, integral);
    else if (widest < 0.03)
        add_values(p, 10, integral);
    else if (widest < 0.25)
        add_values(p, 14, integral);
    else if (widest < 1.5625)
        add_values(p, 19, integral);
    else
        add_values(p, DEGREE - 1, integral);
}

static double long_value(const hl_segment *s)
{
    return segment_integral(s, s->duration);
}

/* Over all pieces, the long ones one by one. */
WITHIN_LANES double mean_over(const hl_segment *segment, size_t n,
                              void (*add_short)(const four_pieces *, double, lanes *),
                              double (*long_of)(const hl_segment *))
{
    lanes integral = {0.0}, time = {0.0};
    double apart = 0.0;
    for (size_t i = 0; i < n; i += LANES) {
        four_pieces p;
        take_pieces(segment + i, n - i, &p);
        time += p.duration;
        double widest = widest_of(&p, segment + i, long_of, &apart);
        add_short(&p, widest, &integral);
    }
    double period = lanes_total(time);
    return period > 0.0 ? (apart + lanes_total(integral)) / period : 0.0;
}

FOUR_LANES static double mean_of_squares(const hl_segment *segment, size_t n)
{
    return mean_over(segment, n, short_squares, long_square);
}

FOUR_LANES static double mean_of_values(const hl_segment *segment, size_t n)
{
    return mean_over(segment, n, short_values, long_value);
}

/* docs/theory/waveforms.md eq. 6 */
double hl_wave_average(const hl_wave *wave)
{
    return wave_mirrored(wave) ? 0.0 : mean_of_values(wave->segment, wave->n);
}

/* docs/theory/waveforms.md eq. 7 */
double hl_wave_mean_square(const hl_wave *wave)
{
    size_t half = wave_mirrored(wave);
    return mean_of_squares(wave->segment, half ? half : wave->n);
}

/* Cycles of straight pieces, as a boost inductor carries, side by side. */
static bool straight_mean_squares(const hl_wave *const wave[], size_t waves, double square[])
{
    straight_waves all;
    if (waves != LANES || !straight_take(wave, waves, &all)) return false;
    for (size_t w = 0; w < LANES; w++) square[w] = all.square[w];
    return true;
}

void hl_waves_mean_square(const hl_wave *const wave[], size_t waves, double square[])
{
    if (straight_mean_squares(wave, waves, square)) return;
    for (size_t w = 0; w < waves; w++) {
        bool known = !wave[w];
        square[w] = 0.0;
        for (size_t v = 0; v < w && !known; v++) {
            known = wave[v] && (wave[v] == wave[w] || wave_moved_half(wave[v], wave[w]));
            if (known) square[w] = square[v];
        }
        if (!known) square[w] = hl_wave_mean_square(wave[w]);
    }
}

double hl_wave_rms(const hl_wave *wave)
{
    return sqrt(hl_wave_mean_square(wave));
}
