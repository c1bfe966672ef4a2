/* llc_figures.h - means, peaks and charges of a solved half wave.
 *
 * Mean squares are integrated by Gauss-Legendre over panels of at most 0.69 radians of the ringing, where
 * six points leave less than 1e-14 (four over fewer radians); charges come from the capacitor voltage in
 * closed form; peaks are the zeros of the derivative.  docs/theory/llc.md eq. 9 to 12 */
#ifndef LLC_FIGURES_H
#define LLC_FIGURES_H

#include "llc_newton.h"

typedef struct llc_figures {
    double frequency;                           /* Hz */
    double resonant_square, magnetizing_square; /* A^2, means over the period */
    double secondary_square, secondary_mean;    /* of the rectified current, A^2 and A */
    double on_square, on_charge;                /* integrals of i_r while the switch is on: A^2 s, C */
    double body_square, body_charge;            /* while a body diode clamps the node */
    double output_square, capacitor_square;     /* capacitor output: V^2 of the terminal, A^2 */
    double resonant_peak, magnetizing_peak, secondary_peak, capacitor_peak; /* A, A, A, V without bias */
    double output_highest, output_lowest;                                   /* V, capacitor output */
    double conduction, float_time;                                          /* s in the half period */
    double turn_off, turn_on;                 /* A, i_r as the switch opens; into it as it closes */
    double commutation_slope;                 /* A/s, fall of the rectified current at its end */
    double charge_available, charge_required; /* C */
    double transition_time, residual;         /* s, V */
    double primary_loss, secondary_loss, drop_loss, body_loss, closing_loss, capacitor_loss, ripple_excess;
    double input_power; /* W, from the charge drawn */
} llc_figures;

/* Nodes and weights on -1 .. 1, positive half, and the radians of a panel up to which what n points leave of
 * a square, (n!)^4 (2 turn)^(2 n) / ((2 n + 1) (2 n)!^3), is below 1e-14. source: M. Abramowitz, I. A.
 * Stegun, Handbook of Mathematical Functions, 1964, table 25.4 and 25.4.30 */
typedef struct llc_rule {
    int n;
    double reach, node[3], weight[3];
} llc_rule;
enum { LLC_RULES = 2, LLC_PANELS_MAX = 10000 };
static const llc_rule llc_rules[LLC_RULES] = {
    {2, 0.12, {0.33998104358485626, 0.86113631159405258}, {0.65214515486254614, 0.34785484513745386}},
    {3,
     0.69,
     {0.23861918608319691, 0.66120938646626451, 0.93246951420315203},
     {0.46791393457269105, 0.36076157304813861, 0.17132449237917036}},
};

/* Integrals over a stretch of i_r^2, i_m^2, (i_r - i_m)^2, and with an output capacitor of the squares of its
 * terminal's voltage and its current. */
typedef struct llc_squares {
    llc_both resonant, magnetizing, apart, output, capacitor;
} llc_squares;

/* c, s of both groups at two times. */
typedef struct llc_two_instants {
    llc_both fast_c, fast_s, slow_c, slow_s;
} llc_two_instants;

static inline llc_both llc_two_states(const llc_stretch *stretch, const llc_two_instants *at, int state)
{
    return stretch->circuit->shift[state] + at->fast_c * stretch->part[0][state] +
           at->fast_s * stretch->part[1][state] + at->slow_c * stretch->part[2][state] +
           at->slow_s * stretch->part[3][state];
}

static inline void llc_add_squares(const llc_circuits *all, const llc_stretch *stretch,
                                   const llc_two_instants *at, double w, llc_squares *sum)
{
    llc_both ir = llc_two_states(stretch, at, LLC_IR), im = llc_two_states(stretch, at, LLC_IM);
    llc_both apart = ir - im;
    sum->resonant += w * ir * ir;
    sum->magnetizing += w * im * im;
    sum->apart += w * apart * apart;
    if (!(all->tank.output_capacitance > 0)) return;
    double ratio = stretch->sign ? all->tank.ratio : 0.0; /* as seen from its side it is positive */
    llc_both is = ratio * apart, vo = llc_two_states(stretch, at, LLC_VO);
    llc_both v = all->gain * (vo + all->tank.output_esr * is), ic = is - all->tank.load_conductance * v;
    sum->output += w * v * v;
    sum->capacitor += w * ic * ic;
}

