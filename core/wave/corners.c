/* corners.c - from pieces of waves to kinds of ringing, angles, and what each corner weighs. */
#include "wave/corners.h"

#include <math.h>

#include "wave/exponential.h"
#include "wave/lanes_turn.h"
#include "wave/segment.h"

static const double pi = 3.14159265358979323846, over_pi = 0.318309886183790671538;
static const double same_angle = 1e-11; /* radians: turns harmonic 400 by 4e-9 */
static const double short_angle = 6e-6; /* a straight part so short is taken as level: 1e-9 of its rise */

/* -------------------------------------------------------------- stretches -- */

static int kind_of(spectra *all, const hl_segment *s)
{
    for (int i = 1; i < all->kinds; i++)
        if (all->kind[i].decay == s->decay && all->kind[i].omega == s->omega) return i;
    if (all->kinds == KINDS) return -1;
    all->kind[all->kinds] = (kind){s->decay, s->omega, s->decay / all->radian, s->omega / all->radian, 0.0};
    return all->kinds++;
}

/* Number of the stretch a segment rings through; -1: no room, or beyond the reach of lanes_turn.h. */
static inline int stretch_of(spectra *all, const hl_segment *s)
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

/* Stretches of all pieces of a wave that ring. false: not for these laws. */
static bool gather_stretches(spectra *all, const hl_wave *wave, size_t n, corners *c)
{
    double start, slope;
    if (n > PIECES) return false;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        c->of[i] = STRETCHES;
        if (segment_straight(s, &start, &slope) || !segment_lasts(s)) continue;
        int stretch = stretch_of(all, s);
        if (stretch < 0) return false;
        c->of[i] = (unsigned char)stretch;
    }
    return true;
}

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

/* ----------------------------------------------------------------- places -- */

/* Where in the period: an angle below pi, or that and half a turn. */
typedef struct place {
    int angle;
    odd_even sign; /* 1/pi, with the sign that half a turn gives; twice and nothing of a mirrored wave */
} place;

/* Corners come in the order of time, so the next is looked at first. */
static inline int angle_of(angles *known, double angle, int before)
{
    if (before + 1 < known->n && fabs(known->angle[before + 1] - angle) < same_angle) return before + 1;
    bool beyond = angle >= known->highest + same_angle;
    for (int i = known->n - 1; i >= 0 && !beyond; i--)
        if (fabs(known->angle[i] - angle) < same_angle) return i;
    if (known->n == ANGLES) return -1;
    known->angle[known->n] = angle;
    if (angle > known->highest) known->highest = angle;
    return known->n++;
}

static inline bool place_at(spectra *all, bool odd_only, double angle, int before, place *at)
{
    bool late = angle > pi - same_angle;
    if (late) angle -= pi;
    if (late && angle > pi - same_angle) { /* the end is the beginning */
        angle = 0.0;
        late = false;
    }
    double odd = odd_only ? 2.0 * over_pi : over_pi;
    at->sign = (odd_even){late ? -odd : odd, odd_only ? 0.0 : over_pi};
    at->angle = angle < same_angle ? 0 : angle_of(&all->angles, angle, before);
    return at->angle >= 0;
}

/* ---------------------------------------------------------------- weights -- */

static inline void add_weight(corners *c, int own, const place *at, double bent, double y)
{
    weight *w = &c->at[own][at->angle];
    uint64_t bit = (uint64_t)1 << (at->angle & (ANGLES - 1));
    if (!(c->used[own] & bit)) {
        c->used[own] |= bit;
        w->bent = at->sign * bent;
        w->y = at->sign * y;
        return;
    }
    w->bent += at->sign * bent;
    w->y += at->sign * y;
}

/* Between the straight parts of two pieces, or of one and nothing. */
typedef struct straight_end {
    double slope, value; /* per radian */
} straight_end;

static void add_ringing(const spectra *all, corners *c, const hl_segment *s, int stretch, const place *from,
                        const place *to)
{
    const stretches *known = &all->stretches;
    // NOLINTNEXTLINE(clang-analyzer-core.uninitialized.Assign): stretch_of filled it
    int own = known->kind[stretch];
    double d = all->kind[own].d, nu = all->kind[own].nu, envelope = known->envelope[stretch];
    double re = known->cosine[stretch], im = known->sine[stretch];
    double end = envelope * (s->cosine * re + s->sine * im);
    double turning = envelope * (s->sine * re - s->cosine * im);
    add_weight(c, own, from, nu * s->sine + d * s->cosine, s->cosine);
    add_weight(c, own, to, -(nu * turning + d * end), -end);
}

