/* check_llc_waves.c - segments of a resonant conduction against the solution they are cut from. */
#pragma GCC diagnostic ignored "-Wunused-function" /* the stage has use for all of them */
#include "../../plugins/stages/llc_waves.h"

#include <stdint.h>

#include "lottery.h"
#include "story.h"

enum { DRAWS = 2000, PLACES = 97 };

/* A conduction of 0.3 to 1.2 half waves of the tank, from no current on, with up to the tank's own current.
 */
static bool draw(lottery *luck, llc_circuits *all, llc_half *half)
{
    llc_tank tank = {.input = 400.0,
                     .series = lottery_scale(luck, 1e-5, 3e-4),
                     .ratio = lottery_scale(luck, 1.0, 20.0),
                     .primary_resistance = lottery_scale(luck, 0.01, 1.0)};
    double omega = 6.28318530717958648 * lottery_scale(luck, 5e4, 5e5);
    lanes x;
    tank.magnetizing = tank.series * lottery_scale(luck, 2.0, 15.0);
    tank.capacitance = 1.0 / (tank.series * omega * omega);
    double impedance = omega * tank.series;
    tank.secondary_resistance = impedance * lottery_scale(luck, 1e-4, 3e-2) / (tank.ratio * tank.ratio);
    if (!llc_prepare(&tank, all)) return false;
    double time = lottery_scale(luck, 0.3, 1.2) * 3.14159265358979324 / omega;
    double voltage = 0.5 * tank.input * lottery_scale(luck, 0.8, 1.1);
    x[LLC_IR] = x[LLC_IM] = -0.5 * voltage * time / tank.magnetizing;
    x[LLC_U] = -voltage - 0.5 * tank.input * lottery_scale(luck, 0.01, 1.0);
    x[LLC_VO] = voltage / tank.ratio;
    half->n = 1;
    llc_begin(all, &half->stretch[0], 1, LLC_ON, &x);
    llc_place end = {time, llc_instant_at(half->stretch[0].circuit, time)};
    llc_end_stretch(&half->stretch[0], &end);
    return true;
}

/* A curve without what the segments do to it. */
static llc_functional functional_of(const llc_circuits *all, const llc_stretch *stretch, llc_curve curve)
{
    if (curve == LLC_RECTIFIED) return llc_watch_rectified(stretch, all->tank.ratio * stretch->sign);
    llc_functional current = llc_watch_state(stretch, LLC_IM, all->tank.magnetizing);
    return llc_slope_of(stretch->circuit, &current);
}

/* Fewer than the most pieces: within 1e-7 of the current in the middle, all along; and the borders meet. That
 * it comes near that bound shows that the law of the error is sharp. */
static void compare_curve(llc_curve curve, bool fine, int usual)
{
    lottery luck = lottery_open("llc waves");
    llc_circuits all;
    llc_half half;
    double nearest = 0.0;
    int cut[LLC_PIECES_MAX + 1] = {0};
    for (int k = 0; k < DRAWS; k++) {
        hl_segment written[LLC_CURVES][LLC_PIECES_MAX], *const pieces[] = {written[0], written[1], written[2],
                                                                           written[3]};
        const hl_segment *piece = pieces[curve];
        llc_cuts with, whole;
        if (!draw(&luck, &all, &half)) continue;
        const llc_stretch *stretch = &half.stretch[0];
        llc_cut(&all, &half, &with, &whole);
        llc_write_curves(&all, &half, &whole, &with, pieces);
        const llc_cuts cuts = fine ? with : whole;
        llc_functional exact = functional_of(&all, stretch, curve);
        llc_instant middle = llc_instant_at(stretch->circuit, 0.5 * stretch->duration);
        double bound = 1e-7 * fabs(llc_value(&exact, &middle)), most = 0.0,
               last = piece[0].offset + piece[0].cosine;
        cut[cuts.total]++;
        for (size_t i = 0; i < cuts.total; i++)
            for (int j = 0; j <= PLACES; j++) {
                double own = piece[i].duration * j / PLACES, t = piece[i].duration * (double)i + own;
                llc_instant now = llc_instant_at(stretch->circuit, t);
                double value = hl_segment_at(&piece[i], own);
                most = fmax(most, fabs(value - llc_value(&exact, &now)));
                if (j == 0)
                    ck_assert_msg(fabs(value - last) <= 1e-3 * bound, "seed %llu: step of %g A",
                                  (unsigned long long)luck.seed, value - last);
                last = value;
            }
        if (cuts.total == LLC_PIECES_MAX) continue;
        nearest = fmax(nearest, most / bound);
        ck_assert_msg(most <= bound, "seed %llu, draw %d: off by %g A in %zu pieces, bound %g A",
                      (unsigned long long)luck.seed, k, most, cuts.total, bound);
    }
    printf("llc waves: off by %.2f of the bound at most; pieces 1 to %d:", nearest, (int)LLC_PIECES_MAX);
    for (int n = 1; n <= LLC_PIECES_MAX; n++) printf(" %d", cut[n]);
    printf("\n");
    ck_assert(nearest > 0.5 && cut[1] + cut[2] > 0 && cut[usual] > 0);
}

START_TEST(a_conduction_is_off_by_a_ten_millionth)
{
    compare_curve(LLC_RECTIFIED, true, 4);
}
END_TEST

/* So is the core's voltage, which takes fewer pieces. */
START_TEST(a_core_voltage_is_off_by_a_ten_millionth)
{
    compare_curve(LLC_CORE, false, 2);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_conduction_is_off_by_a_ten_millionth);
    tcase_add_test(tests, a_core_voltage_is_off_by_a_ten_millionth);
}

int main(void)
{
    return story_main("resonant waves", fill);
}
