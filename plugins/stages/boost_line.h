/* boost_line.h - a boost stage over the quarter line: which cycles are full, how much power the bus gets,
 * and the totals over the line. One phase. */
#ifndef BOOST_LINE_H
#define BOOST_LINE_H

#include "../lanes.h"
#include "boost_cycle.h"
#include "line_quadrature.h"

enum { CONTINUOUS, BOUNDARY };

/* The cycles at the nodes of the line, entry k for node k; each figure in a row of its own, so that loops
 * over the nodes go four at a time. */
typedef struct line_cycles {
    double voltage[LINE_NODES_MAX], period[LINE_NODES_MAX], frequency[LINE_NODES_MAX];
    double on[LINE_NODES_MAX], off[LINE_NODES_MAX], valley[LINE_NODES_MAX], peak[LINE_NODES_MAX];
    double switch_mean[LINE_NODES_MAX], switch_square[LINE_NODES_MAX];       /* A, A^2 over the cycle */
    double rectifier_mean[LINE_NODES_MAX], rectifier_square[LINE_NODES_MAX]; /* A, A^2 over the cycle */
    bool full[LINE_NODES_MAX];
} line_cycles;

typedef struct plan {
    boost_circuit circuit; /* of one phase */
    int mode;
    double crest;   /* V */
    double unknown; /* amplitude A, or on-time s */
    double period;  /* s: fixed, or the shortest allowed (0 = no clamp) */
    double delay;   /* s, zero current to valley */
    double border;  /* rad, below it cycles rest at zero current */
    bool settled;   /* boundary: node at v when turning on (immediate: at Vo) */
    /* the path all phases share: sense resistor, and a slow leg that takes the bridge's place */
    unsigned phases;
    double
        common; /* ohm; a phase sees it as many times as there are phases, less what their ripple cancels */
    double slow_drop; /* V, constant drop of the slow leg */
    double start;     /* of the line's sine: below it the slow leg does not conduct */
    double shared[LINE_NODES_MAX], shared_mean; /* <(sum i)^2> / (phases^2 <i^2>): 1 without cancellation */
    double share;                               /* of the time it switches; below 1 in bursts */
    line_nodes nodes;
    double placed[2];  /* rad, the borders the nodes were placed for */
    double elasticity; /* relative change of what is delivered over that of the unknown; 0: not known */
    line_cycles *cycles;
} plan;

/* What drives the current, 0 to 1 from the start of conduction to the crest: v less the slow leg's drop is
 * crest * drive. */
static inline double drive_of(const plan *p, double sine)
{
    return p->start > 0.0 ? (sine - p->start) / (1.0 - p->start) : sine;
}

static inline double drive_at(const plan *p, double angle)
{
    return drive_of(p, sin(angle));
}

static inline double angle_of(const plan *p, double drive)
{
    return asin(p->start + (1.0 - p->start) * drive);
}

/* One phase with its part of the common path. The common resistor drops R times the current of all phases; in
 * the phase's own circuit that is a resistor which loses what the common one does: phases * R * shared. Exact
 * in what is lost; the mean drop is short by a share 1 - shared of it, and the others' ripple does not shape
 * the wave (both R times current over the bus voltage, below 1e-3 of the duty ratio). */
static inline boost_circuit circuit_of(const plan *p, double shared)
{
    boost_circuit c = p->circuit;
    double r = p->phases * p->common * shared;
    c.rise_resistance += r;
    c.fall_resistance += r;
    return c;
}

/* ------------------------------------------------------------ one cycle -- */

/* rise: the shape of the boundary mode's rise in this circuit */
static inline bool cycle_in(const plan *p, const boost_circuit *c, boost_shape rise, double drive,
                            boost_cycle *cycle)
{
    double v = p->crest * drive;
    if (p->mode == BOUNDARY) {
        boost_cycle_of_on_time(c, v, p->unknown, rise, p->delay, p->period, cycle);
        return true;
    }
    return boost_cycle_of_mean(c, v, p->unknown * drive, p->period, cycle);
}

