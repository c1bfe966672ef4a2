/* check_inductor_span.c - one stretch of a cycle around one inductor against the exponential of its matrix,
 * worked out apart from every closed form and in more digits. */
#include <math.h>
#include <string.h>

#include "../../plugins/stages/inductor_waves.h"

#include "lottery.h"
#include "story.h"

enum { SIZE = 5 };
typedef struct matrix {
    long double at[SIZE][SIZE];
} matrix;

static matrix times(const matrix *a, const matrix *b)
{
    matrix c = {{{0}}};
    for (int i = 0; i < SIZE; i++)
        for (int k = 0; k < SIZE; k++)
            for (int j = 0; j < SIZE; j++) c.at[i][j] += a->at[i][k] * b->at[k][j];
    return c;
}

/* Taylor's series of a share of the matrix, squared back. */
static matrix exponential(matrix a)
{
    long double most = 0;
    int halvings = 0;
    matrix sum = {{{0}}}, term = {{{0}}};
    for (int i = 0; i < SIZE; i++)
        for (int j = 0; j < SIZE; j++) most = fmaxl(most, fabsl(a.at[i][j]));
    while (most > 0.05L) most /= 2, halvings++;
    for (int i = 0; i < SIZE; i++)
        for (int j = 0; j < SIZE; j++) a.at[i][j] = ldexpl(a.at[i][j], -halvings);
    for (int i = 0; i < SIZE; i++) sum.at[i][i] = term.at[i][i] = 1;
    for (int n = 1; n < 20; n++) {
        term = times(&term, &a);
        for (int i = 0; i < SIZE; i++)
            for (int j = 0; j < SIZE; j++) sum.at[i][j] += term.at[i][j] /= n;
    }
    while (halvings--) sum = times(&sum, &sum);
    return sum;
}

/* ------------------------------------------------------------- response -- */

/* 2 a t and w2 t^2 of every kind: none, small, two rates far apart, nearly one, ringing for long. */
static inductor_law draw_law(lottery *luck, double t)
{
    double a = 0.0, w2 = 0.0;
    switch (lottery_below(luck, 6)) {
    case 0:
        a = lottery_scale(luck, 1e-6, 30);
        break;
    case 1:
        w2 = lottery_scale(luck, 1e-8, 400);
        break;
    case 2:
        a = lottery_scale(luck, 1e-3, 30);
        w2 = a * a * (1 + (lottery_below(luck, 2) ? 1 : -1) * lottery_scale(luck, 1e-12, 0.5));
        break;
    case 3:
        a = lottery_between(luck, 0, 1.5);
        w2 = lottery_between(luck, 0, 3);
        break;
    default:
        a = lottery_scale(luck, 1e-4, 30);
        w2 = lottery_scale(luck, 1e-8, 400);
        break;
    }
    return (inductor_law){.a = a / t,
                          .w2 = w2 / (t * t),
                          .rest = lottery_below(luck, 2) ? lottery_between(luck, 0, 5) : 0.0,
                          .slope = lottery_between(luck, -3, 3) / t};
}

/* y'' = -2 a y' - w2 y over x t, with the integral of y: (y, y' t, integral / t). */
static matrix law_over(const inductor_law *law, double t)
{
    matrix a = {{{0}}};
    a.at[0][1] = 1;
    a.at[1][0] = -(long double)law->w2 * t * t;
    a.at[1][1] = -2 * (long double)law->a * t;
    a.at[2][0] = 1;
    return exponential(a);
}

START_TEST(a_response_is_that_of_its_differential_equation)
{
    lottery luck = lottery_open("inductor response");
    for (int run = 0; run < 500; run++) {
        double t = lottery_scale(&luck, 1e-9, 1e-3), s, p, slope;
        inductor_law law = draw_law(&luck, t);
        matrix e = law_over(&law, t);
        inductor_response(&law, t, &s, &p);
        double i0 = lottery_between(&luck, -4, 4), y0 = i0 - law.rest, own = law.slope * t;
        double i = inductor_at(&law, i0, t, &slope), q = 1 + law.w2 * t * t, size = fabs(y0) + fabs(own);
        ck_near(s / t, (double)e.at[0][1], 1e-12, 1e-13 / sqrt(q));
        ck_near(p / (t * t), (double)e.at[2][1], 1e-12, 1e-13 / q);
        ck_near(i, (double)(law.rest + e.at[0][0] * y0 + e.at[0][1] * own), 0, 1e-12 * (size + law.rest));
        ck_near(slope * t, (double)(e.at[1][0] * y0 + e.at[1][1] * own), 0, 1e-12 * size * q);
    }
}
END_TEST