/* e^(A (m + d)) and e^(A (m - d)) share their factors. */
static inline void llc_two_of(const llc_group *g, llc_pair middle, llc_pair off, llc_both *c, llc_both *s)
{
    llc_pair back = llc_pair_inverse(g, off);
    llc_both side_c = {off.c, back.c}, side_s = {off.s, back.s};
    *c = middle.c * side_c - g->sigma * middle.s * side_s;
    *s = middle.c * side_s + middle.s * side_c;
}

static inline double llc_both_sum(llc_both x)
{
    return x[0] + x[1];
}

static void llc_book_squares(const llc_circuits *all, const llc_stretch *stretch, const llc_squares *sum,
                             llc_figures *f)
{
    double resonant = llc_both_sum(sum->resonant), ratio = stretch->sign ? all->tank.ratio : 0.0;
    f->resonant_square += resonant;
    f->magnetizing_square += llc_both_sum(sum->magnetizing);
    f->secondary_square += ratio * ratio * llc_both_sum(sum->apart);
    if (stretch->node == LLC_ON) f->on_square += resonant;
    if (stretch->node == LLC_LOW || stretch->node == LLC_HIGH) f->body_square += resonant;
    f->output_square += llc_both_sum(sum->output);
    f->capacitor_square += llc_both_sum(sum->capacitor);
}

/* Equal panels, so that the places about their middles are at the same c and s of them. */
static void llc_integrate(const llc_circuits *all, const llc_stretch *stretch, llc_figures *f)
{
    const llc_circuit *circuit = stretch->circuit;
    double turn = stretch->duration * fmax(circuit->fast.reach, circuit->slow.reach);
    double most = turn / llc_rules[LLC_RULES - 1].reach;
    int panels = 1 + (int)(most < LLC_PANELS_MAX ? most : LLC_PANELS_MAX);
    const llc_rule *rule = turn < llc_rules[0].reach ? llc_rules : llc_rules + LLC_RULES - 1;
    double half = 0.5 * stretch->duration / panels;
    llc_instant off[3], middle = llc_instant_at(circuit, half);
    llc_instant stride = llc_instant_product(circuit, &middle, &middle);
    for (int i = 0; i < rule->n; i++) off[i] = llc_instant_at(circuit, half * rule->node[i]);
    llc_squares sum = {{0, 0}, {0, 0}, {0, 0}, {0, 0}, {0, 0}};
    for (int p = 0; p < panels; p++) {
        if (p && p % LLC_PRODUCTS == 0) middle = llc_instant_at(circuit, (2 * p + 1) * half);
        for (int i = 0; i < rule->n; i++) {
            llc_two_instants at;
            llc_two_of(&circuit->fast, middle.fast, off[i].fast, &at.fast_c, &at.fast_s);
            llc_two_of(&circuit->slow, middle.slow, off[i].slow, &at.slow_c, &at.slow_s);
            llc_add_squares(all, stretch, &at, half * rule->weight[i], &sum);
        }
        middle = llc_instant_product(circuit, &middle, &stride);
    }
    llc_book_squares(all, stretch, &sum, f);
}

/* ------------------------------------------------------------------ peaks -- */

enum { LLC_PEAKS = 5 };

/* How far a functional can rise above, or fall below, both its values at the ends of a stretch: T^2 / 8 times
 * the most its second derivative comes to, with |c| <= 1 and |s| <= T, or 1 / omega while it rings, of a
 * group that is damped.  docs/theory/waveforms.md eq. 10a */
static double llc_bulge(const llc_stretch *stretch, const llc_functional *f)
{
    const llc_circuit *circuit = stretch->circuit;
    const llc_functional once = llc_slope_of(circuit, f), twice = llc_slope_of(circuit, &once);
    double T = stretch->duration, omega = circuit->fast.omega;
    double turning = omega * T > 1.0 ? 1.0 / omega : T;
    if (!(circuit->fast.a >= 0 && circuit->slow.a >= 0)) return INFINITY;
    return 0.125 * T * T *
           (fabs(twice.k) + fabs(twice.p[0]) + fabs(twice.p[1]) * turning + fabs(twice.p[2]) +
            fabs(twice.p[3]) * T);
}

