/* check_heat_figures.c - networks, boxes by rule and ladders give the figures of before.
 *
 * Networks are solved until 1e-11 of the heat is left open, so temperatures may move by 1e-9 of the greatest
 * rise. Courses in time come from an integrator that keeps to 1e-9 of some 300 K a step and adds up over
 * hundreds: 1e-6 of the rise.  Folds and limits in time are found to 1e-7, as their laws say: 1e-6. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "kept_figures.h"
#include "story.h"

enum { NODES = 16, FACES_AND_MORE = 40, TIMES = 6 };

static const double in_time = 1e3; /* how much wider than what 1e-9 is of */

/* A record of lines that are drawn by their number, which compute() is handed. */
static void keep_numbered(const char *record, const char *what, const char *stem, size_t n,
                          void (*compute)(void *context, figure_hair *hair, figure_sheet *sheet))
{
    kept_figures *book = kept_figures_open(record, what);
    for (size_t k = 0; k < n; k++) {
        char group[32];
        snprintf(group, sizeof group, "%s,%zu", stem, k);
        kept_figures_line(book, group, compute, &k);
    }
    kept_figures_close(book);
}

/* -------------------------------------------------------------- networks -- */

typedef struct heated {
    hl_network *network;
    hl_network_work *work;
    hl_surroundings room;
    size_t n;
    double watts[FACES_AND_MORE], growth[FACES_AND_MORE], temperature[FACES_AND_MORE], factor;
} heated;

static void heat_at(void *context, double factor, const double temperature[], double power[], double slope[])
{
    const heated *h = context;
    for (size_t i = 0; i < h->n; i++) {
        double grown = exp(h->growth[i] * (temperature[i] - 300));
        power[i] = factor * h->watts[i] * grown;
        slope[i] = factor * h->watts[i] * h->growth[i] * grown;
    }
}

static void heat(void *context, double time, const double temperature[], double power[], double slope[])
{
    const heated *h = context;
    heat_at(context, h->factor * (1 + 0.3 * sin(time / 300)), temperature, power, slope);
}

static void begin(heated *h, hl_network *network, double room, double pressure)
{
    h->network = network;
    h->n = hl_network_nodes(network);
    ck_assert_uint_le(h->n, FACES_AND_MORE);
    h->work = hl_network_work_create(network);
    ck_assert_ptr_nonnull(h->work);
    h->room = (hl_surroundings){room, pressure};
    h->factor = 1;
    for (size_t i = 0; i < h->n; i++) h->temperature[i] = room;
}

static void end(heated *h)
{
    hl_network_work_destroy(h->work);
    hl_network_destroy(h->network);
}

static double greatest_rise(const heated *h)
{
    double most = 0;
    for (size_t i = 0; i < h->n; i++) most = fmax(most, fabs(h->temperature[i] - h->room.temperature));
    return most;
}

static void say_steady(heated *h, figure_sheet *sheet)
{
    double flow[400], power[FACES_AND_MORE], slope[FACES_AND_MORE], total = 0;
    int leader = -1;
    hl_status status = hl_network_steady(h->work, &h->room, heat, h, h->temperature);
    figure_sheet_put(sheet, "status", 1 + (double)status);
    if (status != HL_OK) return;
    heat_at(h, h->factor, h->temperature, power, slope);
    for (size_t i = 0; i < h->n; i++) total += power[i];
    for (size_t i = 0; i < h->n; i++)
        figure_sheet_put_of(sheet, "rise", h->temperature[i] - h->room.temperature, greatest_rise(h));
    ck_assert_uint_le(hl_network_links(h->network), 400);
    hl_network_flows(h->network, &h->room, h->temperature, flow);
    for (size_t k = 0; k < hl_network_links(h->network) && k < 60; k++)
        figure_sheet_put_of(sheet, "flow", flow[k], total);
    figure_sheet_put_of(sheet, "gain", hl_network_gain(h->work, &h->room, h->temperature, slope, &leader),
                        1e-3);
    figure_sheet_put(sheet, "leader", leader);
}