/* By at least as many terms as alone: the rest of which is below 1e-14. */
START_TEST(four_responses_are_those_of_each)
{
    lottery luck = lottery_open("four responses");
    int together = 0;
    for (int run = 0; run < 500; run++) {
        inductor_law law[LANES];
        double a[LANES], w2[LANES], t[LANES], s[LANES], p[LANES], one_s, one_p;
        bool short_ones = true;
        for (int k = 0; k < LANES; k++) {
            t[k] = lottery_below(&luck, 5) ? lottery_scale(&luck, 1e-9, 1e-3) : 0.0;
            law[k] = draw_law(&luck, t[k] > 0 ? t[k] : 1.0);
            if (run % 2) law[k].a *= 0.01, law[k].w2 *= 1e-4;
            a[k] = law[k].a, w2[k] = law[k].w2;
            short_ones = short_ones && inductor_reach(&law[k], t[k]) <= inductor_short;
        }
        ck_assert(inductor_four_responses(a, w2, t, s, p) == short_ones);
        for (int k = 0; k < LANES && short_ones; k++) {
            inductor_response(&law[k], t[k], &one_s, &one_p);
            ck_near(s[k], one_s, 0, 2e-14 * t[k]);
            ck_near(p[k], one_p, 0, 2e-14 * t[k] * t[k]);
        }
        together += short_ones;
    }
    ck_assert(together > 50 && together < 450);
}
END_TEST

/* Looked at 400 times: the first place where the current reaches zero, and none before. */
START_TEST(a_current_comes_to_zero_where_it_first_does)
{
    lottery luck = lottery_open("inductor zero");
    int found = 0;
    for (int run = 0; run < 1000; run++) {
        double t = lottery_scale(&luck, 1e-9, 1e-3), slope, sign = lottery_below(&luck, 2) ? 1 : -1;
        inductor_law law = draw_law(&luck, t);
        double i0 = lottery_below(&luck, 5) ? sign * lottery_scale(&luck, 1e-3, 5) : 0.0;
        if (i0 == 0.0) law.slope = sign * fabs(law.slope);
        law.rest = fabs(law.rest) * (law.w2 > 0);
        double at = inductor_zero(&law, i0, sign, t), size = fabs(i0) + law.rest + fabs(law.slope) * t;
        ck_assert(at >= 0 && at <= t);
        for (int k = 1; k < 400; k++) {
            double i = sign * inductor_at(&law, i0, at * k / 400, &slope);
            ck_assert_msg(i > -1e-13 * size, "run %d: %g A before zero", run, i);
        }
        if (at < t) {
            found++;
            ck_near(inductor_at(&law, i0, at, &slope), 0, 0, 1e-13 * size * (1 + sqrt(law.w2) * t));
        } else {
            ck_assert(sign * inductor_at(&law, i0, t, &slope) > -1e-13 * size);
        }
    }
    ck_assert_int_gt(found, 300);
}
END_TEST

/* Of sums as 1.5 + 0.3 y - 0.2 t y' that have another sign at the end than at the start: there it is zero,
 * and its integral from the last place looked at is that of Simpson's rule, exact for the cubic that it
 * is. */
START_TEST(a_crossing_is_where_its_sum_is_zero)
{
    lottery luck = lottery_open("inductor crossing");
    int found = 0;
    for (int run = 0; run < 2000; run++) {
        double t = lottery_scale(&luck, 1e-9, 1e-3), i0 = lottery_between(&luck, -4, 4), f[3], slope;
        inductor_law law = draw_law(&luck, t);
        inductor_mark mark = {lottery_between(&luck, -2, 2), lottery_between(&luck, -1, 1),
                              lottery_between(&luck, -1, 1) * t};
        double size = fabs(mark.offset) + fabs(i0) + law.rest + fabs(law.slope) * t;
        for (int k = 0; k < 2; k++) {
            double i = inductor_at(&law, i0, k * t, &slope);
            f[k] = mark.offset + mark.alpha * (i - law.rest) + mark.beta * slope;
        }
        if ((f[0] > 0) == (f[1] > 0)) continue;
        found++;
        inductor_point start = inductor_start(&law, i0);
        for (int turn = 0; turn < 2; turn++) {
            double share = turn ? inductor_turn_share : inductor_time_share;
            inductor_root root = inductor_crossing(&law, i0, &mark, &start, t, share);
            for (int k = 0; k < 3; k++) {
                double i = inductor_at(&law, i0, root.at.t + 0.5 * k * (root.t - root.at.t), &slope);
                f[k] = mark.offset + mark.alpha * (i - law.rest) + mark.beta * slope;
            }
            double simpson = (f[0] + 4.0 * f[1] + f[2]) / 6.0 * (root.t - root.at.t);
            ck_near(f[2], 0, 0, (turn ? 1e-8 : 1e-12) * size * (1 + law.a * t + law.w2 * t * t));
            ck_near(root.rise, simpson, 1e-6, 1e-12 * size * t);
        }
    }
    ck_assert_int_gt(found, 250);
}
END_TEST

