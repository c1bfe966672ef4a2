/* line_wave.h - figures of a mains current whose every piece is a straight line with a part of the mains' own
 * sine on top, as rectifiers and power-factor stages draw it.
 *
 *   v(t) = o + s t + A cos wt + B sin wt     per piece, w that of the mains
 * The pieces lie in rows, one for each figure, and are looked at four at a time: what a length tells, its
 * turn and its moments, is worked out once, and everything else follows by products. A wave that is not of
 * this kind is left to hl_wave_*. */
#ifndef LINE_WAVE_H
#define LINE_WAVE_H

#include <math.h>
#include <stdbool.h>

#include "mirror.h"

/* About the middle of a piece, x = t - T/2, with the value a there, P = a + its ringing A and Q = s + w B:
 *   v = P - A g + Q x - B h,   g = 1 - cos wx,  h = wx - sin wx,
 * so nothing large is left to cancel, and of g and h four moments over the piece do for everything:
 *   G1 = w [g],  G2 = w [g^2],  M = w^2 [x h],  H2 = w [h^2],   y = w T / 2
 *   [v] = P T - A [g]
 *   [v^2] = P^2 T - 2 P A [g] + A^2 [g^2] + Q^2 T^3/12 - 2 Q B [x h] + B^2 [h^2]
 *   [v cos wx] = P (T - [g]) - A ([g] - [g^2])
 *   [v sin wx] = Q (w T^3/12 - [x h]) - B (w [x h] - [h^2])
 * source: elementary; [x h] and the like are integrals by parts, below y = 1/2 by their series, whose error
 * is less than 1e-17. */
typedef struct line_moments {
    double g, g_square, xh, h_square;
} line_moments;

/* Of pieces up to this y = w T / 2 turn and moments are series, of longer ones closed forms. */
static const double line_piece_short = 0.5;

static inline line_moments line_short_moments(double y)
{
    double z = y * y, cube = y * z;
    double g = 2.505210838544172e-08 - z * (1.6059043836821613e-10 - z * 7.6471637318198164e-13);
    g = 0.0083333333333333332 - z * (0.00019841269841269841 - z * (2.7557319223985893e-06 - z * g));
    g = 0.16666666666666666 - z * g;
    double g_square = 3.2856803690137022e-07 - z * (6.2630270963604301e-09 - z * 9.2120208395885337e-11);
    g_square =
        0.0059523809523809521 - z * (0.00034722222222222224 - z * (1.2776575276575277e-05 - z * g_square));
    g_square = 0.050000000000000003 - z * g_square;
    double xh = 1.9270852604185937e-09 - z * (1.0706029224547743e-11 - z * 4.498331606952833e-14);
    xh = 0.0011904761904761906 - z * (2.2045855379188714e-05 - z * (2.5052108385441718e-07 - z * xh));
    xh = 0.033333333333333333 - z * xh;
    double h_square = 6.2431444706576982e-09 - z * (9.2035864678254966e-11 - z * 1.0771991601766658e-12);
    h_square =
        0.00030864197530864197 - z * (1.2325637325637326e-05 - z * (3.2503504725726946e-07 - z * h_square));
    h_square = 0.003968253968253968 - z * h_square;
    return (line_moments){2.0 * cube * g, 2.0 * cube * z * g_square, 2.0 * cube * z * xh,
                          2.0 * cube * z * z * h_square};
}

static inline line_moments line_moments_of(double y, double cosine, double sine)
{
    double cube = y * y * y;
    if (y <= line_piece_short) return line_short_moments(y);
    return (line_moments){2.0 * (y - sine), 3.0 * y - 4.0 * sine + sine * cosine,
                          2.0 * (cube / 3.0 - sine + y * cosine),
                          2.0 * cube / 3.0 - 4.0 * (sine - y * cosine) + y - sine * cosine};
}

/* What flows in the pieces: in rows, nothing beyond the last. */
typedef struct line_pieces {
    double *offset, *slope, *cosine, *sine;
} line_pieces;

/* What their lengths tell: y = w T / 2, cos y and sin y, those of 2 y, moments. */
typedef struct line_lengths {
    double *duration, *y, *cosine, *sine, *turn_cosine, *turn_sine;
    double *g, *g_square, *xh, *h_square;
} line_lengths;

