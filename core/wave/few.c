/* few.c - harmonics of one wave piece by piece, four at a time.
 *
 * What stands at both ends of a piece, as corners.h has it,
 *   cosine + j sine = 1/pi sum over pieces conj(1/D) ((bent - j k y) e - (bent - j k y) f),
 * e and f the turns e^(j k angle) of its ends, of its ringing, and for the straight parts, whose D is -k^2 in
 * all pieces, the steps and bends from piece to piece. Pieces that follow each other with one ringing have
 * one D, which divides what steps and bends are left between them. Of a mirrored wave half is looked at, and
 * every other harmonic: it has odd ones alone. Where waves are of many pieces, corners.h gathers what they
 * share. */
#include "wave/few.h"

#include <math.h>

#include "wave/four_pieces.h"
#include "wave/harmonic_turn.h"

static const double two_pi = 6.28318530717958647693, over_pi = 0.318309886183790671538;
/* Slope of a straight part, a radian, over the values of its piece: at most. */
static const double steepest = 1e3;
static const double short_angle = 6e-6; /* radians; a straight part so short is level: 1e-9 of its rise */
/* nu^2 + d^2, which is D of the mean. */
static const double least_square = 0.01;
/* |D| over k: nearer to a harmonic the quotient loses digits, as one_meeting of spectra.c has it. */
static const double nearest = 0.02;

/* Piece by piece, side by side for the lanes; corner i is the beginning of piece i, and the last the end. */
typedef struct few_pieces {
    double y[FEW_PIECES], bent[FEW_PIECES];                        /* of the ringing at its beginning */
    double end_y[FEW_PIECES], end_bent[FEW_PIECES];                /* and at its end */
    double square[FEW_PIECES], twice[FEW_PIECES];                  /* nu^2 + d^2 and 2 d, per radian */
    double start[FEW_PIECES], stop[FEW_PIECES], slope[FEW_PIECES]; /* of the straight part, per radian */
    double step[FEW_PIECES], bend[FEW_PIECES];                     /* of that from the piece before */
    double angle[FEW_PIECES];
    lanes_mask rings[FEW_PIECES / LANES];
    bool goes_on[FEW_PIECES]; /* the next piece has the same ringing */
    double mean;
    bool creeps; /* some ringing hardly turns in a period: the quotient does not serve for the mean */
    size_t n;
} few_pieces;

/* The ringing of four pieces, from i on. false: too long, or grows too much, for lanes_turn.h */
WITHIN_LANES bool take_ringings(const four_pieces *p, double second, size_t i, few_pieces *f)
{
    lanes growth = -p->decay * p->duration, turn = p->omega * p->duration, envelope, c, s, grown, turned;
    lanes d = p->decay * second, nu = p->omega * second;
    lanes_mask rings = (p->cosine != 0.0) | (p->sine != 0.0);
    lanes_keep(&rings, &growth);
    lanes_keep(&rings, &turn);
    lanes_size(&growth, &grown);
    lanes_size(&turn, &turned);
    lanes_mask beyond = ~((grown < lanes_growth_most) & (turned < lanes_turn_most));
    if (lanes_any(&beyond)) return false;
    lanes_exponential(&growth, &envelope);
    lanes_cos_sin(&turn, &c, &s);
    lanes end = envelope * (p->cosine * c + p->sine * s), turning = envelope * (p->sine * c - p->cosine * s);
    lanes_store(f->y + i, p->cosine);
    lanes_store(f->bent + i, nu * p->sine + d * p->cosine);
    lanes_store(f->end_y + i, end);
    lanes_store(f->end_bent + i, nu * turning + d * end);
    lanes_store(f->square + i, nu * nu + d * d);
    lanes_store(f->twice + i, 2.0 * d);
    f->rings[i / LANES] = rings;
    return true;
}

