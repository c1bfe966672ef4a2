/* check_llc_border.c - the first border that a stretch of linear circuit crosses, against looking everywhere.
 */
#pragma GCC diagnostic ignored "-Wunused-function" /* the stage has use for all of them */
#include "../../plugins/stages/llc_border.h"

#include "lottery.h"
#include "story.h"

enum { DRAWS = 4000, PLACES = 3000 };

/* A tank of 50 to 500 kHz, its node held or floating, at a stiff output or at a capacitor. */
static bool draw_circuits(lottery *luck, llc_circuits *all)
{
    double omega = 6.283185307179586 * lottery_scale(luck, 5e4, 5e5),
           impedance = lottery_scale(luck, 10.0, 200.0);
    llc_tank tank = {.input = 400.0,
                     .series = impedance / omega,
                     .capacitance = 1.0 / (impedance * omega),
                     .ratio = lottery_scale(luck, 1.0, 20.0),
                     .primary_resistance = impedance * lottery_scale(luck, 1e-3, 0.05)};
    tank.magnetizing = tank.series * lottery_scale(luck, 2.0, 15.0);
    tank.secondary_resistance = impedance * lottery_scale(luck, 1e-4, 3e-2) / (tank.ratio * tank.ratio);
    tank.node_capacitance = tank.capacitance * lottery_scale(luck, 1e-3, 0.03);
    if (lottery_below(luck, 2)) tank.output_capacitance = 1e3 * tank.capacitance * tank.ratio * tank.ratio;
    tank.load_conductance = tank.output_capacitance > 0 ? 0.1 / tank.secondary_resistance * 1e-2 : 0.0;
    return llc_prepare(&tank, all);
}

static void draw_border(lottery *luck, const llc_circuit *circuit, llc_functional *f)
{
    double size[4] = {1.0, circuit->fast.reach, 1.0, circuit->slow.reach};
    for (int g = 0; g < 4; g++) f->p[g] = lottery_between(luck, -1.0, 1.0) * size[g];
    f->k = lottery_between(luck, -0.5, 2.5) - f->p[0] - f->p[2];
    if (lottery_below(luck, 4) == 0) /* it dips to about nothing */
        f->k = hypot(f->p[0], f->p[1] / circuit->fast.reach) * lottery_between(luck, 0.95, 1.0) - f->p[2];
}

static double value_at(const llc_circuit *circuit, const llc_functional *f, double t)
{
    llc_instant now = llc_instant_at(circuit, t);
    return llc_value(f, &now);
}

static double size_of(const llc_circuit *circuit, const llc_functional *f)
{
    return fabs(f->k) + fabs(f->p[0]) + fabs(f->p[2]) + fabs(f->p[1]) / circuit->fast.reach;
}

START_TEST(no_border_is_crossed_before_the_first)
{
    lottery luck = lottery_open("llc borders");
    int crossed = 0, free = 0, dips = 0;
    for (int k = 0; k < DRAWS; k++) {
        llc_circuits all;
        if (!draw_circuits(&luck, &all)) continue;
        const llc_circuit *kinds[4] = {&all.conducting[0], &all.conducting[1], &all.open[0], &all.open[1]};
        const llc_circuit *circuit = kinds[lottery_below(&luck, 4)];
        llc_borders borders = {.n = 1 + (int)lottery_below(&luck, 3)};
        bool armed = true;
        for (int j = 0; j < borders.n; j++) {
            draw_border(&luck, circuit, &borders.f[j]);
            armed &= value_at(circuit, &borders.f[j], 0.0) > 1e-6;
        }
        if (!armed) continue;
        double limit = lottery_scale(&luck, 0.05, 30.0) / circuit->fast.reach;
        double likely = lottery_below(&luck, 2) ? lottery_between(&luck, 0.0, limit) : 0.0;
        llc_place place;
        int which = llc_first_crossing(circuit, &borders, limit, likely, false, &place);
        double t = place.t;
        ck_assert(t <= limit && t >= 0.0);
        for (int j = 0; j < borders.n; j++) {
            const llc_functional *f = &borders.f[j];
            double size = size_of(circuit, f), least = 0.0;
            for (int i = 0; i < PLACES; i++) least = fmin(least, value_at(circuit, f, t * i / PLACES));
            ck_assert_msg(least >= -1e-11 * size, "seed %llu, draw %d: border %d was crossed before, by %g",
                          (unsigned long long)luck.seed, k, j, least / size);
            if (which != j) continue;
            llc_functional slope = llc_slope_of(circuit, f);
            ck_assert(fabs(value_at(circuit, f, t)) <= 1e-13 * size);
            ck_assert(value_at(circuit, &slope, t) <= 1e-5 * size * circuit->fast.reach);
            dips += value_at(circuit, f, fmin(t + 0.6 / circuit->fast.reach, limit)) > 0.0;
        }
        which < 0 ? free++ : crossed++;
        if (which < 0) ck_assert_double_eq(t, limit);
    }
    printf("llc border: %d stretches cross a border, %d of them in a dip, %d none\n", crossed, dips, free);
    ck_assert(crossed > DRAWS / 5 && free > DRAWS / 10 && dips > 0);
}
END_TEST

/* One that starts on a border counts it when it has been beyond, if it is reluctant; else at once, or after
 * the hump it rises by. */
