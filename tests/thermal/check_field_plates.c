/* check_field_plates.c - heat spreading in a plate and in a board's copper, by the grid of a box without
 * shell. */
#include "heatledger/field.h"

#include "reference_case.h"
#include "story.h"

#include <math.h>
#include <string.h>

/* A plate in still surroundings, edges adiabatic, one watt in a thin layer on top in its middle. */
static hl_field_box plate_of(hl_field_block *source, double side, double thickness, double source_side,
                             double layer, double h_below, double h_above)
{
    double low = 0.5 * (side - source_side), high = 0.5 * (side + source_side);
    *source = (hl_field_block){.name = "source",
                               .low = {low, low, thickness - layer},
                               .high = {high, high, thickness},
                               .heat = 1,
                               .on = HL_FIELD_ANY};
    hl_field_box box = {.size = {side, side, thickness},
                        .fill_conductivity = 1,
                        .potted = true,
                        .n_blocks = 1,
                        .blocks = source,
                        .surroundings = {300, 101325}};
    for (int face = 0; face < HL_FACES; face++) box.sides[face].law = HL_FIELD_ADIABATIC;
    box.sides[HL_FACE_Z0].law = HL_FIELD_FIXED;
    box.sides[HL_FACE_Z0].coefficient = h_below;
    if (h_above > 0) box.sides[HL_FACE_Z1].law = HL_FIELD_FIXED;
    box.sides[HL_FACE_Z1].coefficient = h_above;
    return box;
}

static double rise_of_source(const hl_field_box *box)
{
    double power[2] = {1, 0}, mean[2], in, out;
    hl_diagnostics *messages = hl_diagnostics_create();
    hl_field *field = hl_field_create(box, messages);
    ck_assert_msg(field != NULL, "%s", field ? "" : hl_diagnostics_text(messages, 0));
    hl_field_work *work = hl_field_work_create(field);
    ck_assert_int_eq(hl_field_solve(work, &box->surroundings, power, NULL, NULL, mean), HL_OK);
    hl_field_book(work, &in, &out);
    ck_near(out, in, 1e-9, 0);
    hl_field_facts facts;
    hl_field_facts_of(field, &facts);
    printf("%zu cells, %.2f s: ", facts.cells, facts.seconds);
    hl_field_work_destroy(work);
    hl_field_destroy(field);
    hl_diagnostics_destroy(messages);
    return mean[0] - box->surroundings.temperature;
}

/* Double Fourier series of tests/reference/spreading_open.json; bar 3 %. */
START_TEST(spreading_resistance_agrees_with_the_series)
{
    json_t *root = reference_open("spreading_open.json"), *cases = reference_at(root, "cases");
    double worst = 0, worst_spreading = 0;
    ck_assert_uint_gt(json_array_size(cases), 0);
    for (size_t k = 0; k < json_array_size(cases); k++) {
        json_t *one = json_array_get(cases, k), *in = reference_at(one, "inputs"),
               *out = reference_at(one, "outputs");
        double thickness = reference_number(in, "thickness_m"), side = reference_number(in, "source_side_m");
        hl_field_block source;
        hl_field_box box = plate_of(&source, reference_number(in, "plate_side_m"), thickness, side,
                                    2e-3 * fmin(side, thickness), reference_number(in, "h_W_m2K"), 0);
        box.fill_conductivity = reference_number(in, "k_W_mK");
        double rise = rise_of_source(&box), expected = reference_number(out, "R_mean_K_W");
        double off = rise / expected - 1;
        worst = fmax(worst, fabs(off));
        worst_spreading =
            fmax(worst_spreading, fabs(rise - expected) / reference_number(out, "R_sp_mean_K_W"));
        printf("%s: %.3f of %.3f K/W\n", json_string_value(reference_at(one, "id")), rise, expected);
    }
    printf("spreading: worst %.2f %% of the resistance, %.2f %% of its spreading part\n", 100 * worst,
           100 * worst_spreading);
    ck_assert_double_le(worst, 0.03);
    json_decref(root);
}
END_TEST

enum { ZONES = 8 };

static hl_field_zone square(double board, double area, double low, double high, double k)
{
    double half = 0.5 * sqrt(area), middle = 0.5 * board;
    return (hl_field_zone){{middle - half, middle - half, low}, {middle + half, middle + half, high}, k, k};
}