static void say_fold(heated *h, figure_sheet *sheet)
{
    double critical, at[FACES_AND_MORE];
    int leader = -1;
    hl_status status = hl_network_critical(h->work, &h->room, heat_at, h, 200, &critical, at, &leader);
    figure_sheet_put(sheet, "fold_status", 1 + (double)status);
    if (status != HL_OK) return;
    figure_sheet_put(sheet, "fold_leader", leader);
    figure_sheet_put(sheet, "folds", isfinite(critical));
    if (!isfinite(critical)) return;
    figure_sheet_put_of(sheet, "critical", critical, in_time * critical);
    for (size_t i = 0; i < h->n; i++)
        figure_sheet_put_of(sheet, "fold_rise", at[i] - h->room.temperature, 1e6 * greatest_rise(h));
}

static void say_course(heated *h, figure_sheet *sheet)
{
    double times[TIMES], course[TIMES * FACES_AND_MORE], energy[3], start[FACES_AND_MORE], when, most;
    most = in_time * fmax(greatest_rise(h), 1);
    for (int k = 0; k < TIMES; k++) times[k] = 7 * pow(4, k);
    for (size_t i = 0; i < h->n; i++) start[i] = h->room.temperature + (i % 3 ? 0 : 5);
    hl_status status =
        hl_network_transient(h->network, &h->room, heat, h, start, TIMES, times, course, energy);
    figure_sheet_put(sheet, "course_status", 1 + (double)status);
    if (status != HL_OK) return;
    for (size_t k = 0; k < TIMES * h->n && k < 60; k++)
        figure_sheet_put_of(sheet, "course", course[k] - h->room.temperature, most);
    for (int k = 0; k < 3; k++) figure_sheet_put_of(sheet, "energy", energy[k], in_time * fabs(energy[0]));
    double limit = h->room.temperature + 0.4 * greatest_rise(h);
    if (hl_network_time_to(h->network, &h->room, heat, h, start, limit, 5000, &when) == HL_OK &&
        isfinite(when))
        figure_sheet_put_of(sheet, "time_to", when, in_time * when);
}

/* One law alone, from a heated node to another and from there to the room. */
static void one_law(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const hl_link *law = context;
    heated h = {.watts = {figure_hair_beside(hair, 1.3), -0.05}, .growth = {0.002, 0}};
    hl_network *network = hl_network_create();
    hl_network_add_node(network, "first", 8);
    hl_network_add_node(network, "second", 40);
    for (int k = 0; k < 2; k++) {
        hl_link link = *law;
        link.a = k;
        link.b = k ? HL_AMBIENT : 1;
        for (int i = 0; i < 4; i++) link.p[i] = figure_hair_beside(hair, link.p[i]);
        ck_assert_int_eq(hl_network_add_link(network, &link), k);
    }
    begin(&h, network, figure_hair_beside(hair, 301), 9e4);
    say_steady(&h, sheet);
    say_fold(&h, sheet);
    say_course(&h, sheet);
    end(&h);
}

