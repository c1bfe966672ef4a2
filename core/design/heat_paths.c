/* heat_paths.c - from places and sizes to one thermal network; what is stated by hand: hand_links.c. */
#include "design/heat_paths.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "design/crowding.h"
#include "design/field_heat.h"
#include "design/hand_links.h"
#include "diagnostic/joined.h"
#include "heatledger/quantity.h"
#include "thermal/enclosure.h"
#include "thermal/network.h"

typedef struct paths {
    const hl_draft *draft;
    hl_design *design;
    hl_diagnostics *diagnostics;
    bool bad, starved;
} paths;

#define WRONG(paths_, place_, ...)                                                                           \
    do {                                                                                                     \
        hl_diagnostics_add((paths_)->diagnostics, HL_ERROR, (place_), __VA_ARGS__);                          \
        (paths_)->bad = true;                                                                                \
    } while (0)

static int find_item(const hl_design *design, const char *name)
{
    for (size_t i = 0; i < design->n_items; i++)
        if (!strcmp(design->items[i].shown.name, name)) return (int)i;
    return -1;
}

static const draft_position *position_of(const hl_draft *draft, const char *item)
{
    for (size_t i = 0; i < draft->positions.n; i++) {
        const draft_position *position = LIST_AT(draft->positions, draft_position, i);
        if (!strcmp(position->item, item)) return position;
    }
    return NULL;
}

static int find_board(const hl_draft *draft, const char *name)
{
    for (size_t i = 0; i < draft->boards.n; i++)
        if (!strcmp(LIST_AT(draft->boards, draft_board, i)->board.name, name)) return (int)i;
    return -1;
}

void heat_paths_unknown(const hl_design *design, const hl_place *place, const char *name,
                        hl_diagnostics *diagnostics)
{
    const char **words = calloc(design->n_items + 1, sizeof *words);
    const char *near = NULL;
    if (words) {
        for (size_t i = 0; i < design->n_items; i++) words[i] = design->items[i].shown.name;
        near = hl_nearest_word(name, words);
    }
    if (near)
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "no part is called '%s'; did you mean '%s'?", name,
                           near);
    else
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "no part is called '%s'; parts are named stage.slot",
                           name);
    free(words);
}

static void check_positions(paths *p)
{
    for (size_t i = 0; i < p->draft->positions.n; i++) {
        const draft_position *position = LIST_AT(p->draft->positions, draft_position, i);
        if (find_item(p->design, position->item) < 0) {
            heat_paths_unknown(p->design, &position->place, position->item, p->diagnostics);
            p->bad = true;
        }
        const char *board = position->position.board;
        if (board && find_board(p->draft, board) < 0)
            WRONG(p, &position->place,
                  "'%s' sits on board '%s', which is not described; describe it with board", position->item,
                  board);
    }
}

/* Middle of the upper side of the first board, or of the box: where a part goes that has no place. */
static void default_centre(const hl_draft *draft, double centre[3])
{
    for (int k = 0; k < 3; k++) {
        centre[k] = 0.5 * draft->box.size[k];
        if (draft->boards.n) {
            const hl_board *board = &LIST_AT(draft->boards, draft_board, 0)->board;
            centre[k] = 0.5 * (board->low[k] + board->high[k]);
        }
    }
}

static void size_of(const design_item *item, const double given[3], double size[3])
{
    static const double unknown[3] = {5e-3, 5e-3, 2e-3};
    const hl_value *own = &item->commons[HL_COMMON_SIZE];
    bool stated = given && given[0] > 0 && given[1] > 0 && given[2] > 0;
    for (int k = 0; k < 3; k++) {
        if (stated)
            size[k] = given[k];
        else if (own->given && own->curve.n == 3)
            size[k] = own->curve.y[k];
        else
            size[k] = unknown[k];
    }
}

static double common(const design_item *item, enum hl_common which)
{
    return item->commons[which].given ? item->commons[which].number : 0.0;
}