static inline bool cycle_at(const plan *p, double drive, boost_cycle *cycle)
{
    boost_circuit c = circuit_of(p, p->shared_mean);
    return cycle_in(p, &c, boost_rise(&c, p->unknown), drive, cycle);
}

/* Conducting time over the time allowed for it, minus one: rises with the angle; zero at the border. */
static inline bool border_distance(const plan *p, double drive, double *distance)
{
    boost_cycle cycle = {.voltage = p->crest * drive};
    boost_circuit c = circuit_of(p, p->shared_mean);
    if (p->mode == BOUNDARY)
        boost_from_zero(&c, p->unknown, boost_rise(&c, p->unknown), &cycle);
    else {
        boost_discontinuous(&c, cycle.voltage, p->unknown * drive * p->period, p->period, &cycle);
        if (!isfinite(cycle.on + cycle.off)) return false;
    }
    *distance = (cycle.on + cycle.off + p->delay) / p->period - 1.0;
    return true;
}

/* Drive at which the border is looked for first: the last one, or the lossless one: continuous v = Vo (1 - 2
 * L f Ipk / Vpk); boundary v = Vo (1 - f ton). */
static inline double border_guess(const plan *p)
{
    double share = p->unknown + p->delay;
    if (p->mode == CONTINUOUS) share = 2.0 * p->circuit.inductance * p->unknown / p->crest;
    bool inside = p->border > 0.0 && p->border < LINE_QUARTER;
    return inside ? drive_at(p, p->border) : p->circuit.output / p->crest * (1.0 - share / p->period);
}

/* Regula falsi, or half way where it leaves its bracket. */
static inline double border_between(double low, double high, double at_low, double at_high)
{
    double guess = (low * at_high - high * at_low) / (at_high - at_low);
    return guess > low && guess < high ? guess : 0.5 * (low + high);
}

/* Angle from which cycles are full, to 1e-12, so that nodes lie the same wherever the search began (at 1e-7
 * it showed in the ninth digit of a loss): 0 = all are, pi/2 = none is. Illinois' variant of regula falsi, in
 * the drive. */
static inline bool find_border(plan *p)
{
    double low = 1e-7, high = 1.0, at_low, at_high, at;
    if (!(p->period > 0.0)) { /* no clamp */
        p->border = 0.0;
        return true;
    }
    double guess = border_guess(p);
    p->border = 0.0;
    if (!border_distance(p, low, &at_low) || !border_distance(p, high, &at_high)) return false;
    if (at_low >= 0.0) return true;
    p->border = LINE_QUARTER;
    if (at_high <= 0.0) return true;
    if (!(guess > low && guess < high)) guess = border_between(low, high, at_low, at_high);
    for (int pass = 0, side = 0; pass < 60; pass++) {
        if (!border_distance(p, guess, &at)) return false;
        if (fabs(at) < 1e-12) break;
        if (at > 0.0) {
            high = guess;
            at_high = at;
            if (side > 0) at_low *= 0.5;
            side = 1;
        } else {
            low = guess;
            at_low = at;
            if (side < 0) at_high *= 0.5;
            side = -1;
        }
        guess = border_between(low, high, at_low, at_high);
    }
    p->border = angle_of(p, guess);
    return true;
}

/* ---------------------------------------------------- cycles of the line -- */

static inline void put_cycle(const boost_cycle *cycle, size_t k, line_cycles *to)
{
    double f = 1.0 / cycle->period;
    to->voltage[k] = cycle->voltage;
    to->period[k] = cycle->period;
    to->frequency[k] = f;
    to->on[k] = cycle->on;
    to->off[k] = cycle->off;
    to->valley[k] = cycle->valley;
    to->peak[k] = cycle->peak;
    to->switch_mean[k] = cycle->charge_on * f;
    to->switch_square[k] = cycle->square_on * f;
    to->rectifier_mean[k] = cycle->charge_off * f;
    to->rectifier_square[k] = cycle->square_off * f;
    to->full[k] = cycle->full;
}

