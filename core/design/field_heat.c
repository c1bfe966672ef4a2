/* field_heat.c - from the parts, boards and walls of a draft to a box whose heat field is solved. */
#include "design/field_heat.h"

#include "design/field_lattice.h"
#include "thermal/enclosure.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Solder and air under a leaded body, K m^2/W; common practice, no source: a tenth of a millimetre of air
 * over a part of the footprint. */
static const double usual_contact = 2e-4;
static const double usual_conductivity =
    3.0; /* W/(m K), moulded and wound bodies; common practice, no source */
static const double usual_body_heat = 2.0e6; /* J/(m^3 K), as for bodies of the network by rule */
static const double thinnest_pad = 1e-5;     /* m */
static const double usual_pad =
    3.0; /* W/(m K), a pad that states no resistance; common practice, no source */
static const double usual_air = 313; /* K, inside a box of which nothing is foreseen */

typedef struct field_draft {
    const hl_draft *draft;
    hl_design *design;
    const placed_part *parts;
    hl_body *bodies;         /* of the parts, settled on the lattice, the greatest first */
    size_t *item;            /* of each of them */
    const hl_place **places; /* where the script puts them */
    hl_field_block *blocks, *spreaders;
    hl_field_board *boards;
    lattice_film *settled_films;
    hl_field_film *films;
    size_t n_blocks, n_films;
} field_draft;

/* Footprint across an axis: on the board, under the pad. */
static double footprint(const hl_body *body, int normal)
{
    double area = 1;
    for (int k = 0; k < 3; k++)
        if (k != normal) area *= body->high[k] - body->low[k];
    return area;
}

static void add_boards(field_draft *f)
{
    for (size_t i = 0; i < f->draft->boards.n; i++) {
        const hl_board *from = &LIST_AT(f->draft->boards, draft_board, i)->board;
        hl_field_board *to = &f->boards[i];
        *to = (hl_field_board){.name = from->name,
                               .normal = board_normal(from),
                               .conductivity_in = from->conductivity_in,
                               .conductivity_through = from->conductivity_through,
                               .density_heat = from->density_heat,
                               .emissivity = 0.9}; /* solder mask; common practice, no source */
        memcpy(to->low, from->low, sizeof to->low);
        memcpy(to->high, from->high, sizeof to->high);
    }
}

/* ---------------------------------------------------------------- inside of a part -- */

/* What a part states begins at its hot spot, which is the mean of its block.  From the mean of a block heated
 * evenly to one of its sides, when all of the heat leaves there, is
 *   T'' = -q/k, T' = 0 at the far side:  mean T - T(side) = q L^2 / (3 k),  L / (3 k A) in K/W
 * (Carslaw & Jaeger 1959, section 3.14, steady part).  The block brings that share of the stated figure
 * itself and what is left of it is a contact.  When heat leaves by two sides at once, the share is less: at
 * most that much is missing. */
static double own_share(const hl_field_block *block, int axis)
{
    return (block->high[axis] - block->low[axis]) / (3 * block->conductivity[axis]);
}

static const double best_conductivity = 400; /* W/(m K), copper */

/* A block whose own share, K m^2/W, is more than what its part states conducts better than its material's
 * name says: a copper tab, a lead frame, a ceramic body. */
static void hold_share(hl_field_block *block, int axis, double stated)
{
    if (!(stated > 0)) return;
    double least = fmin((block->high[axis] - block->low[axis]) / (3 * stated), best_conductivity);
    for (int k = 0; k < 3; k++) block->conductivity[k] = fmax(block->conductivity[k], least);
}

