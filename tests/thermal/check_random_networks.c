/* check_random_networks.c - what must hold for any network of heat, tried on random ones. */
#include "heatledger/thermal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "lottery.h"
#include "story.h"

enum { NODES = 24 };

typedef struct random_network {
    hl_network *network;
    hl_surroundings room;
    size_t n;
    double watts[NODES], slope[NODES], temperature[NODES];
} random_network;

static int rounds(void)
{
    const char *many = getenv("HEATLEDGER_LONG");
    return many && *many == '1' ? 20000 : 300;
}

static void heat(void *context, double time, const double temperature[], double power[], double slope[])
{
    const random_network *r = context;
    (void)time;
    for (size_t i = 0; i < r->n; i++) {
        power[i] = r->watts[i] * (1 + r->slope[i] * (temperature[i] - 300));
        slope[i] = r->watts[i] * r->slope[i];
    }
}

/* Any law between any two nodes, or a node and the room. */
static hl_link random_link(lottery *draw, int a, int b)
{
    double area = lottery_scale(draw, 1e-4, 1e-2), length = lottery_scale(draw, 5e-3, 0.2);
    hl_link link = {a, b, HL_LAW_FIXED, (int)lottery_below(draw, 3), {lottery_scale(draw, 1e-3, 1), 0, 0, 0}};
    switch (lottery_below(draw, 6)) {
    case 0:
        return (hl_link){a, b, HL_LAW_POWER, 0, {lottery_scale(draw, 0.5, 3), area, 0.25, 0}};
    case 1:
        return (hl_link){a, b, HL_LAW_RADIATION, 0, {lottery_between(draw, 0.05, 1), area, 0, 0}};
    case 2:
        return (hl_link){a, b, HL_LAW_NATURAL, link.kind, {area, length, 0, 0}};
    case 3:
        return (hl_link){a, b, HL_LAW_GAP, link.kind, {area, lottery_scale(draw, 1e-3, 2e-2), length, 0}};
    case 4:
        return (hl_link){a, b, HL_LAW_FORCED, 0, {area, length, lottery_between(draw, 0.1, 5), 0}};
    default:
        return link;
    }
}

/* A tree from the room on, and as many links again across it. */
static void build(lottery *draw, random_network *r)
{
    memset(r, 0, sizeof *r);
    r->network = hl_network_create();
    r->room = (hl_surroundings){lottery_between(draw, 260, 330), lottery_between(draw, 6e4, 1.02e5)};
    r->n = 2 + lottery_below(draw, NODES - 2);
    for (size_t i = 0; i < r->n; i++) {
        hl_network_add_node(r->network, "node", lottery_scale(draw, 1e-2, 1e2));
        int to = i == 0 || lottery_below(draw, 4) == 0 ? HL_AMBIENT : (int)lottery_below(draw, i);
        hl_link fixed = {(int)i, to, HL_LAW_FIXED, 0, {lottery_scale(draw, 1e-2, 1), 0, 0, 0}};
        ck_assert_int_ge(hl_network_add_link(r->network, &fixed), 0);
        if (lottery_below(draw, 2) == 0) r->watts[i] = lottery_scale(draw, 1e-3, 1);
    }
    /* 300 K in sixteen digits on tens of W/K leave some 1e-11 W: 1e-9 of the heat needs a tenth of a watt */
    r->watts[0] = lottery_scale(draw, 0.1, 1);
    for (size_t k = 0; k < r->n; k++) {
        int a = (int)lottery_below(draw, r->n), b = (int)lottery_below(draw, r->n + 1);
        hl_link link = random_link(draw, a, b == (int)r->n ? HL_AMBIENT : b);
        if (link.a != link.b) ck_assert_int_ge(hl_network_add_link(r->network, &link), 0);
    }
}

static void solve(random_network *r, const lottery *draw, int round)
{
    hl_network_work *work = hl_network_work_create(r->network);
    for (size_t i = 0; i < r->n; i++) r->temperature[i] = r->room.temperature;
    hl_status status = hl_network_steady(work, &r->room, heat, r, r->temperature);
    ck_assert_msg(status == HL_OK, "HL_TEST_SEED=%llu round %d: %s", draw->seed, round,
                  hl_status_text(status));
    hl_network_work_destroy(work);
}

static double heat_out(const random_network *r)
{
    double flow[4 * NODES], out = 0;
    hl_network_flows(r->network, &r->room, r->temperature, flow);
    for (size_t k = 0; k < hl_network_links(r->network); k++) {
        const hl_link *link = hl_network_link(r->network, (int)k);
        if (link->b == HL_AMBIENT) out += flow[k];
        if (link->a == HL_AMBIENT) out -= flow[k];
    }
    return out;
}

static double sum(const double x[], size_t n)
{
    double total = 0;
    for (size_t i = 0; i < n; i++) total += x[i];
    return total;
}

START_TEST(more_heat_never_cools_any_node)
{
    lottery draw = lottery_open("more heat");
    for (int round = 0; round < rounds(); round++) {
        random_network r;
        double before[NODES];
        build(&draw, &r);
        solve(&r, &draw, round);
        double put_in = sum(r.watts, r.n);
        ck_assert_msg(fabs(heat_out(&r) - put_in) <= 1e-9 * put_in + 1e-12,
                      "HL_TEST_SEED=%llu round %d: the heat book is off by %g W", draw.seed, round,
                      heat_out(&r) - put_in);
        memcpy(before, r.temperature, sizeof before);
        size_t more = lottery_below(&draw, r.n);
        r.watts[more] += lottery_scale(&draw, 1e-3, 1);
        solve(&r, &draw, round);
        for (size_t i = 0; i < r.n; i++)
            ck_assert_msg(r.temperature[i] >= before[i] - 1e-8,
                          "HL_TEST_SEED=%llu round %d: node %zu cooled by %g K", draw.seed, round, i,
                          before[i] - r.temperature[i]);
        hl_network_destroy(r.network);
    }
}
END_TEST

