/* line_wave.h - figures of a mains current whose every piece is a straight line with a part of the mains' own
 * sine on top, as rectifiers and power-factor stages draw it.
 *
 *   v(t) = o + s t + A cos wt + B sin wt     per piece, w that of the mains
 * A mains current has few lengths of pieces: what a length alone tells, its turn and its moments, is worked
 * out once for each, and everything else follows by products. A wave that is not of this kind is left to
 * hl_wave_*. */
#ifndef LINE_WAVE_H
#define LINE_WAVE_H

#include <math.h>
#include <stdbool.h>

#include "heatledger/plugin.h"

typedef struct line_turn {
    double c, s; /* cos wT, sin wT over a piece */
} line_turn;

/* About the middle of a piece, x = t - T/2, with the value a there, P = a + its ringing A and Q = s + w B:
 *   v = P - A g + Q x - B h,   g = 1 - cos wx,  h = wx - sin wx,
 * so nothing large is left to cancel, and of g and h four moments over the piece do for everything:
 *   G1 = w [g],  G2 = w [g^2],  M = w^2 [x h],  H2 = w [h^2],   y = w T / 2
 *   [v] = P T - A [g]                [v^2] = P^2 T - 2 P A [g] + A^2 [g^2] + Q^2 T^3/12 - 2 Q B [x h] + B^2
 * [h^2] [v cos wx] = P (T - [g]) - A ([g] - [g^2])        [v sin wx] = Q (w T^3/12 - [x h]) - B (w [x h] -
 * [h^2]) source: elementary; [x h] and the like are integrals by parts, below y = 1/2 by their series (error
 * < 1e-17)
 */
typedef struct line_moments {
    double g, g_square, xh, h_square;
} line_moments;

enum { LINE_TERMS = 7 };

static inline line_moments line_moments_of(double y, double cosine, double sine)
{
    /* of y^3, y^5, y^5 and y^7, each times a series in y^2 */
    static const double g[] = {0.16666666666666666,     -0.0083333333333333332, 0.00019841269841269841,
                               -2.7557319223985893e-06, 2.505210838544172e-08,  -1.6059043836821613e-10,
                               7.6471637318198164e-13};
    static const double g_square[] = {
        0.050000000000000003,   -0.0059523809523809521,  0.00034722222222222224, -1.2776575276575277e-05,
        3.2856803690137022e-07, -6.2630270963604301e-09, 9.2120208395885337e-11};
    static const double xh[] = {0.033333333333333333,    -0.0011904761904761906, 2.2045855379188714e-05,
                                -2.5052108385441718e-07, 1.9270852604185937e-09, -1.0706029224547743e-11,
                                4.498331606952833e-14};
    static const double h_square[] = {
        0.003968253968253968,   -0.00030864197530864197, 1.2325637325637326e-05, -3.2503504725726946e-07,
        6.2431444706576982e-09, -9.2035864678254966e-11, 1.0771991601766658e-12};
    double z = y * y, cube = y * z;
    if (y > 0.5)
        return (line_moments){2.0 * (y - sine), 3.0 * y - 4.0 * sine + sine * cosine,
                              2.0 * (cube / 3.0 - sine + y * cosine),
                              2.0 * cube / 3.0 - 4.0 * (sine - y * cosine) + y - sine * cosine};
    line_moments m = {g[LINE_TERMS - 1], g_square[LINE_TERMS - 1], xh[LINE_TERMS - 1],
                      h_square[LINE_TERMS - 1]};
    for (int k = LINE_TERMS - 2; k >= 0; k--)
        m = (line_moments){m.g * z + g[k], m.g_square * z + g_square[k], m.xh * z + xh[k],
                           m.h_square * z + h_square[k]};
    return (line_moments){2.0 * cube * m.g, 2.0 * cube * z * m.g_square, 2.0 * cube * z * m.xh,
                          2.0 * cube * z * z * m.h_square};
}

/* Turn from the start of a piece to its middle, from that over the whole of it unless it is long. */
static inline line_turn line_half_turn(line_turn whole, double y)
{
    if (y > 0.5) return (line_turn){cos(y), sin(y)};
    double c = sqrt(0.5 + 0.5 * whole.c);
    return (line_turn){c, 0.5 * whole.s / c};
}

