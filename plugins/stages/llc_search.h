/* llc_search.h - the frequency that carries the load, on the side where current falls with frequency.
 *
 * The quick way is Newton from the last point, or from the first-harmonic estimate.  What it finds counts
 * only on the inductive side.  When it fails, periodic half waves are followed from high frequency down until
 * the load is bracketed, or until the current has peaked below it: then the load is out of reach. */
#ifndef LLC_SEARCH_H
#define LLC_SEARCH_H

#include <complex.h>

#include "llc_newton.h"

typedef enum llc_found { LLC_FOUND, LLC_ABOVE, LLC_BEYOND, LLC_LOST } llc_found;

/* Best the tank can do, when the load is out of reach. */
typedef struct llc_peak {
    double current; /* A, largest mean current at the wanted voltage */
    double half;    /* s, half period there */
    double voltage; /* V, largest v_o that carries the load; 0 = not known */
    double voltage_half;
} llc_peak;

static const double llc_pi = 3.14159265358979323846;

/* ------------------------------------------------------------------ guess -- */

/* First-harmonic phasors at w: resonant current for a source of sin(w t) at the node; *gain = magnetizing
 * voltage over source.
 * source: R. L. Steigerwald, A comparison of half-bridge resonant converter topologies, IEEE Trans. Power
 * Electronics 3(2), 1988 (equivalent ac resistance 8 n^2 R / pi^2) */
static double complex llc_phasor(const llc_circuits *all, double w, double ac_resistance, double *gain)
{
    const llc_tank *tank = &all->tank;
    double complex magnetizing = I * w * tank->magnetizing;
    double complex parallel = magnetizing * ac_resistance / (magnetizing + ac_resistance);
    double complex whole =
        tank->primary_resistance + I * (w * tank->series - 1.0 / (w * tank->capacitance)) + parallel;
    *gain = cabs(parallel / whole);
    return 1.0 / whole;
}

static double llc_ac_resistance(const llc_circuits *all, double vo, double target)
{
    double ratio = all->tank.ratio;
    double load = vo / fmax(target, 1e-9 * all->current_scale * ratio) + all->tank.secondary_resistance;
    return 8.0 / (llc_pi * llc_pi) * ratio * ratio * load;
}

/* State at turn-on for a half period, from the phasors. */
static void llc_guess_state(const llc_circuits *all, double vo, double target, llc_half *half)
{
    double w = llc_pi / half->half, gain;
    double source = 2.0 * all->tank.input / llc_pi;
    double complex current = source * llc_phasor(all, w, llc_ac_resistance(all, vo, target), &gain);
    double magnetizing = -0.5 * all->tank.ratio * vo * half->half / all->tank.magnetizing;
    half->start[LLC_IR] = cimag(current);
    half->start[LLC_IM] = fmax(magnetizing, -all->current_scale);
    half->start[LLC_U] = cimag(current / (I * w * all->tank.capacitance));
    half->start[LLC_VO] = vo;
    if (half->start[LLC_IR] > half->start[LLC_IM]) half->start[LLC_IR] = half->start[LLC_IM];
}

/* Half period at which the first harmonic meets the wanted gain; its peak when it never does. */
static void llc_guess(const llc_circuits *all, double vo, double target, llc_half *half)
{
    double resistance = llc_ac_resistance(all, vo, target);
    double wanted = all->tank.ratio * vo / (0.5 * all->tank.input);
    double w = 6.0 * all->resonance, step = 0.88, gain, last = 0, above = w;
    double low = all->resonance * sqrt(1.0 - all->divider);
    for (; w > low; w *= step) {
        llc_phasor(all, w, resistance, &gain);
        if (gain >= wanted || gain < last) break;
        last = gain;
        above = w;
    }
    if (gain >= wanted && above > w) w += (above - w) * (gain - wanted) / (gain - last + 1e-300);
    half->half = llc_pi / fmax(w, low);
    llc_guess_state(all, vo, target, half);
}

/* ------------------------------------------------------------------- scan -- */

static double llc_shortest(const llc_circuits *all)
{
    double dead = llc_has_dead_time(all) ? all->tank.dead_time : 0.0;
    return fmax(llc_pi / (30.0 * all->resonance), 2.5 * dead);
}

static double llc_longest(const llc_circuits *all)
{
    return 1.6 * llc_pi / (all->resonance * sqrt(1.0 - all->divider));
}

static double llc_mean(const llc_half *half)
{
    return half->charge / half->half;
}

/* Follow the periodic solution to another half period. */
static bool llc_follow(const llc_circuits *all, const llc_half *from, const llc_step *at, double half_period,
                       llc_half *half, llc_step *step)
{
    half->half = half_period;
    for (int i = 0; i < 4; i++) half->start[i] = from->start[i] + at->moving[i] * (half_period - from->half);
    if (llc_periodic(all, half, step)) return true;
    half->half = half_period;
    memcpy(half->start, from->start, sizeof half->start);
    return llc_periodic(all, half, step);
}

/* Between a periodic solution below the load and a half period that reaches it. */
static llc_found llc_close_in(const llc_circuits *all, double target, llc_half *low, llc_step *at,
                              double high, llc_half *half, llc_step *step)
{
    double bottom = low->half;
    for (int k = 0; k < 60; k++) {
        *half = *low;
        *step = *at;
        if (llc_at_load(all, half, target, 40, step) && step->current_slope > 0 &&
            half->half >= bottom * (1 - 1e-9) && half->half <= high * (1 + 1e-9))
            return LLC_FOUND;
        llc_half middle;
        llc_step there;
        double to = 0.5 * (low->half + high);
        if (!llc_follow(all, low, at, to, &middle, &there)) return LLC_LOST;
        if (llc_mean(&middle) < target)
            *low = middle, *at = there;
        else
            high = to;
    }
    return LLC_LOST;
}

