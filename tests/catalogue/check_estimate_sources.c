/* check_estimate_sources.c - what the shipped estimate rules say against the tables and limits that are
 * published. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "estimated_part.h"
#include "story.h"

/* Effective areas in cm^2 and path lengths in cm of power cores.  source: R. W. Erickson, D. Maksimovic,
 * Fundamentals of Power Electronics, 2nd ed., appendix D, tables D.5 and D.6 (ETD and PQ), from memory of the
 * printed tables; 4 %, the tolerance the rule states itself. */
START_TEST(cores_have_the_sizes_of_the_textbook_tables)
{
    static const struct {
        const char *core;
        double area, path;
    } cores[] = {
        {"pq_20_16", 0.62, 3.74}, {"pq_20_20", 0.62, 4.54}, {"pq_26_20", 1.19, 4.63},
        {"pq_26_25", 1.18, 5.55}, {"pq_32_20", 1.70, 5.55}, {"pq_32_30", 1.61, 7.46},
        {"pq_35_35", 1.96, 8.79}, {"etd_29", 0.76, 7.20},   {"etd_34", 0.97, 7.86},
        {"etd_39", 1.25, 9.21},   {"etd_44", 1.74, 10.3},
    };
    for (size_t k = 0; k < sizeof cores / sizeof cores[0]; k++) {
        char fields[120];
        estimated_begin();
        snprintf(fields, sizeof fields, "model: gapped_inductor, inductance: 300 uH, core: %s",
                 cores[k].core);
        const hl_part *part = estimated_part(fields);
        double area = estimated_number(part, "core_area"), volume = estimated_number(part, "core_volume");
        ck_near(area, cores[k].area * 1e-4, 0.04, 0);
        ck_near(volume / area, cores[k].path * 1e-2, 0.04, 0);
        estimated_end();
    }
}
END_TEST

/* Limits of tan delta at 120 Hz and 20 degC that catalogues of general 105 degC series print, two makers'
 * alike (0.22 to 0.23 at 6.3 V, and so on).  An estimate of what parts measure lies between a third of the
 * limit and the limit, the band's upper end no more than a tenth above it. */
START_TEST(loss_factors_keep_to_the_limits_of_catalogues)
{
    static const struct {
        double volt, limit;
    } rows[] = {{6.3, 0.22}, {10, 0.19},  {16, 0.16},  {25, 0.14},  {35, 0.12},  {50, 0.10},
                {63, 0.09},  {100, 0.08}, {200, 0.14}, {350, 0.20}, {400, 0.25}, {450, 0.25}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        char fields[160];
        estimated_begin();
        snprintf(fields, sizeof fields,
                 "model: electrolytic_capacitor, known_by: marking, capacitance: 47 uF, rated_voltage: %g V",
                 rows[k].volt);
        const hl_part *part = estimated_part(fields);
        double tangent = estimated_number(part, "loss_factor");
        const hl_band *band = estimated_band(part, estimated_index(part, "loss_factor"));
        ck_assert_msg(tangent > rows[k].limit / 3 && tangent < rows[k].limit, "%g V: %g", rows[k].volt,
                      tangent);
        ck_assert_msg(band->high < 1.1 * rows[k].limit, "%g V: up to %g", rows[k].volt, band->high);
        estimated_end();
    }
}
END_TEST

/* Catalogue limits at 1 kHz: polyester 0.01, polypropylene 0.001, ceramic class 1 0.001, class 2 (X7R) 0.1.
 */
START_TEST(films_and_ceramics_keep_to_the_limits_of_catalogues)
{
    static const struct {
        const char *fields;
        double limit;
    } rows[] = {
        {"model: film_capacitor, film: polyester, capacitance: 100 nF, rated_voltage: 400 V", 0.01},
        {"model: film_capacitor, film: polypropylene, capacitance: 100 nF, rated_voltage: 400 V", 0.001},
        {"model: ceramic_capacitor, known_by: marking, dielectric: class_1, capacitance: 1 nF, "
         "rated_voltage: 50 V",
         0.001},
        {"model: ceramic_capacitor, known_by: marking, dielectric: class_2, capacitance: 1 uF, "
         "rated_voltage: 50 V",
         0.1},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        estimated_begin();
        const hl_part *part = estimated_part(rows[k].fields);
        double tangent = estimated_number(part, "loss_factor");
        ck_assert_msg(tangent > rows[k].limit / 8 && tangent < rows[k].limit, "%s: %g", rows[k].fields,
                      tangent);
        estimated_end();
    }
}
END_TEST

/* IEC 60028: 17.241 nohm m at 20 degC. 46 turns of 0.7 mm on a toroid of 20 mm: 28 mm a turn. */
START_TEST(a_choke_has_the_resistance_of_its_copper)
{
    estimated_begin();
    const hl_part *part =
        estimated_part("model: common_mode_choke, inductance: 12 mH, turns: 46, copper_diameter: 0.7 mm, "
                       "size: 20 x 12 x 20 mm");
    const double pi = 3.14159265358979323846;
    ck_near(estimated_number(part, "dc_resistance"), 17.241e-9 * 46 * 0.028 / (pi / 4 * 0.7e-3 * 0.7e-3),
            1e-3, 0);
    estimated_end();
}
END_TEST

