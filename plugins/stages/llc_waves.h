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

/* fine: for a current that holds the magnetizing current; otherwise for the core voltage, which shows it only
 * through R_n. */
static int llc_pieces(const llc_circuits *all, const llc_stretch *stretch, bool fine)
{
    const llc_circuit *circuit = stretch->circuit;
    if (!stretch->sign || !(stretch->duration > 0)) return 1;
    if (!(circuit->fast.omega > 0)) return LLC_PIECES_MAX;
    const llc_functional im = llc_watch_state(stretch, LLC_IM, 1.0);
    const llc_functional once = llc_slope_of(circuit, &im), twice = llc_slope_of(circuit, &once);
    double bend = fmax(fabs(twice.p[2]), fabs(llc_slow_part(&twice, stretch->end.slow)));
    double span = circuit->fast.omega * stretch->duration;
    double error = bend * stretch->duration * stretch->duration * span * span / 2060.0;
    double size = llc_threshold(all, stretch->x[LLC_VO]) / (all->reflected + 1e-300);
    if (fine) {
        const llc_functional d = llc_watch_rectified(stretch, 1.0);
        llc_instant middle = llc_instant_at(circuit, 0.5 * stretch->duration);
        size = fabs(llc_value(&d, &middle));
    }
    double ratio = size > 0 ? error / (llc_wave_error * size) : 0.0;
    double least = ceil(0.5 * span); /* the law of the error asks for no more than 2 rad of the ringing */
    if (!(ratio > 1.0)) return (int)fmin(fmax(least, 1.0), LLC_PIECES_MAX);
    return (int)fmin(fmax(ceil(sqrt(sqrt(ratio))), least), LLC_PIECES_MAX);
}

