/* check_field_heat.c - designs whose box is a condensed heat field: books, places, plates, kept files. */
#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command_json.h"
#include "heatledger/field.h"
#include "json_entry.h"
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
    json_t *document = output_json(&output, 0);
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
    return json_entry(document, "case", "face", name);
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

/* Among what was said or the document's warnings. */
static bool is_told(const json_t *document, const char *said, const char *words)
{
    size_t i;
    json_t *warning;
    bool told = strstr(said, words) != NULL;
    json_array_foreach(json_object_get(document, "warnings"), i, warning)
    {
        told = told || strstr(json_string_value(warning), words) != NULL;
    }
    return told;
}

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
    ck_assert_msg(is_told(third, said, "field"), "the spoilt file is not told of: %s", said);
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
    make_script("states.lua", "");
    char *own = read_text(HL_TEST_SOURCE "/field/plate.yaml"), *path = strdup(scratch_file("states.lua"));
    char *text = read_text(path), *mark = strstr(text, "\"3 K/W\""), *whole = calloc(1, strlen(text) + 40);
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
    double degrees = figure(json_array_get(json_object_get(document, "parts"), 0), "temperature_c");
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

/* ------------------------------------------------------------------- gaps -- */

/* A big part `lift` mm over its board, `gap` mm under the lid, 0.6 mm beside an upright plate; as a design.
 */
static json_t *solve_under_lid(double lift, double gap, const char *more, char **said)
{
    char text[4000];
    make_script("any.lua", ""); /* for its parts */
    snprintf(text, sizeof text,
             "local hl = require 'heatledger'\n"
             "local box = hl.adapter 'part under the lid'\n"
             "box:supply { voltage = '12 V' }\n"
             "box:stage 'out' { model = 'output_switch', fed_by = 'source',"
             " sense_resistor = hl.parts('plate.yaml').shunt }\n"
             "box:port 'port' { fed_by = 'out', voltage = '12 V', current = '2 A' }\n"
             "box:box { size = '70 x 50 x 25 mm', wall = '2 mm', material = 'polycarbonate',"
             " network = 'field', up = 'z1' }\n"
             "box:board 'main' { low = '5 x 5 x 8 mm', high = '65 x 45 x 9.6 mm',"
             " conductivity_in = '30 W/(m K)', conductivity_through = '0.3 W/(m K)' }\n"
             "box:spreader 'plate' { low = '14 x 12 x 11 mm', high = '14.4 x 38 x 20 mm' }\n"
             "box:place 'out.sense_resistor' { at = '35 x 25 x %.6f mm', size = '40 x 30 x %.6f mm',"
             " board = 'main' }\n%sreturn box\n",
             0.5 * (9.6 + lift + 23 - gap), 23 - gap - 9.6 - lift, more);
    scratch_write("lid.lua", text);
    return solve("lid.lua", "kept", said);
}

/* The same box with each edge where it is stated: the field alone, without a design's lattice. */
static hl_field_face solve_exactly(double gap, double power, double *part)
{
    const hl_field_board board = {.name = "main",
                                  .low = {5e-3, 5e-3, 8e-3},
                                  .high = {65e-3, 45e-3, 9.6e-3},
                                  .normal = 2,
                                  .conductivity_in = 30,
                                  .conductivity_through = 0.3,
                                  .density_heat = 2e6,
                                  .emissivity = 0.9};
    const hl_field_block body = {.name = "part",
                                 .low = {15e-3, 10e-3, 9.6e-3},
                                 .high = {55e-3, 40e-3, 23e-3 - gap},
                                 .conductivity = {1, 1, 1}, /* as estimated for a resistor */
                                 .density_heat = 2e6,
                                 .emissivity = 0.9,
                                 .heat = power,
                                 /* the part states 4 K/W from its mean: less the block's own L / (3 k A) */
                                 .contact = 4 * 40e-3 * 30e-3 - (23e-3 - gap - 9.6e-3) / 3};
    const hl_field_block plate = {.name = "plate",
                                  .low = {14e-3, 12e-3, 11e-3},
                                  .high = {14.4e-3, 38e-3, 20e-3},
                                  .conductivity = {200, 200, 200},
                                  .density_heat = 2e6,
                                  .emissivity = 0.1,
                                  .on = HL_FIELD_ANY};
    hl_field_box box = {.size = {70e-3, 50e-3, 25e-3},
                        .shell = 2e-3,
                        .shell_conductivity = 0.2,
                        .shell_density_heat = 1.44e6,
                        .shell_emissivity = 0.9,
                        .fill_conductivity = 0.027,
                        .fill_density_heat = 1200,
                        .n_boards = 1,
                        .n_blocks = 1,
                        .n_spreaders = 1,
                        .boards = &board,
                        .blocks = &body,
                        .spreaders = &plate,
                        .surroundings = {298.15, 101325},
                        .fineness = 1};
    for (int face = 0; face < HL_FACES; face++)
        box.sides[face] = (hl_field_side){HL_FIELD_NATURAL, HL_VERTICAL, 25e-3, 0, 0.9, 0, 0, 0, 0};
    box.sides[HL_FACE_Z0].orientation = HL_FACING_DOWN;
    box.sides[HL_FACE_Z1].orientation = HL_FACING_UP;
    box.sides[HL_FACE_Z0].length = box.sides[HL_FACE_Z1].length = 70e-3 * 50e-3 / (2 * (70e-3 + 50e-3));
    hl_field *field = hl_field_create(&box, NULL);
    hl_field_work *work = hl_field_work_create(field);
    double heat[3] = {power, 0, 0}, mean[3];
    hl_field_face faces[HL_FACES];
    ck_assert_int_eq(hl_field_solve(work, &box.surroundings, heat, NULL, NULL, mean), HL_OK);
    hl_field_spots(work, NULL, faces);
    hl_field_work_destroy(work);
    hl_field_destroy(field);
    *part = mean[0] - 273.15;
    return faces[HL_FACE_Z1];
}

