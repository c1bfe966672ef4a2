/* check_textbook.c - whole networks against worked examples of heat-transfer textbooks.
 *
 * A body held at a temperature is a node with heat g (T_held - T): a source with its own slope. */
#include "heatledger/thermal.h"

#include "published.h"

#include <math.h>
#include <string.h>

enum { MAX = 600 };

static const double celsius = 273.15;

/* Constant heat, plus conductances to held temperatures. */
typedef struct inputs {
    size_t n;
    double watts[MAX], hold[MAX], held[MAX];
} inputs;

static void heat_of(void *context, double time, const double temperature[], double power[], double slope[])
{
    const inputs *in = context;
    (void)time;
    for (size_t i = 0; i < in->n; i++) {
        power[i] = in->watts[i] + in->hold[i] * (in->held[i] - temperature[i]);
        slope[i] = -in->hold[i];
    }
}

typedef struct model {
    hl_network *network;
    inputs in;
    hl_surroundings room;
    double temperature[MAX];
} model;

static void begin(model *m, size_t nodes, double capacity, double ambient)
{
    memset(m, 0, sizeof *m);
    m->network = hl_network_create();
    m->in.n = nodes;
    m->room = (hl_surroundings){ambient, 101325};
    for (size_t i = 0; i < nodes; i++) {
        hl_network_add_node(m->network, "node", capacity);
        m->temperature[i] = ambient;
    }
}

static void fixed(model *m, int a, int b, double conductance)
{
    ck_assert_int_ge(
        hl_network_add_link(m->network, &(hl_link){a, b, HL_LAW_FIXED, 0, {conductance, 0, 0, 0}}), 0);
}

static void hold(model *m, int node, double conductance, double temperature)
{
    m->in.hold[node] = conductance;
    m->in.held[node] = temperature;
}

static void solve(model *m)
{
    hl_network_work *work = hl_network_work_create(m->network);
    ck_assert_int_eq(hl_network_steady(work, &m->room, heat_of, &m->in, m->temperature), HL_OK);
    hl_network_work_destroy(work);
}

static double given(const model *m, int node)
{
    return m->in.hold[node] * (m->in.held[node] - m->temperature[node]);
}

static void end(model *m)
{
    hl_network_destroy(m->network);
}

/* J. P. Holman, Heat Transfer, example 3-5: square of nine nodes, top held at 500, left at 100 degC, right
 * and bottom in air of 100 degC: printed temperatures and 4843.4 W/m from the top.  The book rounds its
 * coefficients to 4.67 and 2.67 (exact 4.667): up to 0.11 K. */
START_TEST(nine_node_square_matches_holman)
{
    static const double printed[9] = {280.67, 330.30, 309.38, 192.38, 231.15, 217.19, 157.70, 184.71, 175.62};
    const double k = 10, film = 0.335 * k;
    model m;
    begin(&m, 9, 1, 100 + celsius);
    for (int row = 0; row < 3; row++)
        for (int column = 0; column < 3; column++) {
            int node = 3 * row + column;
            double across = row == 2 ? k / 2 : k, down = column == 2 ? k / 2 : k; /* half cells at the rims */
            if (column == 0) fixed(&m, node, HL_AMBIENT, across);
            if (column < 2) fixed(&m, node, node + 1, across);
            if (row < 2) fixed(&m, node, node + 3, down);
            if (row == 0) hold(&m, node, down, 500 + celsius);
            if (column == 2) fixed(&m, node, HL_AMBIENT, row == 2 ? film / 2 : film);
            if (row == 2) fixed(&m, node, HL_AMBIENT, column == 2 ? film / 2 : film);
        }
    solve(&m);
    for (int i = 0; i < 9; i++)
        ck_published("J. P. Holman, Heat Transfer, example 3-5: square of nine nodes, degC",
                     m.temperature[i] - celsius, printed[i], 0, 0.006);
    /* the half cell under the corner of the top face gives to the left wall without a node: 2000 W/m */
    double top = given(&m, 0) + given(&m, 1) + given(&m, 2) + 0.5 * k * 400 - 2000;
    ck_published("J. P. Holman, Heat Transfer, example 3-5: heat from the top, W/m", top, 4843.4, 5e-4, 0);
    end(&m);
}
END_TEST

