/* spectra.c - harmonics of several waves at once, from what happens at their corners.
 *
 * As in fourier.c every piece of a wave adds to pi c_k what stands at its two ends,
 *   (N(start) e - N(end) f) / D,  N = bent + j k y                  docs/theory/waveforms.md eq. 12, 13
 * of its ringing with bent = y' + 2 d y and D = (nu - k)(nu + k) + d^2 + 2 j d k, and of its straight part
 * with bent = slope and D = -k^2, which is a ringing of nu = d = 0. So the sum over pieces is one over
 * corners for each kind of ringing:
 *   pi c_k = sum over kinds 1/D sum over corners (bent + j k y) e^(-j k angle).
 * Windings of one transformer switch together: kinds, corners and the ends of equal stretches are worked out
 * once for all. Corners half a period apart share their turns too, since e^(-j k pi) is -1 for odd k and +1
 * for even, which are kept in lanes of their own; and a mirrored wave has odd harmonics alone. */
#include <math.h>
#include <string.h>

#include "wave/lanes_turn.h"
#include "wave/segment.h"

/* More than this, and the waves go one by one to hl_wave_fourier. */
enum { ANGLES = 64, KINDS = 16, STRETCHES = 64, ENTRIES = 160, PIECES = 72 };

static const double pi = 3.14159265358979323846;
static const double same_angle = 1e-11; /* radians: turns harmonic 400 by 4e-9 */
static const double short_angle = 6e-6; /* a straight part so short is taken as level: 1e-9 of its rise */
static const double meeting = 1e-4;     /* |lambda - j k|; nearer, the quotient loses more than 1e-12 */

/* A ringing, in radians of the period; number 0 is the straight part. */
typedef struct kind {
    double decay, omega;
} kind;

/* A ringing that lasts for a time: e^((-decay + j omega) duration). Four arrays for the lanes. */
typedef struct stretches {
    double duration[STRETCHES], decay[STRETCHES], omega[STRETCHES];
    double growth[STRETCHES], turn[STRETCHES]; /* exponents, then */
    double envelope[STRETCHES], cosine[STRETCHES], sine[STRETCHES];
    unsigned char kind[STRETCHES];
    int n;
} stretches;

/* Angles below pi; number 0 is 0. */
typedef struct angles {
    double angle[ANGLES], cosine[ANGLES], sine[ANGLES];
    int n;
} angles;

/* What one corner adds to one kind, for odd and for even harmonics. */
typedef struct entry {
    double odd_bent, odd_y, even_bent, even_y;
    int next; /* of the same kind; -1: none */
    unsigned char angle;
    bool late; /* angle + pi */
} entry;

typedef struct corners {
    entry entry[ENTRIES];
    int n, first[KINDS], last[KINDS]; /* entries of each kind, -1: none */
    bool steps[KINDS];                /* some y is not nil */
    bool odd_only;                    /* mirrored: the other half adds as much again */
    unsigned char of[PIECES];         /* stretch of each piece */
} corners;

typedef struct spectra {
    double period, radian; /* s; 1/s, 2 pi / period */
    kind kind[KINDS];
    int kinds;
    angles angles;
    stretches stretches;
    corners *corners; /* of each wave */
} spectra;

/* ------------------------------------------------------------- gathering -- */

static int kind_of(spectra *all, const hl_segment *s)
{
    for (int i = 1; i < all->kinds; i++)
        if (all->kind[i].decay == s->decay && all->kind[i].omega == s->omega) return i;
    if (all->kinds == KINDS) return -1;
    all->kind[all->kinds] = (kind){s->decay, s->omega};
    return all->kinds++;
}

/* Number of the stretch a segment rings through; -1: no room, or beyond the reach of lanes_turn.h. */
static int stretch_of(spectra *all, const hl_segment *s)
{
    stretches *known = &all->stretches;
    for (int i = known->n - 1; i >= 0; i--)
        if (known->duration[i] == s->duration && known->omega[i] == s->omega && known->decay[i] == s->decay)
            return i;
    double growth = -s->decay * s->duration, turn = s->omega * s->duration;
    int i = known->n, own = kind_of(all, s);
    if (i == STRETCHES || own < 0) return -1;
    if (!(fabs(growth) < lanes_growth_most && fabs(turn) < lanes_turn_most)) return -1;
    known->duration[i] = s->duration;
    known->decay[i] = s->decay;
    known->omega[i] = s->omega;
    known->growth[i] = growth;
    known->turn[i] = turn;
    known->kind[i] = (unsigned char)own;
    return known->n++;
}