/* What a piece of some length tells, whatever flows in it. */
typedef struct line_length {
    double duration, y; /* s; w T / 2 */
    line_turn whole, half;
    line_moments m;
} line_length;

typedef struct line_wave {
    hl_wave wave;
    size_t n; /* pieces to look at: those of one half when the other mirrors it */
    bool mirrored;
    double omega, time;               /* rad/s; s of those pieces */
    const double *cosine, *sine;      /* [n + 1] of omega t at the borders */
    const line_length *const *length; /* [n] */
    double *reach;                    /* [n] room for the larger of a piece's ends */
} line_wave;

typedef struct line_sums { /* over the whole wave */
    double average, mean_square;
    double cosine, sine; /* amplitude of the component at omega */
} line_sums;

static inline hl_segment line_mirror(const hl_segment *s)
{
    hl_segment m = *s;
    m.offset = -s->offset;
    m.slope = -s->slope;
    m.cosine = -s->cosine;
    m.sine = -s->sine;
    return m;
}

/* Pieces in the first half of a wave whose second half is its mirror, as behind a bridge; else 0. */
static inline size_t line_mirrored(const hl_wave *wave)
{
    size_t half = wave->n / 2;
    if (wave->n % 2) return 0;
    for (size_t k = 0; k < half; k++) {
        const hl_segment *s = &wave->segment[k], *m = s + half;
        if (!(m->duration == s->duration && m->offset == -s->offset && m->slope == -s->slope &&
              m->decay == s->decay && m->omega == s->omega && m->cosine == -s->cosine && m->sine == -s->sine))
            return 0;
    }
    return half;
}

static inline bool line_piece_fits(const hl_segment *s, double omega)
{
    bool quiet = s->cosine == 0.0 && s->sine == 0.0;
    return s->duration >= 0.0 && (quiet || (fabs(s->omega - omega) < 1e-9 * omega && s->decay == 0.0));
}

/* Lengths that rounding alone keeps apart are one. */
static inline bool line_length_fits(const line_length *length, double duration)
{
    return fabs(length->duration - duration) <= 3e-14 * duration;
}

/* Among the lengths met last. likely: looked at first, or NULL */
static inline const line_length *line_length_of(line_length known[], size_t *n, const line_length *likely,
                                                double duration, double omega)
{
    enum { LAST = 8 };
    if (likely && line_length_fits(likely, duration)) return likely;
    for (size_t i = *n, left = LAST; i > 0 && left > 0; i--, left--)
        if (line_length_fits(&known[i - 1], duration)) return &known[i - 1];
    double angle = omega * duration, y = 0.5 * angle;
    line_turn whole = {cos(angle), sin(angle)}, half = line_half_turn(whole, y);
    known[*n] = (line_length){duration, y, whole, half, line_moments_of(y, half.c, half.s)};
    return &known[(*n)++];
}

/* False: the wave is of another kind, or the scratch is full. */
static inline bool line_wave_read(const hl_wave *wave, double omega, hl_scratch *scratch, line_wave *l)
{
    size_t half = line_mirrored(wave), n = half ? half : wave->n, lengths = 0;
    *l = (line_wave){.wave = *wave, .n = n, .mirrored = half > 0, .omega = omega};
    for (size_t k = 0; k < n; k++)
        if (!line_piece_fits(&wave->segment[k], omega)) return false;
    double *border = hl_scratch_take(scratch, (3 * n + 2) * sizeof *border);
    line_length *known = hl_scratch_take(scratch, n * sizeof *known);
    const line_length **length = hl_scratch_take(scratch, n * sizeof *length);
    if (!border || !known || !length) return false;
    double *cosine = border, *sine = border + n + 1;
    cosine[0] = 1.0;
    sine[0] = 0.0;
    for (size_t k = 0; k < n; k++) {
        double c = cosine[k], s = sine[k];
        const line_length *likely = 2 * k >= n ? length[n - 1 - k] : NULL; /* what rises falls the same way */
        length[k] = line_length_of(known, &lengths, likely, wave->segment[k].duration, omega);
        cosine[k + 1] = c * length[k]->whole.c - s * length[k]->whole.s;
        sine[k + 1] = s * length[k]->whole.c + c * length[k]->whole.s;
        l->time += wave->segment[k].duration;
    }
    l->cosine = cosine;
    l->sine = sine;
    l->length = length;
    l->reach = sine + n + 1;
    return true;
}

