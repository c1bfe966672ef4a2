/* llc_border.h - one stretch of linear circuit, and the first border it crosses.
 *
 * Everything watched is a functional k + row . x(t); on a stretch it is k + p0 c1 + p1 s1 + p2 c2 + p3 s2
 * with the c, s of both groups.  It is sampled so finely that it cannot turn twice in between (a tenth of the
 * fast ringing), dips between samples are looked at, and the crossing is polished by Newton within its
 * bracket. */
#ifndef LLC_BORDER_H
#define LLC_BORDER_H

#include "llc_tank.h"

typedef enum llc_node { LLC_ON, LLC_FLOAT, LLC_LOW, LLC_HIGH } llc_node;

typedef struct llc_instant { /* c, s of both groups at one time */
    llc_pair fast, slow;
} llc_instant;

typedef struct llc_stretch {
    const llc_circuit *circuit;
    int sign;      /* rectifier: +1 with, -1 against, 0 not conducting */
    int border;    /* it ended at, -1: by time */
    llc_node node; /* held by the switch, floating, or clamped beyond a rail */
    double start, duration;
    lanes x;             /* at its start */
    lanes part[4];       /* circuit->term times the state seen from its side */
    double node_voltage; /* at its start, against the middle of the bus */
    llc_instant end;     /* once it has been walked */
    lanes to;            /* the state there */
} llc_stretch;

typedef struct llc_functional {
    double k, p[4];
} llc_functional;

/* A time on a stretch. */
typedef struct llc_place {
    double t;
    llc_instant now;
} llc_place;

static inline double llc_side(const llc_stretch *stretch, int state)
{
    return stretch->sign < 0 && state != LLC_VO ? -1.0 : 1.0;
}

/* A state as seen from the other side, or back, where the rectifier conducts against the half wave. */
WITHIN_LANES void llc_see(const llc_stretch *stretch, lanes *x)
{
    double side = llc_side(stretch, LLC_IR);
    *x *= (lanes){side, side, side, 1.0};
}

WITHIN_LANES void llc_begin(const llc_circuits *all, llc_stretch *stretch, int sign, llc_node node,
                            const lanes *x)
{
    int floating = node == LLC_FLOAT;
    stretch->circuit = sign ? &all->conducting[floating] : &all->open[floating];
    stretch->sign = sign;
    stretch->node = node;
    stretch->x = *x;
    lanes y = *x;
    llc_see(stretch, &y);
    y -= stretch->circuit->shift;
    for (int g = 0; g < 4; g++) llc_times(stretch->circuit->term[g], &y, &stretch->part[g]);
}

static inline llc_instant llc_instant_at(const llc_circuit *circuit, double t)
{
    return (llc_instant){llc_group_at(&circuit->fast, t), llc_group_at(&circuit->slow, t)};
}

static inline llc_instant llc_instant_product(const llc_circuit *circuit, const llc_instant *x,
                                              const llc_instant *y)
{
    return (llc_instant){llc_pair_product(&circuit->fast, x->fast, y->fast),
                         llc_pair_product(&circuit->slow, x->slow, y->slow)};
}

/* Ends a stretch there. */
WITHIN_LANES void llc_end_stretch(llc_stretch *stretch, const llc_place *end)
{
    const llc_instant *now = &end->now;
    stretch->duration = end->t;
    stretch->end = end->now;
    stretch->to = stretch->circuit->shift + now->fast.c * stretch->part[0] + now->fast.s * stretch->part[1] +
                  now->slow.c * stretch->part[2] + now->slow.s * stretch->part[3];
    llc_see(stretch, &stretch->to);
}

/* x' at a state of this stretch. */
WITHIN_LANES void llc_rate_at(const llc_stretch *stretch, const lanes *x, lanes *rate)
{
    lanes y = *x;
    llc_see(stretch, &y);
    y -= stretch->circuit->shift;
    llc_times(stretch->circuit->rate, &y, rate);
    llc_see(stretch, rate);
}