/* Corners come in the order of time, so the next is looked at first. */
static int angle_of(angles *known, double angle, int before)
{
    if (before + 1 < known->n && fabs(known->angle[before + 1] - angle) < same_angle) return before + 1;
    for (int i = known->n - 1; i >= 0; i--)
        if (fabs(known->angle[i] - angle) < same_angle) return i;
    if (known->n == ANGLES) return -1;
    known->angle[known->n] = angle;
    return known->n++;
}

/* Stretches of all pieces of a wave that ring. false: not for these laws. */
static bool gather_stretches(spectra *all, const hl_wave *wave, size_t n, corners *c)
{
    double start, slope;
    if (n > PIECES) return false;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        c->of[i] = 0;
        if (!segment_lasts(s) || segment_straight(s, &start, &slope)) continue;
        int stretch = stretch_of(all, s);
        if (stretch < 0) return false;
        c->of[i] = (unsigned char)stretch;
    }
    return true;
}

/* Where in the period, as the entries say it. */
typedef struct place {
    int angle;
    bool late;
} place;

static bool place_at(spectra *all, double angle, int before, place *at)
{
    at->late = angle > pi - same_angle;
    if (at->late) angle -= pi;
    if (at->late && angle > pi - same_angle) { /* the end is the beginning */
        *at = (place){0, false};
        return true;
    }
    at->angle = angle_of(&all->angles, fmax(angle, 0.0), before);
    return at->angle >= 0;
}

static bool add_entry(corners *c, int own, const place *at, double bent, double y)
{
    if (bent == 0.0 && y == 0.0) return true;
    double sign = (at->late ? -1.0 : 1.0) * (c->odd_only ? 2.0 : 1.0);
    entry *e = c->last[own] >= 0 ? &c->entry[c->last[own]] : NULL, *same = e;
    if (e && at->angle == 0) same = &c->entry[c->first[own]]; /* the end of the wave meets its beginning */
    if (same && !(same->angle == at->angle && same->late == at->late)) same = e;
    if (y != 0.0) c->steps[own] = true;
    if (same && same->angle == at->angle && same->late == at->late) {
        e = same;
        e->odd_bent += sign * bent;
        e->odd_y += sign * y;
        e->even_bent += bent;
        e->even_y += y;
        return true;
    }
    if (c->n == ENTRIES) return false;
    if (e)
        e->next = c->n;
    else
        c->first[own] = c->n;
    c->last[own] = c->n;
    c->entry[c->n++] = (entry){sign * bent, sign * y, bent, y, -1, (unsigned char)at->angle, at->late};
    return true;
}

static bool add_straight(const spectra *all, corners *c, double start, double slope, double duration,
                         const place *from, const place *to)
{
    double radian = 1.0 / all->radian, end = start + slope * duration;
    if (duration * all->radian < short_angle) {
        start = end = 0.5 * (start + end);
        slope = 0.0;
    }
    return add_entry(c, 0, from, slope * radian, start) && add_entry(c, 0, to, -slope * radian, -end);
}

static bool add_ringing(const spectra *all, corners *c, const hl_segment *s, int stretch, const place *from,
                        const place *to)
{
    const stretches *known = &all->stretches;
    // NOLINTNEXTLINE(clang-analyzer-core.uninitialized.Assign): stretch_of filled it
    int own = known->kind[stretch];
    double d = s->decay / all->radian, nu = s->omega / all->radian, envelope = known->envelope[stretch];
    double re = known->cosine[stretch], im = known->sine[stretch];
    double end = envelope * (s->cosine * re + s->sine * im);
    double turning = envelope * (s->sine * re - s->cosine * im);
    return add_entry(c, own, from, nu * s->sine + d * s->cosine, s->cosine) &&
           add_entry(c, own, to, -(nu * turning + d * end), -end);
}

/* A kind whose corners all came to nothing, as steps do where the current is steady, costs no more. */
static void drop_empty(corners *c, int own)
{
    for (int i = c->first[own]; i >= 0; i = c->entry[i].next)
        if (c->entry[i].even_bent != 0.0 || c->entry[i].even_y != 0.0) return;
    c->first[own] = -1;
}

static bool idle(const hl_segment *s)
{
    return s->offset == 0.0 && s->slope == 0.0 && s->cosine == 0.0 && s->sine == 0.0;
}