/* 0.7 mm of air carry 40 W/(m^2 K), four times what the outside does: neither left out nor made contact.
 * What is left of the bar of 5 K for a part and 3 K for a hottest spot is the grid's. */
START_TEST(a_gap_under_the_lid_is_as_wide_as_stated)
{
    const double gaps[] = {0.02, 0.3, 0.7, 1.5, 4};
    double last_spot = INFINITY, last_part = 0;
    for (size_t i = 0; i < sizeof gaps / sizeof *gaps; i++) {
        json_t *document = solve_under_lid(0, gaps[i], "", NULL);
        const json_t *part = json_array_get(json_object_get(document, "parts"), 0);
        double exact, mean = figure(part, "temperature_c"), spot = figure(face(document, "z1"), "maximum_c");
        hl_field_face lid = solve_exactly(1e-3 * gaps[i], figure(part, "loss_w"), &exact);
        printf("gap %.2f mm: part %.2f degC, exactly %.2f; lid's hottest %.2f, exactly %.2f\n", gaps[i], mean,
               exact, spot, lid.hottest.temperature - 273.15);
        ck_near(mean, exact, 0, 0.5);
        ck_near(spot, lid.hottest.temperature - 273.15, 0, 0.5);
        ck_assert_double_lt(spot, last_spot);
        ck_assert_double_gt(mean, last_part);
        last_spot = spot;
        last_part = mean;
        json_decref(document);
    }
}
END_TEST