/* weight * x[state] more in a functional. */
static inline void llc_add_state(const llc_stretch *stretch, int state, double weight, llc_functional *f)
{
    double seen = weight * llc_side(stretch, state);
    f->k += seen * stretch->circuit->shift[state];
    for (int g = 0; g < 4; g++) f->p[g] += seen * stretch->part[g][state];
}

/* weight * x[state] */
static inline llc_functional llc_watch_state(const llc_stretch *stretch, int state, double weight)
{
    llc_functional f = {0.0, {0.0, 0.0, 0.0, 0.0}};
    llc_add_state(stretch, state, weight, &f);
    return f;
}

/* weight * (i_r - i_m) */
static inline llc_functional llc_watch_rectified(const llc_stretch *stretch, double weight)
{
    llc_functional f = llc_watch_state(stretch, LLC_IR, weight);
    llc_add_state(stretch, LLC_IM, -weight, &f);
    return f;
}

/* d/dt of p c + q s is (q - a p) c - (sigma p + a q) s. */
static llc_functional llc_slope_of(const llc_circuit *circuit, const llc_functional *f)
{
    const llc_group *fast = &circuit->fast, *slow = &circuit->slow;
    return (llc_functional){0.0,
                            {f->p[1] - fast->a * f->p[0], -fast->sigma * f->p[0] - fast->a * f->p[1],
                             f->p[3] - slow->a * f->p[2], -slow->sigma * f->p[2] - slow->a * f->p[3]}};
}

static inline double llc_value(const llc_functional *f, const llc_instant *now)
{
    return f->k + f->p[0] * now->fast.c + f->p[1] * now->fast.s + f->p[2] * now->slow.c +
           f->p[3] * now->slow.s;
}

/* To another time near by, either way: series where they reach. */
static void llc_go(const llc_circuit *circuit, llc_place *place, double t)
{
    double step = t - place->t, size = fabs(step);
    if (size * circuit->fast.reach < llc_series_reach && size * circuit->slow.reach < llc_series_reach) {
        llc_instant more = {llc_group_series(&circuit->fast, step), llc_group_series(&circuit->slow, step)};
        place->now = llc_instant_product(circuit, &place->now, &more);
    } else {
        place->now = llc_instant_at(circuit, t);
    }
    place->t = t;
}

/* Root of f between low and high, where f(low) > 0 >= f(high), from a guess in *at, to a share `close` of the
 * bracket.  Newton inside the bracket: from two steps on, what the next one would be is known, since each is
 * as the square of the one before; and where the value is rounding only, its sign says nothing about the
 * side. */
static void llc_polish(const llc_circuit *circuit, const llc_functional *f, const llc_functional *slope,
                       double low, double high, double close, llc_place *at)
{
    double width = high - low, last = width;
    for (int k = 0; k < 80; k++) {
        double value = llc_value(f, &at->now), rate = llc_value(slope, &at->now), move = -value / rate;
        if (fabs(move) <= 1e-15 * width) return;
        if (value > 0)
            low = at->t;
        else
            high = at->t;
        double next = at->t + move;
        bool newton = next > low && next < high && fabs(move) <= 0.6 * last;
        if (!newton) next = 0.5 * (low + high);
        double step = fabs(next - at->t), sequel = step * (step / last) * (step / last);
        bool quadratic = k > 0 && newton && step < 1e-3 * last && sequel <= close * width;
        last = step;
        llc_go(circuit, at, next);
        if (quadratic || !(step > 2e-16 * high)) return;
    }
}

/* The same from any guess. */
static llc_place llc_root(const llc_circuit *circuit, const llc_functional *f, double low, double high,
                          double guess, double close)
{
    double t = guess > low && guess < high ? guess : 0.5 * (low + high);
    llc_functional slope = llc_slope_of(circuit, f);
    llc_place at = {t, llc_instant_at(circuit, t)};
    llc_polish(circuit, f, &slope, low, high, close, &at);
    return at;
}

