/* llc_figures.h - means, peaks and charges of a solved half wave.
 *
 * Mean squares are integrated by Gauss-Legendre over panels of at most 3.2 radians of the ringing, where
 * ten points leave less than 1e-14 (eight, six, four over fewer radians); charges come from the capacitor
 * voltage in closed form; peaks are the zeros of the derivative.  docs/theory/llc.md eq. 9 to 12 */
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
    double reach, node[5], weight[5];
} llc_rule;
enum { LLC_RULES = 4 };
static const llc_rule llc_rules[LLC_RULES] = {
    {2, 0.12, {0.33998104358485626, 0.86113631159405258}, {0.65214515486254614, 0.34785484513745386}},
    {3,
     0.69,
     {0.23861918608319691, 0.66120938646626451, 0.93246951420315203},
     {0.46791393457269105, 0.36076157304813861, 0.17132449237917036}},
    {4,
     1.7,
     {0.18343464249564980, 0.52553240991632899, 0.79666647741362674, 0.96028985649753623},
     {0.36268378337836198, 0.31370664587788729, 0.22238103445337447, 0.10122853629037626}},
    {5,
     3.2,
     {0.14887433898163121, 0.43339539412924719, 0.67940956829902441, 0.86506336668898451,
      0.97390652851717172},
     {0.29552422471475287, 0.26926671930999636, 0.21908636251598204, 0.14945134915058059,
      0.066671344308688138}},
};

static void llc_add_squares(const llc_circuits *all, const llc_stretch *stretch, const double x[4], double w,
                            llc_figures *f)
{
    double ir = x[LLC_IR], im = x[LLC_IM], is = all->tank.ratio * stretch->sign * (ir - im);
    f->resonant_square += w * ir * ir;
    f->magnetizing_square += w * im * im;
    f->secondary_square += w * is * is;
    if (stretch->node == LLC_ON) f->on_square += w * ir * ir;
    if (stretch->node == LLC_LOW || stretch->node == LLC_HIGH) f->body_square += w * ir * ir;
    if (!(all->tank.output_capacitance > 0)) return;
    double v = all->gain * (x[LLC_VO] + all->tank.output_esr * is);
    double ic = is - all->tank.load_conductance * v;
    f->output_square += w * v * v;
    f->capacitor_square += w * ic * ic;
}