/* No node is colder than the room, so a further way there can only take heat out. */
START_TEST(another_way_out_never_heats_the_mean)
{
    lottery draw = lottery_open("another way out");
    for (int round = 0; round < rounds(); round++) {
        random_network r;
        build(&draw, &r);
        solve(&r, &draw, round);
        double before = sum(r.temperature, r.n) / (double)r.n;
        hl_link link = random_link(&draw, (int)lottery_below(&draw, r.n), HL_AMBIENT);
        ck_assert_int_ge(hl_network_add_link(r.network, &link), 0);
        solve(&r, &draw, round);
        double after = sum(r.temperature, r.n) / (double)r.n;
        ck_assert_msg(after <= before + 1e-8, "HL_TEST_SEED=%llu round %d: the mean rose by %g K", draw.seed,
                      round, after - before);
        hl_network_destroy(r.network);
    }
}
END_TEST

START_TEST(energy_put_in_is_handed_out_or_stored)
{
    lottery draw = lottery_open("energy");
    for (int round = 0; round < rounds() / 6; round++) {
        random_network r;
        double times[3], course[3 * NODES], start[NODES], energy[3];
        build(&draw, &r);
        for (size_t i = 0; i < r.n; i++) {
            r.slope[i] = lottery_between(&draw, -2e-3, 2e-3);
            start[i] = lottery_between(&draw, 280, 350);
        }
        times[0] = lottery_scale(&draw, 0.1, 10);
        times[1] = times[0] + lottery_scale(&draw, 1, 1e3);
        times[2] = times[1] + lottery_scale(&draw, 1, 1e4);
        hl_status status =
            hl_network_transient(r.network, &r.room, heat, &r, start, 3, times, course, energy);
        ck_assert_msg(status == HL_OK, "HL_TEST_SEED=%llu round %d: %s", draw.seed, round,
                      hl_status_text(status));
        double whole = fabs(energy[0]) + fabs(energy[1]) + fabs(energy[2]);
        ck_assert_msg(fabs(energy[0] - energy[1] - energy[2]) <= 1e-6 * whole,
                      "HL_TEST_SEED=%llu round %d: the energy book is off by %g of %g J", draw.seed, round,
                      energy[0] - energy[1] - energy[2], whole);
        hl_network_destroy(r.network);
    }
}
END_TEST

/* The same heat times a factor. */
static void heat_times(void *context, double factor, const double temperature[], double power[],
                       double slope[])
{
    const random_network *r = context;
    heat(context, 0, temperature, power, slope);
    for (size_t i = 0; i < r->n; i++) power[i] *= factor, slope[i] *= factor;
}

/* Links that conduct alike at all temperatures, and heat that is a straight line in temperature: the gain
 * grows with the load and is one at 1 / gain, where temperatures have no bound.  Below that load there is one
 * state, above it none. */
START_TEST(straight_heat_runs_away_where_its_gain_is_one)
{
    lottery draw = lottery_open("straight heat");
    for (int round = 0; round < rounds() / 6; round++) {
        random_network r = {.network = hl_network_create(), .room = {300, 1e5}};
        double at[NODES], slopes[NODES], power[NODES], critical, gain;
        r.n = 1 + lottery_below(&draw, NODES - 1);
        for (size_t i = 0; i < r.n; i++) {
            int to = i == 0 || lottery_below(&draw, 4) == 0 ? HL_AMBIENT : (int)lottery_below(&draw, i);
            hl_link fixed = {(int)i, to, HL_LAW_FIXED, 0, {lottery_scale(&draw, 1e-2, 1), 0, 0, 0}};
            hl_network_add_node(r.network, "node", 1);
            ck_assert_int_eq(hl_network_add_link(r.network, &fixed), (int)i);
            r.watts[i] = lottery_scale(&draw, 1e-3, 1e-1);
            r.slope[i] = lottery_scale(&draw, 1e-4, 0.1);
            r.temperature[i] = 300;
        }
        hl_network_work *work = hl_network_work_create(r.network);
        heat(&r, 0, r.temperature, power, slopes);
        gain = hl_network_gain(work, &r.room, r.temperature, slopes, NULL);
        hl_status status = hl_network_critical(work, &r.room, heat_times, &r, 2 / gain, &critical, at, NULL);
        ck_assert_msg(status == HL_OK && fabs(critical * gain - 1) <= 1e-6,
                      "HL_TEST_SEED=%llu round %d: %s, at a load of %.9g for a gain of %.9g", draw.seed,
                      round, hl_status_text(status), critical, gain);
        status = hl_network_critical(work, &r.room, heat_times, &r, 0.5 / gain, &critical, at, NULL);
        ck_assert(status == HL_OK && isinf(critical));
        for (size_t i = 0; i < r.n; i++) r.watts[i] *= 1.05 / gain;
        ck_assert_int_eq(hl_network_steady(work, &r.room, heat, &r, r.temperature), HL_RUNAWAY);
        hl_network_work_destroy(work);
        hl_network_destroy(r.network);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, more_heat_never_cools_any_node);
    tcase_add_test(tests, another_way_out_never_heats_the_mean);
    tcase_add_test(tests, energy_put_in_is_handed_out_or_stored);
    tcase_add_test(tests, straight_heat_runs_away_where_its_gain_is_one);
}

int main(void)
{
    return story_main("random networks", fill);
}
