/* check_permeability.c - an inductance that turns and core cannot have is refused with numbers. */
#include <math.h>
#include <string.h>

#include "magnetic_bench.h"
#include "story.h"

static const double pi = 3.14159265358979324;
static magnetic_bench *bench;

static void set_up(void)
{
    bench = NULL;
}

static void tear_down(void)
{
    if (bench) magnetic_bench_destroy(bench);
}

static void state_turns(double turns)
{
    bool several = bench->model->n_parameters && strcmp(bench->model->name, "transformer") == 0;
    if (several)
        magnetic_bench_list(bench, "turns", 2, (double[]){turns, turns / 4.0});
    else
        magnetic_bench_set(bench, "turns", turns);
}

/* A core of 96.6 mm^2 and 4310 mm^3 (IEC 63093, RM 10) under 40 turns, wherever the model takes one. */
static void begin(const char *model)
{
    if (bench) magnetic_bench_destroy(bench);
    bench = magnetic_bench_create(model);
    state_turns(40);
    magnetic_bench_set(bench, "core_area", 96.6e-6);
    magnetic_bench_set(bench, "core_volume", 4.31e-6);
    if (strstr(model, "transformer"))
        magnetic_bench_list(bench, "dc_resistance", 2, (double[]){0.1, 0.01});
    else
        magnetic_bench_set(bench, "dc_resistance", 0.1);
    if (strcmp(model, "measured_transformer") == 0) magnetic_bench_set(bench, "turns_ratio", 4);
}

static void accepts(double inductance)
{
    magnetic_bench_set(bench, "inductance", inductance);
    const char *refusal = magnetic_bench_refusal(bench);
    ck_assert_msg(!refusal, "%s refuses %g H: %s", bench->model->name, inductance, refusal);
}

static void refuses(double inductance, const char *word)
{
    magnetic_bench_set(bench, "inductance", inductance);
    const char *refusal = magnetic_bench_refusal(bench);
    ck_assert_msg(refusal && strstr(refusal, word), "%s with %g H: no '%s' in: %s", bench->model->name,
                  inductance, word, refusal ? refusal : "accepted");
    ck_assert_uint_lt(strlen(refusal), sizeof(((hl_reason *)0)->text) - 1);
}

/* Of a ring of radius r and small section the field is even: L = mu0 mu N^2 A / (2 pi r) (any textbook), so
 * the implied permeability of such a ring is its own. */
static double ring(double permeability)
{
    double path = 2.0 * pi * 7.1e-3;
    magnetic_bench_set(bench, "core_path_length", path);
    return 4e-7 * pi * permeability * 40.0 * 40.0 * 96.6e-6 / path;
}

START_TEST(limits_stand_where_the_materials_end)
{
    static const struct {
        const char *model;
        double most;
    } models[] = {{"transformer", 20e3},          {"gapped_inductor", 20e3}, {"measured_inductor", 20e3},
                  {"measured_transformer", 20e3}, {"powder_inductor", 2000}, {"common_mode_choke", 200e3}};
    for (size_t i = 0; i < sizeof models / sizeof *models; i++) {
        begin(models[i].model);
        accepts(ring(1.01));
        accepts(ring(100.0));
        accepts(ring(0.99 * models[i].most));
        refuses(ring(1.01 * models[i].most), "at most");
        refuses(ring(0.99), "less than in air");
    }
}
END_TEST

/* Path from volume and area; what was meant is said, up and down, by a thousand and by a million. */
START_TEST(slips_of_unit_are_answered_with_what_was_meant)
{
    static const char *const models[] = {"transformer", "gapped_inductor", "measured_inductor",
                                         "measured_transformer"};
    for (size_t i = 0; i < sizeof models / sizeof *models; i++) {
        begin(models[i]);
        accepts(450e-6);
        refuses(450e-3, "did you mean 450 uH?");
        refuses(450e-3, "permeability 103373");
        refuses(450e-9, "did you mean 450 uH?");
        accepts(20e-3); /* without a gap, of a permeability of 4600 */
    }
    begin("gapped_inductor");
    refuses(0.9, "did you mean 900 uH?");
    begin("common_mode_choke");
    accepts(50e-3);
    refuses(50.0, "did you mean 50 mH?");
    begin("transformer");
    magnetic_bench_unset(bench, "core_volume");
    accepts(450e-3); /* nothing to go by */
}
END_TEST

/* An inductance factor is per turn squared: 75 nH of permeability 26 on this ring, not 75 uH. */
START_TEST(inductance_factor_is_looked_at_too)
{
    begin("powder_inductor");
    magnetic_bench_set(bench, "inductance_factor", 75e-9);
    magnetic_bench_prepare(bench);
    magnetic_bench_set(bench, "inductance_factor", 75e-6);
    const char *refusal = magnetic_bench_refusal(bench);
    ck_assert_msg(refusal && strstr(refusal, "inductance_factor"), "%s", refusal ? refusal : "accepted");
}
END_TEST

/* A nanocrystalline core saturates above a tesla, or its permeability is stated: then it may have 80000. */
START_TEST(cores_of_metal_may_have_more)
{
    begin("measured_transformer");
    refuses(ring(80e3), "or state saturation_flux");
    magnetic_bench_curve(bench, "saturation_flux", 2, (double[]){298.15, 373.15}, (double[]){0.49, 0.39});
    refuses(ring(80e3), "or state saturation_flux");
    magnetic_bench_curve(bench, "saturation_flux", 2, (double[]){298.15, 373.15}, (double[]){1.23, 1.15});
    accepts(ring(80e3));
    refuses(ring(201e3), "such a core");
    begin("transformer");
    magnetic_bench_set(bench, "relative_permeability", 60e3);
    accepts(ring(80e3));
    refuses(ring(121e3), "120000");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_test(tests, limits_stand_where_the_materials_end);
    tcase_add_test(tests, slips_of_unit_are_answered_with_what_was_meant);
    tcase_add_test(tests, inductance_factor_is_looked_at_too);
    tcase_add_test(tests, cores_of_metal_may_have_more);
}

int main(void)
{
    return story_main("permeability", fill);
}
