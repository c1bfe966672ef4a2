/* inductive_pulse.h - how a rectified sine behind a resistance and an inductance charges a capacitor once per
 * half line, in one piece or in several.
 *
 *   conducting:  L di/dt = Vp sin wt - D - R i - v,   C dv/dt = i - i_load(v)
 *   idle:        C dv/dt = -i_load(v)
 * A conduction begins where the source comes to stand above the bus and ends where the current comes to zero;
 * as the inductance has driven it beyond, the bus stands above the source then. Below the crest the source
 * may catch up with it once more. The load is the straight line of charging_pulse.h, so with a = R i at v = 0
 * and g its conductance
 *   L C v'' + (R C - L g) v' + (1 - R g) v = Vp sin wt - D - R a
 * is linear: two modes, that ring or fade, a constant and a sine, solved in closed form with i = 0 and
 * v = Vp sin wt - D at the start. source: textbook solution of that circuit; N. Mohan, T. Undeland, W.
 * Robbins, Power Electronics, 3rd ed. 2003, ch. 5 for the problem. docs/theory/capacitor_input_rectifier.md
 */
#ifndef INDUCTIVE_PULSE_H
#define INDUCTIVE_PULSE_H

#include <stddef.h>

#include "charging_pulse.h"
#include "ring_moments.h"

enum { CHARGES_MAX = 8, CHARGE_STEPS = 2000 };

typedef struct ring_charge { /* one conduction */
    double start, length;    /* s after the zero crossing; s */
    double valley, end;      /* V at start and end */
    ring_modes modes;
    ring_form voltage, line, rise; /* V, A, A/s, s from its start */
    ring_instant finish;           /* at its end */
    ring_moments moments;          /* over it */
} ring_charge;

typedef struct inductive_pulse {
    charging_pulse
        whole;         /* comes first: given, and from the first conduction's start to the last one's end */
    double inductance; /* H, above 0 */
    size_t n;          /* conductions */
    bool unbroken;     /* the current flows on into the next half line */
    bool crowded;      /* more conductions than there is room for */
    ring_charge charge[CHARGES_MAX];
} inductive_pulse;

/* ----------------------------------------------------------------- forms -- */

/* What the linearised load takes at v = 0, A. */
static inline double pulse_load(const charging_pulse *p)
{
    return (p->power > 0.0 ? p->power / p->middle + p->shift : p->current) + p->conductance * p->middle;
}

/* Of modes nearer to each other than 1e-5 of their rate the difference drowns in rounding: there the
 * inductance counts as 2e-10 more. */
static inline double inductive_apart(const charging_pulse *p, double inductance)
{
    double lag = p->resistance * p->capacitance - inductance * p->conductance;
    double here = 4.0 * inductance * p->capacitance * (1.0 - p->resistance * p->conductance);
    return fabs(here - lag * lag) < 1e-10 * here ? inductance * (1.0 + 2e-10) : inductance;
}

/* Modes of v'' + 2 fade v' + square v = 0. */
static inline ring_modes inductive_modes(double fade, double square, double omega)
{
    double apart = fade * fade - square;
    if (!(apart > 0.0)) return (ring_modes){RING_RINGS, fade, sqrt(-apart), omega};
    if (fade > 0.0 && apart < 0.25 * fade * fade) return (ring_modes){RING_ALIKE, fade, sqrt(apart), omega};
    double far = fade + copysign(sqrt(apart), fade), near = square / far;
    return (ring_modes){RING_FADES, fmin(near, far), fmax(near, far), omega};
}

/* The part of a form that is `value` and rises by `rise` at s = 0, by the modes alone. */
static inline void inductive_set(const ring_modes *m, double value, double rise, ring_form *f)
{
    if (m->kind == RING_FADES) {
        f->second = -(rise + m->a * value) / (m->b - m->a);
        f->first = value - f->second;
    } else {
        f->first = value;
        f->second = (rise + m->a * value) / m->b;
    }
}