/* Their straight parts. false: too steep */
WITHIN_LANES bool take_straights(const four_pieces *p, double radian, double second, size_t i, few_pieces *f)
{
    lanes start = p->offset, stop = start + p->slope * p->duration, slope = p->slope * second;
    lanes from, to, ringing, steep, level = 0.5 * (start + stop), off = 0.5 * (stop - start);
    lanes_size(&start, &from);
    lanes_size(&stop, &to);
    lanes_size(&p->cosine, &ringing);
    lanes_size(&slope, &steep);
    lanes_mask beyond = ~(steep <= steepest * (from + to + ringing));
    if (lanes_any(&beyond)) return false;
    lanes_mask lasts = p->duration * radian >= short_angle;
    lanes_keep(&lasts, &off);
    lanes_keep(&lasts, &slope);
    lanes_store(f->start + i, level - off);
    lanes_store(f->stop + i, level + off);
    lanes_store(f->slope + i, slope);
    return true;
}

/* What four pieces add to the mean, as a harmonic of k = 0. */
WITHIN_LANES void add_means(const four_pieces *p, double second, size_t i, few_pieces *f)
{
    const lanes one = {1.0, 1.0, 1.0, 1.0};
    lanes square = lanes_load(f->square + i), rest = one;
    lanes_mask creeping = f->rings[i / LANES] & (square < least_square), idle = ~f->rings[i / LANES];
    lanes_keep(&idle, &rest);
    lanes ringing = (lanes_load(f->bent + i) - lanes_load(f->end_bent + i)) / (square + rest) * second;
    lanes straight = 0.5 * p->duration * (lanes_load(f->start + i) + lanes_load(f->stop + i));
    lanes both = ringing + straight;
    f->mean += lanes_total(both);
    f->creeps |= lanes_any(&creeping);
}

WITHIN_LANES bool take_wave(const hl_wave *wave, size_t n, double period, bool means, few_pieces *f)
{
    double radian = two_pi / period, second = period / two_pi, time = 0.0;
    f->n = n;
    f->mean = 0.0;
    f->creeps = false;
    for (size_t i = 0; i < f->n; i += LANES) {
        four_pieces p;
        take_pieces(wave->segment + i, f->n - i, &p);
        if (!take_ringings(&p, second, i, f) || !take_straights(&p, radian, second, i, f)) return false;
        if (means) add_means(&p, second, i, f);
        for (int j = 0; j < LANES; j++) {
            f->angle[i + (size_t)j] = radian * time;
            time += p.duration[j];
        }
    }
    f->mean /= period;
    return true;
}

static inline bool piece_rings(const few_pieces *f, size_t i)
{
    return f->rings[i / LANES][i % LANES];
}

/* From the pieces' ends to what is left between them; before the first is the last, mirrored: -1, or not: 1.
 */
static void join_pieces(few_pieces *f, double before)
{
    double stop = before * f->stop[f->n - 1], slope = before * f->slope[f->n - 1];
    for (size_t i = 0; i < f->n; i++) {
        f->step[i] = f->start[i] - stop;
        f->bend[i] = f->slope[i] - slope;
        stop = f->stop[i];
        slope = f->slope[i];
        f->goes_on[i] = false;
        bool same = i > 0 && piece_rings(f, i) && piece_rings(f, i - 1) && f->square[i] == f->square[i - 1] &&
                    f->twice[i] == f->twice[i - 1];
        if (!same) continue;
        f->y[i] -= f->end_y[i - 1];
        f->bent[i] -= f->end_bent[i - 1];
        f->goes_on[i - 1] = true;
    }
}

/* Sums over corners of bent and of y, times their turns. */
typedef struct corner_sum {
    lanes bent_re, bent_im, y_re, y_im;
} corner_sum;

WITHIN_LANES void add_corner(double bent, double y, const harmonic_turn *at, corner_sum *sum)
{
    sum->bent_re += bent * at->re;
    sum->bent_im += bent * at->im;
    sum->y_re += y * at->re;
    sum->y_im += y * at->im;
}

/* What the ringing of the pieces up to i adds at four harmonics. */
WITHIN_LANES void add_ringing(const few_pieces *f, size_t i, const corner_sum *sum, const lanes *k,
                              lanes *cosine, lanes *sine, lanes_mask *near)
{
    lanes square = *k * *k, even = f->square[i] - square, odd = f->twice[i] * *k;
    lanes size = even * even + odd * odd, inverse = 1.0 / size;
    lanes re = sum->bent_re + *k * sum->y_im, im = sum->bent_im - *k * sum->y_re;
    *near |= ~(size > nearest * nearest * square);
    even *= inverse;
    odd *= inverse;
    *cosine += re * even - im * odd;
    *sine += re * odd + im * even;
}