static bool add_wave(spectra *all, const hl_wave *wave, size_t n, corners *c)
{
    double time = 0.0, reached = 0.0, start, slope; /* s; `to` is the place at `reached` */
    place from, to = {0, false};
    for (int i = 0; i < all->kinds; i++) {
        c->first[i] = c->last[i] = -1;
        c->steps[i] = false;
    }
    c->n = 0;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        double begin = time;
        time += s->duration;
        if (idle(s)) continue;
        from = to;
        if (begin != reached && !place_at(all, all->radian * begin, from.angle, &from)) return false;
        if (!place_at(all, all->radian * time, from.angle, &to)) return false;
        reached = time;
        bool straight = segment_straight(s, &start, &slope);
        if (!straight) start = s->offset;
        if (!add_straight(all, c, start, s->slope, s->duration, &from, &to)) return false;
        if (!straight && !add_ringing(all, c, s, c->of[i], &from, &to)) return false;
    }
    drop_empty(c, 0);
    return true;
}

/* ----------------------------------------------------------------- turns -- */

FOUR_LANES static void turn_stretches(stretches *s)
{
    for (int i = 0; i < s->n; i += LANES) {
        lanes growth = lanes_load(s->growth + i), turn = lanes_load(s->turn + i), e, cosine, sine;
        lanes_exponential(&growth, &e);
        lanes_cos_sin(&turn, &cosine, &sine);
        lanes_store(s->envelope + i, e);
        lanes_store(s->cosine + i, cosine);
        lanes_store(s->sine + i, sine);
    }
}

FOUR_LANES static void turn_angles(angles *a)
{
    for (int i = 0; i < a->n; i += LANES) {
        lanes angle = lanes_load(a->angle + i), cosine, sine;
        lanes_cos_sin(&angle, &cosine, &sine);
        lanes_store(a->cosine + i, cosine);
        lanes_store(a->sine + i, sine);
    }
}

static bool meets_harmonic(const spectra *all, int own, size_t n)
{
    double d = fabs(all->kind[own].decay / all->radian), nu = all->kind[own].omega / all->radian;
    double k = floor(nu + 0.5);
    return !(nu < 1e60 && d < 1e60) || (d < meeting && fabs(k - nu) < meeting && k >= 1.0 && k <= (double)n);
}

/* ------------------------------------------------------------- harmonics -- */

/* e^(-j k angle) of one angle for the harmonics of a block, and the step to those of the next. */
typedef struct angle_turns {
    lanes odd_re, odd_im, even_re, even_im;
    double step_re, step_im;
} angle_turns;

/* Eight harmonics: 1, 3, 5, 7 more than a multiple of eight, and 2, 4, 6, 8. */
typedef struct block_turns {
    angle_turns angle[ANGLES];
    lanes odd_k, even_k;
    lanes odd_re[KINDS], odd_im[KINDS], even_re[KINDS], even_im[KINDS]; /* 1/D */
} block_turns;

WITHIN_LANES void turns_start(const angles *a, block_turns *block)
{
    for (int i = 0; i < a->n; i++) {
        angle_turns *t = &block->angle[i];
        double c1 = a->cosine[i], s1 = -a->sine[i];
        double c2 = c1 * c1 - s1 * s1, s2 = 2.0 * c1 * s1;
        double c4 = c2 * c2 - s2 * s2, s4 = 2.0 * c2 * s2;
        double c6 = c2 * c4 - s2 * s4, s6 = c2 * s4 + s2 * c4;
        lanes re = {1.0, c2, c4, c6}, im = {0.0, s2, s4, s6};
        t->odd_re = c1 * re - s1 * im;
        t->odd_im = c1 * im + s1 * re;
        t->even_re = c1 * t->odd_re - s1 * t->odd_im;
        t->even_im = c1 * t->odd_im + s1 * t->odd_re;
        t->step_re = c4 * c4 - s4 * s4;
        t->step_im = 2.0 * c4 * s4;
    }
}

WITHIN_LANES void turns_step(const angles *a, block_turns *block, bool even)
{
    for (int i = 0; i < a->n; i++) {
        angle_turns *t = &block->angle[i];
        lanes re = t->odd_re, im = t->odd_im;
        t->odd_re = t->step_re * re - t->step_im * im;
        t->odd_im = t->step_re * im + t->step_im * re;
        if (!even) continue;
        re = t->even_re;
        im = t->even_im;
        t->even_re = t->step_re * re - t->step_im * im;
        t->even_im = t->step_re * im + t->step_im * re;
    }
}

WITHIN_LANES void inverse_of(const lanes *k, double d, double nu, lanes *re, lanes *im)
{
    lanes even = (nu - *k) * (nu + *k) + d * d, odd = 2.0 * d * *k;
    lanes inverse = 1.0 / (even * even + odd * odd);
    *re = even * inverse;
    *im = -odd * inverse;
}

