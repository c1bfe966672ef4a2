/* mean_square.c - mean of the value and of its square over a period, four segments at a time.
 *
 * docs/theory/waveforms.md eq. 6 to 8 */
#include <math.h>

#include "wave/inverse_factorial.h"
#include "wave/lanes.h"
#include "wave/segment.h"

/* Where the whole exponent |z| is small the closed form subtracts nearly equal terms, so the value is written
 * as its Taylor polynomial in u = t/T and the square integrated by Gauss-Legendre. With y = Re(A e^(z u)),
 * y'' = 2 Re(z) y' - |z|^2 y gives one derivative from the two before. */
static const double short_exponent = 1.5625; /* |z|^2 */

typedef struct short_pieces {
    const hl_segment *segment[LANES];
    double widest; /* largest |z|^2 */
    int n;
} short_pieces;

/* Gauss-Legendre nodes and weights on 0..1.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, mapped */
typedef struct gauss {
    double node[8], weight[8];
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

enum { DEGREE = INVERSE_FACTORIALS };

/* Integral of the squares of all four, added up. Written once for each number of points and coefficients. */
WITHIN_LANES double integrate(const short_pieces *s, int degree, const gauss *g, int points)
{
    const hl_segment *const *p = s->segment;
    lanes coefficient[DEGREE], derivative[DEGREE], sum = {0.0};
    lanes duration = lanes_of(p, duration), x = -lanes_of(p, decay) * duration;
    lanes y = lanes_of(p, omega) * duration, cosine = lanes_of(p, cosine);
    lanes twice_x = x + x, square = x * x + y * y;
    derivative[0] = cosine;
    derivative[1] = cosine * x + lanes_of(p, sine) * y;
    coefficient[0] = derivative[0] + lanes_of(p, offset);
    coefficient[1] = derivative[1] + lanes_of(p, slope) * duration;
    for (int k = 2; k < degree; k++) {
        derivative[k] = twice_x * derivative[k - 1] - square * derivative[k - 2];
        coefficient[k] = derivative[k] * inverse_factorial[k];
    }
    for (int i = 0; i < points; i++) {
        lanes value = coefficient[degree - 1];
        for (int k = degree - 2; k >= 0; k--) value = value * g->node[i] + coefficient[k];
        sum += g->weight[i] * (value * value);
    }
    sum *= duration;
    return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

/* Coefficients whose sequel is below 1e-16 of the ringing; four points miss 5.6e-10 (2 |z|)^8 of its square,
 * five 3.9e-13 (2 |z|)^10, six 1.9e-16 (2 |z|)^12, seven 6.5e-20 (2 |z|)^14, eight 1.7e-23 (2 |z|)^16: below
 * 1e-15 all. */
FOUR_LANES static double short_integral(const short_pieces *s)
{
    if (s->widest < 2.5e-3) return integrate(s, 9, &four, 4);
    if (s->widest < 0.03) return integrate(s, 11, &five, 5);
    if (s->widest < 0.0625) return integrate(s, 13, &five, 5);
    if (s->widest < 0.25) return integrate(s, 15, &six, 6);
    if (s->widest < 0.32) return integrate(s, 16, &six, 6);
    if (s->widest < 0.64) return integrate(s, 17, &seven, 7);
    return integrate(s, DEGREE, &eight, 8);
}

/* Integral of the values themselves: of the Taylor polynomial term by term, 1 / (k + 1)! of each derivative.
 */
WITHIN_LANES double integrate_value(const short_pieces *s, int degree)
{
    const hl_segment *const *p = s->segment;
    lanes duration = lanes_of(p, duration), x = -lanes_of(p, decay) * duration;
    lanes y = lanes_of(p, omega) * duration, before = lanes_of(p, cosine);
    lanes twice_x = x + x, square = x * x + y * y, last = before * x + lanes_of(p, sine) * y;
    lanes sum = lanes_of(p, offset) + before + 0.5 * (lanes_of(p, slope) * duration + last);
    for (int k = 2; k < degree; k++) {
        lanes next = twice_x * last - square * before;
        sum += next * inverse_factorial[k + 1];
        before = last;
        last = next;
    }
    sum *= duration;
    return (sum[0] + sum[1]) + (sum[2] + sum[3]);
}

FOUR_LANES static double short_value_integral(const short_pieces *s)
{
    if (s->widest < 2.5e-3) return integrate_value(s, 8);
    if (s->widest < 0.03) return integrate_value(s, 10);
    if (s->widest < 0.25) return integrate_value(s, 14);
    return integrate_value(s, DEGREE - 1);
}

static void take_piece(short_pieces *pieces, const hl_segment *s, double square)
{
    if (square > pieces->widest) pieces->widest = square;
    pieces->segment[pieces->n++] = s;
}

/* Of the pieces at hand, which are then let go. */
static double pieces_integral(short_pieces *pieces, double (*integral_of)(const short_pieces *))
{
    static const hl_segment nothing = {.duration = 0.0};
    for (int i = pieces->n; i < LANES; i++) pieces->segment[i] = &nothing;
    double integral = integral_of(pieces);
    pieces->n = 0;
    pieces->widest = 0.0;
    return integral;
}

/* docs/theory/waveforms.md eq. 6 */
double hl_wave_average(const hl_wave *wave)
{
    double integral = 0.0, period = 0.0, start, slope;
    short_pieces pieces;
    pieces.n = 0;
    pieces.widest = 0.0;
    if (wave_mirrored(wave)) return 0.0;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        double T = s->duration;
        if (!segment_lasts(s)) continue;
        period += T;
        if (segment_straight(s, &start, &slope)) {
            integral += T * (start + 0.5 * slope * T);
            continue;
        }
        double square = T * T * (s->decay * s->decay + s->omega * s->omega);
        if (!(square <= short_exponent)) {
            integral += segment_integral(s, T);
            continue;
        }
        take_piece(&pieces, s, square);
        if (pieces.n == LANES) integral += pieces_integral(&pieces, short_value_integral);
    }
    if (pieces.n) integral += pieces_integral(&pieces, short_value_integral);
    return period > 0.0 ? integral / period : 0.0;
}

/* docs/theory/waveforms.md eq. 7 */
double hl_wave_mean_square(const hl_wave *wave)
{
    double integral = 0.0, period = 0.0, start, slope;
    size_t half = wave_mirrored(wave), n = half ? half : wave->n;
    short_pieces pieces;
    pieces.n = 0;
    pieces.widest = 0.0;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        period += s->duration;
        if (segment_straight(s, &start, &slope)) {
            integral += s->duration * straight_mean_square(start, slope * s->duration);
            continue;
        }
        double square = s->duration * s->duration * (s->decay * s->decay + s->omega * s->omega);
        if (!(square <= short_exponent)) {
            integral += s->duration * segment_mean_square(s);
            continue;
        }
        take_piece(&pieces, s, square);
        if (pieces.n == LANES) integral += pieces_integral(&pieces, short_integral);
    }
    if (pieces.n) integral += pieces_integral(&pieces, short_integral);
    return period > 0.0 ? integral / period : 0.0;
}

void hl_waves_mean_square(const hl_wave *const wave[], size_t waves, double square[])
{
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
