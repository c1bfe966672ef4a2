/* check_old_abi.c - a plugin built against the first header of ABI 1 loads and gives the same bits as when
 * built today, and so does one whose tables have grown; no member has moved since (docs/abi.md has the
 * rules). */
#include <string.h>

#include "command_run.h"
#include "heatledger/catalogue.h"
#include "layout.h"
#include "lottery.h"
#include "story.h"

#define BUILT HL_TEST_BUILD "/tests/old_abi/"
static const char *const builds[] = {BUILT "today_plugin.so", BUILT "old_plugin.so", BUILT "later_plugin.so"};
enum { BUILDS = sizeof builds / sizeof *builds };

static const layout_row layout_today[] = {LAYOUT_ROWS{NULL, 0, false}};

START_TEST(no_member_has_moved_since_the_first_header)
{
    size_t n = 0;
    for (; layout_1[n].what; n++) {
        const layout_row *then = &layout_1[n], *now = &layout_today[n];
        ck_assert_str_eq(then->what, now->what);
        ck_assert_msg(then->grows ? now->value >= then->value : now->value == then->value,
                      "%s was %zu and is %zu: that is another ABI", then->what, then->value, now->value);
    }
    ck_assert_ptr_null(layout_today[n].what);
    ck_assert_uint_ge(n, 150);
}
END_TEST

static hl_host *load(const char *path)
{
    hl_host *host = hl_host_create();
    hl_diagnostics *said = hl_diagnostics_create();
    hl_status status = hl_host_load(host, path, said);
    ck_assert_msg(status == HL_OK, "%s: %s", path,
                  hl_diagnostics_count(said) ? hl_diagnostics_text(said, 0) : "");
    hl_diagnostics_destroy(said);
    return host;
}

START_TEST(its_tables_read_the_same)
{
    hl_host *today = load(builds[0]);
    for (int b = 1; b < BUILDS; b++) {
        hl_host *other = load(builds[b]);
        ck_assert_uint_eq(hl_host_models(other), 2);
        for (size_t m = 0; m < 2; m++) {
            const hl_model *one = hl_host_model(today, m), *two = hl_host_model(other, m);
            ck_assert_str_eq(one->name, two->name);
            ck_assert_uint_eq(one->n_parameters, two->n_parameters);
            for (size_t i = 0; i < one->n_parameters; i++) {
                const hl_parameter *p = hl_model_parameter(one, i), *q = hl_model_parameter(two, i);
                ck_assert_str_eq(p->name, q->name);
                ck_assert(p->low == q->low && p->high == q->high && p->fallback == q->fallback);
                ck_assert_str_eq(p->source, q->source);
            }
            for (size_t i = 0; one->stage && i < one->stage->n_slots; i++)
                ck_assert_str_eq(hl_stage_slot(one->stage, i)->meaning,
                                 hl_stage_slot(two->stage, i)->meaning);
        }
        hl_host_destroy(other);
    }
    hl_host_destroy(today);
}
END_TEST

/* Watts of the bar in each build for one random stress. */
static void losses(hl_host *const host[], lottery *luck)
{
    double weight[3] = {0.2, 0.5, 0.3}, rms[3], state[BUILDS][8];
    for (int k = 0; k < 3; k++) rms[k] = lottery_between(luck, 0.0, 5.0);
    hl_value values[2] = {{.number = lottery_scale(luck, 1e-3, 1.0), .given = true},
                          {.number = 0.004, .given = true}};
    hl_stress stress = {.struct_size = sizeof stress,
                        .n = 3,
                        .weight = weight,
                        .current_rms = rms,
                        .total_rms = lottery_between(luck, 0.0, 5.0)};
    double temperature = lottery_between(luck, 250.0, 420.0);
    hl_loss loss[BUILDS];
    memset(loss, 0, sizeof loss);
    for (int b = 0; b < BUILDS; b++) {
        const hl_device *device = hl_host_find(host[b], "old_bar")->device;
        hl_reason reason;
        ck_assert_uint_le(device->state_size(values), sizeof state[b]);
        ck_assert(device->prepare(state[b], values, &reason));
        loss[b].struct_size = sizeof loss[b];
        device->loss(state[b], &stress, temperature, &loss[b]);
        ck_assert_msg(!memcmp(&loss[b], &loss[0], sizeof loss[0]),
                      "seed %llu: build %d says %.17g, today's %.17g", luck->seed, b,
                      loss[b].watts[HL_CONDUCTION], loss[0].watts[HL_CONDUCTION]);
    }
    ck_assert(loss[0].watts[HL_CONDUCTION] > 0.0 && loss[0].slope > 0.0);
}

START_TEST(its_losses_are_the_same_bits)
{
    lottery luck = lottery_open("old abi");
    hl_host *host[BUILDS];
    for (int b = 0; b < BUILDS; b++) host[b] = load(builds[b]);
    for (int i = 0; i < 1000; i++) losses(host, &luck);
    for (int b = 0; b < BUILDS; b++) hl_host_destroy(host[b]);
}
END_TEST

/* The whole way: parts from a file, the stage solved with its bus, heat, books. */
START_TEST(a_whole_point_solves_to_the_same_text)
{
    command_output today = {0};
    for (int b = 0; b < BUILDS; b++) {
        command_output output = command_run((const char *const[]){
            "solve", HL_TEST_SOURCE "/plugin/old_abi/path.lua", "--json", "--plugins", builds[b], NULL});
        ck_assert_msg(output.code == 0, "%s: exit %d\n%s", builds[b], output.code, output.error);
        if (b == 0)
            today = output;
        else
            ck_assert_str_eq(output.out, today.out);
        if (b) command_free(&output);
    }
    ck_assert(strstr(today.out, "\"solved\"") && strstr(today.out, "path"));
    command_free(&today);
}
END_TEST

START_TEST(prove_passes_the_old_and_the_later_one)
{
    for (int b = 1; b < BUILDS; b++) {
        command_output output =
            command_run((const char *const[]){"prove", builds[b], "--model", "old_bar", NULL});
        ck_assert_msg(output.code == 0, "%s\n%s", builds[b], output.out);
        command_free(&output);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, no_member_has_moved_since_the_first_header);
    tcase_add_test(tests, its_tables_read_the_same);
    tcase_add_test(tests, its_losses_are_the_same_bits);
    tcase_add_test(tests, a_whole_point_solves_to_the_same_text);
    tcase_add_test(tests, prove_passes_the_old_and_the_later_one);
}

int main(void)
{
    return story_main("old abi", fill);
}
