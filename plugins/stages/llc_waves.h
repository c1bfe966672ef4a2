/* llc_waves.h - the solved half wave as segments of offset + slope t + one damped ringing.
 *
 * A conducting stretch is a ringing plus a slow part (the output voltage moving the magnetizing current,
 * bent by the secondary resistance).  The slow part is written with the same four functions by matching
 * value and slope at both ends of a piece; the error is at most |r''| w^2 h^4 / 384, and the stretch is cut
 * so that this stays below 1e-7 of the rectified current.  Open stretches need no such care: they are exact.
 * docs/theory/llc.md eq. 13 */
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
    const llc_functional im = llc_watch(stretch, 0, (const double[4]){0, 1, 0, 0});
    const llc_functional once = llc_slope_of(circuit, &im), twice = llc_slope_of(circuit, &once);
    llc_pair end = llc_group_at(&circuit->slow, stretch->duration, 0);
    double bend = fmax(fabs(twice.p[2]), fabs(llc_slow_part(&twice, end)));
    double span = circuit->fast.omega * stretch->duration;
    double error = bend * stretch->duration * stretch->duration * span * span / 384.0;
    const llc_functional d = llc_watch(stretch, 0, (const double[4]){1, -1, 0, 0});
    llc_instant middle = llc_instant_at(circuit, 0.5 * stretch->duration);
    double size = fine ? fabs(llc_value(&d, &middle))
                       : llc_threshold(all, stretch->x[LLC_VO]) / (all->reflected + 1e-300);
    double ratio = size > 0 ? error / (llc_wave_error * size) : 0.0;
    if (!(ratio > 1.0)) return 1;
    return (int)fmin(ceil(sqrt(sqrt(ratio))), LLC_PIECES_MAX);
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

/* What all curves of a piece share: both groups at its ends, and how the slow part is put on the ringing. */
typedef struct llc_frame {
    double span, turn;       /* s; rad of the ringing */
    llc_pair z;              /* of the ringing, over the piece */
    llc_instant start, end;  /* since the start of the stretch */
    double cc, ss, cc1, ss1; /* the ringing less its tangent, and its slopes, at the end */
    double over_determinant; /* 1 / (cc ss1 - ss cc1) */
} llc_frame;

static llc_frame llc_frame_of(const llc_group *fast, double span, llc_pair z)
{
    llc_frame frame = {.span = span, .turn = fast->omega * span, .z = z};
    double a = fast->a;
    frame.cc = z.c - 1.0 + a * span;
    frame.ss = z.s - span;
    frame.cc1 = -a * z.c - fast->sigma * z.s + a;
    frame.ss1 = z.c - a * z.s - 1.0;
    frame.over_determinant = 1.0 / (frame.cc * frame.ss1 - frame.ss * frame.cc1);
    return frame;
}

/* A straight line between the ends: for stretches too short to bend and for a tank that does not ring. */
static hl_segment llc_chord(const llc_functional *f, const llc_frame *frame)
{
    double start = llc_value(f, &frame->start), end = llc_value(f, &frame->end), span = frame->span;
    return (hl_segment){.duration = span, .offset = start, .slope = span > 0 ? (end - start) / span : 0.0};
}

static hl_segment llc_piece(const llc_circuit *circuit, const llc_functional *f, const llc_functional *rate,
                            const llc_frame *frame)
{
    const llc_group *fast = &circuit->fast;
    if (!(fast->omega > 0) || frame->turn < 1e-3) return llc_chord(f, frame);
    llc_pair ring = frame->start.fast;
    double c = f->p[0] * ring.c + f->p[1] * ring.s, s = f->p[1] * ring.c - fast->sigma * f->p[0] * ring.s;
    double r0 = llc_slow_part(f, frame->start.slow), w0 = llc_slow_part(rate, frame->start.slow);
    double r = llc_slow_part(f, frame->end.slow) - r0 - w0 * frame->span;
    double w = llc_slow_part(rate, frame->end.slow) - w0;
    if (frame->turn > 0.03) {
        double with_c = (r * frame->ss1 - w * frame->ss) * frame->over_determinant;
        double with_s = (w * frame->cc - r * frame->cc1) * frame->over_determinant;
        c += with_c, s += with_s;
        r0 -= with_c, w0 += fast->a * with_c - with_s;
    } else {
        w0 += r / frame->span;
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
    double row[4] = {0};
    if (curve == LLC_RESONANT || curve == LLC_SLOPE) row[LLC_IR] = 1.0;
    if (curve == LLC_CORE) row[LLC_IM] = all->tank.magnetizing;
    if (curve == LLC_RECTIFIED) {
        row[LLC_IR] = all->tank.ratio * stretch->sign;
        row[LLC_IM] = -row[LLC_IR];
    }
    llc_functional f = llc_watch(stretch, 0, row);
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
        llc_functional f[LLC_CURVES], rate[LLC_CURVES];
        for (int j = 0; j < n; j++) {
            f[j] = llc_functional_of(all, stretch, curve[j]);
            rate[j] = llc_slope_of(circuit, &f[j]);
        }
        double span = stretch->duration / cuts->n[k];
        llc_instant z = llc_instant_at(circuit, span);
        llc_frame frame = llc_frame_of(&circuit->fast, span, z.fast);
        frame.end = (llc_instant){{1.0, 0.0}, {1.0, 0.0}};
        for (int i = 0; i < cuts->n[k]; i++, written++) {
            frame.start = frame.end;
            frame.end.fast = llc_pair_product(&circuit->fast, frame.start.fast, z.fast);
            frame.end.slow = llc_pair_product(&circuit->slow, frame.start.slow, z.slow);
            for (int j = 0; j < n; j++) segment[j][written] = llc_piece(circuit, &f[j], &rate[j], &frame);
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

/* A half wave of a written curve, times `factor`. */
static void llc_take_share(const llc_half *half, const llc_cuts *cuts, llc_share share, double factor,
                           const hl_segment curve[], hl_segment segment[])
{
    size_t at = 0;
    for (int k = 0; k < half->n; k++) {
        double times = factor * llc_share_of(&half->stretch[k], share);
        for (int i = 0; i < cuts->n[k]; i++, at++) {
            segment[at] = curve[at];
            segment[at].offset *= times;
            segment[at].slope *= times;
            segment[at].cosine *= times;
            segment[at].sine *= times;
        }
    }
}

#endif