static hl_body body_of(paths *p, const design_item *item, bool *placed)
{
    const hl_draft *draft = p->draft;
    const draft_position *found = position_of(draft, item->shown.name);
    const hl_position *position = found ? &found->position : NULL;
    double centre[3], size[3];
    *placed = found != NULL;
    if (position)
        memcpy(centre, position->centre, sizeof centre);
    else
        default_centre(draft, centre);
    size_of(item, position ? position->size : NULL, size);
    double n = item->shown.count;
    hl_body body = {.name = item->shown.name, .pad_face = HL_FACES, .board = draft->boards.n ? 0 : -1};
    for (int k = 0; k < 3; k++) {
        body.low[k] = centre[k] - 0.5 * size[k];
        body.high[k] = centre[k] + 0.5 * size[k];
    }
    body.conductivity = common(item, HL_COMMON_CONDUCTIVITY);
    body.emissivity = common(item, HL_COMMON_EMISSIVITY);
    body.capacity = n * common(item, HL_COMMON_HEAT_CAPACITY);
    body.case_resistance = common(item, HL_COMMON_RESISTANCE_CASE) / n;
    body.board_resistance = common(item, HL_COMMON_RESISTANCE_BOARD) / n;
    if (position) {
        body.board = position->board ? find_board(draft, position->board) : -1;
        body.pad_face = position->pad_face;
        body.pad_resistance = position->pad_resistance / n;
        if (position->board_resistance > 0) body.board_resistance = position->board_resistance / n;
    }
    return body;
}

/* ----------------------------------------------- core and windings, can and element -- */

/* J/(m^3 K) of metal, ferrite and epoxy together: common practice, as for whole bodies. */
static const double usual_body_heat = 2.0e6;

static bool is_split(const design_item *item)
{
    hl_family family = item->set.model->device->family;
    return item->commons[HL_COMMON_RESISTANCE_INSIDE].given &&
           (family == HL_FAMILY_MAGNETIC || family == HL_FAMILY_CAPACITOR);
}

/* The name of the node outside: it lives as long as the design. */
static const char *outer_name(paths *p, const design_item *item)
{
    bool wound = item->set.model->device->family == HL_FAMILY_MAGNETIC;
    size_t size = strlen(item->shown.name) + 6;
    char *name = arena_take(p->design->memory, size);
    if (name)
        snprintf(name, size, "%s %s", item->shown.name, wound ? "core" : "can");
    else
        p->starved = true;
    return name;
}

/* A body that is split is the core or can alone, with half of the heat capacity (common practice, no source);
 * what the part states from hot spot to surface lies between its two nodes then. */
static void make_outer(paths *p, const design_item *item, hl_body *body)
{
    if (body->capacity == 0) {
        double volume = usual_body_heat * item->shown.count;
        for (int k = 0; k < 3; k++) volume *= body->high[k] - body->low[k];
        body->capacity = volume;
    }
    body->name = outer_name(p, item);
    body->capacity *= 0.5;
    body->case_resistance = body->board_resistance = 0;
}

/* The hot spot of a split item: a node of its own name, tied to the one outside. */
static void add_hot_spot(paths *p, design_item *item, int outer, double capacity)
{
    int node = hl_network_add_node(p->design->network, item->shown.name, capacity);
    double conductance = item->shown.count / common(item, HL_COMMON_RESISTANCE_INSIDE);
    hl_link link = {node, outer, HL_LAW_FIXED, 0, {conductance, 0, 0, 0}};
    if (node < 0 || hl_network_add_link(p->design->network, &link) < 0) p->starved = true;
    item->outer = outer;
    item->shown.node = node;
}

/* mm that a body or board sticks out of the box at its worst corner, and at which side; 0: it is inside, with
 * 1 um for rounding, or no number, which the networks refuse. */
static double sticks_out(const hl_box *box, const double low[3], const double high[3], const char **side)
{
    double most = 0;
    for (int k = 0; k < 3; k++) {
        double out[2] = {-low[k], high[k] - box->size[k]};
        for (int end = 0; end < 2; end++)
            if (out[end] > 1e-6 && out[end] > most) {
                most = out[end];
                *side = hl_face_name((hl_face)(2 * k + end));
            }
    }
    return 1e3 * most;
}

static void check_inside(paths *p, const hl_place *place, const char *kind, const char *name,
                         const double low[3], const double high[3], const char *remedy)
{
    const double *box = p->draft->box.size;
    const char *side = "";
    double out = sticks_out(&p->draft->box, low, high, &side);
    if (out > 0)
        WRONG(p, place,
              "%s '%s' reaches %.3g mm out of the box at %s; outside the box is %.4g x %.4g x %.4g mm: %s",
              kind, name, out, side, 1e3 * box[0], 1e3 * box[1], 1e3 * box[2], remedy);
}

static void check_boards(paths *p)
{
    for (size_t i = 0; i < p->draft->boards.n; i++) {
        const draft_board *board = LIST_AT(p->draft->boards, draft_board, i);
        check_inside(p, &board->place, "board", board->board.name, board->board.low, board->board.high,
                     "move it or enlarge the box");
        if (!p->bad && !enclosure_board_is_sane(&p->draft->box, &board->board, &board->place, p->diagnostics))
            p->bad = true;
    }
}