typedef struct line_wave {
    hl_wave wave;
    size_t n;    /* pieces to look at: those of one half when the other mirrors it */
    size_t room; /* of their rows, a multiple of four */
    bool mirrored;
    double omega, time; /* rad/s; s of those pieces */
    line_pieces piece;
    line_lengths length;
    double *cosine, *sine; /* of omega t at the start of each piece */
    double *reach, *most;  /* line_peak's own */
} line_wave;

typedef struct line_sums { /* over the whole wave */
    double average, mean_square;
    double cosine, sine; /* amplitude of the component at omega */
} line_sums;

/* Do the n pieces after these mirror them?  A finite number differs by nothing from itself alone. */
FOUR_LANES static bool line_mirrors(const hl_segment *piece, size_t n)
{
    const lanes early = lanes_load(mirror_early_signs), late = lanes_load(mirror_late_signs);
    lanes_mask differ = {0};
    for (size_t k = 0; k < n; k++) {
        const hl_segment *a = piece + k, *b = a + n;
        differ |= lanes_load(&a->duration) - early * lanes_load(&b->duration) != 0.0;
        differ |= lanes_load(&a->decay) - late * lanes_load(&b->decay) != 0.0;
    }
    return !lanes_any(&differ);
}

/* Pieces in the first half of a wave whose second half is its mirror, as behind a bridge; else 0. */
static inline size_t line_mirrored(const hl_wave *wave)
{
    const size_t half = wave->n / 2;
    const hl_segment *first = wave->segment;
    if (wave->n % 2 || !half || first->sine != -first[half].sine) return 0;
    return line_mirrors(first, half) ? half : 0;
}

static inline bool line_piece_fits(const hl_segment *s, double omega)
{
    if (!(s->duration >= 0.0)) return false;
    if (s->omega == omega && s->decay == 0.0) return true;
    bool quiet = s->cosine == 0.0 && s->sine == 0.0;
    return quiet || (fabs(s->omega - omega) < 1e-9 * omega && s->decay == 0.0);
}

/* Whether all of n pieces last, or take no time, and ring at omega to the bit. */
FOUR_LANES static bool line_pieces_ring(const hl_segment *piece, size_t n, double omega)
{
    const lanes least = {0.0, -INFINITY, -INFINITY, -INFINITY}, ringing = {0.0, omega, 0.0, 0.0};
    const lanes_mask asked = {-1, -1, 0, 0};
    lanes_mask other = {0};
    for (size_t k = 0; k < n; k++) {
        other |= ~(lanes_load(&piece[k].duration) >= least);
        other |= (lanes_load(&piece[k].decay) != ringing) & asked;
    }
    return !lanes_any(&other);
}

/* `rows` rows of `room`, in turn. */
static inline void line_rows_in(double *memory, size_t room, size_t rows, double **row[])
{
    for (size_t r = 0; r < rows; r++) *row[r] = memory + r * room;
}

static inline bool line_pieces_take(size_t room, hl_scratch *scratch, line_pieces *p)
{
    double **row[] = {&p->offset, &p->slope, &p->cosine, &p->sine};
    enum { ROWS = sizeof row / sizeof *row };
    double *memory = hl_scratch_take(scratch, ROWS * room * sizeof *memory);
    if (memory) line_rows_in(memory, room, ROWS, row);
    return memory;
}

static inline bool line_rows_take(hl_scratch *scratch, line_wave *l)
{
    line_lengths *of = &l->length;
    double **row[] = {&of->duration,  &of->y,   &of->cosine,   &of->sine, &of->turn_cosine,
                      &of->turn_sine, &of->g,   &of->g_square, &of->xh,   &of->h_square,
                      &l->cosine,     &l->sine, &l->reach,     &l->most};
    enum { ROWS = sizeof row / sizeof *row };
    double *memory = hl_scratch_take(scratch, ROWS * l->room * sizeof *memory);
    if (memory) line_rows_in(memory, l->room, ROWS, row);
    return memory && line_pieces_take(l->room, scratch, &l->piece);
}

