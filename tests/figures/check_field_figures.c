/* check_field_figures.c - condensed fields, steady and in time, give the figures of before.
 *
 * Temperatures may move by 1e-9 of the greatest rise, as fields are solved until 1e-11 of the heat is left
 * open; in time, where each step keeps to a tolerance and which steps are taken may turn on a hair, by 1e-6
 * of it. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/field.h"
#include "kept_figures.h"
#include "story.h"

enum { BLOCKS = 3, MORE_BLOCKS = 9, BODIES = 12 };

static const double in_time = 1e3; /* how much wider than what 1e-9 is of */

typedef struct small_box {
    hl_field_box box;
    hl_field_board boards[2];
    hl_field_zone zones[2];
    hl_field_block blocks[MORE_BLOCKS], spreader;
    hl_field_film film;
} small_box;

/* One part on a board, in still air; what the variants change. */
static void lay_out(small_box *b)
{
    *b = (small_box){0};
    b->boards[0] = (hl_field_board){.name = "board",
                                    .low = {0.005, 0.005, 0.0063},
                                    .high = {0.043, 0.035, 0.0079},
                                    .normal = 2,
                                    .conductivity_in = 20,
                                    .conductivity_through = 0.3,
                                    .density_heat = 2e6,
                                    .emissivity = 0.9};
    for (int k = 0; k < BLOCKS; k++)
        b->blocks[k] = (hl_field_block){.name = "part",
                                        .low = {0.011 + 0.012 * k, 0.013, 0.0079},
                                        .high = {0.019 + 0.012 * k, 0.023 + 0.002 * k, 0.0121 + 0.001 * k},
                                        .conductivity = {3, 3 + k, 3},
                                        .density_heat = 3e6,
                                        .emissivity = 0.85,
                                        .heat = k ? 0.3 : 1.1,
                                        .contact = 1e-4,
                                        .on = 0};
    b->box = (hl_field_box){.size = {0.048, 0.04, 0.021},
                            .shell = 0.002,
                            .shell_conductivity = 0.2,
                            .shell_density_heat = 1.4e6,
                            .shell_emissivity = 0.9,
                            .fill_conductivity = 0.027,
                            .fill_density_heat = 1200,
                            .still = true,
                            .n_boards = 1,
                            .n_blocks = 1,
                            .boards = b->boards,
                            .blocks = b->blocks,
                            .spreaders = &b->spreader,
                            .films = &b->film,
                            .surroundings = {298.15, 101325},
                            .fineness = 0.45};
    for (int face = 0; face < HL_FACES; face++)
        b->box.sides[face] = (hl_field_side){HL_FIELD_NATURAL, HL_VERTICAL, 0.021, 0, 0.9, 0, 0, 0, 0};
    b->box.sides[HL_FACE_Z0].orientation = HL_FACING_DOWN;
    b->box.sides[HL_FACE_Z1].orientation = HL_FACING_UP;
    b->box.sides[HL_FACE_Z0].length = b->box.sides[HL_FACE_Z1].length = 0.011;
}

/* -------------------------------------------------------------- variants -- */

static void three_parts(small_box *b)
{
    b->box.n_blocks = BLOCKS;
    b->blocks[1].on = HL_FIELD_ANY;
    b->blocks[2].conductivity[0] = 12;
}

static void moving_air(small_box *b)
{
    three_parts(b);
    b->box.still = false;
    b->blocks[0].heat = 2.5;
}

static void potted(small_box *b)
{
    b->box.potted = true;
    b->box.fill_conductivity = 0.6;
    b->box.fill_density_heat = 2e6;
    b->box.n_blocks = 2;
}

