/* check_llc_lines.c - lines of a resonant half wave against sums over many of its places. */
#pragma GCC diagnostic ignored "-Wunused-function" /* the stage has use for all of them */
#include "../../plugins/stages/llc_lines.h"

#include <stdint.h>

#include "lottery.h"
#include "story.h"

enum { DRAWS = 300, PLACES = 4000 };

static const double pi = 3.14159265358979324;

/* A half wave from any state on, periodic or not: 0.3 to 3 half waves of the tank, with a dead time in two of
 * three and an output capacitor in one of two. */
static bool draw(lottery *luck, int k, llc_circuits *all, llc_half *half)
{
    llc_tank tank = {.input = 400.0,
                     .series = lottery_scale(luck, 1e-5, 3e-4),
                     .ratio = lottery_scale(luck, 1.0, 20.0),
                     .primary_resistance = lottery_scale(luck, 0.01, 1.0)};
    double omega = 2.0 * pi * lottery_scale(luck, 5e4, 5e5);
    tank.magnetizing = tank.series * lottery_scale(luck, 2.0, 15.0);
    tank.capacitance = 1.0 / (tank.series * omega * omega);
    double impedance = omega * tank.series, per_turn = 1.0 / (tank.ratio * tank.ratio);
    tank.secondary_resistance = impedance * lottery_scale(luck, 1e-4, 3e-2) * per_turn;
    half->half = lottery_scale(luck, 0.3, 3.0) * pi / omega;
    if (k % 3) {
        tank.node_capacitance = tank.capacitance * lottery_scale(luck, 1e-3, 3e-2);
        tank.dead_time = 0.1 * half->half;
    }
    if (k % 2) {
        tank.output_capacitance = tank.capacitance / per_turn * lottery_scale(luck, 30.0, 3000.0);
        tank.output_esr = tank.secondary_resistance;
        tank.load_conductance = 0.3 / (impedance * per_turn);
    }
    if (!llc_prepare(&tank, all)) return false;
    double current = 200.0 / impedance, voltage = lottery_scale(luck, 120.0, 250.0);
    half->start[LLC_IM] = -current * lottery_scale(luck, 0.01, 0.5);
    half->start[LLC_IR] = half->start[LLC_IM];
    half->start[LLC_U] = -voltage * lottery_scale(luck, 0.1, 1.5);
    half->start[LLC_VO] = voltage / tank.ratio;
    return llc_walk_half(all, half, NULL, LLC_PLAIN);
}

/* Amplitude squared over two by Simpson's rule on every stretch. */
static double line_by_places(const llc_half *half, int line, double *mean_square)
{
    double re = 0.0, im = 0.0, square = 0.0;
    for (int k = 0; k < half->n; k++) {
        const llc_stretch *stretch = &half->stretch[k];
        const llc_functional current = llc_watch_state(stretch, LLC_IR, 1.0);
        for (int i = 0; i <= PLACES; i++) {
            double share = (i == 0 || i == PLACES ? 1.0 : i % 2 ? 4.0 : 2.0) / (3.0 * PLACES);
            double t = stretch->duration * i / PLACES, weight = share * stretch->duration / half->half;
            llc_instant now = llc_instant_at(stretch->circuit, t);
            double value = llc_value(&current, &now), angle = line * pi * (stretch->start + t) / half->half;
            re += 2.0 * weight * value * cos(angle);
            im -= 2.0 * weight * value * sin(angle);
            square += weight * value * value;
        }
    }
    *mean_square = square;
    return 0.5 * (re * re + im * im);
}

START_TEST(lines_are_those_of_many_places)
{
    lottery luck = lottery_open("llc lines");
    int solved = 0, stretches = 0;
    double worst = 0.0;
    for (int k = 0; k < DRAWS; k++) {
        llc_circuits all;
        llc_half half;
        double line[LLC_LINES], whole;
        if (!draw(&luck, k, &all, &half) || !llc_resonant_lines(&half, line)) continue;
        for (int i = 0; i < LLC_LINES; i++) {
            double exact = line_by_places(&half, 2 * i + 1, &whole), off = fabs(line[i] - exact) / whole;
            ck_assert_msg(off < 1e-11, "seed %llu, draw %d, line %d: %.17g A^2, by many places %.17g",
                          (unsigned long long)luck.seed, k, 2 * i + 1, line[i], exact);
            worst = fmax(worst, off);
        }
        solved++;
        stretches += half.n;
    }
    printf("llc lines: off by %.2g of the mean square at most, %d half waves of %d stretches\n", worst,
           solved, stretches);
    ck_assert(solved > DRAWS / 2 && stretches > 2 * solved);
}
END_TEST

/* Without resistance, at the tank's resonance: left to the wave. */
START_TEST(a_line_that_meets_the_ringing_is_told)
{
    llc_tank tank = {.input = 400.0, .series = 1e-4, .magnetizing = 1e-3, .capacitance = 1e-8, .ratio = 8.0};
    llc_circuits all;
    double line[LLC_LINES], half = pi / 1e6;
    for (int k = 0; k < 2; k++) {
        llc_half wave = {.half = half * (k ? 1.1 : 1.0), .start = {-0.2, -0.2, -210.0, 25.0}};
        ck_assert(llc_prepare(&tank, &all) && llc_walk_half(&all, &wave, NULL, LLC_PLAIN));
        ck_assert_int_eq(llc_resonant_lines(&wave, line), k);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, lines_are_those_of_many_places);
    tcase_add_test(tests, a_line_that_meets_the_ringing_is_told);
}

int main(void)
{
    return story_main("resonant lines", fill);
}
