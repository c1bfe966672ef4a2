/* check_gap_places.c - a transformer's gap in the inner leg, the outer legs or all of them, against a field
 * solution in two dimensions. */
#include <math.h>

#include "core_window.h"
#include "magnetic_bench.h"
#include "story.h"

static const double pi = 3.14159265358979324;

/* Planar: half the inner leg 4 mm, window 5 x 12 mm; 3 and 2 layers of 16 turns of 0.4 mm, 0.6 mm apart,
 * layers 0.5 mm apart, 1.2 mm margins, 0.5 mm of insulation. */
enum { FIRST_LAYERS = 3, LAYERS = 5, HALF = 8, WIRES = LAYERS * HALF };
static const double layer_at[LAYERS] = {0.9e-3, 1.4e-3, 1.9e-3, 2.9e-3, 3.4e-3};
static const double radius = 0.2e-3, gap = 0.8e-3, permeability = 2300.0;
static const char *const places[] = {"centre_leg", "outer_legs", "all_legs"};

static void wind(magnetic_bench *bench, const char *place)
{
    magnetic_bench_list(bench, "turns", 2, (double[]){48, 32});
    magnetic_bench_list(bench, "layers", 2, (double[]){3, 2});
    magnetic_bench_list(bench, "build", 2, (double[]){1, 2});
    magnetic_bench_list(bench, "conductor_diameter", 1, (double[]){2.0 * radius});
    magnetic_bench_list(bench, "layer_pitch", 1, (double[]){0.5e-3});
    magnetic_bench_list(bench, "mean_turn_length", 1, (double[]){2.0});
    magnetic_bench_set(bench, "inductance", 1e-3);
    magnetic_bench_set(bench, "core_area", 64e-6); /* as deep as wide */
    magnetic_bench_set(bench, "relative_permeability", permeability);
    magnetic_bench_set(bench, "window_width", 12e-3);
    magnetic_bench_set(bench, "window_depth", 5e-3);
    magnetic_bench_set(bench, "winding_margin", 1.2e-3);
    magnetic_bench_set(bench, "winding_offset", layer_at[0]);
    magnetic_bench_set(bench, "insulation_distance", 0.5e-3);
    magnetic_bench_set(bench, "gap", gap);
    magnetic_bench_choose(bench, "gap_place", place);
    magnetic_bench_prepare(bench);
}

/* W per metre of turn and A^2 in `winding`, the other idle: every wire in a field that it does not disturb,
 * rho pi (R / delta)^4 H^2, and its own skin effect (J. Lammeraner, M. Stafl, Eddy Currents, 1966, ch. 4). */
static double solved(int place, int winding, double f)
{
    core_window w = {4e-3, 5e-3, 6e-3, 4e-3, 4e-3, 0.0, 0.0, permeability};
    double x[WIRES], y[WIRES], current[WIRES], square[WIRES], sum = 0.0;
    const double inner[] = {1.0, 0.0, 0.5};
    double rho = 1.7241e-8, ratio = radius * radius * pi * f * 1.25663706212e-6 / rho; /* (R / delta)^2 */
    w.inner_gap = inner[place] * gap;
    w.outer_gap = gap - w.inner_gap;
    for (int i = 0; i < WIRES; i++) {
        x[i] = layer_at[i / HALF];
        y[i] = (0.3 + 0.6 * (i % HALF)) * 1e-3;
        current[i] = (i / HALF < FIRST_LAYERS) == (winding == 0);
    }
    core_window_squares(&w, WIRES, x, y, current, square);
    for (int i = 0; i < WIRES; i++) {
        double skin = current[i] * rho / (pi * radius * radius) * ratio * ratio / 48.0;
        sum += 2.0 * (rho * pi * ratio * ratio * square[i] + skin);
    }
    return sum;
}

static double modelled(magnetic_bench *bench, int winding, double f)
{
    magnetic_bench_stress(bench, 1, 2, f);
    bench->current[winding][0] = magnetic_bench_sine(bench, f, 1.0);
    return magnetic_bench_loss(bench, 293.15).watts[HL_WINDING_AC] / 2.0; /* turns of 2 m */
}

/* At so low a frequency (R / delta = 0.15) the wires do not disturb the field. 2.5 % at most; half the grid's
 * step moves the solution by 0.2 %. */
START_TEST(every_place_of_the_gap_matches_the_field_solution)
{
    magnetic_bench *bench = magnetic_bench_create("transformer");
    const double f = 2.5e3;
    wind(bench, places[_i]);
    for (int winding = 0; winding < 2; winding++) {
        ck_near(modelled(bench, winding, f), solved(_i, winding, f), 0.03, 0);
    }
    magnetic_bench_destroy(bench);
}
END_TEST

/* The inductance that the gap leaves, stated in its place, tells the gap; without the window its field is
 * left out in a plan of one dimension, and that is told of. */
START_TEST(inductance_tells_the_gap_of_a_transformer)
{
    magnetic_bench *bench = magnetic_bench_create("transformer");
    double by_gap[2], by_inductance[2];
    wind(bench, places[_i]);
    magnetic_bench_unset(bench, "inductance");
    magnetic_bench_set(bench, "core_path_length", 40e-3);
    magnetic_bench_set(bench, "steinmetz_k", 1); /* any: a core without is told of as well */
    magnetic_bench_set(bench, "steinmetz_alpha", 1.5);
    magnetic_bench_set(bench, "steinmetz_beta", 2.5);
    magnetic_bench_prepare(bench);
    double inductance = magnetic_bench_terminal(bench, 293.15).inductance;
    for (int winding = 0; winding < 2; winding++) by_gap[winding] = modelled(bench, winding, 1e5);
    ck_assert(!(magnetic_bench_loss(bench, 293.15).flags & HL_FALLBACK));
    magnetic_bench_unset(bench, "gap");
    magnetic_bench_set(bench, "inductance", inductance);
    magnetic_bench_prepare(bench);
    for (int winding = 0; winding < 2; winding++) {
        by_inductance[winding] = modelled(bench, winding, 1e5);
        ck_near(by_inductance[winding], by_gap[winding], 1e-6, 0);
    }
    magnetic_bench_set(bench, "gap", 0);
    magnetic_bench_prepare(bench);
    ck_assert_double_lt(modelled(bench, 0, 1e5), 0.9 * by_gap[0]);
    magnetic_bench_unset(bench, "gap");
    magnetic_bench_unset(bench, "window_depth");
    magnetic_bench_prepare(bench);
    modelled(bench, 0, 1e5);
    ck_assert(magnetic_bench_loss(bench, 293.15).flags & HL_FALLBACK);
    magnetic_bench_destroy(bench);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_set_timeout(tests, 120);
    tcase_add_loop_test(tests, every_place_of_the_gap_matches_the_field_solution, 0, 3);
    tcase_add_loop_test(tests, inductance_tells_the_gap_of_a_transformer, 0, 3);
}

int main(void)
{
    return story_main("gap places", fill);
}