/* Where a row, from place `from` on, is first beyond a bound; else its room. */
FOUR_LANES static size_t line_beyond(const double *row, size_t room, double bound, size_t from)
{
    for (size_t k = from; k < room; k++) {
        lanes_mask beyond = lanes_load(row + k / LANES * LANES) > bound;
        if (!lanes_any(&beyond))
            k |= LANES - 1;
        else if (row[k] > bound)
            return k;
    }
    return room;
}

/* As if all were short: turns by their series, error less than 1e-16. */
FOUR_LANES static void line_measure_short(size_t room, double omega, const double *restrict duration,
                                          double *restrict y, double *restrict cosine, double *restrict sine,
                                          double *restrict g, double *restrict g_square, double *restrict xh,
                                          double *restrict h_square)
{
    for (size_t k = 0; k < room; k++) {
        double half = 0.5 * omega * duration[k], z = half * half;
        line_moments m = line_short_moments(half);
        double c = 1.0 - z * (1.0 / 132) * (1.0 - z * (1.0 / 182) * (1.0 - z * (1.0 / 240)));
        c = 1.0 - z * (1.0 / 30) * (1.0 - z * (1.0 / 56) * (1.0 - z * (1.0 / 90) * c));
        y[k] = half;
        cosine[k] = 1.0 - z * 0.5 * (1.0 - z * (1.0 / 12) * c);
        sine[k] = half - 0.5 * m.g;
        g[k] = m.g;
        g_square[k] = m.g_square;
        xh[k] = m.xh;
        h_square[k] = m.h_square;
    }
}

FOUR_LANES static void line_double_turns(size_t room, const double *restrict cosine,
                                         const double *restrict sine, double *restrict turn_cosine,
                                         double *restrict turn_sine)
{
    for (size_t k = 0; k < room; k++) {
        turn_cosine[k] = 1.0 - 2.0 * sine[k] * sine[k];
        turn_sine[k] = 2.0 * sine[k] * cosine[k];
    }
}

static inline void line_measure_long(const line_lengths *of, size_t k)
{
    double y = of->y[k];
    of->cosine[k] = cos(y);
    of->sine[k] = sin(y);
    line_moments m = line_moments_of(y, of->cosine[k], of->sine[k]);
    of->g[k] = m.g;
    of->g_square[k] = m.g_square;
    of->xh[k] = m.xh;
    of->h_square[k] = m.h_square;
}

static inline void line_measure_lengths(line_wave *l)
{
    line_lengths *of = &l->length;
    line_measure_short(l->room, l->omega, of->duration, of->y, of->cosine, of->sine, of->g, of->g_square,
                       of->xh, of->h_square);
    for (size_t k = line_beyond(of->y, l->room, line_piece_short, 0); k < l->room;
         k = line_beyond(of->y, l->room, line_piece_short, k + 1))
        line_measure_long(of, k);
    line_double_turns(l->room, of->cosine, of->sine, of->turn_cosine, of->turn_sine);
}

/* Is a wave of this kind, and there?  If so which pieces of it are to be looked at. */
static inline bool line_wave_fits(const hl_wave *wave, double omega, line_wave *l)
{
    size_t half = line_mirrored(wave), n = half ? half : wave->n;
    bool rings = line_pieces_ring(wave->segment, n, omega);
    for (size_t k = 0; k < n && !rings; k++)
        if (!line_piece_fits(&wave->segment[k], omega)) return false;
    *l = (line_wave){.wave = *wave, .n = n, .room = lanes_padded(n), .mirrored = half > 0, .omega = omega};
    return n && omega > 0.0;
}

/* Into rows, four pieces at a time. */
FOUR_LANES static void line_read_pieces(const line_wave *l)
{
    static const hl_segment nothing;
    const line_pieces *to = &l->piece;
    for (size_t k = 0; k < l->room; k += LANES) {
        lanes early[LANES], late[LANES];
        for (size_t i = 0; i < LANES; i++) {
            const hl_segment *s = k + i < l->n ? &l->wave.segment[k + i] : &nothing;
            early[i] = lanes_load(&s->duration);
            late[i] = lanes_load(&s->decay);
        }
        lanes_turned(early);
        lanes_turned(late);
        lanes_store(l->length.duration + k, early[0]);
        lanes_store(to->offset + k, early[1]);
        lanes_store(to->slope + k, early[2]);
        lanes_store(to->cosine + k, late[2]);
        lanes_store(to->sine + k, late[3]);
    }
}