/* The depth of the inner layers is not stated.  It follows from another figure that is, the mean of the top
 * side: with 36, 121 and 400 mm2 it asks for 0.36, 0.35 and 0.36 mm; evenly spaced layers (0.5 mm) have it
 * off by 0.1 % and the warmest spot of the bottom by 1 to 3 %. */
static const double inner_depth = 0.36e-3; /* m, from a side to the nearer face of the copper */

static size_t lay_copper(hl_field_zone *zones, json_t *set, double board, double thickness, double area,
                         double k)
{
    json_t *layers = reference_at(set, "layers");
    size_t n = 0, count = json_array_size(layers);
    for (size_t i = 0; i < count; i++) {
        json_t *layer = json_array_get(layers, i);
        double copper = json_number_value(json_array_get(layer, 1));
        bool pad = strcmp(json_string_value(json_array_get(layer, 2)), "pad") == 0;
        double high = i == 0           ? thickness
                      : i + 1 == count ? copper
                      : 2 * i < count  ? thickness - inner_depth
                                       : inner_depth + copper;
        zones[n++] = square(board, pad ? area : board * board, high - copper, high, k);
    }
    return n;
}

/* tests/reference/board_open.json; bar 3 %, beside the error the reference states of itself. */
START_TEST(copper_area_agrees_with_solutions_on_fine_grids)
{
    json_t *root = reference_open("board_open.json"), *curves = reference_at(root, "curves");
    json_t *k = reference_at(root, "k"), *sets = reference_at(root, "conf");
    double size[3], worst = 0, side = reference_number(root, "source_m"), copper = reference_number(k, "cu");
    reference_numbers(reference_at(root, "board_m"), 3, size);
    ck_assert_uint_gt(json_array_size(curves), 0);
    for (size_t c = 0; c < json_array_size(curves); c++) {
        json_t *curve = json_array_get(curves, c), *points = reference_at(curve, "points");
        json_t *set = reference_at(sets, json_string_value(reference_at(curve, "conf")));
        json_t *vias = reference_at(set, "vias");
        double h = reference_number(curve, "h_W_m2K"), at_worst = 0;
        for (size_t i = 0; i < json_array_size(points); i += STORY_SANITIZED ? 6 : 2) {
            json_t *point = json_array_get(points, i);
            hl_field_zone zones[ZONES];
            hl_field_board board = {.name = "board",
                                    .high = {size[0], size[1], size[2]},
                                    .normal = 2,
                                    .conductivity_in = reference_number(k, "fr4_in"),
                                    .conductivity_through = reference_number(k, "fr4_thru"),
                                    .zones = zones};
            if (json_is_object(vias)) { /* under the source: copper rings in parallel with the board */
                double r = 0.5 * reference_number(vias, "drill"),
                       inner = r - reference_number(vias, "plating");
                double ring = 3.14159265358979 * (r * r - inner * inner) * reference_number(vias, "n");
                zones[board.n_zones] = square(size[0], side * side, 0, size[2], 0);
                zones[board.n_zones++].conductivity_through =
                    board.conductivity_through + ring / (side * side) * copper;
            }
            board.n_zones += lay_copper(zones + board.n_zones, set, size[0], size[2],
                                        reference_number(point, "area_m2"), copper);
            hl_field_block source;
            double layer =
                json_number_value(json_array_get(json_array_get(reference_at(set, "layers"), 0), 1));
            hl_field_box box = plate_of(&source, size[0], size[2], side, layer, h, h);
            box.n_boards = 1;
            box.boards = &board;
            double expected = reference_number(point, "theta_mean_K_W");
            double off = rise_of_source(&box) / expected - 1;
            printf("%s %.0f mm2: %+.2f %% (reference +- %.2f %%)\n",
                   json_string_value(reference_at(curve, "id")), 1e6 * reference_number(point, "area_m2"),
                   100 * off, 100 * reference_number(point, "error_est_K_W") / expected);
            at_worst = fmax(at_worst, fabs(off) - reference_number(point, "error_est_K_W") / expected);
        }
        worst = fmax(worst, at_worst);
    }
    printf("copper area: worst %.2f %% beyond the reference's own error\n", 100 * worst);
    ck_assert_double_le(worst, 0.03);
    json_decref(root);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, spreading_resistance_agrees_with_the_series);
    tcase_add_test(tests, copper_area_agrees_with_solutions_on_fine_grids);
}

int main(void)
{
    return story_main("field_plates", fill);
}