START_TEST(laws_keep_their_figures)
{
    static const struct {
        const char *name;
        hl_link link;
    } laws[] = {
        {"fixed", {.law = HL_LAW_FIXED, .p = {0.04}}},
        {"power", {.law = HL_LAW_POWER, .p = {1.6, 8e-3, 0.25}}},
        {"power_of_a_third", {.law = HL_LAW_POWER, .p = {1.4, 8e-3, 1.0 / 3.0}}},
        {"radiation", {.law = HL_LAW_RADIATION, .p = {0.85, 6e-3}}},
        {"vertical", {.law = HL_LAW_NATURAL, .kind = HL_VERTICAL, .p = {6e-3, 0.05}}},
        {"facing_up", {.law = HL_LAW_NATURAL, .kind = HL_FACING_UP, .p = {6e-3, 0.02}}},
        {"facing_down", {.law = HL_LAW_NATURAL, .kind = HL_FACING_DOWN, .p = {6e-3, 0.02}}},
        {"vertical_in_a_draught", {.law = HL_LAW_NATURAL, .kind = HL_VERTICAL, .p = {6e-3, 0.05, 0.4, 0.08}}},
        {"facing_up_in_a_draught",
         {.law = HL_LAW_NATURAL, .kind = HL_FACING_UP, .p = {6e-3, 0.02, 1.5, 0.08}}},
        {"facing_down_in_a_draught",
         {.law = HL_LAW_NATURAL, .kind = HL_FACING_DOWN, .p = {6e-3, 0.02, 0.2, 0.1}}},
        {"narrow_gap", {.law = HL_LAW_GAP, .kind = HL_VERTICAL, .p = {5e-3, 2e-3, 0.06}}},
        {"wide_gap", {.law = HL_LAW_GAP, .kind = HL_VERTICAL, .p = {8e-3, 0.02, 0.06}}},
        {"gap_facing_up", {.law = HL_LAW_GAP, .kind = HL_FACING_UP, .p = {8e-3, 0.015, 0.06}}},
        {"gap_facing_down", {.law = HL_LAW_GAP, .kind = HL_FACING_DOWN, .p = {8e-3, 0.015, 0.06}}},
        {"forced", {.law = HL_LAW_FORCED, .p = {5e-3, 0.08, 1.2}}},
        {"forced_turbulent", {.law = HL_LAW_FORCED, .p = {5e-3, 1.2, 9}}},
    };
    kept_figures *book = kept_figures_open("heat_laws", "two nodes with links of one law");
    for (size_t k = 0; k < sizeof laws / sizeof *laws; k++)
        kept_figures_line(book, laws[k].name, one_law, (void *)&laws[k].link);
    kept_figures_close(book);
}
END_TEST

static hl_link drawn_link(lottery *luck, int a, int b)
{
    double area = lottery_scale(luck, 1e-3, 2e-2), length = lottery_scale(luck, 5e-3, 0.2);
    int kind = (int)lottery_below(luck, 3);
    switch (lottery_below(luck, 6)) {
    case 0:
        return (hl_link){a, b, HL_LAW_POWER, 0, {lottery_scale(luck, 0.5, 3), area, 0.25, 0}};
    case 1:
        return (hl_link){a, b, HL_LAW_RADIATION, 0, {lottery_between(luck, 0.05, 1), area, 0, 0}};
    case 2:
        return (hl_link){
            a, b, HL_LAW_NATURAL, kind, {area, length, lottery_below(luck, 2) ? 0 : 0.5, length}};
    case 3:
        return (hl_link){a, b, HL_LAW_GAP, kind, {area, lottery_scale(luck, 1e-3, 2e-2), length, 0}};
    case 4:
        return (hl_link){a, b, HL_LAW_FORCED, 0, {area, length, lottery_between(luck, 0.1, 5), 0}};
    default:
        return (hl_link){a, b, HL_LAW_FIXED, 0, {lottery_scale(luck, 0.01, 1), 0, 0, 0}};
    }
}

/* A tree from the room on, and as many links across it; some heat grows with temperature, some sinks. */
static void drawn_network(void *context, figure_hair *hair, figure_sheet *sheet)
{
    lottery luck = {.state = figure_seed("network", *(size_t *)context)};
    heated h = {.factor = 1};
    hl_network *network = hl_network_create();
    size_t n = 2 + lottery_below(&luck, NODES - 2);
    for (size_t i = 0; i < n; i++) {
        hl_network_add_node(network, "node", lottery_scale(&luck, 0.5, 100));
        int to = i == 0 || lottery_below(&luck, 4) == 0 ? HL_AMBIENT : (int)lottery_below(&luck, i);
        double g = figure_hair_beside(hair, lottery_scale(&luck, 0.02, 0.5));
        hl_link fixed = {(int)i, to, HL_LAW_FIXED, 0, {g, 0, 0, 0}};
        ck_assert_int_ge(hl_network_add_link(network, &fixed), 0);
        if (lottery_below(&luck, 2)) h.watts[i] = figure_hair_beside(hair, lottery_scale(&luck, 0.01, 1.5));
        h.growth[i] = lottery_below(&luck, 3) ? lottery_between(&luck, 0, 0.012) : -0.004;
    }
    h.watts[0] = 0.7;
    bool faint = *(size_t *)context % 10 == 9; /* as near to its answer as strong heat is */
    for (size_t i = 0; i < n && faint; i++) h.watts[i] *= 1e-4;
    for (size_t k = 0; k < n; k++) {
        int a = (int)lottery_below(&luck, n), b = (int)lottery_below(&luck, n + 1);
        hl_link link = drawn_link(&luck, a, b == (int)n ? HL_AMBIENT : b);
        link.p[0] = figure_hair_beside(hair, link.p[0]);
        if (link.a != link.b) ck_assert_int_ge(hl_network_add_link(network, &link), 0);
    }
    begin(&h, network, lottery_between(&luck, 260, 330), lottery_between(&luck, 6e4, 1.02e5));
    say_steady(&h, sheet);
    say_fold(&h, sheet);
    if (*(size_t *)context % 4 == 0) say_course(&h, sheet);
    end(&h);
}

