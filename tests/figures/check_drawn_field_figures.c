/* check_drawn_field_figures.c - heat fields of drawn boxes give the figures of before.
 *
 * Coarse grids and many boxes to a line: which cells, patches and facing surfaces a box is cut into, and what
 * comes of it.  Temperatures may move by 1e-9 of the greatest rise; in time, by 1e-6 of 10 K. */
#include <math.h>
#include <string.h>

#include "heatledger/field.h"
#include "kept_figures.h"
#include "story.h"

enum { BOXES = 6, LINES = 4, BLOCKS = 3, BOARDS = 2, BODIES = BLOCKS + BOARDS + 1 };

static const double in_time = 1e3; /* how much wider than what 1e-9 is of */

typedef struct drawn {
    hl_field_box box;
    hl_field_board boards[BOARDS];
    hl_field_zone zones[2];
    hl_field_block blocks[BLOCKS], spreader;
    hl_field_film film;
} drawn;

static double sometimes(lottery *luck, size_t one_in, double figure)
{
    return lottery_below(luck, one_in) == 0 ? figure : 0;
}

static void draw_sides(drawn *d, lottery *luck)
{
    int up = (int)lottery_below(luck, HL_FACES);
    for (int face = 0; face < HL_FACES; face++) {
        hl_field_side *side = &d->box.sides[face];
        bool level = face / 2 == up / 2;
        *side = (hl_field_side){.law = HL_FIELD_NATURAL,
                                .orientation = !level       ? HL_VERTICAL
                                               : face == up ? HL_FACING_UP
                                                            : HL_FACING_DOWN,
                                .length = lottery_between(luck, 0.01, 0.05),
                                .coefficient = lottery_scale(luck, 2, 40),
                                .emissivity = lottery_between(luck, 0.05, 0.95)};
        side->air_speed = sometimes(luck, 4, lottery_scale(luck, 0.1, 3));
        side->along = sometimes(luck, 2, 0.04);
        if (lottery_below(luck, 5) == 0)
            side->law = lottery_below(luck, 2) ? HL_FIELD_FIXED : HL_FIELD_ADIABATIC;
    }
    d->box.sides[up].law = HL_FIELD_NATURAL; /* one way out at least */
}

static void draw_board(drawn *d, lottery *luck, int which)
{
    hl_field_board *board = &d->boards[which];
    int normal = which ? (int)lottery_below(luck, 3) : 2;
    *board = (hl_field_board){.name = "board",
                              .normal = normal,
                              .conductivity_in = lottery_scale(luck, 0.3, 80),
                              .conductivity_through = lottery_scale(luck, 0.03, 0.6),
                              .density_heat = 2e6,
                              .emissivity = lottery_between(luck, 0.1, 0.95),
                              .heat = sometimes(luck, 3, 0.2)};
    for (int axis = 0; axis < 3; axis++) {
        double size = d->box.size[axis], thick = which ? 0.0012 : 0.0016;
        board->low[axis] = axis == normal ? (which ? size - 0.0045 : 0.006) : 0.004;
        board->high[axis] =
            axis == normal ? board->low[axis] + thick : size - lottery_between(luck, 0.004, 0.009);
    }
    if (which) return;
    board->n_zones = lottery_below(luck, 3);
    board->zones = d->zones;
    for (int z = 0; z < 2; z++) {
        hl_field_zone *zone = &d->zones[z];
        *zone = (hl_field_zone){.conductivity_in = sometimes(luck, 2, lottery_scale(luck, 1, 200)),
                                .conductivity_through = sometimes(luck, 2, lottery_scale(luck, 0.2, 4))};
        for (int axis = 0; axis < 3; axis++) {
            double from = lottery_between(luck, 0, 0.6), to = from + lottery_between(luck, 0.2, 0.6);
            zone->low[axis] = board->low[axis] + from * (board->high[axis] - board->low[axis]);
            zone->high[axis] = board->low[axis] + to * (board->high[axis] - board->low[axis]);
        }
    }
}

