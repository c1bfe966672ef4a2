/* check_gapped_inductor.c - inductance, resistance and losses of a gapped core with one winding. */
#include <math.h>
#include <string.h>

#include "magnetic_bench.h"
#include "magnetic_properties.h"
#include "published.h"
#include "story.h"

static const double pi = 3.14159265358979324;
static magnetic_bench *bench;

static void set_up(void)
{
    bench = magnetic_bench_create("gapped_inductor");
    magnetic_bench_set(bench, "turns", 40);
    magnetic_bench_set(bench, "core_area", 1.2e-4);
    magnetic_bench_set(bench, "core_volume", 7e-6);
    magnetic_bench_set(bench, "inductance", 250e-6);
    magnetic_bench_set(bench, "conductor_diameter", 0.8e-3);
    magnetic_bench_set(bench, "mean_turn_length", 0.06);
    magnetic_bench_set(bench, "window_width", 20e-3);
    magnetic_bench_set(bench, "layers", 2);
    magnetic_bench_set(bench, "steinmetz_k", 3.1);
    magnetic_bench_set(bench, "steinmetz_alpha", 1.38);
    magnetic_bench_set(bench, "steinmetz_beta", 2.52);
    magnetic_bench_set(bench, "steinmetz_ct0", 2.0);
    magnetic_bench_set(bench, "steinmetz_ct1", 0.02);
    magnetic_bench_set(bench, "steinmetz_ct2", 1.25e-4);
    magnetic_bench_curve(bench, "saturation_flux", 2, (double[]){298.15, 373.15}, (double[]){0.49, 0.39});
}

static void tear_down(void)
{
    magnetic_bench_destroy(bench);
}

/* Ripple of a boost stage along the mains half-wave, continuous conduction. */
static void boost_stress(size_t cycles)
{
    double f = 67e3, crest = 163.0, out = 393.0, inductance = 250e-6, peak = 4.0;
    magnetic_bench_stress(bench, cycles, 1, f);
    for (size_t k = 0; k < cycles; k++) {
        double s = sin(pi * ((double)k + 0.5) / (double)cycles), v = crest * s, duty = 1.0 - v / out;
        double half = 0.5 * v * duty / (f * inductance), mean = peak * s;
        bench->flux[k] =
            magnetic_bench_steps(bench, f, 2, (double[]){duty, 1.0 - duty}, (double[]){v, v - out});
        bench->current[0][k] = magnetic_bench_corners(
            bench, f, 3, (double[][2]){{0, mean - half}, {duty, mean + half}, {1, mean - half}});
    }
    bench->stress.total_peak = 4.8;
    bench->stress.total_rms = 2.9;
}

/* New England Wire Technologies, Litz Wire Technical Information, magnet-wire table, for 1.7241e-8 ohm m:
 * ohm per 1000 ft by the ideal diameter 5 mil 92^((36 - n) / 39) rounded as printed (inch). */
START_TEST(resistance_of_the_wire_table)
{
    const double inch[] = {0.1019, 0.0641, 0.0403, 0.032, 0.0201, 0.0126, 0.01, 0.008, 0.005, 0.0031};
    const double printed[] = {0.9987, 2.524, 6.386, 10.13, 25.67, 65.31, 103.7, 162, 414.8, 1079};
    magnetic_bench_set(bench, "turns", 1000);
    magnetic_bench_set(bench, "inductance", 150e-3);
    magnetic_bench_set(bench, "mean_turn_length", 0.3048);
    for (size_t i = 0; i < sizeof inch / sizeof *inch; i++) {
        magnetic_bench_set(bench, "conductor_diameter", inch[i] * 0.0254);
        magnetic_bench_prepare(bench);
        ck_published("New England Wire Technologies, Litz Wire Technical Information, magnet-wire table: ohm "
                     "per 1000 ft, by winding",
                     magnetic_bench_terminal(bench, 293.15).resistance, printed[i], 0.0006, 0);
    }
    /* L. H. Dixon, 2001, p. 5-15: AWG 40 at 100 degC 0.046 ohm/cm with 2.3e-8 ohm m (IEC 60028: 2.266e-8) */
    magnetic_bench_set(bench, "turns", 1);
    magnetic_bench_set(bench, "inductance", 150e-9);
    magnetic_bench_set(bench, "mean_turn_length", 0.01);
    magnetic_bench_set(bench, "conductor_diameter", 79.9e-6);
    magnetic_bench_prepare(bench);
    ck_published("L. H. Dixon, Magnetics Design Handbook, 2001, section 5, p. 5-15: gauge 40 at 100 degC by "
                 "winding, ohm/cm",
                 magnetic_bench_terminal(bench, 373.15).resistance, 0.046, 0.02, 0);
}
END_TEST