/* Voltage and current over the conduction that starts at k->start, where the source meets the bus. */
static inline void inductive_forms(const inductive_pulse *q, ring_charge *k)
{
    const charging_pulse *p = &q->whole;
    double w = p->omega, r = p->resistance, c = p->capacitance, g = p->conductance, load = pulse_load(p);
    double l = inductive_apart(p, q->inductance), lag = r * c - l * g, keep = 1.0 - r * g;
    double sine = sin(w * k->start), cosine = cos(w * k->start), steady = -(p->drop + r * load) / keep;
    double re = keep - w * w * l * c, im = w * lag, scale = p->crest / (re * re + im * im);
    double in_cosine = scale * (re * sine - im * cosine), in_sine = scale * (re * cosine + im * sine);
    k->valley = p->crest * sine - p->drop;
    k->modes = inductive_modes(0.5 * lag / (l * c), keep / (l * c), w);
    k->voltage = (ring_form){steady, 0.0, 0.0, in_cosine, in_sine};
    inductive_set(&k->modes, k->valley - steady - in_cosine, (g * k->valley - load) / c - w * in_sine,
                  &k->voltage);
    /* i = C dv/dt + i_load(v) */
    const ring_form *v = &k->voltage, change = ring_rise(&k->modes, v);
    k->line = (ring_form){load - g * v->constant, c * change.first - g * v->first,
                          c * change.second - g * v->second, c * change.cosine - g * v->cosine,
                          c * change.sine - g * v->sine};
    k->rise = ring_rise(&k->modes, &k->line);
}

/* ------------------------------------------------------- where one ends -- */

/* Zero of the current between a time where it is not negative and one where it is: Newton from the latter. */
static inline double inductive_zero(const ring_charge *k, double low, double high, double fine)
{
    double s = high;
    for (int pass = 0; pass < 80; pass++) {
        ring_instant now = ring_instant_at(&k->modes, s);
        double value = ring_value(&k->line, &now), next = s - value / ring_value(&k->rise, &now);
        if (value < 0.0)
            high = s;
        else
            low = s;
        if (!(next > low && next < high)) next = 0.5 * (low + high);
        if (fabs(next - s) <= fine) break;
        s = next;
    }
    return s;
}

/* Where the current is least between a time at which it falls and one at which it rises. */
static inline double inductive_dip(const ring_charge *k, double low, double high)
{
    for (int pass = 0; pass < 40; pass++) {
        double s = 0.5 * (low + high);
        if (ring_at(&k->modes, &k->rise, s) < 0.0)
            low = s;
        else
            high = s;
    }
    return 0.5 * (low + high);
}

/* End of a conduction that may last to `most`: the current's first zero, looked for in steps of two fifths of
 * a radian while it rings, for a hundred turns or so. False: there is none, and k->length is how far it was
 * looked for. */
static inline bool inductive_first_end(const charging_pulse *p, ring_charge *k, double most)
{
    const double coarse = p->half / 64.0,
                 fine = k->modes.kind == RING_RINGS ? fmin(coarse, 0.4 / k->modes.b) : coarse;
    double s = 0.0, rose = 1.0;
    for (int pass = 0; pass < CHARGE_STEPS && s < most; pass++) {
        double last = s;
        s = fmin(most, s + (k->modes.a * s < 40.0 ? fine : coarse));
        ring_instant now = ring_instant_at(&k->modes, s);
        double rises = ring_value(&k->rise, &now), to = s;
        bool below = ring_value(&k->line, &now) < 0.0;
        if (!below && rose < 0.0 && rises > 0.0) {
            to = inductive_dip(k, last, s);
            below = ring_at(&k->modes, &k->line, to) < 0.0;
        }
        if (below) {
            k->length = inductive_zero(k, last, to, 1e-16 * p->half);
            return true;
        }
        rose = rises;
    }
    k->length = s;
    return false;
}

/* End of conduction near the last one: Newton. False: it is not there. */
static inline bool inductive_end_near(const charging_pulse *p, ring_charge *k)
{
    double last = p->half;
    for (int pass = 0; pass < 8; pass++) {
        k->finish = ring_instant_at(&k->modes, k->length);
        double rise = ring_value(&k->rise, &k->finish), step = ring_value(&k->line, &k->finish) / rise;
        if (!(rise < 0.0 && fabs(step) < 0.25 * k->length)) return false;
        if (fabs(step) <= 2e-16 * p->half) return true;
        k->length -= step;
        /* the next step would be as the square of this one */
        double sequel = pass ? step / last * (step / last) * fabs(step) : p->half;
        last = fabs(step);
        if (sequel > 1e-17 * p->half) continue;
        k->finish = ring_instant_at(&k->modes, k->length);
        return true;
    }
    return false;
}

