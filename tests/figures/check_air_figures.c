/* check_air_figures.c - air, the laws of surfaces and layers in it, and their slopes give the figures of
 * before.
 *
 * Slopes only lead a search for temperatures, whose end does not depend on them: they show in the gain. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "kept_figures.h"
#include "story.h"

/* ------------------------------------------------------------------- air -- */

static void air(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const double *at = context;
    hl_air air;
    hl_air_at(figure_hair_beside(hair, at[0]), figure_hair_beside(hair, at[1]), &air);
    figure_sheet_put(sheet, "conductivity", air.conductivity);
    figure_sheet_put(sheet, "kinematic", air.kinematic);
    figure_sheet_put(sheet, "diffusivity", air.diffusivity);
    figure_sheet_put(sheet, "prandtl", air.prandtl);
    figure_sheet_put(sheet, "expansion", air.expansion);
    figure_sheet_put(sheet, "density", air.density);
    figure_sheet_put(sheet, "heat_capacity", air.heat_capacity);
    figure_sheet_put(sheet, "pressure_there", hl_air_pressure(figure_hair_beside(hair, at[2])));
}

START_TEST(air_keeps_its_figures)
{
    static const double kelvin[] = {180, 233, 273, 298.15, 320, 355, 410, 500, 800, 1500};
    static const double heights[] = {-9000, -1050, -930, -10, 700, 4300, 10900, 11200, 19000, 25000};
    char group[64];
    kept_figures *book = kept_figures_open("air", "dry air");
    for (size_t k = 0; k < sizeof kelvin / sizeof *kelvin; k++) {
        double at[3] = {kelvin[k], k % 2 ? 101325 : 7e4, heights[k]};
        snprintf(group, sizeof group, "air,%g_K,%g_Pa,%g_m", at[0], at[1], at[2]);
        kept_figures_line(book, group, air, at);
    }
    kept_figures_close(book);
}
END_TEST

/* -------------------------------------------------------------- surfaces -- */

typedef struct surface {
    double size, hot, cold, pressure, speed;
} surface;

/* Sizes from chip to case; warmer and cooler than the air, little and much. */
static void surfaces(void *context, figure_hair *hair, figure_sheet *sheet)
{
    static const char *const natural[] = {"vertical", "facing_up", "facing_down"};
    const surface *at = context;
    double size = figure_hair_beside(hair, at->size), hot = figure_hair_beside(hair, at->hot);
    double cold = figure_hair_beside(hair, at->cold), pressure = figure_hair_beside(hair, at->pressure);
    bool outside = false;
    for (int o = HL_VERTICAL; o <= HL_FACING_DOWN; o++) {
        char name[32];
        snprintf(name, sizeof name, "gap_%s", natural[o]);
        outside = false;
        figure_sheet_put(sheet, natural[o],
                         hl_natural_coefficient((hl_orientation)o, hot, cold, pressure, size, &outside));
        figure_sheet_put(sheet, natural[o],
                         hl_natural_coefficient((hl_orientation)o, cold, hot, pressure, size, NULL));
        figure_sheet_put(sheet, "outside", outside);
        for (int k = 0; k < 3; k++) {
            static const double height[] = {0.7, 4, 30};
            outside = false;
            figure_sheet_put(
                sheet, name,
                hl_gap_coefficient((hl_orientation)o, hot, cold, pressure, size, height[k] * size, &outside));
            figure_sheet_put(sheet, "gap_outside", outside);
        }
    }
    outside = false;
    figure_sheet_put(sheet, "forced", hl_forced_coefficient(hot, cold, pressure, size, at->speed, &outside));
    figure_sheet_put(sheet, "forced_outside", outside);
}

START_TEST(surfaces_keep_their_figures)
{
    static const double sizes[] = {4e-4, 3e-3, 0.012, 0.045, 0.15, 0.6}, rises[] = {0.02, 3, 35, 180};
    char group[96];
    kept_figures *book =
        kept_figures_open("surfaces", "film coefficients of open surfaces and enclosed gaps");
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++)
        for (size_t k = 0; k < sizeof rises / sizeof *rises; k++) {
            surface at = {sizes[i], 296 + rises[k], 296, k % 2 ? 101325 : 6e4, 0.2 * (double)(1 + i * k)};
            snprintf(group, sizeof group, "size=%g,rise=%g,pressure=%g,speed=%g", at.size, rises[k],
                     at.pressure, at.speed);
            kept_figures_line(book, group, surfaces, &at);
        }
    kept_figures_close(book);
}
END_TEST