/* Every part of the box, as either kind of network takes it. */
static void place_parts(paths *p, placed_part parts[])
{
    hl_design *design = p->design;
    char unplaced[300] = "";
    for (size_t i = 0; i < design->n_items; i++) {
        parts[i].body = body_of(p, &design->items[i], &parts[i].placed);
        parts[i].name = design->items[i].shown.name;
        parts[i].split = is_split(&design->items[i]);
        if (parts[i].split) {
            make_outer(p, &design->items[i], &parts[i].body);
            parts[i].inside =
                common(&design->items[i], HL_COMMON_RESISTANCE_INSIDE) / design->items[i].shown.count;
        }
        parts[i].place =
            parts[i].placed ? &position_of(p->draft, parts[i].name)->place : &p->draft->box_place;
        check_inside(p, parts[i].place, "part", parts[i].name, parts[i].body.low, parts[i].body.high,
                     "move it or check its size");
        if (!p->bad && !enclosure_body_is_sane(&p->draft->box, p->draft->boards.n, &parts[i].body,
                                               parts[i].place, p->diagnostics))
            p->bad = true;
        if (!parts[i].placed) join_word(unplaced, sizeof unplaced, ", ", parts[i].name);
    }
    if (*unplaced)
        hl_diagnostics_add(p->diagnostics, HL_WARNING, &p->draft->box_place,
                           "no place is given for %s; taken at the middle of the board", unplaced);
}

/* The wall a flat spreader lies on, HL_FACES: none.  A line of glue between them is no gap. */
static int lined_face(const hl_box *box, const hl_spreader *spreader)
{
    static const double glue = 0.2e-3; /* m */
    int axis = thinnest_axis(spreader->low, spreader->high);
    if (fabs(spreader->low[axis] - box->wall) <= glue) return 2 * axis;
    return fabs(box->size[axis] - box->wall - spreader->high[axis]) <= glue ? 2 * axis + 1 : HL_FACES;
}

/* What a spreader would make of that wall, W/K. */
static hl_lining lining_of(const hl_spreader *spreader, int face)
{
    hl_lining lining = {.sheet =
                            spreader->conductivity * (spreader->high[face / 2] - spreader->low[face / 2])};
    memcpy(lining.low, spreader->low, sizeof lining.low);
    memcpy(lining.high, spreader->high, sizeof lining.high);
    return lining;
}

static double lining_spreads(const hl_lining *lining, int face)
{
    return lining->sheet * plane_area(lining->low, lining->high, face / 2);
}

static void tell_left_out(const paths *p, const char *const lining[HL_FACES])
{
    const hl_draft *draft = p->draft;
    char names[300] = "";
    for (size_t i = 0; i < draft->spreaders.n; i++) {
        const char *name = LIST_AT(draft->spreaders, draft_spreader, i)->spreader.name;
        bool counts = false;
        for (int face = 0; face < HL_FACES; face++) counts |= lining[face] == name;
        if (!counts) join_word(names, sizeof names, ", ", name);
    }
    if (*names)
        hl_diagnostics_add(p->diagnostics, HL_WARNING, &LIST_AT(draft->spreaders, draft_spreader, 0)->place,
                           "the network by rule counts spreaders only where they lie on a wall and leaves "
                           "others out (%s): their parts are told too hot or their faces too even; --network "
                           "field counts them, docs/heat-paths.md tells more",
                           names);
}

/* By rule a spreader on a wall lines it, of several the one that spreads most; no heat goes through others.
 */
static void line_walls(const paths *p, hl_box *box)
{
    const hl_draft *draft = p->draft;
    const char *lining[HL_FACES] = {NULL};
    for (size_t i = 0; i < draft->spreaders.n; i++) {
        const hl_spreader *spreader = &LIST_AT(draft->spreaders, draft_spreader, i)->spreader;
        int face = lined_face(box, spreader);
        if (face == HL_FACES) continue;
        hl_lining made = lining_of(spreader, face);
        if (lining_spreads(&made, face) <= lining_spreads(&box->lining[face], face)) continue;
        box->lining[face] = made;
        lining[face] = spreader->name;
    }
    tell_left_out(p, lining);
}

/* What belongs to no part warms the first board evenly; without one, the air. */
static void warm_board(const hl_design *design, design_stage *stage)
{
    bool cut = design->n_ruled_boards > 0 && design->first_piece[0] >= 0;
    stage->node = cut ? design->first_piece[0] : design->first_board_node;
    stage->n_nodes = cut ? BOARD_PIECES : 1;
}

