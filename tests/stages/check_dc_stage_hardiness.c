/* check_dc_stage_hardiness.c - no input, however absurd, makes a dc-fed stage crash, hang or answer with no
 * number. */
#include <math.h>
#include <string.h>

#include "dc_stage.h"
#include "story.h"

static const char *const models[] = {"synchronous_buck", "boost", "four_switch_buck_boost",
                                     "lc_output_filter", "output_switch"};
enum { MODELS = sizeof models / sizeof *models };

/* Mostly plausible, now and then anything a double can be. */
static double wild(lottery *luck, double low, double high)
{
    static const double absurd[] = {0.0,       -1.0,  1e-300, 1e300, NAN,   INFINITY,
                                    -INFINITY, 1e-15, 1e15,   -1e-9, 5e-324};
    if (lottery_below(luck, 12)) return lottery_scale(luck, low, high);
    return absurd[lottery_below(luck, sizeof absurd / sizeof *absurd)];
}

static void deal_parts(stage_bench *bench, lottery *luck)
{
    for (size_t s = 0; s < bench->model->stage->n_slots; s++) {
        const hl_slot *slot = &bench->model->stage->slots[s];
        hl_family family = HL_FAMILY_SWITCH;
        for (int f = 0; f < HL_FAMILIES; f++)
            if (slot->families & HL_FITS(f) && (family == HL_FAMILY_SWITCH || lottery_below(luck, 2)))
                family = (hl_family)f;
        hl_terminal *part = stage_bench_fill(bench, slot->name, family, (unsigned)lottery_below(luck, 4));
        part->resistance = part->winding_resistance[0] = wild(luck, 1e-3, 1.0);
        part->voltage = family == HL_FAMILY_DIODE ? wild(luck, 0.1, 1.0) : 0.0;
        part->reverse_voltage = wild(luck, 0.1, 2.0);
        part->reverse_resistance = wild(luck, 1e-3, 1.0);
        part->inductance = wild(luck, 1e-8, 1e-3);
        part->output_charge = wild(luck, 1e-10, 1e-6);
    }
}

static void deal(stage_bench *bench, lottery *luck)
{
    for (size_t p = 0; p < bench->model->n_parameters; p++) {
        const hl_parameter *parameter = &bench->model->parameters[p];
        if (parameter->kind == HL_CHOICE) {
            stage_bench_set(bench, parameter->name, (double)lottery_below(luck, 2));
        } else if (lottery_below(luck, 3)) {
            double low = fmax(parameter->low, 1e-9), high = fmax(parameter->high, 2.0 * low);
            stage_bench_set(bench, parameter->name, wild(luck, low, high));
        } else {
            stage_bench_unset(bench, parameter->name);
        }
    }
    deal_parts(bench, luck);
    bench->in.input_voltage = wild(luck, 1.0, 100.0);
    bench->in.output_capacitance = wild(luck, 1e-9, 1e-2);
    bench->in.output_esr = wild(luck, 1e-4, 1.0);
    bench->in.input_capacitance = wild(luck, 1e-9, 1e-2);
    bench->in.extra_loss = wild(luck, 1e-3, 10.0);
    stage_bench_load(bench, wild(luck, 0.5, 100.0), wild(luck, 1e-4, 50.0));
}

START_TEST(absurd_inputs_are_answered_or_refused)
{
    size_t n = dc_stage_points(), solved = 0;
    lottery luck = lottery_open(models[_i]);
    stage_bench *bench = stage_bench_create(models[_i], NULL);
    for (size_t k = 0; k < n; k++) {
        deal(bench, &luck);
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED) {
            ck_assert_msg(strlen(bench->out.reason.text) > 20, "seed %llu, point %zu gives no reason",
                          luck.seed, k);
            continue;
        }
        solved++;
        const char *fault = stage_bench_fault(bench, INFINITY);
        if (fault) ck_abort_msg("%s, seed %llu, point %zu: %s", models[_i], luck.seed, k, fault);
    }
    printf("%s: %zu of %zu absurd settings solved\n", models[_i], solved, n);
    ck_assert_uint_gt(solved, 0);
    stage_bench_destroy(bench);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, absurd_inputs_are_answered_or_refused, 0, MODELS);
}

int main(void)
{
    return story_main("dc_stage_hardiness", fill);
}
