/* check_boost_line.c - a boost stage over the quarter line: where it is looked at, the border of its modes,
 * what it delivers, its peak and its ripple, each against the same found by looking everywhere. */
#include <math.h>
#include <string.h>

#include "../../plugins/stages/boost_solve.h"

#include "lottery.h"
#include "story.h"

static const double pi = 3.14159265358979324;

/* -------------------------------------------------------------- quadrature -- */

/* Eight points a panel: polynomials of degree 15, and kinks where a panel ends. */
START_TEST(the_nodes_integrate_with_kinks_at_the_borders)
{
    lottery luck = lottery_open("line nodes");
    for (int run = 0; run < 400; run++) {
        double from = lottery_below(&luck, 2) ? lottery_between(&luck, 0, 0.3) : 0.0, border[2],
               sum[17] = {0}, kink = 0;
        size_t panels = 2 + lottery_below(&luck, 3), borders = lottery_below(&luck, 3);
        line_nodes nodes;
        for (size_t k = 0; k < 2; k++) border[k] = lottery_between(&luck, from + 0.05, LINE_QUARTER - 0.05);
        if (borders == 2 && fabs(border[0] - border[1]) < 0.01) continue;
        double outside[4] = {from - 0.1, LINE_QUARTER + 0.1, border[0], border[1]};
        bool strays = lottery_below(&luck, 3) == 0;
        line_nodes_place(&nodes, from, panels, strays ? outside : border, strays ? borders + 2 : borders);
        ck_assert_uint_eq(nodes.n, panels * LINE_PANEL_NODES);
        size_t ends = borders < panels - 1 ? borders : panels - 1;
        for (size_t k = 0; k < nodes.n; k++) {
            double x = nodes.angle[k], w = nodes.weight[k] * LINE_QUARTER;
            ck_assert(x > from && x < LINE_QUARTER && (!k || x > nodes.angle[k - 1]));
            ck_near(nodes.sine[k], sin(x), 1e-15, 0);
            ck_near(nodes.cosine[k], cos(x), 1e-15, 0);
            for (int m = 0; m < 16; m++) sum[m] += w * pow(x, m);
            for (size_t b = 0; b < ends; b++) kink += w * fabs(x - border[b]);
        }
        for (int m = 0; m < 16; m++)
            ck_near(sum[m], (pow(LINE_QUARTER, m + 1) - pow(from, m + 1)) / (m + 1), 1e-13, 0);
        double exact = 0;
        for (size_t b = 0; b < ends; b++)
            exact += 0.5 * (pow(LINE_QUARTER - border[b], 2) + pow(border[b] - from, 2));
        ck_near(kink, exact, 1e-13, 0);
    }
}
END_TEST

/* Without borders the panels are alike, but for those more than a power of two, which halve the first ones.
 */
START_TEST(the_widest_panel_is_halved)
{
    line_nodes nodes;
    for (size_t panels = 1; panels <= LINE_PANELS_MAX; panels++) {
        line_nodes_place(&nodes, 0.0, panels, NULL, 0);
        for (size_t p = 0; p < panels; p++) {
            double width = 0.0;
            for (size_t k = 0; k < LINE_PANEL_NODES; k++) width += nodes.weight[p * LINE_PANEL_NODES + k];
            double whole = panels >= 4 ? 0.25 : panels >= 2 ? 0.5 : 1.0;
            ck_near(width, p < 2 * (panels - (size_t)(1 / whole)) ? 0.5 * whole : whole, 1e-14, 0);
        }
    }
    line_nodes_place(&nodes, 0.2, 9, (double[]){1.0}, 1);
    ck_assert_uint_eq(nodes.n, LINE_NODES_MAX);
}
END_TEST

/* ------------------------------------------------------------------ plans -- */

static line_cycles cycles;