/* The current turned between two half periods: find its peak, or a half period that reaches the load. */
static llc_found llc_climb(const llc_circuits *all, double target, llc_half *low, llc_step *at, double high,
                           llc_half *half, llc_step *step, llc_peak *peak)
{
    for (int k = 0; k < 50 && high - low->half > 1e-7 * high; k++) {
        llc_half middle;
        llc_step there;
        double to = 0.5 * (low->half + high);
        if (!llc_follow(all, low, at, to, &middle, &there)) return LLC_LOST;
        if (llc_mean(&middle) >= target) return llc_close_in(all, target, low, at, to, half, step);
        if (there.current_slope > 0)
            *low = middle, *at = there;
        else
            high = to;
    }
    peak->current = llc_mean(low);
    peak->half = low->half;
    *half = *low;
    *step = *at;
    return LLC_BEYOND;
}

static llc_found llc_scan(const llc_circuits *all, double vo, double target, llc_half *half, llc_step *step,
                          llc_peak *peak)
{
    llc_half low = {.half = fmax(0.6 * llc_pi / all->resonance, llc_shortest(all))};
    llc_step at;
    for (;;) { /* up to a frequency at which less than the load flows */
        llc_guess_state(all, vo, target, &low);
        if (!llc_periodic(all, &low, &at)) {
            memset(low.start, 0, sizeof low.start);
            low.start[LLC_VO] = vo;
            if (!llc_periodic(all, &low, &at)) return LLC_LOST;
        }
        if (llc_mean(&low) < target) break;
        if (low.half <= llc_shortest(all)) return LLC_ABOVE;
        low.half = fmax(low.half / 1.5, llc_shortest(all));
    }
    double longest = llc_longest(all);
    while (low.half < longest) {
        double to = low.half * 1.05;
        if (!llc_follow(all, &low, &at, to, half, step)) return LLC_LOST;
        if (llc_mean(half) >= target) return llc_close_in(all, target, &low, &at, to, half, step);
        if (half->charge > 0 && step->current_slope < 0)
            return llc_climb(all, target, &low, &at, to, half, step, peak);
        low = *half;
        at = *step;
    }
    peak->current = llc_mean(&low);
    peak->half = low.half;
    return LLC_BEYOND;
}

/* ------------------------------------------------------------------- find -- */

static bool llc_inductive(const llc_circuits *all, const llc_half *half, const llc_step *step)
{
    double slowest =
        fmin(2.2 * llc_pi / all->resonance, 1.1 * llc_pi / (all->resonance * sqrt(1.0 - all->divider)));
    return step->current_slope > 0 && half->half > 0 && half->half <= slowest && half->charge > 0;
}

/* vo: voltage behind the rectifier (stiff: drops included), A target: mean rectified current.
 * *half holds a guess when `warm`. */
static llc_found llc_find(const llc_circuits *all, double vo, double target, bool warm, llc_half *half,
                          llc_step *step, llc_peak *peak)
{
    if (warm && llc_at_load(all, half, target, 12, step) && llc_inductive(all, half, step)) return LLC_FOUND;
    llc_guess(all, vo, target, half);
    half->half = fmax(half->half, llc_shortest(all));
    if (llc_at_load(all, half, target, 25, step) && llc_inductive(all, half, step)) return LLC_FOUND;
    return llc_scan(all, vo, target, half, step, peak);
}

/* ------------------------------------------------------------------- peak -- */

/* Periodic solution that carries the load at a fixed half period, by changing a stiff output voltage. */
static bool llc_at_voltage(const llc_circuits *all, double target, llc_half *half)
{
    for (int k = 0; k < 40; k++) {
        llc_step step;
        if (!llc_walk_half(all, half, true) || !llc_newton_step(all, half, target, true, &step)) return false;
        if (llc_merit(all, half, target) < 1e-9) return true;
        double most = 0.1 * all->tank.input / all->tank.ratio;
        double move = -(step.excess + step.charge_fixed / half->half) / step.current_slope;
        if (!(step.current_slope < 0)) move = -0.1 * most;
        move = fmax(-most, fmin(most, move));
        for (int i = 0; i < 4; i++) half->start[i] += step.fixed[i] + step.moving[i] * move;
    }
    return false;
}

/* Rise of the reachable voltage with the half period, at the load. */
static bool llc_voltage_rise(const llc_circuits *all, double target, llc_half *half, double *rise)
{
    llc_step step;
    if (!llc_at_voltage(all, target, half) || !llc_newton_step(all, half, target, false, &step)) return false;
    *rise = step.current_slope;
    return true;
}

/* Largest voltage that carries the load, from the periodic solution where the current peaks. */
static void llc_peak_voltage(const llc_circuits *all, double target, const llc_half *from, llc_peak *peak)
{
    llc_half low = *from, high, middle;
    double rise, fall = 0;
    if (!llc_voltage_rise(all, target, &low, &rise)) return;
    for (int k = 0; k < 60 && !(rise > 0); k++) {
        low.half *= 0.96;
        if (!llc_voltage_rise(all, target, &low, &rise)) return;
    }
    high = low;
    for (int k = 0; k < 60 && !(fall < 0); k++) {
        low = high;
        high.half *= 1.04;
        if (!llc_voltage_rise(all, target, &high, &fall)) return;
    }
    for (int k = 0; k < 14; k++) {
        middle = low;
        middle.half = 0.5 * (low.half + high.half);
        if (!llc_voltage_rise(all, target, &middle, &rise)) return;
        if (rise > 0)
            low = middle;
        else
            high = middle;
    }
    peak->voltage = low.start[LLC_VO];
    peak->voltage_half = low.half;
}

#endif
