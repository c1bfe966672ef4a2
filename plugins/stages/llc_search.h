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

/* Above a gain of one the time-domain solution stays within a few per cent of the first harmonic's unloaded
 * frequency whatever the load (observed over random tanks), while the loaded first harmonic peaks too early.
 */
static double llc_unloaded(const llc_circuits *all, double wanted)
{
    double ratio = all->divider / (1.0 - all->divider); /* L_m / L */
    return all->resonance / sqrt(1.0 + ratio * (1.0 - 1.0 / wanted));
}

/* Frequency at which the loaded first harmonic falls to the wanted gain, below one. */
static double llc_loaded(const llc_circuits *all, double wanted, double resistance)
{
    double w = all->resonance, gain, last = 0;
    llc_phasor(all, w, resistance, &last);
    if (last <= wanted) return w;
    for (int k = 0; k < 16; k++) {
        double above = w * 1.13;
        llc_phasor(all, above, resistance, &gain);
        if (gain <= wanted) return w + (above - w) * (last - wanted) / (last - gain);
        w = above, last = gain;
    }
    return w;
}

/* First estimate of half period and state. */
static void llc_guess(const llc_circuits *all, double vo, double target, llc_half *half)
{
    double wanted = all->tank.ratio * vo / (0.5 * all->tank.input);
    double w = wanted > 1.0 ? llc_unloaded(all, wanted)
                            : llc_loaded(all, wanted, llc_ac_resistance(all, vo, target));
    half->half = llc_pi / w;
    half->n = 0;
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
    half->start = from->start;
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
        if (llc_at_load(all, half, target, LLC_SLOPES, 40, step) && step->current_slope > 0 &&
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
            low.start = (lanes){0};
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
        fmin(2.8 * llc_pi / all->resonance, 1.1 * llc_pi / (all->resonance * sqrt(1.0 - all->divider)));
    return step->current_slope > 0 && half->half > 0 && half->half <= slowest && half->charge > 0;
}

/* vo: voltage behind the rectifier (stiff: drops included), A target: mean rectified current.
 * *half holds a guess when `warm`. */
static llc_found llc_find(const llc_circuits *all, double vo, double target, bool warm, llc_half *half,
                          llc_step *step, llc_peak *peak)
{
    if (warm && llc_at_load(all, half, target, LLC_TRUSTING, 12, step) && llc_inductive(all, half, step))
        return LLC_FOUND;
    llc_guess(all, vo, target, half);
    half->half = fmax(half->half, llc_shortest(all));
    if (llc_at_load(all, half, target, LLC_SLOPES, 25, step) && llc_inductive(all, half, step))
        return LLC_FOUND;
    return llc_scan(all, vo, target, half, step, peak);
}

/* ------------------------------------------------------------------- peak -- */

enum { LLC_PEAK_STEPS = 60, LLC_PEAK_VOLTAGES = 25 };

/* From a periodic solution near it, the one that carries most current at the voltage in half->start. */
static bool llc_top(const llc_circuits *all, llc_half *half)
{
    llc_half low = *half, high;
    llc_step at, step;
    if (!llc_periodic(all, &low, &at)) return false;
    for (int k = 0; k < LLC_PEAK_STEPS && !(at.current_slope > 0); k++) {
        llc_half next;
        if (!llc_follow(all, &low, &at, low.half / 1.02, &next, &step)) return false;
        low = next, at = step;
    }
    high = low;
    for (int k = 0; k < LLC_PEAK_STEPS; k++) {
        if (!llc_follow(all, &low, &at, low.half * 1.02, &high, &step)) return false;
        if (!(step.current_slope > 0)) break;
        low = high, at = step;
    }
    double end = high.half;
    while (end - low.half > 1e-4 * end) {
        llc_half middle;
        if (!llc_follow(all, &low, &at, 0.5 * (low.half + end), &middle, &step)) return false;
        if (step.current_slope > 0)
            low = middle, at = step;
        else
            end = middle.half;
    }
    *half = low;
    return true;
}

/* Largest voltage that carries the load at a stiff output, from the solution where the current peaks at the
 * voltage wanted.  The inverse of the peak current is nearly straight over the voltage: secant on that, in a
 * bracket.  For a message only: 1e-4. */
static void llc_peak_voltage(const llc_circuits *all, double target, const llc_half *from, llc_peak *peak)
{
    llc_half half = *from;
    double high = from->start[LLC_VO], over = 1.0 / peak->current, low = 0.0, under = 0.0;
    double voltage = 0.95 * high;
    for (int k = 0; k < LLC_PEAK_VOLTAGES; k++) {
        half.start[LLC_VO] = voltage;
        if (!llc_top(all, &half)) return;
        double inverse = 1.0 / llc_mean(&half);
        if (fabs(inverse * target - 1.0) < 1e-4 || (low > 0 && high - low < 1e-4 * high)) {
            peak->voltage = voltage;
            peak->voltage_half = half.half;
            return;
        }
        bool short_of = inverse * target > 1.0;
        double other = short_of && low > 0 ? low : high, there = short_of && low > 0 ? under : over;
        if (short_of)
            high = voltage, over = inverse;
        else
            low = voltage, under = inverse;
        double next = voltage + (1.0 / target - inverse) * (other - voltage) / (there - inverse);
        double floor = low > 0 ? low : 0.85 * high;
        if (!(next > floor && next < high)) next = low > 0 ? 0.5 * (low + high) : floor;
        voltage = next;
    }
}

#endif