/* The body of a part; its resistances to the board and to the side of its pad hold. */
static void add_part(field_draft *f, const hl_body *body)
{
    hl_field_block *block = &f->blocks[f->n_blocks++];
    double volume = 1;
    *block = (hl_field_block){.name = body->name, .contact = usual_contact, .on = body->board};
    for (int k = 0; k < 3; k++) {
        block->low[k] = body->low[k];
        block->high[k] = body->high[k];
        block->conductivity[k] = body->conductivity > 0 ? body->conductivity : usual_conductivity;
        volume *= body->high[k] - body->low[k];
    }
    block->density_heat = body->capacity > 0 && volume > 0 ? body->capacity / volume : usual_body_heat;
    block->emissivity = body->emissivity > 0 ? body->emissivity : 0.9;
    if (body->pad_face < HL_FACES) {
        int axis = (int)body->pad_face / 2;
        hold_share(block, axis, body->case_resistance * footprint(body, axis));
    }
    if (body->board < 0) {
        block->on = HL_FIELD_ANY;
    } else if (body->board_resistance > 0) {
        int normal = f->boards[body->board].normal;
        double stated = body->board_resistance * footprint(body, normal);
        hold_share(block, normal, stated);
        block->contact = fmax(stated - own_share(block, normal), 0);
    }
}

static void add_spreaders(field_draft *f)
{
    for (size_t i = 0; i < f->draft->spreaders.n; i++) {
        const hl_spreader *from = &LIST_AT(f->draft->spreaders, draft_spreader, i)->spreader;
        hl_field_block *to = &f->spreaders[i];
        *to = (hl_field_block){.name = from->name,
                               .conductivity = {from->conductivity, from->conductivity, from->conductivity},
                               .density_heat = from->density_heat,
                               .emissivity = from->emissivity,
                               .on = HL_FIELD_ANY};
        memcpy(to->low, from->low, sizeof to->low);
        memcpy(to->high, from->high, sizeof to->high);
    }
}

/* Where a pad ends: on the wall, or on a spreader between the part and the wall. */
static double pad_end(const field_draft *f, const hl_body *body, int axis, bool high)
{
    const hl_box *box = &f->draft->box;
    double end = high ? box->size[axis] - box->wall : box->wall;
    for (size_t i = 0; i < f->draft->spreaders.n; i++) {
        const hl_spreader *s = &LIST_AT(f->draft->spreaders, draft_spreader, i)->spreader;
        bool over = true;
        for (int k = 0; k < 3; k++)
            if (k != axis && !(s->low[k] < body->high[k] && body->low[k] < s->high[k])) over = false;
        if (!over) continue;
        if (high && s->low[axis] >= body->high[axis]) end = fmin(end, s->low[axis]);
        if (!high && s->high[axis] <= body->low[axis]) end = fmax(end, s->high[axis]);
    }
    return end;
}

/* A pad fills the gap from the part to a spreader or the inner side of a face; its conductivity makes its
 * resistance and what the block's own share leaves of the part's to its surface. */
static bool add_pad(field_draft *f, const hl_body *body, const hl_field_block *block)
{
    if (body->pad_face >= HL_FACES) return true;
    int axis = (int)body->pad_face / 2;
    bool high = body->pad_face % 2 != 0;
    hl_field_block *pad = &f->blocks[f->n_blocks];
    *pad = (hl_field_block){
        .name = "pad", .density_heat = usual_body_heat, .emissivity = 0.9, .on = HL_FIELD_ANY};
    double area = footprint(body, axis);
    memcpy(pad->low, body->low, sizeof pad->low);
    memcpy(pad->high, body->high, sizeof pad->high);
    pad->low[axis] = high ? body->high[axis] : pad_end(f, body, axis, false);
    pad->high[axis] = high ? pad_end(f, body, axis, true) : body->low[axis];
    double gap = pad->high[axis] - pad->low[axis];
    if (!(gap > thinnest_pad)) return gap > -thinnest_pad; /* the part touches the face: nothing to fill */
    double across = body->pad_resistance > 0 ? body->pad_resistance * area : gap / usual_pad;
    across += fmax(body->case_resistance * area - own_share(block, axis), 0);
    for (int k = 0; k < 3; k++) pad->conductivity[k] = gap / across;
    f->n_blocks++;
    return true;
}

/* The law stays that of the bare face whatever covers it, so that which way is up is known of every box. A
 * draught runs along the side of a square of the face's area, as by rule: where it comes from is not known.
 */
