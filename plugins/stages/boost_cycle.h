/* boost_cycle.h - one switching cycle of a boost converter, in closed form.
 *
 * While the switch is on the inductor sees v - R1 i, while the rectifier conducts v - Vo - Vd - R2 i,
 * with the line voltage v held constant over the cycle (quasi-static: switching much faster than the
 * line).  Each phase is a first-order circuit, so end current, charge and square integral are exact:
 *   i(t) = i0 + d g(t/T),  d = (u - R i0) T / L,  g(s) = (1 - e^(-x s)) / x,  x = R T / L
 * source: R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, ch. 2, 5 and 18;
 * the exponential form is the textbook solution of a series R-L circuit. docs/theory/boost_pfc.md */
#ifndef BOOST_CYCLE_H
#define BOOST_CYCLE_H

#include <math.h>
#include <stdbool.h>

typedef struct boost_circuit {
    double inductance;      /* H */
    double rise_resistance; /* ohm, in the path while the switch is on */
    double fall_resistance; /* ohm, in the path while the rectifier conducts */
    double output;          /* V, stiff within a cycle */
    double drop;            /* V, constant part of the rectifier's drop */
} boost_circuit;

typedef struct boost_cycle {
    double voltage;               /* V, line voltage of this cycle */
    double period, on, off;       /* s; off = rectifier conducts; rest idle */
    double valley, peak;          /* A */
    double charge_on, charge_off; /* A s through switch and rectifier */
    double square_on, square_off; /* A^2 s */
    bool full;                    /* no idle time: continuous, or boundary */
} boost_cycle;

/* phi1 = mean of e^(-x s), phi2 = mean of g, psi = mean of g^2, over s = 0..1. */
typedef struct boost_shape {
    double phi1, phi2, psi;
} boost_shape;

/* Series below x = 0.05, where the closed form loses digits to cancellation; both are good to 1e-13. */
static inline boost_shape boost_shape_of(double x)
{
    if (x < 0.05) {
        double third = 1.0 / 5040 - x * (1.0 / 40320 - x * (1.0 / 362880));
        third = 1.0 / 6 - x * (1.0 / 24 - x * (1.0 / 120 - x * (1.0 / 720 - x * third)));
        double psi = 126.0 / 40320 - x * (254.0 / 362880 - x * (510.0 / 3628800));
        psi = 2.0 / 6 - x * (6.0 / 24 - x * (14.0 / 120 - x * (30.0 / 720 - x * (62.0 / 5040 - x * psi))));
        double phi2 = 0.5 - x * third;
        return (boost_shape){1.0 - x * phi2, phi2, psi};
    }
    boost_shape s = {.phi1 = -expm1(-x) / x};
    s.phi2 = (1.0 - s.phi1) / x;
    s.psi = (1.0 - 2.0 * s.phi1 - expm1(-2.0 * x) / (2.0 * x)) / (x * x);
    return s;
}

/* A fall from i1 to zero, against u = Vo + Vd - v > 0 with R = R2. Of time, charge and square, which are the
 * integrals of L di / (u + R i), L i di / (u + R i) and L i^2 di / (u + R i), with y = R i1 / u:
 *   square = L i1^3 / u S,  charge = L i1^2 / u C,  time = L i1 / u (1 - y C),  C = 1/2 - y S,
 *   S = (ln(1 + y) - y + y^2 / 2) / y^3
 *     = (1 - z) / 4 (1 + (1 - z)^2 (1/3 + z^2 / 5 + z^4 / 7 ..)),  z = y / (2 + y) = R i1 / (2 u + R i1)
 * by ln(1 + y) = 2 artanh z (Abramowitz and Stegun 1964, 4.1.29 and 4.6.33): nothing large is left to cancel.
 */
typedef struct boost_fall {
    double time, charge, square;
} boost_fall;

/* S by its series, whose error is below 1e-16 up to this y, and in closed form beyond it. */
static const double boost_fall_short = 0.25;