/* At node k, whose side of the border is known. */
static inline bool node_cycle(const plan *p, const boost_circuit *c, size_t k)
{
    boost_cycle cycle;
    double drive = drive_of(p, p->nodes.sine[k]), v = p->crest * drive, mean = p->unknown * drive;
    bool found = p->nodes.angle[k] < p->border
                     ? boost_discontinuous(c, v, mean * p->period, p->period, &cycle)
                     : boost_cycle_of_mean(c, v, mean, p->period, &cycle);
    put_cycle(&cycle, k, p->cycles);
    return found;
}

/* boost_cycle_of_on_time at nodes `from` to `to`, all of one circuit and with short falls: the rise goes with
 * the voltage. */
FOUR_LANES static void short_boundary_cycles(const plan *p, const boost_circuit *circuit, boost_shape rise,
                                             size_t from, size_t to, line_cycles *restrict cycles)
{
    const boost_circuit c = *circuit;
    double on = p->unknown, delay = p->delay, shortest = p->period, start = p->start, bus = c.output + c.drop;
    double volts = p->crest / (1.0 - start), a = on / c.inductance * rise.phi1;
    double charge = on * on / c.inductance * rise.phi2,
           square = a * a * on * rise.psi / (rise.phi1 * rise.phi1);
    for (size_t k = from; k < to; k++) {
        double v = volts * (p->nodes.sine[k] - start);
        boost_fall fall = boost_short_fall(&c, bus - v, a * v);
        double natural = on + fall.time + delay, period = natural >= shortest ? natural : shortest;
        double f = 1.0 / period;
        cycles->voltage[k] = v;
        cycles->period[k] = period;
        cycles->frequency[k] = f;
        cycles->on[k] = on;
        cycles->off[k] = fall.time;
        cycles->valley[k] = 0.0;
        cycles->peak[k] = a * v;
        cycles->switch_mean[k] = charge * v * f;
        cycles->switch_square[k] = square * v * v * f;
        cycles->rectifier_mean[k] = fall.charge * f;
        cycles->rectifier_square[k] = fall.square * f;
        cycles->full[k] = natural >= shortest;
    }
}

/* Falls are longest, beside the time constant of their circuit, where the voltage is highest: at the last. */
static inline void boundary_cycles(const plan *p, const boost_circuit *c, size_t from, size_t to)
{
    line_cycles *cycles = p->cycles;
    boost_shape rise = boost_rise(c, p->unknown);
    short_boundary_cycles(p, c, rise, from, to, cycles);
    for (size_t k = to; k-- > from;) {
        boost_cycle cycle;
        double v = cycles->voltage[k];
        if (c->fall_resistance * cycles->peak[k] <= boost_fall_short * (c->output + c->drop - v)) return;
        boost_cycle_of_on_time(c, v, p->unknown, rise, p->delay, p->period, &cycle);
        put_cycle(&cycle, k, cycles);
    }
}

/* The node after those that share the circuit of node k. */
static inline size_t same_circuit(const plan *p, size_t k)
{
    size_t to = k + 1;
    if (p->phases < 2) return p->nodes.n;
    while (to < p->nodes.n && p->shared[to] == p->shared[k]) to++;
    return to;
}

/* Mean over the line of a figure of the nodes. */
WITHIN_LANES double line_mean(const line_nodes *nodes, const double x[])
{
    lanes sum = {0};
    for (size_t k = 0; k < nodes->n; k += LANES) sum += lanes_load(nodes->weight + k) * lanes_load(x + k);
    return lanes_total(sum);
}

/* Where the line is parted besides: half way, or in boundary mode where the ring of the drain just reaches
 * zero, half the bus. Near the crest what lies beyond that is next to nothing, and it is parted before. */
static inline double parted_at(const plan *p)
{
    double half_bus = 0.5 * p->circuit.output / p->crest, most = 0.75 * LINE_QUARTER;
    if (p->mode == CONTINUOUS) return 0.5 * (asin(p->start) + LINE_QUARTER);
    return half_bus < 1.0 ? fmin(angle_of(p, half_bus), most) : most;
}