/* Both points of a node at once: e^(A (m + d)) and e^(A (m - d)) share their factors. */
static void llc_integrate(const llc_circuits *all, const llc_stretch *stretch, llc_figures *f)
{
    const llc_circuit *circuit = stretch->circuit;
    double turn = stretch->duration * fmax(circuit->fast.reach, circuit->slow.reach);
    const llc_rule *rule = llc_rules;
    int panels = 1 + (int)fmin(turn / llc_rules[LLC_RULES - 1].reach, 2000.0);
    while (rule < llc_rules + LLC_RULES - 1 && !(turn < rule->reach * panels)) rule++;
    double half = 0.5 * stretch->duration / panels;
    for (int p = 0; p < panels; p++) {
        llc_instant middle = llc_instant_at(circuit, (2 * p + 1) * half);
        for (int i = 0; i < rule->n; i++) {
            llc_instant ahead = llc_instant_at(circuit, half * rule->node[i]);
            llc_instant back = {llc_pair_inverse(&circuit->fast, ahead.fast),
                                llc_pair_inverse(&circuit->slow, ahead.slow)};
            for (int side = 0; side < 2; side++) {
                const llc_instant *off = side ? &back : &ahead;
                llc_instant now = {llc_pair_product(&circuit->fast, middle.fast, off->fast),
                                   llc_pair_product(&circuit->slow, middle.slow, off->slow)};
                double x[4];
                llc_state_at(stretch, &now, x);
                llc_add_squares(all, stretch, x, half * rule->weight[i], f);
            }
        }
    }
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

/* Largest and smallest of several functionals over a stretch. */
static void llc_extremes(const llc_stretch *stretch, int n, const llc_functional watch[], double high[],
                         double low[])
{
    const llc_circuit *circuit = stretch->circuit;
    int steps = 3 + (int)fmin(stretch->duration * circuit->fast.reach / 0.8, LLC_SAMPLES_MAX);
    double step = stretch->duration / steps;
    llc_instant stride = llc_instant_at(circuit, step), now = {{1, 0}, {1, 0}};
    /* slopes that vanish at the start, as where the rectifier begins to conduct, are read just after it */
    llc_instant after = llc_instant_at(circuit, 1e-3 * step);
    llc_functional slope[LLC_PEAKS];
    double w[LLC_PEAKS];
    for (int j = 0; j < n; j++) {
        slope[j] = llc_slope_of(circuit, &watch[j]);
        w[j] = llc_value(&slope[j], &after);
        double v = llc_value(&watch[j], &now);
        high[j] = fmax(high[j], v), low[j] = fmin(low[j], v);
    }
    for (int k = 0; k < steps; k++) {
        now.fast = llc_pair_product(&circuit->fast, now.fast, stride.fast);
        now.slow = llc_pair_product(&circuit->slow, now.slow, stride.slow);
        for (int j = 0; j < n; j++) {
            double w1 = llc_value(&slope[j], &now), v = llc_value(&watch[j], &now);
            if ((w[j] > 0 && w1 <= 0) || (w[j] < 0 && w1 >= 0)) {
                llc_functional turn = slope[j];
                for (int g = 0; g < 4 && w[j] < 0; g++) turn.p[g] = -turn.p[g];
                double guess = (k + w[j] / (w[j] - w1)) * step;
                double t = llc_polish(circuit, &turn, k * step, (k + 1) * step, guess, llc_flat);
                llc_instant then = llc_instant_at(circuit, t);
                double top = llc_value(&watch[j], &then);
                high[j] = fmax(high[j], top), low[j] = fmin(low[j], top);
            }
            high[j] = fmax(high[j], v), low[j] = fmin(low[j], v);
            w[j] = w1;
        }
    }
}

/* Capacitor voltage on a stretch: constant + row . x, also where the node floats. */
static llc_functional llc_capacitor_voltage(const llc_circuits *all, const llc_stretch *stretch)
{
    double share = stretch->node == LLC_FLOAT ? all->series_node / all->tank.node_capacitance : 0.0;
    const double row[4] = {0, 0, 1.0 - share, 0};
    return llc_watch(stretch, stretch->node_voltage + share * stretch->x[LLC_U], row);
}

/* What is watched for its peaks on a stretch. */
static void llc_watched(const llc_circuits *all, const llc_stretch *stretch, llc_functional watch[LLC_PEAKS])
{
    double n = all->tank.ratio * stretch->sign, esr = all->gain * all->tank.output_esr * n;
    watch[0] = llc_watch(stretch, 0, (const double[4]){1, 0, 0, 0});
    watch[1] = llc_watch(stretch, 0, (const double[4]){0, 1, 0, 0});
    watch[2] = llc_watch(stretch, 0, (const double[4]){n, -n, 0, 0});
    watch[3] = llc_capacitor_voltage(all, stretch);
    watch[4] = llc_watch(stretch, 0, (const double[4]){esr, -esr, 0, all->gain});
}

/* What peak is looked for: the half wave comes again with turned sign, except in the output. */
static void llc_reach(int watched, double *high, double *low)
{
    if (watched == 2) *high = fmax(*high, 0.0), *low = -INFINITY; /* rectified: its top alone */
    if (watched == 2 || watched == 4) return;
    *high = fmax(*high, -*low);
    *low = -*high;
}

/* Ends first; then only that is searched, and only on those stretches, which could reach beyond all of them.
 */
static void llc_peaks(const llc_circuits *all, const llc_half *half, llc_figures *f)
{
    double high[LLC_PEAKS], low[LLC_PEAKS];
    llc_functional watch[LLC_STRETCHES][LLC_PEAKS];
    double top[LLC_STRETCHES][LLC_PEAKS], bottom[LLC_STRETCHES][LLC_PEAKS];
    int count = all->tank.output_capacitance > 0 ? 5 : 4;
    for (int j = 0; j < LLC_PEAKS; j++) high[j] = -INFINITY, low[j] = INFINITY;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        llc_instant start = {{1, 0}, {1, 0}}, end = llc_instant_at(stretch->circuit, stretch->duration);
        llc_watched(all, stretch, watch[k]);
        for (int j = 0; j < count; j++) {
            double v0 = llc_value(&watch[k][j], &start), v1 = llc_value(&watch[k][j], &end);
            top[k][j] = v0 > v1 ? v0 : v1, bottom[k][j] = v0 > v1 ? v1 : v0;
            high[j] = fmax(high[j], top[k][j]), low[j] = fmin(low[j], bottom[k][j]);
        }
    }
    for (int j = 0; j < count; j++) llc_reach(j, &high[j], &low[j]);
    for (int k = 0; k < half->n; k++) {
        double peak[LLC_PEAKS], dip[LLC_PEAKS];
        int which[LLC_PEAKS], n = 0;
        for (int j = 0; j < count; j++) {
            double room = llc_bulge(&half->stretch[k], &watch[k][j]);
            if (top[k][j] + room <= high[j] && bottom[k][j] - room >= low[j]) continue;
            watch[k][n] = watch[k][j], peak[n] = high[j], dip[n] = low[j], which[n++] = j;
        }
        if (n) llc_extremes(&half->stretch[k], n, watch[k], peak, dip);
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

static double llc_end_state(const llc_half *half, int k, int state)
{
    const llc_stretch *stretch = &half->stretch[k];
    llc_instant now = llc_instant_at(stretch->circuit, stretch->duration);
    double x[4];
    llc_state_at(stretch, &now, x);
    return x[state];
}

/* Integral of i_r over a stretch up to t: what the capacitors in its loop took up. */
static double llc_loop_charge(const llc_circuits *all, const llc_stretch *stretch, double t)
{
    llc_instant now = llc_instant_at(stretch->circuit, t);
    double x[4];
    llc_state_at(stretch, &now, x);
    double capacitance = stretch->node == LLC_FLOAT ? all->series_node : all->tank.capacitance;
    return capacitance * (x[LLC_U] - stretch->x[LLC_U]);
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
        llc_borders zero = {1, {llc_watch(stretch, 0, (const double[4]){way, 0, 0, 0})}};
        if (way * stretch->x[LLC_IR] <= 0) break;
        int which;
        double span = fmin(stretch->duration, left);
        double t = llc_first_crossing(stretch->circuit, &zero, span, false, &which);
        double part = way * llc_loop_charge(all, stretch, t);
        if (*reached < 0 && charge + part >= wanted) {
            int hit;
            double base = wanted - charge + way * loop * stretch->x[LLC_U];
            llc_borders full = {1, {llc_watch(stretch, base, (const double[4]){0, 0, -way * loop, 0})}};
            *reached = limit - left + llc_first_crossing(stretch->circuit, &full, t, true, &hit);
        }
        charge += part;
        left -= t;
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
        llc_instant now = llc_instant_at(stretch->circuit, stretch->duration);
        double x[4], rate[4];
        llc_state_at(stretch, &now, x);
        llc_rate_at(stretch, x, rate);
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
        double charge = llc_loop_charge(all, stretch, stretch->duration);
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
    f->turn_off = off < half->n ? half->stretch[off].x[LLC_IR] : llc_end_state(half, half->n - 1, LLC_IR);
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
