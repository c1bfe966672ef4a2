/* llc_waves.h - the solved half wave as segments of offset + slope t + one damped ringing.
 *
 * A conducting stretch is a ringing plus a slow part (the output voltage moving the magnetizing current,
 * bent by the secondary resistance).  The slow part is written with the same four functions by matching its
 * value at both ends of a piece and at two places within, so chosen that the error swings evenly; it is at
 * most |r''| w^2 h^4 / 2060 where w h <= 2, and the stretch is cut so that this stays below 1e-7 of the
 * rectified current.  Open stretches need no such care: they are exact. docs/theory/llc.md eq. 13 */
#ifndef LLC_WAVES_H
#define LLC_WAVES_H

#include "heatledger/plugin.h"
#include "llc_figures.h"
#include "llc_half.h"

enum { LLC_PIECES_MAX = 8 };
static const double llc_wave_error = 1e-7; /* of the rectified current */

typedef struct llc_cuts {
    int n[LLC_STRETCHES]; /* pieces of each stretch */
    size_t total;
} llc_cuts;

/* The slow part of a functional and its slope. */
static double llc_slow_part(const llc_functional *f, llc_pair slow)
{
    return f->p[2] * slow.c + f->p[3] * slow.s;
}

/* Pieces that leave llc_wave_error of `size` where one alone would leave `error`, of a ringing that turns by
 * `span` rad: the law of the error asks for no more than 2 rad a piece. */
static int llc_pieces(double error, double size, double span)
{
    double ratio = size > 0 ? error / (llc_wave_error * size) : 0.0, least = ceil(0.5 * span);
    double pieces = ratio > 1.0 ? ceil(sqrt(sqrt(ratio))) : 1.0;
    return (int)fmin(fmax(pieces, least), LLC_PIECES_MAX);
}

/* Pieces of a stretch that conducts.  fine: for a current that holds the magnetizing current, against the
 * rectified one half way; whole: for the core voltage, which shows it only through R_n, and for the resonant
 * current, which shows it less still (R_n C / L_m of it). */
static void llc_cut_conducting(const llc_circuits *all, const llc_stretch *stretch, int *fine, int *whole)
{
    const llc_circuit *circuit = stretch->circuit;
    *fine = *whole = LLC_PIECES_MAX;
    if (!(circuit->fast.omega > 0)) return;
    const llc_functional im = llc_watch_state(stretch, LLC_IM, 1.0), d = llc_watch_rectified(stretch, 1.0);
    const llc_functional once = llc_slope_of(circuit, &im), twice = llc_slope_of(circuit, &once);
    const llc_instant middle = llc_instant_at(circuit, 0.5 * stretch->duration);
    double bend = fmax(fabs(twice.p[2]), fabs(llc_slow_part(&twice, stretch->end.slow)));
    double span = circuit->fast.omega * stretch->duration;
    double error = bend * stretch->duration * stretch->duration * span * span / 2060.0;
    *fine = llc_pieces(error, fabs(llc_value(&d, &middle)), span);
    *whole = llc_pieces(error, llc_threshold(all, stretch->x[LLC_VO]) / (all->reflected + 1e-300), span);
}

/* Pieces of all stretches, for curves with the magnetizing current and without. */
static void llc_cut(const llc_circuits *all, const llc_half *half, llc_cuts *fine, llc_cuts *whole)
{
    fine->total = whole->total = 0;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        fine->n[k] = whole->n[k] = 1;
        if (stretch->sign && stretch->duration > 0)
            llc_cut_conducting(all, stretch, &fine->n[k], &whole->n[k]);
        fine->total += (size_t)fine->n[k];
        whole->total += (size_t)whole->n[k];
    }
}

/* Inner places of a piece, 1 - 1/sqrt 2 and 1/sqrt 2 of it: with both ends they are the zeros of the quartic
 * that swings least between them, T_4(x cos pi/8), x from -1 to 1. */
