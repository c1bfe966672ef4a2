/* field_lattice.c - a plane at every edge of forty parts would cut a box into a million cells.  Most edges
 * may move by a millimetre and nobody would feel it; those beside a narrow gap may not, since 0.7 mm of air
 * carry as much heat as the whole outside of a case does, and none at all carries without bound. */
#include "design/field_lattice.h"

#include "design/field_planes.h"
#include "design/field_seat.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const double steps_along = 24;                  /* of the longest side */
static const double finest = 1.5e-3, coarsest = 12e-3; /* m */
static const double loose = 0.4;                       /* of a step: the most that an edge moves */
static const double usual_film = 0.05e-3;              /* m: narrower gaps are films */
static const double widest_unsaid = 1.5e-3;            /* m: a ruler tells a place no better */
static const double touching = 1e-6;                   /* m */

/* An edge moves by this share of a gap at least and at most; in between by what changes the gap's conductance
 * by half a percent of what leaves the box, about 10 W/(m^2 K) over its outer side.  Where the planes are too
 * many, by up to `hardest`: a gap keeps a fifth of its width then. */
static const double least_of_gap = 0.04, most_of_gap = 0.25, hardest = 0.4;
static const double small_share = 0.005, outside = 10;
static const double of_thickness = 0.2;

/* So many blocks between planes leave a grid of 26,000 cells room for finer ones where heat is made. */
static const double blocks_most = 19000;
static const double looser = 1.5, wider = 1.3, loosest = 5; /* from try to try */
static const double widest_film = 3e-3;                     /* m */

typedef struct solid {
    const char *name;
    double low[3], high[3]; /* m */
    double settled[2][3];   /* out: low, high */
    double reach[2][3];     /* m */
    hl_body *body;          /* NULL: it stands still */
} solid;

/* Two solids that see each other along an axis. */
typedef struct facing {
    size_t below, above;
    int axis;
    double gap; /* m; less than 0: they overlap a little */
} facing;

typedef struct lattice {
    lattice_box *of;
    double step, allowed; /* m; W/K that a gap's conductance may change by */
    double scale, film;
    size_t n;
    solid *stated, *solids; /* bodies, boards, spreaders, walls: before and while faces go to each other */
    facing *facings;        /* the narrowest first */
    size_t n_facings;
    bool *apart; /* 3 x n x n: of two solids, the first below the second, a gap that is kept */
    plane_edge *edges;
    double *plane[3];
    size_t planes[3];
} lattice;

/* ---------------------------------------------------------------- solids -- */

static void add_solid(lattice *l, const char *name, const double low[3], const double high[3], hl_body *body)
{
    solid *s = &l->stated[l->n++];
    s->name = name;
    s->body = body;
    memcpy(s->low, low, sizeof s->low);
    memcpy(s->high, high, sizeof s->high);
}

static void add_wall(lattice *l, int face)
{
    static const char *const wall_name[] = {"wall x0", "wall x1", "wall y0", "wall y1", "wall z0", "wall z1"};
    const hl_box *box = l->of->box;
    int axis = face / 2;
    double low[3] = {0, 0, 0}, high[3];
    memcpy(high, box->size, sizeof high);
    if (face % 2)
        low[axis] = box->size[axis] - box->wall;
    else
        high[axis] = box->wall;
    add_solid(l, wall_name[face], low, high, NULL);
}

static void gather_solids(lattice *l)
{
    const lattice_box *of = l->of;
    for (size_t i = 0; i < of->n_bodies; i++)
        add_solid(l, of->bodies[i].name, of->bodies[i].low, of->bodies[i].high, &of->bodies[i]);
    for (size_t i = 0; i < of->n_boards; i++)
        add_solid(l, of->boards[i].name, of->boards[i].low, of->boards[i].high, NULL);
    for (size_t i = 0; i < of->n_spreaders; i++)
        add_solid(l, of->spreaders[i].name, of->spreaders[i].low, of->spreaders[i].high, NULL);
    for (int face = 0; face < HL_FACES; face++) add_wall(l, face);
}

