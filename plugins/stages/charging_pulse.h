/* charging_pulse.h - how a rectified sine behind a resistance charges a capacitor once per half line.
 *
 *   conducting:  C dv/dt = (Vp sin wt - D - v) / R - i_load(v)
 *   idle:        C dv/dt = -i_load(v)
 * Constant-power load: idle exactly, v^2 = v2^2 - 2 P t / C; while conducting as a straight line through the
 * middle voltage, i = P/vm + shift - (P/vm^2)(v - vm), shifted so that exactly P is taken on average. So the
 * conducting interval is a linear first-order circuit driven by a sine, solved in closed form. source:
 * textbook solution of that circuit; N. Mohan, T. Undeland, W. Robbins, Power Electronics, 3rd ed. 2003, ch.
 * 5 for the problem. docs/theory/capacitor_input_rectifier.md */
#ifndef CHARGING_PULSE_H
#define CHARGING_PULSE_H

#include <stdbool.h>

#include "pulse_moments.h"

typedef struct charging_pulse {
    /* given */
    double crest, drop, omega, half; /* V, V, rad/s, s of half a line period */
    double resistance, capacitance;
    double power, current; /* load: W, or A when power is 0 */
    /* found */
    double start, length;       /* s after the zero crossing; s of conduction */
    double valley, end, middle; /* V at start, at the end of conduction, of the linearised load */
    double shift, conductance;  /* A, S of the linearised load */
    pulse_form voltage, line;   /* V and A over the conduction, s from its start */
    pulse_instant finish;       /* at the end of the conduction */
    pulse_moments moments;      /* over it */
} charging_pulse;

/* Voltage and current over the conduction that starts at p->start, where the source meets the bus. */
static inline void pulse_forms(charging_pulse *p)
{
    double w = p->omega, r = p->resistance, c = p->capacitance, g = p->conductance;
    double load =
        (p->power > 0.0 ? p->power / p->middle + p->shift : p->current) + g * p->middle; /* at v = 0 */
    double rate = 1.0 / (r * c) - g / c, drive = p->crest / (r * c),
           steady = -(p->drop / r + load) / (c * rate);
    double sine = sin(w * p->start), cosine = cos(w * p->start), scale = drive / (rate * rate + w * w);
    /* particular solution scale (rate sin wt - w cos wt), turned to s = t - start */
    double in_sine = scale * (rate * cosine + w * sine), in_cosine = scale * (rate * sine - w * cosine);
    p->valley = p->crest * sine - p->drop;
    p->voltage = (pulse_form){steady, p->valley - steady - in_cosine, rate, in_cosine, in_sine, w};
    const pulse_form *v = &p->voltage;
    /* i = C dv/dt + i_load(v): no difference of large numbers when R is small */
    p->line = (pulse_form){load - g * v->constant,          -(c * rate + g) * v->exponential, rate,
                           c * w * v->sine - g * v->cosine, -c * w * v->cosine - g * v->sine, w};
}

/* Where to look for the current's zero next: Newton from a time at which it has that value, and half way
 * where that leaves the bracket. */
static inline double pulse_nearer(const pulse_form *f, double s, double value, double low, double high)
{
    double fade = f->exponential * exp(-f->rate * s), co = cos(f->omega * s), si = sin(f->omega * s);
    double next = s - value / (-f->rate * fade + f->omega * (f->sine * co - f->cosine * si));
    return next > low && next < high ? next : 0.5 * (low + high);
}

/* End of conduction: the current's zero after its hump, Newton from behind. When the source has come down to
 * the starting voltage the bus stands above it, so the current is negative there. False: it is not, so the
 * bus ends below where it began, and before any idling. */
static inline bool pulse_length(charging_pulse *p)
{
    const pulse_form *f = &p->line;
    double high = p->half - 2.0 * p->start, low = 0.0;
    if (!(pulse_at(f, high) < 0.0)) return false;
    double s = high;
    for (int pass = 0; pass < 80; pass++) {
        double value = pulse_at(f, s);
        if (value < 0.0)
            high = s;
        else
            low = s;
        double next = pulse_nearer(f, s, value, low, high);
        if (fabs(next - s) <= 1e-16 * p->half) break;
        s = next;
    }
    p->length = s;
    p->end = pulse_at(&p->voltage, s);
    return true;
}

/* Bus voltage when the next pulse is due; negative when the capacitor runs empty before. */
static inline double pulse_sag(const charging_pulse *p)
{
    double idle = p->half - p->length;
    if (!(p->power > 0.0)) return p->end - p->current * idle / p->capacitance;
    double square = p->end * p->end - 2.0 * p->power * idle / p->capacitance;
    return square > 0.0 ? sqrt(square) : -1.0;
}