/* Largest resistance at 20 degC in ohm per km of plain copper conductors.  source: IEC 60228, tables 1 and 3.
 * The estimate lies below the limit by no more than 7 %, and its band does not exceed it by more than 2 %. */
START_TEST(cable_cores_keep_to_the_standard_s_resistance)
{
    static const struct {
        const char *kind;
        double section, limit;
    } rows[] = {
        {"flexible", 0.5, 39.0}, {"flexible", 0.75, 26.0}, {"flexible", 1.0, 19.5}, {"flexible", 1.5, 13.3},
        {"flexible", 2.5, 7.98}, {"flexible", 4.0, 4.95},  {"flexible", 6.0, 3.30}, {"solid", 0.5, 36.0},
        {"solid", 0.75, 24.5},   {"solid", 1.0, 18.1},     {"solid", 1.5, 12.1},    {"solid", 2.5, 7.41},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        char fields[160];
        estimated_begin();
        snprintf(fields, sizeof fields, "model: wire, length: 1 m, section: %g mm^2, wire_kind: %s",
                 rows[k].section, rows[k].kind);
        const hl_part *part = estimated_part(fields);
        double d = estimated_number(part, "diameter"), n = estimated_number(part, "strands");
        double ohm = 17.241e-9 * 1000 / (n * 0.78539816 * d * d);
        ck_assert_msg(ohm < 1.02 * rows[k].limit && ohm > 0.93 * rows[k].limit, "%g mm2 %s: %g ohm/km",
                      rows[k].section, rows[k].kind, ohm);
        estimated_end();
    }
}
END_TEST

/* American gauges: 18 AWG has 0.823 mm2, 24 AWG 0.2047 mm2.  source: ASTM B258, table 1; 0.5 %, the digits of
 * the formula's rounding.  A stranded core of 18 AWG: 0.823 mm2 in all. */
START_TEST(gauges_have_the_sections_of_their_standard)
{
    estimated_begin();
    const hl_part *part = estimated_part("model: wire, known_by: marking, length: 1 m, gauge: 24");
    double d = estimated_number(part, "diameter");
    ck_near(0.78539816 * d * d, 0.2047e-6, 5e-3, 0);
    ck_near(estimated_band(part, estimated_index(part, "diameter"))->high, 1.01 * d, 1e-9, 0);
    estimated_end();
    estimated_begin();
    part = estimated_part("model: wire, length: 1 m, cable_gauge: 18");
    ck_near(estimated_number(part, "strands"), 0.823 / 0.0314159, 5e-3, 0);
    estimated_end();
}
END_TEST

/* Enamelled wire of 0.1 mm, grade 1, is 0.108 to 0.117 mm over the enamel.  source: IEC 60317-0-1, as printed
 * in wire tables. */
START_TEST(copper_under_enamel_is_found)
{
    estimated_begin();
    const hl_part *part = estimated_part("model: wire, length: 1 m, overall_diameter: 0.117 mm");
    size_t index = estimated_index(part, "diameter");
    ck_near(estimated_value(part, index)->number, 0.1e-3, 0.03, 0);
    ck_assert(estimated_band(part, index)->low < 0.1e-3 && estimated_band(part, index)->high > 0.1e-3);
    estimated_end();
}
END_TEST

/* Least copper thickness in um of finished boards.  source: IPC-6012, internal layer foil after processing
 * and external conductors after plating, class 2.  What is estimated lies above, the low end within 3 % of
 * it. */
START_TEST(board_copper_is_no_thinner_than_boards_may_be)
{
    static const struct {
        const char *layer, *copper;
        double least;
    } rows[] = {{"inner", "half_ounce", 11.4}, {"inner", "one_ounce", 24.9}, {"inner", "two_ounces", 55.7},
                {"outer", "half_ounce", 33.4}, {"outer", "one_ounce", 47.9}, {"outer", "two_ounces", 78.7}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        char fields[160];
        estimated_begin();
        snprintf(fields, sizeof fields,
                 "model: trace, length: 1 cm, width: 2 mm, base_copper: %s, board_layer: %s", rows[k].copper,
                 rows[k].layer);
        const hl_part *part = estimated_part(fields);
        size_t index = estimated_index(part, "thickness");
        double least = rows[k].least * 1e-6;
        ck_assert_msg(estimated_value(part, index)->number > least, "%s", fields);
        ck_assert_msg(estimated_band(part, index)->low > 0.9 * least &&
                          estimated_band(part, index)->low < 1.1 * least,
                      "%s: %g", fields, estimated_band(part, index)->low);
        estimated_end();
    }
}
END_TEST

/* Rings of powder: area in cm2, path in cm, inductance per turn squared in nH at permeability 60.  source:
 * the printed figures of C. W. T. McLyman, Transformer and Inductor Design Handbook, tables of powder
 * toroids, from memory.  2 % on area and path, as the rule says; 4 % on the inductance, half of what makers
 * allow. */