/* To rounding; and for the top of a curve, which is flat there. */
static const double llc_sharp = 1e-16, llc_flat = 1e-9;

enum { LLC_BORDERS_MAX = 4, LLC_SAMPLES_MAX = 4000, LLC_HALVINGS = 40 };

typedef struct llc_borders {
    int n;
    llc_functional f[LLC_BORDERS_MAX];
} llc_borders;

/* Lowest point of the cubic through (0, v0, w0) and (step, v1, w1), w0 < 0 < w1. */
static double llc_dip(double v0, double w0, double v1, double w1, double step, double *where)
{
    double a = w0 + w1 - 2.0 * (v1 - v0) / step, b = 3.0 * (v1 - v0) / step - 2.0 * w0 - w1;
    double root = b * b - 3.0 * a * w0;
    double u = root > 0 ? -w0 / (b + sqrt(root)) : 0.5;
    if (!(u > 0 && u < 1)) u = 0.5;
    *where = u;
    return v0 + step * u * (w0 + u * (b + u * a));
}

/* A border that starts at zero: positive somewhere before `high`, where it is not?  0 when nowhere. */
static double llc_hump(const llc_circuit *circuit, const llc_functional *f, double high)
{
    double t = high;
    for (int k = 0; k < LLC_HALVINGS; k++) {
        t *= 0.5;
        llc_instant now = llc_instant_at(circuit, t);
        if (llc_value(f, &now) > 0) return t;
    }
    return 0.0;
}

/* Where it falls to zero on the way to the bottom of a dip; t is infinite when it does not. */
static llc_place llc_dip_crossing(const llc_circuit *circuit, const llc_functional *f, double low,
                                  double high)
{
    llc_functional slope = llc_slope_of(circuit, f);
    llc_functional fall = {-slope.k, {-slope.p[0], -slope.p[1], -slope.p[2], -slope.p[3]}};
    llc_place bottom = llc_root(circuit, &fall, low, high, 0.5 * (low + high), llc_flat);
    if (llc_value(f, &bottom.now) > 0) return (llc_place){INFINITY, bottom.now};
    return llc_root(circuit, f, low, bottom.t, 0.5 * (low + bottom.t), llc_sharp);
}

/* Values of the borders and their slopes at the place looked at last. */
typedef struct llc_look {
    const llc_borders *borders;
    llc_functional slope[LLC_BORDERS_MAX];
    double v[LLC_BORDERS_MAX], w[LLC_BORDERS_MAX], size[LLC_BORDERS_MAX];
    bool armed[LLC_BORDERS_MAX]; /* has been positive, beyond rounding */
} llc_look;

static void llc_look_first(const llc_circuit *circuit, const llc_borders *borders, llc_look *look)
{
    double least = 1.0 / (circuit->fast.reach + 1e-300);
    look->borders = borders;
    for (int j = 0; j < borders->n; j++) {
        const llc_functional *f = &borders->f[j];
        look->slope[j] = llc_slope_of(circuit, f);
        look->v[j] = f->k + f->p[0] + f->p[2];
        look->w[j] = look->slope[j].p[0] + look->slope[j].p[2];
        look->size[j] = fabs(f->k) + fabs(f->p[0]) + fabs(f->p[2]) + fabs(f->p[1]) * least;
        look->armed[j] = look->v[j] > 1e-13 * look->size[j];
    }
}

/* Where border j falls to zero on the way from one place to the next, whose value and slope are v and w; t is
 * infinite when it does not. */