START_TEST(networks_keep_their_figures)
{
    keep_numbered("networks", "drawn networks of every law", "network", 40, drawn_network);
}
END_TEST

/* --------------------------------------------------------- boxes by rule -- */

enum { BOARDS = 2, BODIES = 4 };

typedef struct rule_box {
    hl_box box;
    hl_board boards[BOARDS];
    hl_body bodies[BODIES];
} rule_box;

/* Two boards across `normal`, a part on each side of the first, one that leads to a wall, one without place.
 */
static void lay_out(rule_box *r, int normal)
{
    static const double bottom[] = {0.0096, 0.006, 0.0096}, top[] = {0.0116, 0.008, 0.0222};
    int u = (normal + 1) % 3, v = (normal + 2) % 3;
    r->box = (hl_box){.wall = 2e-3,
                      .wall_conductivity = 0.2,
                      .wall_density_heat = 1.5e6,
                      .emissivity_outside = 0.9,
                      .emissivity_inside = 0.85,
                      .fill_conductivity = 0.7,
                      .fill_density_heat = 2e6,
                      .up = HL_FACE_Z1,
                      .cover_conductance = 5};
    r->box.size[normal] = 0.034, r->box.size[u] = 0.09, r->box.size[v] = 0.06;
    for (int b = 0; b < BOARDS; b++) {
        hl_board *board = &r->boards[b];
        *board = (hl_board){.name = b ? "small" : "main",
                            .conductivity_in = b ? 9 : 24,
                            .conductivity_through = 0.35,
                            .density_heat = 2e6};
        board->low[normal] = b ? 0.024 : 0.008, board->high[normal] = b ? 0.0252 : 0.0096;
        board->low[u] = b ? 0.03 : 0.005, board->high[u] = b ? 0.07 : 0.085;
        board->low[v] = b ? 0.015 : 0.005, board->high[v] = b ? 0.045 : 0.055;
    }
    for (int k = 0; k < BODIES; k++) {
        hl_body *body = &r->bodies[k];
        *body = (hl_body){.name = "part",
                          .conductivity = 4 + k,
                          .density_heat = 3e6,
                          .board = k < 3 ? 0 : -1,
                          .board_resistance = 2 + k,
                          .case_resistance = 1.5,
                          .pad_face = HL_FACES,
                          .emissivity = 0.8};
        if (k == 3) continue;
        body->low[normal] = bottom[k], body->high[normal] = top[k];
        body->low[u] = 0.013 + 0.024 * k, body->high[u] = 0.026 + 0.024 * k;
        body->low[v] = 0.0135 + 0.006 * k, body->high[v] = 0.024 + 0.008 * k;
    }
    r->bodies[1].pad_face = (hl_face)(2 * normal);
    r->bodies[1].pad_resistance = 6;
    r->bodies[3].capacity = 12;
}

/* The same upside down. */
static void turn_over(rule_box *r, int axis)
{
    for (int k = 0; k < BOARDS; k++) {
        double low = r->boards[k].low[axis];
        r->boards[k].low[axis] = r->box.size[axis] - r->boards[k].high[axis];
        r->boards[k].high[axis] = r->box.size[axis] - low;
    }
    for (int k = 0; k < BODIES - 1; k++) {
        double low = r->bodies[k].low[axis];
        r->bodies[k].low[axis] = r->box.size[axis] - r->bodies[k].high[axis];
        r->bodies[k].high[axis] = r->box.size[axis] - low;
    }
}