/* Of a wave that fits. False: the scratch is full. */
static inline bool line_wave_read(hl_scratch *scratch, line_wave *l)
{
    if (!line_rows_take(scratch, l)) return false;
    line_read_pieces(l);
    line_measure_lengths(l);
    double c = 1.0, s = 0.0;
    for (size_t k = 0; k < l->room; k++) {
        double turn_c = l->length.turn_cosine[k], turn_s = l->length.turn_sine[k], before = c;
        l->cosine[k] = c;
        l->sine[k] = s;
        c = before * turn_c - s * turn_s;
        s = s * turn_c + before * turn_s;
        l->time += l->length.duration[k];
    }
    return true;
}

FOUR_LANES static void line_wave_measure(const line_wave *l, line_sums *sums)
{
    double radian = 1.0 / l->omega;
    lanes area = {0}, square = {0}, with_cosine = {0}, with_sine = {0};
    for (size_t k = 0; k < l->room; k += LANES) {
        const line_lengths *of = &l->length;
        lanes T = lanes_load(of->duration + k), y = lanes_load(of->y + k);
        lanes to_c = lanes_load(of->cosine + k), to_s = lanes_load(of->sine + k);
        lanes g = lanes_load(of->g + k), g_square = lanes_load(of->g_square + k);
        lanes xh = lanes_load(of->xh + k), h_square = lanes_load(of->h_square + k);
        lanes a = lanes_load(l->piece.cosine + k), b = lanes_load(l->piece.sine + k);
        lanes slope = lanes_load(l->piece.slope + k);
        lanes A = a * to_c + b * to_s, B = b * to_c - a * to_s, z = 2.0 * y * y * y * (1.0 / 3.0);
        lanes P = lanes_load(l->piece.offset + k) + 0.5 * slope * T + A, Q = slope * radian + B;
        /* all in radians of the mains from here */
        area += 2.0 * y * P - A * g;
        square += P * (2.0 * y * P - 2.0 * A * g) + A * A * g_square + Q * (Q * z - 2.0 * B * xh) +
                  B * B * h_square;
        lanes c = P * (2.0 * y - g) - A * (g - g_square), s = Q * (z - xh) - B * (xh - h_square);
        lanes start_c = lanes_load(l->cosine + k), start_s = lanes_load(l->sine + k);
        lanes cosine = start_c * to_c - start_s * to_s, sine = start_s * to_c + start_c * to_s;
        with_cosine += cosine * c - sine * s;
        with_sine += sine * c + cosine * s;
    }
    double mean = l->time > 0.0 ? radian / l->time : 0.0;
    *sums = (line_sums){lanes_total(area) * mean, lanes_total(square) * mean,
                        2.0 * lanes_total(with_cosine) * mean, 2.0 * lanes_total(with_sine) * mean};
}

static inline line_sums line_wave_sums(const line_wave *l)
{
    line_sums sums;
    line_wave_measure(l, &sums);
    if (l->mirrored) sums.average = 0.0;
    sums.mean_square = fmax(sums.mean_square, 0.0);
    return sums;
}

/* Largest magnitude of a piece between its ends, 0 where it turns nowhere: with p = s / w and R^2 = A^2 + B^2
 * it turns where its ringing A cos x + B sin x = q and its slope p + B cos x - A sin x = 0, q = +-sqrt(R^2 -
 * p^2), that is where R^2 cos x = q A - p B, R^2 sin x = q B + p A. source: elementary
 * end: cos of the angle it lasts */
