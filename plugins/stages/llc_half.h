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

#include "llc_border.h"

enum { LLC_STRETCHES = 24, LLC_UNKNOWNS = 5, LLC_HALF = 4 };

typedef struct llc_half {
    double half;              /* s, half period */
    double start[LLC_STATES]; /* at turn-on; third entry: capacitor voltage without the bus middle */
    double end[LLC_STATES];   /* at the opposite turn-on, just before it */
    double charge;            /* C, integral of |rectified current| */
    double node_end;          /* V, node against the middle just before closing */
    double slope[LLC_STATES][LLC_UNKNOWNS]; /* d end / d (start, half) */
    double charge_slope[LLC_UNKNOWNS];
    int n;
    llc_stretch stretch[LLC_STRETCHES];
} llc_half;

typedef struct llc_walk {
    const llc_circuits *all;
    llc_half *half;
    bool slopes;
    double x[4], t, node_voltage;
    double node_slope[LLC_UNKNOWNS]; /* d node_voltage / d unknowns, while floating */
    int sign;
    llc_node node;
    bool reluctant;
} llc_walk;

/* Magnetizing voltage if the rectifier stayed open, and the one at which it conducts. */
static inline double llc_open_voltage(const llc_circuits *all, const double x[4])
{
    return -all->divider * (x[LLC_U] + all->tank.primary_resistance * x[LLC_IR]);
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
        double joined = give * walk->half->slope[LLC_IR][c] + keep * walk->half->slope[LLC_IM][c];
        walk->half->slope[LLC_IR][c] = walk->half->slope[LLC_IM][c] = joined;
    }
}

/* From one conducting side straight to the other: v_m jumps by twice the threshold. */
static void llc_reverse(llc_walk *walk, int from)
{
    const llc_tank *tank = &walk->all->tank;
    double v = from * llc_threshold(walk->all, walk->x[LLC_VO]);
    double to_open = llc_open_voltage(walk->all, walk->x) - v;
    double rate = to_open * (1.0 / tank->series + 1.0 / tank->magnetizing); /* of i_r - i_m */
    walk->x[LLC_IR] = walk->x[LLC_IM] =
        (1.0 - walk->all->divider) * walk->x[LLC_IR] + walk->all->divider * walk->x[LLC_IM];
    for (int c = 0; c < LLC_UNKNOWNS && walk->slopes && fabs(rate) > 0; c++) {
        double shift = (walk->half->slope[LLC_IR][c] - walk->half->slope[LLC_IM][c]) / rate;
        walk->half->slope[LLC_IR][c] += 2.0 * v / tank->series * shift;
        walk->half->slope[LLC_IM][c] -= 2.0 * v / tank->magnetizing * shift;
    }
}

/* Which way the rectifier conducts at a state that has no history. */
static int llc_choose(const llc_circuits *all, const double x[4])
{
    double d = x[LLC_IR] - x[LLC_IM], none = 1e-12 * all->current_scale;
    if (d > none) return 1;
    if (d < -none) return -1;
    double open = llc_open_voltage(all, x), threshold = llc_threshold(all, x[LLC_VO]);
    return open > threshold ? 1 : open < -threshold ? -1 : 0;
}

static void llc_rectifier_borders(const llc_circuits *all, const llc_stretch *stretch, llc_borders *borders)
{
    if (stretch->sign) {
        const double row[4] = {stretch->sign, -stretch->sign, 0, 0};
        borders->f[borders->n++] = llc_watch(stretch, 0.0, row);
        return;
    }
    double d = all->divider, drop = llc_threshold(all, 0.0), rise = all->tank.ratio * all->gain;
    const double with[4] = {d * all->tank.primary_resistance, 0, d, rise};
    const double against[4] = {-with[0], 0, -d, rise};
    borders->f[borders->n++] = llc_watch(stretch, drop, with);
    borders->f[borders->n++] = llc_watch(stretch, drop, against);
}