static void with_spreader(small_box *b)
{
    b->spreader = (hl_field_block){.name = "plate",
                                   .low = {0.006, 0.006, 0.002},
                                   .high = {0.042, 0.034, 0.003},
                                   .conductivity = {200, 200, 200},
                                   .density_heat = 2.4e6,
                                   .emissivity = 0.2,
                                   .on = HL_FIELD_ANY};
    b->box.n_spreaders = 1;
    b->zones[0] = (hl_field_zone){{0.005, 0.005, 0.0063}, {0.025, 0.035, 0.0079}, 60, 0.9};
    b->boards[0].n_zones = 1;
    b->boards[0].zones = b->zones;
}

/* A thin layer of air between the part and a plate right above it. */
static void with_film(small_box *b)
{
    b->spreader = (hl_field_block){.name = "lid plate",
                                   .low = {0.009, 0.011, 0.0121},
                                   .high = {0.037, 0.029, 0.0133},
                                   .conductivity = {180, 180, 180},
                                   .density_heat = 2.4e6,
                                   .emissivity = 0.8,
                                   .on = HL_FIELD_ANY};
    b->box.n_spreaders = 1;
    b->film = (hl_field_film){0, 1, 2, 1.5e-4};
    b->box.n_films = 1;
}

/* On its end, on a table, one face against a wall, in a draught, high up. */
static void on_its_end(small_box *b)
{
    hl_field_side *sides = b->box.sides;
    sides[HL_FACE_Z0].orientation = sides[HL_FACE_Z1].orientation = HL_VERTICAL;
    sides[HL_FACE_Z0].length = sides[HL_FACE_Z1].length = 0.048;
    sides[HL_FACE_X0] = (hl_field_side){HL_FIELD_FIXED, HL_VERTICAL, 0, 8, 0.5, 0, 0, 0, 0};
    sides[HL_FACE_X1].orientation = HL_FACING_UP;
    sides[HL_FACE_Y0].law = HL_FIELD_ADIABATIC;
    sides[HL_FACE_Y1].air_speed = 0.6, sides[HL_FACE_Y1].along = 0.048;
    sides[HL_FACE_X1].air_speed = 0.3;
    b->box.surroundings = (hl_surroundings){291, 7.2e4};
    b->box.n_blocks = 2;
}

static void bare(small_box *b)
{
    b->box.shell = 0;
    b->box.potted = true;
    b->box.fill_conductivity = 0.9;
    b->box.fill_density_heat = 2e6;
    memset(b->blocks[0].conductivity, 0, sizeof b->blocks[0].conductivity);
}

static void two_boards(small_box *b)
{
    three_parts(b);
    b->box.n_boards = 2;
    b->boards[1] = (hl_field_board){.name = "upright",
                                    .low = {0.0441, 0.006, 0.0041},
                                    .high = {0.0452, 0.034, 0.018},
                                    .normal = 0,
                                    .conductivity_in = 9,
                                    .conductivity_through = 0.3,
                                    .density_heat = 2e6,
                                    .emissivity = 0.9,
                                    .heat = 0.1};
}

/* Many patches to a face, and air that turns over in layers high and low. */
static void wide(small_box *b)
{
    three_parts(b);
    b->box.still = false;
    b->box.size[0] = 0.085, b->box.size[1] = 0.063, b->box.size[2] = 0.046;
    b->box.sides[HL_FACE_Z0].length = b->box.sides[HL_FACE_Z1].length = 0.018;
    b->box.fineness = 0.3;
    for (int k = 0; k < BLOCKS; k++) b->blocks[k].heat *= 1.3;
}

/* The same upside down, on its side, and stood on one end. */
static void turned(small_box *b, hl_face up)
{
    wide(b);
    for (int face = 0; face < HL_FACES; face++) {
        hl_orientation looks = face == (int)up ? HL_FACING_UP : HL_FACING_DOWN;
        b->box.sides[face].orientation = face / 2 == (int)up / 2 ? looks : HL_VERTICAL;
        b->box.sides[face].length = face / 2 == (int)up / 2 ? 0.014 : b->box.size[(int)up / 2];
    }
}