static void build_by_rule(paths *p, const placed_part parts[])
{
    hl_design *design = p->design;
    const hl_draft *draft = p->draft;
    hl_body *bodies = calloc(design->n_items + 1, sizeof *bodies);
    hl_board *boards = calloc(draft->boards.n + 1, sizeof *boards);
    hl_box box = draft->box;
    design->first_piece = arena_array(design->memory, draft->boards.n + 1, sizeof(int));
    if (!bodies || !boards || !design->first_piece) {
        p->starved = true;
        goto done;
    }
    design->first_board_node = (int)design->n_items;
    design->n_ruled_boards = draft->boards.n;
    line_walls(p, &box);
    for (size_t i = 0; i < draft->boards.n; i++) {
        boards[i] = LIST_AT(draft->boards, draft_board, i)->board;
        design->first_piece[i] = -1; /* one node, until a part is placed there */
    }
    for (size_t i = 0; i < design->n_items; i++) {
        bodies[i] = parts[i].body;
        design->items[i].shown.node = (int)i;
        if (parts[i].placed && bodies[i].board >= 0) design->first_piece[bodies[i].board] = 0;
    }
    if (enclosure_build(design->network, &box, draft->boards.n, boards, design->n_items, bodies,
                        design->first_piece, p->diagnostics) != HL_OK)
        p->bad = true;
    for (size_t i = 0; i < design->n_items && !p->bad; i++)
        if (parts[i].split) add_hot_spot(p, &design->items[i], (int)i, bodies[i].capacity);
    for (size_t i = 0; i < design->n_stages; i++) warm_board(design, &design->stages[i]);
done:
    free(bodies);
    free(boards);
}

static void build_box(paths *p)
{
    placed_part *parts = calloc(p->design->n_items + 1, sizeof *parts);
    if (!parts) {
        p->starved = true;
        return;
    }
    p->bad = !enclosure_box_is_sane(&p->draft->box, &p->draft->box_place, p->diagnostics);
    if (p->bad) { /* nothing can be judged in a box that is none */
        free(parts);
        return;
    }
    check_boards(p);
    place_parts(p, parts);
    if (!p->bad && !p->starved) p->bad = crowding_tell(p->draft, p->design->n_items, parts, p->diagnostics);
    if (p->bad) { /* told with its place; the networks would only repeat it without */
        free(parts);
        return;
    }
    if (!p->starved && p->draft->box.by_field) {
        hl_status status = field_heat_build(p->draft, p->design, parts, p->diagnostics);
        p->starved = status == HL_NO_MEMORY;
        p->bad = p->bad || status == HL_BAD_INPUT;
    } else if (!p->starved) {
        build_by_rule(p, parts);
    }
    free(parts);
}

static void build_bare(paths *p)
{
    hl_design *design = p->design;
    for (size_t i = 0; i < design->n_items; i++) {
        design_item *item = &design->items[i];
        double capacity = item->shown.count * common(item, HL_COMMON_HEAT_CAPACITY);
        bool split = is_split(item);
        const char *name = split ? outer_name(p, item) : item->shown.name;
        int node = hl_network_add_node(design->network, name, split ? 0.5 * capacity : capacity);
        item->shown.node = node;
        if (node < 0)
            p->starved = true;
        else if (split)
            add_hot_spot(p, item, node, 0.5 * capacity);
    }
}

hl_status heat_paths_build(const hl_draft *draft, hl_design *design, hl_diagnostics *diagnostics)
{
    paths p = {draft, design, diagnostics, false, false};
    for (size_t i = 0; i < design->n_items; i++) design->items[i].outer = -1;
    design->n_ruled_boards = 0;
    check_positions(&p);
    if (!draft->has_box && (draft->positions.n || draft->boards.n || draft->spreaders.n))
        WRONG(&p, NULL, "boards or places are given but no enclosure; describe the box first");
    if (p.bad) return HL_BAD_INPUT;
    if (!draft->has_box && !draft->links.n) return HL_OK;
    design->network = hl_network_create();
    if (!design->network)
        p.starved = true;
    else if (draft->has_box)
        build_box(&p);
    else
        build_bare(&p);
    if (!p.bad && !p.starved) {
        hl_status status = hand_links_add(draft, design, diagnostics);
        p.starved = status == HL_NO_MEMORY;
        p.bad = status != HL_OK;
    }
    if (p.starved) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
        return HL_NO_MEMORY;
    }
    if (!p.bad && !design->field && hl_network_check(design->network, diagnostics) != HL_OK) p.bad = true;
    return p.bad ? HL_BAD_INPUT : HL_OK;
}