/* IEC 60028: 0.00393 per kelvin at 20 degC; 2e-8 ohm m at 60 degC (C. R. Sullivan, R. Y. Zhang, APEC 2014).
 */
START_TEST(copper_follows_the_standard_over_temperature)
{
    magnetic_bench_prepare(bench);
    double cold = magnetic_bench_terminal(bench, 293.15).resistance;
    ck_near(magnetic_bench_terminal(bench, 373.15).resistance / cold, 1.0 + 0.00393 * 80.0, 1e-12, 0);
    ck_published("C. R. Sullivan, R. Y. Zhang, APEC 2014: copper at 60 degC, ohm m",
                 1.7241e-8 * magnetic_bench_terminal(bench, 333.15).resistance / cold, 2e-8, 0.003, 0);
}
END_TEST

/* The line would reach nil at 38.7 K: it is held at a twentieth, from 51.4 K down, and not before. */
START_TEST(copper_never_falls_to_nothing)
{
    magnetic_bench_prepare(bench);
    double cold = magnetic_bench_terminal(bench, 293.15).resistance;
    ck_near(magnetic_bench_terminal(bench, 52.15).resistance / cold, 1.0 - 0.00393 * 241.0, 1e-12, 0);
    ck_near(magnetic_bench_terminal(bench, 45.0).resistance / cold, 0.05, 1e-12, 0);
    ck_near(magnetic_bench_terminal(bench, 4.0).resistance / cold, 0.05, 1e-12, 0);
}
END_TEST

/* L. H. Dixon, 2001, section 5: 6.8 uH with 6 turns on 0.97 cm^2. The printed 0.080 cm does not follow from
 * the printed formula, which gives 0.0736 cm (a round leg of that area is 1.11 cm wide, he takes 1.08). */
START_TEST(gap_gives_published_inductance)
{
    magnetic_bench_unset(bench, "inductance");
    magnetic_bench_unset(bench, "window_width");
    magnetic_bench_set(bench, "turns", 6);
    magnetic_bench_set(bench, "core_area", 0.97e-4);
    magnetic_bench_set(bench, "gap", 0.736e-3);
    magnetic_bench_prepare(bench);
    ck_published("L. H. Dixon, Magnetics Design Handbook, 2001, section 5, inductance of a gapped core, H",
                 magnetic_bench_terminal(bench, 300.0).inductance, 6.8e-6, 0.01, 0);
}
END_TEST

/* Two-dimensional axisymmetric field solution (tests/reference/winding2d_open.json, WG01): 54 turns, leg 4 mm
 * in radius, gap 0.8 mm, window 12 mm: 312.5 uH. */
START_TEST(gap_gives_inductance_of_the_field_solution)
{
    magnetic_bench_unset(bench, "inductance");
    magnetic_bench_set(bench, "turns", 54);
    magnetic_bench_set(bench, "core_area", pi * 16e-6);
    magnetic_bench_set(bench, "gap", 0.8e-3);
    magnetic_bench_set(bench, "window_width", 12e-3);
    magnetic_bench_prepare(bench);
    ck_near(magnetic_bench_terminal(bench, 300.0).inductance, 312.5e-6, 0.04, 0);
}
END_TEST

START_TEST(slope_is_exact)
{
    magnetic_bench_prepare(bench);
    boost_stress(32);
    magnetic_bench_check_slope(bench, 1e-6);
    for (int shape = 1; shape < 4; shape++) {
        const char *const words[] = {"round", "litz", "foil", "flat"};
        magnetic_bench_choose(bench, "conductor", words[shape]);
        magnetic_bench_set(bench, "strands", 60);
        magnetic_bench_set(bench, "strand_diameter", 0.1e-3);
        magnetic_bench_set(bench, "foil_thickness", 0.1e-3);
        magnetic_bench_set(bench, "conductor_width", shape == 3 ? 0.8e-3 : 18e-3);
        magnetic_bench_prepare(bench);
        magnetic_bench_check_slope(bench, 1e-6);
    }
}
END_TEST

/* The mean of each cycle, which follows the mains, loses as direct current: for a sine half-wave I^2 R / 2.
 */
