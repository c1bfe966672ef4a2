/* check_surface.c - air and surface laws against published tables and worked examples.
 *
 * Books print their own air tables.  Where an example gives k, nu and Pr, the law is compared as a Nusselt
 * number at the same Rayleigh number, so that only the law is on trial; air_properties_* compares the air. */
#include "heatledger/thermal.h"

#include "published.h"

#include <math.h>
#include <string.h>

static const double sea = 101325.0; /* Pa */

#define BERGMAN "T. L. Bergman et al., Fundamentals of Heat and Mass Transfer"
#define CENGEL  "Y. A. Cengel & A. J. Ghajar, Heat and Mass Transfer, 5th ed."
#define BOX     "Solution manual to Y. A. Cengel, Heat Transfer, 2nd ed., ch. 9, electronic box"

/* Rayleigh number and conductivity of the air of this library, so that a coefficient can be read as Nu(Ra).
 */
static double rayleigh(double one, double other, double length, hl_air *air)
{
    hl_air_at(0.5 * (one + other), sea, air);
    return 9.80665 * air->expansion * fabs(one - other) * length * length * length /
           (air->kinematic * air->diffusivity);
}

/* Length at which a surface at `hot` in air at `cold` has the wanted Rayleigh number. */
static double length_for(double wanted, double hot, double cold)
{
    hl_air air;
    return cbrt(wanted / rayleigh(hot, cold, 1.0, &air));
}

static double natural_nusselt(hl_orientation orientation, double wanted, double hot, double cold)
{
    hl_air air;
    double length = length_for(wanted, hot, cold);
    rayleigh(hot, cold, length, &air);
    return hl_natural_coefficient(orientation, hot, cold, sea, length, NULL) * length / air.conductivity;
}

static double gap_nusselt(hl_orientation side, double wanted, double hot, double cold, double aspect)
{
    hl_air air;
    double gap = length_for(wanted, hot, cold);
    rayleigh(hot, cold, gap, &air);
    return hl_gap_coefficient(side, hot, cold, sea, gap, aspect * gap, NULL) * gap / air.conductivity;
}

/* ------------------------------------------------------------------- air -- */

/* clang-format off */
static const struct {
    double temperature, conductivity, kinematic, prandtl;
    double k_room, nu_room; /* relative; two books differ by 2 % in k and 1 to 2 % in nu */
    const char *source;
} air_table[] = {
    /* T. L. Bergman et al., Fundamentals of Heat and Mass Transfer, Table A.4.  Its nu is 1 to 2 % above
     * Sutherland's viscosity with the ideal-gas density. */
    {300,   0.0263,  1.589e-5, 0.707,  0.004, 0.021, BERGMAN ", Table A.4"},
    {325,   0.0282,  1.841e-5, 0.703,  0.004, 0.021, BERGMAN ", Table A.4"},
    {350,   0.0300,  2.092e-5, 0.700,  0.004, 0.021, BERGMAN ", Table A.4"},
    {400,   0.0338,  2.641e-5, 0.690,  0.006, 0.021, BERGMAN ", Table A.4"},
    /* Y. A. Cengel & A. J. Ghajar, Heat and Mass Transfer, Table A-15 (as printed in the examples below). Its k
     * is 2.2 to 2.5 % below the U.S. Standard Atmosphere 1976, which this library follows. */
    {280,   0.02416, 1.400e-5, 0.7344, 0.026, 0.010, CENGEL ", Table A-15"},
    {313,   0.02662, 1.702e-5, 0.7255, 0.026, 0.010, CENGEL ", Table A-15"},
    {333,   0.02808, 1.896e-5, 0.7202, 0.026, 0.010, CENGEL ", Table A-15"},
    {353,   0.02953, 2.097e-5, 0.7154, 0.026, 0.010, CENGEL ", Table A-15"},
};
/* clang-format on */

START_TEST(air_properties_match_two_textbook_tables)
{
    hl_air air;
    hl_air_at(air_table[_i].temperature, sea, &air);
    char k_source[120], nu_source[120];
    snprintf(k_source, sizeof k_source, "%s: conductivity of air at %g K, W/(m K)", air_table[_i].source,
             air_table[_i].temperature);
    snprintf(nu_source, sizeof nu_source, "%s: viscosity of air at %g K, m2/s", air_table[_i].source,
             air_table[_i].temperature);
    ck_published(k_source, air.conductivity, air_table[_i].conductivity, air_table[_i].k_room, 0);
    ck_published(nu_source, air.kinematic, air_table[_i].kinematic, air_table[_i].nu_room, 0);
    ck_near(air.prandtl, air_table[_i].prandtl, 0.04, 0); /* follows from k: A-15 is 3 % above A.4 */
    ck_near(air.kinematic / air.diffusivity, air.prandtl, 1e-12, 0);
}
END_TEST