/* A border within the line adds a panel to those asked for: moved out at either end it takes with it a panel
 * of no width, so that no figure jumps; they did by 1e-6, the error of eight nodes, where it took the place
 * of another. */
static inline void place_nodes(plan *p, size_t panels)
{
    double borders[2] = {p->border, parted_at(p)}, from = asin(p->start);
    if (p->nodes.n && borders[0] == p->placed[0] && borders[1] == p->placed[1]) return;
    line_nodes_place(&p->nodes, from, panels + line_border_within(from, p->border), borders, 2);
    p->placed[0] = borders[0];
    p->placed[1] = borders[1];
}

/* Solve every cycle for this amplitude or on-time; W that one phase gives to the bus. */
static inline bool ride_the_line(plan *p, size_t panels, double *delivered)
{
    place_nodes(p, panels);
    for (size_t from = 0, to; from < p->nodes.n; from = to) {
        boost_circuit c = circuit_of(p, p->shared[from]);
        to = same_circuit(p, from);
        if (p->mode == BOUNDARY) boundary_cycles(p, &c, from, to);
        for (size_t k = from; p->mode == CONTINUOUS && k < to; k++)
            if (!node_cycle(p, &c, k)) return false;
    }
    *delivered = p->circuit.output * line_mean(&p->nodes, p->cycles->rectifier_mean);
    return isfinite(*delivered);
}

/* W lost in resistances, of one phase. */
static inline double resistive_loss(const plan *p)
{
    double sum = 0.0;
    for (size_t k = 0; k < p->nodes.n; k++) {
        boost_circuit c = circuit_of(p, p->shared[k]);
        sum += p->nodes.weight[k] * (c.rise_resistance * p->cycles->switch_square[k] +
                                     c.fall_resistance * p->cycles->rectifier_square[k]);
    }
    return sum;
}

/* The amplitude or on-time to try next, from `got` W at the present one and `last` W at another (0: none
 * yet); NaN where delivery does not rise. Resistive loss goes with the square, so the first slope is
 * (delivered - resistive loss) / x; then secants. */
static inline double next_unknown(plan *p, double wanted, double got, double last_x, double last)
{
    double x = p->unknown, off = wanted - got, slope;
    if (last_x > 0.0)
        slope = (got - last) / (x - last_x);
    else
        slope = p->elasticity > 0.0 ? p->elasticity * got / x : (got - resistive_loss(p)) / x;
    if (!(last_x > 0.0) || fabs(got - last) > 1e-9 * wanted)
        p->elasticity = slope * x / got; /* else rounding */
    if (!(slope > 0.0)) return (double)NAN;
    double next = x + off / slope;
    return next > 4.0 * x ? 4.0 * x : next < 0.1 * x ? 0.1 * x : next;
}

/* Find the amplitude or on-time at which the phase delivers `wanted`, to 1e-12. Delivery rises with it while
 * losses are sane. */
static inline bool deliver(plan *p, size_t panels, double wanted)
{
    double last_x = 0.0, last = 0.0, border_x = 0.0, got;
    for (int pass = 0; pass < 60; pass++) {
        double x = p->unknown;
        if (fabs(x - border_x) > 1e-8 * x) {
            if (!find_border(p)) return false;
            border_x = x;
        }
        if (!ride_the_line(p, panels, &got)) return false;
        if (fabs(wanted - got) <= 1e-12 * wanted) return true;
        double next = next_unknown(p, wanted, got, last_x, last);
        if (!isfinite(next)) return false;
        if (next == x) return true;
        last_x = x;
        last = got;
        p->unknown = next;
    }
    return false;
}

/* V across the switch as it turns on. Boundary: an ideal lossless half ring of the drain about v reaches
 * 2 v - Vo, or zero. Rest at zero current: the ring has died out, the node sits at v.
 * source: Erickson and Maksimovic (2001) ch. 20 for the ring; its duration is `delay`. */
