/* flyback_solve.h - the cycle that delivers a wanted mean current: discontinuous, continuous, quasi-resonant.
 *
 * source: Newton's method on the exact cycle of flyback_cycle.h; starts from the lossless converter,
 * R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, sect. 6.3.4 (flyback) and
 * ch. 5 (discontinuous mode) */
#ifndef FLYBACK_SOLVE_H
#define FLYBACK_SOLVE_H

#include "flyback_cycle.h"

/* No current can rise beyond this: the input is used up in the resistances. */
static inline double flyback_current_ceiling(const flyback_circuit *c)
{
    return c->on_resistance > 0.0 ? (1.0 - 1e-9) * c->input / c->on_resistance : INFINITY;
}

/* Newton's steps shrink as the square of the one before: is what comes after this one lost in rounding? */
static inline bool flyback_arrived(int n, double step, double last, double at)
{
    double shrunk = step / last;
    return fabs(step) <= 2e-15 * at || (n > 5 && fabs(step) <= 1e-13 * at) ||
           (n > 0 && fabs(step) <= 1e-5 * at && shrunk * shrunk * fabs(step) <= 2e-16 * at);
}

/* The next peak to try: no more than five times as far, and never beyond the ceiling. */
static inline double flyback_next_peak(double peak, double next, double ceiling)
{
    next = fmin(fmax(next, 0.2 * peak), 5.0 * peak);
    return next < ceiling ? next : 0.5 * (peak + ceiling);
}

/* Without losses, unless one is known nearby. */
static inline double flyback_peak_guess(double square, double guess, double ceiling)
{
    return fmin(guess > 0.0 ? guess : sqrt(square), 0.9 * ceiling);
}

/* Peak current whose discontinuous cycle delivers `charge`: Newton on the root of the charge and of what a
 * fill kept back, which is nearly straight in the peak.  false: beyond the ceiling. */
static inline bool flyback_peak_for(const flyback_circuit *c, double charge, double start, double guess,
                                    flyback_cycle *k)
{
    double ceiling = flyback_current_ceiling(c), used = flyback_fill_square(c);
    double square = c->ratio * c->magnetizing / (2.0 * c->reflected), kept = square * used; /* A s */
    double peak = flyback_peak_guess(charge / square + used, guess, ceiling);
    double root = sqrt(charge + kept), last = INFINITY;
    for (int n = 0; n < 60; n++) {
        flyback_discontinuous(c, peak, start, k);
        double now = sqrt(k->charge + kept), step = 2.0 * now * (root - now) / k->charge_slope[0];
        if (c->fill_charge > 0.0 && !(k->handed > 0.0)) step = peak; /* all of it went into the clamp */
        if (!isfinite(step)) return false;
        double next = flyback_next_peak(peak, peak + step, ceiling);
        bool done = flyback_arrived(n, next - peak, last, peak);
        last = next - peak;
        peak = next;
        if (done) break;
    }
    flyback_discontinuous(c, peak, start, k);
    return fabs(k->charge - charge) <= 1e-10 * charge + 1e-13 * kept;
}

/* Lossless start of the continuous cycle. source: Erickson and Maksimovic (2001), eq. 6.31 and 6.33 */
static inline void flyback_continuous_guess(const flyback_circuit *c, double period, double load,
                                            double *peak, double *off)
{
    double down = c->reflected + c->reflected_resistance * load / c->ratio;
    *off = period * c->input / (c->input + down);
    double mean = load * period / (c->ratio * *off), swing = down * *off / c->magnetizing;
    *peak = mean + 0.5 * swing;
    double lost =
        c->leakage * *peak / (c->clamp - 0.9 * c->reflected); /* the leakage's share of the off-time */
    if (lost > 0.0 && lost < *off) *peak = mean * *off / (*off - 0.5 * lost) + 0.5 * swing;
}

/* The share of a step that stays inside: 0 < peak < ceiling, 0 < off < period. */
static inline double flyback_inside(double peak, double dp, double ceiling, double off, double dq,
                                    double period)
{
    double cut = 1.0;
    if (peak - dp >= ceiling) cut = fmin(cut, 0.7 * (peak - ceiling) / dp);
    if (peak - dp <= 0.0) cut = fmin(cut, 0.7 * peak / dp);
    if (off - dq >= period) cut = fmin(cut, 0.7 * (off - period) / dq);
    if (off - dq <= 0.0) cut = fmin(cut, 0.7 * off / dq);
    return cut;
}