START_TEST(air_thins_with_altitude)
{
    /* Pressure used in Cengel's examples for 1 mile (1609.3 m, Denver): printed 83.4 kPa; U.S. Standard
     * Atmosphere 1976 formula 83.43. */
    ck_published("Y. A. Cengel & A. J. Ghajar, Heat and Mass Transfer, 5th ed.: pressure at 1 mile, Pa",
                 hl_air_pressure(1609.3), 83.4e3, 1e-3, 0);
    ck_near(hl_air_pressure(0), 101325, 1e-12, 0);
    ck_published("U.S. Standard Atmosphere, 1976: tropopause, Pa", hl_air_pressure(11000), 22632, 1e-3,
                 0); /* U.S. Standard Atmosphere 1976, tropopause */
    /* Above it the temperature stays and pressure falls exponentially; beyond 20 km the law ends.
     * U.S. Standard Atmosphere, 1976, geopotential altitudes of 15 and 20 km: 12045 and 5475 Pa. */
    ck_near(hl_air_pressure(15000), 12044.6, 1e-3, 0);
    ck_near(hl_air_pressure(20000), 5474.9, 1e-3, 0);
    ck_near(hl_air_pressure(30000), hl_air_pressure(20000), 1e-15, 0);
    ck_near(hl_air_pressure(NAN), hl_air_pressure(-1000), 1e-15, 0);
    hl_air low, high;
    hl_air_at(320, sea, &low);
    hl_air_at(320, 0.5 * sea, &high);
    ck_near(high.kinematic, 2 * low.kinematic, 1e-12, 0);
    ck_near(high.conductivity, low.conductivity, 1e-12, 0);
}
END_TEST

/* ----------------------------------------------------- natural convection -- */

/* clang-format off */
static const struct {
    hl_orientation orientation;
    double rayleigh, nusselt, prandtl, room, hot, cold; /* K */
    const char *source;
} plate[] = {
    /* Cengel & Ghajar 5th ed., example 9-2(a), vertical plate 0.6 m, 90/30 degC: printed 113.3 */
    {HL_VERTICAL,   7.649e8,  113.3,  0.7202,  1e-3, 363.15, 303.15, CENGEL ", example 9-2(a): Nu, vertical plate"},
    /* example 9-2(b), hot face up: printed 31.75 at Ra 1.195e7 from 0.54 Ra^(1/4), carried past 1e7 where the other
     * branch would give 34.3; here 1.195e7 lies in the bridge between the two: 1.5 % above the print */
    {HL_FACING_UP,  1.195e7,  31.75,  0.7202,  0.02, 363.15, 303.15, CENGEL ", example 9-2(b): Nu, hot face up"},
    /* solution manual to Cengel, Heat Transfer 2nd ed., ch. 9, electronic box 0.5 x 0.5 x 0.15 m at 32 degC: top and
     * four sides, printed 18.15 and 20.55 */
    {HL_FACING_UP,  1.275e6,  18.15,  0.7286,  1e-3, 305.15, 298.15, BOX ": Nu, top"},
    {HL_VERTICAL,   2.204e6,  20.55,  0.7286,  1e-3, 305.15, 298.15, BOX ": Nu, sides"},
    /* solution manual to Cengel & Ghajar, problem 9-97, room side of a window: printed 169.5 */
    {HL_VERTICAL,   2.787e9,  169.5,  0.7304,  1e-3, 299.15, 291.15, "Solution manual to " CENGEL ", problem 9-97: Nu, window"},
    /* J. P. Holman, Heat Transfer, example 7-2, 4 m plate: printed 716 with Pr 0.70 */
    {HL_VERTICAL,   2.62e11,  716,    0.70,    2e-3, 333.15, 283.15, "J. P. Holman, Heat Transfer, example 7-2: Nu, plate of 4 m"},
};
/* clang-format on */

/* Vertical plate: Nu moved from the Prandtl number of this library's air to the book's (0.3 to 0.5 %), by the
 * factor [1 + (0.492/Pr)^(9/16)]^(8/27) in front of Ra^(1/6). */
