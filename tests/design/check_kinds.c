/* check_kinds.c - a slot that asks for a kind takes no other part: where it is placed, as an alternative,
 * from a table of parts, in a swap; a stranger's part that claims the kind fits. */
#include <jansson.h>
#include <string.h>

#include "command_json.h"
#include "heatledger/heatledger.h"
#include "scratch_folder.h"
#include "story.h"

#define ADAPTER    HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua"
#define OWN_FUSE   HL_TEST_BUILD "/tests/own_fuse/own_fuse.so"
#define OLD_PLUGIN HL_TEST_BUILD "/tests/old_abi/old_plugin.so"

static const char parts[] =
    "parts:\n"
    "  fuse: { model: fuse, cold_resistance: 50 mohm, rated_current: 2 A }\n"
    "  thermistor: { model: inrush_thermistor, cold_resistance: 10 ohm }\n"
    "  fixed: { model: inrush_thermistor, cold_resistance: 10 ohm, resistance_curve: 10 ohm }\n"
    "  varistor: { model: varistor, rated_voltage: 300 V }\n"
    "  bleeder: { model: resistor, resistance: 2 Mohm, connection: across }\n"
    "  trace: { model: trace, length: 20 mm, width: 5 mm }\n"
    "  cord: { model: wire, length: 2 m, gauge: 18 }\n"
    "  x1: { model: safety_film_capacitor, capacitance: 220 nF, rated_ac_voltage: 275 V, safety_class: x1 }\n"
    "  x2: { model: safety_film_capacitor, capacitance: 220 nF, rated_ac_voltage: 275 V }\n"
    "  y2: { model: safety_film_capacitor, capacitance: 2.2 nF, rated_ac_voltage: 275 V, safety_class: y2 }\n"
    "  film: { model: film_capacitor, capacitance: 220 nF, rated_voltage: 630 V }\n"
    "  wet: { model: electrolytic_capacitor, capacitance: 10 uF, rated_voltage: 400 V }\n"
    "  disc: { model: ceramic_capacitor, capacitance: 1 nF, rated_voltage: 1 kV }\n";
static const char own_parts[] = "parts:\n"
                                "  own: { model: own_fuse, resistance: 40 mohm }\n"
                                "  bridged: { model: own_fuse, resistance: 1 mohm, link: bridged }\n";
static const char old_parts[] = "parts:\n"
                                "  bar: { model: old_bar, resistance: 40 mohm }\n";

typedef struct scene {
    hl_host *host;
    hl_diagnostics *said;
    hl_catalogue *catalogue;
    hl_draft *draft;
} scene;

static scene begin(const char *plugin, const char *text)
{
    scene s = {hl_host_create(), hl_diagnostics_create(), NULL, NULL};
    ck_assert_int_eq(hl_host_load_shipped(s.host, s.said), HL_OK);
    if (plugin) ck_assert_int_eq(hl_host_load(s.host, plugin, s.said), HL_OK);
    s.catalogue = hl_catalogue_create(s.host);
    ck_assert_msg(hl_catalogue_read_text(s.catalogue, "parts", text, strlen(text), s.said) == HL_OK, "%s",
                  hl_diagnostics_count(s.said) ? hl_diagnostics_text(s.said, 0) : "");
    s.draft = hl_draft_create(s.host, "kinds");
    ck_assert_int_eq(hl_draft_source(s.draft, NULL, 230, 50, s.said), HL_OK);
    ck_assert_int_eq(hl_draft_stage(s.draft, NULL, "filter", "mains_input_filter", "mains", s.said), HL_OK);
    ck_assert_int_eq(
        hl_draft_stage(s.draft, NULL, "rectifier", "capacitor_input_rectifier", "filter", s.said), HL_OK);
    ck_assert_int_eq(hl_draft_stage(s.draft, NULL, "flyback", "flyback", "rectifier", s.said), HL_OK);
    ck_assert_int_eq(hl_draft_stage(s.draft, NULL, "out", "output_switch", "flyback", s.said), HL_OK);
    return s;
}

static void end(scene *s)
{
    hl_draft_destroy(s->draft);
    hl_catalogue_destroy(s->catalogue);
    hl_host_destroy(s->host);
    hl_diagnostics_destroy(s->said);
}

static hl_status put(scene *s, const char *stage, const char *slot, const char *part)
{
    return hl_draft_fill(s->draft, NULL, stage, slot, hl_catalogue_find(s->catalogue, part), 1, s->said);
}