static hl_field_side side_of(const hl_box *box, int face)
{
    int up = (int)box->up, axis = face / 2, other = axis == 0 ? 1 : 0, third = 3 - axis - other;
    double a = box->size[other], b = box->size[third];
    hl_field_side side = {.law = HL_FIELD_NATURAL,
                          .orientation = HL_VERTICAL,
                          .length = box->size[up / 2],
                          .emissivity = box->emissivity_outside,
                          .air_speed = box->air_speed,
                          .along = sqrt(a * b),
                          .covered = box->covered[face],
                          .cover = box->cover_conductance};
    if (axis == up / 2) {
        side.orientation = face == up ? HL_FACING_UP : HL_FACING_DOWN;
        side.length = a * b / (2 * (a + b));
    }
    return side;
}

static double fill_conductivity(const hl_draft *draft)
{
    hl_air air;
    hl_air_at(draft->foreseen_air > 0 ? draft->foreseen_air : usual_air, hl_air_pressure(draft->altitude),
              &air);
    return draft->box.potted ? draft->box.fill_conductivity : air.conductivity;
}

static hl_field_box whole_box(const field_draft *f)
{
    const hl_box *from = &f->draft->box;
    hl_field_box box = {.shell = from->wall,
                        .shell_conductivity = from->wall_conductivity,
                        .shell_density_heat = from->wall_density_heat,
                        .shell_emissivity = from->emissivity_inside,
                        .fill_conductivity = fill_conductivity(f->draft),
                        .fill_density_heat = from->potted ? from->fill_density_heat : 1.13 * 1007.0,
                        .potted = from->potted,
                        .n_boards = f->draft->boards.n,
                        .n_blocks = f->n_blocks,
                        .n_spreaders = f->draft->spreaders.n,
                        .boards = f->boards,
                        .blocks = f->blocks,
                        .spreaders = f->spreaders,
                        .n_films = f->n_films,
                        .films = f->films,
                        .fineness = 1,
                        .surroundings = {f->draft->ambient, hl_air_pressure(f->draft->altitude)}};
    memcpy(box.size, from->size, sizeof box.size);
    for (int face = 0; face < HL_FACES; face++) box.sides[face] = side_of(from, face);
    return box;
}

/* -------------------------------------------------------------------- nodes -- */

static bool add_node(hl_design *design, const char *name, int *node)
{
    *node = hl_network_add_node(design->network, name, 0);
    return *node >= 0;
}

static bool add_nodes(field_draft *f)
{
    hl_design *design = f->design;
    char name[40];
    int node;
    for (size_t i = 0; i < design->n_items; i++)
        if (!add_node(design, design->items[i].shown.name, &design->items[i].shown.node)) return false;
    for (size_t i = 0; i < design->n_items; i++)
        if (f->parts[i].split && !add_node(design, f->parts[i].body.name, &design->items[i].outer))
            return false;
    design->first_board = (int)hl_network_nodes(design->network);
    for (size_t i = 0; i < f->draft->boards.n; i++)
        if (!add_node(design, f->boards[i].name, &node)) return false;
    design->first_face = (int)hl_network_nodes(design->network);
    for (int face = 0; face < HL_FACES; face++) {
        snprintf(name, sizeof name, "face %s", hl_face_name((hl_face)face));
        if (!add_node(design, name, &node)) return false;
    }
    for (int face = 0; face < HL_FACES; face++) {
        snprintf(name, sizeof name, "face %s spot", hl_face_name((hl_face)face));
        if (!add_node(design, name, &node)) return false;
    }
    for (size_t i = 0; i < design->n_stages; i++)
        design->stages[i].node = f->draft->boards.n ? design->first_board : -1;
    return true;
}

/* The inside of each part, K/W, and which body of the field is which part and board. */
static bool keep_shape(field_draft *f)
{
    hl_design *design = f->design;
    design->inside = arena_array(design->memory, design->n_items + 1, sizeof *design->inside);
    design->body = arena_array(design->memory, design->n_items + 1, sizeof *design->body);
    if (!design->inside || !design->body) return false;
    for (size_t i = 0; i < design->n_items; i++) design->inside[i] = f->parts[i].inside;
    for (size_t k = 0; k < design->n_items; k++) design->body[f->item[k]] = k;
    design->first_board_body = (int)(f->n_blocks + f->draft->spreaders.n);
    return true;
}

/* About which heat the field is made: what hl_draft_foresee found, or 8 % of what the ports draw, spread
 * evenly. Any other may be asked for. */
