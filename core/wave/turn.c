/* turn.c - where a segment turns and where it crosses zero.
 *
 * The second derivative of a segment is a pure damped oscillation, whose zeros are known in closed form.
 * Between two of them the first derivative is monotone, so it has one zero or none; between two zeros of
 * that the value is monotone likewise.  So every root is bracketed and none can be missed.
 * docs/theory/waveforms.md eq. 9 */
#include <math.h>

#include "wave/segment.h"

static const double pi = 3.14159265358979323846;

double segment_windows(const hl_segment *segment)
{
    double half_waves = segment->omega * segment->duration / pi;
    if (!(half_waves > WINDOW_HALF_WAVES)) return 1.0;
    if (half_waves > 1e15) return 1e15;
    return ceil(half_waves / WINDOW_HALF_WAVES);
}

/* Zeros of cosine cos(omega t) + sine sin(omega t) inside (from, to): omega t = phase + pi/2 + k pi. */
static size_t oscillation_zeros(const hl_segment *segment, double from, double to, double times[],
                                size_t room)
{
    if (!(segment->omega > 0.0) || (segment->cosine == 0.0 && segment->sine == 0.0)) return 0;
    double first = atan2(segment->sine, segment->cosine) + 0.5 * pi;
    double k = floor((segment->omega * from - first) / pi);
    size_t n = 0;
    for (size_t i = 0; i < TURNS_MAX && n < room; i++) {
        double t = (first + (k + (double)i) * pi) / segment->omega;
        if (!(t < to)) break;
        if (t > from) times[n++] = t;
    }
    return n;
}

/* The zero of `segment` between low and high, where its value changes sign, from a guess: Newton's method
 * kept inside the bracket, bisection where Newton would leave it or is slow. From the second of two Newton
 * steps on, what the next one would be is known, since each is as the square of the one before.
 * source: W. H. Press et al., Numerical Recipes, 3rd ed. 2007, section 9.4 (safeguarded Newton) */
static double bracketed_zero(const hl_segment *segment, double low, double guess, double high, bool rising)
{
    double t = guess, step = high - low, before = step;
    bool newton_before = false;
    for (int i = 0; i < 200; i++) {
        double slope, value = segment_value(segment, t, &slope);
        if (value == 0.0) return t;
        if ((value > 0.0) == rising)
            high = t;
        else
            low = t;
        double newton = t - value / slope;
        if (fabs(newton - t) <= 2e-16 * fabs(t)) return t; /* the sign of what is rounding tells no side */
        bool slow = fabs(2.0 * value) > fabs(before * slope);
        bool taken = !slow && newton > low && newton < high;
        double next = taken ? newton : 0.5 * (low + high);
        step = next - t;
        if (next == t || fabs(step) <= 2e-16 * fabs(next)) return next;
        double sequel = step / before;
        if (taken && newton_before && fabs(sequel) < 1e-2 &&
            fabs(step) * sequel * sequel <= 1e-16 * fabs(next))
            return next;
        newton_before = taken;
        before = step;
        t = next;
    }
    return t;
}

/* Zeros of `segment` between borders[0..n-1], which cut it into monotone pieces. */
static size_t monotone_zeros(const hl_segment *segment, const double borders[], size_t n, double times[])
{
    size_t found = 0;
    double left = segment_value(segment, borders[0], NULL);
    for (size_t i = 1; i < n && found < TURNS_MAX; i++) {
        double right = segment_value(segment, borders[i], NULL);
        if (left == 0.0 && i > 1)
            times[found++] = borders[i - 1];
        else if ((left < 0.0 && right > 0.0) || (left > 0.0 && right < 0.0))
            times[found++] = bracketed_zero(segment, borders[i - 1], 0.5 * (borders[i - 1] + borders[i]),
                                            borders[i], right > 0.0);
        left = right;
    }
    return found;
}

size_t segment_turns(const hl_segment *segment, double from, double to, double times[TURNS_MAX])
{
    double start, line;
    if (segment_straight(segment, &start, &line)) return 0;
    hl_segment first = segment_derivative(segment);
    if (segment->slope == 0.0) return oscillation_zeros(&first, from, to, times, TURNS_MAX);
    hl_segment second = segment_derivative(&first);
    double borders[TURNS_MAX + 2] = {from};
    size_t n = 1 + oscillation_zeros(&second, from, to, borders + 1, WINDOW_HALF_WAVES + 2);
    borders[n++] = to;
    return monotone_zeros(&first, borders, n, times);
}

/* The value at both ends tells of most segments how many zeros they have: none where the line stays further
 * from zero than the ringing reaches; between ends of one sign none, if
 * no point is further from the chord than T^2/8 max|v''|; between ends of two signs one, if the slope, which
 * is off the chord's by T max|v''| at most, keeps its sign.
 * return 0 or 1; 2: not told */
static size_t told_zeros(const hl_segment *s, double from, double to, double times[])
{
    double T = to - from, growth = -s->decay * (s->decay > 0.0 ? from : to);
    double amplitude = sqrt(s->cosine * s->cosine + s->sine * s->sine);
    double first = s->offset + s->slope * from, last = s->offset + s->slope * to;
    if (growth != 0.0) amplitude *= exp(growth);
    if (first * last > 0.0 && amplitude < fmin(fabs(first), fabs(last))) return 0;
    double left = segment_value(s, from, NULL), right = segment_value(s, to, NULL);
    double bend = T * T * amplitude * (s->decay * s->decay + s->omega * s->omega);
    if (left * right > 0.0 && 0.125 * bend < fmin(fabs(left), fabs(right))) return 0;
    if (!(left * right < 0.0 && bend < fabs(right - left))) return 2;
    double guess = from + T * (left / (left - right));
    times[0] = bracketed_zero(s, from, guess, to, right > 0.0);
    return 1;
}

size_t segment_zeros(const hl_segment *segment, double from, double to, double times[TURNS_MAX])
{
    double start, line;
    if (segment_straight(segment, &start, &line)) {
        double t = line != 0.0 ? -start / line : from;
        if (!(t > from && t < to)) return 0;
        times[0] = t;
        return 1;
    }
    if (segment_rings_alone(segment)) return oscillation_zeros(segment, from, to, times, TURNS_MAX);
    size_t told = told_zeros(segment, from, to, times);
    if (told < 2) return told;
    double borders[TURNS_MAX + 2] = {from};
    size_t n = 1 + segment_turns(segment, from, to, borders + 1);
    borders[n++] = to;
    return monotone_zeros(segment, borders, n, times);
}