/* J. P. Holman, Heat Transfer, example 8-6: plates 0.5 x 1 m at 1273 and 773 K, emissivity 0.2 and 0.5, view
 * factor 0.285, room at 300 K: printed 14.425, 2.594 and 17.020 kW.  Radiosities stand for temperatures, in
 * units of 100 W/m^2; sigma 5.669e-8 as in the book. */
START_TEST(three_body_radiation_matches_holman)
{
    const double sigma = 5.669e-10, area = 0.5, view = 0.285;
    model m;
    begin(&m, 2, 1, sigma * pow(300, 4));
    fixed(&m, 0, 1, area * view);
    fixed(&m, 0, HL_AMBIENT, area * (1 - view));
    fixed(&m, 1, HL_AMBIENT, area * (1 - view));
    hold(&m, 0, 0.2 * area / 0.8, sigma * pow(1273, 4));
    hold(&m, 1, 0.5 * area / 0.5, sigma * pow(773, 4));
    solve(&m);
    ck_published("J. P. Holman, Heat Transfer, example 8-6: hotter plate in a room, W", 100 * given(&m, 0),
                 14425, 2e-4, 0);
    ck_published("J. P. Holman, Heat Transfer, example 8-6: cooler plate in a room, W", 100 * given(&m, 1),
                 2594, 5e-4, 0);
    ck_published("J. P. Holman, Heat Transfer, example 8-6: into the room, W",
                 100 * (given(&m, 0) + given(&m, 1)), 17020, 2e-4, 0);
    end(&m);
}
END_TEST

/* Cengel & Ghajar 6th ed., problem 1-80: electronic box 40 x 40 x 20 cm in vacuum, sides and top at 55 degC,
 * emissivity 0.95, 100 W, base insulated: printed 23.3 degC for the surroundings. */
START_TEST(sealed_box_in_vacuum_matches_cengel)
{
    model m;
    begin(&m, 1, 1, 23.3 + celsius);
    hl_network_add_link(m.network, &(hl_link){0, HL_AMBIENT, HL_LAW_RADIATION, 0, {0.95, 0.48, 0, 0}});
    m.in.watts[0] = 100;
    solve(&m);
    ck_published(
        "Y. A. Cengel & A. J. Ghajar, Heat and Mass Transfer, 6th ed., problem 1-80: box in vacuum, degC",
        m.temperature[0] - celsius, 55, 0, 0.05); /* half a digit of 23.3 */
    end(&m);
}
END_TEST

/* M. H. Rashid, Power Electronics, example 4.4: junction 150 degC over 0.4 + 0.1 + 0.5 K/W to 25 degC:
 * printed 125 W, case 100 degC. */
START_TEST(junction_case_sink_chain_matches_rashid)
{
    model m;
    begin(&m, 3, 1, 25 + celsius);
    fixed(&m, 0, 1, 1 / 0.4);
    fixed(&m, 1, 2, 1 / 0.1);
    fixed(&m, 2, HL_AMBIENT, 1 / 0.5);
    m.in.watts[0] = 125;
    solve(&m);
    ck_published("M. H. Rashid, Power Electronics, 4th ed., example 4.4: junction, degC",
                 m.temperature[0] - celsius, 150, 0, 1e-9);
    ck_published("M. H. Rashid, Power Electronics, 4th ed., example 4.4: case, degC",
                 m.temperature[1] - celsius, 100, 0, 1e-9);
    end(&m);
}
END_TEST

/* Solution manual to Cengel, Heat Transfer 2nd ed.: four transistors of 15 W on a plate 22 x 22 cm, h =
 * 25: 74.6 degC. */