START_TEST(a_border_at_the_start_counts_once_left)
{
    lottery luck = lottery_open("llc reluctant");
    int humps = 0;
    for (int k = 0; k < DRAWS; k++) {
        llc_circuits all;
        if (!draw_circuits(&luck, &all)) continue;
        const llc_circuit *circuit = &all.open[lottery_below(&luck, 2)];
        double rise = lottery_between(&luck, -1.0, 1.0), bend = lottery_between(&luck, -1.0, 1.0);
        llc_borders borders = {
            1, {{bend, {-bend, rise * circuit->fast.omega - bend * circuit->fast.a, 0.0, 0.0}}}};
        llc_place place;
        double limit = 5.0 / circuit->fast.omega;
        int later = llc_first_crossing(circuit, &borders, limit, 0.0, true, &place);
        double after = place.t;
        int which = llc_first_crossing(circuit, &borders, limit, 0.0, false, &place);
        double t = place.t;
        double size = size_of(circuit, &borders.f[0]);
        if (rise < -1e-3 && bend < 0.0) ck_assert(which == 0 && t <= 1e-9 * limit);
        if (rise < 1e-3) continue;
        humps++;
        ck_assert(t > 0.0);
        if (t > 1.2 / circuit->fast.reach) ck_assert(fabs(t - after) <= 1e-12 * limit && which == later);
        if (which == 0) ck_assert(fabs(value_at(circuit, &borders.f[0], t)) <= 1e-13 * size);
        for (int i = 1; i < 200; i++)
            ck_assert(value_at(circuit, &borders.f[0], t * i / 200) >= -1e-13 * size);
    }
    ck_assert_int_ge(humps, DRAWS / 4);
}
END_TEST

/* The cubic itself, at 1000 places. */
START_TEST(a_dip_is_the_lowest_place_of_its_cubic)
{
    lottery luck = lottery_open("llc dip");
    for (int k = 0; k < DRAWS; k++) {
        double v0 = lottery_between(&luck, 0.0, 1.0), v1 = lottery_between(&luck, 0.0, 1.0), where;
        double w0 = -lottery_between(&luck, 0.01, 3.0), w1 = lottery_between(&luck, 0.01, 3.0);
        double step = lottery_scale(&luck, 0.1, 10.0), lowest = v0;
        for (int i = 0; i <= 1000; i++) { /* Hermite's four */
            double u = i / 1000.0, r = 1.0 - u;
            double y = v0 * r * r * (1.0 + 2.0 * u) + v1 * u * u * (3.0 - 2.0 * u) +
                       step * u * r * (w0 * r - w1 * u);
            lowest = fmin(lowest, y);
        }
        ck_near(llc_dip(v0, w0, v1, w1, step, &where), lowest, 0, 1e-5 * (1.0 + step));
    }
}
END_TEST

/* Claims how a stretch ends, near the truth and beside it: what is granted is what looking along finds, and
 * most of what is true is granted. */
START_TEST(an_end_as_before_is_the_first_crossing)
{
    lottery luck = lottery_open("llc as before");
    int granted = 0, asked = 0, beyond = 0;
    for (int k = 0; k < DRAWS; k++) {
        llc_circuits all;
        if (!draw_circuits(&luck, &all)) continue;
        const llc_circuit *circuit = &(lottery_below(&luck, 2) ? all.conducting : all.open)[k % 2];
        llc_borders borders = {.n = 1 + (int)lottery_below(&luck, 4)};
        bool armed = true;
        for (int j = 0; j < borders.n; j++) {
            draw_border(&luck, circuit, &borders.f[j]);
            armed &= value_at(circuit, &borders.f[j], 0.0) > 1e-6;
        }
        if (!armed) continue;
        double limit = lottery_scale(&luck, 0.05, 12.0) / circuit->fast.reach;
        llc_place place, end;
        int which = llc_first_crossing(circuit, &borders, limit, 0.0, false, &place);
        double near = fmin(place.t * (1.0 + lottery_between(&luck, -1e-3, 1e-3)), limit);
        llc_before before = {which, circuit, {near, llc_instant_at(circuit, near)}};
        asked++;
        if (llc_ends_as(circuit, &borders, limit, &before, false, &end)) {
            llc_place trusted;
            granted++;
            ck_assert(llc_ends_as(circuit, &borders, limit, &before, true, &trusted) && trusted.t == end.t);
            ck_assert(fabs(end.t - place.t) <= 1e-10 * place.t);
        }
        if (which < 0) continue;
        before.border = -1; /* none of them is crossed, it says */
        ck_assert(!llc_ends_as(circuit, &borders, limit, &before, false, &end));
        before.border = (int)lottery_below(&luck, borders.n);
        before.end.t = lottery_between(&luck, 0.0, limit);
        before.circuit = NULL; /* of another circuit: its instant is not known */
        if (!llc_ends_as(circuit, &borders, limit, &before, false, &end)) continue;
        beyond++;
        ck_assert(before.border == which && fabs(end.t - place.t) <= 1e-10 * place.t);
    }
    printf("llc border: %d of %d ends as before granted, and %d from afar\n", granted, asked, beyond);
    ck_assert(granted > asked / 2 && beyond > 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, an_end_as_before_is_the_first_crossing);
    tcase_add_test(tests, no_border_is_crossed_before_the_first);
    tcase_add_test(tests, a_border_at_the_start_counts_once_left);
    tcase_add_test(tests, a_dip_is_the_lowest_place_of_its_cubic);
}

int main(void)
{
    return story_main("borders of a resonant stretch", fill);
}