/* m^2 over which two solids see each other along an axis; 0 when they do not. */
static double facing_area(const double a_low[3], const double a_high[3], const double b_low[3],
                          const double b_high[3], int axis)
{
    double area = 1;
    for (int k = 0; k < 3; k++)
        if (k != axis) area *= fmax(0, fmin(a_high[k], b_high[k]) - fmax(a_low[k], b_low[k]));
    return area;
}

static bool *apart_of(const lattice *l, int axis, size_t a, size_t b)
{
    return &l->apart[((size_t)axis * l->n + a) * l->n + b];
}

/* The pad of a body fills the gap to its face: never closed. */
static bool is_pad(const solid *a, const solid *b, int axis)
{
    const hl_body *lower = a->body, *upper = b->body;
    return (lower && !upper && lower->pad_face == (hl_face)(2 * axis + 1)) ||
           (upper && !lower && upper->pad_face == (hl_face)(2 * axis));
}

/* ----------------------------------------------------------- narrow gaps -- */

static int narrowest_first(const void *a, const void *b)
{
    const facing *x = a, *y = b;
    if (x->gap != y->gap) return x->gap < y->gap ? -1 : 1;
    if (x->below != y->below) return x->below < y->below ? -1 : 1;
    return (x->above > y->above) - (x->above < y->above);
}

static void find_facings(lattice *l)
{
    for (size_t i = 0; i < l->n; i++)
        for (size_t j = 0; j < l->n; j++)
            for (int axis = 0; axis < 3; axis++) {
                const solid *a = &l->stated[i], *b = &l->stated[j];
                double gap = b->low[axis] - a->high[axis];
                if (i == j || !(a->body || b->body) || !(gap > -usual_film) || is_pad(a, b, axis)) continue;
                if (facing_area(a->low, a->high, b->low, b->high, axis) > 0)
                    l->facings[l->n_facings++] = (facing){i, j, axis, gap};
            }
    qsort(l->facings, l->n_facings, sizeof *l->facings, narrowest_first);
}

/* The smaller body's face goes to the other across a gap that is to be a film. */
static void close_narrow(lattice *l)
{
    memcpy(l->solids, l->stated, l->n * sizeof *l->solids);
    for (size_t k = 0; k < l->n_facings && l->facings[k].gap < l->film; k++) {
        const facing *f = &l->facings[k];
        solid *a = &l->solids[f->below], *b = &l->solids[f->above];
        if (!(b->low[f->axis] - a->high[f->axis] > -usual_film)) continue; /* gone by another's gap */
        if (b->body && (f->above > f->below || !a->body))
            b->low[f->axis] = a->high[f->axis];
        else
            a->high[f->axis] = b->low[f->axis];
    }
}

/* ----------------------------------------------------------------- reach -- */

/* How far an edge beside a gap may move, m. */
static double reach_beside(const lattice *l, double gap, double area)
{
    double conducted = area > 0 ? l->allowed * gap * gap / (l->of->fill_conductivity * area) : INFINITY;
    double usual = fmin(fmax(conducted, least_of_gap * gap), most_of_gap * gap);
    return fmin(l->scale * usual, hardest * gap);
}

static void hold_gap(lattice *l, size_t i, size_t j, int axis)
{
    solid *a = &l->solids[i], *b = &l->solids[j];
    double gap = b->low[axis] - a->high[axis];
    double area = facing_area(a->low, a->high, b->low, b->high, axis);
    bool *apart = apart_of(l, axis, i, j);
    if (area > 0 && gap > touching) *apart = true;
    if (!*apart || !(gap > touching) || (gap < l->film && !is_pad(a, b, axis))) return;
    double reach = reach_beside(l, gap, area);
    a->reach[1][axis] = fmin(a->reach[1][axis], reach);
    b->reach[0][axis] = fmin(b->reach[0][axis], reach);
}

