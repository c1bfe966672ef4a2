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

/* A straight line between the ends: for stretches too short to bend and for a tank that does not ring. */
static hl_segment llc_chord(const llc_circuit *circuit, const llc_functional *f, double from, double span)
{
    llc_instant a = llc_instant_at(circuit, from), b = llc_instant_at(circuit, from + span);
    double start = llc_value(f, &a), end = llc_value(f, &b);
    return (hl_segment){.duration = span, .offset = start, .slope = span > 0 ? (end - start) / span : 0.0};
}

static hl_segment llc_piece(const llc_circuit *circuit, const llc_functional *f, double from, double span)
{
    const llc_group *fast = &circuit->fast;
    double turn = fast->omega * span;
    if (!(fast->omega > 0) || turn < 1e-3) return llc_chord(circuit, f, from, span);
    llc_functional rate = llc_slope_of(circuit, f);
    llc_pair start = llc_group_at(&circuit->slow, from, 0),
             end = llc_group_at(&circuit->slow, from + span, 0);
    llc_pair ring = llc_group_at(fast, from, 0), z = llc_group_at(fast, span, 0);
    double c = f->p[0] * ring.c + f->p[1] * ring.s, s = f->p[1] * ring.c - fast->sigma * f->p[0] * ring.s;
    double r0 = llc_slow_part(f, start), w0 = llc_slow_part(&rate, start);
    double r = llc_slow_part(f, end) - r0 - w0 * span, w = llc_slow_part(&rate, end) - w0, a = fast->a;
    if (turn > 0.03) {
        /* the ringing less its tangent: cc and ss, and their slopes */
        double cc = z.c - 1.0 + a * span, ss = z.s - span;
        double cc1 = -a * z.c - fast->sigma * z.s + a, ss1 = z.c - a * z.s - 1.0;
        double determinant = cc * ss1 - ss * cc1;
        double with_c = (r * ss1 - w * ss) / determinant, with_s = (w * cc - r * cc1) / determinant;
        c += with_c, s += with_s;
        r0 -= with_c, w0 += a * with_c - with_s;
    } else {
        w0 += r / span;
    }
    return (hl_segment){.duration = span,
                        .offset = f->k + r0,
                        .slope = w0,
                        .decay = a,
                        .omega = fast->omega,
                        .cosine = c,
                        .sine = s / fast->omega};
}

/* Which current or voltage a wave shows. */
typedef enum llc_shown {
    LLC_SHOW_RESONANT,  /* i_r */
    LLC_SHOW_RECTIFIED, /* ratio |i_r - i_m| */
    LLC_SHOW_WITH,      /* the same while the rectifier conducts with the half wave */
    LLC_SHOW_AGAINST,   /* the same while it conducts against it */
    LLC_SHOW_CORE,      /* v_m, V */
    LLC_SHOW_SLOPE,     /* di_r/dt, A/s */
    LLC_SHOW_DRAWN,     /* bus current in the half period of the upper switch */
    LLC_SHOW_RETURNED,  /* bus current in the other one, as seen from this half wave */
} llc_shown;

static double llc_share_drawn(llc_node node, llc_shown shown)
{
    if (node == LLC_FLOAT) return shown == LLC_SHOW_DRAWN ? 0.5 : -0.5;
    if (shown == LLC_SHOW_DRAWN) return node == LLC_LOW ? 0.0 : 1.0;
    return node == LLC_LOW ? -1.0 : 0.0;
}

static llc_functional llc_functional_of(const llc_circuits *all, const llc_stretch *stretch, llc_shown shown)
{
    double row[4] = {0}, sign = stretch->sign;
    switch (shown) {
    case LLC_SHOW_RESONANT:
    case LLC_SHOW_SLOPE:
        row[LLC_IR] = 1.0;
        break;
    case LLC_SHOW_CORE:
        row[LLC_IM] = all->tank.magnetizing;
        break;
    case LLC_SHOW_WITH:
        sign = sign > 0 ? 1.0 : 0.0;
        break;
    case LLC_SHOW_AGAINST:
        sign = sign < 0 ? -1.0 : 0.0;
        break;
    case LLC_SHOW_DRAWN:
    case LLC_SHOW_RETURNED:
        row[LLC_IR] = llc_share_drawn(stretch->node, shown);
        break;
    case LLC_SHOW_RECTIFIED:
        break;
    }
    if (shown == LLC_SHOW_RECTIFIED || shown == LLC_SHOW_WITH || shown == LLC_SHOW_AGAINST) {
        row[LLC_IR] = all->tank.ratio * sign;
        row[LLC_IM] = -row[LLC_IR];
    }
    llc_functional f = llc_watch(stretch, 0, row);
    return shown == LLC_SHOW_CORE || shown == LLC_SHOW_SLOPE ? llc_slope_of(stretch->circuit, &f) : f;
}

/* Write one half period, cuts->total segments, times `factor`. */
static void llc_write_half(const llc_circuits *all, const llc_half *half, const llc_cuts *cuts,
                           llc_shown shown, double factor, hl_segment segment[])
{
    size_t written = 0;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        llc_functional f = llc_functional_of(all, stretch, shown);
        f.k *= factor;
        for (int g = 0; g < 4; g++) f.p[g] *= factor;
        double span = stretch->duration / cuts->n[k];
        for (int i = 0; i < cuts->n[k]; i++)
            segment[written++] = llc_piece(stretch->circuit, &f, i * span, span);
    }
}

/* A wave of one half period. */
static bool llc_half_wave(const llc_circuits *all, const llc_half *half, const llc_cuts *cuts,
                          llc_shown shown, double factor, hl_scratch *scratch, hl_wave *wave)
{
    hl_segment *segment = hl_scratch_take(scratch, cuts->total * sizeof *segment);
    if (!segment) return false;
    llc_write_half(all, half, cuts, shown, factor, segment);
    *wave = (hl_wave){cuts->total, segment};
    return true;
}

/* A wave of a whole period: `first` in one half, `second` times `again` in the other. */
static bool llc_full_wave(const llc_circuits *all, const llc_half *half, const llc_cuts *cuts,
                          llc_shown first, llc_shown second, double factor, double again, hl_scratch *scratch,
                          hl_wave *wave)
{
    hl_segment *segment = hl_scratch_take(scratch, 2 * cuts->total * sizeof *segment);
    if (!segment) return false;
    llc_write_half(all, half, cuts, first, factor, segment);
    if (second == first) {
        for (size_t i = 0; i < cuts->total; i++) {
            hl_segment mirror = segment[i];
            mirror.offset *= again, mirror.slope *= again, mirror.cosine *= again, mirror.sine *= again;
            segment[cuts->total + i] = mirror;
        }
    } else {
        llc_write_half(all, half, cuts, second, factor * again, segment + cuts->total);
    }
    *wave = (hl_wave){2 * cuts->total, segment};
    return true;
}

#endif