START_TEST(slow_current_loses_by_dc_resistance)
{
    magnetic_bench_prepare(bench);
    double r = magnetic_bench_terminal(bench, 320.0).resistance;
    boost_stress(64);
    for (size_t k = 0; k < 64; k++)
        bench->current[0][k] = magnetic_bench_steps(bench, 67e3, 1, (double[]){1.0},
                                                    (double[]){4.0 * sin(pi * ((double)k + 0.5) / 64.0)});
    hl_loss loss = magnetic_bench_loss(bench, 320.0);
    ck_near(loss.watts[HL_WINDING_DC], 8.0 * r, 1e-12, 0);
    ck_near(loss.watts[HL_WINDING_AC], 0.0, 0, 1e-20);
}
END_TEST

/* Core goes as flux to the power beta, winding as current squared. */
START_TEST(losses_scale_as_they_must)
{
    magnetic_bench_prepare(bench);
    boost_stress(16);
    hl_loss once = magnetic_bench_loss(bench, 350.0);
    for (size_t i = 0; i < bench->used; i++) {
        bench->segments[i].offset *= 1.5;
        bench->segments[i].slope *= 1.5;
    }
    hl_loss more = magnetic_bench_loss(bench, 350.0);
    ck_near(more.watts[HL_CORE], once.watts[HL_CORE] * pow(1.5, 2.52), 1e-12, 0);
    ck_near(more.watts[HL_WINDING_AC], once.watts[HL_WINDING_AC] * 2.25, 1e-12, 0);
    ck_near(more.watts[HL_WINDING_DC], once.watts[HL_WINDING_DC] * 2.25, 1e-12, 0);
}
END_TEST

/* B = L I / (N A); the rating falls with temperature. */
START_TEST(saturation_is_checked_at_the_peak_current)
{
    magnetic_bench_prepare(bench);
    boost_stress(8);
    hl_limit cold = magnetic_bench_limit(bench, "peak flux density", 298.15);
    ck_near(cold.value, 250e-6 * 4.8 / (40 * 1.2e-4), 1e-12, 0);
    ck_near(cold.rated, 0.49, 1e-12, 0);
    ck_near(magnetic_bench_limit(bench, "peak flux density", 335.65).rated, 0.44, 1e-12, 0);
}
END_TEST

START_TEST(refusals_say_what_is_missing)
{
    magnetic_bench_unset(bench, "mean_turn_length");
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "mean_turn_length"));
    magnetic_bench_set(bench, "dc_resistance", 0.05);
    ck_assert_ptr_null(magnetic_bench_refusal(bench));
    magnetic_bench_unset(bench, "inductance");
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "gap"));
    magnetic_bench_set(bench, "inductance", 1e-4);
    magnetic_bench_unset(bench, "steinmetz_beta");
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "steinmetz_beta"));
}
END_TEST

START_TEST(no_number_is_refused_by_name)
{
    const char *const names[] = {"core_area", "turns", "gap", "conductor_diameter", "steinmetz_ct2"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        for (int infinite = 0; infinite < 2; infinite++) {
            magnetic_bench_set(bench, names[i], infinite ? HUGE_VAL : NAN);
            const char *refusal = magnetic_bench_refusal(bench);
            ck_assert_msg(refusal && strstr(refusal, names[i]), "%s: %s", names[i], refusal);
            magnetic_bench_set(bench, names[i], 1e-3);
        }
}
END_TEST

/* Without wire data only the dc resistance counts, and that is flagged: not of a current so slow that it
 * makes no difference. */
START_TEST(missing_wire_data_is_flagged)
{
    magnetic_bench_prepare(bench);
    boost_stress(8);
    ck_assert(!(magnetic_bench_loss(bench, 320.0).flags & HL_AC_LEFT_OUT));
    magnetic_bench_unset(bench, "conductor_diameter");
    magnetic_bench_unset(bench, "mean_turn_length");
    magnetic_bench_set(bench, "dc_resistance", 0.05);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 1, 50.0);
    bench->current[0][0] = magnetic_bench_sine(bench, 50.0, 1.0);
    ck_assert(!(magnetic_bench_loss(bench, 320.0).flags & HL_AC_LEFT_OUT));
    boost_stress(8);
    hl_loss loss = magnetic_bench_loss(bench, 320.0);
    ck_assert(loss.flags & HL_FALLBACK);
    ck_assert(loss.flags & HL_AC_LEFT_OUT);
    ck_near(loss.watts[HL_WINDING_AC], 0.0, 0, 0);
    ck_assert(loss.watts[HL_WINDING_DC] > 0.0);
}
END_TEST

/* The resistance tells the diameter: whoever states the one that two wires of 0.5 mm have by the wire table's
 * law (resistance_of_the_wire_table) loses as one who states 0.5 mm, and is told that it is rough. */