static inline double boost_fall_series(double z)
{
    double z2 = z * z, rest = 1.0 - z;
    double sum = 1.0 / 15 + z2 * (1.0 / 17);
    sum = 1.0 / 9 + z2 * (1.0 / 11 + z2 * (1.0 / 13 + z2 * sum));
    sum = 1.0 / 3 + z2 * (1.0 / 5 + z2 * (1.0 / 7 + z2 * sum));
    return 0.25 * rest * (1.0 + rest * rest * sum);
}

/* s: the figure S */
static inline boost_fall boost_fall_by(const boost_circuit *c, double u, double i1, double s)
{
    double slow = c->inductance * i1 / u, y = c->fall_resistance * i1 / u, charge = 0.5 - y * s;
    return (boost_fall){slow * (1.0 - y * charge), slow * i1 * charge, slow * i1 * i1 * s};
}

static inline boost_fall boost_short_fall(const boost_circuit *c, double u, double i1)
{
    double drop = c->fall_resistance * i1;
    return boost_fall_by(c, u, i1, boost_fall_series(drop / (2.0 * u + drop)));
}

static inline boost_fall boost_fall_of(const boost_circuit *c, double u, double i1)
{
    double y = c->fall_resistance * i1 / u;
    if (y <= boost_fall_short) return boost_short_fall(c, u, i1);
    return boost_fall_by(c, u, i1, (log1p(y) - y + 0.5 * y * y) / (y * y * y));
}

/* Fill what the rectifier phase contributes when it starts from cycle->peak and ends at zero. */
static inline void boost_fall_to_zero(const boost_circuit *c, boost_cycle *cycle)
{
    boost_fall fall = boost_fall_of(c, c->output + c->drop - cycle->voltage, cycle->peak);
    cycle->off = fall.time;
    cycle->charge_off = fall.charge;
    cycle->square_off = fall.square;
}

/* The shape of a rise that lasts `on`. */
static inline boost_shape boost_rise(const boost_circuit *c, double on)
{
    return boost_shape_of(c->rise_resistance * on / c->inductance);
}

/* A cycle that starts from zero current and rises so for `on`; period and voltage are left alone. */
static inline void boost_from_zero(const boost_circuit *c, double on, boost_shape s, boost_cycle *cycle)
{
    double d = cycle->voltage * on / c->inductance;
    cycle->on = on;
    cycle->valley = 0.0;
    cycle->peak = d * s.phi1;
    cycle->charge_on = on * d * s.phi2;
    cycle->square_on = on * d * d * s.psi;
    boost_fall_to_zero(c, cycle);
}

/* Boundary mode: fixed on-time, next turn-on `delay` after zero current but not before `shortest`. */
static inline void boost_cycle_of_on_time(const boost_circuit *c, double voltage, double on, boost_shape rise,
                                          double delay, double shortest, boost_cycle *cycle)
{
    cycle->voltage = voltage;
    boost_from_zero(c, on, rise, cycle);
    double natural = cycle->on + cycle->off + delay;
    cycle->full = natural >= shortest;
    cycle->period = cycle->full ? natural : shortest;
}

/* s: where Newton starts, the on-time without resistances. */
static inline double boost_guess(const boost_circuit *c, double voltage, double charge)
{
    double u = c->output + c->drop - voltage;
    return sqrt(2.0 * c->inductance * charge * u / (voltage * (c->output + c->drop)));
}

/* Discontinuous cycle of a given charge: Newton on the square root of the charge, nearly straight in the
 * on-time; dq/dt = i1 (1 + (v - R1 i1) / (Vo + Vd - v + R2 i1)),  from the two first-order circuits. False:
 * the resistances keep that charge from being reached. */
