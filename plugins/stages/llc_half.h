/* llc_half.h - one half period from turn-on to the opposite turn-on, with its derivatives.
 *
 * The switch conducts for half - dead_time; then the node floats on its capacitance, is clamped by the body
 * diodes beyond a rail, and the other switch closes at the end.  Rectifier states follow from the borders:
 *   conducting -> i_r - i_m = 0;   open -> |v_m| = n (k v_o + drop).
 * Derivatives pass a border by its saltation matrix; where i_r and i_m join this is the projection that
 * keeps L i_r + L_m i_m.
 * source: M. di Bernardo et al., Piecewise-smooth Dynamical Systems, 2008, sec. 2.5; docs/theory/llc.md eq. 7
 */
#ifndef LLC_HALF_H
#define LLC_HALF_H

#include <stddef.h>

#include "llc_border.h"

enum { LLC_STRETCHES = 24, LLC_UNKNOWNS = 5, LLC_HALF = 4 };

typedef struct llc_half {
    double half;               /* s, half period */
    lanes start;               /* state at turn-on; third entry: capacitor voltage without the bus middle */
    lanes end;                 /* at the opposite turn-on, just before it */
    double charge;             /* C, integral of |rectified current| */
    double node_end;           /* V, node against the middle just before closing */
    lanes slope[LLC_UNKNOWNS]; /* d end / d start and d end / d half */
    double charge_slope[LLC_UNKNOWNS];
    int n;
    llc_stretch stretch[LLC_STRETCHES];
} llc_half;

/* How a half wave is walked. */
typedef enum llc_pace {
    LLC_PLAIN,
    LLC_SLOPES,  /* with its derivatives */
    LLC_TRUSTING /* the same, for a first step of Newton's alone: no border is looked for where stretches of
                  * the half wave near by ended at another */
} llc_pace;

typedef struct llc_walk {
    const llc_circuits *all;
    llc_half *half;
    const llc_half *like; /* near by, NULL: none */
    int known;            /* its stretches */
    bool slopes, trusting;
    bool late; /* the switch has opened: what follows moves with the half period */
    lanes x;
    double t, node_voltage;
    double node_slope[LLC_UNKNOWNS]; /* d node_voltage / d unknowns, while floating */
    int sign;
    llc_node node;
    bool reluctant;
} llc_walk;

/* Magnetizing voltage if the rectifier stayed open, and the one at which it conducts. */
static inline double llc_open_voltage(const llc_circuits *all, const lanes *x)
{
    return -all->divider * ((*x)[LLC_U] + all->tank.primary_resistance * (*x)[LLC_IR]);
}

static inline double llc_threshold(const llc_circuits *all, double vo)
{
    double drop = all->tank.output_capacitance > 0 ? all->tank.drop : 0.0;
    return all->tank.ratio * (all->gain * vo + drop);
}

static inline bool llc_has_dead_time(const llc_circuits *all)
{
    return all->tank.node_capacitance > 0 && all->tank.dead_time > 0;
}

/* Make i_r and i_m equal at constant flux, in the state and in its derivatives. */
static void llc_join(llc_walk *walk)
{
    double keep = walk->all->divider, give = 1.0 - keep; /* L_m and L over their sum */
    walk->x[LLC_IR] = walk->x[LLC_IM] = give * walk->x[LLC_IR] + keep * walk->x[LLC_IM];
    for (int c = 0; c < LLC_UNKNOWNS && walk->slopes; c++) {
        lanes *slope = &walk->half->slope[c];
        (*slope)[LLC_IR] = (*slope)[LLC_IM] = give * (*slope)[LLC_IR] + keep * (*slope)[LLC_IM];
    }
}

/* From one conducting side straight to the other: v_m jumps by twice the threshold. */
static void llc_reverse(llc_walk *walk, int from)
{
    const llc_tank *tank = &walk->all->tank;
    double v = from * llc_threshold(walk->all, walk->x[LLC_VO]);
    double to_open = llc_open_voltage(walk->all, &walk->x) - v;
    double rate = to_open * (1.0 / tank->series + 1.0 / tank->magnetizing); /* of i_r - i_m */
    walk->x[LLC_IR] = walk->x[LLC_IM] =
        (1.0 - walk->all->divider) * walk->x[LLC_IR] + walk->all->divider * walk->x[LLC_IM];
    for (int c = 0; c < LLC_UNKNOWNS && walk->slopes && fabs(rate) > 0; c++) {
        lanes *slope = &walk->half->slope[c];
        double shift = ((*slope)[LLC_IR] - (*slope)[LLC_IM]) / rate;
        (*slope)[LLC_IR] += 2.0 * v / tank->series * shift;
        (*slope)[LLC_IM] -= 2.0 * v / tank->magnetizing * shift;
    }
}