static void find_reaches(lattice *l)
{
    for (size_t i = 0; i < l->n; i++)
        for (int axis = 0; axis < 3; axis++) {
            solid *s = &l->solids[i];
            double thickness = s->high[axis] - s->low[axis];
            double reach = fmin(l->scale * of_thickness, hardest) * thickness;
            s->reach[0][axis] = s->reach[1][axis] = s->body ? fmin(loose * l->step, reach) : 0;
        }
    for (size_t i = 0; i < l->n; i++)
        for (size_t j = 0; j < l->n; j++)
            for (int axis = 0; axis < 3; axis++)
                if (i != j && (l->solids[i].body || l->solids[j].body)) hold_gap(l, i, j, axis);
    for (size_t i = 0; i < l->n; i++)
        if (!l->solids[i].body) memset(l->solids[i].reach, 0, sizeof l->solids[i].reach);
}

/* ---------------------------------------------------------------- planes -- */

static void settle_axis(lattice *l, int axis)
{
    for (size_t i = 0; i < l->n; i++) {
        solid *s = &l->solids[i];
        l->edges[2 * i] = (plane_edge){s->low[axis], s->reach[0][axis], &s->settled[0][axis]};
        l->edges[2 * i + 1] = (plane_edge){s->high[axis], s->reach[1][axis], &s->settled[1][axis]};
    }
    l->planes[axis] = planes_gather(l->edges, 2 * l->n, l->plane[axis]);
}

static bool meet_settled(const solid *a, const solid *b, int axis)
{
    return facing_area(a->settled[0], a->settled[1], b->settled[0], b->settled[1], axis) > 0 &&
           a->settled[1][axis] >= b->settled[0][axis] - touching &&
           b->settled[1][axis] >= a->settled[0][axis] - touching;
}

/* Two solids that met nowhere, and meet since their other edges moved: the widest gap between them is kept
 * from now on.  true: there was such a gap. */
static bool tell_apart(lattice *l, size_t i, size_t j)
{
    const solid *a = &l->solids[i], *b = &l->solids[j];
    int widest = -1;
    double most = l->film;
    for (int axis = 0; axis < 3; axis++) {
        double gap = b->low[axis] - a->high[axis];
        if (*apart_of(l, axis, i, j) || *apart_of(l, axis, j, i)) return false;
        if (gap > most) {
            most = gap;
            widest = axis;
        }
    }
    if (widest < 0 || !(a->body || b->body)) return false;
    bool meet = false;
    for (int axis = 0; axis < 3; axis++) meet = meet || meet_settled(a, b, axis);
    if (meet) *apart_of(l, widest, i, j) = true;
    return meet;
}

static bool tell_all_apart(lattice *l)
{
    bool found = false;
    for (size_t i = 0; i < l->n; i++)
        for (size_t j = 0; j < l->n; j++)
            if (i != j && tell_apart(l, i, j)) found = true;
    return found;
}

static double settle_once(lattice *l)
{
    double blocks = 1;
    for (int axis = 0; axis < 3; axis++) {
        settle_axis(l, axis);
        blocks *= (double)l->planes[axis] - 1;
    }
    return blocks;
}

/* Looser by and by; where even the loosest are too many, narrow gaps become films, ever wider ones. */
static void settle_all(lattice *l)
{
    l->scale = 1;
    l->film = usual_film;
    for (;;) {
        double blocks;
        close_narrow(l);
        do {
            find_reaches(l);
            blocks = settle_once(l);
        } while (tell_all_apart(l));
        if (blocks <= blocks_most || l->film > widest_film) return;
        if (l->scale < loosest)
            l->scale *= looser;
        else
            l->film *= wider;
    }
}

/* ----------------------------------------------------------------- films -- */

static int number_of(const lattice *l, size_t index)
{
    return index + HL_FACES < l->n ? (int)index : LATTICE_WALL;
}