/* -------------------------------------------------------- half a line -- */

/* Bus voltage after idling for t from v, and how it falls there. */
static inline double inductive_idle(const charging_pulse *p, double v, double t)
{
    if (!(p->power > 0.0)) return v - p->current * t / p->capacitance;
    return sqrt(fmax(0.0, v * v - 2.0 * p->power * t / p->capacitance));
}

static inline double inductive_fall(const charging_pulse *p, double v)
{
    return -(p->power > 0.0 ? p->power / v : p->current) / p->capacitance;
}

static inline double inductive_climb(const charging_pulse *p, double t)
{
    return p->omega * p->crest * cos(p->omega * t);
}

/* Where the source catches up with the bus again before its crest. Their difference bends down, so Newton
 * from the end of the conduction comes near from below, or finds that the crest is past. */
static inline bool inductive_again(const charging_pulse *p, const ring_charge *k, double *start)
{
    double from = k->start + k->length, t = from;
    for (int pass = 0; pass < 100; pass++) {
        double v = inductive_idle(p, k->end, t - from);
        double slope = inductive_climb(p, t) - inductive_fall(p, v);
        double behind = v + p->drop - p->crest * sin(p->omega * t);
        *start = t;
        if (!(slope > 0.0) || p->omega * t > 3.0) return false;
        if (!(behind > slope * 1e-16 * p->half)) return true;
        t += behind / slope;
    }
    return true;
}

/* The conductions of half a line from p->start on; near: there is one, and its length nearly known. False:
 * that is not so. */
static inline bool inductive_run(inductive_pulse *q, bool near)
{
    charging_pulse *p = &q->whole;
    double start = p->start;
    bool more = true, endless = false;
    q->unbroken = false;
    for (q->n = 0; more && q->n < CHARGES_MAX;) {
        ring_charge *k = &q->charge[q->n++];
        k->start = start;
        inductive_forms(q, k);
        if (near) {
            if (!inductive_end_near(p, k)) return false;
        } else {
            double most = p->start + p->half - start;
            bool ends = inductive_first_end(p, k, most);
            q->unbroken = !ends && k->length >= most;
            endless = !ends && !q->unbroken;
            k->finish = ring_instant_at(&k->modes, k->length);
        }
        k->end = ring_value(&k->voltage, &k->finish);
        more = !q->unbroken && !endless && inductive_again(p, k, &start);
        if (near && more) return false;
        p->length = k->start + k->length - p->start;
        p->end = k->end;
    }
    q->crowded = more || endless;
    if (q->crowded) { /* as if they went on to the crest: for the search alone */
        p->length = 0.5 * p->half - p->start;
        p->end = p->crest - p->drop;
    }
    p->valley = q->charge[0].valley;
    return true;
}

static inline double inductive_miss(charging_pulse *p, double angle)
{
    p->start = angle / p->omega;
    inductive_run((inductive_pulse *)p, false);
    return pulse_sag(p) - p->valley;
}

/* How the miss between sag and source changes with the start, V/s; *late = the change of the length, s/s. A
 * conduction dt later begins with the source's rise instead of the bus's fall; what that leaves goes through
 * its modes, moves its end, and with it the next one's start. */
static inline double inductive_miss_slope(const inductive_pulse *q, double sag, double *late)
{
    const charging_pulse *p = &q->whole;
    double begin = 1.0, end = 0.0, leave = 0.0;
    for (size_t n = 0; n < q->n; n++) {
        const ring_charge *k = &q->charge[n];
        double g = p->conductance, c = p->capacitance;
        if (n) { /* the idle bus before it, late by `leave` and higher by `end` */
            double v = k->valley, up = end - inductive_fall(p, k[-1].end) * leave;
            if (p->power > 0.0) up *= k[-1].end / v;
            begin = up / (inductive_climb(p, k->start) - inductive_fall(p, v));
        }
        double fall = (g * k->valley - pulse_load(p)) / c;
        ring_form left = {0};
        inductive_set(&k->modes, 1.0, g / c, &left);
        ring_form change = ring_rise(&k->modes, &left);
        double size = (inductive_climb(p, k->start) - fall) * begin;
        double bus = size * ring_value(&left, &k->finish);
        double current = c * size * ring_value(&change, &k->finish) - g * bus;
        /* the current's own rise there is the voltage across the inductance */
        leave = -current / ring_value(&k->rise, &k->finish);
        ring_form steep = ring_rise(&k->modes, &k->voltage);
        end = bus + ring_value(&steep, &k->finish) * leave;
    }
    double source = inductive_climb(p, p->start);
    *late = leave - 1.0;
    if (p->power > 0.0) return (p->end * end + p->power / p->capacitance * *late) / sag - source;
    return end + p->current / p->capacitance * *late - source;
}