START_TEST(resistance_stands_for_the_diameter)
{
    magnetic_bench_set(bench, "gap", 0); /* else its field is left out, without a window, and told as rough */
    magnetic_bench_set(bench, "parallel_wires", 2);
    magnetic_bench_set(bench, "conductor_diameter", 0.5e-3);
    magnetic_bench_prepare(bench);
    boost_stress(8);
    hl_loss stated = magnetic_bench_loss(bench, 320.0);
    double copper = magnetic_bench_terminal(bench, 293.15).resistance;
    ck_near(copper, 1.7241e-8 * 40 * 0.06 / (2 * 0.25 * pi * 0.25e-6), 1e-12, 0);
    magnetic_bench_unset(bench, "conductor_diameter");
    magnetic_bench_set(bench, "dc_resistance", copper);
    magnetic_bench_prepare(bench);
    hl_loss found = magnetic_bench_loss(bench, 320.0);
    ck_near(found.watts[HL_WINDING_DC], stated.watts[HL_WINDING_DC], 1e-12, 0);
    ck_near(found.watts[HL_WINDING_AC], stated.watts[HL_WINDING_AC], 1e-9, 0);
    ck_assert_double_gt(found.watts[HL_WINDING_AC], 0.1 * found.watts[HL_WINDING_DC]);
    ck_assert(found.flags & HL_FALLBACK);
    ck_assert(!(stated.flags & HL_FALLBACK));
}
END_TEST

START_TEST(random_inductors_behave)
{
    magnetic_properties("gapped_inductor", 300, 1);
}
END_TEST

START_TEST(cost_per_cycle)
{
    magnetic_bench_prepare(bench);
    boost_stress(32);
    magnetic_cost(bench, "gapped_inductor, boost stage, 40 harmonics");
}
END_TEST

/* With the window known, what the gap's field adds to layers in an evenly rising one stands apart; without a
 * gap the core takes the ampere-turns along all its walls, the field is lower and nothing stands apart. The
 * sum is what windows_of_one_winding_... in check_round_wire.c compares with field solutions. */
static void set_window(void)
{
    magnetic_bench_unset(bench, "inductance");
    magnetic_bench_set(bench, "core_path_length", 60e-3);
    magnetic_bench_set(bench, "core_area", 1e-4);
    magnetic_bench_set(bench, "turns", 40);
    magnetic_bench_set(bench, "conductor_diameter", 0.5e-3);
    magnetic_bench_set(bench, "layers", 2);
    magnetic_bench_set(bench, "mean_turn_length", 50e-3);
    magnetic_bench_set(bench, "window_width", 14e-3);
    magnetic_bench_set(bench, "window_depth", 6e-3);
}

START_TEST(fringing_is_booked_apart)
{
    double ac[2], fringing[2];
    set_window();
    for (int i = 0; i < 2; i++) {
        magnetic_bench_set(bench, "gap", i ? 1e-3 : 0.0);
        magnetic_bench_prepare(bench);
        magnetic_bench_stress(bench, 1, 1, 1e5);
        bench->current[0][0] = magnetic_bench_sine(bench, 1e5, 1.0);
        hl_loss loss = magnetic_bench_loss(bench, 350.0);
        ac[i] = loss.watts[HL_WINDING_AC];
        fringing[i] = loss.watts[HL_FRINGING];
    }
    ck_assert_msg(fringing[1] > 0.2 * ac[1], "fringing %g W beside %g W", fringing[1], ac[1]);
    ck_assert_msg(ac[0] < ac[1] && fringing[0] < 0.01 * ac[0], "without a gap %g W ac and %g W fringing",
                  ac[0], fringing[0]);
    magnetic_bench_check_slope(bench, 1e-6);
}
END_TEST

/* Who states the inductance that a gap of 1 mm leaves has that gap's field at the wires; it was none before.
 * A core that holds no more than its own permeability has no gap. */