static void guess_heat(field_draft *f)
{
    size_t items = f->design->n_items;
    const double *foreseen = f->draft->n_foreseen == items + 1 ? f->draft->foreseen : NULL;
    double drawn = 0;
    for (size_t i = 0; i < f->draft->ports.n; i++) {
        const draft_port *port = LIST_AT(f->draft->ports, draft_port, i);
        drawn += port->voltage * port->current;
    }
    for (size_t k = 0; k < items; k++)
        f->blocks[k].heat = foreseen ? foreseen[f->item[k]] : 0.08 * drawn / (double)items;
    if (foreseen && f->draft->boards.n) f->boards[0].heat = foreseen[items];
}

typedef struct by_volume {
    double volume;
    size_t item;
} by_volume;

static int greatest_first(const void *a, const void *b)
{
    const by_volume *x = a, *y = b;
    if (x->volume != y->volume) return x->volume < y->volume ? 1 : -1;
    return (x->item > y->item) - (x->item < y->item);
}

static bool settle_on_lattice(field_draft *f, hl_diagnostics *diagnostics)
{
    const hl_draft *draft = f->draft;
    hl_board *boards = calloc(draft->boards.n + 1, sizeof *boards);
    hl_spreader *spreaders = calloc(draft->spreaders.n + 1, sizeof *spreaders);
    bool good = boards && spreaders;
    if (good) {
        for (size_t i = 0; i < draft->boards.n; i++)
            boards[i] = LIST_AT(draft->boards, draft_board, i)->board;
        for (size_t i = 0; i < draft->spreaders.n; i++)
            spreaders[i] = LIST_AT(draft->spreaders, draft_spreader, i)->spreader;
        lattice_box lattice = {.box = &draft->box,
                               .fill_conductivity = fill_conductivity(draft),
                               .n_boards = draft->boards.n,
                               .n_spreaders = draft->spreaders.n,
                               .n_bodies = f->design->n_items,
                               .boards = boards,
                               .spreaders = spreaders,
                               .bodies = f->bodies,
                               .places = f->places,
                               .place = &draft->box_place};
        good = field_lattice_settle(&lattice, diagnostics) == HL_OK;
        f->settled_films = lattice.films;
        f->n_films = lattice.n_films;
    }
    free(boards);
    free(spreaders);
    return good;
}

/* A solid of the lattice as a body of the field: bodies lie before the pads, boards behind the spreaders. */
static int field_body(const field_draft *f, int solid)
{
    int bodies = (int)f->design->n_items, boards = (int)f->draft->boards.n;
    int blocks = (int)f->n_blocks, spreaders = (int)f->draft->spreaders.n;
    if (solid == LATTICE_WALL) return HL_FIELD_SHELL;
    if (solid < bodies) return solid;
    solid -= bodies;
    return solid < boards ? blocks + spreaders + solid : blocks + solid - boards;
}

static bool add_films(field_draft *f)
{
    f->films = arena_array(f->design->memory, f->n_films + 1, sizeof *f->films);
    if (!f->films) return false;
    for (size_t i = 0; i < f->n_films; i++) {
        const lattice_film *from = &f->settled_films[i];
        f->films[i] =
            (hl_field_film){field_body(f, from->below), field_body(f, from->above), from->axis, from->gap};
    }
    return true;
}

/* Smaller bodies after greater ones: in a place that two claim, the later wins. */
static bool settle_bodies(field_draft *f, hl_diagnostics *diagnostics)
{
    size_t n = f->design->n_items;
    by_volume *order = calloc(n + 1, sizeof *order);
    f->bodies = calloc(n + 1, sizeof *f->bodies);
    f->item = calloc(n + 1, sizeof *f->item);
    f->places = calloc(n + 1, sizeof *f->places);
    bool good = order && f->bodies && f->item && f->places;
    for (size_t i = 0; good && i < n; i++) {
        const hl_body *body = &f->parts[i].body;
        order[i] = (by_volume){1, i};
        for (int k = 0; k < 3; k++) order[i].volume *= body->high[k] - body->low[k];
    }
    if (good) {
        qsort(order, n, sizeof *order, greatest_first);
        for (size_t k = 0; k < n; k++) {
            f->item[k] = order[k].item;
            f->bodies[k] = f->parts[order[k].item].body;
            f->places[k] = f->parts[order[k].item].place;
        }
        good = settle_on_lattice(f, diagnostics);
    }
    free(order);
    return good;
}

