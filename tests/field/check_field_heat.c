/* check_field_heat.c - designs whose box is a condensed heat field: books, places, plates, kept files. */
#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command_run.h"
#include "scratch_folder.h"
#include "story.h"

static char *read_text(const char *path)
{
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "no file %s", path);
    char *text = calloc(1, 1 << 16);
    ck_assert_ptr_nonnull(text);
    ck_assert_uint_gt(fread(text, 1, (1 << 16) - 1, file), 0);
    fclose(file);
    return text;
}

/* The box of plate.lua with more statements in it, as `name` in the folder. */
static void make_script(const char *name, const char *extra)
{
    char *text = read_text(HL_TEST_SOURCE "/field/plate.lua"),
         *parts = read_text(HL_TEST_SOURCE "/field/plate.yaml");
    char *mark = strstr(text, "-- @extra@"), *whole = calloc(1, strlen(text) + strlen(extra) + 1);
    ck_assert(mark && whole);
    *mark = '\0';
    sprintf(whole, "%s%s%s", text, extra, mark + strlen("-- @extra@"));
    scratch_write(name, whole);
    scratch_write("plate.yaml", parts);
    free(text);
    free(parts);
    free(whole);
}

static json_t *solve(const char *script, const char *kept, char **said)
{
    const char *path = scratch_file(script), *cache = scratch_file(kept);
    setenv("HEATLEDGER_CACHE", cache, 1);
    const char *arguments[] = {"solve", path, "--json", NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    json_error_t error;
    json_t *document = json_loads(output.out, 0, &error);
    ck_assert_msg(document != NULL, "%s", error.text);
    if (said) *said = strdup(output.error);
    command_free(&output);
    return document;
}

static double figure(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    ck_assert_msg(json_is_number(value), "no number '%s'", key);
    return json_number_value(value);
}

static const json_t *face(const json_t *document, const char *name)
{
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(document, "case"), i, entry)
    {
        if (!strcmp(json_string_value(json_object_get(entry, "face")), name)) return entry;
    }
    ck_abort_msg("no face %s", name);
}

START_TEST(heat_leaves_by_the_faces_and_the_books_close)
{
    make_script("plain.lua", "");
    json_t *document = solve("plain.lua", "kept", NULL);
    double loss = figure(json_object_get(document, "power"), "loss_w"), out = 0, area = 0;
    size_t i, k;
    json_t *entry, *patch;
    json_array_foreach(json_object_get(document, "case"), i, entry)
    {
        out += figure(entry, "heat_w");
        ck_assert_double_gt(figure(entry, "maximum_c"), figure(entry, "mean_c"));
        ck_assert_double_gt(figure(entry, "mean_c"), 25.0);
        double heat = 0;
        json_array_foreach(json_object_get(entry, "patches"), k, patch)
        {
            heat += figure(patch, "heat_w");
            double side[3], product = 0;
            for (size_t axis = 0; axis < 3; axis++)
                side[axis] = json_number_value(json_array_get(json_object_get(patch, "high_m"), axis)) -
                             json_number_value(json_array_get(json_object_get(patch, "low_m"), axis));
            for (int axis = 0; axis < 3; axis++) product = fmax(product, side[axis] * side[(axis + 1) % 3]);
            area += product;
        }
        ck_near(heat, figure(entry, "heat_w"), 1e-9, 1e-12);
    }
    ck_assert_uint_eq(json_array_size(json_object_get(document, "case")), 6);
    ck_near(out, loss, 1e-9, 0);
    ck_assert_double_le(fabs(figure(json_object_get(document, "books"), "heat_imbalance_w")), 1e-9 * loss);
    double parted = 0;
    json_array_foreach(json_object_get(document, "heat_paths"), i, entry)
    {
        double heat = 0;
        const char *name;
        json_object_foreach(json_object_get(entry, "leaves_by"), name, patch) heat +=
            json_number_value(patch);
        /* the pad leads down */
        ck_assert_double_gt(figure(json_object_get(entry, "leaves_by"), "face z0"), 0.3 * heat);
        parted += heat;
    }
    ck_near(parted, loss, 1e-5, 0);
    ck_near(area, 2 * (0.07 * 0.05 + 0.07 * 0.025 + 0.05 * 0.025), 1e-9, 0);
    /* The floor under the pad is the hottest face, at about the place of the part. */
    const json_t *floor = face(document, "z0");
    ck_assert_double_gt(figure(floor, "maximum_c"), figure(face(document, "z1"), "maximum_c"));
    ck_near(json_number_value(json_array_get(json_object_get(floor, "at_m"), 0)), 0.020, 0, 0.006);
    ck_near(json_number_value(json_array_get(json_object_get(floor, "at_m"), 1)), 0.025, 0, 0.006);
    json_decref(document);
}
END_TEST