static const double llc_first_place = 0.29289321881345248, llc_second_place = 0.70710678118654752;
static const double llc_place_share =
    0.41421356237309505; /* tan pi/8: how far from the middle, of the half */

/* What no straight line changes: by four values at the places, even and odd about the middle. */
static double llc_even_bend(double start, double first, double second, double end)
{
    return (start + end) - (first + second);
}

static double llc_odd_bend(double start, double first, double second, double end)
{
    return llc_place_share * (end - start) - (second - first);
}

/* rad of the ringing: a shorter piece takes a straight slow part. */
static const double llc_least_turn = 0.03;

/* What all curves of a piece share: both groups at its ends, and how the slow part is put on the ringing. */
typedef struct llc_frame {
    double span, turn;      /* s; rad of the ringing */
    llc_instant start, end; /* since the start of the stretch */
    llc_instant step;       /* from one to the other */
    bool bent;              /* the slow part is: else it is straight */
    llc_pair first, second; /* the slow group at the inner places, and both from the start of the piece on */
    llc_pair first_step, second_step;
    double cc, ss;      /* the ringing less its tangent, at the end */
    llc_pair even, odd; /* bends of those two, over the determinant of all four */
} llc_frame;

static void llc_frame_bends(const llc_group *fast, llc_pair end, llc_frame *frame)
{
    double span = frame->span, first = llc_first_place * span, second = llc_second_place * span, a = fast->a;
    llc_pair one = llc_group_at(fast, first);
    llc_pair two = llc_pair_product(fast, end, llc_pair_inverse(fast, one)); /* both make the whole */
    double c1 = one.c - 1.0 + a * first, s1 = one.s - first;
    double c2 = two.c - 1.0 + a * second, s2 = two.s - second;
    frame->cc = end.c - 1.0 + a * span;
    frame->ss = end.s - span;
    llc_pair even = {llc_even_bend(0.0, c1, c2, frame->cc), llc_even_bend(0.0, s1, s2, frame->ss)};
    llc_pair odd = {llc_odd_bend(0.0, c1, c2, frame->cc), llc_odd_bend(0.0, s1, s2, frame->ss)};
    double inverse = 1.0 / (even.c * odd.s - even.s * odd.c);
    frame->even = (llc_pair){even.c * inverse, even.s * inverse};
    frame->odd = (llc_pair){odd.c * inverse, odd.s * inverse};
}

/* Four curves on a piece, as a segment has them. */
typedef struct llc_four_segments {
    double omega, decay;
    lanes offset, slope, cosine, sine;
} llc_four_segments;

WITHIN_LANES void llc_slow_parts(const llc_four *f, llc_pair slow, lanes *part)
{
    *part = f->p[2] * slow.c + f->p[3] * slow.s;
}

/* A straight line between the ends: for stretches too short to bend and for a tank that does not ring. */
WITHIN_LANES void llc_chord(const llc_four *f, const llc_frame *frame, llc_four_segments *four)
{
    lanes end;
    *four = (llc_four_segments){0};
    llc_values(f, &frame->start, &four->offset);
    llc_values(f, &frame->end, &end);
    if (frame->span > 0) four->slope = (end - four->offset) / frame->span;
}

WITHIN_LANES void llc_piece(const llc_group *fast, const llc_four *f, const llc_frame *frame,
                            llc_four_segments *four)
{
    llc_pair ring = frame->start.fast;
    lanes c = f->p[0] * ring.c + f->p[1] * ring.s, s = f->p[1] * ring.c - fast->sigma * f->p[0] * ring.s;
    lanes r0, r, r1, r2;
    llc_slow_parts(f, frame->start.slow, &r0);
    llc_slow_parts(f, frame->end.slow, &r);
    four->slope = (r - r0) / frame->span;
    four->offset = f->k + r0;
    if (frame->bent) {
        llc_slow_parts(f, frame->first, &r1);
        llc_slow_parts(f, frame->second, &r2);
        lanes even = (r0 + r) - (r1 + r2), odd = llc_place_share * (r - r0) - (r2 - r1);
        lanes with_c = even * frame->odd.s - odd * frame->even.s;
        lanes with_s = odd * frame->even.c - even * frame->odd.c;
        c += with_c, s += with_s;
        four->slope =
            (r - r0 - with_c * frame->cc - with_s * frame->ss) / frame->span + fast->a * with_c - with_s;
        four->offset = f->k + (r0 - with_c);
    }
    four->decay = fast->a;
    four->omega = fast->omega;
    four->cosine = c;
    four->sine = s / fast->omega;
}