static void say_links(const hl_network *network, figure_sheet *sheet)
{
    double sum[4] = {0}, laws = 0;
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        laws += (double)(1 + (int)link->law) * (double)(k + 1);
        for (int i = 0; i < 4; i++) sum[i] += link->p[i] * (double)(k % 7 + 1);
    }
    figure_sheet_put(sheet, "links", (double)hl_network_links(network));
    figure_sheet_put(sheet, "link_laws", laws);
    for (int i = 0; i < 4; i++) figure_sheet_put(sheet, "link_figures", sum[i]);
}

static void box_by_rule(void *context, figure_hair *hair, figure_sheet *sheet)
{
    size_t number = *(size_t *)context;
    lottery luck = {.state = figure_seed("box", number)};
    rule_box r;
    heated h = {.watts = {1.2, 0.7, 0.4, 0.1}, .growth = {0.004, 0.002, -0.001, 0}};
    lay_out(&r, (int)(number % 3));
    if (number % 2) turn_over(&r, (int)(number % 3));
    r.box.up = (hl_face)(number % HL_FACES);
    r.box.potted = number % 4 == 3;
    r.box.air_speed = number % 5 == 2 ? lottery_between(&luck, 0.2, 2) : 0;
    for (int f = 0; f < HL_FACES; f++)
        r.box.covered[f] = lottery_below(&luck, 3) ? 0 : lottery_between(&luck, 0, 1);
    for (int axis = 0; axis < 3; axis++) r.box.size[axis] = figure_hair_beside(hair, r.box.size[axis]);
    for (int k = 0; k < BODIES; k++)
        for (int axis = 0; axis < 3; axis++) {
            r.bodies[k].low[axis] = figure_hair_beside(hair, r.bodies[k].low[axis]);
            r.bodies[k].conductivity = figure_hair_beside(hair, r.bodies[k].conductivity);
        }
    hl_network *network = hl_network_create();
    hl_diagnostics *said = hl_diagnostics_create();
    hl_status status = hl_enclosure_by_rule(network, &r.box, BOARDS, r.boards, BODIES, r.bodies, said);
    if (status == HL_OK) { /* the part without a place hangs on the first one */
        const hl_link hand = {3, 0, HL_LAW_FIXED, 0, {0.05, 0, 0, 0}};
        ck_assert_int_ge(hl_network_add_link(network, &hand), 0);
    }
    ck_assert_msg(status == HL_OK, "%s", status == HL_OK ? "" : hl_diagnostics_text(said, 0));
    hl_diagnostics_destroy(said);
    begin(&h, network, lottery_between(&luck, 270, 320), lottery_between(&luck, 6e4, 1.02e5));
    say_links(network, sheet);
    say_steady(&h, sheet);
    if (number % 3 == 0) say_course(&h, sheet);
    end(&h);
}

START_TEST(boxes_by_rule_keep_their_figures)
{
    keep_numbered("boxes_by_rule", "boxes of two boards and four parts, by rule", "box", 24, box_by_rule);
}
END_TEST

/* --------------------------------------------------------------- ladders -- */

enum { LADDERS = 8 }; /* to a line */

static void say_ladder(figure_sheet *sheet, const char *name, const hl_ladder *ladder)
{
    for (size_t i = 0; i < ladder->n; i++) {
        figure_sheet_put(sheet, name, ladder->resistance[i]);
        figure_sheet_put(sheet, name, ladder->capacity[i]);
    }
}

