/* llc_lines.h - odd lines of the resonant current, from the solved half wave itself.
 *
 * On a group of a stretch y = p c + q s obeys y'' + 2 a y' + beta y = 0, so with K = k w
 *   integral of y e^(-j K t) = (N(start) e - N(end) f) / D,   N = y' + 2 a y + j K y,  D = beta - K^2 + 2 j a
 * K, e and f the turns e^(-j K t) at both ends; a constant is a group of a = beta = 0. As the half wave comes
 * again with turned sign, amplitudes are 2 / half of the sum, and even lines there are none.
 * docs/theory/waveforms.md eq. 12, 13; eight lines side by side */
#ifndef LLC_LINES_H
#define LLC_LINES_H

#include "llc_half.h"

enum { LLC_LINES = 8, LLC_LINE_BLOCKS = LLC_LINES / LANES };

/* Of all lines. */
typedef struct llc_lines {
    lanes re[LLC_LINE_BLOCKS], im[LLC_LINE_BLOCKS];
} llc_lines;

/* e^(-j k angle) for k = 1, 3, .. 15. */
WITHIN_LANES void llc_line_turns(double angle, llc_lines *turn)
{
    double c = cos(angle), s = -sin(angle), c2 = c * c - s * s, s2 = 2.0 * c * s;
    double re[LANES] = {c}, im[LANES] = {s};
    for (int i = 1; i < LANES; i++) {
        re[i] = re[i - 1] * c2 - im[i - 1] * s2;
        im[i] = re[i - 1] * s2 + im[i - 1] * c2;
    }
    double c8 = re[3] * c - im[3] * s, s8 = re[3] * s + im[3] * c;
    turn->re[0] = lanes_load(re);
    turn->im[0] = lanes_load(im);
    turn->re[1] = turn->re[0] * c8 - turn->im[0] * s8;
    turn->im[1] = turn->re[0] * s8 + turn->im[0] * c8;
}

/* A group at an end of a stretch: y, and y' + 2 a y. */
typedef struct llc_line_end {
    double y, bent;
} llc_line_end;

/* N e - N f of a group, over D. false: a line comes so near the group's ringing that D has lost its digits */
WITHIN_LANES bool llc_line_group(double a, double beta, const llc_line_end *from, const llc_line_end *to,
                                 const llc_lines *e, const llc_lines *f, const lanes K[LLC_LINE_BLOCKS],
                                 llc_lines *sum)
{
    static const double least = 1e-8; /* |D|^2 over K^4 */
    lanes_mask apart = {-1, -1, -1, -1};
    for (int b = 0; b < LLC_LINE_BLOCKS; b++) {
        lanes square = K[b] * K[b], even = beta - square, odd = 2.0 * a * K[b],
              size = even * even + odd * odd;
        lanes n_re =
            (from->bent * e->re[b] - to->bent * f->re[b]) - K[b] * (from->y * e->im[b] - to->y * f->im[b]);
        lanes n_im =
            (from->bent * e->im[b] - to->bent * f->im[b]) + K[b] * (from->y * e->re[b] - to->y * f->re[b]);
        lanes inverse = 1.0 / size;
        apart &= size > least * square * square;
        sum->re[b] += (n_re * even + n_im * odd) * inverse;
        sum->im[b] += (n_im * even - n_re * odd) * inverse;
    }
    lanes_mask near = ~apart;
    return !lanes_any(&near);
}

/* Both ends of p c + q s. */
WITHIN_LANES void llc_line_ends(const llc_group *g, const double p[2], llc_pair end, llc_line_end at[2])
{
    double y = p[0] * end.c + p[1] * end.s;
    at[0] = (llc_line_end){p[0], p[1] + g->a * p[0]};
    at[1] = (llc_line_end){y, p[1] * end.c - g->sigma * p[0] * end.s + g->a * y};
}

/* What a stretch adds. */
WITHIN_LANES bool llc_line_stretch(const llc_stretch *stretch, const llc_lines *e, const llc_lines *f,
                                   const lanes K[LLC_LINE_BLOCKS], llc_lines *sum)
{
    const llc_group *fast = &stretch->circuit->fast, *slow = &stretch->circuit->slow;
    const llc_functional i = llc_watch_state(stretch, LLC_IR, 1.0);
    const llc_line_end steady = {i.k, 0.0};
    llc_line_end at[2];
    llc_line_ends(fast, i.p, stretch->end.fast, at);
    bool apart = llc_line_group(fast->a, fast->beta, &at[0], &at[1], e, f, K, sum);
    if (i.k != 0.0) apart &= llc_line_group(0.0, 0.0, &steady, &steady, e, f, K, sum);
    if (i.p[2] == 0.0 && i.p[3] == 0.0) return apart;
    llc_line_ends(slow, i.p + 2, stretch->end.slow, at);
    return llc_line_group(slow->a, slow->beta, &at[0], &at[1], e, f, K, sum) && apart;
}

/* Mean squares of the odd lines 1, 3, .. 15. false: as llc_line_group */
FOUR_LANES static bool llc_resonant_lines(const llc_half *half, double square[LLC_LINES])
{
    const double omega = 3.14159265358979324 / half->half;
    const lanes K[LLC_LINE_BLOCKS] = {omega * (lanes){1.0, 3.0, 5.0, 7.0},
                                      omega * (lanes){9.0, 11.0, 13.0, 15.0}};
    llc_lines sum = {{{0.0}, {0.0}}, {{0.0}, {0.0}}}, turn[2];
    bool apart = true;
    llc_line_turns(0.0, &turn[0]);
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        llc_line_turns(omega * (stretch->start + stretch->duration), &turn[1]);
        apart &= llc_line_stretch(stretch, &turn[0], &turn[1], K, &sum);
        turn[0] = turn[1];
    }
    for (int b = 0; b < LLC_LINE_BLOCKS; b++)
        lanes_store(square + b * LANES,
                    (sum.re[b] * sum.re[b] + sum.im[b] * sum.im[b]) * (2.0 / (half->half * half->half)));
    return apart;
}

#endif
