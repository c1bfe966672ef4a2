/* check_heat_figures.c - networks and boxes by rule give the figures of before.
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

/* Some watts in every eleventh of so many nodes, growing a little. */
static void even_heat(void *context, double time, const double temperature[], double power[], double slope[])
{
    size_t n = *(const size_t *)context;
    (void)time;
    for (size_t i = 0; i < n; i++) {
        slope[i] = i % 11 ? 0 : 1e-3;
        power[i] = slope[i] * (temperature[i] + 100 + (double)i);
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
    kept_figures_numbered("networks", "drawn networks of every law", "network", 40, drawn_network);
}
END_TEST

/* -------------------------------------------------------------- limits -- */

enum { HOT = 5 };

/* Heat that grows from little to much more than the links carry off, asked for in every way; a room or a
 * start that is none. */
static void hot_network(void *context, figure_hair *hair, figure_sheet *sheet)
{
    size_t number = *(size_t *)context;
    lottery luck = {.state = figure_seed("hot", number)};
    for (int round = 0; round < HOT; round++) {
        heated h = {.factor = 1};
        hl_network *network = hl_network_create();
        size_t n = 1 + lottery_below(&luck, 6);
        double growth = lottery_scale(&luck, number < 8 ? 1e-4 : 0.05, number < 8 ? 0.05 : 0.8), when = 0,
               critical = 0, course[TIMES * 8], at[8];
        for (size_t i = 0; i < n; i++) {
            hl_network_add_node(network, "node", i % 3 == 2 ? 0 : lottery_scale(&luck, 0.5, 100));
            hl_link out = {(int)i, HL_AMBIENT, HL_LAW_FIXED, 0, {lottery_scale(&luck, 1e-3, 2e-2)}};
            hl_link shine = {(int)i, HL_AMBIENT, HL_LAW_RADIATION, 0, {lottery_scale(&luck, 1e-2, 1), 1e-3}};
            hl_link on = {(int)i, (int)i - 1, HL_LAW_POWER, 0, {1.4, 8e-3, 0.25}};
            ck_assert_int_ge(hl_network_add_link(network, &out), 0);
            ck_assert_int_ge(hl_network_add_link(network, &shine), 0);
            if (i > 0) ck_assert_int_ge(hl_network_add_link(network, &on), 0);
            h.watts[i] = figure_hair_beside(hair, lottery_scale(&luck, 0.01, 12));
            h.growth[i] = growth * lottery_between(&luck, 0.5, 1.2);
        }
        begin(&h, network, lottery_between(&luck, 260, 400), 9e4);
        for (int k = 0; k < 4; k++) {
            static const double guesses[] = {0, 300, 900, 1900};
            for (size_t i = 0; i < n; i++) h.temperature[i] = guesses[k];
            hl_status status = hl_network_steady(h.work, &h.room, heat, &h, h.temperature);
            figure_sheet_put(sheet, "steady", 1 + (double)status);
            for (size_t i = 0; i < n && status == HL_OK; i++)
                figure_sheet_put_of(sheet, "hot_rise", h.temperature[i] - h.room.temperature, 300);
        }
        hl_status folds = hl_network_critical(h.work, &h.room, heat_at, &h, 30, &critical, at, NULL);
        figure_sheet_put(sheet, "hot_folds", 1 + (double)folds);
        figure_sheet_put(sheet, "hot_folds", isfinite(critical));
        if (folds == HL_OK && isfinite(critical))
            figure_sheet_put_of(sheet, "hot_fold", critical, in_time * critical);
        const double times[] = {3, 40, 300, 3e3, 3e4, 3e5};
        for (size_t i = 0; i < n; i++) at[i] = h.room.temperature;
        hl_status runs = hl_network_transient(network, &h.room, heat, &h, at, TIMES, times, course, NULL);
        figure_sheet_put(sheet, "hot_course", 1 + (double)runs);
        for (size_t k = 0; k < TIMES * n && runs == HL_OK; k++)
            figure_sheet_put_of(sheet, "hot_course_rise", course[k] - h.room.temperature, in_time * 300);
        for (int k = 0; k < 3; k++) {
            static const double limits[] = {420, 900, 1990};
            hl_status status = hl_network_time_to(network, &h.room, heat, &h, at, limits[k], 1e5, &when);
            figure_sheet_put(sheet, "hot_times", 1 + (double)status + 10 * isfinite(when));
            if (status == HL_OK && isfinite(when) && when > 0)
                figure_sheet_put_of(sheet, "hot_time", when, in_time * when);
        }
        end(&h);
    }
}

/* One figure of a question, beside the most and the least that it may be. */
static void asked_beyond(void *context, figure_hair *hair, figure_sheet *sheet)
{
    static const double rooms[][2] = {{1960, 1e5}, {2050, 1e5}, {300, 0.97e8}, {300, 1.03e8}, {0, 1e5}};
    static const double starts[] = {1960, 2050, 0}, ends[] = {0.97e12, 1.03e12};
    heated h = {.watts = {0.1}};
    hl_network *network = hl_network_create();
    hl_link out = {0, HL_AMBIENT, HL_LAW_FIXED, 0, {0.01}};
    double when, critical, course[2], at = 300;
    (void)context, (void)hair;
    hl_network_add_node(network, "node", 5);
    hl_network_add_link(network, &out);
    begin(&h, network, 300, 1e5);
    for (int k = 0; k < 5; k++) {
        hl_surroundings room = {rooms[k][0], rooms[k][1]};
        double start = at, fold;
        figure_sheet_put(sheet, "rooms", 1 + (double)hl_network_steady(h.work, &room, heat, &h, &start));
        figure_sheet_put(
            sheet, "rooms",
            1 + (double)hl_network_critical(h.work, &room, heat_at, &h, 2, &critical, &fold, NULL));
        figure_sheet_put(
            sheet, "rooms",
            1 + (double)hl_network_transient(network, &room, heat, &h, &at, 1, &(double){1}, course, NULL));
        figure_sheet_put(sheet, "rooms",
                         1 + (double)hl_network_time_to(network, &room, heat, &h, &at, 1900, 1, &when));
    }
    for (int k = 0; k < 3; k++) {
        figure_sheet_put(sheet, "starts",
                         1 + (double)hl_network_transient(network, &h.room, heat, &h, &starts[k], 1,
                                                          &(double){1}, course, NULL));
        figure_sheet_put(
            sheet, "limits",
            1 + (double)hl_network_time_to(network, &h.room, heat, &h, &at, starts[k], 1, &when));
    }
    for (int k = 0; k < 2; k++) {
        const double fall[] = {2, k ? 1.9 : 2}, late = ends[k];
        h.watts[0] = 0;
        figure_sheet_put(
            sheet, "times",
            1 + (double)hl_network_transient(network, &h.room, heat, &h, &at, 1, &late, course, NULL));
        figure_sheet_put(
            sheet, "times",
            1 + (double)hl_network_transient(network, &h.room, heat, &h, &at, 2, fall, course, NULL));
    }
    for (int k = 0; k < 2; k++) { /* steady at 1960 and 2050 K */
        h.watts[0] = 0.01 * ((k ? 2050 : 1960) - 300), at = 300;
        figure_sheet_put(sheet, "steady", 1 + (double)hl_network_steady(h.work, &h.room, heat, &h, &at));
    }
    end(&h);
}

/* Figures of links beside the least and the most that they may be. */
static void links_beyond(void *context, figure_hair *hair, figure_sheet *sheet)
{
    static const double figures[] = {-1, 0, 1e-9, 1, 9.7, 10.3, 0.97e12, 1.03e12, INFINITY};
    static const hl_law laws[] = {HL_LAW_FIXED,   HL_LAW_POWER, HL_LAW_RADIATION,
                                  HL_LAW_NATURAL, HL_LAW_GAP,   HL_LAW_FORCED};
    (void)context, (void)hair;
    for (int law = 0; law < 6; law++)
        for (int which = 0; which < 4; which++)
            for (size_t k = 0; k < sizeof figures / sizeof *figures; k++) {
                hl_diagnostics *said = hl_diagnostics_create();
                hl_network *network = hl_network_create();
                hl_link link = {0, HL_AMBIENT, laws[law], (int)k % 4, {1, 1, 1, 1}};
                link.p[which] = figures[k];
                hl_network_add_node(network, "node", 1);
                figure_sheet_put(sheet, "taken", 2 + (double)hl_network_add_link(network, &link));
                figure_sheet_put(sheet, "ways_out", 1 + (double)hl_network_check(network, said));
                hl_network_destroy(network);
                hl_diagnostics_destroy(said);
            }
}

/* So many nodes that another way of elimination takes over: a chain with a way out at each tenth. */
static void long_network(void *context, figure_hair *hair, figure_sheet *sheet)
{
    enum { MANY = 530 };
    static double temperature[MANY], slope[MANY], flow[2 * MANY];
    hl_network *network = hl_network_create();
    hl_surroundings room = {300, 1e5};
    (void)context;
    for (int i = 0; i < MANY; i++) {
        hl_link on = {i, i % 10 ? i - 1 : HL_AMBIENT, HL_LAW_FIXED, 0, {figure_hair_beside(hair, 0.2)}};
        hl_link over = {i, i / 2, HL_LAW_RADIATION, 0, {0.9, 1e-3 + 1e-6 * i}};
        hl_network_add_node(network, "node", 1);
        ck_assert_int_ge(hl_network_add_link(network, &on), 0);
        if (i > 0) ck_assert_int_ge(hl_network_add_link(network, &over), 0);
        temperature[i] = 300, slope[i] = 1e-4 * (i % 7);
    }
    hl_network_work *work = hl_network_work_create(network);
    ck_assert_ptr_nonnull(work);
    ck_assert_int_eq(hl_network_steady(work, &room, even_heat, &(size_t){MANY}, temperature), HL_OK);
    for (int i = 0; i < MANY; i += 5) figure_sheet_put_of(sheet, "rise", temperature[i] - 300, 30);
    hl_network_flows(network, &room, temperature, flow);
    for (int k = 0; k < MANY; k += 5) figure_sheet_put_of(sheet, "flow", flow[k], 1);
    int leader = -1;
    figure_sheet_put_of(sheet, "gain", hl_network_gain(work, &room, temperature, slope, &leader), 1);
    figure_sheet_put(sheet, "leader", leader);
    hl_network_work_destroy(work);
    hl_network_destroy(network);
}

START_TEST(limits_keep_their_figures)
{
    kept_figures *book = kept_figures_open("heat_limits", "networks that run away, questions beyond sense");
    for (size_t k = 0; k < 11; k++) {
        char group[32];
        snprintf(group, sizeof group, "hot,%zu", k);
        kept_figures_line(book, group, hot_network, &k);
    }
    kept_figures_line(book, "questions", asked_beyond, NULL);
    kept_figures_line(book, "links", links_beyond, NULL);
    kept_figures_line(book, "long", long_network, NULL);
    kept_figures_close(book);
}
END_TEST

/* --------------------------------------------------------- boxes by rule -- */

enum { BOARDS = 2, BODIES = 4, BOXES = 24 };

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

/* Other sizes and places, and figures that are left to what is usual. */
static void stir(rule_box *r, lottery *luck, int normal)
{
    int u = (normal + 1) % 3, v = (normal + 2) % 3;
    r->box.wall = lottery_between(luck, 1e-3, 3e-3);
    r->box.wall_conductivity = lottery_scale(luck, 0.1, 5);
    r->box.emissivity_inside = lottery_below(luck, 4) ? lottery_between(luck, 0.1, 0.95) : 0;
    r->box.fill_conductivity = lottery_scale(luck, 0.2, 3);
    r->box.size[normal] += lottery_between(luck, 0, 0.03);
    for (int b = 0; b < BOARDS; b++) {
        r->boards[b].conductivity_in = lottery_scale(luck, 0.3, 60);
        r->boards[b].conductivity_through = lottery_scale(luck, 0.2, 3);
    }
    for (int k = 0; k < BODIES; k++) {
        hl_body *body = &r->bodies[k];
        if (lottery_below(luck, 3) == 0) body->emissivity = 0;
        if (lottery_below(luck, 3) == 0) body->density_heat = 0;
        if (lottery_below(luck, 3) == 0) body->board_resistance = 0;
        if (lottery_below(luck, 3) == 0) body->case_resistance = 0;
        if (lottery_below(luck, 4) == 0) body->conductivity = 0;
        if (lottery_below(luck, 3) == 0) {
            body->pad_face = (hl_face)lottery_below(luck, HL_FACES);
            body->pad_resistance = lottery_below(luck, 2) ? lottery_scale(luck, 0.1, 9) : 0;
        }
        if (k == 3) continue;
        double wide = lottery_between(luck, 0.004, 0.022), deep = lottery_between(luck, 0.004, 0.03);
        body->low[u] = lottery_between(luck, 0.004, 0.06), body->high[u] = body->low[u] + wide;
        body->low[v] = lottery_between(luck, 0.004, 0.025), body->high[v] = body->low[v] + deep;
        body->high[normal] = body->low[normal] + lottery_between(luck, 1e-3, 0.013);
        if (k == 1) body->low[normal] = lottery_between(luck, 0.0035, 0.0075), body->high[normal] = 0.008;
        if (k == 2 && lottery_below(luck, 2)) body->board = -1;
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
    if (number >= BOXES) stir(&r, &luck, (int)(number % 3));
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
    kept_figures_numbered("boxes_by_rule", "boxes of two boards and four parts, by rule", "box", 2 * BOXES,
                          box_by_rule);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, laws_keep_their_figures);
    tcase_add_test(tests, networks_keep_their_figures);
    tcase_add_test(tests, limits_keep_their_figures);
    tcase_add_test(tests, boxes_by_rule_keep_their_figures);
}

int main(void)
{
    return story_main("heat figures", fill);
}
