/* llc_figures.h - means, peaks and charges of a solved half wave.
 *
 * Mean squares are integrated by Gauss-Legendre with 4, 8 or 12 points, as many as leave less than 1e-14 at
 * the radians the ringing turns by; charges come from the capacitor voltage in
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

/* Nodes and weights on -1 .. 1, four by four, and the radians of a panel up to which what n points leave of a
 * square, (n!)^4 (2 turn)^(2 n) / ((2 n + 1) (2 n)!^3), is below 1e-14. source: M. Abramowitz, I. A. Stegun,
 * Handbook of Mathematical Functions, 1964, table 25.4 and 25.4.30 */
enum { LLC_RULES = 3, LLC_POINTS_MAX = 12, LLC_PANELS_MAX = 10000 };
typedef struct llc_rule {
    int n;
    double reach, node[LLC_POINTS_MAX], weight[LLC_POINTS_MAX];
} llc_rule;
static const llc_rule llc_rules[LLC_RULES] = {
    {4,
     0.12,
     {-0.86113631159405258, -0.33998104358485626, 0.33998104358485626, 0.86113631159405258},
     {0.34785484513745386, 0.65214515486254614, 0.65214515486254614, 0.34785484513745386}},
    {8,
     1.76,
     {-0.96028985649753623, -0.79666647741362674, -0.52553240991632899, -0.18343464249564980,
      0.18343464249564980, 0.52553240991632899, 0.79666647741362674, 0.96028985649753623},
     {0.10122853629037626, 0.22238103445337447, 0.31370664587788729, 0.36268378337836198, 0.36268378337836198,
      0.31370664587788729, 0.22238103445337447, 0.10122853629037626}},
    {12,
     5.0,
     {-0.98156063424671925, -0.90411725637047486, -0.76990267419430469, -0.58731795428661745,
      -0.36783149899818019, -0.12523340851146892, 0.12523340851146892, 0.36783149899818019,
      0.58731795428661745, 0.76990267419430469, 0.90411725637047486, 0.98156063424671925},
     {0.04717533638651183, 0.10693932599531843, 0.16007832854334623, 0.20316742672306592, 0.23349253653835481,
      0.24914704581340279, 0.24914704581340279, 0.23349253653835481, 0.20316742672306592, 0.16007832854334623,
      0.10693932599531843, 0.04717533638651183}},
};

/* Integrals over a stretch of i_r^2, i_m^2, (i_r - i_m)^2, and with an output capacitor of the squares of its
 * terminal's voltage and its current: four sums of each. */
typedef struct llc_squares {
    lanes resonant, magnetizing, apart, output, capacitor;
} llc_squares;

/* c, s of both groups at four times. */
typedef struct llc_four_instants {
    lanes fast_c, fast_s, slow_c, slow_s;
} llc_four_instants;

WITHIN_LANES void llc_four_states(const llc_stretch *stretch, const llc_four_instants *at, int state,
                                  lanes *x)
{
    *x = stretch->circuit->shift[state] + at->fast_c * stretch->part[0][state] +
         at->fast_s * stretch->part[1][state] + at->slow_c * stretch->part[2][state] +
         at->slow_s * stretch->part[3][state];
}

WITHIN_LANES void llc_add_squares(const llc_circuits *all, const llc_stretch *stretch,
                                  const llc_four_instants *at, const lanes *weight, llc_squares *sum)
{
    const lanes w = *weight;
    lanes ir, im, vo;
    llc_four_states(stretch, at, LLC_IR, &ir);
    llc_four_states(stretch, at, LLC_IM, &im);
    lanes apart = ir - im;
    sum->resonant += w * ir * ir;
    sum->magnetizing += w * im * im;
    sum->apart += w * apart * apart;
    if (!(all->tank.output_capacitance > 0)) return;
    double ratio = stretch->sign ? all->tank.ratio : 0.0; /* as seen from its side it is positive */
    llc_four_states(stretch, at, LLC_VO, &vo);
    lanes is = ratio * apart, v = all->gain * (vo + all->tank.output_esr * is);
    lanes ic = is - all->tank.load_conductance * v;
    sum->output += w * v * v;
    sum->capacitor += w * ic * ic;
}

WITHIN_LANES double llc_lanes_sum(const lanes *x)
{
    return (*x)[0] + (*x)[1] + (*x)[2] + (*x)[3];
}

