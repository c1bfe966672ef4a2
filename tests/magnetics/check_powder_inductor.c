/* check_powder_inductor.c - a core whose permeability falls with bias. */
#include <math.h>
#include <string.h>

#include "magnetic_bench.h"
#include "magnetic_properties.h"
#include "published.h"
#include "story.h"

static magnetic_bench *bench;
static const double oersted = 79.57747154594767; /* A/m */

/* Toroid of permeability 60, 67.8 mm^2, 89.8 mm; field at 80 % and 50 % of the permeability 45 and 100 Oe.
 * source: Magnetics, data sheet of a 60 mu toroid (as printed; limit values) */
static void set_up(void)
{
    bench = magnetic_bench_create("powder_inductor");
    magnetic_bench_set(bench, "turns", 64);
    magnetic_bench_set(bench, "core_area", 67.8e-6);
    magnetic_bench_set(bench, "core_path_length", 89.8e-3);
    magnetic_bench_set(bench, "relative_permeability", 60);
    magnetic_bench_curve(bench, "permeability_over_bias", 3, (double[]){0, 45 * oersted, 100 * oersted},
                         (double[]){1.0, 0.8, 0.5});
    magnetic_bench_set(bench, "conductor_diameter", 1e-3);
    magnetic_bench_set(bench, "mean_turn_length", 50e-3);
    magnetic_bench_set(bench, "window_width", 70e-3);
    magnetic_bench_set(bench, "layers", 1);
    magnetic_bench_set(bench, "loss_density", 525e3);
    magnetic_bench_set(bench, "loss_frequency", 100e3);
    magnetic_bench_set(bench, "loss_flux", 0.1);
    magnetic_bench_set(bench, "steinmetz_alpha", 1.3);
    magnetic_bench_set(bench, "steinmetz_beta", 2.0);
}

static void tear_down(void)
{
    magnetic_bench_destroy(bench);
}

/* The data sheet's 56 nH per turn squared (8 %) and 6090 mm^3. */
START_TEST(inductance_factor_of_the_data_sheet)
{
    magnetic_bench_prepare(bench);
    ck_published("Magnetics, data sheet of a 60 mu toroid: inductance factor, H",
                 magnetic_bench_terminal(bench, 300.0).inductance / (64.0 * 64.0), 56e-9, 0.02, 0);
    magnetic_bench_set(bench, "inductance_factor", 56e-9);
    magnetic_bench_prepare(bench);
    ck_near(magnetic_bench_terminal(bench, 300.0).inductance, 56e-9 * 4096, 1e-12, 0);
    ck_published("Magnetics, data sheet of a 60 mu toroid: volume, m^3", 67.8e-6 * 89.8e-3, 6090e-9, 0.0005,
                 0);
}
END_TEST

/* Its limit loss: 525 kW/m^3 at 100 mT and 100 kHz, on its volume. */
START_TEST(loss_at_the_data_sheet_point)
{
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 0, 100e3);
    double linkage = 0.1 * 64 * 67.8e-6;
    bench->flux[0] = magnetic_bench_sine(bench, 100e3, 2 * 3.14159265358979324 * 100e3 * linkage / sqrt(2.0));
    ck_published("Magnetics, data sheet of a 60 mu toroid: loss at 100 mT and 100 kHz, W",
                 magnetic_bench_watts(bench, 373.15), 525e3 * 6090e-9, 0.001, 0);
}
END_TEST

/* N I / path = 45 Oe leaves 80 %. */
START_TEST(bias_takes_inductance)
{
    magnetic_bench_prepare(bench);
    double free = magnetic_bench_terminal(bench, 300.0).inductance, current = 45 * oersted * 89.8e-3 / 64;
    magnetic_bench_set(bench, "bias_current", current);
    magnetic_bench_prepare(bench);
    ck_near(magnetic_bench_terminal(bench, 300.0).inductance, 0.8 * free, 1e-12, 0);
    magnetic_bench_stress(bench, 1, 1, 1e5);
    bench->stress.total_peak = 100 * oersted * 89.8e-3 / 64;
    hl_limit lost = magnetic_bench_limit(bench, "permeability lost at peak current", 300.0);
    ck_near(lost.value, 0.5, 1e-12, 0);
    ck_near(lost.rated, 0.5, 0, 0);
}
END_TEST

/* B = mu0 mu integral of the share: to 45 Oe a trapezoid of mean 0.9. */
START_TEST(flux_density_is_the_integral_of_permeability)
{
    magnetic_bench_set(bench, "saturation_flux", 1.0);
    magnetic_bench_prepare(bench);
    magnetic_bench_stress(bench, 1, 1, 1e5);
    bench->stress.total_peak = 45 * oersted * 89.8e-3 / 64;
    ck_near(magnetic_bench_limit(bench, "peak flux density", 300.0).value,
            1.25663706212e-6 * 60 * 0.9 * 45 * oersted, 1e-9, 0);
}
END_TEST

START_TEST(field_needs_a_path)
{
    magnetic_bench_unset(bench, "core_path_length");
    magnetic_bench_set(bench, "core_volume", 6e-6);
    ck_assert_ptr_nonnull(strstr(magnetic_bench_refusal(bench), "core_path_length"));
}
END_TEST

START_TEST(random_inductors_behave)
{
    magnetic_properties("powder_inductor", 200, 1);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, inductance_factor_of_the_data_sheet);
    tcase_add_test(tests, loss_at_the_data_sheet_point);
    tcase_add_test(tests, bias_takes_inductance);
    tcase_add_test(tests, flux_density_is_the_integral_of_permeability);
    tcase_add_test(tests, field_needs_a_path);
    tcase_add_test(tests, random_inductors_behave);
}

int main(void)
{
    return story_main("powder inductor", fill);
}