/* ------------------------------------------------------------- slopes -- */

/* Heat of a link between the two temperatures by the kelvin at either end, as a gain tells it: of a node that
 * gets 1 W/K more and hands it on to the surroundings at once, or to a second node first. */
static void say_slopes(figure_sheet *sheet, const hl_link *law, double hot, double cold, double pressure)
{
    double at[] = {hot, cold}, one[] = {1, 0};
    hl_surroundings room = {cold, pressure};
    for (int nodes = 1; nodes <= 2; nodes++) {
        hl_network *network = hl_network_create();
        hl_link link = *law, on = {1, HL_AMBIENT, HL_LAW_FIXED, 0, {0.01}};
        for (int k = 0; k < nodes; k++) hl_network_add_node(network, "node", 1);
        link.a = 0, link.b = nodes == 2 ? 1 : HL_AMBIENT;
        ck_assert_int_eq(hl_network_add_link(network, &link), 0);
        if (nodes == 2) ck_assert_int_eq(hl_network_add_link(network, &on), 1);
        hl_network_work *work = hl_network_work_create(network);
        ck_assert_ptr_nonnull(work);
        figure_sheet_put(sheet, nodes == 2 ? "slopes_between" : "slopes",
                         hl_network_gain(work, &room, at, one, NULL));
        hl_network_work_destroy(work);
        hl_network_destroy(network);
    }
}

/* Watts into a node that only the link leads out of. */
static void a_watt(void *context, double time, const double temperature[], double power[], double slope[])
{
    (void)time, (void)temperature;
    power[0] = *(const double *)context;
    slope[0] = 0;
}

static void say_warmed(figure_sheet *sheet, const hl_link *law, double cold, double pressure)
{
    double at = cold + 1, watts = 0.3;
    hl_network *network = hl_network_create();
    hl_link link = *law;
    hl_network_add_node(network, "node", 1);
    link.a = 0, link.b = HL_AMBIENT;
    ck_assert_int_eq(hl_network_add_link(network, &link), 0);
    hl_network_work *work = hl_network_work_create(network);
    ck_assert_ptr_nonnull(work);
    hl_status status = hl_network_steady(work, &(hl_surroundings){cold, pressure}, a_watt, &watts, &at);
    figure_sheet_put_of(sheet, "warmed", status == HL_OK ? at - cold : (double)status, 100);
    hl_network_work_destroy(work);
    hl_network_destroy(network);
}

/* ------------------------------------------------------------- sweeps -- */

/* One law over sizes so close together that each border between its formulas has one on either side. */
typedef struct swept {
    const char *name;
    hl_law law;
    hl_orientation side;
    double first, aspect, speed; /* m; height to gap; m/s */
} swept;

enum { SIZES = 190 };

static void sizes_of(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const swept *at = context;
    double hot = figure_hair_beside(hair, 334), cold = figure_hair_beside(hair, 301), pressure = 9.6e4;
    double stretched = 0, size = at->first;
    for (int k = 0; k < SIZES; k++, size *= 1.031) {
        bool outside = false;
        hl_link link = {.law = at->law, .kind = (int)at->side, .p = {5e-3, size}};
        double from = k % 3 ? hot : cold, to = k % 3 ? cold : hot, h = 0;
        if (at->law == HL_LAW_GAP) {
            link.p[2] = at->aspect * size;
            h = hl_gap_coefficient(at->side, from, to, pressure, size, link.p[2], &outside);
        } else if (at->law == HL_LAW_FORCED) {
            link.p[2] = at->speed;
            h = hl_forced_coefficient(from, to, pressure, size, at->speed, &outside);
        } else {
            link.p[2] = at->speed;
            link.p[3] = k % 4 == 3 ? 0 : 0.7 * size;
            h = hl_natural_coefficient(at->side, from, to, pressure, size, &outside);
        }
        figure_sheet_put(sheet, "coefficients", h);
        stretched += outside ? k + 1 : 0;
        say_warmed(sheet, &link, cold, pressure);
        say_slopes(sheet, &link, from, k % 10 == 9 ? from - 3e-5 : to, pressure);
    }
    figure_sheet_put(sheet, "stretched", stretched);
}