static llc_place llc_falls(const llc_circuit *circuit, const llc_look *look, int j, const llc_place *from,
                           const llc_place *to, double v, double w, bool reluctant)
{
    const llc_functional *f = &look->borders->f[j];
    llc_place at = {INFINITY, to->now};
    if (v <= 0 && look->armed[j]) {
        at = look->v[j] < -v ? *from : *to;
        llc_polish(circuit, f, &look->slope[j], from->t, to->t, llc_sharp, &at);
    } else if (v <= 0 && !reluctant) {
        double hump = llc_hump(circuit, f, to->t - from->t);
        at = *from;
        if (hump > 0) at = llc_root(circuit, f, from->t + hump, from->t + 2.0 * hump, from->t, llc_sharp);
    } else if (v > 0 && look->armed[j] && look->w[j] < 0 && w > 0) {
        double where, lowest = llc_dip(look->v[j], look->w[j], v, w, to->t - from->t, &where);
        if (lowest < 2e-3 * look->size[j]) at = llc_dip_crossing(circuit, f, from->t, to->t);
    }
    return at;
}

/* On to the next place.  return the border that falls to zero first on the way, and *crossed is where; -1 */
static int llc_look_on(const llc_circuit *circuit, llc_look *look, const llc_place *from, const llc_place *to,
                       bool reluctant, llc_place *crossed)
{
    int which = -1;
    for (int j = 0; j < look->borders->n; j++) {
        double v = llc_value(&look->borders->f[j], &to->now), w = llc_value(&look->slope[j], &to->now);
        if (v <= 0 || (look->w[j] < 0 && w > 0)) {
            llc_place at = llc_falls(circuit, look, j, from, to, v, w, reluctant);
            if (at.t < INFINITY && (which < 0 || at.t < crossed->t)) {
                *crossed = at;
                which = j;
            }
        }
        look->v[j] = v, look->w[j] = w;
        look->armed[j] |= v > 1e-13 * look->size[j];
    }
    return which;
}

/* A row of more products than these is not left to add up its rounding. */
enum { LLC_PRODUCTS = 16 };

/* Looks from *place up to `until`, evenly; returns as llc_look_on, with *place the crossing or the end. */
static int llc_look_along(const llc_circuit *circuit, llc_look *look, double until, bool reluctant,
                          llc_place *place)
{
    double begin = place->t, turn = (until - begin) * circuit->fast.reach / 0.6;
    int n = 1 + (int)(turn < LLC_SAMPLES_MAX ? turn : LLC_SAMPLES_MAX), which = -1;
    double step = (until - begin) / n;
    llc_instant stride = llc_instant_at(circuit, step);
    for (int k = 1; k <= n; k++) {
        llc_place crossed,
            next = {k == n ? until : begin + k * step, llc_instant_product(circuit, &place->now, &stride)};
        which = llc_look_on(circuit, look, place, &next, reluctant, &crossed);
        *place = which < 0 ? next : crossed;
        if (which >= 0) break;
    }
    if (n > LLC_PRODUCTS) place->now = llc_instant_at(circuit, place->t);
    return which;
}

/* How soon a border falls to zero as it goes now. */
static double llc_falls_in(const llc_look *look)
{
    double soonest = INFINITY;
    for (int j = 0; j < look->borders->n; j++)
        if (look->v[j] > 0 && look->v[j] < -look->w[j] * soonest) soonest = -look->v[j] / look->w[j];
    return soonest;
}

/* First time in (0, limit] at which a border falls to zero, into *place with its instant: the limit when none
 * does.  return its index, or -1
 * likely: when it is thought to be, which makes it quick to find; 0: nobody knows
 * reluctant: a border at zero from the start counts only after it has been positive. */
static int llc_first_crossing(const llc_circuit *circuit, const llc_borders *borders, double limit,
                              double likely, bool reluctant, llc_place *place)
{
    *place = (llc_place){0.0, {{1.0, 0.0}, {1.0, 0.0}}};
    if (!(limit > 0)) return -1;
    llc_look look;
    llc_look_first(circuit, borders, &look);
    int which = -1;
    if (likely > 0 && likely < limit) {
        which = llc_look_along(circuit, &look, likely, reluctant, place);
        double soon = place->t + 2.0 * llc_falls_in(&look);
        if (which < 0 && soon < 1.05 * likely && soon < limit)
            which = llc_look_along(circuit, &look, soon, reluctant, place);
    }
    return which < 0 ? llc_look_along(circuit, &look, limit, reluctant, place) : which;
}