/* Where solids touch now that did not: what was between them. */
static bool make_films(const lattice *l)
{
    lattice_box *of = l->of;
    of->films = malloc(3 * l->n * l->n * sizeof *of->films);
    of->n_films = 0;
    if (!of->films) return false;
    for (size_t i = 0; i < l->n; i++)
        for (size_t j = 0; j < l->n; j++)
            for (int axis = 0; axis < 3; axis++) {
                const solid *a = &l->solids[i], *b = &l->solids[j];
                double gap = l->stated[j].low[axis] - l->stated[i].high[axis];
                if (i == j || !(gap > touching) || !(a->body || b->body)) continue;
                if (b->settled[0][axis] - a->settled[1][axis] > touching) continue;
                if (facing_area(a->settled[0], a->settled[1], b->settled[0], b->settled[1], axis) > 0)
                    of->films[of->n_films++] = (lattice_film){number_of(l, i), number_of(l, j), axis, gap};
            }
    return true;
}

static void say_widest(const lattice *l, hl_diagnostics *diagnostics)
{
    const facing *widest = NULL;
    size_t films = 0;
    for (size_t k = 0; k < l->n_facings && l->facings[k].gap < l->film; k++) {
        widest = &l->facings[k];
        films += widest->gap > touching;
    }
    if (!widest || widest->gap < widest_unsaid) return;
    hl_diagnostics_add(
        diagnostics, HL_WARNING, l->of->place,
        "the box has more edges than its grid can hold: %zu gaps, the widest of %.2g mm between "
        "'%s' and '%s', stand as thin films and a body beside each grows by its gap; bring edges "
        "that lie near each other onto one plane, or leave out small parts",
        films, 1e3 * widest->gap, l->stated[widest->below].name, l->stated[widest->above].name);
}

/* ---------------------------------------------------------------- settle -- */

static bool allocate(lattice *l)
{
    const lattice_box *of = l->of;
    size_t n = of->n_bodies + of->n_boards + of->n_spreaders + HL_FACES;
    l->stated = calloc(n, sizeof *l->stated);
    l->solids = calloc(n, sizeof *l->solids);
    l->facings = calloc(3 * n * n, sizeof *l->facings);
    l->apart = calloc(3 * n * n, sizeof *l->apart);
    l->edges = calloc(2 * n, sizeof *l->edges);
    bool good = l->stated && l->solids && l->facings && l->apart && l->edges;
    for (int axis = 0; axis < 3; axis++) {
        l->plane[axis] = calloc(2 * n, sizeof *l->plane[axis]);
        good = good && l->plane[axis];
    }
    return good;
}

static void put_back(const lattice *l)
{
    for (size_t i = 0; i < l->of->n_bodies; i++) {
        memcpy(l->of->bodies[i].low, l->solids[i].settled[0], sizeof l->of->bodies[i].low);
        memcpy(l->of->bodies[i].high, l->solids[i].settled[1], sizeof l->of->bodies[i].high);
    }
}

hl_status field_lattice_settle(lattice_box *of, hl_diagnostics *diagnostics)
{
    const double *size = of->box->size;
    double longest = fmax(size[0], fmax(size[1], size[2]));
    double outer = 2 * (size[0] * size[1] + size[1] * size[2] + size[2] * size[0]);
    lattice l = {.of = of,
                 .step = fmin(fmax(longest / steps_along, finest), coarsest),
                 .allowed = small_share * outside * outer};
    bool good = allocate(&l);
    if (good) {
        for (size_t i = 0; i < of->n_bodies; i++) field_seat(of, i, l.step, diagnostics);
        gather_solids(&l);
        find_facings(&l);
        settle_all(&l);
        say_widest(&l, diagnostics);
        put_back(&l);
        good = make_films(&l);
    }
    free(l.stated);
    free(l.solids);
    free(l.facings);
    free(l.apart);
    free(l.edges);
    for (int axis = 0; axis < 3; axis++) free(l.plane[axis]);
    return good ? HL_OK : HL_NO_MEMORY;
}