/* --------------------------------------------------------------- moments -- */

/* Gauss's rule of five points over many pieces. source: Abramowitz and Stegun (1964), table 25.4 */
static void sums(const inductor_law *law, double i0, double t, double middle, double *first, double *second)
{
    static const double x[] = {0.0, 0.538469310105683091, 0.906179845938663993};
    static const double w[] = {0.568888888888888889, 0.478628670499366468, 0.236926885056189088};
    enum { PIECES = 200 };
    double half = 0.5 * t / PIECES;
    *first = *second = 0.0;
    for (int k = 0; k < PIECES; k++)
        for (int j = -2; j <= 2; j++) {
            double slope, at = half * (2 * k + 1 + (j < 0 ? -x[-j] : x[j]));
            double i = inductor_at(law, i0, at, &slope) - middle, share = half * w[j < 0 ? -j : j];
            *first += share * i;
            *second += share * i * i;
        }
}

/* Of any six coefficients: term by term, the integral of x^m x^n over 0 to 1 is 1 / (m + n + 1). */
START_TEST(powers_are_summed_term_by_term)
{
    lottery luck = lottery_open("inductor powers");
    for (int run = 0; run < 100; run++) {
        lanes c[INDUCTOR_TERMS], sum = {1}, square = {0, 0, 0, 2};
        for (int m = 0; m < INDUCTOR_ORDERS; m++)
            for (int k = 0; k < LANES; k++) c[m][k] = lottery_between(&luck, -1, 1);
        inductor_power_sums(INDUCTOR_ORDERS, c, &sum, &square);
        for (int k = 0; k < LANES; k++) {
            double first = k == 0, second = 2 * (k == 3), size = 2;
            for (int m = 0; m < INDUCTOR_ORDERS; m++) {
                first += c[m][k] / (m + 1);
                size += fabs(c[m][k]);
                for (int n = 0; n < INDUCTOR_ORDERS; n++) second += c[m][k] * c[n][k] / (m + n + 1);
            }
            ck_near(sum[k], first, 0, 1e-15 * size);
            ck_near(square[k], second, 0, 1e-15 * size * size);
        }
    }
}
END_TEST

/* A span of at most 60 radians and time constants; every fifth is idle. */
static inductor_span draw_span(lottery *luck)
{
    for (;;) {
        double t = lottery_scale(luck, 1e-9, 1e-4);
        inductor_law law = draw_law(luck, t);
        inductor_output o = {.inductance = 1e-6, .elastance = law.w2 * 1e-6, .load = law.rest};
        inductor_span span = {.duration = t, .i0 = lottery_between(luck, -4, 4)};
        if (lottery_below(luck, 5) == 0) return (inductor_span){.idle = true, .duration = t};
        span.path = (inductor_path){.feeds = law.w2 > 0, .resistance = 2e-6 * law.a};
        span.path.source = law.slope * o.inductance + span.path.resistance * span.i0;
        span.law = inductor_law_of(&o, &span.path, span.i0, 0.0);
        if (inductor_reach(&span.law, t) <= 60) return span;
    }
}

START_TEST(moments_are_integrals_of_the_current)
{
    lottery luck = lottery_open("inductor moments");
    for (int run = 0; run < 100; run++) {
        double middle = lottery_between(&luck, -2, 2), first[LANES], second[LANES], one, two;
        inductor_span span[LANES];
        const inductor_span *four[LANES];
        for (int k = 0; k < LANES; k++) {
            span[k] = draw_span(&luck);
            four[k] = &span[k];
        }
        inductor_moments(four, middle, first, second);
        for (int k = 0; k < LANES; k++) {
            sums(&span[k].law, span[k].i0, span[k].duration, middle, &one, &two);
            ck_near(second[k], two, 1e-11, 0);
            ck_near(first[k], one, 0, 1e-12 * sqrt(two * span[k].duration));
        }
    }
}
END_TEST