/* Largest and smallest of several functionals over a stretch, where they turn. */
static void llc_extremes(const llc_stretch *stretch, int n, const llc_functional watch[], double high[],
                         double low[])
{
    const llc_circuit *circuit = stretch->circuit;
    double turn = stretch->duration * circuit->fast.reach / 0.8;
    int steps = 3 + (int)(turn < LLC_SAMPLES_MAX ? turn : LLC_SAMPLES_MAX);
    double step = stretch->duration / steps;
    llc_instant stride = llc_instant_at(circuit, step);
    /* slopes that vanish at the start, as where the rectifier begins to conduct, are read just after it */
    llc_instant after = llc_instant_at(circuit, 1e-3 * step);
    llc_functional slope[LLC_PEAKS];
    double w[LLC_PEAKS];
    for (int j = 0; j < n; j++) {
        slope[j] = llc_slope_of(circuit, &watch[j]);
        w[j] = llc_value(&slope[j], &after);
    }
    llc_place from = {0.0, {{1, 0}, {1, 0}}};
    for (int k = 1; k <= steps; k++) {
        llc_place to = {k * step, llc_instant_product(circuit, &from.now, &stride)};
        for (int j = 0; j < n; j++) {
            double w1 = llc_value(&slope[j], &to.now);
            if ((w[j] > 0 && w1 <= 0) || (w[j] < 0 && w1 >= 0)) {
                llc_functional fall = slope[j];
                for (int g = 0; g < 4 && w[j] < 0; g++) fall.p[g] = -fall.p[g];
                llc_functional rate = llc_slope_of(circuit, &fall);
                llc_place top = fabs(w[j]) < fabs(w1) ? from : to;
                llc_polish(circuit, &fall, &rate, from.t, to.t, llc_flat, &top);
                double v = llc_value(&watch[j], &top.now);
                if (v > high[j]) high[j] = v;
                if (v < low[j]) low[j] = v;
            }
            w[j] = w1;
        }
        from = to;
    }
}

/* The part of the resonant capacitor's voltage that does not lie in u on a stretch, and u's share in it, also
 * where the node floats. */
static inline double llc_capacitor_rest(const llc_circuits *all, const llc_stretch *stretch, double *share)
{
    double floats = stretch->node == LLC_FLOAT ? all->series_node / all->tank.node_capacitance : 0.0;
    *share = 1.0 - floats;
    return stretch->node_voltage + floats * stretch->x[LLC_U];
}

/* What is watched for its peaks: both currents, the rectified one, the resonant capacitor, the output. */
static llc_functional llc_watched(const llc_circuits *all, const llc_stretch *stretch, int j)
{
    if (j < 2) return llc_watch_state(stretch, j ? LLC_IM : LLC_IR, 1.0);
    double n = all->tank.ratio * stretch->sign, share, rest;
    if (j == 2) return llc_watch_rectified(stretch, n);
    if (j == 3) {
        rest = llc_capacitor_rest(all, stretch, &share);
        llc_functional f = llc_watch_state(stretch, LLC_U, share);
        f.k += rest;
        return f;
    }
    llc_functional f = llc_watch_rectified(stretch, all->gain * all->tank.output_esr * n);
    llc_add_state(stretch, LLC_VO, all->gain, &f);
    return f;
}

/* The same at a state. */
static void llc_watched_at(const llc_circuits *all, const llc_stretch *stretch, const lanes *x,
                           double value[LLC_PEAKS])
{
    double share, rest = llc_capacitor_rest(all, stretch, &share);
    value[0] = (*x)[LLC_IR];
    value[1] = (*x)[LLC_IM];
    value[2] = all->tank.ratio * stretch->sign * (value[0] - value[1]);
    value[3] = rest + share * (*x)[LLC_U];
    value[4] = all->gain * ((*x)[LLC_VO] + all->tank.output_esr * value[2]);
}

/* What peak is looked for: the half wave comes again with turned sign, except in the output. */
static void llc_reach(int watched, double *high, double *low)
{
    if (watched == 2) *high = fmax(*high, 0.0), *low = -INFINITY; /* rectified: its top alone */
    if (watched == 2 || watched == 4) return;
    *high = fmax(*high, -*low);
    *low = -*high;
}

/* Which of them could reach beyond `high` and `low` within a stretch.  return their number */
static int llc_could_reach(const llc_circuits *all, const llc_stretch *stretch, int count,
                           const double high[LLC_PEAKS], const double low[LLC_PEAKS], int which[LLC_PEAKS],
                           llc_functional watch[LLC_PEAKS])
{
    double start[LLC_PEAKS], end[LLC_PEAKS];
    llc_watched_at(all, stretch, &stretch->x, start);
    llc_watched_at(all, stretch, &stretch->to, end);
    int n = 0;
    for (int j = 0; j < count; j++) {
        llc_functional f = llc_watched(all, stretch, j);
        double room = llc_bulge(stretch, &f);
        double top = start[j] > end[j] ? start[j] : end[j], bottom = start[j] > end[j] ? end[j] : start[j];
        if (top + room <= high[j] && bottom - room >= low[j]) continue;
        watch[n] = f;
        which[n++] = j;
    }
    return n;
}