/* Which way the rectifier conducts at a state that has no history. */
static int llc_choose(const llc_circuits *all, const lanes *x)
{
    double d = (*x)[LLC_IR] - (*x)[LLC_IM], none = 1e-12 * all->current_scale;
    if (d > none) return 1;
    if (d < -none) return -1;
    double open = llc_open_voltage(all, x), threshold = llc_threshold(all, (*x)[LLC_VO]);
    return open > threshold ? 1 : open < -threshold ? -1 : 0;
}

static void llc_rectifier_borders(const llc_circuits *all, const llc_stretch *stretch, llc_borders *borders)
{
    if (stretch->sign) {
        borders->f[borders->n++] = llc_watch_rectified(stretch, stretch->sign);
        return;
    }
    double d = all->divider;
    llc_functional open = llc_watch_state(stretch, LLC_U, d); /* less the voltage across the winding */
    llc_add_state(stretch, LLC_IR, d * all->tank.primary_resistance, &open);
    llc_functional most = llc_watch_state(stretch, LLC_VO, all->tank.ratio * all->gain);
    most.k += llc_threshold(all, 0.0);
    llc_functional *with = &borders->f[borders->n++], *against = &borders->f[borders->n++];
    with->k = most.k + open.k;
    against->k = most.k - open.k;
    for (int g = 0; g < 4; g++) {
        with->p[g] = most.p[g] + open.p[g];
        against->p[g] = most.p[g] - open.p[g];
    }
}

static void llc_node_borders(const llc_circuits *all, const llc_stretch *stretch, llc_borders *borders)
{
    if (stretch->node == LLC_FLOAT) {
        double share = all->series_node / all->tank.node_capacitance;
        double start = stretch->node_voltage + share * stretch->x[LLC_U];
        double rail = 0.5 * all->tank.input + all->tank.body_drop;
        llc_functional fallen = llc_watch_state(stretch, LLC_U, share);
        llc_functional *low = &borders->f[borders->n++], *high = &borders->f[borders->n++];
        low->k = rail + start - fallen.k;
        high->k = rail - start + fallen.k;
        for (int g = 0; g < 4; g++) low->p[g] = -fallen.p[g], high->p[g] = fallen.p[g];
    } else if (stretch->node != LLC_ON) {
        double way = stretch->node == LLC_LOW ? 1.0 : -1.0;
        borders->f[borders->n++] = llc_watch_state(stretch, LLC_IR, way);
    }
}

static void llc_all_borders(const llc_circuits *all, const llc_stretch *stretch, llc_borders *borders)
{
    borders->n = 0;
    llc_rectifier_borders(all, stretch, borders);
    llc_node_borders(all, stretch, borders);
}

/* e^(A t) of a stretch from its start to its end, as states are counted outside it. */
WITHIN_LANES void llc_transition(const llc_stretch *stretch, lanes column[LLC_STATES])
{
    const llc_circuit *circuit = stretch->circuit;
    const llc_instant *now = &stretch->end;
    for (int j = 0; j < LLC_STATES; j++) {
        column[j] = now->fast.c * circuit->term[0][j] + now->fast.s * circuit->term[1][j] +
                    now->slow.c * circuit->term[2][j] + now->slow.s * circuit->term[3][j];
        llc_see(stretch, &column[j]);
        column[j] *= llc_side(stretch, j);
    }
}

/* d (rectified charge of a conducting stretch) / d (state at its start) */
WITHIN_LANES void llc_charge_weights(const llc_circuits *all, const llc_stretch *stretch,
                                     const llc_pair area[2], double weight[LLC_STATES])
{
    const llc_circuit *circuit = stretch->circuit;
    for (int j = 0; j < LLC_STATES; j++) {
        lanes sum = area[0].c * circuit->term[0][j] + area[0].s * circuit->term[1][j] +
                    area[1].c * circuit->term[2][j] + area[1].s * circuit->term[3][j];
        weight[j] = all->tank.ratio * llc_side(stretch, j) * (sum[LLC_IR] - sum[LLC_IM]);
    }
}

/* Slopes over a stretch: multiply by its transition matrix, and add to the charge's.  Nothing depends on the
 * half period before the switch opens. */