/* Side by side along x, each on the first board or under it, or hung in the air. */
static void draw_block(drawn *d, lottery *luck, int which)
{
    hl_field_block *block = &d->blocks[which];
    double pitch = (d->box.size[0] - 0.012) / (double)d->box.n_blocks, low = 0.006 + pitch * which;
    double above = d->box.size[2] - 0.0025 - d->boards[0].high[2];
    *block = (hl_field_block){.name = "part",
                              .density_heat = lottery_scale(luck, 1e6, 4e6),
                              .emissivity = sometimes(luck, 2, lottery_between(luck, 0.05, 0.95)),
                              .heat = lottery_below(luck, 3) ? lottery_scale(luck, 0.05, 1) : 0,
                              .contact = sometimes(luck, 2, lottery_scale(luck, 1e-5, 1e-3)),
                              .on = lottery_below(luck, 2) ? 0 : HL_FIELD_ANY};
    bool even = lottery_below(luck, 2);
    double k = lottery_scale(luck, 0.3, 100);
    for (int axis = 0; axis < 3; axis++) block->conductivity[axis] = even ? k : lottery_scale(luck, 0.2, 50);
    if (which > 0 && lottery_below(luck, 5) == 0) memset(block->conductivity, 0, sizeof block->conductivity);
    block->low[0] = low + lottery_between(luck, 0, 0.2) * pitch;
    block->high[0] = low + lottery_between(luck, 0.5, 1) * pitch;
    block->low[1] = lottery_between(luck, 0.005, 0.015);
    block->high[1] = block->low[1] + lottery_between(luck, 0.003, d->box.size[1] - 0.023);
    block->low[2] = d->boards[0].high[2] + sometimes(luck, 4, 0.1 * above);
    block->high[2] = block->low[2] + lottery_between(luck, 0.1, 0.75) * above;
    if (lottery_below(luck, 5) == 0) block->low[2] = 0.0035, block->high[2] = d->boards[0].low[2];
}

static void draw_box(drawn *d, lottery *luck)
{
    memset(d, 0, sizeof *d);
    d->box =
        (hl_field_box){.size = {lottery_scale(luck, 0.03, 0.13), lottery_scale(luck, 0.03, 0.1),
                                lottery_scale(luck, 0.02, 0.06)},
                       .shell = sometimes(luck, 1 + lottery_below(luck, 2), 0.002),
                       .shell_conductivity = lottery_scale(luck, 0.15, 4),
                       .shell_density_heat = 1.4e6,
                       .shell_emissivity = lottery_between(luck, 0.1, 0.95),
                       .fill_conductivity = 0.027,
                       .fill_density_heat = 1200,
                       .potted = lottery_below(luck, 5) == 0,
                       .still = lottery_below(luck, 3) == 0,
                       .n_boards = 1 + lottery_below(luck, BOARDS),
                       .n_blocks = 1 + lottery_below(luck, BLOCKS),
                       .boards = d->boards,
                       .blocks = d->blocks,
                       .spreaders = &d->spreader,
                       .films = &d->film,
                       .surroundings = {lottery_between(luck, 270, 320), lottery_between(luck, 6e4, 1.02e5)},
                       .fineness = lottery_between(luck, 0.17, 0.3)};
    if (d->box.potted) d->box.fill_conductivity = lottery_scale(luck, 0.2, 2), d->box.fill_density_heat = 2e6;
    draw_sides(d, luck);
    for (int b = 0; b < BOARDS; b++) draw_board(d, luck, b);
    for (size_t k = 0; k < d->box.n_blocks; k++) draw_block(d, luck, (int)k);
    d->spreader = (hl_field_block){.name = "plate",
                                   .low = {0.004, 0.004, 0.0022},
                                   .high = {d->box.size[0] - 0.005, d->box.size[1] - 0.006, 0.0032},
                                   .conductivity = {150, 150, 150},
                                   .density_heat = 2.4e6,
                                   .emissivity = lottery_between(luck, 0.05, 0.9),
                                   .on = HL_FIELD_ANY};
    d->box.n_spreaders = lottery_below(luck, 3) == 0;
    d->film = (hl_field_film){(int)d->box.n_blocks - 1, (int)d->box.n_blocks, 2, 2e-4};
    d->box.n_films = lottery_below(luck, 2);
}

static void heat(void *context, double time, const double mean[], double power[], double slope[])
{
    const drawn *d = context;
    size_t bodies = d->box.n_blocks + d->box.n_spreaders + d->box.n_boards;
    (void)mean;
    for (size_t i = 0; i < bodies; i++) {
        power[i] = i < d->box.n_blocks ? d->blocks[i].heat * (1 + 0.5 * sin(time / 30)) : 0;
        slope[i] = 0;
    }
}

static void say_course(figure_sheet *sheet, const hl_field *field, drawn *d)
{
    static const double until[] = {0.3, 25, 3000};
    hl_field_warming *run = hl_field_warming_create(field);
    double mean[BODIES], room = d->box.surroundings.temperature;
    hl_field_spot hottest[BODIES];
    hl_field_face faces[HL_FACES];
    ck_assert_ptr_nonnull(run);
    ck_assert_int_eq(hl_field_warm_even(run, &d->box.surroundings, room + 3), HL_OK);
    for (size_t k = 0; k < sizeof until / sizeof *until; k++) {
        ck_assert_int_eq(hl_field_warm(run, heat, d, until[k]), HL_OK);
        hl_field_warm_read(run, mean, hottest, faces);
        for (size_t i = 0; i < hl_field_bodies(field); i++) {
            figure_sheet_put_of(sheet, "course", mean[i] - room, 10 * in_time);
            figure_sheet_put_of(sheet, "course", hottest[i].temperature - room, 10 * in_time);
        }
        for (int f = 0; f < HL_FACES; f++)
            figure_sheet_put_of(sheet, "course_faces", faces[f].hottest.temperature - room, 10 * in_time);
    }
    hl_field_warming_destroy(run);
}

