/* check_transformer.c - several windings on one core, each in the field of all. */
#include <math.h>
#include <string.h>

#include "../../plugins/magnetics/layer_winding.h"
#include "magnetic_bench.h"
#include "magnetic_properties.h"
#include "published.h"
#include "story.h"

static const double pi = 3.14159265358979324;
static magnetic_bench *bench;

/* Foil transformer 3 : 3, so that every figure has a closed form. */
static void set_up(void)
{
    bench = magnetic_bench_create("transformer");
    magnetic_bench_list(bench, "turns", 2, (double[]){3, 3});
    magnetic_bench_set(bench, "inductance", 100e-6);
    magnetic_bench_set(bench, "core_area", 1e-4);
    magnetic_bench_choose(bench, "conductor", "foil foil");
    magnetic_bench_list(bench, "foil_thickness", 2, (double[]){0.2e-3, 0.2e-3});
    magnetic_bench_list(bench, "conductor_width", 2, (double[]){20e-3, 20e-3});
    magnetic_bench_set(bench, "window_width", 20e-3);
    magnetic_bench_list(bench, "mean_turn_length", 1, (double[]){60e-3});
}

static void tear_down(void)
{
    magnetic_bench_destroy(bench);
}

static double depth(double f)
{
    return sqrt(1.7241e-8 / (pi * f * 1.25663706212e-6));
}

static void sines(double f, double first, double second)
{
    magnetic_bench_stress(bench, 1, 2, f);
    bench->current[0][0] = magnetic_bench_sine(bench, f, first);
    bench->current[1][0] = magnetic_bench_sine(bench, f, second);
}

static double factor_at(double f, double mean_square)
{
    ac_factor a = layer_factor(0.2e-3 / depth(f));
    return 1.0 + a.own_excess + a.field * mean_square;
}

/* With the secondary opposing, a plan "1 2" gives each winding the field of its own portion: the same as
 * without a plan. Interleaved "1 2 1" halves the portions of the first; the second has the field's zero in
 * its middle. P. L. Dowell, 1966. */
START_TEST(plans_give_the_fields_of_portions)
{
    double f = 150e3;
    for (int plan = 0; plan < 3; plan++) {
        if (plan == 1) magnetic_bench_list(bench, "build", 2, (double[]){1, 2});
        if (plan == 2) magnetic_bench_list(bench, "build", 3, (double[]){1, 2, 1});
        magnetic_bench_prepare(bench);
        sines(f, 2.0, -2.0);
        double r = magnetic_bench_terminal(bench, 293.15).winding_resistance[0];
        double first = factor_at(f, layer_mean_square_field(plan == 2 ? 1.5 : 3));
        double second = factor_at(f, plan == 2 ? 8.0 / 12.0 : layer_mean_square_field(3));
        ck_near(magnetic_bench_watts(bench, 293.15), r * 4.0 * (first + second), 1e-6, 0);
    }
}
END_TEST

/* A winding without current between two that carry it loses in their field all the same: 3 layers at the full
 * field of 3 ampere-turns. */
START_TEST(idle_winding_loses_in_the_field_of_others)
{
    double f = 150e3;
    magnetic_bench_list(bench, "turns", 3, (double[]){3, 3, 3});
    magnetic_bench_choose(bench, "conductor", "foil");
    magnetic_bench_list(bench, "build", 3, (double[]){1, 2, 3});
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 3, f);
    bench->current[0][0] = magnetic_bench_sine(bench, f, 2.0);
    bench->current[2][0] = magnetic_bench_sine(bench, f, -2.0);
    double r = magnetic_bench_terminal(bench, 293.15).winding_resistance[0];
    double busy = factor_at(f, layer_mean_square_field(3));
    double idle = layer_factor(0.2e-3 / depth(f)).field * 9.0;
    hl_loss loss = magnetic_bench_loss(bench, 293.15);
    ck_near(loss.watts[HL_WINDING_AC], r * 4.0 * (2.0 * (busy - 1.0) + idle), 1e-6, 0);
    ck_near(loss.watts[HL_WINDING_DC], r * 8.0, 1e-12, 0);
    magnetic_bench_check_slope(bench, 1e-6);
}
END_TEST

/* Currents a quarter period apart (no balance, gap in the inner leg): in the second winding, outermost, the
 * field starts at what is left outside, N2 I2, and the first winding's part has no say there. */