/* Sag minus source at a trial start angle; falls with it. */
static inline double pulse_miss(charging_pulse *p, double angle)
{
    p->start = angle / p->omega;
    pulse_forms(p);
    if (!pulse_length(p)) return -p->crest;
    return pulse_sag(p) - p->valley;
}

/* rad, as near to the crest as a pulse may start. */
static const double pulse_latest = 1.5707963267948966 - 1e-9;

/* Close to the last start angle when there is one. */
static inline bool pulse_bracket(const charging_pulse *p, double lowest, double *low, double *high)
{
    double last = p->omega * p->start, near = 0.02 * (pulse_latest - last);
    *low = fmax(lowest, last - near);
    *high = fmin(pulse_latest, last + near);
    return last > 0.0 && *low < *high;
}

/* Regula falsi, and half way where rounding leads outside. */
static inline double pulse_between(double low, double high, double at_low, double at_high)
{
    double angle = (low * at_high - high * at_low) / (at_high - at_low);
    return angle > low && angle < high ? angle : 0.5 * (low + high);
}

/* Sag minus source at a trial start angle. */
typedef double pulse_trial(charging_pulse *p, double angle);

/* Start angle at which the bus comes back to where it was to `enough` volts, Illinois' regula falsi between
 * `lowest` and the crest, or close to the last answer when there is one. False: it sags too far. */
static inline bool pulse_close(charging_pulse *p, double lowest, double enough, pulse_trial *trial)
{
    double low, high, at_low = -1.0, at_high = 1.0;
    if (pulse_bracket(p, lowest, &low, &high)) {
        at_low = trial(p, low);
        at_high = trial(p, high);
    }
    if (!(at_low > 0.0 && at_high < 0.0)) {
        low = lowest;
        high = pulse_latest;
        at_low = trial(p, low);
        at_high = trial(p, high);
    }
    if (!(at_low > 0.0)) return false;
    if (!(at_high < 0.0)) return true; /* next to no load: the pulse sits on the crest */
    int side = 0;
    for (int pass = 0; pass < 200; pass++) {
        double angle = pulse_between(low, high, at_low, at_high), miss = trial(p, angle);
        if (fabs(miss) <= enough || high - low < 1e-15) return true;
        if (miss > 0.0) {
            low = angle;
            at_low = miss;
            if (side == 1) at_high *= 0.5;
            side = 1;
        } else {
            high = angle;
            at_high = miss;
            if (side == -1) at_low *= 0.5;
            side = -1;
        }
    }
    return true;
}

/* What the load takes too little while conducting, J, for a load of constant power; and the voltage's
 * integral.
 */
static inline double pulse_wrong(charging_pulse *p, double *flux)
{
    double g = p->conductance;
    *flux = pulse_integral(&p->voltage, &p->moments);
    double taken = (p->power / p->middle + p->shift + g * p->middle) * *flux -
                   g * pulse_product(&p->voltage, &p->voltage, &p->moments);
    return p->power * p->length - taken;
}

static inline void pulse_measure(charging_pulse *p)
{
    p->finish = pulse_instant_at(&p->line, p->length);
    p->moments = pulse_moments_of(&p->line, p->length, &p->finish);
}

/* Steady pulse, the sure way. The linearised load is set anew until the middle voltage and the shift stand
 * still. */
static inline bool pulse_search(charging_pulse *p, double lowest)
{
    p->start = p->shift = 0.0;
    p->middle = p->crest - p->drop;
    for (int pass = 0; pass < 60; pass++) {
        p->conductance = p->power > 0.0 ? p->power / (p->middle * p->middle) : 0.0;
        if (!(p->resistance * p->conductance < 0.5)) return false;
        if (!pulse_close(p, lowest, 2e-15 * p->crest, pulse_miss)) return false;
        pulse_measure(p);
        if (!(p->power > 0.0)) return true;
        double flux, wrong = pulse_wrong(p, &flux), middle = 0.5 * (p->valley + p->end);
        bool moved = pass < 6 && fabs(middle - p->middle) > 1e-7 * middle;
        if (!moved && fabs(wrong) <= 1e-14 * p->power * p->half) return true;
        p->shift += wrong / flux;
        if (moved) p->middle = middle; /* later passes only trim the shift */
    }
    return false;
}

/* ---------------------------------------------------------------- Newton -- */

/* End of conduction near the last one: Newton. False: it is not there. */
static inline bool pulse_end_near(charging_pulse *p)
{
    const pulse_form *f = &p->line;
    double last = p->half;
    for (int pass = 0; pass < 8; pass++) {
        p->finish = pulse_instant_at(f, p->length);
        double rise = pulse_rise(f, &p->finish), step = pulse_value(f, &p->finish) / rise;
        if (!(rise < 0.0 && fabs(step) < 0.5 * p->length)) return false;
        if (fabs(step) <= 2e-16 * p->half) return true;
        p->length -= step;
        /* the next step would be as the square of this one */
        double sequel = pass ? step / last * (step / last) * fabs(step) : p->half;
        last = fabs(step);
        if (sequel > 1e-17 * p->half) continue;
        p->finish = pulse_instant_at(f, p->length);
        return true;
    }
    return false;
}