/* --------------------------------------------------------------- as before -- */

/* How a stretch near by ended; its instant there is known for its own circuit alone. */
typedef struct llc_before {
    int border; /* -1: by time */
    const llc_circuit *circuit;
    llc_place end;
} llc_before;

/* Root of a falling border near *at, by Halley's steps, whose error is as the cube of the one before; false:
 * there is none near by. */
static bool llc_land(const llc_circuit *circuit, const llc_functional *f, double limit, llc_place *at)
{
    enum { STEPS = 5 };
    const llc_functional slope = llc_slope_of(circuit, f), bend = llc_slope_of(circuit, &slope);
    for (int k = 0; k < STEPS; k++) {
        double rate = llc_value(&slope, &at->now), turn = llc_value(&bend, &at->now) / rate;
        double plain = -llc_value(f, &at->now) / rate, move = plain / (1.0 + 0.5 * plain * turn);
        double next = at->t + move,
               share = move * (fabs(turn) > circuit->fast.reach ? fabs(turn) : circuit->fast.reach);
        if (!(rate < 0 && next > 0 && next <= limit && fabs(share) < 0.5)) return false;
        llc_go(circuit, at, next);
        if (fabs(move) * share * share <= 1e-16 * next) return true;
    }
    return false;
}

/* Four functionals side by side. */
typedef struct llc_four {
    lanes k, p[4];
} llc_four;

/* Those of the borders, and for each that is missing one that is never crossed. */
WITHIN_LANES void llc_side_by_side(const llc_borders *borders, llc_four *four)
{
    static const llc_functional none = {1.0, {0.0, 0.0, 0.0, 0.0}};
    const llc_functional *f[LLC_BORDERS_MAX];
    for (int j = 0; j < LLC_BORDERS_MAX; j++) f[j] = j < borders->n ? &borders->f[j] : &none;
    four->k = (lanes){f[0]->k, f[1]->k, f[2]->k, f[3]->k};
    for (int g = 0; g < 4; g++) four->p[g] = (lanes){f[0]->p[g], f[1]->p[g], f[2]->p[g], f[3]->p[g]};
}

WITHIN_LANES void llc_slopes_of(const llc_circuit *circuit, const llc_four *f, llc_four *slope)
{
    const llc_group *fast = &circuit->fast, *slow = &circuit->slow;
    slope->k = (lanes){0};
    slope->p[0] = f->p[1] - fast->a * f->p[0];
    slope->p[1] = -fast->sigma * f->p[0] - fast->a * f->p[1];
    slope->p[2] = f->p[3] - slow->a * f->p[2];
    slope->p[3] = -slow->sigma * f->p[2] - slow->a * f->p[3];
}

WITHIN_LANES void llc_values(const llc_four *f, const llc_instant *now, lanes *value)
{
    *value =
        f->k + f->p[0] * now->fast.c + f->p[1] * now->fast.s + f->p[2] * now->slow.c + f->p[3] * now->slow.s;
}

/* The most |f| comes to within T, less its constant: |c| <= 1, and |s| <= 1/omega while it rings, T while it
 * does not, of a group that is damped.  docs/theory/waveforms.md eq. 10a */
WITHIN_LANES void llc_most(const llc_circuit *circuit, const llc_four *f, double T, lanes *most)
{
    double omega = circuit->fast.omega, turning = omega * T > 1.0 ? 1.0 / omega : T;
    const double size[4] = {1.0, turning, 1.0, T};
    *most = (lanes){0};
    for (int g = 0; g < 4; g++) {
        lanes reach;
        lanes_size(&f->p[g], &reach);
        *most += reach * size[g];
    }
}

/* Four borders at a place: their values, slopes and bends. */
typedef struct llc_outlook {
    lanes v, w, u;
} llc_outlook;