static const char *last_said(const scene *s)
{
    size_t n = hl_diagnostics_count(s->said);
    return n ? hl_diagnostics_text(s->said, n - 1) : "";
}

/* Which of all parts a place takes, by name. */
static const struct {
    const char *stage, *slot, *takes;
} places[] = {
    {"filter", "fuse", "fuse "},
    {"filter", "thermistor", "thermistor fixed "},
    {"filter", "x_capacitor", "x1 x2 "},
    {"filter", "second_x_capacitor", "x1 x2 "},
    {"filter", "discharge_resistor", "bleeder "},
    {"filter", "varistor", "varistor "},
    {"rectifier", "thermistor", "thermistor fixed "},
    {"flyback", "clamp_resistor", "bleeder "},
    {"flyback", "clamp_capacitor", "x1 x2 y2 film wet disc "},
    {"flyback", "sense_resistor", "bleeder trace cord "},
    {"out", "cable", "bleeder cord "},
};
enum { PLACES = sizeof places / sizeof *places };

START_TEST(a_place_takes_parts_of_its_kind_alone)
{
    static const char *const names[] = {"fuse", "thermistor", "fixed", "varistor", "bleeder", "trace", "cord",
                                        "x1",   "x2",         "y2",    "film",     "wet",     "disc"};
    char taken[200] = "";
    for (size_t k = 0; k < sizeof names / sizeof *names; k++) {
        scene s = begin(NULL, parts);
        if (put(&s, places[_i].stage, places[_i].slot, names[k]) == HL_OK) {
            strcat(taken, names[k]);
            strcat(taken, " ");
        }
        end(&s);
    }
    ck_assert_msg(!strcmp(taken, places[_i].takes), "%s.%s takes: %s; meant: %s", places[_i].stage,
                  places[_i].slot, taken, places[_i].takes);
}
END_TEST