/* ------------------------------------------------------------------ walk -- */

/* L di/dt = E - R i - g (v + r (g i - I)),  C dv/dt = g i - I, with the integrals of g i - I and of v:
 * (i, v, charge, area, 1) over t. */
static matrix circuit_over(const inductor_output *o, const inductor_path *path, double t)
{
    long double g = path->feeds, l = o->inductance;
    matrix a = {{{0}}};
    a.at[0][0] = -(path->resistance + g * o->esr) / l * t;
    a.at[0][1] = -g / l * t;
    a.at[0][4] = (path->source + g * (long double)o->esr * o->load) / l * t;
    a.at[2][0] = g * t;
    a.at[2][4] = -(long double)o->load * t;
    a.at[1][0] = a.at[2][0] * o->elastance;
    a.at[1][4] = a.at[2][4] * o->elastance;
    a.at[3][1] = t;
    return exponential(a);
}

static inductor_output draw_output(lottery *luck)
{
    return (inductor_output){.inductance = lottery_scale(luck, 0.3, 3),
                             .elastance = lottery_below(luck, 4) ? lottery_scale(luck, 1e-2, 3) : 0.0,
                             .esr = lottery_below(luck, 2) ? lottery_between(luck, 0, 1) : 0.0,
                             .load = lottery_between(luck, 0, 2)};
}

static inductor_path draw_path(lottery *luck)
{
    return (inductor_path){.source = lottery_between(luck, -3, 3),
                           .resistance = lottery_below(luck, 2) ? lottery_between(luck, 0, 2) : 0.0,
                           .feeds = lottery_below(luck, 2)};
}

/* Along each way the current can take, and at rest. */
START_TEST(a_span_ends_where_its_circuit_does)
{
    lottery luck = lottery_open("inductor walk");
    for (int run = 0; run < 600; run++) {
        inductor_cycle c = {.output = draw_output(&luck)};
        inductor_path path = draw_path(&luck);
        bool idle = run % 10 == 0;
        double t = lottery_scale(&luck, 1e-3, 5);
        cycle_walk w = {.i = idle ? 0.0 : lottery_between(&luck, -3, 3), .v = lottery_between(&luck, -3, 3)};
        double from[SIZE] = {w.i, w.v, 0, 0, 1}, to[SIZE] = {0};
        if (idle) path = (inductor_path){0};
        matrix e = circuit_over(&c.output, &path, t);
        for (int i = 0; i < SIZE; i++)
            for (int j = 0; j < SIZE; j++) to[i] += (double)(e.at[i][j] * from[j]);
        double left = walk_span(&c, 3, idle ? NULL : &path, 0.0, t, NULL, &w);
        ck_near(w.i, to[0], 1e-11, 1e-11);
        ck_near(w.v, to[1], 1e-11, 1e-11);
        ck_near(w.charge, to[2], 1e-11, 1e-11);
        ck_near(w.area, to[3], 1e-11, 1e-11);
        ck_assert(c.spans == 1 && c.span[0].state == 3 && c.span[0].idle == idle && left == 0.0);
        ck_assert(c.span[0].i0 == from[0] && c.span[0].v0 == from[1] && c.span[0].i1 == w.i &&
                  c.span[0].v1 == w.v);
    }
}
END_TEST

/* Looked at 1000 times: the highest and lowest current, and voltage u = v + r (g i - I) of the output node.
 */