static void upside_down(small_box *b)
{
    turned(b, HL_FACE_Z0);
}

static void on_its_side(small_box *b)
{
    turned(b, HL_FACE_Y1);
    b->box.surroundings = (hl_surroundings){310, 7e4};
}

static void on_one_end(small_box *b)
{
    turned(b, HL_FACE_X0);
    b->box.sides[HL_FACE_X0].emissivity = 0.1;
}

/* Zones that reach beyond their board, through it and along it; one has its own figure across alone. */
static void zones(small_box *b)
{
    b->box.n_blocks = 2;
    b->zones[0] = (hl_field_zone){{0, 0.008, 0.0063}, {0.02, 0.021, 0.0079}, 0, 4};
    b->zones[1] = (hl_field_zone){{0.018, 0.015, 0.005}, {0.06, 0.05, 0.007}, 90, 0};
    b->boards[0].n_zones = 2;
    b->boards[0].zones = b->zones;
    b->boards[0].conductivity_in = 40, b->boards[0].conductivity_through = 0.02;
}

/* Heat without a body of its own, along the length and in a corner of parts that conduct unevenly. */
static void thin(small_box *b)
{
    three_parts(b);
    hl_field_block *block = b->blocks;
    block[0].conductivity[0] = 0.4, block[0].conductivity[1] = 30, block[0].conductivity[2] = 2;
    block[0].high[2] = 0.0085;
    block[1] = block[0], block[1].name = "source";
    memset(block[1].conductivity, 0, sizeof block[1].conductivity);
    block[1].low[0] += 0.002, block[1].high[1] -= 0.004;
    block[0].heat = 0;
    block[2].conductivity[2] = 0.01;
}

/* Heat in the middle of a part, which is warmer there than on the whole. */
static void source_within(small_box *b)
{
    b->box.n_blocks = 2;
    b->blocks[1] = b->blocks[0];
    b->blocks[1].name = "source";
    memset(b->blocks[1].conductivity, 0, sizeof b->blocks[1].conductivity);
    for (int axis = 0; axis < 3; axis++) b->blocks[1].low[axis] += 1e-3, b->blocks[1].high[axis] -= 1e-3;
    b->blocks[0].heat = 0.2;
    b->box.fineness = 0.3;
}

/* Bright surfaces, some of which take no part in any exchange; a face that lets nothing out. */
static void bright(small_box *b)
{
    three_parts(b);
    b->box.shell_emissivity = 0.3;
    b->blocks[0].emissivity = 0;
    b->blocks[1].emissivity = 0.04;
    b->boards[0].emissivity = 0.1;
    b->box.sides[HL_FACE_X1].law = HL_FIELD_ADIABATIC;
    b->box.sides[HL_FACE_Y0].emissivity = 0;
}

/* More facing surfaces than groups are kept apart for, and their sizes far from one another. */
static void crowd(small_box *b)
{
    wide(b);
    b->box.n_blocks = MORE_BLOCKS;
    for (int k = 0; k < MORE_BLOCKS; k++) {
        double high = 0.004 + 0.012 * (k * 4 % 3);
        b->blocks[k] = b->blocks[0];
        b->blocks[k].heat = 0.1 * (k + 1);
        for (int axis = 0; axis < 2; axis++) { /* three by three, of two widths each way */
            int place = axis ? k / 3 : k % 3;
            b->blocks[k].low[axis] = 0.007 + 0.01 * place;
            b->blocks[k].high[axis] = b->blocks[k].low[axis] + (place == 1 ? 0.003 : 0.008);
        }
        b->blocks[k].high[2] = 0.0079 + high;
    }
}

/* Few planes far apart: cells grow to the longest. */
static void empty(small_box *b)
{
    for (int axis = 0; axis < 3; axis++) b->box.size[axis] = 0.26 - 0.06 * axis;
    b->boards[0].high[0] = 0.2, b->boards[0].high[1] = 0.16;
    b->box.fineness = 0.5;
    b->box.still = false;
    for (int face = 0; face < HL_FACES; face++) b->box.sides[face].length = 0.07;
}