static double at_book_prandtl(double nusselt, double book, double hot, double cold)
{
    hl_air air;
    hl_air_at(0.5 * (hot + cold), sea, &air);
    double theirs = pow(1 + pow(0.492 / book, 9.0 / 16), 8.0 / 27);
    double ours = pow(1 + pow(0.492 / air.prandtl, 9.0 / 16), 8.0 / 27);
    return pow(0.825 + (sqrt(nusselt) - 0.825) * ours / theirs, 2);
}

START_TEST(natural_convection_matches_published_plates)
{
    double nusselt =
        natural_nusselt(plate[_i].orientation, plate[_i].rayleigh, plate[_i].hot, plate[_i].cold);
    if (plate[_i].orientation == HL_VERTICAL)
        nusselt = at_book_prandtl(nusselt, plate[_i].prandtl, plate[_i].hot, plate[_i].cold);
    ck_published(plate[_i].source, nusselt, plate[_i].nusselt, plate[_i].room, 0);
}
END_TEST

/* Cengel & Ghajar 5th ed., example 9-2 with this library's own air: printed 115 W (vertical), 128 W (face
 * up), 182 W radiated by a black face.  Own air conducts 2.5 % better than the book's (see air_table), and
 * its coefficients come out 1.5 to 2.5 % higher; the face up adds the bridge at Ra 1.2e7. */
START_TEST(hot_plate_sheds_the_published_watts)
{
    double vertical = hl_natural_coefficient(HL_VERTICAL, 363.15, 303.15, sea, 0.6, NULL) * 0.36 * 60;
    double up = hl_natural_coefficient(HL_FACING_UP, 363.15, 303.15, sea, 0.15, NULL) * 0.36 * 60;
    ck_published(CENGEL ", example 9-2(a): vertical plate, W", vertical, 115, 0.025, 0);
    ck_published(CENGEL ", example 9-2(b): hot face up, W", up, 128, 0.045, 0);
    /* the book rounds 90 degC to 363 K */
    hl_network *network = hl_network_create();
    double black, at = 363;
    hl_network_add_node(network, "plate", 1);
    hl_network_add_link(network, &(hl_link){0, HL_AMBIENT, HL_LAW_RADIATION, 0, {1, 0.36, 0, 0}});
    hl_network_flows(network, &(hl_surroundings){303, sea}, &at, &black);
    ck_published(
        "Y. A. Cengel & A. J. Ghajar, Heat and Mass Transfer, 5th ed., example 9-2: black plate radiates, W",
        black, 182, 0.003, 0);
    hl_network_destroy(network);
}
END_TEST

/* Solution manual to Cengel, Heat Transfer 2nd ed., ch. 9: electronic box, base 0.5 x 0.5 m, height 0.15 m,
 * surface 32 degC, room 25 degC, emissivity 0.85; printed 6.55 W off the top, 7.41 W off the sides, 20.34 W
 * radiated. Own air conducts 2.3 % better than the book's. */
START_TEST(whole_box_sheds_the_published_watts)
{
    hl_network *network = hl_network_create();
    int box = hl_network_add_node(network, "box", 1);
    hl_network_add_link(network,
                        &(hl_link){box, HL_AMBIENT, HL_LAW_NATURAL, HL_FACING_UP, {0.25, 0.125, 0, 0}});
    hl_network_add_link(network,
                        &(hl_link){box, HL_AMBIENT, HL_LAW_NATURAL, HL_VERTICAL, {0.30, 0.15, 0, 0}});
    hl_network_add_link(network, &(hl_link){box, HL_AMBIENT, HL_LAW_RADIATION, 0, {0.85, 0.55, 0, 0}});
    hl_surroundings room = {298.15, sea};
    double flow[3], at = 305.15;
    hl_network_flows(network, &room, &at, flow);
    ck_published("Solution manual to Y. A. Cengel, Heat Transfer, 2nd ed., ch. 9, electronic box: top, W",
                 flow[0], 6.55, 0.03, 0); /* 2.3 % in k of air */
    ck_published("Solution manual to Y. A. Cengel, Heat Transfer, 2nd ed., ch. 9, electronic box: sides, W",
                 flow[1], 7.41, 0.03, 0);
    ck_published(
        "Solution manual to Y. A. Cengel, Heat Transfer, 2nd ed., ch. 9, electronic box: radiation, W",
        flow[2], 20.34, 0.003, 0); /* the book's 298 K for 25 degC */
    hl_network_destroy(network);
}
END_TEST