START_TEST(gap_in_the_inner_leg_starts_the_field)
{
    double f = 150e3;
    magnetic_bench_list(bench, "build", 2, (double[]){1, 2});
    magnetic_bench_set(bench, "gap", 0.5e-3);
    magnetic_bench_choose(bench, "gap_place", "centre_leg");
    magnetic_bench_prepare(bench);
    sines(f, 0.0, 2.0);
    double r = magnetic_bench_terminal(bench, 293.15).winding_resistance[0];
    double full = layer_factor(0.2e-3 / depth(f)).field * 9.0; /* the idle first winding, below all */
    double own = factor_at(f, layer_mean_square_field(3));
    ck_near(magnetic_bench_watts(bench, 293.15), r * 4.0 * (full + own), 1e-6, 0);
    magnetic_bench_choose(bench, "gap_place", "outer_legs");
    magnetic_bench_prepare(bench);
    ck_near(magnetic_bench_watts(bench, 293.15), r * 4.0 * own, 1e-6, 0);
}
END_TEST

/* L. H. Dixon, Magnetics Design Handbook, 2001, section 5, continuous flyback: secondary 6 turns of strip 15
 * mm x 0.15 mm, 36.6 cm long: printed 3.7 mohm; primary 30 turns of litz 150 x AWG 40, 183 cm: 56.7 mohm,
 * both with 2.3e-8 ohm m. Factors at 100 kHz 1.6 for the strip (six layers, chart), and for the litz 1.6 by
 * the chart where the layer formula for its 36 strand layers gives 1.37; the litz is taken here as a square
 * array of strands 1.5 cm wide in all, in three layers. */
START_TEST(published_flyback_windings)
{
    magnetic_bench_list(bench, "turns", 2, (double[]){30, 6});
    magnetic_bench_choose(bench, "conductor", "litz foil");
    magnetic_bench_list(bench, "strands", 2, (double[]){150, 1});
    magnetic_bench_list(bench, "strand_diameter", 2, (double[]){79.9e-6, 79.9e-6});
    magnetic_bench_list(bench, "foil_thickness", 2, (double[]){0.15e-3, 0.15e-3});
    magnetic_bench_list(bench, "conductor_width", 2, (double[]){15e-3, 15e-3});
    magnetic_bench_list(bench, "mean_turn_length", 2, (double[]){61e-3, 61e-3});
    magnetic_bench_list(bench, "layers", 2, (double[]){3, 6});
    magnetic_bench_set(bench, "window_width", 15e-3);
    magnetic_bench_set(bench, "resistivity", 2.3e-8);
    magnetic_bench_prepare(bench);
    hl_terminal t = magnetic_bench_terminal(bench, 293.15);
    ck_published(
        "L. H. Dixon, Magnetics Design Handbook, 2001, section 5, continuous flyback: secondary, ohm",
        t.winding_resistance[1], 3.7e-3, 0.012, 0);
    /* his wire table makes the strand 0.7 % thinner than the rule of AWG does */
    ck_published("L. H. Dixon, Magnetics Design Handbook, 2001, section 5, continuous flyback: primary, ohm",
                 t.winding_resistance[0], 56.7e-3, 0.014, 0);
    ck_near(t.turns_ratio, 5.0, 1e-12, 0);
    sines(100e3, 0.0, 1.0);
    ck_published(
        "L. H. Dixon, Magnetics Design Handbook, 2001, section 5, continuous flyback: F of the strip",
        magnetic_bench_watts(bench, 293.15) / t.winding_resistance[1], 1.6, 0.01, 0);
    sines(100e3, 1.0, 0.0);
    ck_published("L. H. Dixon, Magnetics Design Handbook, 2001, section 5, continuous flyback: F of the litz "
                 "by the layer formula",
                 magnetic_bench_watts(bench, 293.15) / t.winding_resistance[0], 1.369, 0.03, 0);
}
END_TEST

/* Leakage of two foil windings: mu0 N^2 l / b (sum of heights / 3 + insulation). */
START_TEST(leakage_from_the_geometry)
{
    magnetic_bench_list(bench, "layer_pitch", 1, (double[]){0.25e-3});
    magnetic_bench_set(bench, "insulation_distance", 0.3e-3);
    magnetic_bench_prepare(bench);
    double expected = 1.25663706212e-6 * 9 * 0.06 / 0.02 * (1.5e-3 / 3 + 0.3e-3);
    ck_near(magnetic_bench_terminal(bench, 300.0).leakage, expected, 1e-9, 0);
    magnetic_bench_list(bench, "portions", 2, (double[]){2, 1});
    magnetic_bench_prepare(bench);
    expected = 1.25663706212e-6 * 9 * 0.06 / 0.02 / 4 * (1.5e-3 / 3 + 0.6e-3);
    ck_near(magnetic_bench_terminal(bench, 300.0).leakage, expected, 1e-9, 0);
}
END_TEST