START_TEST(transistors_on_a_plate_match_cengel)
{
    model m;
    begin(&m, 5, 1, 25 + celsius);
    for (int i = 1; i < 5; i++) {
        fixed(&m, i, 0, 1e6); /* the solution takes plate and transistors as one */
        m.in.watts[i] = 15;
    }
    fixed(&m, 0, HL_AMBIENT, 25 * 0.0484);
    solve(&m);
    ck_published("Solution manual to Y. A. Cengel, Heat Transfer, 2nd ed.: four transistors on a plate, degC",
                 m.temperature[0] - celsius, 74.6, 0, 0.05);
    end(&m);
}
END_TEST

/* J. P. Holman, example 2-8: straight fin 3 mm x 75 mm, k 200, h 10, base 300, air 50 degC: printed 359 W/m
 * with the corrected length and without the end's rim; tanh with both gives 360.4, cells 0.15 mm long with
 * the bare tip 360.4. */
START_TEST(straight_fin_in_cells_matches_holman)
{
    enum { CELLS = 500 };
    const double thickness = 0.003, length = 0.075, k = 200, h = 10, cell = length / CELLS;
    model m;
    begin(&m, CELLS, 1, 50 + celsius);
    hold(&m, 0, 2 * k * thickness / cell, 300 + celsius);
    for (int i = 0; i < CELLS; i++) {
        fixed(&m, i, HL_AMBIENT, 2 * h * cell);
        if (i + 1 < CELLS) fixed(&m, i, i + 1, k * thickness / cell);
    }
    fixed(&m, CELLS - 1, HL_AMBIENT, h * thickness);
    solve(&m);
    ck_published("J. P. Holman, Heat Transfer, example 2-8: straight fin, W/m", given(&m, 0), 359, 5e-3, 0);
    double root = sqrt(2 * h / (k * thickness)), corrected = length + thickness / 2;
    ck_near(given(&m, 0), tanh(root * corrected) * root * k * thickness * 250, 1e-4, 0);
    end(&m);
}
END_TEST

/* J. P. Holman, example 2-9: round fin 1 mm thick, 15 mm long on a 25 mm tube, k 200, h 130, base 170, air 25
 * degC: printed 74.35 W if it were all at base temperature, 60.97 W with the chart's efficiency 0.82.  The
 * Bessel functions give 0.8669 and 64.45 W: the chart was read 5 % low. */
START_TEST(round_fin_in_rings_matches_holman_but_for_the_chart)
{
    enum { RINGS = 400 };
    const double inner = 0.0125, outer = inner + 0.015 + 0.0005, thickness = 0.001, k = 200, h = 130;
    const double step = (outer - inner) / RINGS, two_pi = 6.283185307179586;
    model m;
    begin(&m, RINGS, 1, 25 + celsius);
    for (int i = 0; i < RINGS; i++) {
        double r = inner + i * step, middle = r + 0.5 * step;
        fixed(&m, i, HL_AMBIENT, 2 * h * two_pi * middle * step);
        if (i > 0) fixed(&m, i - 1, i, two_pi * k * thickness / log(middle / (middle - step)));
    }
    hold(&m, 0, two_pi * k * thickness / log((inner + 0.5 * step) / inner), 170 + celsius);
    solve(&m);
    double most = two_pi * (outer * outer - inner * inner) * h * 145;
    ck_published("J. P. Holman, Heat Transfer, example 2-9: round fin at base temperature, W", most, 74.35,
                 1e-4, 0);
    ck_near(given(&m, 0), 64.45, 2e-4, 0);
    ck_published("J. P. Holman, Heat Transfer, example 2-9: round fin with the efficiency of a chart, W",
                 given(&m, 0), 60.97, 0.06, 0);
    end(&m);
}
END_TEST

/* Cengel & Ghajar 5th ed., example 4-1: thermocouple bead 1 mm, h 210: printed 0.462 1/s (rounded down from
 * 0.4632) and 10 s to 99 %; exact 9.94 s. */