static inline double residual_of(const plan *p, double voltage, bool full)
{
    double valley = 2.0 * voltage - p->circuit.output;
    if (!full) return voltage;
    if (p->mode == CONTINUOUS || !p->settled) return p->circuit.output;
    return valley > 0.0 ? valley : 0.0;
}

/* --------------------------------------------------------------- totals -- */

typedef struct totals { /* means over time, bursts' pauses included */
    double switch_average, switch_square, rectifier_average, rectifier_square; /* one phase */
    double line_average, line_square, ripple_square, fundamental;              /* inductor of one phase */
    double delivered_square;                                                   /* slow part, one phase */
    double second[5]; /* cosine harmonics 2, 4, .. of the slow rectifier current; [0] mean */
    double turn_on, turn_off, turn_on_power, turn_off_power, residual_power, frequency;
    double loss, input_power;
} totals;

/* Mean over the line of the product of two. */
WITHIN_LANES double line_product(const line_nodes *nodes, const double x[], const double y[])
{
    lanes sum = {0};
    for (size_t k = 0; k < nodes->n; k += LANES)
        sum += lanes_load(nodes->weight + k) * lanes_load(x + k) * lanes_load(y + k);
    return lanes_total(sum);
}

/* Currents of one phase at the nodes, which the totals are made of. */
typedef struct line_rows {
    double mean[LINE_NODES_MAX], ripple[LINE_NODES_MAX]; /* A, A^2 of the inductor */
    double shared[LINE_NODES_MAX];                       /* A^2 of it that passes the common path */
    double residual[LINE_NODES_MAX], residual_rate[LINE_NODES_MAX]; /* V, V/s */
    double even[4][LINE_NODES_MAX];                                 /* cos 2 m theta of m = 1 .. 4 */
} line_rows;

FOUR_LANES static void fill_rows(const plan *p, line_rows *restrict r)
{
    const line_cycles *c = p->cycles;
    for (size_t k = 0; k < p->nodes.n; k++) {
        double mean = c->switch_mean[k] + c->rectifier_mean[k];
        double square = c->switch_square[k] + c->rectifier_square[k], ripple = square - mean * mean;
        r->mean[k] = mean;
        r->ripple[k] = ripple > 0.0 ? ripple : 0.0;
        r->shared[k] = p->shared[k] * square;
    }
    for (size_t k = 0; k < p->nodes.n; k++) {
        double sine = p->nodes.sine[k], two = 1.0 - 2.0 * sine * sine, four = 2.0 * two * two - 1.0;
        r->even[0][k] = two;
        r->even[1][k] = four;
        r->even[2][k] = two * (2.0 * four - 1.0);
        r->even[3][k] = 2.0 * four * four - 1.0;
    }
    for (size_t k = 0; k < p->nodes.n; k++) {
        r->residual[k] = residual_of(p, c->voltage[k], c->full[k]);
        r->residual_rate[k] = r->residual[k] * c->frequency[k];
    }
}