/* Where condensed fields are kept: HEATLEDGER_CACHE, or heatledger in the user's cache folder (XDG Base
 * Directory Specification 0.8). false: nowhere; then each is made anew. */
static bool kept_folder(char *path, size_t size)
{
    const char *named = getenv("HEATLEDGER_CACHE"), *cache = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
    int written;
    if (named)
        written = snprintf(path, size, "%s", named);
    else if (cache && cache[0] == '/')
        written = snprintf(path, size, "%s/heatledger", cache);
    else if (home && home[0] == '/')
        written = snprintf(path, size, "%s/.cache/heatledger", home);
    else
        return false;
    if (written <= 0 || (size_t)written >= size) return false;
    for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        (void)mkdir(path, 0700); /* one that exists, or cannot be made, shows when the file is opened */
        *slash = '/';
    }
    (void)mkdir(path, 0700);
    return access(path, W_OK | X_OK) == 0;
}

static hl_field *make_field(const hl_field_box *box, hl_diagnostics *diagnostics)
{
    char folder[PATH_MAX];
    return kept_folder(folder, sizeof folder) ? hl_field_create_kept(box, folder, diagnostics)
                                              : hl_field_create(box, diagnostics);
}

/* The box, its lists and names outlive the draft: field_heat_in_time makes the field anew. */
static bool keep_box(field_draft *f)
{
    arena *memory = f->design->memory;
    bool good = true;
    for (size_t i = 0; i < f->n_blocks; i++)
        good = (f->blocks[i].name = arena_copy(memory, f->blocks[i].name)) && good;
    for (size_t i = 0; i < f->draft->boards.n; i++)
        good = (f->boards[i].name = arena_copy(memory, f->boards[i].name)) && good;
    for (size_t i = 0; i < f->draft->spreaders.n; i++)
        good = (f->spreaders[i].name = arena_copy(memory, f->spreaders[i].name)) && good;
    f->design->field_box = arena_take(memory, sizeof *f->design->field_box);
    if (!good || !f->design->field_box) return false;
    *f->design->field_box = whole_box(f);
    return true;
}

hl_field *field_heat_in_time(const hl_design *design, hl_diagnostics *diagnostics)
{
    hl_field_box box = *design->field_box;
    box.warm = true;
    return make_field(&box, diagnostics);
}

hl_status field_heat_build(const hl_draft *draft, hl_design *design, const placed_part parts[],
                           hl_diagnostics *diagnostics)
{
    field_draft f = {.draft = draft, .design = design, .parts = parts};
    hl_status status = HL_NO_MEMORY;
    f.blocks = arena_array(design->memory, 2 * design->n_items + 1, sizeof *f.blocks);
    f.boards = arena_array(design->memory, draft->boards.n + 1, sizeof *f.boards);
    f.spreaders = arena_array(design->memory, draft->spreaders.n + 1, sizeof *f.spreaders);
    if (!f.blocks || !f.boards || !f.spreaders || !settle_bodies(&f, diagnostics)) goto done;
    add_boards(&f);
    add_spreaders(&f);
    for (size_t i = 0; i < design->n_items; i++) add_part(&f, &f.bodies[i]);
    for (size_t i = 0; i < design->n_items; i++)
        if (!add_pad(&f, &f.bodies[i], &f.blocks[i]))
            hl_diagnostics_add(
                diagnostics, HL_WARNING, &draft->box_place,
                "the pad of %s finds no way to its face, since the part reaches into the wall; it is "
                "left out",
                parts[i].body.name);
    guess_heat(&f);
    if (!add_films(&f) || !add_nodes(&f) || !keep_shape(&f) || !keep_box(&f)) goto done;
    design->field = make_field(design->field_box, diagnostics);
    status = design->field ? HL_OK : HL_BAD_INPUT;
done:
    free(f.bodies);
    free(f.item);
    free(f.places);
    free(f.settled_films);
    return status;
}