/* ----------------------------------------------------------------- steady -- */

static inline void inductive_measure(inductive_pulse *q)
{
    for (size_t n = 0; n < q->n; n++) {
        ring_charge *k = &q->charge[n];
        k->moments = ring_moments_of(&k->modes, k->length, &k->finish);
    }
}

/* What the load takes too little while conducting, J, for a load of constant power; and the voltage's
 * integral. */
static inline double inductive_wrong(const inductive_pulse *q, double *flux)
{
    const charging_pulse *p = &q->whole;
    double load = pulse_load(p), wrong = 0.0;
    *flux = 0.0;
    for (size_t n = 0; n < q->n; n++) {
        const ring_charge *k = &q->charge[n];
        double whole = ring_total(&k->voltage, &k->moments);
        double taken = load * whole - p->conductance * ring_product(&k->voltage, &k->voltage, &k->moments);
        wrong += p->power * k->length - taken;
        *flux += whole;
    }
    return wrong;
}

/* Steady pulse, the sure way, as pulse_search. True with what it is not, unbroken or crowded, as well. */
static inline bool inductive_search(inductive_pulse *q, double lowest)
{
    charging_pulse *p = &q->whole;
    p->start = p->shift = 0.0;
    p->middle = p->crest - p->drop;
    for (int pass = 0; pass < 60; pass++) {
        p->conductance = p->power > 0.0 ? p->power / (p->middle * p->middle) : 0.0;
        if (!(p->resistance * p->conductance < 0.5)) return false;
        if (!pulse_close(p, lowest, 2e-15 * p->crest, inductive_miss)) return false;
        if (q->unbroken || q->crowded) return true;
        inductive_measure(q);
        if (!(p->power > 0.0)) return true;
        double flux, wrong = inductive_wrong(q, &flux), middle = 0.5 * (p->valley + p->end);
        bool moved = pass < 6 && fabs(middle - p->middle) > 1e-7 * middle;
        if (!moved && fabs(wrong) <= 1e-14 * p->power * p->half) return true;
        p->shift += wrong / flux;
        if (moved) p->middle = middle; /* later passes only trim the shift */
    }
    return false;
}

/* A lone conduction followed by its end alone may have touched zero before. Its five terms vanish but four
 * times within a turn of its ringing, of which two are at the start: 5 rad are safe. */
static inline bool inductive_whole(const inductive_pulse *q, bool near)
{
    const ring_charge *k = q->charge;
    if (!near || k->modes.kind != RING_RINGS || k->modes.b * k->length < 5.0) return true;
    ring_charge again = *k;
    return inductive_first_end(&q->whole, &again, q->whole.half) &&
           fabs(again.length - k->length) < 1e-9 * k->length;
}

/* Steady pulse from one nearby, as pulse_follow; near: of one conduction. */
static inline bool inductive_follow(inductive_pulse *q, double lowest, bool near)
{
    charging_pulse *p = &q->whole;
    for (int pass = 0; pass < PULSE_STEPS; pass++) {
        double angle = p->omega * p->start, flux = 1.0, wrong = 0.0, late;
        p->conductance = p->power > 0.0 ? p->power / (p->middle * p->middle) : 0.0;
        if (!(p->resistance * p->conductance < 0.5 && angle > lowest && angle < pulse_latest)) return false;
        if (!inductive_run(q, near) || q->unbroken || q->crowded) return false;
        inductive_measure(q);
        double sag = pulse_sag(p), miss = sag - p->valley, middle = 0.5 * (p->valley + p->end);
        if (!(sag > 0.0 && p->length < p->half)) return false;
        if (p->power > 0.0) wrong = inductive_wrong(q, &flux);
        bool still = fabs(middle - p->middle) <= 1e-9 * middle || !(p->power > 0.0);
        if (still && fabs(miss) <= 2e-15 * p->crest && fabs(wrong) <= 1e-14 * p->power * p->half)
            return inductive_whole(q, near);
        double slope = inductive_miss_slope(q, sag, &late), step = -miss / slope;
        if (!(slope < 0.0 && fabs(step) < 0.1 * p->half)) return false;
        p->start += step;
        q->charge[0].length += late * step;
        p->shift += wrong / flux;
        if (p->power > 0.0) p->middle = middle;
    }
    return false;
}