/* rows: filled for this plan */
FOUR_LANES static void total_up(const plan *p, const line_rows *rows, totals *sums)
{
    const line_nodes *nodes = &p->nodes;
    const line_cycles *c = p->cycles;
    const boost_circuit *circuit = &p->circuit;
    double share = p->share, vo = circuit->output;
    totals t;
    t.switch_average = share * line_mean(nodes, c->switch_mean);
    t.switch_square = share * line_mean(nodes, c->switch_square);
    t.rectifier_average = share * line_mean(nodes, c->rectifier_mean);
    t.rectifier_square = share * line_mean(nodes, c->rectifier_square);
    t.line_average = t.switch_average + t.rectifier_average;
    t.line_square = share * line_product(nodes, rows->mean, rows->mean);
    t.ripple_square = share * line_mean(nodes, rows->ripple);
    t.fundamental = 2.0 * share * line_product(nodes, rows->mean, nodes->sine);
    t.delivered_square = share * line_product(nodes, c->rectifier_mean, c->rectifier_mean);
    t.second[0] = t.rectifier_average;
    for (int m = 1; m <= 4; m++)
        t.second[m] = 2.0 * share * line_product(nodes, c->rectifier_mean, rows->even[m - 1]);
    t.turn_on = line_mean(nodes, c->valley); /* these two and the frequency: of the packets alone */
    t.turn_off = line_mean(nodes, c->peak);
    t.turn_on_power = share * vo * line_product(nodes, c->valley, c->frequency);
    t.turn_off_power = share * vo * line_product(nodes, c->peak, c->frequency);
    t.residual_power = share * line_product(nodes, rows->residual, rows->residual_rate);
    t.frequency = line_mean(nodes, c->frequency);
    t.loss = circuit->rise_resistance * t.switch_square + circuit->fall_resistance * t.rectifier_square +
             p->phases * p->common * share * line_mean(nodes, rows->shared) +
             circuit->drop * t.rectifier_average + p->slow_drop * t.line_average;
    t.input_power = share * line_product(nodes, c->voltage, rows->mean) + p->slow_drop * t.line_average;
    *sums = t;
}

/* Where a parabola through the highest node and its neighbours has its top; 0: there is none. */
static inline double top_of_peaks(const plan *p)
{
    const double *y = p->cycles->peak, *x = p->nodes.angle;
    size_t top = 0, n = p->nodes.n;
    for (size_t k = 1; k < n; k++)
        if (y[k] > y[top]) top = k;
    if (top == 0 || top + 1 == n) return 0.0;
    double a = x[top] - x[top - 1], b = x[top] - x[top + 1];
    double after = y[top] - y[top + 1], before = y[top] - y[top - 1], bottom = a * after - b * before;
    return bottom != 0.0 ? x[top] - 0.5 * (a * a * after - b * b * before) / bottom : 0.0;
}

/* Largest peak over the line: at a node, at the crest, at the border, or at the top of its curve. */
static inline double largest_peak(const plan *p)
{
    boost_cycle c;
    double tries[3] = {LINE_QUARTER, p->border, top_of_peaks(p)}, highest = 0.0;
    for (size_t k = 0; k < p->nodes.n; k++)
        if (p->cycles->peak[k] > highest) highest = p->cycles->peak[k];
    for (int k = 0; k < 3; k++)
        if (tries[k] > 1e-3 && tries[k] <= LINE_QUARTER && drive_at(p, tries[k]) > 0.0 &&
            cycle_at(p, drive_at(p, tries[k]), &c) && c.peak > highest)
            highest = c.peak;
    return highest;
}

/* Peak-to-peak of the bus from the slow current alone, harmonics 2..8 of the line:
 *   v(t) = sum c_m sin(2 m w t) / (2 m w C); extreme by Newton from w t = pi/4. */
static inline double bus_ripple(const double c[5], double line_omega, double capacitance)
{
    if (!(capacitance > 0.0) || !(line_omega > 0.0)) return 0.0;
    double x = 0.25 * 3.141592653589793, value = 0.0;
    for (int pass = 0; pass < 9; pass++) {
        double c2 = cos(2.0 * x), s2 = sin(2.0 * x), cosine = 1.0, sine = 0.0, first = 0.0, second = 0.0;
        value = 0.0;
        for (int m = 1; m <= 4; m++) { /* of 2 m x, by the sum of angles */
            double next = cosine * c2 - sine * s2;
            sine = sine * c2 + cosine * s2;
            cosine = next;
            first += c[m] * cosine;
            second -= 2.0 * m * c[m] * sine;
            value += c[m] * sine / (2.0 * m * line_omega * capacitance);
        }
        double step = second != 0.0 ? first / second : 0.0;
        if (fabs(step) < 1e-9) break; /* flat at the top: 1e-18 is left */
        x -= fmax(-0.2, fmin(0.2, step));
    }
    return 2.0 * fabs(value);
}

#endif