static void llc_end_peaks(const llc_circuits *all, const llc_half *half, double high[LLC_PEAKS],
                          double low[LLC_PEAKS])
{
    for (int j = 0; j < LLC_PEAKS; j++) high[j] = -INFINITY, low[j] = INFINITY;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        double value[2][LLC_PEAKS];
        llc_watched_at(all, stretch, &stretch->x, value[0]);
        llc_watched_at(all, stretch, &stretch->to, value[1]);
        for (int end = 0; end < 2; end++)
            for (int j = 0; j < LLC_PEAKS; j++) {
                high[j] = value[end][j] > high[j] ? value[end][j] : high[j];
                low[j] = value[end][j] < low[j] ? value[end][j] : low[j];
            }
    }
}

/* Ends first; then only that is searched, and only on those stretches, which could reach beyond all of them.
 */
static void llc_peaks(const llc_circuits *all, const llc_half *half, llc_figures *f)
{
    double high[LLC_PEAKS], low[LLC_PEAKS];
    int count = all->tank.output_capacitance > 0 ? 5 : 4;
    llc_end_peaks(all, half, high, low);
    for (int j = 0; j < count; j++) llc_reach(j, &high[j], &low[j]);
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        double peak[LLC_PEAKS], dip[LLC_PEAKS];
        llc_functional watch[LLC_PEAKS];
        int which[LLC_PEAKS], n = llc_could_reach(all, stretch, count, high, low, which, watch);
        for (int i = 0; i < n; i++) peak[i] = high[which[i]], dip[i] = low[which[i]];
        if (n) llc_extremes(stretch, n, watch, peak, dip);
        for (int i = 0; i < n; i++) {
            high[which[i]] = peak[i], low[which[i]] = dip[i];
            llc_reach(which[i], &high[which[i]], &low[which[i]]);
        }
    }
    f->resonant_peak = high[0];
    f->magnetizing_peak = high[1];
    f->secondary_peak = high[2];
    f->capacitor_peak = high[3];
    f->output_highest = count > 4 ? high[4] : 0.0;
    f->output_lowest = count > 4 ? low[4] : 0.0;
}

/* ---------------------------------------------------------------- charges -- */

/* Integral of i_r over a stretch up to a state on it: what the capacitors in its loop took up. */
static inline double llc_loop_charge(const llc_circuits *all, const llc_stretch *stretch, double u)
{
    double capacitance = stretch->node == LLC_FLOAT ? all->series_node : all->tank.capacitance;
    return capacitance * (u - stretch->x[LLC_U]);
}

/* Charge of |i_r| from stretch `first` on, over at most `limit` seconds and no further than its zero;
 * *reached = time at which it came to `wanted` (the limit when it did not). */
static double llc_commutation_charge(const llc_circuits *all, const llc_half *half, int first, double way,
                                     double limit, double wanted, double *reached)
{
    double charge = 0, left = limit;
    *reached = -1;
    for (int k = first; k < half->n && left > 0; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        double loop = stretch->node == LLC_FLOAT ? all->series_node : all->tank.capacitance;
        if (way * stretch->x[LLC_IR] <= 0) break;
        llc_borders zero = {1, {llc_watch_state(stretch, LLC_IR, way)}};
        llc_functional held = llc_watch_state(stretch, LLC_U, 1.0);
        llc_place end;
        double span = fmin(stretch->duration, left);
        int which = llc_first_crossing(stretch->circuit, &zero, span, 0.0, false, &end);
        double part = way * llc_loop_charge(all, stretch, llc_value(&held, &end.now));
        if (*reached < 0 && charge + part >= wanted) {
            llc_place full;
            double base = wanted - charge + way * loop * stretch->x[LLC_U];
            llc_borders enough = {1, {llc_watch_state(stretch, LLC_U, -way * loop)}};
            enough.f[0].k += base;
            llc_first_crossing(stretch->circuit, &enough, end.t, 0.0, true, &full);
            *reached = limit - left + full.t;
        }
        charge += part;
        left -= end.t;
        if (which >= 0) break;
    }
    if (*reached < 0) *reached = limit - left;
    return charge;
}