/* The usual fineness, and as much more as a simple box affords. */
static void usual(small_box *b)
{
    b->box.n_boards = 0;
    b->blocks[0].heat = 0.5;
    b->blocks[0].on = HL_FIELD_ANY;
    b->box.fineness = 0;
}

typedef struct variant {
    const char *name;
    void (*change)(small_box *b);
    bool warm;
} variant;

static const variant variants[] = {
    {"plain", NULL, true},
    {"three_parts", three_parts, false},
    {"moving_air", moving_air, true},
    {"potted", potted, true},
    {"spreader", with_spreader, false},
    {"film", with_film, false},
    {"on_its_end", on_its_end, false},
    {"bare", bare, false},
    {"two_boards", two_boards, false},
    {"wide", wide, false},
    {"upside_down", upside_down, false},
    {"on_its_side", on_its_side, false},
    {"on_one_end", on_one_end, false},
    {"zones", zones, true},
    {"thin", thin, false},
    {"bright", bright, true},
    {"crowd", crowd, false},
    {"empty", empty, false},
    {"usual", usual, false},
    {"source_within", source_within, true},
};

static void made(small_box *b, const variant *v, figure_hair *hair)
{
    lay_out(b);
    if (v->change) v->change(b);
    b->box.warm = v->warm;
    b->box.fill_conductivity = figure_hair_beside(hair, b->box.fill_conductivity);
    b->box.shell_conductivity = figure_hair_beside(hair, b->box.shell_conductivity);
    b->boards[0].conductivity_in = figure_hair_beside(hair, b->boards[0].conductivity_in);
    b->blocks[0].contact = figure_hair_beside(hair, b->blocks[0].contact);
    for (size_t k = 0; k < b->box.n_blocks; k++)
        b->blocks[k].heat = figure_hair_beside(hair, b->blocks[k].heat);
}

/* --------------------------------------------------------------- figures -- */

typedef struct scales {
    double ambient, rise, heat; /* K, K, W */
} scales;

static void say_spots(figure_sheet *sheet, const char *prefix, const scales *s, size_t bodies,
                      const double mean[], const hl_field_spot hottest[], const hl_field_face faces[])
{
    char name[64];
    for (size_t i = 0; i < bodies; i++) {
        snprintf(name, sizeof name, "%s_bodies", prefix);
        figure_sheet_put_of(sheet, name, mean[i] - s->ambient, s->rise);
        figure_sheet_put_of(sheet, name, hottest[i].temperature - s->ambient, s->rise);
    }
    for (int f = 0; f < HL_FACES; f++) {
        snprintf(name, sizeof name, "%s_faces", prefix);
        figure_sheet_put_of(sheet, name, faces[f].mean - s->ambient, s->rise);
        figure_sheet_put_of(sheet, name, faces[f].hottest.temperature - s->ambient, s->rise);
        snprintf(name, sizeof name, "%s_face_heat", prefix);
        figure_sheet_put_of(sheet, name, faces[f].heat, s->heat);
        snprintf(name, sizeof name, "%s_hottest_places", prefix);
        for (int axis = 0; axis < 3; axis++)
            figure_sheet_put_of(sheet, name, faces[f].hottest.place[axis], 0.01);
    }
}

static void say_patches(figure_sheet *sheet, const hl_field *field, const hl_field_work *work,
                        const scales *s)
{
    for (size_t p = 0; p < hl_field_patches(field) && p < 60; p++) {
        hl_field_patch patch;
        hl_field_patch_of(work, p, &patch);
        figure_sheet_put_of(sheet, "patch_means", patch.mean - s->ambient, s->rise);
        figure_sheet_put_of(sheet, "patch_heat", patch.heat, s->heat);
        figure_sheet_put_of(sheet, "patch_corners", patch.low[p % 3] + patch.high[p % 3], 0.01);
    }
}

