/* boost_line.h - a boost stage over the quarter line: which cycles are full, how much power the bus gets,
 * and the totals over the line. One phase. */
#ifndef BOOST_LINE_H
#define BOOST_LINE_H

#include "boost_cycle.h"
#include "line_quadrature.h"

enum { CONTINUOUS, BOUNDARY };

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
    boost_cycle *cycle;
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

/* The same at node k, whose side of the border is known. */
static inline bool node_cycle(const plan *p, size_t k, const boost_circuit *c, boost_shape rise,
                              boost_cycle *cycle)
{
    double angle = p->nodes.angle[k], drive = drive_of(p, p->nodes.sine[k]);
    if (p->mode == CONTINUOUS && angle < p->border)
        return boost_discontinuous(c, p->crest * drive, p->unknown * drive * p->period, p->period, cycle);
    return cycle_in(p, c, rise, drive, cycle);
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

/* Solve every cycle for this amplitude or on-time; W that one phase gives to the bus, and W lost in
 * resistances. */
static inline bool ride_the_line(plan *p, size_t panels, double *delivered, double *resistive)
{
    double half_bus = 0.5 * p->circuit.output / p->crest; /* beyond it a valley does not reach zero */
    double borders[2] = {p->border, p->mode == BOUNDARY && half_bus < 1.0 ? angle_of(p, half_bus) : 0.0};
    if (!p->nodes.n || borders[0] != p->placed[0] || borders[1] != p->placed[1]) {
        line_nodes_place(&p->nodes, asin(p->start), panels, borders, 2);
        p->placed[0] = borders[0];
        p->placed[1] = borders[1];
    }
    *delivered = *resistive = 0.0;
    boost_circuit c = circuit_of(p, p->shared[0]);
    boost_shape rise = boost_rise(&c, p->unknown);
    for (size_t k = 0; k < p->nodes.n; k++) {
        boost_cycle *cycle = &p->cycle[k];
        if (k && p->shared[k] != p->shared[k - 1]) {
            c = circuit_of(p, p->shared[k]);
            rise = boost_rise(&c, p->unknown);
        }
        if (!node_cycle(p, k, &c, rise, cycle)) return false;
        double per_time = p->nodes.weight[k] / cycle->period;
        *delivered += per_time * p->circuit.output * cycle->charge_off;
        *resistive +=
            per_time * (c.rise_resistance * cycle->square_on + c.fall_resistance * cycle->square_off);
    }
    return isfinite(*delivered);
}

/* The amplitude or on-time to try next, from `got` W at the present one and `last` W at another (0: none
 * yet); NaN where delivery does not rise. Resistive loss goes with the square, so the first slope is
 * (delivered - resistive loss) / x; then secants. */
static inline double next_unknown(plan *p, double wanted, double got, double resistive, double last_x,
                                  double last)
{
    double x = p->unknown, off = wanted - got, slope;
    if (last_x > 0.0)
        slope = (got - last) / (x - last_x);
    else
        slope = p->elasticity > 0.0 ? p->elasticity * got / x : (got - resistive) / x;
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
    double last_x = 0.0, last = 0.0, border_x = 0.0, got, resistive;
    for (int pass = 0; pass < 60; pass++) {
        double x = p->unknown;
        if (fabs(x - border_x) > 1e-8 * x) {
            if (!find_border(p)) return false;
            border_x = x;
        }
        if (!ride_the_line(p, panels, &got, &resistive)) return false;
        if (fabs(wanted - got) <= 1e-12 * wanted) return true;
        double next = next_unknown(p, wanted, got, resistive, last_x, last);
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
static inline double residual(const plan *p, const boost_cycle *cycle)
{
    if (p->mode == CONTINUOUS) return cycle->full ? p->circuit.output : cycle->voltage;
    if (!cycle->full) return cycle->voltage;
    if (!p->settled) return p->circuit.output;
    double valley = 2.0 * cycle->voltage - p->circuit.output;
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
    double peak;
} totals;

static inline void add_cycle(const plan *p, size_t k, totals *t)
{
    const boost_cycle *c = &p->cycle[k];
    boost_circuit circuit = circuit_of(p, p->shared[k]);
    double w = p->share * p->nodes.weight[k], f = 1.0 / c->period, vo = p->circuit.output;
    double mean = (c->charge_on + c->charge_off) * f, out = c->charge_off * f, von = residual(p, c);
    double square = (c->square_on + c->square_off) * f, sine = p->nodes.sine[k];
    t->switch_average += w * c->charge_on * f;
    t->switch_square += w * c->square_on * f;
    t->rectifier_average += w * out;
    t->rectifier_square += w * c->square_off * f;
    t->line_average += w * mean;
    t->line_square += w * mean * mean;
    t->ripple_square += w * fmax(square - mean * mean, 0.0);
    t->fundamental += 2.0 * w * mean * sine;
    t->delivered_square += w * out * out;
    double c2 = 1.0 - 2.0 * sine * sine, before = c2, now = 1.0; /* cos 2m theta by recurrence */
    for (int m = 0; m <= 4; m++) {
        t->second[m] += (m ? 2.0 : 1.0) * w * out * now;
        double next = m ? 2.0 * c2 * now - before : c2;
        before = now;
        now = next;
    }
    t->turn_on += p->nodes.weight[k] * c->valley; /* these two and the frequency: of the packets alone */
    t->turn_off += p->nodes.weight[k] * c->peak;
    t->turn_on_power += w * c->valley * vo * f;
    t->turn_off_power += w * c->peak * vo * f;
    t->residual_power += w * von * von * f;
    t->frequency += p->nodes.weight[k] * f;
    t->loss += w * (boost_cycle_loss(&circuit, c) + p->slow_drop * mean);
    t->input_power += w * (c->voltage + p->slow_drop) * mean;
    if (c->peak > t->peak) t->peak = c->peak;
}

/* Largest peak over the line: at the crest, at the border, or where a parabola through the highest node
 * and its neighbours has its top. */
static inline double largest_peak(const plan *p, double highest)
{
    boost_cycle c;
    double tries[3] = {LINE_QUARTER, p->border, 0.0};
    size_t top = 0, n = p->nodes.n;
    for (size_t k = 1; k < n; k++)
        if (p->cycle[k].peak > p->cycle[top].peak) top = k;
    if (top > 0 && top + 1 < n) {
        const double *x = &p->nodes.angle[top];
        double y0 = p->cycle[top - 1].peak, y1 = p->cycle[top].peak, y2 = p->cycle[top + 1].peak;
        double a = x[0] - x[-1], b = x[0] - x[1], bottom = a * (y1 - y2) - b * (y1 - y0);
        if (bottom != 0.0) tries[2] = x[0] - 0.5 * (a * a * (y1 - y2) - b * b * (y1 - y0)) / bottom;
    }
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