/* Steps of the straight part that are rounding of the values beside them are none: 1e-14 of them. And a kind
 * whose corners all came to nothing, as steps do where the current is steady, costs no more. */
static void tidy_straight(corners *c, double size)
{
    odd_even bent = {0.0, 0.0}, y = bent;
    for (uint64_t left = c->used[0]; left; left &= left - 1) {
        const weight *w = &c->at[0][__builtin_ctzll(left)];
        bent += w->bent * w->bent;
        y += w->y * w->y;
    }
    c->steps = !(y[0] + y[1] <= 1e-28 * size * size);
    if (bent[0] + bent[1] == 0.0 && !c->steps) c->used[0] = 0;
}

/* A piece of the straight part. false: too steep. */
static inline bool add_straight(const spectra *all, corners *c, const hl_segment *s, double start,
                                const place *from, straight_end *before, double *size)
{
    double angle = s->duration * all->radian, end = start + s->slope * s->duration;
    double bent = s->slope * all->second, reach = fabs(start) + fabs(end);
    if (fabs(bent) > all->steepest * (reach + fabs(s->cosine))) return false;
    if (angle < short_angle) {
        start = end = 0.5 * (start + end);
        bent = 0.0;
    }
    *size += reach;
    add_weight(c, 0, from, bent - before->slope, start - before->value);
    *before = (straight_end){bent, end};
    return true;
}

static bool add_wave(spectra *all, const hl_wave *wave, size_t n, corners *c)
{
    double time = 0.0, reached = 0.0, size = 0.0, start, slope; /* s; `to` is the place at `reached` */
    place from, to;
    straight_end before = {0.0, 0.0};
    place_at(all, c->odd_only, 0.0, 0, &to);
    for (int i = 0; i < all->kinds; i++) c->used[i] = 0;
    for (size_t i = 0; i < n; i++) {
        const hl_segment *s = &wave->segment[i];
        if (!segment_lasts(s)) continue;
        double begin = time;
        time += s->duration;
        bool straight = segment_straight(s, &start, &slope);
        if (straight && start == 0.0 && slope == 0.0) continue; /* idle */
        if (begin != reached) {
            add_weight(c, 0, &to, -before.slope, -before.value);
            before = (straight_end){0.0, 0.0};
            if (!place_at(all, c->odd_only, all->radian * begin, to.angle, &to)) return false;
        }
        from = to;
        if (!place_at(all, c->odd_only, all->radian * time, from.angle, &to)) return false;
        reached = time;
        if (!add_straight(all, c, s, straight ? start : s->offset, &from, &before, &size)) return false;
        if (!straight) add_ringing(all, c, s, c->of[i], &from, &to);
    }
    add_weight(c, 0, &to, -before.slope, -before.value);
    tidy_straight(c, size);
    return true;
}

/* ----------------------------------------------------------------- waves -- */

/* Which of n harmonics a kind meets, 0 for none. false: beyond all numbers. */
static bool meet_harmonics(kind *own, double meeting, size_t n)
{
    double d = fabs(own->d), nu = own->nu, k = floor(nu + 0.5);
    if (!(nu < 1e60 && d < 1e60)) return false;
    bool met = d < meeting && fabs(k - nu) < meeting && k >= 1.0 && k <= (double)n;
    own->met = met ? k : 0.0;
    return true;
}

bool corners_gather(spectra *all, const hl_wave *const wave[], const int source[], size_t waves, size_t n)
{
    size_t half[HL_WINDINGS_MAX];
    all->kinds = all->angles.n = 1;
    all->angles.angle[0] = all->angles.highest = 0.0;
    all->stretches.n = 0;
    all->second = 1.0 / all->radian;
    all->kind[0] = (kind){0.0, 0.0, 0.0, 0.0, 0.0};
    for (size_t w = 0; w < waves; w++) {
        if (source[w] != (int)w) continue;
        half[w] = wave_mirrored(wave[w]);
        all->corners[w].odd_only = half[w] > 0;
        if (!half[w]) half[w] = wave[w]->n;
        if (!gather_stretches(all, wave[w], half[w], &all->corners[w])) return false;
    }
    for (int i = 1; i < all->kinds; i++)
        if (!meet_harmonics(&all->kind[i], all->meeting, n) || (all->kind[i].met > 0.0 && !all->moments))
            return false;
    stretches *s = &all->stretches;
    for (int i = s->n; i % LANES; i++) s->growth[i] = s->turn[i] = 0.0;
    if (s->n) turn_stretches(s);
    for (size_t w = 0; w < waves; w++)
        if (source[w] == (int)w && !add_wave(all, wave[w], half[w], &all->corners[w])) return false;
    for (int i = all->angles.n; i % LANES; i++) all->angles.angle[i] = 0.0;
    return true;
}