START_TEST(powder_rings_have_the_figures_of_the_handbook)
{
    static const struct {
        const char *ring;
        double area, path, factor;
    } rings[] = {{"ring_27_15_11", 0.654, 6.35, 75}, {"ring_33_20_11", 0.672, 8.15, 61}};
    for (size_t k = 0; k < sizeof rings / sizeof rings[0]; k++) {
        char fields[160];
        estimated_begin();
        snprintf(
            fields, sizeof fields,
            "model: powder_inductor, ring: %s, turns: 40, relative_permeability: 60, copper_diameter: 0.8 mm",
            rings[k].ring);
        const hl_part *part = estimated_part(fields);
        ck_near(estimated_number(part, "core_area"), rings[k].area * 1e-4, 0.02, 0);
        ck_near(estimated_number(part, "core_path_length"), rings[k].path * 1e-2, 0.02, 0);
        ck_near(estimated_number(part, "inductance_factor"), rings[k].factor * 1e-9, 0.04, 0);
        estimated_end();
    }
}
END_TEST

/* Half the permeability is left where the alloy's flux nears saturation: mu0 mu H is between a quarter and
 * nine tenths of it, for every alloy and permeability there is a curve for. */
START_TEST(bias_curves_fall_near_saturation)
{
    static const struct {
        const char *powder;
        int permeability;
    } rows[] = {{"iron", 75},
                {"iron_silicon", 26},
                {"iron_silicon", 60},
                {"iron_silicon_aluminium", 26},
                {"iron_silicon_aluminium", 40},
                {"iron_silicon_aluminium", 60},
                {"iron_silicon_aluminium", 75},
                {"iron_silicon_aluminium", 90},
                {"iron_silicon_aluminium", 125},
                {"nickel_iron", 26},
                {"nickel_iron", 60},
                {"nickel_iron", 125},
                {"molybdenum_permalloy", 26},
                {"molybdenum_permalloy", 60},
                {"molybdenum_permalloy", 125}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        char fields[200];
        estimated_begin();
        snprintf(fields, sizeof fields,
                 "model: powder_inductor, ring: ring_33_20_11, powder: %s, relative_permeability: %d, "
                 "inductance: 300 uH, copper_diameter: 0.8 mm",
                 rows[k].powder, rows[k].permeability);
        const hl_part *part = estimated_part(fields);
        const hl_curve *share =
            &estimated_value(part, estimated_index(part, "permeability_over_bias"))->curve;
        double flux = estimated_value(part, estimated_index(part, "saturation_flux"))->curve.y[0], field = 0;
        ck_assert_uint_ge(share->n, 5);
        for (size_t i = 1; i < share->n; i++) {
            ck_assert_double_lt(share->y[i], share->y[i - 1]);
            if (share->y[i - 1] > 0.52 && share->y[i] <= 0.52) field = share->x[i];
        }
        double linear = 1.25664e-6 * rows[k].permeability * field;
        ck_assert_msg(linear > 0.25 * flux && linear < 0.9 * flux, "%s: %g T of %g T", fields, linear, flux);
        estimated_end();
    }
}
END_TEST

/* Junction to lead of surface-mount outlines in K/W.  source: M. Brown and others, Power Sources and
 * Supplies, table 12.3 (typical surface-mount package thermal resistances). */
START_TEST(packages_cover_the_table_of_the_handbook)
{
    static const struct {
        const char *package;
        double lead;
    } rows[] = {{"sot_23", 75}, {"sot_223", 7.5}, {"so_8", 21}, {"smb", 13},
                {"smc", 11},    {"to_252", 6},    {"to_263", 2}};
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        char fields[160];
        estimated_begin();
        snprintf(fields, sizeof fields,
                 "model: schottky_diode, rated_voltage: 45 V, rated_current: 3 A, package: %s",
                 rows[k].package);
        const hl_part *part = estimated_part(fields);
        const hl_band *band = estimated_band(part, estimated_index(part, "resistance_board"));
        ck_assert_msg(band->low <= rows[k].lead && rows[k].lead <= band->high, "%s: %g to %g K/W",
                      rows[k].package, band->low, band->high);
        estimated_end();
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, estimated_load, estimated_unload);
    tcase_add_test(tests, cores_have_the_sizes_of_the_textbook_tables);
    tcase_add_test(tests, loss_factors_keep_to_the_limits_of_catalogues);
    tcase_add_test(tests, films_and_ceramics_keep_to_the_limits_of_catalogues);
    tcase_add_test(tests, a_choke_has_the_resistance_of_its_copper);
    tcase_add_test(tests, cable_cores_keep_to_the_standard_s_resistance);
    tcase_add_test(tests, gauges_have_the_sections_of_their_standard);
    tcase_add_test(tests, copper_under_enamel_is_found);
    tcase_add_test(tests, board_copper_is_no_thinner_than_boards_may_be);
    tcase_add_test(tests, powder_rings_have_the_figures_of_the_handbook);
    tcase_add_test(tests, bias_curves_fall_near_saturation);
    tcase_add_test(tests, packages_cover_the_table_of_the_handbook);
}

int main(void)
{
    return story_main("estimate sources", fill);
}