START_TEST(thermocouple_bead_lags_as_in_cengel)
{
    const double diameter = 0.001, area = 3.14159265358979 * diameter * diameter;
    const double capacity = 8500 * 320 * area * diameter / 6;
    model m;
    begin(&m, 1, capacity, 400);
    fixed(&m, 0, HL_AMBIENT, 210 * area);
    double start = 300, times[] = {1.0, 9.94132}, course[2], energy[3];
    ck_assert_int_eq(
        hl_network_transient(m.network, &m.room, heat_of, &m.in, &start, 2, times, course, energy), HL_OK);
    ck_published("Y. A. Cengel & A. J. Ghajar, Heat and Mass Transfer, 5th ed., example 4-1: bead, 1/s",
                 -log((400 - course[0]) / 100), 0.462, 3e-3, 0);
    ck_near(400 - course[1], 1, 1e-5, 0);
    ck_near(energy[0] - energy[1], energy[2], 1e-8, 0);
    double reached;
    ck_assert_int_eq(hl_network_time_to(m.network, &m.room, heat_of, &m.in, &start, 399, 100, &reached),
                     HL_OK);
    ck_published("Y. A. Cengel & A. J. Ghajar, Heat and Mass Transfer, 5th ed., example 4-1: bead to 99 %, s",
                 reached, 10, 0.006, 0);
    ck_near(reached, log(100) / (210 * area / capacity), 1e-6, 0);
    end(&m);
}
END_TEST

/* J. P. Holman, example 4-1: steel ball 50 mm from 450 degC in air of 100 degC, h 10: printed 5819 s (1.62 h)
 * to 150. */
START_TEST(steel_ball_cools_as_in_holman)
{
    const double d = 0.05, area = 3.14159265358979 * d * d;
    model m;
    begin(&m, 1, 7800 * 460 * area * d / 6, 100 + celsius);
    fixed(&m, 0, HL_AMBIENT, 10 * area);
    double start = 450 + celsius, time = 5819, at;
    ck_assert_int_eq(hl_network_transient(m.network, &m.room, heat_of, &m.in, &start, 1, &time, &at, NULL),
                     HL_OK);
    ck_published("J. P. Holman, Heat Transfer, example 4-1: steel ball after 5819 s, degC", at - celsius, 150,
                 0, 0.02);
    end(&m);
}
END_TEST

/* --------------------------------------------------------------- feedback -- */

/* Resistive heater under constant current, R = R0 (1 + alpha (T - T0)), 62 K/W: closed form
 *   rise = R_th P0 (1 + alpha (Ta - T0)) / (1 - alpha R_th P0), run-away at alpha R_th P0 = 1. */
typedef struct heater {
    double watts, factor;
} heater;

static void heater_at(void *context, double factor, const double temperature[], double power[],
                      double slope[])
{
    const heater *h = context;
    power[0] = factor * h->watts * (1 + 0.004 * (temperature[0] - 298.15));
    slope[0] = factor * h->watts * 0.004;
}

static void heater_heat(void *context, double time, const double temperature[], double power[],
                        double slope[])
{
    const heater *h = context;
    (void)time;
    heater_at(context, h->factor, temperature, power, slope);
}

START_TEST(heater_feeds_back_as_its_closed_form)
{
    model m;
    begin(&m, 1, 1, 50 + celsius);
    fixed(&m, 0, HL_AMBIENT, 1 / 62.0);
    hl_network_work *work = hl_network_work_create(m.network);
    heater h = {1.0, 1.0};
    ck_assert_int_eq(hl_network_steady(work, &m.room, heater_heat, &h, m.temperature), HL_OK);
    ck_near(m.temperature[0] - celsius, 140.6915, 0, 1e-4);
    double slope = 0.004, critical, at;
    int leader;
    ck_near(hl_network_gain(work, &m.room, m.temperature, &slope, &leader), 0.248, 1e-9, 0);
    ck_assert_int_eq(leader, 0);
    ck_assert_int_eq(hl_network_critical(work, &m.room, heater_at, &h, 100, &critical, &at, &leader), HL_OK);
    ck_near(critical, 4.032258, 1e-6, 0);
    h.factor = 4.1;
    ck_assert_int_eq(hl_network_steady(work, &m.room, heater_heat, &h, m.temperature), HL_RUNAWAY);
    hl_network_work_destroy(work);
    end(&m);
}
END_TEST