/* Four harmonics; the turns then go on to the next. false: one of them meets a ringing */
WITHIN_LANES bool four_harmonics(const few_pieces *f, const lanes *k, harmonic_turn turn[], lanes *cosine,
                                 lanes *sine)
{
    const corner_sum none = {{0.0}, {0.0}, {0.0}, {0.0}};
    corner_sum line = none, ring = none;
    lanes_mask near = {0};
    *cosine = *sine = none.y_re;
    for (size_t i = 0; i < f->n; i++) {
        harmonic_turn *t = &turn[i];
        add_corner(f->bend[i], f->step[i], t, &line);
        if (piece_rings(f, i)) {
            add_corner(f->bent[i], f->y[i], t, &ring);
            if (!f->goes_on[i]) {
                add_corner(-f->end_bent[i], -f->end_y[i], t + 1, &ring);
                add_ringing(f, i, &ring, k, cosine, sine, &near);
                ring = none;
            }
        }
        turn_on(t);
    }
    lanes straight = 1.0 / (*k * *k);
    *cosine = *cosine - straight * (line.bent_re + *k * line.y_im);
    *sine = *sine - straight * (line.bent_im - *k * line.y_re);
    return !lanes_any(&near);
}

/* Four harmonics, with nothing in between where they are odd ones. */
WITHIN_LANES void write_four(const lanes *from, size_t step, size_t left, double to[])
{
    const lanes none = {0.0};
    if (left < step * LANES) {
        for (size_t i = 0; i < left; i++) to[i] = i % step ? 0.0 : (*from)[i / step];
    } else if (step == 1) {
        lanes_store(to, *from);
    } else {
        lanes_store(to, __builtin_shufflevector(*from, none, 0, 4, 1, 5));
        lanes_store(to + LANES, __builtin_shufflevector(*from, none, 2, 6, 3, 7));
    }
}

/* Every one or every other; a mirrored wave's other half adds as much again to those. */
WITHIN_LANES bool all_harmonics(const few_pieces *f, size_t n, size_t step, double cosine[], double sine[])
{
    harmonic_turn turn[FEW_PIECES + 1];
    lanes k = {1.0, 2.0, 3.0, 4.0}, re, im;
    if (step == 2) k += k - 1.0;
    for (size_t i = 0; i < f->n; i += LANES) {
        lanes angle = lanes_load(f->angle + i);
        corner_turns(&angle, step, turn + i);
    }
    double end = step == 2 ? -1.0 : 1.0; /* the beginning, or half a turn from it */
    double scale = step == 2 ? 2.0 * over_pi : over_pi;
    turn[f->n] = (harmonic_turn){{end, end, end, end}, {0.0}, 1.0, 0.0};
    for (size_t done = 0; done < n; done += step * LANES, k += (double)(step * LANES)) {
        if (!four_harmonics(f, &k, turn, &re, &im)) return false;
        re *= scale;
        im *= scale;
        write_four(&re, step, n - done, cosine + done);
        write_four(&im, step, n - done, sine + done);
    }
    return true;
}

/* `half`: pieces in half of a mirrored wave; 0: it is none. */
FOUR_LANES static bool few_harmonics(const hl_wave *wave, size_t half, double period, size_t n,
                                     double cosine[], double sine[], double *mean)
{
    few_pieces f;
    if (!take_wave(wave, half ? half : wave->n, period, mean && !half, &f) || f.creeps) return false;
    if (mean) *mean = half ? 0.0 : f.mean;
    join_pieces(&f, half ? -1.0 : 1.0);
    return all_harmonics(&f, n, half ? 2 : 1, cosine, sine);
}

bool few_fourier(const hl_wave *wave, size_t n, double cosine[], double sine[], double *mean)
{
    if (n > FEW_LINES || wave->n == 0 || wave->n > 2 * FEW_PIECES) return false;
    size_t half = wave_mirrored(wave);
    if (!half && wave->n > FEW_PIECES) return false;
    double period = hl_wave_period(wave);
    return period > 0.0 && isfinite(two_pi / period) &&
           few_harmonics(wave, half, period, n, cosine, sine, mean);
}