/* Up to `lossy` of the power is lost in resistances. */
static double draw_plan(lottery *luck, double lossy, plan *p)
{
    double vo = lottery_between(luck, 350, 430), power = lottery_scale(luck, 20, 2000), period;
    memset(p, 0, sizeof *p);
    p->crest = vo * lottery_between(luck, 0.25, 0.97);
    p->mode = lottery_below(luck, 2) ? BOUNDARY : CONTINUOUS;
    p->phases = 1 + (unsigned)lottery_below(luck, 3);
    p->share = 1.0;
    for (size_t k = 0; k < LINE_NODES_MAX; k++) p->shared[k] = 1.0;
    p->shared_mean = 1.0;
    if (lottery_below(luck, 3) == 0) p->start = lottery_scale(luck, 1e-3, 0.03);
    period = 1.0 / lottery_scale(luck, 5e4, 5e5);
    double ohms = p->crest * p->crest / power;
    p->circuit = (boost_circuit){.inductance = 0.1 * ohms * period * lottery_scale(luck, 0.3, 10),
                                 .rise_resistance = lossy * ohms * lottery_scale(luck, 1e-3, 0.3),
                                 .fall_resistance = lossy * ohms * lottery_scale(luck, 1e-3, 0.3),
                                 .output = vo,
                                 .drop = lottery_below(luck, 2) ? lottery_between(luck, 0, 2) : 0.0};
    p->common = lossy * ohms * lottery_scale(luck, 1e-3, 0.1) / p->phases;
    if (p->mode == CONTINUOUS || lottery_below(luck, 2)) p->period = period;
    p->settled = lottery_below(luck, 2);
    if (p->settled && p->mode == BOUNDARY) p->delay = period * lottery_between(luck, 0, 0.1);
    p->cycles = &cycles;
    p->unknown = p->mode == CONTINUOUS ? 2 * power / p->crest
                                       : 4 * p->circuit.inductance * power / (p->crest * p->crest);
    return power;
}

/* Wherever the search begins it ends at the same: what is guessed, or kept from the last point, only saves
 * turns. */
START_TEST(what_is_delivered_is_found_from_anywhere)
{
    lottery luck = lottery_open("boost delivery");
    for (int run = 0; run < 300; run++) {
        plan p;
        double power = draw_plan(&luck, 0.1, &p), begun = p.unknown, found = 0.0, got;
        size_t panels = 2 + lottery_below(&luck, 3);
        for (int from = 0; from < 6; from++) {
            p.unknown = begun * (from ? lottery_scale(&luck, 0.3, 3) : 1);
            p.border = from ? lottery_between(&luck, -0.2, 1.7) : 0.0;
            p.elasticity = from > 2 ? lottery_scale(&luck, 0.3, 3) : 0.0;
            ck_assert_msg(deliver(&p, panels, power), "run %d: refused from %g of %g", run, p.unknown, begun);
            if (!from) found = p.unknown;
            ck_near(p.unknown, found, 1e-9, 0);
            ck_assert(ride_the_line(&p, panels, &got));
            ck_near(got, power, 1e-9, 0);
        }
    }
}
END_TEST

/* Below the border a cycle rests, above it none does; where there is no border, all are of one kind. */
START_TEST(cycles_change_their_kind_at_the_border)
{
    lottery luck = lottery_open("boost border");
    int kinds[3] = {0};
    for (int run = 0; run < 600; run++) {
        plan p;
        boost_cycle k;
        double power = draw_plan(&luck, 0.1, &p), low = asin(p.start);
        ck_assert(deliver(&p, 2, power));
        p.border = 0.0;
        ck_assert(find_border(&p));
        for (int look = 0; look < 30; look++) {
            double angle = low + (LINE_QUARTER - low) * lottery_between(&luck, 1e-4, 1);
            if (look < 2) angle = p.border + (look ? 1e-5 : -1e-5);
            if (!(angle > low && angle < LINE_QUARTER) || fabs(angle - p.border) < 0.9e-5) continue;
            ck_assert(cycle_at(&p, drive_at(&p, angle), &k));
            ck_assert_msg(k.full == (angle > p.border), "run %d: at %g, border %g", run, angle, p.border);
        }
        kinds[p.border <= 0.0 ? 0 : p.border >= LINE_QUARTER ? 2 : 1]++;
    }
    for (int k = 0; k < 3; k++) ck_assert_int_gt(kinds[k], 20);
}
END_TEST

/* The totals at so much of the unknown; whether there is a border within the line. */
static bool totals_at(plan *p, double unknown, totals *t)
{
    line_rows rows;
    double got;
    p->unknown = unknown;
    ck_assert(find_border(p) && ride_the_line(p, 2, &got));
    fill_rows(p, &rows);
    total_up(p, &rows, t);
    return line_border_within(asin(p->start), p->border);
}

