/* boost_course.c - integrates a boost stage in time by the classical fourth-order Runge-Kutta method. Steps
 * are short beside L/R and the line, so its error is below 1e-9. */
#include "boost_course.h"

#include <math.h>
#include <stdbool.h>

enum { CURRENT, CHARGE, SQUARE, ENERGY, STATES, STEPS = 4 };

static const double pi = 3.14159265358979324;

typedef struct moment {
    const boost_course *course;
    double t;
    double i;
    boost_course_totals sum;
} moment;

static double line_at(const boost_course *c, double t)
{
    return c->crest * fabs(sin(c->omega * t));
}

static void slopes(const boost_course *c, bool on, double t, const double x[], double d[])
{
    double v = line_at(c, t), r = on ? c->rise_resistance : c->fall_resistance;
    d[CURRENT] = (v - c->line_drop - r * x[CURRENT] - (on ? 0.0 : c->output + c->drop)) / c->inductance;
    d[CHARGE] = x[CURRENT];
    d[SQUARE] = x[CURRENT] * x[CURRENT];
    d[ENERGY] = v * x[CURRENT];
}

static void step(const boost_course *c, bool on, double t, double h, double x[])
{
    double k[4][STATES], y[STATES];
    static const double at[4] = {0, 0.5, 0.5, 1}, weight[4] = {1.0 / 6, 1.0 / 3, 1.0 / 3, 1.0 / 6};
    for (int s = 0; s < 4; s++) {
        for (int j = 0; j < STATES; j++) y[j] = x[j] + (s ? at[s] * h * k[s - 1][j] : 0.0);
        slopes(c, on, t + at[s] * h, y, k[s]);
    }
    for (int j = 0; j < STATES; j++)
        for (int s = 0; s < 4; s++) x[j] += h * weight[s] * k[s][j];
}

static void pass(moment *m, double duration, bool on)
{
    double x[STATES] = {m->i}, h = duration / STEPS;
    for (int k = 0; k < STEPS; k++) step(m->course, on, m->t + k * h, h, x);
    m->t += duration;
    m->i = x[CURRENT];
    *(on ? &m->sum.on_charge : &m->sum.off_charge) += x[CHARGE];
    *(on ? &m->sum.on_square : &m->sum.off_square) += x[SQUARE];
    m->sum.energy += x[ENERGY];
    m->sum.time += duration;
    m->sum.peak = fmax(m->sum.peak, m->i);
}

static void wait(moment *m, double duration)
{
    m->t += duration;
    m->sum.time += duration;
}

/* Rectifier conducts until nothing is left, found by Newton's method on the duration. */
static void fall_to_zero(moment *m)
{
    const boost_course *c = m->course;
    double t = 0.0;
    if (!(m->i > 0.0)) return;
    for (int k = 0; k < 20; k++) {
        moment trial = *m;
        if (t > 0.0) pass(&trial, t, false);
        double slope = (line_at(c, trial.t) - c->line_drop - c->output - c->drop) / c->inductance;
        double move = -trial.i / slope;
        t += move;
        if (fabs(move) < 1e-14) break;
    }
    pass(m, t, false);
    m->i = 0.0;
}

/* Off, on, off, the on-time in the middle. */
static void centred(moment *m, double on, double period)
{
    pass(m, 0.5 * (period - on), false);
    pass(m, on, true);
    pass(m, 0.5 * (period - on), false);
}

/* On from zero current, then off until it is gone. */
static void pulse(moment *m, double on)
{
    pass(m, on, true);
    fall_to_zero(m);
}

static double wanted_at(const boost_course *c, double amplitude, double t)
{
    return amplitude * fmax(0.0, line_at(c, t) - c->line_drop) / (c->crest - c->line_drop);
}

static double charge_of(const moment *m)
{
    return m->sum.on_charge + m->sum.off_charge;
}

/* Resting cycle: the on-time whose charge is the wanted one. False when the current would not come back. */
static bool resting_cycle(moment *m, double amplitude, double period)
{
    const boost_course *c = m->course;
    double end = m->t + period, before = charge_of(m);
    double wanted = wanted_at(c, amplitude, m->t + 0.5 * period) * period;
    fall_to_zero(m);
    double v = line_at(c, m->t + 0.5 * period) - c->line_drop, on = 0.0;
    if (v > 0.0 && line_at(c, m->t) > c->line_drop) {
        double back = c->output + c->drop - v;
        on = sqrt(2.0 * c->inductance * wanted * back / (v * (v + back)));
        for (int k = 0; k < 20; k++) {
            moment trial = *m;
            pulse(&trial, on);
            double ratio = wanted / (charge_of(&trial) - before);
            if (!(ratio > 0.0)) return false;
            on *= sqrt(ratio);
            if (fabs(ratio - 1.0) < 1e-12) break;
        }
        pulse(m, on);
    }
    if (m->t > end) return false;
    wait(m, end - m->t);
    return true;
}

/* Full cycle: the current at its end, the middle of the off-time, is the wanted mean. */
static bool full_cycle(moment *m, double amplitude, double period)
{
    const boost_course *c = m->course;
    double wanted = wanted_at(c, amplitude, m->t + period);
    double on = period * (1.0 - (line_at(c, m->t + 0.5 * period) - c->line_drop) / (c->output + c->drop));
    for (int k = 0; k < 20; k++) {
        moment trial = *m;
        centred(&trial, on, period);
        double move = (wanted - trial.i) * c->inductance / (c->output + c->drop);
        on = fmin(fmax(on + move, 0.0), period);
        if (fabs(move) < 1e-13 * period) break;
    }
    centred(m, on, period);
    return true;
}

void boost_course_average(const boost_course *course, double amplitude, double period,
                          boost_course_totals *totals)
{
    moment m = {.course = course};
    while (m.t < pi / course->omega) {
        moment trial = m;
        double before = charge_of(&m), from = m.t;
        bool rests = resting_cycle(&trial, amplitude, period);
        if (rests)
            m = trial;
        else
            full_cycle(&m, amplitude, period);
        double mean = (charge_of(&m) - before) / (m.t - from);
        m.sum.mean_square += mean * mean * (m.t - from);
        m.sum.cycles += 1;
    }
    *totals = m.sum;
}

void boost_course_boundary(const boost_course *course, double on, double delay, boost_course_totals *totals)
{
    moment m = {.course = course};
    while (m.t < pi / course->omega) {
        double before = charge_of(&m), from = m.t;
        if (line_at(course, m.t + 0.5 * on) <= course->line_drop) {
            wait(&m, 1e-7);
            continue;
        }
        pulse(&m, on);
        wait(&m, delay);
        double mean = (charge_of(&m) - before) / (m.t - from);
        m.sum.mean_square += mean * mean * (m.t - from);
        m.sum.cycles += 1;
    }
    *totals = m.sum;
}