/* The resonant current shows the magnetizing current less still (R_n C / L_m of it): not fine. */
static void llc_cut(const llc_circuits *all, const llc_half *half, bool fine, llc_cuts *cuts)
{
    cuts->total = 0;
    for (int k = 0; k < half->n; k++) {
        cuts->n[k] = llc_pieces(all, &half->stretch[k], fine);
        cuts->total += (size_t)cuts->n[k];
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
    llc_pair first, second; /* the slow group at the inner places */
    double cc, ss;          /* the ringing less its tangent, at the end */
    llc_pair even, odd;     /* bends of those two, over the determinant of all four */
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

/* A straight line between the ends: for stretches too short to bend and for a tank that does not ring. */
static hl_segment llc_chord(const llc_functional *f, const llc_frame *frame)
{
    double start = llc_value(f, &frame->start), end = llc_value(f, &frame->end), span = frame->span;
    return (hl_segment){.duration = span, .offset = start, .slope = span > 0 ? (end - start) / span : 0.0};
}

static hl_segment llc_piece(const llc_circuit *circuit, const llc_functional *f, const llc_frame *frame)
{
    const llc_group *fast = &circuit->fast;
    if (!(fast->omega > 0) || frame->turn < 1e-3) return llc_chord(f, frame);
    llc_pair ring = frame->start.fast;
    double c = f->p[0] * ring.c + f->p[1] * ring.s, s = f->p[1] * ring.c - fast->sigma * f->p[0] * ring.s;
    double r0 = llc_slow_part(f, frame->start.slow), r = llc_slow_part(f, frame->end.slow), w0 = 0.0;
    if (frame->turn > llc_least_turn && (f->p[2] != 0.0 || f->p[3] != 0.0)) {
        double r1 = llc_slow_part(f, frame->first), r2 = llc_slow_part(f, frame->second);
        double even = llc_even_bend(r0, r1, r2, r), odd = llc_odd_bend(r0, r1, r2, r);
        double with_c = even * frame->odd.s - odd * frame->even.s;
        double with_s = odd * frame->even.c - even * frame->odd.c;
        c += with_c, s += with_s;
        w0 = (r - r0 - with_c * frame->cc - with_s * frame->ss) / frame->span + fast->a * with_c - with_s;
        r0 -= with_c;
    } else {
        w0 = (r - r0) / frame->span;
    }
    return (hl_segment){.duration = frame->span,
                        .offset = f->k + r0,
                        .slope = w0,
                        .decay = fast->a,
                        .omega = fast->omega,
                        .cosine = c,
                        .sine = s / fast->omega};
}

/* A curve of the half wave, written piece by piece. */
typedef enum llc_curve {
    LLC_RESONANT,  /* i_r */
    LLC_RECTIFIED, /* ratio |i_r - i_m| */
    LLC_CORE,      /* v_m, V */
    LLC_SLOPE,     /* di_r/dt, A/s */
    LLC_CURVES
} llc_curve;

static llc_functional llc_functional_of(const llc_circuits *all, const llc_stretch *stretch, llc_curve curve)
{
    llc_functional f;
    if (curve == LLC_RECTIFIED)
        f = llc_watch_rectified(stretch, all->tank.ratio * stretch->sign);
    else
        f = curve == LLC_CORE ? llc_watch_state(stretch, LLC_IM, all->tank.magnetizing)
                              : llc_watch_state(stretch, LLC_IR, 1.0);
    return curve == LLC_CORE || curve == LLC_SLOPE ? llc_slope_of(stretch->circuit, &f) : f;
}

/* Curves first .. last of one half period, cuts->total segments each. */
static void llc_write_curves(const llc_circuits *all, const llc_half *half, const llc_cuts *cuts, int n,
                             const llc_curve curve[], hl_segment *const segment[])
{
    size_t written = 0;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        const llc_circuit *circuit = stretch->circuit;
        llc_functional f[LLC_CURVES];
        bool bent = false; /* some curve has a slow part */
        for (int j = 0; j < n; j++) {
            f[j] = llc_functional_of(all, stretch, curve[j]);
            bent |= f[j].p[2] != 0.0 || f[j].p[3] != 0.0;
        }
        double span = stretch->duration / cuts->n[k];
        llc_instant z = cuts->n[k] > 1 ? llc_instant_at(circuit, span) : stretch->end;
        llc_frame frame = {.span = span, .turn = circuit->fast.omega * span};
        llc_pair first = {1.0, 0.0}, second = first;
        if (bent && frame.turn > llc_least_turn) {
            first = llc_group_at(&circuit->slow, llc_first_place * span);
            second = llc_pair_product(&circuit->slow, z.slow, llc_pair_inverse(&circuit->slow, first));
            llc_frame_bends(&circuit->fast, z.fast, &frame);
        }
        frame.end = (llc_instant){{1.0, 0.0}, {1.0, 0.0}};
        for (int i = 0; i < cuts->n[k]; i++, written++) {
            frame.start = frame.end;
            frame.first = llc_pair_product(&circuit->slow, frame.start.slow, first);
            frame.second = llc_pair_product(&circuit->slow, frame.start.slow, second);
            frame.end.fast = llc_pair_product(&circuit->fast, frame.start.fast, z.fast);
            frame.end.slow = llc_pair_product(&circuit->slow, frame.start.slow, z.slow);
            for (int j = 0; j < n; j++) segment[j][written] = llc_piece(circuit, &f[j], &frame);
        }
    }
}

/* What a wave takes of a curve, stretch by stretch. */
typedef enum llc_share {
    LLC_ALL,
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
        return floats ? -0.5 : low ? -1.0 : 0.0;
    case LLC_ALL:
        break;
    }
    return 1.0;
}

/* A half wave of a written curve, times `factor`; what is nil in a row of stretches is one segment.
 * return the number of segments */
static size_t llc_take_share(const llc_half *half, const llc_cuts *cuts, llc_share share, double factor,
                             const hl_segment curve[], hl_segment segment[])
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
            segment[written] = curve[at];
            segment[written].offset *= times;
            segment[written].slope *= times;
            segment[written].cosine *= times;
            segment[written].sine *= times;
        }
    }
    return written;
}

#endif