/* What contradicts the walls or the board is told: which part, how far, what was done, what to do. */
START_TEST(a_part_moved_by_the_field_is_told_of)
{
    static const struct {
        double lift, gap;
        const char *told;
    } wrong[] = {
        {1.2, 0.7,
         "'out.sense_resistor' is 1.2 mm away from board 'main' that it is on; the heat field takes it as"},
        {7, 0.7, "is 7 mm away from board 'main' that it is on; the heat field leaves it there"},
        {0, -0.7,
         "'out.sense_resistor' reaches 0.7 mm into the wall at z1; the heat field cuts it there, so that it "
         "touches the wall: move it or check its size"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        char *said;
        json_t *document = solve_under_lid(wrong[i].lift, wrong[i].gap, "", &said);
        ck_assert_msg(is_told(document, said, wrong[i].told), "not '%s'", wrong[i].told);
        json_decref(document);
        free(said);
    }
}
END_TEST

/* More edges than a grid holds: gaps that become films are told of, and carry what they carried.  The part
 * has grown by 1.8 mm, and ten chips beside it carry a little: less than the bar of 5 K all the same. */
START_TEST(a_crowded_box_keeps_its_gaps_as_films)
{
    char *said, plates[3000] = "";
    json_t *plain = solve_under_lid(0, 1.8, "", NULL);
    for (int i = 0; i < 10; i++)
        snprintf(plates + strlen(plates), sizeof plates - strlen(plates),
                 "box:spreader 'chip_%d' { low = '%g x %g x %g mm', high = '%g x %g x %g mm' }\n", i,
                 57 + 0.7 * i, 7 + 4.1 * i, 10 + 1.1 * i, 57.4 + 0.7 * i, 7.9 + 4.1 * i, 10.6 + 1.1 * i);
    json_t *crowded = solve_under_lid(0, 1.8, plates, &said);
    ck_assert_msg(is_told(crowded, said, "more edges than its grid can hold"), "no word of films");
    for (int face_index = 0; face_index < 2; face_index++) {
        const char *name = face_index ? "z1" : "z0";
        ck_near(figure(face(crowded, name), "maximum_c"), figure(face(plain, name), "maximum_c"), 0, 1.5);
    }
    ck_near(figure(json_array_get(json_object_get(crowded, "parts"), 0), "temperature_c"),
            figure(json_array_get(json_object_get(plain, "parts"), 0), "temperature_c"), 0, 3);
    free(said);
    json_decref(plain);
    json_decref(crowded);
}
END_TEST

/* ---------------------------------------------------------------- covers -- */

/* A share of every face is covered, 2 W/(m^2 K). */
static json_t *solve_covered(double share, double air_speed, const char *network)
{
    char text[2000];
    make_script("any.lua", ""); /* for its parts */
    snprintf(text, sizeof text,
             "local hl = require 'heatledger'\n"
             "local box = hl.adapter 'box under a cover'\n"
             "box:supply { voltage = '12 V' }\n"
             "box:stage 'out' { model = 'output_switch', fed_by = 'source',"
             " sense_resistor = hl.parts('plate.yaml').shunt }\n"
             "box:port 'port' { fed_by = 'out', voltage = '12 V', current = '2 A' }\n"
             "local c = %.17g\n"
             "box:box { size = '70 x 50 x 25 mm', wall = '2 mm', material = 'polycarbonate', up = 'z1',"
             " network = '%s', air_speed = '%g m/s', cover_conductance = '2 W/(m^2 K)',"
             " covered = { x0 = c, x1 = c, y0 = c, y1 = c, z0 = c, z1 = c } }\n"
             "box:board 'main' { low = '5 x 5 x 8 mm', high = '65 x 45 x 9.6 mm', copper = '70 um' }\n"
             "box:place 'out.sense_resistor' { at = '20 x 25 x 6 mm', board = 'main' }\n"
             "return box\n",
             share, network, air_speed);
    scratch_write("covered.lua", text);
    return solve("covered.lua", "kept", NULL);
}

static const double covered_area[] = {50e-3 * 25e-3, 70e-3 * 25e-3, 70e-3 * 50e-3}; /* m^2, across x, y, z */

/* W/K from the case's mean, by area, to the room. */
static double leaving_per_kelvin(double share, double air_speed, const char *network)
{
    json_t *document = solve_covered(share, air_speed, network), *node;
    double sum = 0, area = 0;
    size_t i;
    json_array_foreach(json_object_get(document, "nodes"), i, node)
    {
        const char *name = json_string_value(json_object_get(node, "node"));
        if (strncmp(name, "face ", 5) != 0 || strlen(name) != strlen("face x0")) continue;
        double own = covered_area[name[5] - 'x'];
        sum += own * (figure(node, "temperature_c") - 25);
        area += own;
    }
    ck_near(area, 0.013, 1e-12, 0);
    double loss = figure(json_object_get(document, "power"), "loss_w");
    json_decref(document);
    return loss * area / sum;
}

/* A face hands out A ((1 - c) h + c cover), h of a bare face at its temperature: about a straight line over
 * the share c, which no neighbours leave by a step.  h grows with the rise, so it bends a little: by less
 * than a third from one pair to the next.  By rule the same sum is two links of their own; the two agree at
 * no share worse than on a bare box, where the field knows that a face is not at one temperature: within a
 * hundredth, in a draught as well. */
START_TEST(a_cover_takes_its_share_of_a_face)
{
    static const double shares[] = {0, 0.1, 0.3, 0.49, 0.5, 0.51, 0.7, 0.9, 1};
    for (int blown = 0; blown < 2; blown++) {
        double last = 0, last_fall = 0, bare = 0;
        for (size_t i = 0; i < sizeof shares / sizeof *shares; i++) {
            double by_field = leaving_per_kelvin(shares[i], blown, "field");
            double apart = fabs(by_field / leaving_per_kelvin(shares[i], blown, "rule") - 1);
            double fall = i > 0 ? (last - by_field) / (shares[i] - shares[i - 1]) : 0;
            printf("%d m/s, %.2f covered: %.5f W/K, by rule %.2g off; falls by %.4f\n", blown, shares[i],
                   by_field, apart, fall);
            if (i == 0) bare = apart;
            ck_assert_double_lt(apart, 0.01);
            ck_assert_double_le(apart, bare);
            if (i > 0) ck_assert_double_gt(fall, 0);
            if (i > 1) ck_near(fall, last_fall, 1.0 / 3, 0);
            last = by_field;
            last_fall = fall;
        }
        ck_near(last, 2 * 0.013, 1e-6, 0); /* the cover alone */
    }
}
END_TEST

/* Wholly covered, every face hands out what the cover takes at its mean rise, whatever blows past. */
START_TEST(a_whole_cover_leaves_no_air)
{
    json_t *whole = solve_covered(1, 1, "field"), *still = solve_covered(1, 0, "field");
    for (int k = 0; k < 6; k++) {
        const char name[] = {(char)('x' + k / 2), (char)('0' + k % 2), '\0'};
        double rise = figure(face(whole, name), "mean_c") - 25;
        ck_near(figure(face(whole, name), "heat_w"), 2 * covered_area[k / 2] * rise, 1e-9, 0);
        ck_near(figure(face(still, name), "heat_w"), figure(face(whole, name), "heat_w"), 1e-9, 0);
    }
    json_decref(whole);
    json_decref(still);
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
    tcase_add_test(tests, a_gap_under_the_lid_is_as_wide_as_stated);
    tcase_add_test(tests, a_part_moved_by_the_field_is_told_of);
    tcase_add_test(tests, a_crowded_box_keeps_its_gaps_as_films);
    tcase_add_test(tests, a_cover_takes_its_share_of_a_face);
    tcase_add_test(tests, a_whole_cover_leaves_no_air);
}

int main(void)
{
    return story_main("field_heat", fill);
}