/* A curve of the half wave, written piece by piece. */
typedef enum llc_curve {
    LLC_RESONANT,  /* i_r */
    LLC_RECTIFIED, /* ratio |i_r - i_m| */
    LLC_CORE,      /* v_m, V */
    LLC_SLOPE,     /* di_r/dt, A/s */
    LLC_CURVES
} llc_curve;

/* All of them on a stretch, side by side in that order. */
FOUR_LANES static void llc_curves_of(const llc_circuits *all, const llc_stretch *stretch, llc_four *curve)
{
    const lanes times = {1.0, 1.0, all->tank.magnetizing, 1.0};
    llc_four f, slope;
    llc_watch_four(all, stretch, &f);
    llc_slopes_of(stretch->circuit, &f, &slope);
    curve->k = __builtin_shufflevector(f.k, slope.k, 0, 2, 5, 4) * times;
    for (int g = 0; g < 4; g++) curve->p[g] = __builtin_shufflevector(f.p[g], slope.p[g], 0, 2, 5, 4) * times;
}

/* What the pieces of a stretch share. return whether they ring, else each is a chord */
WITHIN_LANES bool llc_frame_of(const llc_stretch *stretch, int pieces, const llc_four *f, llc_frame *frame)
{
    const llc_circuit *circuit = stretch->circuit;
    lanes_mask slow = (f->p[2] != (lanes){0}) | (f->p[3] != (lanes){0});
    frame->span = stretch->duration / pieces;
    frame->turn = circuit->fast.omega * frame->span;
    frame->step = pieces > 1 ? llc_instant_at(circuit, frame->span) : stretch->end;
    frame->end = (llc_instant){{1.0, 0.0}, {1.0, 0.0}};
    frame->bent = frame->turn > llc_least_turn && lanes_any(&slow);
    if (frame->bent) {
        llc_pair back, first = llc_group_at(&circuit->slow, llc_first_place * frame->span);
        back = llc_pair_inverse(&circuit->slow, first);
        frame->first_step = first;
        frame->second_step = llc_pair_product(&circuit->slow, frame->step.slow, back);
        llc_frame_bends(&circuit->fast, frame->step.fast, frame);
    }
    return circuit->fast.omega > 0 && frame->turn >= 1e-3;
}

/* One piece further. */
WITHIN_LANES void llc_frame_step(const llc_circuit *circuit, llc_frame *frame)
{
    frame->start = frame->end;
    if (frame->bent) {
        frame->first = llc_pair_product(&circuit->slow, frame->start.slow, frame->first_step);
        frame->second = llc_pair_product(&circuit->slow, frame->start.slow, frame->second_step);
    }
    frame->end.fast = llc_pair_product(&circuit->fast, frame->start.fast, frame->step.fast);
    frame->end.slow = llc_pair_product(&circuit->slow, frame->start.slow, frame->step.slow);
}