/* Where, what, why, what to do. */
START_TEST(the_sentence_says_what_to_put_there)
{
    scene s = begin(OWN_FUSE, parts);
    ck_assert_int_eq(put(&s, "filter", "fuse", "trace"), HL_BAD_INPUT);
    ck_assert_str_eq(last_said(&s),
                     "filter.fuse: part 'trace' of model trace is by kind: trace; this slot takes: fuse, for "
                     "another part there may be unsafe or without function. Put one of that kind there "
                     "(models: fuse, own_fuse)");
    ck_assert_int_eq(put(&s, "filter", "x_capacitor", "y2"), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(
        strstr(last_said(&s), "'y2' of model safety_film_capacitor is by kind: y_capacitor;"));
    ck_assert_int_eq(put(&s, "filter", "x_capacitor", "wet"), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(last_said(&s), "is by kind: capacitor; this slot takes: x_capacitor,"));
    end(&s);
}
END_TEST

START_TEST(an_alternative_is_of_the_kind_too)
{
    bool there;
    scene s = begin(NULL, parts);
    const hl_part *shunt = hl_catalogue_find(s.catalogue, "trace"),
                  *x1 = hl_catalogue_find(s.catalogue, "x1"), *y2 = hl_catalogue_find(s.catalogue, "y2");
    ck_assert_int_eq(put(&s, "filter", "fuse", "fuse"), HL_OK);
    ck_assert_int_eq(put(&s, "filter", "x_capacitor", "x2"), HL_OK);
    ck_assert(!hl_draft_takes(s.draft, "filter", "fuse", shunt, &there) && !there);
    ck_assert(!hl_draft_takes(s.draft, "filter", "x_capacitor", y2, &there));
    ck_assert(hl_draft_takes(s.draft, "filter", "x_capacitor", x1, &there));
    ck_assert_int_eq(hl_draft_alternative(s.draft, NULL, "filter", "fuse", shunt, s.said), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(last_said(&s), "this slot takes: fuse"));
    end(&s);
}
END_TEST

/* A stranger's fuse fits, unless of_kind says that this one is none. */
START_TEST(a_part_of_a_strangers_plugin_may_claim_the_kind)
{
    scene s = begin(OWN_FUSE, own_parts);
    ck_assert_int_eq(put(&s, "filter", "fuse", "bridged"), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(last_said(&s), "is by kind: nothing in particular;"));
    ck_assert_int_eq(put(&s, "filter", "fuse", "own"), HL_OK);
    ck_assert_int_eq(put(&s, "filter", "discharge_resistor", "own"), HL_BAD_INPUT);
    end(&s);
}
END_TEST

/* A plugin built before there were kinds: its resistor is a plain one. */
START_TEST(a_part_that_claims_no_kind_is_a_plain_one)
{
    scene s = begin(OLD_PLUGIN, old_parts);
    ck_assert_int_eq(put(&s, "filter", "fuse", "bar"), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(last_said(&s), "is by kind: resistor; this slot takes: fuse"));
    ck_assert_int_eq(put(&s, "filter", "discharge_resistor", "bar"), HL_OK);
    ck_assert_int_eq(put(&s, "flyback", "sense_resistor", "bar"), HL_OK);
    end(&s);
}
END_TEST

START_TEST(prove_passes_the_strangers_fuse)
{
    command_output output = command_run((const char *const[]){"prove", OWN_FUSE, "--times", "0.1", NULL});
    ck_assert_msg(output.code == 0, "%s%s", output.out, output.error);
    command_free(&output);
}
END_TEST

/* Of the whole starter catalogue a swap tries what may stand there, and nothing else. */
START_TEST(a_swap_tries_parts_of_the_kind_alone)
{
    static const struct {
        const char *place, *begins;
    } row[] = {{"filter.fuse", "fuse_"},
               {"filter.thermistor", "thermistor_"},
               {"filter.x_capacitor", "safety_x"},
               {"filter.varistor", "varistor_"}};
    for (size_t k = 0; k < sizeof row / sizeof *row; k++) {
        json_t *root = command_json((const char *const[]){"swap", ADAPTER, "--catalogue", "--slot",
                                                          row[k].place, "--json", "--quiet", NULL}),
               *swap;
        size_t i;
        ck_assert_uint_gt(json_array_size(json_object_get(root, "swaps")), 2);
        json_array_foreach(json_object_get(root, "swaps"), i, swap)
        {
            const char *part = json_string_value(json_object_get(swap, "part"));
            ck_assert_msg(strstr(part, row[k].begins) == part, "%s: %s", row[k].place, part);
        }
        json_decref(root);
    }
}
END_TEST

/* A sweep over a whole table of parts leaves out what does not fit; one over parts by name says which does
 * not. */
START_TEST(a_sweep_over_parts_keeps_to_the_kind)
{
    static const struct {
        const char *axis, *said;
        int code;
    } row[] = {
        {"hl.catalogue(), where = function(p) return p.name:find '^fuse_[23]' or p.model == 'trace' end",
         "\"fuse_3p15a\"", 0},
        {"hl.catalogue(), where = function(p) return p.model == 'trace' end", "no part fits there", 1},
        {"{ hl.catalogue().trace_20mm_5mm_70um }", "this slot takes: fuse", 1}};
    scratch_folder_make();
    for (size_t k = 0; k < sizeof row / sizeof *row; k++) {
        char script[600], store[200];
        snprintf(store, sizeof store, "%s/%zu.store", scratch_folder, k);
        snprintf(script, sizeof script,
                 "local hl = require 'heatledger'\nreturn hl.sweep { adapter = 'adapter.lua',\n"
                 "  axes = { { 'filter.fuse', parts = %s } } }\n",
                 row[k].axis);
        char copy[400];
        snprintf(copy, sizeof copy, "cp %s/examples/small_adapter/* %s/", HL_PROJECT_SOURCE, scratch_folder);
        ck_assert_int_eq(system(copy), 0);
        command_output output = command_run((const char *const[]){
            "sweep", scratch_write("plan.lua", script), "--json", "--quiet", "--store", store, NULL});
        ck_assert_msg(output.code == row[k].code, "%zu: exit %d\n%s", k, output.code, output.error);
        ck_assert_msg(strstr(row[k].code ? output.error : output.out, row[k].said), "%zu: %s%s", k,
                      output.out, output.error);
        ck_assert_ptr_null(strstr(output.out, "trace"));
        command_free(&output);
    }
    scratch_folder_remove();
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, a_place_takes_parts_of_its_kind_alone, 0, PLACES);
    tcase_add_test(tests, the_sentence_says_what_to_put_there);
    tcase_add_test(tests, an_alternative_is_of_the_kind_too);
    tcase_add_test(tests, a_part_of_a_strangers_plugin_may_claim_the_kind);
    tcase_add_test(tests, a_part_that_claims_no_kind_is_a_plain_one);
    tcase_add_test(tests, prove_passes_the_strangers_fuse);
    tcase_add_test(tests, a_swap_tries_parts_of_the_kind_alone);
    tcase_add_test(tests, a_sweep_over_parts_keeps_to_the_kind);
}

int main(void)
{
    return story_main("kinds", fill);
}