static inline bool flyback_solve_continuous(const flyback_circuit *c, double period, double load, double peak,
                                            double off, flyback_cycle *k)
{
    double ceiling = flyback_current_ceiling(c), charge = load * period;
    peak = fmin(peak, 0.9 * ceiling);
    double before = INFINITY;
    for (int n = 0; n < 80; n++) {
        flyback_continuous(c, peak, off, k);
        double f = k->period - period, g = k->charge - charge;
        double error = fabs(f) / period + fabs(g) / charge;
        double a = k->period_slope[0], b = k->period_slope[1], d = k->charge_slope[0], e = k->charge_slope[1],
               determinant = a * e - b * d;
        double dp = (f * e - g * b) / determinant, dq = (a * g - d * f) / determinant;
        if (!isfinite(dp) || !isfinite(dq)) return false;
        if (error < 1e-12 && !(error < 0.5 * before)) return k->peak < ceiling;
        before = error;
        double cut = flyback_inside(peak, dp, ceiling, off, dq, period);
        peak -= cut * dp;
        off -= cut * dq;
    }
    return before < 1e-10;
}

/* The border of the modes at this period, and from there up to the load in steps, where resistances bend the
 * currents so much that the lossless start does not lead there. */
static inline bool flyback_climb(const flyback_circuit *c, double period, double load, flyback_cycle *k)
{
    enum { HALVINGS = 60, STEPS = 16 };
    double low = 0.0, high = flyback_current_ceiling(c);
    if (!(high < 1e6)) high = period * (c->input / c->magnetizing);
    for (int n = 0; n < HALVINGS; n++) {
        flyback_discontinuous(c, 0.5 * (low + high), 0.0, k);
        *(k->period < period ? &low : &high) = 0.5 * (low + high);
    }
    flyback_discontinuous(c, low, 0.0, k);
    double peak = low, off = k->off, ratio = load * period / k->charge;
    if (!(ratio > 1.0) || !isfinite(ratio)) return false;
    for (int n = 1; n <= STEPS; n++) {
        double part = load * pow(ratio, (double)n / STEPS - 1.0);
        if (!flyback_solve_continuous(c, period, part, peak, off, k)) return false;
        peak = k->peak;
        off = k->off;
    }
    return true;
}

static inline bool flyback_sound(const flyback_cycle *k)
{
    return k->peak > 0.0 && k->rise > 0.0 && k->off > 0.0 && k->at_end.core >= -1e-6 * k->peak &&
           isfinite(k->period) && isfinite(k->charge);
}

/* Fixed frequency: discontinuous where the cycle then fits into the period, else continuous. */
static inline bool flyback_solve_fixed(const flyback_circuit *c, double period, double load, double guess,
                                       flyback_cycle *k)
{
    bool fits = flyback_peak_for(c, load * period, 0.0, guess, k) && k->period <= period;
    if (fits) {
        k->rest = period - k->period;
        k->period = period;
        return true;
    }
    double peak, off;
    flyback_continuous_guess(c, period, load, &peak, &off);
    if (flyback_solve_continuous(c, period, load, peak, off, k) && flyback_sound(k)) return true;
    return flyback_climb(c, period, load, k) && flyback_sound(k);
}

/* The peak without losses, unless one is known nearby. */
static inline double flyback_resonant_guess(const flyback_circuit *c, const flyback_ring *ring, double load,
                                            double guess, double ceiling)
{
    double square = c->ratio * c->magnetizing / (2.0 * c->reflected * load);
    double straight = (c->magnetizing + c->leakage) / c->input + c->magnetizing / c->reflected;
    double constant = ring->duration - (c->magnetizing + c->leakage) / c->input * ring->current +
                      square * flyback_fill_square(c);
    double peak = (straight + sqrt(straight * straight + 4.0 * square * constant)) / (2.0 * square);
    if (guess > 0.7 * peak && guess < 1.4 * peak) peak = guess;
    return fmin(peak, 0.9 * ceiling);
}

/* Quasi-resonant at a given ring: charge(peak) = load (time of the cycle + ring). The charge grows with the
 * square of the peak, the time straight, until the resistances bend it up: of the two peaks that then fit the
 * lower one is meant, where more peak delivers more. */
static inline bool flyback_solve_resonant(const flyback_circuit *c, const flyback_ring *ring, double load,
                                          double guess, flyback_cycle *k)
{
    double ceiling = flyback_current_ceiling(c);
    double peak = flyback_resonant_guess(c, ring, load, guess, ceiling);
    if (!(peak > 0.0)) return false;
    double last = INFINITY;
    for (int n = 0; n < 80; n++) {
        flyback_discontinuous(c, peak, ring->current, k);
        double value = k->charge - load * (k->period + ring->duration);
        double slope = k->charge_slope[0] - load * k->period_slope[0];
        double next = slope > 0.0 ? peak - value / slope : peak > 0.5 * ceiling ? 0.7 * peak : 2.0 * peak;
        if (!isfinite(next)) return false;
        next = flyback_next_peak(peak, next, ceiling);
        bool done = flyback_arrived(n, next - peak, last, peak);
        last = next - peak;
        peak = next;
        if (done) break;
    }
    flyback_discontinuous(c, peak, ring->current, k);
    k->rest = ring->duration;
    k->period += ring->duration;
    return k->charge_slope[0] > load * k->period_slope[0] &&
           fabs(k->charge - load * k->period) <= 1e-10 * k->charge;
}

#endif