/* ---------------------------------------------------------------- moments -- */

/* e^(-j k angle) of all corners of a wave. */
typedef struct corner_turns {
    double angle[PIECES + LANES], cosine[PIECES + LANES], sine[PIECES + LANES];
} corner_turns;

FOUR_LANES static void turn_corners(corner_turns *t, size_t n)
{
    for (size_t i = 0; i < n; i += LANES) {
        lanes angle = lanes_load(t->angle + i), cosine, sine;
        lanes_cos_sin(&angle, &cosine, &sine);
        lanes_store(t->cosine + i, cosine);
        lanes_store(t->sine + i, -sine);
    }
}

/* What a piece from turn e to turn f gives pi c_k of the harmonic it meets; with z = (lambda - j k) angle,
 *   1/2 (A angle E0(z) e + conj(A) (e^conj(lambda) f - e) / (conj(lambda) - j k)).
 * docs/theory/waveforms.md eq. 13a, the second moment written out: it meets nothing */
static complex_number met_piece(const spectra *all, int stretch, const hl_segment *s, complex_number e,
                                complex_number f)
{
    const stretches *known = &all->stretches;
    // NOLINTNEXTLINE(clang-analyzer-core.uninitialized.Assign): stretch_of filled it
    const kind *own = &all->kind[known->kind[stretch]];
    double angle = s->duration * all->radian, envelope = known->envelope[stretch];
    complex_number a = {0.5 * s->cosine, -0.5 * s->sine}, mirror = {a.re, -a.im};
    complex_number z = {-own->d * angle, (own->nu - own->met) * angle};
    complex_number grown = {envelope * known->cosine[stretch], -envelope * known->sine[stretch]};
    complex_number near = complex_product(complex_product(a, exponential_series(z, 0)), e);
    complex_number far = complex_product(grown, f), rate = {-own->d, -own->nu - own->met};
    far = complex_product(mirror, complex_quotient((complex_number){far.re - e.re, far.im - e.im}, rate));
    return (complex_number){angle * near.re + far.re, angle * near.im + far.im};
}

static void add_met(const spectra *all, int own, const hl_wave *wave, size_t n, double cosine[],
                    double sine[])
{
    const corners *c = all->corners;
    corner_turns turn;
    complex_number sum = {0.0, 0.0};
    double k = all->kind[own].met, time = 0.0;
    for (size_t i = 0; i < n; i++) {
        turn.angle[i] = k * all->radian * time;
        if (segment_lasts(&wave->segment[i])) time += wave->segment[i].duration;
    }
    for (size_t i = n; i < n + LANES; i++) turn.angle[i] = k * all->radian * time;
    turn_corners(&turn, n + 1);
    for (size_t i = 0; i < n; i++) {
        if (c->of[i] == STRETCHES || all->stretches.kind[c->of[i]] != own) continue;
        complex_number e = {turn.cosine[i], turn.sine[i]}, f = {turn.cosine[i + 1], turn.sine[i + 1]};
        complex_number part = met_piece(all, c->of[i], &wave->segment[i], e, f);
        sum.re += part.re;
        sum.im += part.im;
    }
    size_t at = (size_t)k;
    double times = !c->odd_only ? 1.0 : at % 2 ? 2.0 : 0.0;
    cosine[at - 1] += times * over_pi * sum.re;
    sine[at - 1] -= times * over_pi * sum.im;
}

void corners_met(const spectra *all, const hl_wave *wave, double cosine[], double sine[])
{
    size_t n = all->corners->odd_only ? wave->n / 2 : wave->n;
    for (int own = 1; own < all->kinds; own++)
        if (all->kind[own].met > 0.0) add_met(all, own, wave, n, cosine, sine);
}