/* About the heat it was made for, far from it, and with heat that grows by the kelvin in another room. */
static void say_steady(figure_sheet *sheet, const hl_field *field, const small_box *b, int state)
{
    static const char *const prefix[] = {"nominal", "little", "growing"};
    static const double factor[] = {1, 0.2, 1.3}, growth[] = {0, 0, 0.004};
    hl_field_work *work = hl_field_work_create(field);
    size_t bodies = hl_field_bodies(field);
    double power[BODIES] = {0}, slope[BODIES] = {0}, at[BODIES], mean[BODIES], share[BODIES * HL_FACES], in,
           out;
    hl_field_spot hottest[BODIES];
    hl_field_face faces[HL_FACES];
    hl_surroundings room = b->box.surroundings;
    ck_assert(work && bodies <= BODIES);
    if (state == 2) room = (hl_surroundings){room.temperature + 15, 0.8 * room.pressure};
    scales s = {room.temperature, 0, 0};
    for (size_t i = 0; i < bodies; i++) at[i] = room.temperature + 20;
    for (size_t i = 0; i < b->box.n_blocks; i++) {
        power[i] = factor[state] * b->blocks[i].heat;
        slope[i] = growth[state] * power[i];
        s.heat += power[i];
    }
    hl_status status = hl_field_solve(work, &room, power, slope, at, mean);
    ck_assert_msg(status == HL_OK, "%s: %s", prefix[state], hl_status_text(status));
    for (size_t i = 0; i < bodies; i++) s.rise = fmax(s.rise, mean[i] - room.temperature);
    hl_field_spots(work, hottest, faces);
    say_spots(sheet, prefix[state], &s, bodies, mean, hottest, faces);
    hl_field_book(work, &in, &out);
    figure_sheet_put_of(sheet, "book", in, s.heat);
    figure_sheet_put_of(sheet, "book", out, s.heat);
    if (state == 2) {
        size_t leader = 99;
        figure_sheet_put(sheet, "gain", hl_field_gain(work, slope, NULL, &leader));
        figure_sheet_put(sheet, "leader", (double)leader);
        ck_assert(hl_field_shares(work, share));
        for (size_t k = 0; k < bodies * HL_FACES; k++) figure_sheet_put_of(sheet, "shares", share[k], 0.1);
        say_patches(sheet, field, work, &s);
    }
    hl_field_work_destroy(work);
}

/* Heat that grows so much that no state is left, or only hot ones; and rooms that are none. */
static void say_limits(figure_sheet *sheet, const hl_field *field, const small_box *b)
{
    static const double factor[] = {3, 9, 27, 60, 1}, growth[] = {0, 0.003, 0.01, 0.02, 0.1};
    static const hl_surroundings rooms[] = {{1950, 1e5}, {2100, 1e5}, {300, 0.97e8}, {300, 1.03e8}};
    hl_field_work *work = hl_field_work_create(field);
    size_t bodies = hl_field_bodies(field), leader;
    double power[BODIES] = {0}, slope[BODIES] = {0}, at[BODIES], mean[BODIES];
    ck_assert_ptr_nonnull(work);
    for (size_t i = 0; i < bodies; i++) at[i] = 300;
    for (int f = 0; f < 5; f++)
        for (int g = 0; g < 5; g++) {
            for (size_t i = 0; i < b->box.n_blocks; i++) {
                power[i] = factor[f] * b->blocks[i].heat;
                slope[i] = growth[g] * power[i];
            }
            hl_status status = hl_field_solve(work, &b->box.surroundings, power, slope, at, mean);
            figure_sheet_put(sheet, "limits", 1 + (double)status);
            if (status != HL_OK) continue;
            for (size_t i = 0; i < bodies; i++) figure_sheet_put_of(sheet, "limit_means", mean[i], 300);
            if (g > 0) figure_sheet_put(sheet, "limit_gains", hl_field_gain(work, slope, NULL, &leader));
        }
    for (int k = 0; k < 4; k++)
        figure_sheet_put(sheet, "limits",
                         1 + (double)hl_field_solve(work, &rooms[k], power, NULL, NULL, mean));
    hl_field_work_destroy(work);
}

