/* check_field_lattice.c - random boxes as designs, whose parts' edges go onto a lattice, against the field
 * with every edge where it is stated. */
#include <jansson.h>
#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <string.h>

#include "command_json.h"
#include "heatledger/field.h"
#include "lottery.h"
#include "scratch_folder.h"
#include "story.h"

enum { ALONG = 3, ACROSS = 2, PARTS = ALONG * ACROSS, TEXT = 6000 };

static const double current = 2; /* A through every part */

/* One random box, as the field takes it; the text that states it as a design follows from that. */
typedef struct drawn_box {
    hl_field_box box;
    hl_field_board board;
    hl_field_block blocks[PARTS + 1], foil; /* the last one is a pad */
    char name[PARTS][16];
    bool below[PARTS];
    int padded; /* -1: none */
    double pad_resistance;
} drawn_box;

static double rounded(double metres)
{
    return 1e-5 * round(1e5 * metres); /* a hundredth of a millimetre, as the text states it */
}

static double area_of(const hl_field_block *b)
{
    return (b->high[0] - b->low[0]) * (b->high[1] - b->low[1]);
}

/* A part in its own field of the board: 0.2 to some mm from its neighbours, one in three near lid or floor.
 */
static void draw_part(lottery *luck, drawn_box *d, int i)
{
    const hl_field_board *board = &d->board;
    hl_field_block *b = &d->blocks[i];
    const int at[2] = {i % ALONG, i / ALONG}, of[2] = {ALONG, ACROSS};
    bool below = d->below[i] = lottery_below(luck, 3) == 0;
    double foot = 1;
    for (int k = 0; k < 2; k++) {
        double field = (board->high[k] - board->low[k]) / of[k], low = board->low[k] + at[k] * field;
        double size = lottery_scale(luck, 0.15, 0.97) * field;
        double from = low + lottery_between(luck, 0.1e-3, field - size);
        b->low[k] = rounded(from);
        b->high[k] = rounded(from + size);
        foot = fmin(foot, size);
    }
    double wall = d->box.shell, room = below ? board->low[2] - wall : d->box.size[2] - wall - board->high[2];
    double gap = lottery_below(luck, 3) == 0 ? lottery_scale(luck, 0.1e-3, 1.5e-3)
                                             : room - fmin(lottery_scale(luck, 0.1, 0.9) * room, 2 * foot);
    if (below) gap = fmax(gap, 0.6e-3); /* the foil lies there */
    b->low[2] = below ? rounded(wall + gap) : board->high[2];
    b->high[2] = below ? board->low[2] : rounded(d->box.size[2] - wall - gap);
    snprintf(d->name[i], sizeof d->name[i], "s%d", i);
    b->name = d->name[i];
    b->emissivity = 0.9;
    b->density_heat = 2e6;
    for (int k = 0; k < 3; k++) b->conductivity[k] = i % 2 ? 2 : 12;
    b->heat = fmin(lottery_scale(luck, 0.02, 1.5), 8e3 * area_of(b));
    b->contact = lottery_between(luck, 1e-4, 5e-4);
}

static void add_pad(lottery *luck, drawn_box *d)
{
    d->padded = -1;
    for (int i = 0; i < PARTS && d->padded < 0; i++)
        if (d->below[i]) d->padded = i;
    if (d->padded < 0) return;
    const hl_field_block *part = &d->blocks[d->padded];
    hl_field_block *pad = &d->blocks[PARTS];
    *pad = *part;
    pad->heat = pad->contact = 0;
    pad->on = HL_FIELD_ANY;
    pad->name = "pad";
    pad->high[2] = part->low[2];
    bool on_foil = part->low[0] < d->foil.high[0] && part->low[1] < d->foil.high[1];
    pad->low[2] = on_foil ? d->foil.high[2] : d->box.shell;
    d->pad_resistance = lottery_between(luck, 2, 12);
    for (int k = 0; k < 3; k++)
        pad->conductivity[k] = (pad->high[2] - pad->low[2]) / (d->pad_resistance * area_of(pad));
    d->box.n_blocks++;
}