WITHIN_LANES void llc_book_squares(const llc_circuits *all, const llc_stretch *stretch,
                                   const llc_squares *sum, llc_figures *f)
{
    double resonant = llc_lanes_sum(&sum->resonant), ratio = stretch->sign ? all->tank.ratio : 0.0;
    f->resonant_square += resonant;
    f->magnetizing_square += llc_lanes_sum(&sum->magnetizing);
    f->secondary_square += ratio * ratio * llc_lanes_sum(&sum->apart);
    if (stretch->node == LLC_ON) f->on_square += resonant;
    if (stretch->node == LLC_LOW || stretch->node == LLC_HIGH) f->body_square += resonant;
    f->output_square += llc_lanes_sum(&sum->output);
    f->capacitor_square += llc_lanes_sum(&sum->capacitor);
}

/* In equal panels, one wherever a rule reaches over the stretch. */
FOUR_LANES static void llc_integrate(const llc_circuits *all, const llc_stretch *stretch, llc_figures *f)
{
    const llc_group *fast = &stretch->circuit->fast, *slow = &stretch->circuit->slow;
    double turn = stretch->duration * (fast->reach > slow->reach ? fast->reach : slow->reach);
    const llc_rule *rule = llc_rules;
    while (turn > rule->reach && rule < llc_rules + LLC_RULES - 1) rule++;
    double most = turn / rule->reach;
    int panels = 1 + (int)(most < LLC_PANELS_MAX ? most : LLC_PANELS_MAX);
    double half = 0.5 * stretch->duration / panels;
    llc_squares sum = {{0}, {0}, {0}, {0}, {0}};
    for (int p = 0; p < panels; p++)
        for (int i = 0; i < rule->n; i += LANES) {
            lanes t = half * (2 * p + 1 + lanes_load(rule->node + i));
            lanes weight = half * lanes_load(rule->weight + i);
            llc_four_instants at;
            llc_group_four(fast, &t, &at.fast_c, &at.fast_s);
            llc_group_four(slow, &t, &at.slow_c, &at.slow_s);
            llc_add_squares(all, stretch, &at, &weight, &sum);
        }
    llc_book_squares(all, stretch, &sum, f);
}

/* ------------------------------------------------------------------ peaks -- */

/* The part of the resonant capacitor's voltage that does not lie in u on a stretch, and u's share in it, also
 * where the node floats. */
static inline double llc_capacitor_rest(const llc_circuits *all, const llc_stretch *stretch, double *share)
{
    double floats = stretch->node == LLC_FLOAT ? all->series_node / all->tank.node_capacitance : 0.0;
    *share = 1.0 - floats;
    return stretch->node_voltage + floats * stretch->x[LLC_U];
}

/* What is watched for its peaks, of a state as it is outside a stretch, before the weights: both currents,
 * the rectified one, and of the resonant capacitor what lies in u. */
WITHIN_LANES void llc_watch(const lanes *x, const lanes *weight, lanes *watched)
{
    const lanes none = {0};
    *watched =
        (__builtin_shufflevector(*x, none, 0, 1, 0, 2) - __builtin_shufflevector(*x, none, 4, 4, 1, 4)) *
        *weight;
}

WITHIN_LANES void llc_watch_weights(const llc_circuits *all, const llc_stretch *stretch, double share,
                                    lanes *weight)
{
    *weight = (lanes){1.0, 1.0, all->tank.ratio * stretch->sign, share};
}

/* The four of them as functionals. */
WITHIN_LANES void llc_watch_four(const llc_circuits *all, const llc_stretch *stretch, llc_four *f)
{
    double share, rest = llc_capacitor_rest(all, stretch, &share);
    lanes weight;
    llc_watch_weights(all, stretch, share, &weight);
    weight *= llc_side(stretch, LLC_IR); /* all four turn about with the side */
    llc_watch(&stretch->circuit->shift, &weight, &f->k);
    f->k += (lanes){0.0, 0.0, 0.0, rest};
    for (int g = 0; g < 4; g++) llc_watch(&stretch->part[g], &weight, &f->p[g]);
}

/* The output, alone in the first lane. */
WITHIN_LANES void llc_watch_output(const llc_circuits *all, const llc_stretch *stretch, llc_four *four)
{
    double esr = all->gain * all->tank.output_esr;
    llc_functional f = llc_watch_rectified(stretch, esr * all->tank.ratio * stretch->sign);
    llc_add_state(stretch, LLC_VO, all->gain, &f);
    four->k = (lanes){f.k, 0, 0, 0};
    for (int g = 0; g < 4; g++) four->p[g] = (lanes){f.p[g], 0, 0, 0};
}

/* Largest and smallest so far. */
typedef struct llc_range {
    lanes high, low;
} llc_range;

WITHIN_LANES void llc_widen(const lanes *value, llc_range *range)
{
    lanes high = range->high, down = -range->low, lowered = -*value;
    lanes_larger(value, &high, &range->high);
    lanes_larger(&lowered, &down, &range->low);
    range->low = -range->low;
}

