/* check_layer_winding.c - ac resistance of foil layers against reference solutions of the field equation. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "../../plugins/magnetics/resistance_table.h"
#include "magnetic_bench.h"
#include "published.h"
#include "story.h"

static json_t *reference;
static magnetic_bench *bench;

static void set_up(void)
{
    json_error_t error;
    reference = json_load_file(HL_TEST_SOURCE "/reference/E_winding_open.json", 0, &error);
    if (!reference) ck_abort_msg("E_winding_open.json: %s", error.text);
    bench = magnetic_bench_create("gapped_inductor");
}

static void tear_down(void)
{
    magnetic_bench_destroy(bench);
    json_decref(reference);
}

static double number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    if (json_is_object(value)) value = json_object_get(value, "value");
    ck_assert_msg(json_is_number(value), "no number %s", key);
    return json_number_value(value);
}

static hl_wave wave_of(const json_t *in)
{
    const char *shape = json_string_value(json_object_get(in, "waveform"));
    const json_t *par = json_object_get(in, "par");
    double f = number(in, "f"), i = number(in, "I");
    if (strcmp(shape, "sine") == 0) return magnetic_bench_sine(bench, f, i);
    if (strcmp(shape, "square") == 0)
        return magnetic_bench_steps(bench, f, 2, (double[]){0.5, 0.5}, (double[]){i, -i});
    if (strcmp(shape, "rect_unipolar") == 0) {
        double duty = number(par, "duty");
        return magnetic_bench_steps(bench, f, 2, (double[]){duty, 1.0 - duty}, (double[]){i, 0.0});
    }
    if (strcmp(shape, "trapezoid") == 0) {
        double tr = number(par, "tr");
        return magnetic_bench_corners(bench, f, 5,
                                      (double[][2]){{0, -i}, {tr, i}, {0.5, i}, {0.5 + tr, -i}, {1, -i}});
    }
    if (strcmp(shape, "triangle") == 0)
        return magnetic_bench_corners(bench, f, 3, (double[][2]){{0, -i}, {number(par, "duty"), i}, {1, -i}});
    ck_assert_str_eq(shape, "triangle_unipolar");
    double d1 = number(par, "d1"), d2 = number(par, "d2");
    return magnetic_bench_corners(bench, f, 4, (double[][2]){{0, 0}, {d1, i}, {d1 + d2, 0}, {1, 0}});
}

/* F of one layer between the fields `start` and start + 1. */
static double resistance_factor(double thickness_over_depth, double start)
{
    ac_factor f = layer_factor(thickness_over_depth);
    double mean = start + 0.5;
    return 1.0 + f.own_excess + f.field * mean * mean;
}

/* The reference is a Chebyshev solution of the one-dimensional field equation, good to 1e-10. */
START_TEST(each_layer_matches_the_field_solution)
{
    size_t i, p;
    json_t *test, *layer;
    json_array_foreach(json_object_get(reference, "cases"), i, test)
    {
        json_t *in = json_object_get(test, "inputs"), *out = json_object_get(test, "outputs");
        double sum = 0.0, m = number(in, "m");
        json_array_foreach(json_object_get(json_object_get(out, "Fr_layers"), "value"), p, layer)
        {
            double f = resistance_factor(number(out, "h_over_delta"), number(in, "h0") + (double)p);
            ck_near(f, json_number_value(layer), 1e-10, 0);
            sum += f;
        }
        ck_near(sum / m, number(out, "Fr"), 1e-10, 0);
    }
    ck_assert_uint_eq(i, 13);
}
END_TEST

/* The same through the plugin: foil of the reference's conductivity, eta by its width, the start field -1 of
 * E15 by two portions. The reference cuts the wave off at harmonic K; the part of the direct-current loss it
 * so leaves out is added. */
START_TEST(plugin_gives_the_loss_of_every_wave)
{
    size_t i;
    json_t *test;
    json_array_foreach(json_object_get(reference, "cases"), i, test)
    {
        json_t *in = json_object_get(test, "inputs"), *out = json_object_get(test, "outputs");
        magnetic_bench_set(bench, "turns", number(in, "m"));
        magnetic_bench_set(bench, "core_area", 1e-4);
        magnetic_bench_set(bench, "inductance", 1e-5);
        magnetic_bench_choose(bench, "conductor", "foil");
        magnetic_bench_set(bench, "foil_thickness", number(in, "h"));
        magnetic_bench_set(bench, "window_width", 0.02);
        magnetic_bench_set(bench, "conductor_width", 0.02 * number(in, "eta"));
        magnetic_bench_set(bench, "mean_turn_length", 0.05);
        magnetic_bench_set(bench, "resistivity", 1.0 / number(in, "sigma"));
        magnetic_bench_set(bench, "harmonics", number(in, "K"));
        magnetic_bench_set(bench, "portions", number(in, "h0") == -1.0 ? 2.0 : 1.0);
        magnetic_bench_prepare(bench);
        double f = number(in, "f"), resistance = magnetic_bench_terminal(bench, 293.15).resistance;
        ck_near(resistance,
                number(in, "m") * 0.05 / (number(in, "sigma") * number(in, "h") * 0.02 * number(in, "eta")),
                1e-13, 0);
        magnetic_bench_stress(bench, 1, 1, f);
        bench->current[0][0] = wave_of(in);
        double power = magnetic_bench_watts(bench, 293.15) / resistance, expected;
        if (json_object_get(out, "P_over_Rdc")) {
            double all = number(out, "Irms_true"), used = number(out, "Irms_used");
            expected = number(out, "P_over_Rdc") + all * all - used * used;
        } else {
            expected = number(out, "Fr") * number(in, "I") * number(in, "I");
        }
        ck_near(power, expected, 1e-6, 0);
        magnetic_bench_check_slope(bench, 1e-6);
    }
}
END_TEST