static inline double line_piece_top(double offset, double p, double A, double B, double angle, double end)
{
    static const double turn = 2.0 * 3.14159265358979324;
    double square = A * A + B * B, rest = square - p * p, top = 0.0;
    if (!(rest > 0.0)) return 0.0;
    double q = sqrt(rest);
    for (int k = 0; k < 2; k++, q = -q) {
        double c = q * A - p * B, s = q * B + p * A;
        if (angle < 0.5 * turn && !(s >= 0.0 && c >= square * end)) continue;
        double x = atan2(s, c);
        if (x < 0.0) x += turn;
        if (!(x < angle)) continue;
        /* it turns so once a period, each time on a line from the first to the last */
        double last = angle - x < turn ? x : x + turn * floor((angle - x) / turn);
        top = fmax(top, fmax(fabs(offset + p * x + q), fabs(offset + p * last + q)));
    }
    return top;
}

/* reach: the larger magnitude at the ends of each piece; most: what it may reach between them, since it rises
 * above both by at most T^2 w^2 / 8 of its ringing. docs/theory/waveforms.md eq. 10a */
FOUR_LANES static void line_reaches(size_t room, const line_lengths *of, const line_pieces *piece,
                                    double *restrict reach, double *restrict most)
{
    for (size_t k = 0; k < room; k++) {
        double a = piece->cosine[k], b = piece->sine[k], y = of->y[k];
        double from = fabs(piece->offset[k] + a), run = piece->slope[k] * of->duration[k];
        double to = fabs(piece->offset[k] + run + a * of->turn_cosine[k] + b * of->turn_sine[k]);
        double larger = from > to ? from : to;
        if (!(y > 0.0)) larger = 0.0;
        reach[k] = larger;
        most[k] = larger + 0.5 * y * y * (fabs(a) + fabs(b));
    }
}

/* Of a row of magnitudes. */
FOUR_LANES static double line_largest(const double *row, size_t room)
{
    lanes largest = {0};
    for (size_t k = 0; k < room; k += LANES) {
        lanes next = lanes_load(row + k);
        lanes_larger(&next, &largest, &largest);
    }
    double even = largest[0] > largest[2] ? largest[0] : largest[2];
    double odd = largest[1] > largest[3] ? largest[1] : largest[3];
    return even > odd ? even : odd;
}

/* Largest magnitude of a wave of these lengths and pieces. At the borders first; then only pieces that could
 * reach beyond those are searched. */
static inline double line_peak(const line_wave *l, const line_pieces *piece)
{
    const line_lengths *of = &l->length;
    line_reaches(l->room, of, piece, l->reach, l->most);
    double top = line_largest(l->reach, l->room);
    for (size_t k = line_beyond(l->most, l->room, top, 0); k < l->room;
         k = line_beyond(l->most, l->room, top, k + 1)) {
        double a = piece->cosine[k], b = piece->sine[k], y = of->y[k];
        if (!(l->reach[k] + 0.5 * y * y * sqrt(a * a + b * b) > top)) continue;
        double p = piece->slope[k] / l->omega;
        top = fmax(top, line_piece_top(piece->offset[k], p, a, b, 2.0 * y, of->turn_cosine[k]));
    }
    return top;
}

/* The whole wave of these lengths and pieces, the mirrored half too; four pieces at a time. */
FOUR_LANES static void line_write(const line_wave *l, const line_pieces *piece, hl_segment to[])
{
    const lanes early_signs = lanes_load(mirror_early_signs), late_signs = lanes_load(mirror_late_signs);
    const size_t n = l->n;
    hl_segment *mirrored = l->mirrored ? to + n : NULL;
    for (size_t k = 0; k < n; k += LANES) {
        lanes early[LANES] = {lanes_load(l->length.duration + k), lanes_load(piece->offset + k),
                              lanes_load(piece->slope + k)};
        lanes late[LANES] = {
            {0.0}, early[3] + l->omega, lanes_load(piece->cosine + k), lanes_load(piece->sine + k)};
        lanes_turned(early);
        lanes_turned(late);
        for (size_t i = 0; i < LANES && k + i < n; i++) {
            lanes_store(&to[k + i].duration, early[i]);
            lanes_store(&to[k + i].decay, late[i]);
            if (!mirrored) continue;
            lanes_store(&mirrored[k + i].duration, early_signs * early[i]);
            lanes_store(&mirrored[k + i].decay, late_signs * late[i]);
        }
    }
}

#endif
