/* segment.c - value, integral and mean square of one segment in closed form. */
#include "wave/segment.h"

#include <math.h>

#include "wave/exponential.h"

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

/* With p = offset + slope t and q = Re(A e^(lambda t)): mean of p^2 + 2 p q + q^2, where
 * q^2 = 1/2 Re(A^2 e^(2 lambda t)) + 1/2 |A|^2 e^(2 Re(lambda) t).  docs/theory/waveforms.md eq. 7 */
double segment_mean_square(const hl_segment *segment)
{
    complex_number z = {-segment->decay * segment->duration, segment->omega * segment->duration};
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
    double mean = straight + 2.0 * mixed + 0.5 * (turning + steady);
    return mean > 0.0 ? mean : 0.0;
}