static inline bool boost_discontinuous(const boost_circuit *c, double voltage, double charge, double period,
                                       boost_cycle *cycle)
{
    *cycle = (boost_cycle){.voltage = voltage, .period = period};
    double u = c->output + c->drop - voltage, on = boost_guess(c, voltage, charge);
    for (int pass = 0; pass < 30; pass++) {
        boost_from_zero(c, on, boost_rise(c, on), cycle);
        double got = cycle->charge_on + cycle->charge_off;
        double slope = cycle->peak * (1.0 + (voltage - c->rise_resistance * cycle->peak) /
                                                (u + c->fall_resistance * cycle->peak));
        double step = 2.0 * (sqrt(charge * got) - got) / slope;
        if (!(fabs(step) > 1e-14 * on)) return on < period;
        on = on + step > 0.25 * on ? on + step : 0.25 * on;
    }
    return false;
}

/* Continuous cycle of a given mean current. Volt-second balance with the mean currents m1, m2 of the two
 * phases, v = R1 m1 D + (Vo + Vd + R2 m2) (1 - D), repeated until D stands still; m1, m2 change only through
 * the ripple, so two to five passes do. The valley follows from the mean current, which is linear in it.
 * False: no duty ratio balances. */
static inline bool boost_continuous(const boost_circuit *c, double voltage, double mean, double period,
                                    boost_cycle *cycle)
{
    double r1 = c->rise_resistance, r2 = c->fall_resistance, m1 = mean, m2 = mean, last = -1.0, moved = 1.0;
    double vo = c->output + c->drop, l = c->inductance;
    *cycle = (boost_cycle){.voltage = voltage, .period = period, .full = true};
    for (int pass = 0; pass < 60; pass++) {
        double duty = 1.0 - (voltage - r1 * m1) / (vo + r2 * m2 - r1 * m1);
        if (!(duty > 0.0 && duty < 1.0)) return false;
        double t1 = duty * period, t2 = period - t1;
        boost_shape s1 = boost_shape_of(r1 * t1 / l), s2 = boost_shape_of(r2 * t2 / l);
        double k1 = voltage * t1 / l, k2 = (voltage - vo) * t2 / l, e1 = 1.0 - r1 * t1 / l * s1.phi1;
        double per_valley = t1 * s1.phi1 + t2 * s2.phi1 * e1;
        double rest = t1 * s1.phi2 * k1 + t2 * (s2.phi1 * s1.phi1 * k1 + s2.phi2 * k2);
        double iv = (mean * period - rest) / per_valley, ip = e1 * iv + s1.phi1 * k1;
        double d1 = k1 - r1 * t1 / l * iv, d2 = k2 - r2 * t2 / l * ip;
        cycle->on = t1;
        cycle->off = t2;
        cycle->valley = iv;
        cycle->peak = ip;
        cycle->charge_on = t1 * (iv + d1 * s1.phi2);
        cycle->charge_off = t2 * (ip + d2 * s2.phi2);
        cycle->square_on = t1 * (iv * iv + 2.0 * iv * d1 * s1.phi2 + d1 * d1 * s1.psi);
        cycle->square_off = t2 * (ip * ip + 2.0 * ip * d2 * s2.phi2 + d2 * d2 * s2.psi);
        m1 = cycle->charge_on / t1;
        m2 = cycle->charge_off / t2;
        /* the next move would be as much smaller again; the first one moved from nowhere */
        double now = fabs(duty - last);
        if (now < 5e-15 || (pass > 1 && now * now < 5e-15 * moved)) return true;
        moved = now;
        last = duty;
    }
    return true;
}

/* Average-current mode at fixed frequency: continuous unless the valley would fall below zero.
 * (In a boost the current cannot turn back through the diode, so the rest of the period is idle.) */
static inline bool boost_cycle_of_mean(const boost_circuit *c, double voltage, double mean, double period,
                                       boost_cycle *cycle)
{
    if (!boost_continuous(c, voltage, mean, period, cycle)) return false;
    return cycle->valley >= 0.0 || boost_discontinuous(c, voltage, mean * period, period, cycle);
}

/* W lost in the phases' resistances and the rectifier's drop, averaged over the cycle. */
static inline double boost_cycle_loss(const boost_circuit *c, const boost_cycle *cycle)
{
    return (c->rise_resistance * cycle->square_on + c->fall_resistance * cycle->square_off +
            c->drop * cycle->charge_off) /
           cycle->period;
}

#endif