/* The border comes into the line at the crest and leaves it at the start as the current rises: just before
 * and just after, all is the same. A residual loss may differ by the border's own tolerance, 1e-12 of the
 * sine. */
START_TEST(nothing_jumps_where_the_border_leaves_the_line)
{
    lottery luck = lottery_open("border leaves");
    int leaves = 0;
    for (int run = 0; run < 200; run++) {
        plan p;
        totals t, s;
        draw_plan(&luck, 0.1, &p);
        if (!(p.period > 0)) continue;
        double low = 0.3 * p.unknown, high = low, most = 10 * low;
        bool within = totals_at(&p, low, &t);
        while (high < most && totals_at(&p, high, &t) == within) low = high, high *= 1.05;
        if (high >= most) continue;
        for (int halving = 0; halving < 45; halving++) {
            double middle = 0.5 * (low + high);
            *(totals_at(&p, middle, &t) == within ? &low : &high) = middle;
        }
        ck_assert(totals_at(&p, low, &t) != totals_at(&p, high, &s));
        const double pairs[][2] = {
            {t.rectifier_average, s.rectifier_average}, {t.rectifier_square, s.rectifier_square},
            {t.ripple_square, s.ripple_square},         {t.frequency, s.frequency},
            {t.turn_off_power, s.turn_off_power},       {t.loss, s.loss}};
        for (size_t k = 0; k < sizeof pairs / sizeof *pairs; k++) ck_near(pairs[k][0], pairs[k][1], 1e-9, 0);
        ck_near(t.residual_power, s.residual_power, 3e-6, 1e-9 * s.loss);
        leaves++;
    }
    ck_assert_int_gt(leaves, 50);
}
END_TEST

/* Each node has the cycle of its voltage, whether its fall is a short one, as most are, or a long one. */
START_TEST(nodes_hold_the_cycles_of_their_voltages)
{
    lottery luck = lottery_open("boost nodes");
    int falls[2] = {0};
    for (int run = 0; run < 200; run++) {
        plan p;
        boost_cycle k;
        double got;
        draw_plan(&luck, 3.0, &p);
        p.border = run % 2 ? 0.3 : 0.0;
        if (p.mode == CONTINUOUS || !ride_the_line(&p, 2, &got)) continue;
        for (size_t at = 0; at < p.nodes.n; at++) {
            const line_cycles *c = p.cycles;
            ck_assert(cycle_at(&p, drive_of(&p, p.nodes.sine[at]), &k));
            const double pairs[][2] = {{c->voltage[at], k.voltage},
                                       {c->period[at], k.period},
                                       {c->frequency[at] * k.period, 1.0},
                                       {c->on[at], k.on},
                                       {c->off[at], k.off},
                                       {c->peak[at], k.peak},
                                       {c->switch_mean[at] * k.period, k.charge_on},
                                       {c->switch_square[at] * k.period, k.square_on},
                                       {c->rectifier_mean[at] * k.period, k.charge_off},
                                       {c->rectifier_square[at] * k.period, k.square_off}};
            for (size_t j = 0; j < sizeof pairs / sizeof *pairs; j++)
                ck_near(pairs[j][0], pairs[j][1], 1e-12, 0);
            ck_assert(c->valley[at] == 0.0 && c->full[at] == k.full);
            double u = p.circuit.output + p.circuit.drop - k.voltage;
            falls[p.circuit.fall_resistance * k.peak > boost_fall_short * u]++;
        }
    }
    ck_assert_int_gt(falls[0], 200);
    ck_assert_int_gt(falls[1], 50);
}
END_TEST