/* Curves of a stretch in so many pieces; none where `at` has no place for them. Places go on. */
WITHIN_LANES void llc_write_stretch(const llc_stretch *stretch, const llc_four *f, int pieces,
                                    hl_segment *at[LLC_CURVES])
{
    llc_frame frame;
    bool rings = llc_frame_of(stretch, pieces, f, &frame);
    for (int i = 0; i < pieces; i++) {
        llc_four_segments four;
        llc_frame_step(stretch->circuit, &frame);
        if (rings)
            llc_piece(&stretch->circuit->fast, f, &frame, &four);
        else
            llc_chord(f, &frame, &four);
        for (int j = 0; j < LLC_CURVES; j++)
            if (at[j])
                *at[j]++ = (hl_segment){.duration = frame.span,
                                        .offset = four.offset[j],
                                        .slope = four.slope[j],
                                        .decay = four.decay,
                                        .omega = four.omega,
                                        .cosine = four.cosine[j],
                                        .sine = four.sine[j]};
    }
}

/* Curves of one half period: the rectified current as `fine` cuts it, the others as `whole` does; all
 * together where a stretch is cut alike. */
FOUR_LANES static void llc_write_curves(const llc_circuits *all, const llc_half *half, const llc_cuts *whole,
                                        const llc_cuts *fine, hl_segment *const segment[LLC_CURVES])
{
    hl_segment *at[LLC_CURVES], *alone[LLC_CURVES] = {NULL};
    for (int j = 0; j < LLC_CURVES; j++) at[j] = segment[j];
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        bool alike = whole->n[k] == fine->n[k];
        llc_four f;
        llc_curves_of(all, stretch, &f);
        if (!alike) {
            alone[LLC_RECTIFIED] = at[LLC_RECTIFIED];
            at[LLC_RECTIFIED] = NULL;
            llc_write_stretch(stretch, &f, fine->n[k], alone);
        }
        llc_write_stretch(stretch, &f, whole->n[k], at);
        if (!alike) at[LLC_RECTIFIED] = alone[LLC_RECTIFIED];
    }
}

/* What a wave takes of a curve, stretch by stretch. */
typedef enum llc_share {
    LLC_WITH,     /* while the rectifier conducts with the half wave */
    LLC_AGAINST,  /* while it conducts against it */
    LLC_SIGNED,   /* the first less the second */
    LLC_DRAWN,    /* from the bus in the half period of the upper switch */
    LLC_RETURNED, /* from the bus in the other one, as seen from this half wave */
} llc_share;

static double llc_share_of(const llc_stretch *stretch, llc_share share)
{
    bool floats = stretch->node == LLC_FLOAT, low = stretch->node == LLC_LOW;
    switch (share) {
    case LLC_WITH:
        return stretch->sign > 0 ? 1.0 : 0.0;
    case LLC_AGAINST:
        return stretch->sign < 0 ? 1.0 : 0.0;
    case LLC_SIGNED:
        return stretch->sign;
    case LLC_DRAWN:
        return floats ? 0.5 : low ? 0.0 : 1.0;
    case LLC_RETURNED:
        break;
    }
    return floats ? -0.5 : low ? -1.0 : 0.0;
}

/* A half wave of a written curve, times `factor`; what is nil in a row of stretches is one segment.
 * return the number of segments */
FOUR_LANES static size_t llc_take_share(const llc_half *half, const llc_cuts *cuts, llc_share share,
                                        double factor, const hl_segment curve[], hl_segment segment[])
{
    size_t at = 0, written = 0;
    bool idle = false;
    for (int k = 0; k < half->n; k++) {
        double times = factor * llc_share_of(&half->stretch[k], share), duration = half->stretch[k].duration;
        if (times == 0.0) {
            at += (size_t)cuts->n[k];
            if (idle)
                segment[written - 1].duration += duration;
            else
                segment[written++] = (hl_segment){.duration = duration};
            idle = true;
            continue;
        }
        idle = false;
        for (int i = 0; i < cuts->n[k]; i++, at++, written++) {
            /* its first four numbers, and its last four, of which the decay is in both */
            const lanes straight = {1.0, times, times, 1.0}, ringing = {1.0, 1.0, times, times};
            lanes_store(&segment[written].duration, straight * lanes_load(&curve[at].duration));
            lanes_store(&segment[written].decay, ringing * lanes_load(&curve[at].decay));
        }
    }
    return written;
}

#endif