/* Each winding for itself: the round one's diameter follows from its resistance, the litz beside it is as
 * stated. */
START_TEST(round_wire_beside_litz_is_found_from_its_resistance)
{
    double watts[2];
    magnetic_bench_list(bench, "turns", 2, (double[]){30, 6});
    magnetic_bench_choose(bench, "conductor", "litz round");
    magnetic_bench_list(bench, "strands", 2, (double[]){60, 60});
    magnetic_bench_list(bench, "strand_diameter", 2, (double[]){0.1e-3, 0.1e-3});
    double each = 1.7241e-8 * 6 * 60e-3 / (0.25 * pi * 0.64e-6);
    for (int found = 0; found < 2; found++) {
        if (found)
            magnetic_bench_unset(bench, "conductor_diameter");
        else
            magnetic_bench_list(bench, "conductor_diameter", 2, (double[]){0.1e-3, 0.8e-3});
        magnetic_bench_list(bench, "dc_resistance", 2, (double[]){0.1, each});
        magnetic_bench_prepare(bench);
        sines(100e3, 1.0, -5.0);
        watts[found] = magnetic_bench_loss(bench, 320.0).watts[HL_WINDING_AC];
        ck_assert(!(magnetic_bench_loss(bench, 320.0).flags & HL_AC_LEFT_OUT));
    }
    ck_near(watts[1], watts[0], 1e-9, 0);
    ck_assert_double_gt(watts[1], 0.0);
}
END_TEST

START_TEST(wrong_plans_are_refused)
{
    magnetic_bench_list(bench, "build", 2, (double[]){1, 3});
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "build"));
    magnetic_bench_list(bench, "build", 2, (double[]){1, 1});
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "winding 2"));
    magnetic_bench_unset(bench, "build");
    magnetic_bench_list(bench, "turns", 2, (double[]){30, 5});
    magnetic_bench_list(bench, "dc_resistance", 1, (double[]){0.5});
    ck_assert_ptr_nonnull(
        strstr(magnetic_bench_refusal(bench), "dc_resistance lists 1 value for the 2 windings"));
    magnetic_bench_list(bench, "dc_resistance", 3, (double[]){0.5, 0.01, 0.01});
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "dc_resistance lists 3 values for the 2"));
}
END_TEST

START_TEST(random_transformers_behave)
{
    magnetic_properties("transformer", 60, 2);
    magnetic_properties("transformer", 60, 5);
}
END_TEST

START_TEST(cost_per_cycle)
{
    magnetic_bench_list(bench, "build", 2, (double[]){1, 2});
    magnetic_bench_prepare(bench);
    double f = 100e3;
    magnetic_bench_stress(bench, 16, 2, f);
    for (size_t k = 0; k < 16; k++) {
        bench->flux[k] = magnetic_bench_steps(bench, f, 2, (double[]){0.4, 0.6}, (double[]){100, -66.7});
        bench->current[0][k] =
            magnetic_bench_corners(bench, f, 4, (double[][2]){{0, 0}, {0.4, 3}, {0.4, 0}, {1, 0}});
        bench->current[1][k] =
            magnetic_bench_corners(bench, f, 4, (double[][2]){{0, 0}, {0.4, 0}, {0.4, -3}, {1, 0}});
    }
    magnetic_cost(bench, "transformer, flyback with plan, 40 harmonics");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, plans_give_the_fields_of_portions);
    tcase_add_test(tests, idle_winding_loses_in_the_field_of_others);
    tcase_add_test(tests, gap_in_the_inner_leg_starts_the_field);
    tcase_add_test(tests, published_flyback_windings);
    tcase_add_test(tests, leakage_from_the_geometry);
    tcase_add_test(tests, round_wire_beside_litz_is_found_from_its_resistance);
    tcase_add_test(tests, wrong_plans_are_refused);
    tcase_add_test(tests, random_transformers_behave);
    tcase_add_test(tests, cost_per_cycle);
}

int main(void)
{
    return story_main("transformer", fill);
}