/* Bergman et al., problem 1.40: four chips 15 mm square at 85 degC in an enclosure whose wall and air are at
 * 25 degC, C = 4.2 W/(m^2 K^1.25), emissivity 0.6: printed 0.631 W by convection, 0.261 W by radiation. */
START_TEST(chips_in_an_enclosure_shed_the_published_watts)
{
    hl_network *network = hl_network_create();
    int chips = hl_network_add_node(network, "chips", 1);
    double area = 4 * 0.015 * 0.015, flow[2], at = 358;
    hl_network_add_link(network, &(hl_link){chips, HL_AMBIENT, HL_LAW_POWER, 0, {4.2, area, 0.25, 0}});
    hl_network_add_link(network, &(hl_link){chips, HL_AMBIENT, HL_LAW_RADIATION, 0, {0.6, area, 0, 0}});
    hl_network_flows(network, &(hl_surroundings){298, sea}, &at, flow);
    ck_published("T. L. Bergman et al., Fundamentals of Heat and Mass Transfer, problem 1.40: four chips, "
                 "convection, W",
                 flow[0], 0.6312, 1e-3, 0);
    ck_published("T. L. Bergman et al., Fundamentals of Heat and Mass Transfer, problem 1.40: four chips, "
                 "radiation, W",
                 flow[1], 0.2615, 1e-3, 0);
    hl_network_destroy(network);
}
END_TEST

/* ------------------------------------------------------------------- gaps -- */

START_TEST(air_layers_match_published_values)
{
    /* Hollands et al. 1976, horizontal, heated from below, as eq. 9-47 of Cengel & Ghajar: Nu(1e5) = 3.994
     * with the constant rounded to 18; 3.9944 with 5830^(1/3) */
    ck_published("K. G. T. Hollands et al., 1976, horizontal air layer: Nu at Ra 1e5",
                 gap_nusselt(HL_FACING_UP, 1e5, 320, 300, 50), 3.994, 2e-4, 0);
    /* conduction below 1708, and at any Ra when the hot side is above */
    ck_near(gap_nusselt(HL_FACING_UP, 1700, 320, 300, 50), 1, 1e-12, 0);
    ck_near(gap_nusselt(HL_FACING_DOWN, 1e6, 320, 300, 50), 1, 1e-12, 0);
    ck_near(gap_nusselt(HL_FACING_UP, 1e6, 300, 320, 50), 1, 1e-12, 0); /* turned over */
    /* Cengel & Ghajar 5th ed., example 9-4, vertical layer 20 mm x 0.8 m, 12/2 degC: printed 1.40 from
     * MacGregor & Emery, fitted to liquids of Pr > 1; ElSherbiny et al. measured air: 1.325, 5.4 % less */
    ck_near(gap_nusselt(HL_VERTICAL, 10502, 285.15, 275.15, 40), 1.325, 2e-3, 0);
    ck_published(
        "Y. A. Cengel & A. J. Ghajar, Heat and Mass Transfer, 5th ed., example 9-4: Nu, vertical air layer",
        gap_nusselt(HL_VERTICAL, 10502, 285.15, 275.15, 40), 1.40, 0.06, 0);
    /* J. P. Holman, example 7-9, horizontal 10 mm, 100/40 degC, Gr Pr 3046: ke/k = 0.059 (Gr Pr)^0.4 = 1.46
     * (own arithmetic of the book's relation); Hollands et al. give 1.63, within the 12 % between the two
     * fits */
    ck_near(gap_nusselt(HL_FACING_UP, 3046, 373.15, 313.15, 20), 1.633, 1e-3, 0);
    ck_near(gap_nusselt(HL_FACING_UP, 3046, 373.15, 313.15, 20), 1.46, 0.13, 0);
}
END_TEST

START_TEST(range_flags_tell_when_a_correlation_is_stretched)
{
    bool outside;
    hl_natural_coefficient(HL_FACING_UP, 330, 300, sea, 0.05, &outside);
    ck_assert(!outside);
    hl_natural_coefficient(HL_FACING_UP, 330, 300, sea, 0.005, &outside);
    ck_assert(outside);
    hl_natural_coefficient(HL_FACING_DOWN, 330, 300, sea, 0.01, &outside);
    ck_assert(outside);
    hl_natural_coefficient(HL_VERTICAL, 330, 300, sea, 0.01, &outside);
    ck_assert(!outside);
    hl_forced_coefficient(330, 300, sea, 10, 50, &outside);
    ck_assert(outside);
    hl_gap_coefficient(HL_VERTICAL, 330, 300, sea, 0.001, 1, &outside);
    ck_assert(outside);
}
END_TEST

