/* check_field_covers.c - faces of a case that lie on something, by rule and by field. */
#include <math.h>
#include <string.h>

#include "json_entry.h"
#include "plate_box.h"
#include "scratch_folder.h"
#include "story.h"

/* A share of every face is covered, 2 W/(m^2 K). */
static json_t *solve_covered(double share, double air_speed, const char *network)
{
    char text[2000];
    plate_script("any.lua", ""); /* for its parts */
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
    return plate_solve("covered.lua", "kept", NULL);
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
        sum += own * (json_figure(node, "temperature_c") - 25);
        area += own;
    }
    ck_near(area, 0.013, 1e-12, 0);
    double loss = json_figure(json_object_get(document, "power"), "loss_w");
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
        double rise = json_figure(plate_face(whole, name), "mean_c") - 25;
        ck_near(json_figure(plate_face(whole, name), "heat_w"), 2 * covered_area[k / 2] * rise, 1e-9, 0);
        ck_near(json_figure(plate_face(still, name), "heat_w"),
                json_figure(plate_face(whole, name), "heat_w"), 1e-9, 0);
    }
    json_decref(whole);
    json_decref(still);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, a_cover_takes_its_share_of_a_face);
    tcase_add_test(tests, a_whole_cover_leaves_no_air);
}

int main(void)
{
    return story_main("covers of a heat field", fill);
}
