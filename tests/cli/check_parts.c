/* check_parts.c - `heatledger parts`: lists, one part in full, rows for programs, and what goes wrong. */
#include <jansson.h>
#include <string.h>

#include "command_json.h"
#include "scratch_folder.h"
#include "story.h"

static command_output parts(const char *a, const char *b, const char *c)
{
    return command_run((const char *const[]){"parts", a, b, c, NULL});
}

static void says(command_output output, const char *expected)
{
    ck_assert_msg(output.code == 0 && strstr(output.out, expected), "exit %d, '%s' is not in:\n%s%s",
                  output.code, expected, output.out, output.error);
    command_free(&output);
}

static void refuses(command_output output, const char *expected)
{
    ck_assert_msg(output.code == 1 && strstr(output.error, expected), "exit %d, '%s' is not in:\n%s",
                  output.code, expected, output.error);
    command_free(&output);
}

/* Columns, not bytes: an ellipsis takes three bytes. */
static size_t columns(const char *from, const char *to)
{
    size_t n = 0;
    for (; from < to; from++) n += ((unsigned char)*from & 0xC0) != 0x80;
    return n;
}

START_TEST(lists_and_parts_keep_within_eighty_columns)
{
    static const char *const what[] = {NULL, "gan_650v_150m_a", "transformer_llc_33_4",
                                       "inductor_powder_350u"};
    for (size_t i = 0; i < sizeof what / sizeof *what; i++) {
        command_output output = parts(what[i], NULL, NULL);
        ck_assert_int_eq(output.code, 0);
        size_t lines = 0;
        for (const char *line = output.out, *end; (end = strchr(line, '\n')) != NULL; line = end + 1, lines++)
            ck_assert_msg(columns(line, end) <= 80 || !strncmp(line, "file ", 5), "%.*s", (int)(end - line),
                          line);
        ck_assert_uint_ge(lines, what[i] ? 20 : 120);
        command_free(&output);
    }
}
END_TEST

START_TEST(a_list_has_the_telling_figures)
{
    says(parts("--family", "switch", NULL), " 650 V      13 A  150 mohm ");
    says(parts(HL_PROJECT_SOURCE "/examples/small_adapter/parts.yaml", "--family", "diode"), "bridge");
}
END_TEST

START_TEST(one_part_is_told_in_full)
{
    says(parts("sense_10m", NULL, NULL),
         "10 mohm                  estimate\n      band   9.9 mohm … 10.1 mohm\n");
    says(parts("gan_650v_150m_a", NULL, NULL), "25 degC: 1, 75 degC: 1.45, 125 degC: 2.05");
    says(parts("sense_10m", "--csv", NULL),
         "sense_10m,resistor,resistance,,0.01,0.0099,0.0101,ohm,estimate\n");
}
END_TEST

START_TEST(both_ends_of_a_band_have_one_unit)
{
    const char *file = scratch_write(
        "band.yaml", "heatledger: parts/1\nparts:\n  shunt: { model: resistor, resistance: "
                     "1 ohm, temperature_coefficient: { typical: 0.1 %/K, tolerance: 20 % } }\n");
    says(parts(file, "shunt", NULL), "band   0.08 %/K … 0.12 %/K\n");
}
END_TEST

/* The hint is a command that works as it stands. */
START_TEST(a_list_says_how_to_see_one_of_it)
{
    static const char file[] = HL_PROJECT_SOURCE "/examples/small_adapter/parts.yaml";
    says(parts(file, NULL, NULL), "`heatledger parts " HL_PROJECT_SOURCE
                                  "/examples/small_adapter/parts.yaml PART` tells all about one.");
    says(parts(NULL, NULL, NULL), "`heatledger parts PART` tells all about one.");
}
END_TEST

START_TEST(json_has_every_part_with_units_and_origins)
{
    command_output output = parts("--json", NULL, NULL);
    json_t *root = output_json(&output, 0), *part, *value;
    ck_assert_str_eq(json_string_value(json_object_get(root, "schema")), "heatledger.parts/1");
    size_t i;
    const char *name;
    json_array_foreach(json_object_get(root, "parts"), i, part)
    {
        json_object_foreach(json_object_get(part, "values"), name, value)
            ck_assert_msg(json_object_get(value, "unit") && json_object_get(value, "origin"), "%s", name);
        /* a band ends where nature does */
        json_t *emissivity = json_object_get(json_object_get(part, "values"), "emissivity");
        ck_assert_double_le(json_number_value(json_object_get(emissivity, "high")), 1);
    }
    ck_assert_uint_ge(i, 120);
    json_decref(root);
    command_free(&output);
}
END_TEST

/* As a script would: what has a rule is estimated, and the rest is missed in both, all of it at once. */
START_TEST(a_file_means_here_what_it_means_to_a_script)
{
    says(parts(HL_PROJECT_SOURCE "/examples/desk_charger/marked_parts.yaml", "pfc_switch", NULL), "estimate");
    const char *file =
        scratch_write("parts.yaml", "heatledger: parts/1\nparts:\n"
                                    "  known: { model: silicon_mosfet, rated_voltage: 600 V, "
                                    "rated_current: 6 A, package: dpak }\n"
                                    "  disc: { model: inrush_thermistor, rated_current: 2 A }\n"
                                    "  shunt: { model: resistor, rated_power: 1 W }\n");
    const char *script = scratch_write("adapter.lua", "local hl = require 'heatledger'\n"
                                                      "local part = hl.parts 'parts.yaml'\n"
                                                      "return hl.adapter 'none'\n");
    const command_output told[] = {parts(file, NULL, NULL),
                                   command_run((const char *const[]){"solve", script, NULL})};
    for (size_t i = 0; i < sizeof told / sizeof *told; i++) {
        ck_assert_int_eq(told[i].code, 1);
        ck_assert_ptr_nonnull(strstr(told[i].error, "parts.yaml:4:3: disc: values are missing"));
        ck_assert_ptr_nonnull(strstr(told[i].error, "parts.yaml:5:3: shunt: values are missing"));
    }
    ck_assert_str_eq(told[0].error, told[1].error);
    for (size_t i = 0; i < sizeof told / sizeof *told; i++) command_free((command_output *)&told[i]);
}
END_TEST

START_TEST(what_cannot_be_is_told_with_what_would_do)
{
    refuses(parts("gan_650v_150m_b", NULL, NULL), "did you mean 'gan_650v_150m_a'?");
    refuses(parts("--family", "swich", NULL), "did you mean 'switch'?");
    refuses(parts("nowhere.yaml", NULL, NULL), "nowhere.yaml");
    refuses(parts(HL_TEST_SOURCE "/bad_input/broken.yaml", NULL, NULL), "broken.yaml:");
    refuses(parts("sense_5m", "sense_10m", NULL), "name one part");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, lists_and_parts_keep_within_eighty_columns);
    tcase_add_test(tests, a_list_has_the_telling_figures);
    tcase_add_test(tests, one_part_is_told_in_full);
    tcase_add_test(tests, both_ends_of_a_band_have_one_unit);
    tcase_add_test(tests, a_list_says_how_to_see_one_of_it);
    tcase_add_test(tests, json_has_every_part_with_units_and_origins);
    tcase_add_test(tests, a_file_means_here_what_it_means_to_a_script);
    tcase_add_test(tests, what_cannot_be_is_told_with_what_would_do);
}

int main(void)
{
    return story_main("parts", fill);
}