WITHIN_LANES void llc_carry_slopes(llc_walk *walk, const llc_stretch *stretch, const llc_pair area[2])
{
    lanes column[LLC_STATES];
    double weight[LLC_STATES] = {0}, share = 0.0;
    llc_half *half = walk->half;
    llc_transition(stretch, column);
    if (stretch->sign) llc_charge_weights(walk->all, stretch, area, weight);
    if (stretch->node == LLC_FLOAT) share = walk->all->series_node / walk->all->tank.node_capacitance;
    for (int c = 0; c < (walk->late ? LLC_UNKNOWNS : LLC_HALF); c++) {
        const lanes before = half->slope[c];
        llc_times(column, &before, &half->slope[c]);
        half->charge_slope[c] +=
            weight[0] * before[0] + weight[1] * before[1] + weight[2] * before[2] + weight[3] * before[3];
        walk->node_slope[c] -= share * (half->slope[c][LLC_U] - before[LLC_U]);
    }
}

/* Go on to the end of the stretch. */
WITHIN_LANES void llc_advance(llc_walk *walk, llc_stretch *stretch, const llc_place *end)
{
    const llc_circuit *circuit = stretch->circuit;
    llc_pair area[2] = {{0, 0}, {0, 0}};
    llc_end_stretch(stretch, end);
    if (stretch->sign) {
        area[0] = llc_group_area(&circuit->fast, end->t, end->now.fast);
        area[1] = llc_group_area(&circuit->slow, end->t, end->now.slow);
        double shift = circuit->shift[LLC_IR] - circuit->shift[LLC_IM], d[4];
        for (int g = 0; g < 4; g++) d[g] = stretch->part[g][LLC_IR] - stretch->part[g][LLC_IM];
        walk->half->charge += walk->all->tank.ratio * (shift * end->t + area[0].c * d[0] + area[0].s * d[1] +
                                                       area[1].c * d[2] + area[1].s * d[3]);
    }
    walk->x = stretch->to;
    if (stretch->node == LLC_FLOAT)
        walk->node_voltage -=
            walk->all->series_node / walk->all->tank.node_capacitance * (walk->x[LLC_U] - stretch->x[LLC_U]);
    if (walk->slopes) llc_carry_slopes(walk, stretch, area);
    walk->t += stretch->duration;
}

/* The node leaves a voltage that depended on the unknowns for one that does not. */
static void llc_fix_node(llc_walk *walk, double voltage)
{
    walk->x[LLC_U] += walk->node_voltage - voltage;
    walk->node_voltage = voltage;
    for (int c = 0; c < LLC_UNKNOWNS && walk->slopes; c++) {
        walk->half->slope[c][LLC_U] += walk->node_slope[c];
        walk->node_slope[c] = 0;
    }
}

/* The switch opens a fixed time before the half period ends: everything after moves with it. */
static void llc_turn_off(llc_walk *walk, const llc_stretch *stretch)
{
    walk->late = true;
    if (!walk->slopes) return;
    lanes rate;
    llc_rate_at(stretch, &walk->x, &rate);
    walk->half->slope[LLC_HALF] += rate;
    if (stretch->sign)
        walk->half->charge_slope[LLC_HALF] += walk->all->tank.ratio * fabs(walk->x[LLC_IR] - walk->x[LLC_IM]);
}

static void llc_cross(llc_walk *walk, const llc_stretch *stretch, int which)
{
    int rectifier = stretch->sign ? 1 : 2;
    double rail = 0.5 * walk->all->tank.input + walk->all->tank.body_drop;
    if (which < rectifier && stretch->sign) {
        double open = llc_open_voltage(walk->all, &walk->x) * stretch->sign;
        bool empty = !(stretch->duration > 0);
        if (!empty && open < -llc_threshold(walk->all, walk->x[LLC_VO])) {
            llc_reverse(walk, stretch->sign);
            walk->sign = -stretch->sign;
        } else {
            llc_join(walk);
            walk->sign = 0;
            walk->reluctant = empty;
        }
    } else if (which < rectifier) {
        walk->sign = which == 0 ? 1 : -1;
    } else if (stretch->node == LLC_FLOAT) {
        walk->node = which == rectifier ? LLC_LOW : LLC_HIGH;
        llc_fix_node(walk, walk->node == LLC_LOW ? -rail : rail);
    } else {
        walk->node = LLC_FLOAT;
    }
}