/* What peak is looked for: the half wave comes again with turned sign, and of the rectified current the top
 * alone counts. */
static void llc_reach(llc_range *range)
{
    for (int j = 0; j < LANES; j++) {
        if (range->high[j] < -range->low[j] && j != 2) range->high[j] = -range->low[j];
        range->low[j] = -range->high[j];
    }
    range->low[2] = -INFINITY;
}

/* Where slope j turns its sign between two places near by. */
static llc_place llc_turn(const llc_circuit *circuit, const llc_four *slope, int j, const llc_place *from,
                          const llc_place *to, double w, double w1)
{
    double fall = w < 0 ? -1.0 : 1.0;
    llc_functional f = {
        0.0, {fall * slope->p[0][j], fall * slope->p[1][j], fall * slope->p[2][j], fall * slope->p[3][j]}};
    const llc_functional rate = llc_slope_of(circuit, &f);
    llc_place top = *from;
    llc_go(circuit, &top, from->t + (to->t - from->t) * w / (w - w1));
    llc_polish(circuit, &f, &rate, from->t, to->t, llc_flat, &top);
    return top;
}

/* Widens the range by what those of four functionals that are `wanted` come to where they turn in a stretch.
 */
FOUR_LANES static void llc_extremes(const llc_stretch *stretch, const llc_four *watch, const llc_four *slope,
                                    const lanes_mask *wanted, llc_range *range)
{
    const llc_circuit *circuit = stretch->circuit;
    double turn = stretch->duration * circuit->fast.reach / 0.8;
    int steps = 3 + (int)(turn < LLC_SAMPLES_MAX ? turn : LLC_SAMPLES_MAX);
    double step = stretch->duration / steps;
    llc_instant stride = llc_instant_at(circuit, step);
    /* slopes that vanish at the start, as where the rectifier begins to conduct, are read just after it */
    llc_instant after = llc_instant_at(circuit, 1e-3 * step);
    lanes w, w1, value;
    llc_values(slope, &after, &w);
    llc_place from = {0.0, {{1, 0}, {1, 0}}};
    for (int k = 1; k <= steps; k++) {
        llc_place to = {k * step, llc_instant_product(circuit, &from.now, &stride)};
        llc_values(slope, &to.now, &w1);
        lanes_mask turns = *wanted & (w * w1 <= (lanes){0}) & (w != (lanes){0});
        for (int j = 0; j < LANES && lanes_any(&turns); j++) {
            if (!turns[j]) continue;
            llc_place top = llc_turn(circuit, slope, j, &from, &to, w[j], w1[j]);
            llc_values(watch, &top.now, &value);
            llc_widen(&value, range);
        }
        w = w1;
        from = to;
    }
}

/* Which of four functionals could reach beyond the range within a stretch, |f''| <= most: none rises above
 * both its ends by more than most T^2 / 8, and none turns whose slope has one sign at both and comes to most
 * T, both together. */
WITHIN_LANES void llc_beyond(const llc_stretch *stretch, const llc_four *watch, const llc_four *slope,
                             const lanes *most, const llc_range *range, lanes_mask *beyond)
{
    double T = stretch->duration;
    lanes start = watch->k + watch->p[0] + watch->p[2], w = slope->p[0] + slope->p[2], end, w1;
    llc_values(watch, &stretch->end, &end);
    llc_values(slope, &stretch->end, &w1);
    llc_range ends = {start, start};
    llc_widen(&end, &ends);
    lanes room = *most * (0.125 * T * T), sum = w + w1;
    *beyond = (ends.high + room > range->high) | (ends.low - room < range->low);
    *beyond &= (w * w1 <= (lanes){0}) | ((sum <= *most * T) & (sum >= -*most * T));
}

/* Searches a stretch where any of four functionals could reach beyond the range within it. */
WITHIN_LANES void llc_search_peaks(const llc_stretch *stretch, const llc_four *watch, llc_range *range)
{
    const llc_circuit *circuit = stretch->circuit;
    llc_four slope, bend;
    lanes most;
    lanes_mask beyond;
    llc_slopes_of(circuit, watch, &slope);
    llc_slopes_of(circuit, &slope, &bend);
    llc_most(circuit, &bend, stretch->duration, &most);
    llc_beyond(stretch, watch, &slope, &most, range, &beyond);
    if (!(circuit->fast.a >= 0 && circuit->slow.a >= 0)) beyond = (lanes_mask){-1, -1, -1, -1};
    if (lanes_any(&beyond)) llc_extremes(stretch, watch, &slope, &beyond, range);
}