static void draw_box(lottery *luck, drawn_box *d)
{
    memset(d, 0, sizeof *d);
    hl_field_box *box = &d->box;
    const double wall = box->shell = 2e-3;
    const double least[] = {50e-3, 36e-3, 24e-3}, most[] = {110e-3, 70e-3, 40e-3};
    for (int k = 0; k < 3; k++) box->size[k] = rounded(lottery_between(luck, least[k], most[k]));
    box->shell_conductivity = 0.2;
    box->shell_density_heat = 1.44e6;
    box->shell_emissivity = 0.9;
    box->potted = lottery_below(luck, 4) == 0;
    box->fill_conductivity = box->potted ? 0.65 : 0.027;
    box->fill_density_heat = 1138;
    d->foil = (hl_field_block){.name = "foil",
                               .low = {3e-3, 3e-3, wall},
                               .high = {rounded(0.7 * box->size[0]), box->size[1] - 3e-3, wall + 0.3e-3},
                               .conductivity = {200, 200, 200},
                               .density_heat = 2.43e6,
                               .emissivity = 0.1,
                               .on = HL_FIELD_ANY};
    double floor = rounded(lottery_between(luck, 6e-3, 9e-3));
    d->board = (hl_field_board){.name = "main",
                                .low = {4e-3, 4e-3, floor},
                                .high = {box->size[0] - 4e-3, box->size[1] - 4e-3, floor + 1.6e-3},
                                .normal = 2,
                                .conductivity_in = 30,
                                .conductivity_through = 0.35,
                                .density_heat = 2.2e6,
                                .emissivity = 0.9};
    for (int i = 0; i < PARTS; i++) draw_part(luck, d, i);
    for (int face = 0; face < HL_FACES; face++)
        box->sides[face] = (hl_field_side){HL_FIELD_NATURAL, HL_VERTICAL, box->size[2], 0, 0.9, 0, 0, 0, 0};
    hl_field_side *down = &box->sides[HL_FACE_Z0], *up = &box->sides[HL_FACE_Z1];
    down->orientation = HL_FACING_DOWN;
    up->orientation = HL_FACING_UP;
    up->length = down->length = box->size[0] * box->size[1] / (2 * (box->size[0] + box->size[1]));
    box->boards = &d->board;
    box->blocks = d->blocks;
    box->spreaders = &d->foil;
    box->n_boards = box->n_spreaders = 1;
    box->n_blocks = PARTS;
    box->surroundings = (hl_surroundings){298.15, 101325};
    box->fineness = 1;
    add_pad(luck, d);
}

/* ------------------------------------------------------------- as a design -- */

static void add(char *text, const char *format, ...)
{
    va_list list;
    size_t used = strlen(text);
    va_start(list, format);
    ck_assert_int_lt(vsnprintf(text + used, TEXT - used, format, list), (int)(TEXT - used));
    va_end(list);
}

static void add_corners(char *text, const double low[3], const double high[3])
{
    add(text, "low = '%.9g x %.9g x %.9g mm', high = '%.9g x %.9g x %.9g mm'", 1e3 * low[0], 1e3 * low[1],
        1e3 * low[2], 1e3 * high[0], 1e3 * high[1], 1e3 * high[2]);
}

static void write_design(const drawn_box *d)
{
    char *script = calloc(1, TEXT), *parts = calloc(1, TEXT);
    const double *size = d->box.size;
    add(parts, "heatledger: parts/1\nparts:\n");
    add(script, "local hl = require 'heatledger'\nlocal part = hl.parts 'random.yaml'\n"
                "local box = hl.adapter 'random'\nbox:supply { voltage = '48 V' }\n");
    add(script, "box:box { size = '%.9g x %.9g x %.9g mm', wall = '2 mm', network = 'field', up = 'z1'%s }\n",
        1e3 * size[0], 1e3 * size[1], 1e3 * size[2], d->box.potted ? ", fill = 'silicone potting'" : "");
    add(script, "box:board 'main' { conductivity_in = '30 W/(m K)', conductivity_through = '0.35 W/(m K)', ");
    add_corners(script, d->board.low, d->board.high);
    add(script, " }\nbox:spreader 'foil' { ");
    add_corners(script, d->foil.low, d->foil.high);
    add(script, " }\n");
    for (int i = 0; i < PARTS; i++) {
        const hl_field_block *b = &d->blocks[i];
        /* what a part states begins at its mean: L / (3 k A) of an evenly heated block, then the contact */
        double inside = (b->high[2] - b->low[2]) / (3 * b->conductivity[2] * area_of(b));
        add(parts,
            "  s%d: { model: resistor, resistance: %.9g mohm, rated_power: 20 W, size: 1 x 1 x 1 mm,"
            " conductivity: %g W/(m K), resistance_board: %.9g K/W, resistance_case: %.9g K/W,"
            " maximum_temperature: 300 degC }\n",
            i, 1e3 * b->heat / (current * current), b->conductivity[0], inside + b->contact / area_of(b),
            inside);
        add(script, "box:stage 's%d' { model = 'output_switch', fed_by = '%s', sense_resistor = part.s%d }\n",
            i, i ? d->name[i - 1] : "source", i);
        add(script, "box:place 's%d.sense_resistor' { board = 'main', at = '%.9g x %.9g x %.9g mm', ", i,
            500 * (b->low[0] + b->high[0]), 500 * (b->low[1] + b->high[1]), 500 * (b->low[2] + b->high[2]));
        add(script, "size = '%.9g x %.9g x %.9g mm'", 1e3 * (b->high[0] - b->low[0]),
            1e3 * (b->high[1] - b->low[1]), 1e3 * (b->high[2] - b->low[2]));
        if (i == d->padded) add(script, ", pad = 'z0', pad_resistance = '%.9g K/W'", d->pad_resistance);
        add(script, " }\n");
    }
    add(script, "box:port 'port' { fed_by = 's%d', voltage = '48 V', current = '2 A' }\nreturn box\n",
        PARTS - 1);
    scratch_write("random.lua", script);
    scratch_write("random.yaml", parts);
    free(script);
    free(parts);
}