/* How much higher the next pulse begins for one that begins a little higher: the bus, later or sooner by what
 * the miss says, meets the source where that rises and it falls. Below -1 the pulses do not come back to one
 * another. */
static inline double inductive_answer(const inductive_pulse *q)
{
    const charging_pulse *p = &q->whole;
    double late, slope = inductive_miss_slope(q, pulse_sag(p), &late);
    return 1.0 + slope / (inductive_climb(p, p->start) - inductive_fall(p, p->valley));
}

/* A first pulse, roughly, with the load as the crest would see it. */
static inline bool inductive_guess(inductive_pulse *q, double lowest)
{
    charging_pulse *p = &q->whole;
    p->start = p->shift = 0.0;
    p->middle = p->crest - p->drop;
    p->conductance = p->power > 0.0 ? p->power / (p->middle * p->middle) : 0.0;
    return p->resistance * p->conductance < 0.5 && pulse_close(p, lowest, 1e-6 * p->crest, inductive_miss);
}

/* Steady pulse: from the last one when there is one, else from a first; by the sure way if need be. */
static inline bool inductive_solve(inductive_pulse *q, double lowest, const pulse_kept *last)
{
    bool near = last && last->length > 0.0;
    if (near) {
        q->whole.start = last->start;
        q->charge[0].length = last->length;
        q->whole.middle = last->middle;
        q->whole.shift = last->shift;
    }
    return (near && inductive_follow(q, lowest, last->alone)) ||
           (inductive_guess(q, lowest) && inductive_follow(q, lowest, q->n == 1 && !q->unbroken)) ||
           inductive_search(q, lowest);
}

/* ---------------------------------------------------------------- figures -- */

/* Idle after conduction n: s, and the voltages between which it runs. */
static inline double inductive_rest(const inductive_pulse *q, size_t n, double *from, double *to)
{
    const ring_charge *k = &q->charge[n];
    bool last = n + 1 == q->n;
    *from = k->end;
    *to = last ? q->whole.valley : k[1].valley;
    return (last ? q->whole.start + q->whole.half : k[1].start) - k->start - k->length;
}

static inline double inductive_mean_voltage(const inductive_pulse *q)
{
    double sum = 0.0, a, b;
    for (size_t n = 0; n < q->n; n++) {
        double idle = inductive_rest(q, n, &a, &b);
        sum +=
            ring_total(&q->charge[n].voltage, &q->charge[n].moments) + pulse_idle_flux(&q->whole, idle, a, b);
    }
    return sum / q->whole.half;
}

/* Largest value of a form over a conduction: where its rise changes sign, in steps of a quarter of it and
 * of four fifths of a radian of its ringing. */
static inline double inductive_top(const ring_charge *k, const ring_form *f)
{
    ring_form rise = ring_rise(&k->modes, f), bend = ring_rise(&k->modes, &rise);
    double turns = k->modes.kind == RING_RINGS ? fmin(k->modes.b * k->length / 0.8, 200.0) : 0.0;
    int steps = (int)ceil(fmax(4.0, turns));
    double most = ring_value(f, &k->finish), last = 1.0;
    for (int n = 1; n <= steps; n++) {
        double low = k->length * (n - 1) / steps, high = k->length * n / steps, s = high;
        double rises = ring_at(&k->modes, &rise, high);
        bool topped = last > 0.0 && rises <= 0.0;
        last = rises;
        for (int pass = 0; topped && pass < 60; pass++) {
            ring_instant now = ring_instant_at(&k->modes, s);
            double up = ring_value(&rise, &now), next = s - up / ring_value(&bend, &now);
            if (up > 0.0)
                low = s;
            else
                high = s;
            if (!(next > low && next < high)) next = 0.5 * (low + high);
            topped = fabs(next - s) > 1e-9 * k->length;
            s = next;
            if (!topped) most = fmax(most, ring_at(&k->modes, f, s));
        }
    }
    return most;
}

#endif