/* Flat plate, laminar: h = 0.664 k/L Re^(1/2) Pr^(1/3); Bergman et al. eq. 7.30 with the air of this library.
 * Closed form, no print: guards constant, exponent and film temperature. */
START_TEST(forced_flow_follows_the_flat_plate)
{
    hl_air air;
    hl_air_at(315, sea, &air);
    double re = 2.0 * 0.1 / air.kinematic;
    double expected = 0.664 * sqrt(re) * cbrt(air.prandtl) * air.conductivity / 0.1;
    ck_near(hl_forced_coefficient(330, 300, sea, 0.1, 2.0, NULL), expected, 1e-12, 0);
    double below = hl_forced_coefficient(330, 300, sea, 0.1, 4.9999e5 * air.kinematic / 0.1, NULL);
    double above = hl_forced_coefficient(330, 300, sea, 0.1, 5.0001e5 * air.kinematic / 0.1, NULL);
    ck_near(below, above, 2e-3, 0); /* the two forms meet within a thousandth */
}
END_TEST

/* Closed forms, no print: McAdams 1954, hot face down, 0.27 Ra^(1/4); Berkovsky & Polevikov (Cengel & Ghajar
 * eqs. 9-52, 9-53) for squat vertical layers, 0.22 [Pr Ra / (0.2 + Pr)]^0.28 (gap/height)^(1/4). */
START_TEST(remaining_correlations_follow_their_formulas)
{
    hl_air air;
    hl_air_at(310, sea, &air);
    double x = 1e5 * air.prandtl / (0.2 + air.prandtl);
    ck_near(natural_nusselt(HL_FACING_DOWN, 1e6, 320, 300), 0.27 * pow(1e6, 0.25), 1e-9, 0);
    ck_near(natural_nusselt(HL_FACING_UP, 1e9, 320, 300), 0.15 * 1e3, 1e-9, 0);
    ck_near(gap_nusselt(HL_VERTICAL, 1e5, 320, 300, 4), 0.22 * pow(x, 0.28) * pow(4, -0.25), 1e-9, 0);
    ck_near(gap_nusselt(HL_VERTICAL, 1e5, 320, 300, 1.5), 0.18 * pow(x, 0.29), 1e-9, 0);
    ck_near(gap_nusselt(HL_VERTICAL, 100, 320, 300, 4), 1, 1e-12, 0);
    /* a cold face up is for the air what a hot face down is */
    ck_near(hl_natural_coefficient(HL_FACING_UP, 300, 320, sea, 0.05, NULL),
            hl_natural_coefficient(HL_FACING_DOWN, 320, 300, sea, 0.05, NULL), 1e-12, 0);
}
END_TEST