WITHIN_LANES void kinds_of_block(const spectra *all, block_turns *block, bool even)
{
    block->odd_re[0] = -1.0 / (block->odd_k * block->odd_k);
    block->even_re[0] = -1.0 / (block->even_k * block->even_k);
    for (int i = 1; i < all->kinds; i++) {
        double d = all->kind[i].decay / all->radian, nu = all->kind[i].omega / all->radian;
        inverse_of(&block->odd_k, d, nu, &block->odd_re[i], &block->odd_im[i]);
        if (even) inverse_of(&block->even_k, d, nu, &block->even_re[i], &block->even_im[i]);
    }
}

/* N of one kind, summed over its corners. */
WITHIN_LANES void corner_sums(const corners *c, int own, const block_turns *block, bool even, lanes *re,
                              lanes *im)
{
    lanes y_re = {0.0}, y_im = {0.0}, bent_re = {0.0}, bent_im = {0.0};
    if (!c->steps[own]) {
        for (int i = c->first[own]; i >= 0; i = c->entry[i].next) {
            const entry *e = &c->entry[i];
            const angle_turns *t = &block->angle[e->angle];
            double bent = even ? e->even_bent : e->odd_bent;
            bent_re += bent * (even ? t->even_re : t->odd_re);
            bent_im += bent * (even ? t->even_im : t->odd_im);
        }
        *re = bent_re;
        *im = bent_im;
        return;
    }
    for (int i = c->first[own]; i >= 0; i = c->entry[i].next) {
        const entry *e = &c->entry[i];
        const angle_turns *t = &block->angle[e->angle];
        double bent = even ? e->even_bent : e->odd_bent, y = even ? e->even_y : e->odd_y;
        bent_re += bent * (even ? t->even_re : t->odd_re);
        bent_im += bent * (even ? t->even_im : t->odd_im);
        y_re += y * (even ? t->even_re : t->odd_re);
        y_im += y * (even ? t->even_im : t->odd_im);
    }
    lanes k = even ? block->even_k : block->odd_k;
    *re = bent_re - k * y_im;
    *im = bent_im + k * y_re;
}

/* pi c_k of one wave for the odd, then the even, harmonics of a block. */
WITHIN_LANES void wave_block(const spectra *all, const corners *c, const block_turns *block, bool even,
                             lanes *sum_re, lanes *sum_im)
{
    lanes re, im;
    *sum_re = *sum_im = (lanes){0.0};
    for (int own = 0; own < all->kinds; own++) {
        if (c->first[own] < 0) continue;
        lanes q_re = even ? block->even_re[own] : block->odd_re[own];
        corner_sums(c, own, block, even, &re, &im);
        *sum_re += re * q_re;
        *sum_im += im * q_re;
        if (own == 0) continue;
        lanes q_im = even ? block->even_im[own] : block->odd_im[own];
        *sum_re -= im * q_im;
        *sum_im += re * q_im;
    }
}

/* Eight harmonics of one wave, or the first n of them. */
WITHIN_LANES void block_write(const lanes *odd, const lanes *even, double factor, size_t n, double to[])
{
    lanes o = *odd * factor, e = *even * factor;
    lanes low = __builtin_shufflevector(o, e, 0, 4, 1, 5), high = __builtin_shufflevector(o, e, 2, 6, 3, 7);
    if (n >= 2 * LANES) {
        lanes_store(to, low);
        lanes_store(to + LANES, high);
        return;
    }
    for (size_t i = 0; i < n; i++) to[i] = i < LANES ? low[i] : high[i - LANES];
}

FOUR_LANES static void all_blocks(const spectra *all, const int source[], size_t waves, size_t n,
                                  size_t stride, double cosine[], double sine[])
{
    block_turns block;
    bool even = false;
    for (size_t w = 0; w < waves; w++)
        if (source[w] == (int)w && !all->corners[w].odd_only) even = true;
    turns_start(&all->angles, &block);
    block.odd_k = (lanes){1.0, 3.0, 5.0, 7.0};
    block.even_k = (lanes){2.0, 4.0, 6.0, 8.0};
    for (size_t done = 0; done < n; done += 2 * LANES) {
        kinds_of_block(all, &block, even);
        for (size_t w = 0; w < waves; w++) {
            if (source[w] != (int)w) continue;
            const corners *c = &all->corners[w];
            lanes odd_re, odd_im, even_re = {0.0}, even_im = {0.0};
            wave_block(all, c, &block, false, &odd_re, &odd_im);
            if (!c->odd_only) wave_block(all, c, &block, true, &even_re, &even_im);
            block_write(&odd_re, &even_re, 1.0 / pi, n - done, cosine + w * stride + done);
            block_write(&odd_im, &even_im, -1.0 / pi, n - done, sine + w * stride + done);
        }
        if (done + 2 * LANES >= n) break;
        turns_step(&all->angles, &block, even);
        block.odd_k += 8.0;
        block.even_k += 8.0;
    }
}