/* Whether they stay above zero on the h seconds between two places where they do, whose third derivative is
 * at most `most`: by Taylor's sum to the third power from either place, w + u t / 2 - most t^2 / 6 being
 * above zero all along where it is at both ends, or by the chord, |f''| h^2 / 8 below which f stays at most.
 */
WITHIN_LANES void llc_stay_above(const llc_outlook *from, const llc_outlook *to, const lanes *most, double h,
                                 lanes_mask *above)
{
    const lanes bend = *most * (h / 3.0), none = {0};
    lanes sag;
    lanes_size(&from->u, &sag);
    sag = 0.125 * h * h * (*most * h + sag);
    *above = ((from->w >= none) & (from->w + 0.5 * h * (from->u - bend) >= none)) |
             ((to->w <= none) & (0.5 * h * (to->u - bend) >= to->w)) | ((from->v >= sag) & (to->v >= sag));
}

/* Whether no border falls to zero before the end, but `which` of them there; that a border is not told to be
 * clear says nothing.  One that starts at zero, as those do that a stretch begins at, is there within its
 * rounding. */
FOUR_LANES static bool llc_clear(const llc_circuit *circuit, const llc_borders *borders, int which,
                                 const llc_place *end)
{
    const llc_group *fast = &circuit->fast;
    if (!(fast->a >= 0 && circuit->slow.a >= 0 && fast->omega > 0 && end->t > 0)) return false;
    const lanes_mask number = {0, 1, 2, 3}, asked = {which, which, which, which}, own = number == asked;
    const lanes none = {0};
    llc_four f, slope, bend, third;
    llc_side_by_side(borders, &f);
    llc_slopes_of(circuit, &f, &slope);
    llc_slopes_of(circuit, &slope, &bend);
    llc_slopes_of(circuit, &bend, &third);
    lanes most, size;
    llc_most(circuit, &third, end->t, &most);
    llc_most(circuit, &f, 0.0, &size);
    llc_outlook from = {f.k + f.p[0] + f.p[2], slope.p[0] + slope.p[2], bend.p[0] + bend.p[2]}, to;
    from.v += 1e-13 * size;
    from.w += 1e-13 * size * fast->reach;
    lanes_mask above = from.v >= none;
    double pieces = end->t * fast->reach / 1.2;
    int n = 1 + (int)(pieces < LLC_SAMPLES_MAX ? pieces : LLC_SAMPLES_MAX);
    double h = end->t / n;
    llc_instant now = {{1.0, 0.0}, {1.0, 0.0}}, stride = end->now;
    if (n > 1) stride = llc_instant_at(circuit, h);
    for (int k = 1; k <= n; k++) {
        now = k == n ? end->now : llc_instant_product(circuit, &now, &stride);
        llc_values(&f, &now, &to.v);
        llc_values(&slope, &now, &to.w);
        llc_values(&bend, &now, &to.u);
        lanes_mask stay;
        llc_stay_above(&from, &to, &most, h, &stay);
        above &= stay & ((to.v > none) | (own & -(long long)(k == n)));
        from = to;
    }
    above = ~above;
    return !lanes_any(&above);
}

/* Ends a stretch as one near by ended, where it does and no other border is in the way: *place is where.
 * trusting: that none is in the way is taken for granted */
static bool llc_ends_as(const llc_circuit *circuit, const llc_borders *borders, double limit,
                        const llc_before *before, bool trusting, llc_place *place)
{
    int which = before->border;
    double t = which < 0 ? limit : before->end.t;
    if (!(t > 0 && t <= limit && which < borders->n)) return false;
    *place = before->end;
    if (before->circuit != circuit)
        *place = (llc_place){t, llc_instant_at(circuit, t)};
    else if (t != place->t)
        llc_go(circuit, place, t);
    return (which < 0 || llc_land(circuit, &borders->f[which], limit, place)) &&
           (trusting || llc_clear(circuit, borders, which, place));
}

#endif