static json_t *solve_design(void)
{
    setenv("HEATLEDGER_CACHE", scratch_folder, 1);
    const char *arguments[] = {"solve", scratch_file("random.lua"), "--json", NULL};
    return command_json(arguments);
}

/* ----------------------------------------------------------------- compare -- */

static double number(const json_t *list, size_t at, const char *key)
{
    return json_number_value(json_object_get(json_array_get(list, at), key));
}

static void keep(double *most, double value)
{
    *most = fmax(*most, fabs(value));
}

/* Bars for a design's field: parts 5 K or 5 % of their rise, faces 1.5 K in the mean, 3 K at the hottest. The
 * exact one is made about the very heat that the parts have. */
static void compare(const drawn_box *d, const json_t *document, double worst[3])
{
    hl_diagnostics *said = hl_diagnostics_create();
    hl_field *field = hl_field_create(&d->box, said);
    ck_assert_msg(field != NULL, "%s", hl_diagnostics_text(said, 0));
    hl_diagnostics_destroy(said);
    hl_field_work *work = hl_field_work_create(field);
    double power[PARTS + 3] = {0}, mean[PARTS + 3];
    hl_field_face faces[HL_FACES];
    const json_t *parts = json_object_get(document, "parts"), *shell = json_object_get(document, "case");
    for (size_t i = 0; i < PARTS; i++) power[i] = number(parts, i, "loss_w");
    ck_assert_int_eq(hl_field_solve(work, &d->box.surroundings, power, NULL, NULL, mean), HL_OK);
    hl_field_spots(work, NULL, faces);
    for (size_t i = 0; i < PARTS; i++) {
        double off = number(parts, i, "temperature_c") + 273.15 - mean[i];
        double bar = fmax(5, 0.05 * (mean[i] - d->box.surroundings.temperature));
        ck_assert_msg(fabs(off) <= bar, "part %zu off by %.2f K of %.1f", i, off, bar);
        keep(&worst[0], off);
    }
    for (size_t f = 0; f < HL_FACES; f++) {
        double off = number(shell, f, "mean_c") + 273.15 - faces[f].mean;
        double spot = number(shell, f, "maximum_c") + 273.15 - faces[f].hottest.temperature;
        ck_assert_msg(fabs(off) <= 1.5 && fabs(spot) <= 3, "face %zu: mean off by %.2f K, hottest by %.2f", f,
                      off, spot);
        keep(&worst[1], off);
        keep(&worst[2], spot);
    }
    hl_field_work_destroy(work);
    hl_field_destroy(field);
}

START_TEST(random_designs_agree_with_their_exact_edges)
{
    lottery luck = lottery_open("random boxes");
    int boxes = lottery_count("HL_FIELD_BOXES", 1);
    double worst[3] = {0};
    for (int k = 0; k < boxes; k++) {
        drawn_box d;
        draw_box(&luck, &d);
        write_design(&d);
        json_t *document = solve_design();
        compare(&d, document, worst);
        json_decref(document);
    }
    printf("%d random boxes: parts %.2f K, face means %.2f K, hottest spots %.2f K\n", boxes, worst[0],
           worst[1], worst[2]);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, random_designs_agree_with_their_exact_edges);
}

int main(void)
{
    return story_main("field_lattice", fill);
}