/* Zero dead time in the waveform: the charge is judged with the node already flipped. */
static void llc_judge_instant(const llc_circuits *all, const llc_half *half, double dead_time, llc_figures *f)
{
    double before;
    f->charge_available = llc_commutation_charge(all, half, 0, -1.0, dead_time, f->charge_required, &before);
    f->transition_time = before;
    double missing = f->charge_required > 0 ? 1.0 - f->charge_available / f->charge_required : 0.0;
    f->residual = all->tank.input * fmax(missing, 0.0);
    f->turn_on = f->residual > 0 ? fmax(half->start[LLC_IR], 0.0) : 0.0;
}

static void llc_judge_dead_time(const llc_circuits *all, const llc_half *half, int first, llc_figures *f)
{
    double before;
    f->charge_available =
        llc_commutation_charge(all, half, first, 1.0, all->tank.dead_time, f->charge_required, &before);
    f->transition_time = f->float_time;
    f->residual = fmax(0.5 * all->tank.input + half->node_end, 0.0);
    f->turn_on = fmax(-half->end[LLC_IR], 0.0);
}

/* Slope at which the rectified current reaches zero, largest of the half period. */
static double llc_fall(const llc_circuits *all, const llc_half *half)
{
    double steepest = 0;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        if (!stretch->sign || (k + 1 < half->n && half->stretch[k + 1].sign == stretch->sign)) continue;
        lanes rate;
        llc_rate_at(stretch, &stretch->to, &rate);
        steepest = fmax(steepest, -all->tank.ratio * stretch->sign * (rate[LLC_IR] - rate[LLC_IM]));
    }
    return steepest;
}

/* ----------------------------------------------------------------- losses -- */

static void llc_book(const llc_circuits *all, const llc_half *half, double body[2], llc_figures *f)
{
    const llc_tank *tank = &all->tank;
    double closing = llc_has_dead_time(all) ? 0.5 * tank->input + half->node_end : 0.0;
    f->primary_loss = tank->primary_resistance * f->resonant_square;
    f->secondary_loss = tank->secondary_resistance * f->secondary_square;
    f->drop_loss = tank->drop * f->secondary_mean;
    f->body_charge = body[0] - body[1];
    f->body_loss = 2.0 * f->frequency * tank->body_drop * f->body_charge;
    f->closing_loss = f->frequency * tank->node_capacitance * closing * closing;
    f->capacitor_loss = tank->output_esr * f->capacitor_square;
    /* charge from the bus in one period: through the switch, back through both body diodes, and into the
     * node capacitances when a switch closes on a residual voltage; docs/theory/llc.md eq. 12 */
    double drawn = f->on_charge - body[0] + body[1] + tank->node_capacitance * closing;
    f->input_power = tank->input * f->frequency * drawn;
}

/* All figures of a periodic half wave.  node_charge: both switches' output charge; dead_time: for the
 * judgement of an instant transition. */
static void llc_measure(const llc_circuits *all, const llc_half *half, double node_charge, double dead_time,
                        llc_figures *f)
{
    memset(f, 0, sizeof *f);
    double body[2] = {0, 0}; /* low, high clamp */
    int off = half->n;
    f->frequency = 0.5 / half->half;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        llc_integrate(all, stretch, f);
        if (stretch->sign) f->conduction += stretch->duration;
        if (stretch->node == LLC_FLOAT) f->float_time += stretch->duration;
        if (stretch->node != LLC_ON && off == half->n) off = k;
        if (stretch->node == LLC_FLOAT) continue;
        double charge = llc_loop_charge(all, stretch, stretch->to[LLC_U]);
        if (stretch->node == LLC_ON)
            f->on_charge += charge;
        else
            body[stretch->node == LLC_HIGH] += charge;
    }
    f->resonant_square /= half->half;
    f->magnetizing_square /= half->half;
    f->secondary_square /= half->half;
    f->output_square /= half->half;
    f->capacitor_square /= half->half;
    f->secondary_mean = half->charge / half->half;
    f->turn_off = off < half->n ? half->stretch[off].x[LLC_IR] : half->stretch[half->n - 1].to[LLC_IR];
    f->commutation_slope = llc_fall(all, half);
    f->charge_required = node_charge;
    llc_peaks(all, half, f);
    if (llc_has_dead_time(all))
        llc_judge_dead_time(all, half, off, f);
    else
        llc_judge_instant(all, half, dead_time, f);
    llc_book(all, half, body, f);
}

#endif