static inline line_sums line_wave_sums(const line_wave *l)
{
    double w = l->omega, radian = 1.0 / w, area = 0.0, square = 0.0, with_cosine = 0.0, with_sine = 0.0;
    for (size_t k = 0; k < l->n; k++) {
        const hl_segment *piece = &l->wave.segment[k];
        // NOLINTNEXTLINE(clang-analyzer-core.NullDereference): a wave without memory for them was refused
        double T = piece->duration, y = l->length[k]->y, slope = piece->slope;
        line_turn to = l->length[k]->half;
        line_moments m = l->length[k]->m;
        double A = piece->cosine * to.c + piece->sine * to.s, B = piece->sine * to.c - piece->cosine * to.s;
        double P = piece->offset + 0.5 * slope * T + A, Q = slope * radian + B, z = 2.0 * y * y * y / 3.0;
        /* all in radians of the mains from here */
        area += 2.0 * y * P - A * m.g;
        square += P * (2.0 * y * P - 2.0 * A * m.g) + A * A * m.g_square + Q * (Q * z - 2.0 * B * m.xh) +
                  B * B * m.h_square;
        double c = P * (2.0 * y - m.g) - A * (m.g - m.g_square), s = Q * (z - m.xh) - B * (m.xh - m.h_square);
        double cosine = l->cosine[k] * to.c - l->sine[k] * to.s,
               sine = l->sine[k] * to.c + l->cosine[k] * to.s;
        with_cosine += cosine * c - sine * s;
        with_sine += sine * c + cosine * s;
    }
    double mean = l->time > 0.0 ? radian / l->time : 0.0;
    return (line_sums){l->mirrored ? 0.0 : area * mean, fmax(square * mean, 0.0), 2.0 * with_cosine * mean,
                       2.0 * with_sine * mean};
}

static inline double line_piece_end(const hl_segment *piece, line_turn turn)
{
    return piece->offset + piece->slope * piece->duration + piece->cosine * turn.c + piece->sine * turn.s;
}

/* Could it turn between its ends?  While its ringing keeps its sign its slope goes one way. */
static inline bool line_piece_turns(const hl_segment *piece, line_turn turn, double omega)
{
    double A = piece->cosine, B = piece->sine, end = A * turn.c + B * turn.s;
    double slope = piece->slope + omega * B, then = piece->slope + omega * (B * turn.c - A * turn.s);
    return !(omega * piece->duration < 3.0 && A * end > 0.0 && slope * then > 0.0);
}

/* Could it reach beyond `top`?  A piece rises above both its ends by at most T^2 w^2 / 8 of its ringing.
 * docs/theory/waveforms.md eq. 10a */
static inline bool line_piece_may_pass(const hl_segment *piece, double y, double reach, double top)
{
    double room = 0.5 * y * y, cosine = fabs(piece->cosine), sine = fabs(piece->sine);
    if (!(room > 0.0) || reach + room * (cosine + sine) <= top) return false;
    return reach + room * sqrt(cosine * cosine + sine * sine) > top;
}

/* Largest magnitude. At the borders first; then only pieces that turn and could reach beyond those are
 * searched. */
static inline double line_wave_peak(const line_wave *l)
{
    double top = 0.0, high, low;
    for (size_t k = 0; k < l->n; k++) {
        const hl_segment *piece = &l->wave.segment[k];
        double from = fabs(piece->offset + piece->cosine);
        double to = fabs(line_piece_end(piece, l->length[k]->whole));
        l->reach[k] = from > to ? from : to;
        if (piece->duration > 0.0 && l->reach[k] > top) top = l->reach[k];
    }
    for (size_t k = 0; k < l->n; k++) {
        const hl_segment *piece = &l->wave.segment[k];
        const line_length *length = l->length[k];
        if (!line_piece_may_pass(piece, length->y, l->reach[k], top) ||
            !line_piece_turns(piece, length->whole, l->omega))
            continue;
        const hl_wave alone = {1, piece};
        hl_wave_peaks(&alone, &high, &low);
        if (high > top) top = high;
        if (-low > top) top = -low;
    }
    return top;
}

#endif
