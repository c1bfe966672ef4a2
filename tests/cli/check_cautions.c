/* check_cautions.c - what a solved point warns of, and the crest of a bus in what its parts must bear. */
#include <jansson.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "command_json.h"
#include "json_entry.h"
#include "scratch_folder.h"
#include "story.h"

static const char *const adapter = HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua";

static json_t *solved_with(const char *setting)
{
    const char *arguments[] = {"solve", adapter, "--json", "--set", setting, NULL};
    return command_json(arguments);
}

static bool warned(const json_t *root, const char *sentence)
{
    const json_t *list = json_object_get(root, "warnings");
    for (size_t i = 0; i < json_array_size(list); i++)
        if (strstr(json_string_value(json_array_get(list, i)), sentence)) return true;
    return false;
}

/* Behind its cable it gets 11.97 V: 0.3 % off 12 V, 9 % off 11 V. */
START_TEST(a_port_that_gets_another_voltage_is_named)
{
    json_t *as_it_is = solved_with("load=1"), *off = solved_with("plug.voltage=11 V");
    ck_assert(!warned(as_it_is, "plug asks"));
    ck_assert(warned(off, "plug asks 11 V and gets 11.97 V"));
    json_decref(as_it_is);
    json_decref(off);
}
END_TEST

static const json_t *entry(const json_t *list, const char *key, const char *name, const char *key2,
                           const char *name2)
{
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *one = json_array_get(list, i);
        if (strcmp(json_string_value(json_object_get(one, key)), name)) continue;
        if (!key2 || !strcmp(json_string_value(json_object_get(one, key2)), name2)) return one;
    }
    ck_abort_msg("no %s", name);
    return NULL;
}

static double quantity(const json_t *root, const char *stage, const char *name)
{
    const json_t *one = entry(json_object_get(root, "stages"), "stage", stage, NULL, NULL);
    return json_number_value(
        json_object_get(json_object_get(json_object_get(one, "quantities"), name), "value"));
}

/* The flyback is solved at the mean of its bus; its switch is held to what the crest makes of that. */
START_TEST(the_switch_bears_the_crest_of_its_bus)
{
    json_t *root = solved_with("load=1");
    const json_t *part = entry(json_object_get(root, "parts"), "stage", "flyback", "slot", "switch");
    const json_t *limit = entry(json_object_get(part, "headroom"), "limit", "drain voltage", NULL, NULL);
    double crest = quantity(root, "rectifier", "output_voltage_peak"),
           clamp = quantity(root, "flyback", "clamp_voltage_peak");
    ck_assert_double_gt(crest, 300);
    /* the clamp diode's drop is between */
    ck_near(json_number_value(json_object_get(limit, "value")), crest + clamp, 0, 1.5);
    ck_assert_double_gt(json_number_value(json_object_get(limit, "value")), crest + clamp);
    json_decref(root);
}
END_TEST

/* 539 V on a switch for 537.5 V: 100.3 %, which would read 100 % beside a mark that it is broken. */
START_TEST(a_broken_limit_never_reads_100)
{
    const char *solve[] = {"solve", adapter, "--set", "flyback.switch.rated_voltage=537.5 V", NULL};
    command_output output = command_run(solve);
    ck_assert_ptr_nonnull(strstr(output.out, "101 % !\n"));
    ck_assert_ptr_null(strstr(output.out, "100 % !"));
    command_free(&output);
    const char *swap[] = {"swap",
                          adapter,
                          "--slot",
                          "filter.fuse",
                          "--catalogue",
                          "--set",
                          "flyback.switch.rated_voltage=537.5 V",
                          NULL};
    output = command_run(swap);
    ck_assert_ptr_nonnull(
        strstr(output.out, "used 101 %\nbroken as it is: flyback.switch: drain voltage at 101 %"));
    command_free(&output);
}
END_TEST

/* Ranked by loss the largest fuse comes first: that it may not open is told, and of a fuse alone. */
START_TEST(a_ranking_of_fuses_is_no_advice)
{
    const char *fuse[] = {"swap", adapter, "--slot", "filter.fuse", "--catalogue", NULL};
    const char *diode[] = {"swap", adapter, "--slot", "flyback.clamp_diode", "--catalogue", NULL};
    command_output output = command_run(fuse), other = command_run(diode);
    ck_assert_ptr_nonnull(
        strstr(output.out, "caution: filter.fuse: a larger fuse loses less and protects less"));
    ck_assert_ptr_null(strstr(other.out, "caution"));
    command_free(&output), command_free(&other);
}
END_TEST

/* How a case of this material is judged: "touch, metal" and its limit in degC, or NULL where none is. */
static char *touch_of(const char *material, const char *more, double *rated)
{
    char text[1000];
    snprintf(
        text, sizeof text,
        "local hl = require \"heatledger\"\nlocal a = hl.adapter \"a\"\na:supply { voltage = \"48 V\" }\n"
        "a:stage \"s\" { model = \"housekeeping\", fed_by = \"source\", power = \"1 W\" }\n"
        "a:box { size = \"80 x 50 x 30 mm\", material = %s }\n%s\nreturn a\n",
        material, more);
    scratch_folder_make();
    const char *arguments[] = {"solve", scratch_write("case.lua", text), "--json", NULL};
    json_t *root = command_json(arguments);
    const json_t *face = json_entry(root, "nodes", "node", "face z1");
    const json_t *limit = json_array_get(json_object_get(face, "headroom"), 0);
    char *name = limit ? strdup(json_string_value(json_object_get(limit, "limit"))) : NULL;
    *rated = limit ? json_number_value(json_object_get(limit, "rated")) : 0;
    json_decref(root);
    scratch_folder_remove();
    return name;
}

/* IEC 62368-1, table 38, 1 s to 10 s: 60 degC of metal, 77 degC of plastic; held, 48 degC (limits/touch_*.lua
 * tells what of that was seen).  A case is judged as what it is made of, unless the script says otherwise. */
START_TEST(a_metal_case_is_held_to_what_metal_may_have)
{
    static const struct {
        const char *material, *more, *name;
        double rated;
    } cases[] = {
        {"\"aluminium\"", "", "touch, metal", 60},
        {"\"copper\"", "", "touch, metal", 60},
        {"\"abs\"", "", "touch, plastic", 77},
        {"{ conductivity = 15, density_heat = 4e6, emissivity = 0.3 }", "", "touch, metal", 60},
        {"{ conductivity = 1, density_heat = 2e6, emissivity = 0.9 }", "", "touch, plastic", 77},
        {"\"aluminium\"", "a:touch { material = \"plastic\" }", "touch, plastic", 77},
        {"\"aluminium\"", "a:touch { contact = \"held\" }", "touch, metal, held", 48},
        {"\"aluminium\"", "a:touch { contact = \"none\" }", NULL, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double rated;
        char *name = touch_of(cases[i].material, cases[i].more, &rated);
        if (cases[i].name)
            ck_assert_str_eq(name, cases[i].name);
        else
            ck_assert_ptr_null(name);
        ck_near(rated, cases[i].rated, 1e-9, 0);
        free(name);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_metal_case_is_held_to_what_metal_may_have);
    tcase_add_test(tests, a_broken_limit_never_reads_100);
    tcase_add_test(tests, a_ranking_of_fuses_is_no_advice);
    tcase_add_test(tests, a_port_that_gets_another_voltage_is_named);
    tcase_add_test(tests, the_switch_bears_the_crest_of_its_bus);
}

int main(void)
{
    return story_main("cautions", fill);
}