/* Both ends of every stretch. */
WITHIN_LANES void llc_end_peaks(const llc_circuits *all, const llc_half *half, llc_range *range)
{
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        double share, rest = llc_capacitor_rest(all, stretch, &share);
        lanes weight;
        llc_watch_weights(all, stretch, share, &weight);
        for (int end = 0; end < 2; end++) {
            lanes value;
            llc_watch(end ? &stretch->to : &stretch->x, &weight, &value);
            value += (lanes){0.0, 0.0, 0.0, rest};
            llc_widen(&value, range);
        }
    }
}

/* Of the output alone, in the first lane. */
WITHIN_LANES void llc_output_peaks(const llc_circuits *all, const llc_half *half, llc_figures *f)
{
    llc_range range = {{-INFINITY, INFINITY, INFINITY, INFINITY},
                       {INFINITY, -INFINITY, -INFINITY, -INFINITY}};
    llc_four watch;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        llc_watch_output(all, stretch, &watch);
        lanes start = watch.k + watch.p[0] + watch.p[2], end;
        llc_values(&watch, &stretch->end, &end);
        llc_widen(&start, &range);
        llc_widen(&end, &range);
    }
    for (int k = 0; k < half->n; k++) {
        llc_watch_output(all, &half->stretch[k], &watch);
        llc_search_peaks(&half->stretch[k], &watch, &range);
    }
    f->output_highest = range.high[0];
    f->output_lowest = range.low[0];
}

/* Ends first; then only those stretches are searched which could reach beyond all of them. */
FOUR_LANES static void llc_peaks(const llc_circuits *all, const llc_half *half, llc_figures *f)
{
    const lanes least = {-INFINITY, -INFINITY, 0.0, -INFINITY};
    llc_range range = {least, -least};
    llc_end_peaks(all, half, &range);
    llc_reach(&range);
    for (int k = 0; k < half->n; k++) {
        llc_four watch;
        llc_watch_four(all, &half->stretch[k], &watch);
        llc_search_peaks(&half->stretch[k], &watch, &range);
        llc_reach(&range);
    }
    f->resonant_peak = range.high[0];
    f->magnetizing_peak = range.high[1];
    f->secondary_peak = range.high[2];
    f->capacitor_peak = range.high[3];
    if (all->tank.output_capacitance > 0) llc_output_peaks(all, half, f);
}

/* ---------------------------------------------------------------- charges -- */

/* Integral of i_r over a stretch up to a state on it: what the capacitors in its loop took up. */
static inline double llc_loop_charge(const llc_circuits *all, const llc_stretch *stretch, double u)
{
    double capacitance = stretch->node == LLC_FLOAT ? all->series_node : all->tank.capacitance;
    return capacitance * (u - stretch->x[LLC_U]);
}

/* How far i_r keeps its way on a stretch that has been walked, at most `span`: to where it falls to zero.
 * return whether it does; where a body diode clamps the node that is what the walk looked for */
static bool llc_lasts(const llc_stretch *stretch, double way, double span, llc_place *end)
{
    *end = (llc_place){stretch->duration, stretch->end};
    bool whole = span >= stretch->duration * (1.0 - 1e-12),
         clamped = stretch->node == (way > 0 ? LLC_LOW : LLC_HIGH);
    if (whole && clamped && stretch->border < 0) return false;
    const llc_borders zero = {1, {llc_watch_state(stretch, LLC_IR, way)}}, *border = &zero;
    if (whole && llc_clear(stretch->circuit, border, -1, end)) return false;
    double limit = span < stretch->duration ? span : stretch->duration;
    return llc_first_crossing(stretch->circuit, border, limit, 0.0, false, end) >= 0;
}

/* Charge of |i_r| from stretch `first` on, over at most `limit` seconds and no further than its zero;
 * *reached = time at which it came to `wanted` (the limit when it did not), if that is asked for. */
static double llc_commutation_charge(const llc_circuits *all, const llc_half *half, int first, double way,
                                     double limit, double wanted, double *reached)
{
    double charge = 0, left = limit, never = 0.0;
    if (!reached)
        reached = &never;
    else
        *reached = -1;
    for (int k = first; k < half->n && left > 0; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        double loop = stretch->node == LLC_FLOAT ? all->series_node : all->tank.capacitance;
        if (way * stretch->x[LLC_IR] <= 0) break;
        llc_functional held = llc_watch_state(stretch, LLC_U, 1.0);
        llc_place end;
        bool falls = llc_lasts(stretch, way, left, &end);
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
        if (falls) break;
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
    f->charge_available =
        llc_commutation_charge(all, half, first, 1.0, all->tank.dead_time, f->charge_required, NULL);
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