static void llc_depart(llc_walk *walk)
{
    llc_half *half = walk->half;
    walk->x = half->start;
    walk->node_voltage = 0.5 * walk->all->tank.input;
    walk->x[LLC_U] -= walk->node_voltage;
    half->charge = 0;
    half->n = 0;
    if (walk->slopes) {
        memset(half->slope, 0, sizeof half->slope);
        memset(half->charge_slope, 0, sizeof half->charge_slope);
        for (int i = 0; i < 4; i++) half->slope[i][i] = 1.0;
    }
    walk->sign = llc_choose(walk->all, &walk->x);
    if (!walk->sign) llc_join(walk);
}

static void llc_arrive(llc_walk *walk)
{
    llc_half *half = walk->half;
    half->node_end = walk->node_voltage;
    llc_fix_node(walk, 0.0);
    half->end = walk->x;
}

/* How the stretch at this place of `like` ended, when it was of the kind that comes now; at no time: not
 * known */
WITHIN_LANES void llc_likely(const llc_walk *walk, llc_before *before)
{
    before->end.t = 0.0;
    before->border = -1;
    before->circuit = NULL;
    if (walk->half->n >= walk->known) return;
    const llc_stretch *there = &walk->like->stretch[walk->half->n];
    if (there->sign != walk->sign || there->node != walk->node) return;
    *before = (llc_before){there->border, there->circuit, {there->duration, there->end}};
}

/* The next stretch, up to `until` at most.  return the border it ends at, or -1 */
WITHIN_LANES int llc_walk_stretch(llc_walk *walk, double until)
{
    llc_before before;
    llc_likely(walk, &before);
    llc_stretch *stretch = &walk->half->stretch[walk->half->n++];
    llc_begin(walk->all, stretch, walk->sign, walk->node, &walk->x);
    stretch->start = walk->t;
    stretch->node_voltage = walk->node_voltage;
    llc_borders borders;
    llc_all_borders(walk->all, stretch, &borders);
    llc_place end;
    double limit = until - walk->t;
    if (before.end.t > 0 && llc_ends_as(stretch->circuit, &borders, limit, &before, walk->trusting, &end))
        stretch->border = before.border;
    else
        stretch->border =
            llc_first_crossing(stretch->circuit, &borders, limit, before.end.t, walk->reluctant, &end);
    walk->reluctant = false;
    llc_advance(walk, stretch, &end);
    return stretch->border;
}

/* Walk half->half from half->start.  like: a half wave near by, which tells where to look first, or NULL;
 * also what *half was before.  false: more changes of state than any real half period has. */
FOUR_LANES static bool llc_walk_half(const llc_circuits *all, llc_half *half, const llc_half *like,
                                     llc_pace pace)
{
    llc_walk walk = {.all = all,
                     .half = half,
                     .like = like,
                     .slopes = pace != LLC_PLAIN,
                     .trusting = pace == LLC_TRUSTING,
                     .node = LLC_ON};
    if (like) walk.known = like->n;
    double dead = llc_has_dead_time(all) ? all->tank.dead_time : 0.0;
    if (!(half->half > 2.0 * dead)) return false;
    llc_depart(&walk);
    while (half->n < LLC_STRETCHES) {
        bool on = walk.node == LLC_ON;
        double until = on ? half->half - dead : half->half;
        int which = llc_walk_stretch(&walk, until);
        const llc_stretch *stretch = &half->stretch[half->n - 1];
        if (which >= 0) {
            llc_cross(&walk, stretch, which);
            continue;
        }
        walk.t = until;
        if (on) llc_turn_off(&walk, stretch);
        if (!on || !(dead > 0)) {
            llc_arrive(&walk);
            return true;
        }
        walk.node = LLC_FLOAT;
    }
    return false;
}

/* Whether a half wave that was walked on trust is clear of all borders but those that its stretches ended at.
 */
static bool llc_stands(const llc_circuits *all, const llc_half *half)
{
    bool clear = true;
    for (int k = 0; k < half->n && clear; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        const llc_place end = {stretch->duration, stretch->end};
        llc_borders borders;
        llc_all_borders(all, stretch, &borders);
        clear = llc_clear(stretch->circuit, &borders, stretch->border, &end);
    }
    return clear;
}

/* A half wave as far as it has been walked. */
static void llc_copy_half(const llc_half *from, llc_half *to)
{
    memcpy(to, from, offsetof(llc_half, stretch) + (size_t)from->n * sizeof from->stretch[0]);
}

#endif
