/* check_field_heat.c - designs whose box is a condensed heat field: books, plates, kept
 * files, warm-ups, and what a part states of its inside. */
#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command_json.h"
#include "json_entry.h"
#include "plate_box.h"
#include "scratch_folder.h"
#include "story.h"

START_TEST(heat_leaves_by_the_faces_and_the_books_close)
{
    plate_script("plain.lua", "");
    json_t *document = plate_solve("plain.lua", "kept", NULL);
    double loss = json_figure(json_object_get(document, "power"), "loss_w"), out = 0, area = 0;
    size_t i, k;
    json_t *entry, *patch;
    json_array_foreach(json_object_get(document, "case"), i, entry)
    {
        out += json_figure(entry, "heat_w");
        ck_assert_double_gt(json_figure(entry, "maximum_c"), json_figure(entry, "mean_c"));
        ck_assert_double_gt(json_figure(entry, "mean_c"), 25.0);
        double heat = 0;
        json_array_foreach(json_object_get(entry, "patches"), k, patch)
        {
            heat += json_figure(patch, "heat_w");
            double side[3], product = 0;
            for (size_t axis = 0; axis < 3; axis++)
                side[axis] = json_number_value(json_array_get(json_object_get(patch, "high_m"), axis)) -
                             json_number_value(json_array_get(json_object_get(patch, "low_m"), axis));
            for (int axis = 0; axis < 3; axis++) product = fmax(product, side[axis] * side[(axis + 1) % 3]);
            area += product;
        }
        ck_near(heat, json_figure(entry, "heat_w"), 1e-9, 1e-12);
    }
    ck_assert_uint_eq(json_array_size(json_object_get(document, "case")), 6);
    ck_near(out, loss, 1e-9, 0);
    ck_assert_double_le(fabs(json_figure(json_object_get(document, "books"), "heat_imbalance_w")),
                        1e-9 * loss);
    double parted = 0;
    json_array_foreach(json_object_get(document, "heat_paths"), i, entry)
    {
        double heat = 0;
        const char *name;
        json_object_foreach(json_object_get(entry, "leaves_by"), name, patch) heat +=
            json_number_value(patch);
        /* the pad leads down */
        ck_assert_double_gt(json_figure(json_object_get(entry, "leaves_by"), "face z0"), 0.3 * heat);
        parted += heat;
    }
    ck_near(parted, loss, 1e-5, 0);
    ck_near(area, 2 * (0.07 * 0.05 + 0.07 * 0.025 + 0.05 * 0.025), 1e-9, 0);
    /* The floor under the pad is the hottest face, at about the place of the part. */
    const json_t *floor = plate_face(document, "z0");
    ck_assert_double_gt(json_figure(floor, "maximum_c"),
                        json_figure(plate_face(document, "z1"), "maximum_c"));
    ck_near(json_number_value(json_array_get(json_object_get(floor, "at_m"), 0)), 0.020, 0, 0.006);
    ck_near(json_number_value(json_array_get(json_object_get(floor, "at_m"), 1)), 0.025, 0, 0.006);
    json_decref(document);
}
END_TEST

/* A plate under the pad evens the floor: its hottest spot cools, its mean does not rise by as much. */
START_TEST(a_plate_cools_the_hottest_spot)
{
    plate_script("bare.lua", "");
    plate_script("plated.lua", "box:spreader 'plate' { low = '4 x 4 x 2 mm', high = '66 x 46 x 2.5 mm' }\n");
    json_t *bare = plate_solve("bare.lua", "kept", NULL), *plated = plate_solve("plated.lua", "kept", NULL);
    double spot = json_figure(plate_face(bare, "z0"), "maximum_c"),
           evened = json_figure(plate_face(plated, "z0"), "maximum_c");
    ck_assert_msg(evened < spot - 20, "hottest spot of the floor %.1f degC, with a plate %.1f", spot, evened);
    ck_assert_double_lt(evened - json_figure(plate_face(plated, "z0"), "mean_c"),
                        0.3 * (spot - json_figure(plate_face(bare, "z0"), "mean_c")));
    ck_assert_double_lt(json_figure(json_array_get(json_object_get(plated, "parts"), 0), "temperature_c"),
                        json_figure(json_array_get(json_object_get(bare, "parts"), 0), "temperature_c"));
    json_decref(bare);
    json_decref(plated);
}
END_TEST