static void llc_node_borders(const llc_circuits *all, const llc_stretch *stretch, llc_borders *borders)
{
    if (stretch->node == LLC_FLOAT) {
        double share = all->series_node / all->tank.node_capacitance;
        double start = stretch->node_voltage + share * stretch->x[LLC_U];
        double rail = 0.5 * all->tank.input + all->tank.body_drop;
        borders->f[borders->n++] = llc_watch(stretch, rail + start, (const double[4]){0, 0, -share, 0});
        borders->f[borders->n++] = llc_watch(stretch, rail - start, (const double[4]){0, 0, share, 0});
    } else if (stretch->node != LLC_ON) {
        double way = stretch->node == LLC_LOW ? 1.0 : -1.0;
        borders->f[borders->n++] = llc_watch(stretch, 0.0, (const double[4]){way, 0, 0, 0});
    }
}

/* Slopes over a stretch: multiply by its transition matrix, and add to the charge's. */
static void llc_carry_slopes(llc_walk *walk, const llc_stretch *stretch, const llc_instant *now,
                             const llc_pair area[2])
{
    double matrix[4][4], weight[4] = {0}, before[LLC_UNKNOWNS];
    const llc_circuit *circuit = stretch->circuit;
    for (int j = 0; j < 4; j++) {
        double side = llc_side(stretch, j);
        for (int i = 0; i < 4; i++)
            matrix[i][j] = llc_side(stretch, i) * side *
                           (now->fast.c * circuit->term[0][i][j] + now->fast.s * circuit->term[1][i][j] +
                            now->slow.c * circuit->term[2][i][j] + now->slow.s * circuit->term[3][i][j]);
        if (!stretch->sign) continue;
        const double d[4] = {
            circuit->term[0][0][j] - circuit->term[0][1][j], circuit->term[1][0][j] - circuit->term[1][1][j],
            circuit->term[2][0][j] - circuit->term[2][1][j], circuit->term[3][0][j] - circuit->term[3][1][j]};
        weight[j] = walk->all->tank.ratio * side *
                    (area[0].c * d[0] + area[0].s * d[1] + area[1].c * d[2] + area[1].s * d[3]);
    }
    double(*slope)[LLC_UNKNOWNS] = walk->half->slope;
    for (int c = 0; c < LLC_UNKNOWNS; c++) {
        double x0 = slope[0][c], x1 = slope[1][c], x2 = slope[2][c], x3 = slope[3][c];
        before[c] = x2;
        walk->half->charge_slope[c] += weight[0] * x0 + weight[1] * x1 + weight[2] * x2 + weight[3] * x3;
        for (int i = 0; i < 4; i++)
            slope[i][c] = matrix[i][0] * x0 + matrix[i][1] * x1 + matrix[i][2] * x2 + matrix[i][3] * x3;
        if (stretch->node == LLC_FLOAT)
            walk->node_slope[c] -=
                walk->all->series_node / walk->all->tank.node_capacitance * (slope[2][c] - before[c]);
    }
}

/* Go on to the end of the stretch. */
static void llc_advance(llc_walk *walk, llc_stretch *stretch)
{
    const llc_circuit *circuit = stretch->circuit;
    llc_pair area[2] = {{0, 0}, {0, 0}};
    llc_instant now = {llc_group_at(&circuit->fast, stretch->duration, &area[0]),
                       llc_group_at(&circuit->slow, stretch->duration, &area[1])};
    if (stretch->sign) {
        double shift = circuit->shift[LLC_IR] - circuit->shift[LLC_IM], d[4];
        for (int g = 0; g < 4; g++) d[g] = stretch->part[g][LLC_IR] - stretch->part[g][LLC_IM];
        walk->half->charge +=
            walk->all->tank.ratio * (shift * stretch->duration + area[0].c * d[0] + area[0].s * d[1] +
                                     area[1].c * d[2] + area[1].s * d[3]);
    }
    llc_state_at(stretch, &now, walk->x);
    if (stretch->node == LLC_FLOAT)
        walk->node_voltage -=
            walk->all->series_node / walk->all->tank.node_capacitance * (walk->x[LLC_U] - stretch->x[LLC_U]);
    if (walk->slopes) llc_carry_slopes(walk, stretch, &now, area);
    walk->t += stretch->duration;
}