/* A plate under the pad evens the floor: its hottest spot cools, its mean does not rise by as much. */
START_TEST(a_plate_cools_the_hottest_spot)
{
    make_script("bare.lua", "");
    make_script("plated.lua", "box:spreader 'plate' { low = '4 x 4 x 2 mm', high = '66 x 46 x 2.5 mm' }\n");
    json_t *bare = solve("bare.lua", "kept", NULL), *plated = solve("plated.lua", "kept", NULL);
    double spot = figure(face(bare, "z0"), "maximum_c"), evened = figure(face(plated, "z0"), "maximum_c");
    ck_assert_msg(evened < spot - 20, "hottest spot of the floor %.1f degC, with a plate %.1f", spot, evened);
    ck_assert_double_lt(evened - figure(face(plated, "z0"), "mean_c"),
                        0.3 * (spot - figure(face(bare, "z0"), "mean_c")));
    ck_assert_double_lt(figure(json_array_get(json_object_get(plated, "parts"), 0), "temperature_c"),
                        figure(json_array_get(json_object_get(bare, "parts"), 0), "temperature_c"));
    json_decref(bare);
    json_decref(plated);
}
END_TEST

/* A link by hand to the ambient takes its share, and it is in the book. */
START_TEST(a_link_to_the_ambient_takes_its_share)
{
    make_script("led.lua", "box:link { 'out.sense_resistor', 'ambient', conductance = '0.05 W/K' }\n");
    json_t *document = solve("led.lua", "kept", NULL);
    double out = 0, loss = figure(json_object_get(document, "power"), "loss_w");
    size_t i;
    json_t *entry;
    json_array_foreach(json_object_get(document, "case"), i, entry) out += figure(entry, "heat_w");
    double part = figure(json_array_get(json_object_get(document, "parts"), 0), "temperature_c");
    ck_near(out + 0.05 * (part - 25), loss, 1e-9, 0);
    ck_assert_double_le(fabs(figure(json_object_get(document, "books"), "heat_imbalance_w")), 1e-9 * loss);
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
        make_script("wrong.lua", wrong[i].extra);
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
    make_script("again.lua", "");
    json_t *first = solve("again.lua", "fresh", NULL), *second = solve("again.lua", "fresh", NULL);
    ck_assert_msg(json_equal(first, second), "the kept field differs");
    char line[400], *said;
    snprintf(line, sizeof line,
             "ls %s/fresh/* >/dev/null && for f in %s/fresh/*; do truncate -s 1000 $f; done", scratch_folder,
             scratch_folder);
    ck_assert_msg(system(line) == 0, "no file was kept");
    json_t *third = solve("again.lua", "fresh", &said);
    size_t i;
    json_t *warning;
    json_t *warnings = json_object_get(third, "warnings");
    bool told = strstr(said, "field") != NULL;
    json_array_foreach(warnings, i, warning) told = told || strstr(json_string_value(warning), "field");
    ck_assert_msg(told, "the spoilt file is not told of: %s", said);
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
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    json_t *document = json_loads(output.out, 0, NULL);
    ck_assert_ptr_nonnull(document);
    command_free(&output);
    return document;
}

static void check_energy(const json_t *document)
{
    const json_t *energy = json_object_get(document, "energy");
    double in = figure(energy, "put_in_j"), out = figure(energy, "handed_out_j"),
           stored = figure(energy, "stored_j");
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
    make_script("warm.lua", "box:link { 'out.sense_resistor', 'ambient', conductance = '0.02 W/K' }\n");
    json_t *steady = solve("warm.lua", "kept", NULL);
    double part = figure(json_array_get(json_object_get(steady, "parts"), 0), "temperature_c");
    double floor_mean = figure(face(steady, "z0"), "mean_c"), spot = figure(face(steady, "z0"), "maximum_c");
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
    make_script("alike.lua", "");
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
    make_script("rule.lua", "");
    const char *path = scratch_file("rule.lua");
    const char *arguments[] = {"solve", path, "--network", "rule", "--json", NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "%s", output.error);
    json_t *document = json_loads(output.out, 0, NULL);
    ck_assert_ptr_nonnull(document);
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
    ck_assert_ptr_nonnull(strstr(output.error, "\"rule\" (quick) or \"field\" (hottest spots, seconds)"));
    command_free(&output);
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
}

int main(void)
{
    return story_main("field_heat", fill);
}