START_TEST(swept_laws_keep_their_figures)
{
    static const swept laws[] = {
        {"vertical", HL_LAW_NATURAL, HL_VERTICAL, 4e-3, 0, 0},
        {"vertical_in_a_draught", HL_LAW_NATURAL, HL_VERTICAL, 4e-3, 0, 0.3},
        {"facing_up", HL_LAW_NATURAL, HL_FACING_UP, 4e-3, 0, 0},
        {"facing_up_in_a_draught", HL_LAW_NATURAL, HL_FACING_UP, 4e-3, 0, 0.3},
        {"facing_down", HL_LAW_NATURAL, HL_FACING_DOWN, 4e-3, 0, 0},
        {"facing_down_in_a_draught", HL_LAW_NATURAL, HL_FACING_DOWN, 4e-3, 0, 2},
        {"forced", HL_LAW_FORCED, HL_VERTICAL, 4e-3, 0, 3},
        {"forced_fast", HL_LAW_FORCED, HL_VERTICAL, 5e-2, 0, 40},
        {"layer_below", HL_LAW_GAP, HL_FACING_DOWN, 2e-3, 4, 0},
        {"layer_above", HL_LAW_GAP, HL_FACING_UP, 2e-3, 4, 0},
        {"slab", HL_LAW_GAP, HL_VERTICAL, 4e-3, 0.9, 0},
        {"cube", HL_LAW_GAP, HL_VERTICAL, 4e-3, 1.7, 0},
        {"squat", HL_LAW_GAP, HL_VERTICAL, 4e-3, 2.1, 0},
        {"less_squat", HL_LAW_GAP, HL_VERTICAL, 4e-3, 4.9, 0},
        {"tall", HL_LAW_GAP, HL_VERTICAL, 1.6e-3, 5.2, 0},
        {"taller", HL_LAW_GAP, HL_VERTICAL, 1.6e-3, 30, 0},
        {"tallest", HL_LAW_GAP, HL_VERTICAL, 1.6e-3, 115, 0},
    };
    kept_figures *book = kept_figures_open("swept_laws", "laws of air over sizes");
    for (size_t k = 0; k < sizeof laws / sizeof *laws; k++)
        kept_figures_line(book, laws[k].name, sizes_of, (void *)&laws[k]);
    kept_figures_close(book);
}
END_TEST

/* From where the formulas of air are held at their cold end to where they are at the hot one. */
static void temperatures_of(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const hl_link *law = context;
    double kelvin = figure_hair_beside(hair, 118);
    for (int k = 0; k < SIZES; k++, kelvin *= 1.0145)
        say_slopes(sheet, law, kelvin * (k % 3 ? 1.01 : 0.99), kelvin, 1.01e5);
}

START_TEST(warmer_air_keeps_its_figures)
{
    static const struct {
        const char *name;
        hl_link link;
    } laws[] = {
        {"vertical", {.law = HL_LAW_NATURAL, .kind = HL_VERTICAL, .p = {6e-3, 0.05}}},
        {"vertical_in_a_draught", {.law = HL_LAW_NATURAL, .kind = HL_VERTICAL, .p = {6e-3, 0.05, 0.4, 0.08}}},
        {"facing_up", {.law = HL_LAW_NATURAL, .kind = HL_FACING_UP, .p = {6e-3, 0.05}}},
        {"forced", {.law = HL_LAW_FORCED, .p = {5e-3, 0.08, 1.2}}},
        {"forced_fast", {.law = HL_LAW_FORCED, .p = {5e-3, 0.8, 60}}},
        {"layer_from_below", {.law = HL_LAW_GAP, .kind = HL_FACING_UP, .p = {5e-3, 0.02, 0.06}}},
        {"calm_layer", {.law = HL_LAW_GAP, .kind = HL_VERTICAL, .p = {5e-3, 8e-4, 0.06}}},
        {"squat_layer", {.law = HL_LAW_GAP, .kind = HL_VERTICAL, .p = {5e-3, 0.03, 0.06}}},
    };
    kept_figures *book = kept_figures_open("warmer_air", "slopes of laws of air over temperature");
    for (size_t k = 0; k < sizeof laws / sizeof *laws; k++)
        kept_figures_line(book, laws[k].name, temperatures_of, (void *)&laws[k].link);
    kept_figures_close(book);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, air_keeps_its_figures);
    tcase_add_test(tests, surfaces_keep_their_figures);
    tcase_add_test(tests, swept_laws_keep_their_figures);
    tcase_add_test(tests, warmer_air_keeps_its_figures);
}

int main(void)
{
    return story_main("air figures", fill);
}