/* A link by hand to the ambient takes its share, and it is in the book. */
START_TEST(a_link_to_the_ambient_takes_its_share)
{
    plate_script("led.lua", "box:link { 'out.sense_resistor', 'ambient', conductance = '0.05 W/K' }\n");
    json_t *document = plate_solve("led.lua", "kept", NULL);
    double out = 0, loss = json_figure(json_object_get(document, "power"), "loss_w");
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(document, "case"), i, entry) out += json_figure(entry, "heat_w");
    double part = json_figure(json_array_get(json_object_get(document, "parts"), 0), "temperature_c");
    ck_near(out + 0.05 * (part - 25), loss, 1e-9, 0);
    ck_assert_double_le(fabs(json_figure(json_object_get(document, "books"), "heat_imbalance_w")),
                        1e-9 * loss);
    json_decref(document);
}
END_TEST

START_TEST(what_a_field_cannot_take_is_told)
{
    static const struct {
        const char *extra, *told;
    } wrong[] = {
        {"box:link { 'out.sense_resistor', 'main', resistance = '5 K/W' }\n",
         "to the ambient, by a resistance"},
        {"box:node 'sink' { capacity = '10 J/K' }\n", "no nodes by hand"},
        {"box:spreader 'thin' { low = '4 x 4 x 3 mm', high = '66 x 46 x 3 mm' }\n", "has no extent along z"},
        {"box:spreader 'odd' { low = '4 x 4 x 2 mm', high = '66 x 46 x 3 mm', colour = 'red' }\n",
         "'colour' means nothing here"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        char path[200];
        plate_script("wrong.lua", wrong[i].extra);
        snprintf(path, sizeof path, "%s/wrong.lua", scratch_folder);
        const char *arguments[] = {"solve", path, NULL};
        command_output output = command_run(arguments);
        ck_assert_int_eq(output.code, 1);
        ck_assert_msg(strstr(output.error, wrong[i].told) != NULL, "'%s' is not in: %s", wrong[i].told,
                      output.error);
        command_free(&output);
    }
}
END_TEST

/* The field kept in a file gives the same figures; a spoilt file is passed over. */
START_TEST(a_kept_field_gives_the_same_bits)
{
    plate_script("again.lua", "");
    json_t *first = plate_solve("again.lua", "fresh", NULL),
           *second = plate_solve("again.lua", "fresh", NULL);
    ck_assert_msg(json_equal(first, second), "the kept field differs");
    char line[400], *said;
    snprintf(line, sizeof line,
             "ls %s/fresh/* >/dev/null && for f in %s/fresh/*; do truncate -s 1000 $f; done", scratch_folder,
             scratch_folder);
    ck_assert_msg(system(line) == 0, "no file was kept");
    json_t *third = plate_solve("again.lua", "fresh", &said);
    ck_assert_msg(plate_told(third, said, "field"), "the spoilt file is not told of: %s", said);
    json_object_del(first, "warnings");
    json_object_del(third, "warnings");
    ck_assert_msg(json_equal(first, third), "the field made again differs");
    free(said);
    json_decref(first);
    json_decref(second);
    json_decref(third);
}
END_TEST

static json_t *warm_up(const char *script, const char *const more[])
{
    const char *path = scratch_file(script), *cache = scratch_file("kept");
    setenv("HEATLEDGER_CACHE", cache, 1);
    const char *arguments[16] = {"warmup", path, "--json"};
    for (size_t i = 0; more[i]; i++) arguments[3 + i] = more[i];
    return command_json(arguments);
}

static void check_energy(const json_t *document)
{
    const json_t *energy = json_object_get(document, "energy");
    double in = json_figure(energy, "put_in_j"), out = json_figure(energy, "handed_out_j"),
           stored = json_figure(energy, "stored_j");
    ck_assert_double_gt(in, 0);
    ck_assert_msg(fabs(in - out - stored) <= 1e-6 * in, "%g J in, %g out, %g stored", in, out, stored);
}

static double last_of(const json_t *document, const char *node)
{
    const json_t *rows = json_object_get(document, "rows");
    const json_t *last = json_array_get(rows, json_array_size(rows) - 1);
    size_t i;
    json_t *name;
    json_array_foreach(json_object_get(document, "nodes"), i, name)
    {
        if (strcmp(json_string_value(name), node) == 0)
            return json_number_value(json_array_get(json_object_get(last, "temperature_c"), i));
    }
    ck_abort_msg("no node %s", node);
}

/* Constant heat from cold or steady: no place falls by more than a breath. */
static void check_none_cools(const json_t *document)
{
    const json_t *rows = json_object_get(document, "rows");
    for (size_t r = 1; r < json_array_size(rows); r++) {
        const json_t *now = json_object_get(json_array_get(rows, r), "temperature_c");
        const json_t *before = json_object_get(json_array_get(rows, r - 1), "temperature_c");
        for (size_t i = 0; i < json_array_size(now); i++)
            ck_assert_double_gt(json_number_value(json_array_get(now, i)),
                                json_number_value(json_array_get(before, i)) - 0.02);
    }
}

/* From cold to the steady state, and from there nowhere, a link by hand in the book. */
START_TEST(a_warm_up_ends_in_the_steady_state)
{
    plate_script("warm.lua", "box:link { 'out.sense_resistor', 'ambient', conductance = '0.02 W/K' }\n");
    json_t *steady = plate_solve("warm.lua", "kept", NULL);
    double part = json_figure(json_array_get(json_object_get(steady, "parts"), 0), "temperature_c");
    double floor_mean = json_figure(plate_face(steady, "z0"), "mean_c"),
           spot = json_figure(plate_face(steady, "z0"), "maximum_c");
    for (int from_steady = 0; from_steady < 2; from_steady++) {
        json_t *course = warm_up(
            "warm.lua", from_steady ? (const char *const[]){"--for", "10 min", "--from", "steady", NULL}
                                    : (const char *const[]){"--for", "12 h", "--every", "4 min", NULL});
        check_energy(course);
        check_none_cools(course);
        ck_near(last_of(course, "out.sense_resistor"), part, 0, 0.01);
        ck_near(last_of(course, "face z0"), floor_mean, 0, 0.01);
        ck_near(last_of(course, "face z0 spot"), spot, 0, 0.01);
        json_decref(course);
    }
    json_decref(steady);
}
END_TEST

/* A rule network and a field tell a warm-up in the same words. */
START_TEST(a_warm_up_reads_alike_by_rule_and_by_field)
{
    const char *const by[] = {"rule", "field"};
    json_t *course[2];
    plate_script("alike.lua", "");
    for (int k = 0; k < 2; k++) {
        const char *const more[] = {"--network",    by[k],          "--step",
                                    "1 for 20 min", "--step",       "1 to 0.2 for 20 min",
                                    "--step",       "0 for 10 min", NULL};
        course[k] = warm_up("alike.lua", more);
        check_energy(course[k]);
    }
    const char *key;
    json_t *value;
    json_object_foreach(course[0], key, value)
        ck_assert_msg(json_object_get(course[1], key) != NULL, "no '%s' by field", key);
    ck_assert_uint_eq(json_object_size(course[0]), json_object_size(course[1]));
    json_decref(course[0]);
    json_decref(course[1]);
}
END_TEST

/* The choice on the command line rules over the script's. */
START_TEST(the_command_line_chooses_the_network)
{
    plate_script("rule.lua", "");
    const char *path = scratch_file("rule.lua");
    const char *arguments[] = {"solve", path, "--network", "rule", "--json", NULL};
    command_output output = command_run(arguments);
    json_t *document = output_json(&output, 0);
    ck_assert_uint_eq(json_array_size(json_object_get(document, "case")), 0);
    json_decref(document);
    command_free(&output);
    const char *ways[] = {"solve", path, "--network", "field", "--ways", NULL};
    output = command_run(ways);
    ck_assert_msg(output.code == 0, "%s", output.error);
    const char *told = strstr(output.out, "which faces a part's heat leaves by");
    ck_assert_msg(told && strstr(told, " W > face z0\n"), "%s", output.out);
    command_free(&output);
    const char *odd[] = {"solve", path, "--network", "magic", NULL};
    output = command_run(odd);
    ck_assert_int_eq(output.code, 1);
    ck_assert_ptr_nonnull(
        strstr(output.error, "'magic' is no network: rule (quick) or field (hottest spots, seconds)"));
    command_free(&output);
}
END_TEST

/* ------------------------------------------------------------- inside a part -- */

/* degC of the part of plate.lua that states these as well, its pad of `pad` K/W, by `network`. */
static double part_that_states(const char *figures, double pad, const char *network)
{
    char parts[2000], wanted[40];
    plate_script("states.lua", "");
    char *own = plate_text(HL_TEST_SOURCE "/field/plate.yaml"), *path = strdup(scratch_file("states.lua"));
    char *text = plate_text(path), *mark = strstr(text, "\"3 K/W\""), *whole = calloc(1, strlen(text) + 40);
    ck_assert(own && path && mark && whole);
    snprintf(parts, sizeof parts, "%s%s", own, figures);
    snprintf(wanted, sizeof wanted, "\"%g K/W\"", pad);
    *mark = '\0';
    sprintf(whole, "%s%s%s", text, wanted, mark + strlen("\"3 K/W\""));
    scratch_write("states.lua", whole);
    scratch_write("plate.yaml", parts);
    setenv("HEATLEDGER_CACHE", scratch_folder, 1);
    const char *arguments[] = {"solve", path, "--network", network, "--json", NULL};
    json_t *document = command_json(arguments);
    double degrees = json_figure(json_array_get(json_object_get(document, "parts"), 0), "temperature_c");
    json_decref(document);
    free(own), free(path), free(text), free(whole);
    return degrees;
}

/* From the hot spot to board and surface is what the part states: what its block is made of lies within, and
 * L / (3 k A), 21 K/W at 1 W/(m K) here, is not added to the 4 and 2 K/W.  By rule that is exact; the field
 * keeps what a better block spreads sideways and what two sides at once ask less for (docs/theory/field.md).
 */
START_TEST(what_a_part_states_holds_its_inside)
{
    static const char *const made_of[] = {"    conductivity: 1 W/(m K)\n", "    conductivity: 12 W/(m K)\n",
                                          "    conductivity: 200 W/(m K)\n"};
    const double best_rule = part_that_states(made_of[2], 3, "rule");
    const double best_field = part_that_states(made_of[2], 3, "field");
    for (int i = 0; i < 2; i++) {
        double rule = part_that_states(made_of[i], 3, "rule"),
               field = part_that_states(made_of[i], 3, "field");
        printf("part of other stuff: by rule %.3f K, by field %.3f K\n", rule - best_rule,
               field - best_field);
        ck_near(rule, best_rule, 0, 1e-6);
        ck_near(field, best_field, 0, 2);
    }
}
END_TEST

/* To its surface and through the pad is one path: a kelvin per watt counts alike in either. */
START_TEST(case_and_pad_lie_in_series)
{
    static const char *const network[] = {"rule", "field"};
    for (int i = 0; i < 2; i++) {
        double less =
            part_that_states("    resistance_case: 2 K/W\n    conductivity: 30 W/(m K)\n", 3, network[i]);
        double pad =
            part_that_states("    resistance_case: 2 K/W\n    conductivity: 30 W/(m K)\n", 33, network[i]);
        double inside =
            part_that_states("    resistance_case: 32 K/W\n    conductivity: 30 W/(m K)\n", 3, network[i]);
        printf("30 K/W more by %s: %.3f K in the pad, %.3f K in the case\n", network[i], pad - less,
               inside - less);
        ck_assert_double_gt(pad, less + 0.6); /* a thin wall of plastic behind the pad holds most back */
        ck_near(inside, pad, 0, 1e-3);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, heat_leaves_by_the_faces_and_the_books_close);
    tcase_add_test(tests, a_plate_cools_the_hottest_spot);
    tcase_add_test(tests, a_link_to_the_ambient_takes_its_share);
    tcase_add_test(tests, what_a_field_cannot_take_is_told);
    tcase_add_test(tests, a_kept_field_gives_the_same_bits);
    tcase_add_test(tests, a_warm_up_ends_in_the_steady_state);
    tcase_add_test(tests, a_warm_up_reads_alike_by_rule_and_by_field);
    tcase_add_test(tests, the_command_line_chooses_the_network);
    tcase_add_test(tests, what_a_part_states_holds_its_inside);
    tcase_add_test(tests, case_and_pad_lie_in_series);
}

int main(void)
{
    return story_main("field_heat", fill);
}