/* ----------------------------------------------------------------- waves -- */

/* A wave that is another turned about and half a period later, as the two halves of a centre tap carry. */
static bool turned_about(const hl_wave *a, const hl_wave *b)
{
    size_t half = a->n / 2;
    return a->n == b->n && a->n % 2 == 0 && segments_mirror(a->segment, b->segment + half, half) &&
           segments_mirror(a->segment + half, b->segment, half);
}

/* Harmonics of such a wave: odd ones the same, even ones of the other sign. */
static void copy_turned(size_t n, const double from[], double to[])
{
    for (size_t k = 0; k < n; k++) to[k] = k % 2 ? -from[k] : from[k];
}

enum { NOBODY = -1, ALONE = -2 };

/* From which wave w has its harmonics: itself, an earlier one, nobody (none), or alone by hl_wave_fourier. */
static int source_of(const hl_wave *const wave[], size_t w, const int source[], double period)
{
    if (!wave[w]) return NOBODY;
    double own = hl_wave_period(wave[w]);
    if (!(own > 0.0)) return NOBODY;
    for (size_t v = 0; v < w; v++)
        if (source[v] == (int)v && turned_about(wave[v], wave[w])) return (int)v;
    return fabs(own - period) <= 1e-12 * period ? (int)w : ALONE;
}

static double first_period(const hl_wave *const wave[], size_t waves)
{
    double period = 0.0;
    for (size_t w = 0; w < waves && !(period > 0.0); w++) period = wave[w] ? hl_wave_period(wave[w]) : 0.0;
    return period;
}

/* false: some wave is not for these laws. */
static bool gather(spectra *all, const hl_wave *const wave[], const int source[], size_t waves, size_t n)
{
    size_t half[HL_WINDINGS_MAX];
    all->kinds = all->angles.n = 1;
    all->angles.angle[0] = 0.0;
    all->stretches.n = 0;
    all->kind[0] = (kind){0.0, 0.0};
    for (size_t w = 0; w < waves; w++) {
        if (source[w] != (int)w) continue;
        half[w] = wave_mirrored(wave[w]);
        all->corners[w].odd_only = half[w] > 0;
        if (!half[w]) half[w] = wave[w]->n;
        if (!gather_stretches(all, wave[w], half[w], &all->corners[w])) return false;
    }
    for (int i = 1; i < all->kinds; i++)
        if (meets_harmonic(all, i, n)) return false;
    stretches *s = &all->stretches;
    for (int i = s->n; i % LANES; i++) s->growth[i] = s->turn[i] = 0.0;
    turn_stretches(s);
    for (size_t w = 0; w < waves; w++) {
        if (source[w] != (int)w) continue;
        if (!add_wave(all, wave[w], half[w], &all->corners[w])) return false;
    }
    for (int i = all->angles.n; i % LANES; i++) all->angles.angle[i] = 0.0;
    turn_angles(&all->angles);
    return true;
}

void hl_waves_fourier(const hl_wave *const wave[], size_t waves, size_t n, size_t stride, double cosine[],
                      double sine[])
{
    corners each[HL_WINDINGS_MAX];
    spectra all;
    int source[HL_WINDINGS_MAX];
    if (waves > HL_WINDINGS_MAX) waves = HL_WINDINGS_MAX;
    all.corners = each;
    all.period = first_period(wave, waves);
    all.radian = all.period > 0.0 ? 2.0 * pi / all.period : 0.0;
    for (size_t w = 0; w < waves; w++) source[w] = source_of(wave, w, source, all.period);
    bool together = isfinite(all.radian) && gather(&all, wave, source, waves, n);
    if (together) all_blocks(&all, source, waves, n, stride, cosine, sine);
    for (size_t w = 0; w < waves; w++) {
        double *c = cosine + w * stride, *s = sine + w * stride;
        if (source[w] == NOBODY) {
            for (size_t k = 0; k < n; k++) c[k] = s[k] = 0.0;
        } else if (source[w] == ALONE || (source[w] == (int)w && !together)) {
            hl_wave_fourier(wave[w], n, c, s);
        } else if (source[w] != (int)w) {
            copy_turned(n, cosine + (size_t)source[w] * stride, c);
            copy_turned(n, sine + (size_t)source[w] * stride, s);
        }
    }
}