START_TEST(inductance_tells_the_gap)
{
    hl_loss loss[3];
    set_window();
    for (int i = 0; i < 3; i++) {
        double own = 4e-7 * pi * 1600 * 1e-4 * 2000 / 60e-3; /* without a gap: mu0 mu_r N^2 A / l */
        if (i) magnetic_bench_unset(bench, "gap");
        if (!i) magnetic_bench_set(bench, "gap", 1e-3);
        if (i == 2) magnetic_bench_set(bench, "inductance", own);
        magnetic_bench_prepare(bench);
        if (!i) magnetic_bench_set(bench, "inductance", magnetic_bench_terminal(bench, 293.15).inductance);
        magnetic_bench_stress(bench, 1, 1, 1e5);
        bench->current[0][0] = magnetic_bench_sine(bench, 1e5, 1.0);
        loss[i] = magnetic_bench_loss(bench, 350.0);
    }
    ck_assert_double_gt(loss[0].watts[HL_FRINGING], 0);
    ck_near(loss[1].watts[HL_FRINGING], loss[0].watts[HL_FRINGING], 1e-6, 0);
    ck_near(loss[1].watts[HL_WINDING_AC], loss[0].watts[HL_WINDING_AC], 1e-6, 0);
    ck_assert_double_lt(loss[2].watts[HL_FRINGING], 0.01 * loss[2].watts[HL_WINDING_AC]);
}
END_TEST

/* Without the window what a gap's field does to the wires is left out, and that is told of; a gap is known of
 * when it is stated or when the inductance is far below the core's own. */
START_TEST(a_field_left_out_is_told_of)
{
    const double own = 4e-7 * pi * 1600 * 1e-4 * 2000 / 60e-3;
    static const struct {
        double gap, inductance; /* 0: not stated; the second in shares of the core's own */
        bool told;
    } cases[] = {{1e-3, 0, true}, {0, 0.1, true}, {0, 0.9, false}, {0, 2, false}};
    set_window();
    magnetic_bench_unset(bench, "window_depth");
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        magnetic_bench_unset(bench, "gap");
        magnetic_bench_unset(bench, "inductance");
        if (cases[i].gap > 0) magnetic_bench_set(bench, "gap", cases[i].gap);
        if (cases[i].inductance > 0) magnetic_bench_set(bench, "inductance", cases[i].inductance * own);
        magnetic_bench_prepare(bench);
        boost_stress(4);
        ck_assert_msg(!(magnetic_bench_loss(bench, 350.0).flags & HL_FALLBACK) == !cases[i].told, "case %zu",
                      i);
    }
}
END_TEST

/* What the parameters' meanings promise of figures that are not stated: 40 harmonics, layers 1.15 wires
 * apart. */
START_TEST(what_is_not_stated_is_as_the_table_says)
{
    magnetic_bench_prepare(bench);
    boost_stress(4);
    double silent = magnetic_bench_watts(bench, 353.15);
    static const struct {
        const char *parameter;
        double promised, another;
    } defaults[] = {{"harmonics", 40, 3}, {"layer_pitch", 1.15 * 0.8e-3, 1.6e-3}};
    for (size_t i = 0; i < sizeof defaults / sizeof *defaults; i++) {
        magnetic_bench_set(bench, defaults[i].parameter, defaults[i].promised);
        magnetic_bench_prepare(bench);
        ck_near(magnetic_bench_watts(bench, 353.15), silent, 1e-12, 0);
        magnetic_bench_set(bench, defaults[i].parameter, defaults[i].another);
        magnetic_bench_prepare(bench);
        ck_assert_double_gt(fabs(magnetic_bench_watts(bench, 353.15) / silent - 1), 1e-5);
        magnetic_bench_unset(bench, defaults[i].parameter);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, resistance_of_the_wire_table);
    tcase_add_test(tests, copper_follows_the_standard_over_temperature);
    tcase_add_test(tests, copper_never_falls_to_nothing);
    tcase_add_test(tests, inductance_tells_the_gap);
    tcase_add_test(tests, a_field_left_out_is_told_of);
    tcase_add_test(tests, gap_gives_published_inductance);
    tcase_add_test(tests, gap_gives_inductance_of_the_field_solution);
    tcase_add_test(tests, fringing_is_booked_apart);
    tcase_add_test(tests, slope_is_exact);
    tcase_add_test(tests, slow_current_loses_by_dc_resistance);
    tcase_add_test(tests, losses_scale_as_they_must);
    tcase_add_test(tests, saturation_is_checked_at_the_peak_current);
    tcase_add_test(tests, refusals_say_what_is_missing);
    tcase_add_test(tests, no_number_is_refused_by_name);
    tcase_add_test(tests, what_is_not_stated_is_as_the_table_says);
    tcase_add_test(tests, missing_wire_data_is_flagged);
    tcase_add_test(tests, resistance_stands_for_the_diameter);
    tcase_add_test(tests, random_inductors_behave);
    tcase_add_test(tests, cost_per_cycle);
}

int main(void)
{
    return story_main("gapped inductor", fill);
}