/* One node over one link: the gain is slope / (dq/dT), so it must agree with a difference of the flow. */
START_TEST(slopes_of_the_laws_match_differences_of_the_flow)
{
    static const hl_link link[] = {
        {0, HL_AMBIENT, HL_LAW_POWER, 0, {1.3, 0.01, 0.31, 0}},
        {0, HL_AMBIENT, HL_LAW_RADIATION, 0, {0.9, 0.01, 0, 0}},
        {0, HL_AMBIENT, HL_LAW_NATURAL, HL_VERTICAL, {0.01, 0.05, 0, 0}},
        {0, HL_AMBIENT, HL_LAW_NATURAL, HL_FACING_UP, {0.01, 0.05, 0, 0}},
        {0, HL_AMBIENT, HL_LAW_NATURAL, HL_FACING_UP, {0.01, 0.18, 0, 0}}, /* between the two forms */
        {0, HL_AMBIENT, HL_LAW_NATURAL, HL_FACING_DOWN, {0.01, 0.05, 0, 0}},
        {0, HL_AMBIENT, HL_LAW_NATURAL, HL_VERTICAL, {0.01, 0.05, 0.7, 0.06}},
        {HL_AMBIENT, 0, HL_LAW_GAP, HL_FACING_DOWN, {0.01, 0.012, 0.05, 0}},
        {0, HL_AMBIENT, HL_LAW_GAP, HL_FACING_UP, {0.01, 0.02, 0.05, 0}},
        {0, HL_AMBIENT, HL_LAW_GAP, HL_VERTICAL, {0.01, 0.010, 0.4, 0}},
        {0, HL_AMBIENT, HL_LAW_GAP, HL_VERTICAL, {0.01, 0.03, 0.06, 0}},
        {0, HL_AMBIENT, HL_LAW_FORCED, 0, {0.01, 0.1, 1.5, 0}},
        {0, HL_AMBIENT, HL_LAW_FORCED, 0, {0.01, 2.0, 20, 0}},
    };
    hl_surroundings room = {300, 9e4};
    const double temperatures[] = {290, 305, 360};
    for (size_t k = 0; k < sizeof link / sizeof link[0]; k++)
        for (size_t j = 0; j < sizeof temperatures / sizeof temperatures[0]; j++) {
            hl_network *network = hl_network_create();
            hl_network_add_node(network, "node", 1);
            ck_assert_int_eq(hl_network_add_link(network, &link[k]), 0);
            hl_network_work *work = hl_network_work_create(network);
            double at = temperatures[j], slope = 1, step = 1e-3, low, high, t;
            double gain = hl_network_gain(work, &room, &at, &slope, NULL);
            hl_network_flows(network, &room, (t = at - step, &t), &low);
            hl_network_flows(network, &room, (t = at + step, &t), &high);
            ck_near(1 / gain, fabs(high - low) / (2 * step), 1e-6, 0);
            hl_network_work_destroy(work);
            hl_network_destroy(network);
        }
}
END_TEST

/* A draught beside still air's own flow, h^3 = h_natural^3 + h_forced^3 (Incropera & DeWitt, section 9.9),
 * where each has a length of its own: 0.2 m upwards, and along the draught 0.05 m, or the same where none is
 * stated. */
START_TEST(a_draught_has_a_length_of_its_own)
{
    const hl_link link[] = {
        {0, HL_AMBIENT, HL_LAW_NATURAL, HL_VERTICAL, {0.01, 0.2, 0, 0}},
        {0, HL_AMBIENT, HL_LAW_FORCED, 0, {0.01, 0.05, 0.5, 0}},
        {0, HL_AMBIENT, HL_LAW_NATURAL, HL_VERTICAL, {0.01, 0.2, 0.5, 0.05}},
        {0, HL_AMBIENT, HL_LAW_FORCED, 0, {0.01, 0.2, 0.5, 0}},
        {0, HL_AMBIENT, HL_LAW_NATURAL, HL_VERTICAL, {0.01, 0.2, 0.5, 0}},
    };
    double flow[5], at = 340;
    hl_network *network = hl_network_create();
    hl_network_add_node(network, "plate", 1);
    for (int k = 0; k < 5; k++) ck_assert_int_eq(hl_network_add_link(network, &link[k]), k);
    hl_network_flows(network, &(hl_surroundings){300, sea}, &at, flow);
    ck_near(flow[2], cbrt(pow(flow[0], 3) + pow(flow[1], 3)), 1e-12, 0);
    ck_near(flow[4], cbrt(pow(flow[0], 3) + pow(flow[3], 3)), 1e-12, 0);
    ck_assert_double_gt(flow[2], 1.1 * flow[4]);
    hl_network_destroy(network);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, air_properties_match_two_textbook_tables, 0,
                        (int)(sizeof air_table / sizeof air_table[0]));
    tcase_add_test(tests, air_thins_with_altitude);
    tcase_add_loop_test(tests, natural_convection_matches_published_plates, 0,
                        (int)(sizeof plate / sizeof plate[0]));
    tcase_add_test(tests, hot_plate_sheds_the_published_watts);
    tcase_add_test(tests, a_draught_has_a_length_of_its_own);
    tcase_add_test(tests, whole_box_sheds_the_published_watts);
    tcase_add_test(tests, chips_in_an_enclosure_shed_the_published_watts);
    tcase_add_test(tests, air_layers_match_published_values);
    tcase_add_test(tests, range_flags_tell_when_a_correlation_is_stretched);
    tcase_add_test(tests, forced_flow_follows_the_flat_plate);
    tcase_add_test(tests, remaining_correlations_follow_their_formulas);
    tcase_add_test(tests, slopes_of_the_laws_match_differences_of_the_flow);
}

int main(void)
{
    return story_main("surface", fill);
}