/* A node without capacity follows its neighbours; the book of energy closes all the same. */
START_TEST(node_without_capacity_follows_at_once)
{
    model m;
    begin(&m, 1, 50, 300);
    hl_network_add_node(m.network, "film", 0);
    m.in.n = 2;
    m.in.watts[0] = 2;
    fixed(&m, 0, 1, 0.2);
    fixed(&m, 1, HL_AMBIENT, 0.3);
    double start[2] = {300, 300}, time = 700, at[2], energy[3];
    ck_assert_int_eq(hl_network_transient(m.network, &m.room, heat_of, &m.in, start, 1, &time, at, energy),
                     HL_OK);
    double tau = 50 / 0.12;
    ck_near(at[0], 300 + 2 / 0.12 * (1 - exp(-700 / tau)), 0, 1e-3);
    ck_near(at[1] - 300, 0.4 * (at[0] - 300), 1e-5, 0);
    ck_near(energy[0], 1400, 1e-7, 0);
    ck_near(energy[0], energy[1] + energy[2], 1e-8, 0);
    end(&m);
}
END_TEST

/* ------------------------------------------------------------ bad numbers -- */

static void broken_heat(void *context, double time, const double temperature[], double power[],
                        double slope[])
{
    (void)context, (void)time, (void)temperature;
    power[0] = NAN;
    slope[0] = 0;
}

START_TEST(bad_numbers_end_in_a_status)
{
    model m;
    begin(&m, 1, 1, 300);
    fixed(&m, 0, HL_AMBIENT, 1);
    hl_network_work *work = hl_network_work_create(m.network);
    double at = 300, time = 1, back[2] = {2, 1};
    ck_assert_int_eq(hl_network_steady(work, &m.room, broken_heat, NULL, &at), HL_BAD_INPUT);
    ck_assert_int_ne(hl_network_transient(m.network, &m.room, broken_heat, NULL, &at, 1, &time, &at, NULL),
                     HL_OK);
    at = 300;
    ck_assert_int_eq(hl_network_transient(m.network, &m.room, heat_of, &m.in, &at, 2, back, &at, NULL),
                     HL_BAD_INPUT);
    const double rooms[] = {NAN, -1, 0, INFINITY, 1e9};
    for (size_t k = 0; k < sizeof rooms / sizeof rooms[0]; k++) {
        hl_surroundings room = {rooms[k], 101325};
        ck_assert_int_eq(hl_network_steady(work, &room, heat_of, &m.in, &at), HL_BAD_INPUT);
    }
    m.in.watts[0] = 1e30;
    ck_assert_int_eq(hl_network_steady(work, &m.room, heat_of, &m.in, &at), HL_RUNAWAY);
    m.in.watts[0] = -1e30;
    ck_assert_int_ne(hl_network_steady(work, &m.room, heat_of, &m.in, &at), HL_OK);
    hl_network_work_destroy(work);
    end(&m);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, nine_node_square_matches_holman);
    tcase_add_test(tests, three_body_radiation_matches_holman);
    tcase_add_test(tests, sealed_box_in_vacuum_matches_cengel);
    tcase_add_test(tests, junction_case_sink_chain_matches_rashid);
    tcase_add_test(tests, transistors_on_a_plate_match_cengel);
    tcase_add_test(tests, straight_fin_in_cells_matches_holman);
    tcase_add_test(tests, round_fin_in_rings_matches_holman_but_for_the_chart);
    tcase_add_test(tests, thermocouple_bead_lags_as_in_cengel);
    tcase_add_test(tests, steel_ball_cools_as_in_holman);
    tcase_add_test(tests, heater_feeds_back_as_its_closed_form);
    tcase_add_test(tests, node_without_capacity_follows_at_once);
    tcase_add_test(tests, bad_numbers_end_in_a_status);
}

int main(void)
{
    return story_main("textbook", fill);
}
