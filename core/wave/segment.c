/* segment.c - value, integral and mean square of one segment in closed form. */
#include "wave/segment.h"

#include <math.h>

#include "wave/exponential.h"
#include "wave/lanes.h"

bool segment_straight(const hl_segment *segment, double *start, double *slope)
{
    bool silent = segment->cosine == 0.0 && (segment->sine == 0.0 || segment->omega == 0.0);
    bool constant = segment->decay == 0.0 && segment->omega == 0.0;
    if (!silent && !constant) return false;
    *start = segment->offset + segment->cosine;
    *slope = segment->slope;
    return true;
}

double segment_value(const hl_segment *segment, double t, double *slope)
{
    double envelope = segment->decay != 0.0 ? exp(-segment->decay * t) : 1.0;
    double angle = segment->omega * t;
    double c = cos(angle), s = sin(angle);
    double ringing = envelope * (segment->cosine * c + segment->sine * s);
    if (slope) {
        double turning = envelope * segment->omega * (segment->sine * c - segment->cosine * s);
        *slope = segment->slope - segment->decay * ringing + turning;
    }
    return segment->offset + segment->slope * t + ringing;
}

double hl_segment_at(const hl_segment *segment, double t)
{
    double start, slope;
    if (segment_straight(segment, &start, &slope)) return start + slope * t;
    return segment_value(segment, t, NULL);
}

hl_segment segment_derivative(const hl_segment *segment)
{
    hl_segment d = *segment;
    d.offset = segment->slope;
    d.slope = 0.0;
    d.cosine = segment->omega * segment->sine - segment->decay * segment->cosine;
    d.sine = -segment->omega * segment->cosine - segment->decay * segment->sine;
    return d;
}

/* The ringing as Re(A e^(lambda t)): A = cosine - j sine, lambda = -decay + j omega.
 * docs/theory/waveforms.md eq. 2 */
static complex_number amplitude(const hl_segment *segment)
{
    return (complex_number){segment->cosine, -segment->sine};
}

/* docs/theory/waveforms.md eq. 6 */
double segment_integral(const hl_segment *segment, double t)
{
    double start, slope;
    if (segment_straight(segment, &start, &slope)) return t * (start + 0.5 * slope * t);
    complex_number z = {-segment->decay * t, segment->omega * t};
    double ringing = complex_product(amplitude(segment), exponential_moment(z)).re;
    return t * (segment->offset + 0.5 * segment->slope * t + ringing);
}

/* Gauss-Legendre nodes and weights on 0..1.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, mapped */
typedef struct gauss {
    double node[8], weight[8];
} gauss;

static const gauss four = {
    {0.069431844202973712, 0.33000947820757187, 0.66999052179242813, 0.93056815579702629},
    {0.17392742256872693, 0.32607257743127307, 0.32607257743127307, 0.17392742256872693}};
static const gauss eight = {
    {0.019855071751231884, 0.10166676129318664, 0.2372337950418355, 0.40828267875217511, 0.59171732124782495,
     0.7627662049581645, 0.89833323870681336, 0.98014492824876809},
    {0.050614268145188129, 0.11119051722668724, 0.15685332293894363, 0.181341891689181, 0.181341891689181,
     0.15685332293894363, 0.11119051722668724, 0.050614268145188129}};

/* Where the whole exponent |z| <= 1 the closed form subtracts nearly equal terms, so the value is written as
 * its Taylor polynomial in u = t/T and the square integrated by 4 or 8 points; the remainder of both is below
 * 1e-16 there.  docs/theory/waveforms.md eq. 8 */
enum { DEGREE = 18 };

/* 1 / (k + 1) */
static const double inverse[DEGREE] = {
    1.0,      1.0 / 2,  1.0 / 3,  1.0 / 4,  1.0 / 5,  1.0 / 6,  1.0 / 7,  1.0 / 8,  1.0 / 9,
    1.0 / 10, 1.0 / 11, 1.0 / 12, 1.0 / 13, 1.0 / 14, 1.0 / 15, 1.0 / 16, 1.0 / 17, 1.0 / 18,
};

/* Coefficients whose sequel is below 1e-16 of the ringing. */
static int degree_for(double square)
{
    if (square < 2.5e-3) return 9;
    if (square < 0.0625) return 13;
    return DEGREE;
}

/* Square of the polynomial, integrated.  Written once for each number of points, so that all go side by side.
 */
static inline double integrate(const double coefficient[], int degree, const gauss *g, int points)
{
    double value[8] = {0.0}, sum = 0.0;
    for (int k = degree - 1; k >= 0; k--)
        for (int i = 0; i < points; i++) value[i] = value[i] * g->node[i] + coefficient[k];
    for (int i = 0; i < points; i++) sum += g->weight[i] * value[i] * value[i];
    return sum;
}

FOUR_LANES static double integrate_square(const double coefficient[], int degree, bool few)
{
    return few ? integrate(coefficient, degree, &four, 4) : integrate(coefficient, degree, &eight, 8);
}

/* Four points miss 5.6e-10 (2 |z|)^8 of the ringing's square: 7e-16 up to |z| = 1/11. */
static double mean_square_short(const hl_segment *segment, complex_number z)
{
    double coefficient[DEGREE], square = z.re * z.re + z.im * z.im;
    complex_number term = amplitude(segment);
    int degree = degree_for(square);
    for (int k = 0; k < degree; k++) {
        coefficient[k] = term.re;
        term = complex_product(term, z);
        term.re *= inverse[k];
        term.im *= inverse[k];
    }
    coefficient[0] += segment->offset;
    coefficient[1] += segment->slope * segment->duration;
    return integrate_square(coefficient, degree, square < 1.0 / 121);
}

/* With p = offset + slope t and q = Re(A e^(lambda t)): mean of p^2 + 2 p q + q^2, where
 * q^2 = 1/2 Re(A^2 e^(2 lambda t)) + 1/2 |A|^2 e^(2 Re(lambda) t).  docs/theory/waveforms.md eq. 7 */
static double mean_square_long(const hl_segment *segment, complex_number z)
{
    complex_number a = amplitude(segment);
    complex_number once = exponential_minus_one(z);                                         /* e^z - 1 */
    complex_number twice = complex_product(once, (complex_number){once.re + 2.0, once.im}); /* e^2z - 1 */
    double p0 = segment->offset, p1 = segment->slope * segment->duration;

    complex_number e0 = exponential_moment_0(z, once);
    complex_number e1 = exponential_moment_1(z, once);
    double straight = p0 * p0 + p0 * p1 + p1 * p1 / 3.0;
    double mixed = complex_product(a, (complex_number){p0 * e0.re + p1 * e1.re, p0 * e0.im + p1 * e1.im}).re;

    complex_number z2 = {2.0 * z.re, 2.0 * z.im};
    double turning = complex_product(complex_product(a, a), exponential_moment_0(z2, twice)).re;
    double steady = (a.re * a.re + a.im * a.im) * (z2.re == 0.0 ? 1.0 : expm1(z2.re) / z2.re);
    return straight + 2.0 * mixed + 0.5 * (turning + steady);
}

double segment_mean_square(const hl_segment *segment)
{
    double start, slope;
    if (segment_straight(segment, &start, &slope)) {
        double half = 0.5 * slope * segment->duration, middle = start + half;
        return middle * middle + half * half / 3.0;
    }
    complex_number z = {-segment->decay * segment->duration, segment->omega * segment->duration};
    double mean =
        z.re * z.re + z.im * z.im <= 1.0 ? mean_square_short(segment, z) : mean_square_long(segment, z);
    return mean > 0.0 ? mean : 0.0;
}