/* L. H. Dixon, Magnetics Design Handbook, 2001, section 5: F 1.6 for six layers at thickness over depth
 * 0.625, and (read from the chart) 1.6 for 36 strand layers at 0.225, where the formula gives 1.37. */
START_TEST(published_layer_factors)
{
    ac_factor f = layer_factor(0.625);
    ck_published("L. H. Dixon, Magnetics Design Handbook, 2001, section 5, F of six layers at 0.625",
                 1.0 + f.own_excess + f.field * layer_mean_square_field(6), 1.6, 0, 0.05);
    f = layer_factor(0.225);
    ck_published(
        "L. H. Dixon, Magnetics Design Handbook, 2001, section 5, F of 36 layers at 0.225, by his formula",
        1.0 + f.own_excess + f.field * layer_mean_square_field(36), 1.369, 0, 0.001);
}
END_TEST

/* Both branches of the series meet, and a layer is never less lossy than at direct current. */
START_TEST(branches_meet)
{
    const double border[] = {1.0, 40.0};
    for (size_t i = 0; i < 2; i++) {
        ac_factor below = layer_factor(border[i] * (1 - 1e-13)), above = layer_factor(border[i]);
        ck_near(below.own_excess, above.own_excess, 1e-11, 0);
        ck_near(below.field, above.field, 1e-11, 0);
    }
    for (double d = 1e-4; d < 1e4; d *= 1.1) {
        ac_factor f = layer_factor(d);
        ck_assert(f.own_excess > 0.0 && f.field > 0.0 && isfinite(f.own_excess + f.field));
    }
}
END_TEST

/* D = sqrt(y) */
static ac_factor foil_at(const void *context, double y)
{
    (void)context;
    return layer_factor(sqrt(y));
}

/* Beyond its ends a table goes on from there as its shape does: with the square of the frequency below, with
 * the root above, and so do the slopes; inside it gives the factors back. */
START_TEST(table_goes_on_beyond_its_ends)
{
    static resistance_table table;
    static harmonic_series series;
    const double unit[LANES] = {1.0},
                 none[LANES] = {0.0}, *const own[] = {unit, none}, *const field[] = {none, unit};
    ck_assert(table_build(&table, 1.0, 24, foil_at, NULL));
    harmonic_series_prepare(&series, 1.0, false);
    const double end[] = {1e-3, 1e6}, beyond[] = {1e-3 / 1.01, 1e-5, 1.01e6, 1e8}, power[] = {2.0, 0.5};
    for (size_t i = 0; i < 4; i++) {
        double edge = end[i / 2], y = beyond[i], ratio = table_shape(y) / table_shape(edge);
        ac_factor f = layer_factor(sqrt(edge));
        table_sum one = table_read(&table, &series.places, y, 2, own, false);
        table_sum two = table_read(&table, &series.places, y, 2, field, true);
        ck_near(one.value, f.own_excess * ratio, 1e-9, 0);
        ck_near(two.value, f.field * ratio, 1e-9, 0);
        ck_near(one.slope, power[i / 2] * one.value, 1e-4, 0);
        ck_near(two.slope, power[i / 2] * two.value, 1e-4, 0);
        ck_assert_double_eq(two.first, 0.0);
    }
    for (double y = 1.2e-3; y < 1e6; y *= 2.7) {
        table_sum one = table_read(&table, &series.places, y, 2, own, true);
        ck_near(one.value, layer_factor(sqrt(y)).own_excess, 1e-6, 0);
        ck_assert_double_eq(one.first, one.value);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, each_layer_matches_the_field_solution);
    tcase_add_test(tests, plugin_gives_the_loss_of_every_wave);
    tcase_add_test(tests, published_layer_factors);
    tcase_add_test(tests, branches_meet);
    tcase_add_test(tests, table_goes_on_beyond_its_ends);
}

int main(void)
{
    return story_main("layer winding", fill);
}
