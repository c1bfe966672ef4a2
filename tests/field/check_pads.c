/* check_pads.c - what a pad to the case does for its part, by rule and by field; the two know nothing of each
 * other. Walls of plastic and metal that lines them; boxes and parts are invented. */
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "command_json.h"
#include "json_entry.h"
#include "scratch_folder.h"
#include "story.h"

enum { PARTS_MOST = 4 };

/* Of each of n hot resistors along the middle of a board, its rise over the air, K. */
typedef struct rises {
    double part[PARTS_MOST];
} rises;

static const json_t *part_of(const json_t *document, int number)
{
    char stage[20];
    snprintf(stage, sizeof stage, "s%d", number);
    return json_entry(document, "parts", "stage", stage);
}

static void write_box(int n, const char *pad, const char *more)
{
    char text[4000];
    size_t used = (size_t)snprintf(
        text, sizeof text,
        "local hl = require \"heatledger\"\nlocal part = hl.parts \"parts.yaml\"\nlocal box = hl.adapter "
        "\"box\"\n"
        "box:supply { voltage = \"12 V\" }\n"
        "box:box { size = \"70 x 50 x 25 mm\", wall = \"2 mm\", material = \"polycarbonate\" }\n"
        "box:board \"main\" { low = \"5 x 5 x 8 mm\", high = \"65 x 45 x 9.6 mm\", copper = \"70 um\" }\n");
    for (int i = 0; i < n; i++)
        used += (size_t)snprintf(
            text + used, sizeof text - used,
            "box:stage \"s%d\" { model = \"output_switch\", fed_by = \"%s%.0d\", sense_resistor = part.shunt "
            "}\n"
            "box:place \"s%d.sense_resistor\" { at = \"%g x 25 x 6 mm\", board = \"main\"%s }\n",
            i + 1, i ? "s" : "source", i, i + 1, 5 + 60 * (i + 0.5) / n, pad);
    snprintf(
        text + used, sizeof text - used,
        "box:port \"port\" { fed_by = \"s%d\", voltage = \"12 V\", current = \"%g A\" }\n%s\nreturn box\n", n,
        2 / sqrt(n), more);
    ck_assert_uint_lt(strlen(text), sizeof text - 1);
    scratch_write("box.lua", text);
    scratch_write("parts.yaml",
                  "heatledger: parts/1\nparts:\n  shunt:\n    model: resistor\n    resistance: 0.5 ohm\n"
                  "    size: 8 x 8 x 4 mm\n    resistance_board: 4 K/W\n");
}

static rises rises_by(const char *network, int n, const char **said)
{
    static char error[4000];
    const char *arguments[] = {"solve", scratch_file("box.lua"), "--json", "--network", network, NULL};
    rises found = {{0}};
    command_output output = command_run(arguments);
    json_t *document = output_json(&output, 0);
    for (int i = 0; i < n; i++)
        found.part[i] = json_number_value(json_object_get(part_of(document, i + 1), "temperature_c")) - 25;
    char *warnings = json_dumps(json_object_get(document, "warnings"), JSON_COMPACT);
    ck_assert_ptr_nonnull(warnings);
    snprintf(error, sizeof error, "%s%s", output.error, warnings);
    free(warnings);
    if (said) *said = error;
    json_decref(document);
    command_free(&output);
    return found;
}

static const char pad[] = ", pad = \"z0\", pad_resistance = \"3 K/W\"";

#define LINING                                                                                               \
    "box:spreader \"lining\" { low = \"5 x 5 x 2 mm\", high = \"65 x 45 x 3 mm\", material = \"aluminium\" " \
    "}"

/* Plastic takes little from a pad, and the rule is not to promise more: of two hundred kelvin per watt under
 * the pad a wall all at one temperature would know nothing. */
START_TEST(a_pad_on_plastic_helps_by_rule_as_by_field)
{
    double help[2], bare[2];
    for (int k = 0; k < 2; k++) {
        const char *network = k ? "field" : "rule";
        write_box(1, "", "");
        bare[k] = rises_by(network, 1, NULL).part[0];
        write_box(1, pad, "");
        help[k] = bare[k] - rises_by(network, 1, NULL).part[0];
        printf("%s: %.1f K without a pad, which takes %.1f K off\n", network, bare[k], help[k]);
    }
    ck_near(bare[0], bare[1], 0.15, 0);
    ck_near(help[0], help[1], 0.15, 0);
    ck_assert_double_gt(help[0], 5);
}
END_TEST

/* All that its pads bring goes through the wall behind a lining together. */
START_TEST(pads_share_the_wall_behind_a_lining)
{
    int n = _i;
    write_box(n, pad, LINING);
    const char *said;
    rises rule = rises_by("rule", n, &said), field = rises_by("field", n, NULL);
    ck_assert_msg(!strstr(said, "spreader"), "%s", said);
    for (int i = 0; i < n; i++) {
        printf("%d of %d on a lining: %.1f K by rule, %.1f by field\n", i + 1, n, rule.part[i],
               field.part[i]);
        ck_near(rule.part[i], field.part[i], 0.1, 0);
    }
}
END_TEST

/* A foil in mid-air, or one that is not under the pad, changes nothing by rule; the first is told of. */
START_TEST(a_spreader_elsewhere_is_no_lining)
{
    static const char *const elsewhere[] = {"box:spreader \"foil\" { low = \"5 x 5 x 15 mm\", high = \"65 x "
                                            "45 x 16 mm\", material = \"aluminium\" }",
                                            "box:spreader \"foil\" { low = \"50 x 5 x 2 mm\", high = \"65 x "
                                            "45 x 3 mm\", material = \"aluminium\" }"};
    const char *said;
    write_box(1, pad, "");
    double plain = rises_by("rule", 1, NULL).part[0];
    for (int k = 0; k < 2; k++) {
        write_box(1, pad, elsewhere[k]);
        ck_near(rises_by("rule", 1, &said).part[0], plain, 1e-9, 0);
        ck_assert_msg(!strstr(said, "leaves others out (foil)") == (k == 1), "%s", said);
    }
}
END_TEST

/* Of two linings on one wall the one that spreads more counts, in either order. */
START_TEST(the_better_of_two_linings_counts)
{
    static const char thin[] = "box:spreader \"thin\" { low = \"5 x 5 x 2 mm\", high = \"65 x 45 x 2.05 "
                               "mm\", material = \"aluminium\" }";
    char both[600];
    const char *said;
    write_box(1, pad, LINING);
    double alone = rises_by("rule", 1, NULL).part[0];
    for (int k = 0; k < 2; k++) {
        snprintf(both, sizeof both, "%s\n%s", k ? thin : LINING, k ? LINING : thin);
        write_box(1, pad, both);
        ck_near(rises_by("rule", 1, &said).part[0], alone, 1e-9, 0);
        ck_assert_msg(strstr(said, "leaves others out (thin)"), "%s", said);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, a_pad_on_plastic_helps_by_rule_as_by_field);
    tcase_add_loop_test(tests, pads_share_the_wall_behind_a_lining, 1, PARTS_MOST + 1);
    tcase_add_test(tests, a_spreader_elsewhere_is_no_lining);
    tcase_add_test(tests, the_better_of_two_linings_counts);
}

int main(void)
{
    return story_main("pads", fill);
}