typedef struct course {
    const small_box *box;
    size_t bodies;
} course;

static void heat(void *context, double time, const double mean[], double power[], double slope[])
{
    const course *c = context;
    memset(power, 0, c->bodies * sizeof *power);
    memset(slope, 0, c->bodies * sizeof *slope);
    for (size_t i = 0; i < c->box->box.n_blocks; i++) {
        double whole = c->box->blocks[i].heat * (time > 400 ? 0.5 : 1.2);
        power[i] = whole * (1 + 0.003 * (mean[i] - 300));
        slope[i] = 0.003 * whole;
    }
}

/* Never two moments alike; every third heat falls with temperature. */
static void swaying_heat(void *context, double time, const double mean[], double power[], double slope[])
{
    const course *c = context;
    memset(power, 0, c->bodies * sizeof *power);
    memset(slope, 0, c->bodies * sizeof *slope);
    for (size_t i = 0; i < c->box->box.n_blocks; i++) {
        double whole = c->box->blocks[i].heat * (1 + 0.6 * sin(time / (20 + 300 * (double)i)));
        double growth = i % 3 == 2 ? -0.002 : 0.006;
        power[i] = whole * (1 + growth * (mean[i] - 300));
        slope[i] = growth * whole;
    }
}

/* Faster than any box carries it off. */
static void wild_heat(void *context, double time, const double mean[], double power[], double slope[])
{
    const course *c = context;
    (void)time;
    for (size_t i = 0; i < c->bodies; i++) {
        power[i] = 0.3 * exp(0.02 * (mean[i] - 300));
        slope[i] = 0.02 * power[i];
    }
}

static void say_swaying(figure_sheet *sheet, const hl_field *field, const small_box *b)
{
    static const double until[] = {0.01, 0.6, 33, 500, 2e4, 1e6};
    hl_field_warming *run = hl_field_warming_create(field);
    course c = {b, hl_field_bodies(field)};
    hl_surroundings room = {b->box.surroundings.temperature - 9, 0.9 * b->box.surroundings.pressure};
    double mean[BODIES], energy[3];
    hl_field_spot hottest[BODIES];
    hl_field_face faces[HL_FACES];
    ck_assert_ptr_nonnull(run);
    ck_assert_int_eq(hl_field_warm_even(run, &room, room.temperature + 12), HL_OK);
    for (size_t k = 0; k < sizeof until / sizeof *until; k++) {
        ck_assert_int_eq(hl_field_warm(run, k == 5 ? heat : swaying_heat, &c, until[k]), HL_OK);
        hl_field_warm_read(run, mean, hottest, faces);
        for (size_t i = 0; i < c.bodies; i++) {
            figure_sheet_put_of(sheet, "swaying", mean[i] - room.temperature, 10 * in_time);
            figure_sheet_put_of(sheet, "swaying", hottest[i].temperature - room.temperature, 10 * in_time);
        }
        for (int f = 0; f < HL_FACES; f++)
            figure_sheet_put_of(sheet, "swaying_faces", faces[f].hottest.temperature - room.temperature,
                                10 * in_time);
        hl_field_warm_book(run, energy, NULL);
        for (int i = 0; i < 3; i++)
            figure_sheet_put_of(sheet, "swaying_energy", energy[i], in_time * (10 + energy[0]));
    }
    figure_sheet_put(sheet, "wild", 1 + (double)hl_field_warm(run, wild_heat, &c, 2e6));
    figure_sheet_put(sheet, "wild", 1 + (double)hl_field_warm(run, wild_heat, &c, 1));
    static const double starts[] = {1950, 2100};
    for (int k = 0; k < 2; k++) {
        hl_surroundings hot = {starts[k], 1e5};
        figure_sheet_put(sheet, "starts", 1 + (double)hl_field_warm_even(run, &room, starts[k]));
        figure_sheet_put(sheet, "starts", 1 + (double)hl_field_warm_even(run, &hot, 300));
    }
    hl_field_warming_destroy(run);
}