static void say_steady(figure_sheet *sheet, const hl_field *field, const drawn *d)
{
    double power[BODIES] = {0}, slope[BODIES] = {0}, at[BODIES], mean[BODIES], total = 0, most = 0;
    double share[BODIES * HL_FACES];
    size_t bodies = hl_field_bodies(field), leader = 0;
    hl_field_spot hottest[BODIES];
    hl_field_face faces[HL_FACES];
    hl_surroundings room = d->box.surroundings;
    hl_field_work *work = hl_field_work_create(field);
    ck_assert_ptr_nonnull(work);
    room.temperature += 7;
    for (size_t i = 0; i < bodies; i++) {
        power[i] = i < d->box.n_blocks ? 1.2 * d->blocks[i].heat : 0.05;
        slope[i] = 0.002 * power[i];
        at[i] = room.temperature;
        total += power[i];
    }
    hl_status status = hl_field_solve(work, &room, power, slope, at, mean);
    figure_sheet_put(sheet, "status", 1 + (double)status);
    if (status != HL_OK) {
        hl_field_work_destroy(work);
        return;
    }
    hl_field_spots(work, hottest, faces);
    for (size_t i = 0; i < bodies; i++) most = fmax(most, mean[i] - room.temperature);
    for (size_t i = 0; i < bodies; i++) {
        figure_sheet_put_of(sheet, "means", mean[i] - room.temperature, most);
        figure_sheet_put_of(sheet, "hottest", hottest[i].temperature - room.temperature, most);
    }
    for (int f = 0; f < HL_FACES; f++) {
        figure_sheet_put_of(sheet, "faces", faces[f].mean - room.temperature, most);
        figure_sheet_put_of(sheet, "face_spots", faces[f].hottest.temperature - room.temperature, most);
        figure_sheet_put_of(sheet, "face_heat", faces[f].heat, total);
    }
    figure_sheet_put(sheet, "gain", hl_field_gain(work, slope, NULL, &leader));
    figure_sheet_put(sheet, "leader", (double)leader);
    ck_assert(hl_field_shares(work, share));
    for (size_t k = 0; k < HL_FACES; k++) figure_sheet_put_of(sheet, "shares", share[k], 0.1);
    hl_field_work_destroy(work);
}

static void fields(void *context, figure_hair *hair, figure_sheet *sheet)
{
    size_t number = *(size_t *)context;
    lottery luck = {.state = figure_seed("drawn field", number)};
    for (int round = 0; round < BOXES; round++) {
        drawn d;
        hl_field_facts facts;
        hl_diagnostics *said = hl_diagnostics_create();
        draw_box(&d, &luck);
        d.box.warm = round == 0;
        d.box.fill_conductivity = figure_hair_beside(hair, d.box.fill_conductivity);
        d.box.shell_conductivity = figure_hair_beside(hair, d.box.shell_conductivity);
        d.boards[0].conductivity_in = figure_hair_beside(hair, d.boards[0].conductivity_in);
        for (size_t k = 0; k < d.box.n_blocks; k++)
            d.blocks[k].heat = figure_hair_beside(hair, d.blocks[k].heat);
        hl_field *field = hl_field_create(&d.box, said);
        figure_sheet_put(sheet, "made", 1 + (double)(field != NULL));
        hl_diagnostics_destroy(said);
        if (!field) continue;
        hl_field_facts_of(field, &facts);
        figure_sheet_put(sheet, "cells", (double)facts.cells);
        figure_sheet_put(sheet, "ports", (double)facts.ports);
        figure_sheet_put(sheet, "patches", (double)facts.patches);
        figure_sheet_put_of(sheet, "coarse_change", facts.coarse_change, 10);
        say_steady(sheet, field, &d);
        if (d.box.warm) say_course(sheet, field, &d);
        hl_field_destroy(field);
    }
}

START_TEST(drawn_fields_keep_their_figures)
{
    kept_figures_numbered("drawn_fields", "condensed heat fields of drawn boxes", "fields", LINES, fields);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, drawn_fields_keep_their_figures);
}

int main(void)
{
    return story_main("drawn field figures", fill);
}