START_TEST(a_span_turns_where_it_is_highest_and_lowest)
{
    lottery luck = lottery_open("inductor turns");
    int inside = 0;
    for (int run = 0; run < 300; run++) {
        inductor_output o = draw_output(&luck);
        if (o.elastance == 0.0) o.esr = 0.0; /* stiff */
        inductor_span n = {.path = draw_path(&luck), .i0 = lottery_between(&luck, -3, 3)};
        n.v0 = lottery_between(&luck, -3, 3);
        n.duration = lottery_scale(&luck, 1e-2, 20);
        inductor_law law = n.law = inductor_law_of(&o, &n.path, n.i0, n.v0);
        cycle_figures f = {.peak = -INFINITY, .valley = INFINITY, .highest = -INFINITY, .lowest = INFINITY},
                      s = f;
        for (int k = 0; k <= 1000; k++) {
            double t = n.duration * k / 1000, slope, rise, p, i = inductor_at(&law, n.i0, t, &slope);
            double g = n.path.feeds ? 1 : 0, y0 = n.i0 - law.rest;
            inductor_response(&law, t, &rise, &p);
            double charge = g > 0 ? y0 * (rise + 2 * law.a * p) + law.slope * p : -o.load * t;
            n.i1 = i;
            n.slope1 = slope;
            n.v1 = n.v0 + o.elastance * charge;
            widen(i, &s.valley, &s.peak);
            widen(n.v1 + o.esr * (g * i - o.load), &s.lowest, &s.highest);
        }
        span_ends(&o, &n, &f);
        inside += s.peak > f.peak || s.valley < f.valley || s.highest > f.highest || s.lowest < f.lowest;
        span_turns(&o, &n, &f);
        double step = n.duration / 1000, bend = 0.5 * step * step * (1 + o.elastance) / o.inductance * 40;
        ck_assert_msg(f.peak >= s.peak - 1e-12 && f.valley <= s.valley + 1e-12, "run %d: currents", run);
        ck_assert_msg(f.highest >= s.highest - 1e-12 && f.lowest <= s.lowest + 1e-12, "run %d: voltages",
                      run);
        ck_assert_msg(f.peak <= s.peak + bend && f.valley >= s.valley - bend, "run %d: currents beyond", run);
        ck_assert_msg(f.highest <= s.highest + bend && f.lowest >= s.lowest - bend, "run %d: voltages beyond",
                      run);
    }
    ck_assert_int_gt(inside, 30);
}
END_TEST

/* ----------------------------------------------------------------- waves -- */

/* docs/theory/buck.md eq. 8: what is written out as segments is the current, to 3e-7 of what drives it where
 * it has two rates; but for those that need more than the pieces there are. */
START_TEST(segments_follow_the_current)
{
    lottery luck = lottery_open("inductor segments");
    int followed[4] = {0};
    for (int run = 0; run < 1000; run++) {
        double t = lottery_scale(&luck, 1e-9, 1e-4);
        inductor_law law = draw_law(&luck, t);
        inductor_output o = {.inductance = 1e-6, .load = law.rest, .elastance = law.w2 * 1e-6};
        inductor_span span = {.duration = t, .i0 = lottery_between(&luck, -4, 4)};
        span.path = (inductor_path){.feeds = law.w2 > 0, .resistance = 2e-6 * law.a};
        span.path.source = law.slope * o.inductance + span.path.resistance * span.i0;
        law = span.law = inductor_law_of(&o, &span.path, span.i0, 0.0);
        hl_segment s[WAVE_PIECES];
        double slope, begun = 0.0, worst = 0.0;
        span.i1 = inductor_at(&law, span.i0, t, &slope);
        size_t n = span_segments(&span, s);
        for (size_t k = 0; k < n; k++) {
            for (int j = 0; j <= 20; j++) {
                double x = s[k].duration * j / 20, i = inductor_at(&law, span.i0, begun + x, &slope);
                double written = s[k].offset + s[k].slope * x +
                                 exp(-s[k].decay * x) *
                                     (s[k].cosine * cos(s[k].omega * x) + s[k].sine * sin(s[k].omega * x));
                worst = fmax(worst, fabs(written - i));
            }
            begun += s[k].duration;
        }
        ck_near(begun, t, 1e-12, 0);
        bool rings = law.w2 - law.a * law.a > 1e-8 * law.w2;
        double size = fabs(law.slope) * t + fabs(span.i0 - law.rest);
        double enough = rings ? 1e-14 : law.w2 == 0.0 ? 1e-10 : n < WAVE_PIECES ? 3e-7 : 0.1;
        ck_assert_msg(worst <= enough * size, "run %d: off by %g of %g A in %zu pieces", run, worst, size, n);
        followed[rings ? 0 : law.w2 == 0.0 ? 1 : n < WAVE_PIECES ? 2 : 3]++;
    }
    for (int kind = 0; kind < 4; kind++) ck_assert_int_gt(followed[kind], 30);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_response_is_that_of_its_differential_equation);
    tcase_add_test(tests, four_responses_are_those_of_each);
    tcase_add_test(tests, a_current_comes_to_zero_where_it_first_does);
    tcase_add_test(tests, a_crossing_is_where_its_sum_is_zero);
    tcase_add_test(tests, powers_are_summed_term_by_term);
    tcase_add_test(tests, moments_are_integrals_of_the_current);
    tcase_add_test(tests, a_span_ends_where_its_circuit_does);
    tcase_add_test(tests, a_span_turns_where_it_is_highest_and_lowest);
    tcase_add_test(tests, segments_follow_the_current);
}

int main(void)
{
    return story_main("inductor span", fill);
}