/* As by a cycle at each of four thousand angles: a border between them costs 1e-6, the nodes as much. */
START_TEST(totals_are_means_over_the_line)
{
    lottery luck = lottery_open("boost totals");
    enum { ANGLES = 4000 };
    for (int run = 0; run < 40; run++) {
        plan p;
        double power = draw_plan(&luck, 0.1, &p), low;
        p.share = run % 3 ? 1.0 : 0.4;
        if (p.start > 0) p.slow_drop = 0.7;
        low = asin(p.start);
        ck_assert(deliver(&p, LINE_PANELS_MAX, power));
        line_rows rows;
        fill_rows(&p, &rows);
        totals t, s = {0}, some;
        total_up(&p, &rows, &t);
        double highest = largest_peak(&p), seen = 0;
        plan all = p;
        line_cycles block;
        all.cycles = &block;
        for (int k = 0; k < ANGLES; k += LINE_NODES_MAX) {
            all.nodes.n = LINE_NODES_MAX;
            for (int j = 0; j < LINE_NODES_MAX; j++) {
                boost_cycle one;
                double angle = low + (LINE_QUARTER - low) * (k + j + 0.5) / ANGLES;
                all.nodes.angle[j] = angle;
                all.nodes.sine[j] = sin(angle);
                all.nodes.weight[j] = (1 - low / LINE_QUARTER) / ANGLES;
                ck_assert(cycle_at(&p, drive_at(&p, angle), &one));
                put_cycle(&one, (size_t)j, &block);
                seen = fmax(seen, one.peak);
            }
            fill_rows(&all, &rows);
            total_up(&all, &rows, &some);
            for (size_t j = 0; j < sizeof s / sizeof(double); j++) ((double *)&s)[j] += ((double *)&some)[j];
        }
        const double pairs[][2] = {{t.switch_average, s.switch_average},
                                   {t.switch_square, s.switch_square},
                                   {t.rectifier_average, s.rectifier_average},
                                   {t.rectifier_square, s.rectifier_square},
                                   {t.line_average, s.line_average},
                                   {t.line_square, s.line_square},
                                   {t.ripple_square, s.ripple_square},
                                   {t.fundamental, s.fundamental},
                                   {t.delivered_square, s.delivered_square},
                                   {t.second[0], s.second[0]},
                                   {t.second[1], s.second[1]},
                                   {t.turn_off, s.turn_off},
                                   {t.turn_off_power, s.turn_off_power},
                                   {t.frequency, s.frequency},
                                   {t.loss, s.loss},
                                   {t.input_power, s.input_power}};
        for (size_t k = 0; k < sizeof pairs / sizeof *pairs; k++) ck_near(pairs[k][0], pairs[k][1], 1e-5, 0);
        ck_near(t.residual_power, s.residual_power, 1e-3, 0); /* leaps at the border */
        for (int m = 2; m < 5; m++) ck_near(t.second[m], s.second[m], 0, 1e-5 * s.second[0]);
        ck_near(t.turn_on, s.turn_on, 1e-5, 1e-9 * seen);
        ck_near(t.turn_on_power, s.turn_on_power, 1e-5, 1e-9 * s.turn_off_power);
        ck_near(highest, seen, 1e-4, 0);
        /* the bus gets what its rectifier carries; in goes what comes out and is lost */
        ck_near(t.second[0] * p.circuit.output, power * p.share, 1e-11, 0);
        ck_near(t.input_power, power * p.share + t.loss, 1e-11, 0);
        ck_near(t.switch_average + t.rectifier_average, t.line_average, 1e-12, 0);
    }
}
END_TEST

/* Resistances allow so much and no more: all that is well below it is delivered, from what the stage itself
 * begins with, and by no more current than the most takes. */
START_TEST(what_can_be_delivered_is)
{
    lottery luck = lottery_open("boost limit");
    int limited = 0;
    for (int run = 0; run < 60; run++) {
        plan p;
        double begun, most = 0.0, at_most = 0.0, before = 0.0, got;
        draw_plan(&luck, 3.0, &p);
        begun = p.unknown;
        for (int k = 0; k < 80; k++) {
            p.unknown = begun * pow(10, -1.5 + 0.03 * k);
            if (!find_border(&p) || !ride_the_line(&p, 2, &got) || got < most) break;
            most = got;
            at_most = p.unknown;
        }
        limited += at_most < begun * 7;
        for (double share = 0.2; share < 0.95; share += 0.12) {
            start_from(NULL, share * most, &p);
            ck_assert_msg(deliver(&p, 2, share * most), "run %d: no %.2f of %g W", run, share, most);
            ck_assert(p.unknown > before && p.unknown < at_most * 1.1);
            before = p.unknown;
        }
    }
    ck_assert_int_gt(limited, 20);
}
END_TEST

/* ------------------------------------------------------------------ ripple -- */

