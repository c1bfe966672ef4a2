/* check_field_gaps.c - air between a part and the lid, by a field that a design describes: as wide as stated,
 * what contradicts walls or board told of, and what a grid cannot hold kept as films. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/field.h"
#include "json_entry.h"
#include "plate_box.h"
#include "scratch_folder.h"
#include "story.h"

/* A big part `lift` mm over its board, `gap` mm under the lid, 0.6 mm beside an upright plate; as a design.
 */
static json_t *solve_under_lid(double lift, double gap, const char *more, char **said)
{
    char text[4000];
    plate_script("any.lua", ""); /* for its parts */
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
    return plate_solve("lid.lua", "kept", said);
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
        double exact, mean = json_figure(part, "temperature_c"),
                      spot = json_figure(plate_face(document, "z1"), "maximum_c");
        hl_field_face lid = solve_exactly(1e-3 * gaps[i], json_figure(part, "loss_w"), &exact);
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
        ck_assert_msg(plate_told(document, said, wrong[i].told), "not '%s'", wrong[i].told);
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
    ck_assert_msg(plate_told(crowded, said, "more edges than its grid can hold"), "no word of films");
    for (int face_index = 0; face_index < 2; face_index++) {
        const char *name = face_index ? "z1" : "z0";
        ck_near(json_figure(plate_face(crowded, name), "maximum_c"),
                json_figure(plate_face(plain, name), "maximum_c"), 0, 1.5);
    }
    ck_near(json_figure(json_array_get(json_object_get(crowded, "parts"), 0), "temperature_c"),
            json_figure(json_array_get(json_object_get(plain, "parts"), 0), "temperature_c"), 0, 3);
    free(said);
    json_decref(plain);
    json_decref(crowded);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, a_gap_under_the_lid_is_as_wide_as_stated);
    tcase_add_test(tests, a_part_moved_by_the_field_is_told_of);
    tcase_add_test(tests, a_crowded_box_keeps_its_gaps_as_films);
}

int main(void)
{
    return story_main("gaps in a heat field", fill);
}