/* The node leaves a voltage that depended on the unknowns for one that does not. */
static void llc_fix_node(llc_walk *walk, double voltage)
{
    walk->x[LLC_U] += walk->node_voltage - voltage;
    walk->node_voltage = voltage;
    for (int c = 0; c < LLC_UNKNOWNS && walk->slopes; c++) {
        walk->half->slope[LLC_U][c] += walk->node_slope[c];
        walk->node_slope[c] = 0;
    }
}

/* The switch opens a fixed time before the half period ends: everything after moves with it. */
static void llc_turn_off(llc_walk *walk, const llc_stretch *stretch)
{
    if (!walk->slopes) return;
    double rate[4];
    llc_rate_at(stretch, walk->x, rate);
    for (int i = 0; i < 4; i++) walk->half->slope[i][LLC_HALF] += rate[i];
    if (stretch->sign)
        walk->half->charge_slope[LLC_HALF] += walk->all->tank.ratio * fabs(walk->x[LLC_IR] - walk->x[LLC_IM]);
}

static void llc_cross(llc_walk *walk, const llc_stretch *stretch, int which)
{
    int rectifier = stretch->sign ? 1 : 2;
    double rail = 0.5 * walk->all->tank.input + walk->all->tank.body_drop;
    if (which < rectifier && stretch->sign) {
        double open = llc_open_voltage(walk->all, walk->x) * stretch->sign;
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
    memcpy(walk->x, half->start, sizeof walk->x);
    walk->node_voltage = 0.5 * walk->all->tank.input;
    walk->x[LLC_U] -= walk->node_voltage;
    half->charge = 0;
    half->n = 0;
    if (walk->slopes) {
        memset(half->slope, 0, sizeof half->slope);
        memset(half->charge_slope, 0, sizeof half->charge_slope);
        for (int i = 0; i < 4; i++) half->slope[i][i] = 1.0;
    }
    walk->sign = llc_choose(walk->all, walk->x);
    if (!walk->sign) llc_join(walk);
}

static void llc_arrive(llc_walk *walk)
{
    llc_half *half = walk->half;
    half->node_end = walk->node_voltage;
    llc_fix_node(walk, 0.0);
    memcpy(half->end, walk->x, sizeof half->end);
}

/* Walk half->half from half->start.  false: more changes of state than any real half period has. */
static bool llc_walk_half(const llc_circuits *all, llc_half *half, bool slopes)
{
    llc_walk walk = {.all = all, .half = half, .slopes = slopes, .node = LLC_ON};
    double dead = llc_has_dead_time(all) ? all->tank.dead_time : 0.0;
    if (!(half->half > 2.0 * dead)) return false;
    llc_depart(&walk);
    while (half->n < LLC_STRETCHES) {
        llc_stretch *stretch = &half->stretch[half->n++];
        llc_begin(all, stretch, walk.sign, walk.node, walk.x);
        stretch->start = walk.t;
        stretch->node_voltage = walk.node_voltage;
        llc_borders borders = {0};
        llc_rectifier_borders(all, stretch, &borders);
        llc_node_borders(all, stretch, &borders);
        double until = stretch->node == LLC_ON ? half->half - dead : half->half;
        int which;
        stretch->duration =
            llc_first_crossing(stretch->circuit, &borders, until - walk.t, walk.reluctant, &which);
        walk.reluctant = false;
        llc_advance(&walk, stretch);
        if (which >= 0) {
            llc_cross(&walk, stretch, which);
            continue;
        }
        walk.t = until;
        if (stretch->node == LLC_ON) llc_turn_off(&walk, stretch);
        if (stretch->node != LLC_ON || !(dead > 0)) {
            llc_arrive(&walk);
            return true;
        }
        walk.node = LLC_FLOAT;
    }
    return false;
}

#endif