static void say_course(figure_sheet *sheet, const hl_field *field, const small_box *b)
{
    static const double until[] = {4, 60, 400, 1500};
    hl_field_warming *run = hl_field_warming_create(field);
    course c = {b, hl_field_bodies(field)};
    hl_surroundings room = b->box.surroundings;
    double power[BODIES] = {0}, mean[BODIES], energy[3];
    hl_field_spot hottest[BODIES];
    hl_field_face faces[HL_FACES];
    scales s = {room.temperature, 10 * in_time, in_time};
    size_t steps;
    ck_assert_ptr_nonnull(run);
    for (int from_steady = 0; from_steady < 2; from_steady++) {
        for (size_t i = 0; i < b->box.n_blocks; i++) power[i] = 0.4 * b->blocks[i].heat;
        hl_status begun = from_steady ? hl_field_warm_steady(run, &room, power, NULL, NULL)
                                      : hl_field_warm_even(run, &room, room.temperature - 4);
        ck_assert_int_eq(begun, HL_OK);
        for (size_t k = 0; k < sizeof until / sizeof *until; k++) {
            char prefix[32];
            snprintf(prefix, sizeof prefix, "%s_%g_s", from_steady ? "again" : "cold", until[k]);
            ck_assert_int_eq(hl_field_warm(run, heat, &c, until[k]), HL_OK);
            hl_field_warm_read(run, mean, hottest, faces);
            say_spots(sheet, prefix, &s, c.bodies, mean, hottest, faces);
        }
        hl_field_warm_book(run, energy, &steps);
        for (int k = 0; k < 3; k++) figure_sheet_put_of(sheet, "energy", energy[k], in_time * 100);
    }
    hl_field_warming_destroy(run);
}

static void field(void *context, figure_hair *hair, figure_sheet *sheet)
{
    const variant *v = context;
    small_box b;
    hl_field_facts facts;
    hl_diagnostics *said = hl_diagnostics_create();
    made(&b, v, hair);
    hl_field *made_field = hl_field_create(&b.box, said);
    ck_assert_msg(made_field != NULL, "%s: %s", v->name,
                  hl_diagnostics_count(said) ? hl_diagnostics_text(said, 0) : "no message");
    hl_diagnostics_destroy(said);
    hl_field_facts_of(made_field, &facts);
    figure_sheet_put(sheet, "cells", (double)facts.cells);
    figure_sheet_put(sheet, "ports", (double)facts.ports);
    figure_sheet_put(sheet, "patches", (double)facts.patches);
    figure_sheet_put(sheet, "pairs", (double)facts.pairs);
    figure_sheet_put_of(sheet, "coarse_change", facts.coarse_change, 10);
    for (int state = 0; state < 3; state++) say_steady(sheet, made_field, &b, state);
    say_limits(sheet, made_field, &b);
    if (v->warm) say_course(sheet, made_field, &b);
    if (v->warm) say_swaying(sheet, made_field, &b);
    hl_field_destroy(made_field);
}

START_TEST(fields_keep_their_figures)
{
    kept_figures *book = kept_figures_open("fields", "condensed heat fields of small boxes");
    for (size_t k = 0; k < sizeof variants / sizeof *variants; k++)
        kept_figures_line(book, variants[k].name, field, (void *)&variants[k]);
    kept_figures_close(book);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, fields_keep_their_figures);
}

int main(void)
{
    return story_main("field figures", fill);
}