static void ladder(void *context, figure_hair *hair, figure_sheet *sheet)
{
    lottery luck = {.state = figure_seed("ladder", *(size_t *)context)};
    hl_ladder foster = {.n = 1 + lottery_below(&luck, 5)}, other, again;
    double time[9], impedance[9], worst;
    for (size_t i = 0; i < foster.n; i++) {
        foster.resistance[i] = figure_hair_beside(hair, lottery_scale(&luck, 0.05, 5));
        foster.capacity[i] = lottery_scale(&luck, 0.5, 2) * pow(8, (double)i) * 1e-3 / foster.resistance[i];
    }
    for (int k = 0; k < 9; k++) {
        time[k] = 2e-4 * pow(5, k);
        impedance[k] = hl_foster_step(&foster, time[k]);
        figure_sheet_put(sheet, "step", impedance[k]);
        figure_sheet_put(sheet, "train", hl_foster_train(&foster, time[k], 0.1 * (k + 1)));
        figure_sheet_put(sheet, "valley", hl_foster_valley(&foster, time[k], 0.1 * (k + 1)));
    }
    figure_sheet_put(sheet, "mean", hl_foster_mean(&foster, 0.35));
    ck_assert_int_eq(hl_foster_to_cauer(&foster, &other), HL_OK);
    say_ladder(sheet, "cauer", &other);
    ck_assert_int_eq(hl_cauer_to_foster(&other, &again), HL_OK);
    say_ladder(sheet, "foster", &again);
    if (hl_foster_fit(9, time, impedance, 3, &again, &worst) != HL_OK) return;
    figure_sheet_put_of(sheet, "worst", worst, 1e-2);
    figure_sheet_put(sheet, "fitted", hl_foster_step(&again, 0.3));
    figure_sheet_put(sheet, "fitted", hl_foster_step(&again, 0.003));
}

START_TEST(ladders_keep_their_figures)
{
    keep_numbered("ladders", "transient impedances as ladders", "ladder", 12, ladder);
}
END_TEST

/* Fits with fewer stages, as many and more than the curve has; of curves from smooth ladders and of ones that
 * no ladder of so few stages goes through. */
static void fits(void *context, figure_hair *hair, figure_sheet *sheet)
{
    size_t number = *(size_t *)context;
    lottery luck = {.state = figure_seed("fit", number)};
    for (int round = 0; round < LADDERS; round++) {
        hl_ladder foster = {.n = 1 + lottery_below(&luck, 8)}, cauer, again;
        double time[12], impedance[12], worst = 0, longest = 0;
        size_t points = 3 + lottery_below(&luck, 10), stages = 1 + number % 5;
        for (size_t i = 0; i < foster.n; i++) {
            foster.resistance[i] = figure_hair_beside(hair, lottery_scale(&luck, 0.03, 5));
            foster.capacity[i] =
                lottery_scale(&luck, 0.5, 2) * pow(5, (double)i) * 1e-4 / foster.resistance[i];
            longest = fmax(longest, foster.resistance[i] * foster.capacity[i]);
        }
        for (size_t k = 0; k < points; k++) {
            time[k] = 1e-5 * pow(3 * longest / 1e-5, (double)k / (double)(points - 1));
            impedance[k] = hl_foster_step(&foster, time[k]);
        }
        ck_assert_int_eq(hl_foster_to_cauer(&foster, &cauer), HL_OK);
        say_ladder(sheet, "cauer", &cauer);
        ck_assert_int_eq(hl_cauer_to_foster(&cauer, &again), HL_OK);
        say_ladder(sheet, "foster", &again);
        ck_assert_int_eq(hl_foster_fit(points, time, impedance, stages, &again, &worst), HL_OK);
        figure_sheet_put(sheet, "stages", (double)again.n);
        figure_sheet_put_of(sheet, "worst", worst, 1e-2);
        for (size_t k = 0; k < points; k++)
            figure_sheet_put(sheet, "fitted", hl_foster_step(&again, 1.3 * time[k]));
    }
}

START_TEST(fits_keep_their_figures)
{
    keep_numbered("fits", "ladders fitted to curves", "fit", 10, fits);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, laws_keep_their_figures);
    tcase_add_test(tests, networks_keep_their_figures);
    tcase_add_test(tests, boxes_by_rule_keep_their_figures);
    tcase_add_test(tests, ladders_keep_their_figures);
    tcase_add_test(tests, fits_keep_their_figures);
}

int main(void)
{
    return story_main("heat figures", fill);
}