START_TEST(the_ripple_is_peak_to_peak)
{
    lottery luck = lottery_open("boost ripple");
    for (int run = 0; run < 200; run++) {
        double c[5] = {1.0, -lottery_between(&luck, 0.5, 1.0)}, omega = 2 * pi * 50, farads = 1e-4, high = 0;
        for (int m = 2; m < 5; m++) c[m] = c[1] * lottery_between(&luck, -0.08, 0.08);
        for (int k = 0; k < 20000; k++) {
            double x = pi * k / 20000, v = 0;
            for (int m = 1; m < 5; m++) v += c[m] * sin(2 * m * x) / (2 * m * omega * farads);
            high = fmax(high, fabs(v));
        }
        ck_near(bus_ripple(c, omega, farads), 2 * high, 1e-7, 0);
    }
    ck_assert(bus_ripple((double[5]){1, 1}, 314, 0.0) == 0.0 &&
              bus_ripple((double[5]){1, 1}, 0.0, 1e-4) == 0.0);
}
END_TEST

/* ------------------------------------------------------------------- waves -- */

static double slow_at(const hl_wave *wave, double t)
{
    size_t k = 0;
    while (k + 1 < wave->n && t > wave->segment[k].duration) t -= wave->segment[k++].duration;
    const hl_segment *s = &wave->segment[k];
    return s->offset + s->slope * t + s->cosine * cos(s->omega * t) + s->sine * sin(s->omega * t);
}

/* Through the values at all nodes, and their mirror images in the second quarter; nothing at the line's zero.
 */
START_TEST(a_slow_wave_runs_through_its_nodes)
{
    static unsigned char room[65536];
    lottery luck = lottery_open("boost slow wave");
    double omega = 2 * pi * 50;
    for (int run = 0; run < 200; run++) {
        bool twice = run % 2, small = run % 4 == 2;
        line_nodes nodes;
        double value[LINE_NODES_MAX], level = twice ? 1 : 0;
        line_nodes_place(&nodes, 0, 2 + lottery_below(&luck, 3), NULL, 0);
        hl_segment shape = {.offset = level, .cosine = twice ? -0.9 : 0, .sine = twice ? 0 : 1.5};
        for (size_t k = 0; k < nodes.n; k++) {
            double s = nodes.sine[k], plain = level + (twice ? -0.9 * (1 - 2 * s * s) : 1.5 * s);
            value[k] = plain + (small ? 1e-3 : 0.3) * lottery_between(&luck, -1, 1);
        }
        hl_scratch scratch = {room, sizeof room, 0};
        hl_wave wave;
        ck_assert(slow_wave(&nodes, value, omega, shape, twice, &scratch, &wave));
        ck_assert_uint_eq(wave.n, small ? 1 : 2 * nodes.n + 1);
        double length = 0;
        for (size_t k = 0; k < wave.n; k++) length += wave.segment[k].duration;
        ck_near(length, pi / omega, 1e-13, 0);
        for (size_t k = 0; k < nodes.n; k++) {
            double t = nodes.angle[k] / omega, close = small ? 1.01e-3 : 1e-11;
            ck_near(slow_at(&wave, t), value[k], 0, close);
            ck_near(slow_at(&wave, pi / omega - t), value[k], 0, close);
        }
        if (!small) ck_near(slow_at(&wave, 0), 0, 0, 1e-12);
        if (!small) ck_near(slow_at(&wave, pi / omega), 0, 0, 1e-11);
        hl_scratch none = {room, 16, 0};
        ck_assert(!slow_wave(&nodes, value, omega, shape, twice, &none, &wave));
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_nodes_integrate_with_kinks_at_the_borders);
    tcase_add_test(tests, the_widest_panel_is_halved);
    tcase_add_test(tests, what_is_delivered_is_found_from_anywhere);
    tcase_add_test(tests, what_can_be_delivered_is);
    tcase_add_test(tests, cycles_change_their_kind_at_the_border);
    tcase_add_test(tests, nothing_jumps_where_the_border_leaves_the_line);
    tcase_add_test(tests, nodes_hold_the_cycles_of_their_voltages);
    tcase_add_test(tests, totals_are_means_over_the_line);
    tcase_add_test(tests, the_ripple_is_peak_to_peak);
    tcase_add_test(tests, a_slow_wave_runs_through_its_nodes);
}

int main(void)
{
    return story_main("boost line", fill);
}