/* How the miss between sag and source changes with the start, V/s; *late = the change of the length, s/s.
 * A start dt later begins with the source's rise instead of the bus's fall, and what that leaves fades as the
 * circuit does; the current then ends where source and bus meet. */
static inline double pulse_miss_slope(const charging_pulse *p, double sag, double *late)
{
    const pulse_instant begin = {1.0, 1.0, 0.0};
    double w = p->omega, source = w * p->crest * cos(w * p->start);
    double beyond = w * p->crest * cos(w * (p->start + p->length));
    double fall = pulse_rise(&p->voltage, &p->finish);
    double left = (source - pulse_rise(&p->voltage, &begin)) * p->finish.fade;
    double end_time = left / (beyond - fall), end = left + fall * end_time;
    *late = end_time - 1.0;
    if (p->power > 0.0) return (p->end * end + p->power / p->capacitance * *late) / sag - source;
    return end + p->current / p->capacitance * *late - source;
}

enum { PULSE_STEPS = 24 };

/* Steady pulse from one nearby: Newton on the start, while the linearised load follows, which hardly depends
 * on it. False: this does not lead there. */
static inline bool pulse_follow(charging_pulse *p, double lowest)
{
    for (int pass = 0; pass < PULSE_STEPS; pass++) {
        double angle = p->omega * p->start, flux = 1.0, wrong = 0.0, late;
        p->conductance = p->power > 0.0 ? p->power / (p->middle * p->middle) : 0.0;
        if (!(p->resistance * p->conductance < 0.5 && angle > lowest && angle < pulse_latest)) return false;
        pulse_forms(p);
        if (!pulse_end_near(p)) return false;
        p->end = pulse_value(&p->voltage, &p->finish);
        p->moments = pulse_moments_of(&p->line, p->length, &p->finish);
        double sag = pulse_sag(p), miss = sag - p->valley, middle = 0.5 * (p->valley + p->end);
        if (!(sag > 0.0 && p->length < p->half && pulse_slope(&p->line, 0.0) > 0.0)) return false;
        if (p->power > 0.0) wrong = pulse_wrong(p, &flux);
        bool still = fabs(middle - p->middle) <= 1e-9 * middle || !(p->power > 0.0);
        if (still && fabs(miss) <= 2e-15 * p->crest && fabs(wrong) <= 1e-14 * p->power * p->half) return true;
        double slope = pulse_miss_slope(p, sag, &late), step = -miss / slope;
        if (!(slope < 0.0 && fabs(step) < 0.1 * p->half)) return false; /* steady pulses are where it falls */
        p->start += step;
        p->length += late * step;
        p->shift += wrong / flux;
        if (p->power > 0.0) p->middle = middle;
    }
    return false;
}

/* What is kept of a pulse: where to look for the next one nearby. */
typedef struct pulse_kept {
    double start, length, middle, shift;
    bool alone; /* behind an inductance: one conduction */
} pulse_kept;

/* A first pulse, roughly, with the load as the crest would see it. */
static inline bool pulse_guess(charging_pulse *p, double lowest)
{
    p->start = p->shift = 0.0;
    p->middle = p->crest - p->drop;
    p->conductance = p->power > 0.0 ? p->power / (p->middle * p->middle) : 0.0;
    return p->resistance * p->conductance < 0.5 && pulse_close(p, lowest, 1e-6 * p->crest, pulse_miss);
}

/* Steady pulse: from the last one when there is one, else from a first; by the sure way if need be. */
static inline bool pulse_solve(charging_pulse *p, double lowest, const pulse_kept *last)
{
    bool near = last && last->length > 0.0;
    if (near) {
        p->start = last->start;
        p->length = last->length;
        p->middle = last->middle;
        p->shift = last->shift;
    }
    return (near && pulse_follow(p, lowest)) || (pulse_guess(p, lowest) && pulse_follow(p, lowest)) ||
           pulse_search(p, lowest);
}

/* Integral of the bus voltage while it idles from a to b; constant power: of sqrt(a^2 - 2 P t / C)
 * = t 2/3 (a^2 + a b + b^2) / (a + b). */
static inline double pulse_idle_flux(const charging_pulse *p, double idle, double a, double b)
{
    return p->power > 0.0 ? idle * (a * a + a * b + b * b) / (1.5 * (a + b)) : idle * 0.5 * (a + b);
}

/* Mean bus voltage: conduction in closed form. */
static inline double pulse_mean_voltage(const charging_pulse *p)
{
    double rest = pulse_idle_flux(p, p->half - p->length, p->end, p->valley);
    return (pulse_integral(&p->voltage, &p->moments) + rest) / p->half;
}

#endif
