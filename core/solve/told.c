/* told.c - mechanisms of losses and quantities of stages, which are moved along with an end that is foretold.
 */
#include "solve/workspace.h"

#include <math.h>
#include <string.h>

/* Room for as many on the average; and what is no longer small: there the memory goes to anchors. */
enum { MECHANISMS_A_PART = 3, QUANTITIES_A_STAGE = 20, PARTS_MOST = 48, STAGES_MOST = 14 };

/* What no slope holds of, as where something begins: more than this share of itself is not moved. */
static const double moved_most = 1e-4;

size_t told_room(const hl_design *design)
{
    if (design->n_items > PARTS_MOST || design->n_stages > STAGES_MOST) return 0;
    return MECHANISMS_A_PART * design->n_items + QUANTITIES_A_STAGE * design->n_stages;
}

bool told_create(told *made, arena *memory, const hl_design *design)
{
    made->n = made->mechanisms = 0;
    made->row = arena_array(memory, told_room(design) + 1, sizeof *made->row);
    return made->row != NULL;
}

static bool add_row(told *list, size_t room, size_t owner, size_t which, const char *name)
{
    if (list->n >= room) return false;
    list->row[list->n++] = (told_row){owner, which, name};
    return true;
}

void told_choose(told *list, const hl_workspace *work)
{
    size_t room = told_room(work->design);
    bool all = true;
    list->n = 0;
    for (size_t i = 0; i < work->design->n_items; i++)
        for (size_t m = 0; m < HL_MECHANISMS; m++)
            if (work->items[i].loss.watts[m] != 0) all = add_row(list, room, i, m, NULL) && all;
    list->mechanisms = list->n;
    for (size_t s = 0; s < work->design->n_stages; s++)
        for (size_t q = 0; q < hl_result_quantities(work, s); q++)
            all = add_row(list, room, s, q, work->stages[s].out.quantity[q].name) && all;
    if (!all) list->n = list->mechanisms = 0;
}

/* Of two workspaces a name may be text of either. */
static bool same_name(const char *a, const char *b)
{
    return a == b || (a && b && !strcmp(a, b));
}

bool told_fits(const told *list, const hl_workspace *work)
{
    const told_row *row = list->row + list->mechanisms;
    if (!list->n) return false;
    const told_row *end = list->row + list->n;
    for (size_t s = 0; s < work->design->n_stages; s++) {
        const hl_quantity *quantity = work->stages[s].out.quantity;
        size_t n = hl_result_quantities(work, s);
        for (size_t q = 0; q < n; q++, row++)
            if (row == end || row->owner != s || !same_name(row->name, quantity[q].name)) return false;
    }
    return row == end;
}

static double figure(const told *list, const hl_workspace *work, size_t row)
{
    const told_row *of = &list->row[row];
    if (row < list->mechanisms) return work->items[of->owner].loss.watts[of->which];
    return work->stages[of->owner].out.quantity[of->which].value;
}

void told_pack(const told *list, const hl_workspace *work, double rows[])
{
    for (size_t k = 0; k < list->n; k++) rows[k] = figure(list, work, k);
    for (size_t k = list->n; k < told_room(work->design); k++) rows[k] = 0;
}

/* Slopes were learnt with the parts of the design as it stands. With others a figure keeps its slope as a
 * share of itself, near enough: half the resistance loses half, and rises by as many per cent a kelvin. */
static void fit_to_parts(const hl_workspace *work, size_t first, size_t last, double rows[])
{
    const response_mean *near = work->response;
    const told *list = near->from[0]->list;
    if (work->as_described) return;
    for (size_t k = first; k < last; k++) {
        double then = 0, now = figure(list, work, k);
        for (size_t i = 0; i < near->n; i++) then += near->weight[i] * near->from[i]->told_at[k];
        if (now * then > 0) rows[k - first] *= now / then;
    }
}

/* false: it is no longer small. */
static bool move(double *value, double by)
{
    if (!(fabs(by) <= moved_most * fabs(*value))) return false;
    *value += by;
    return true;
}

static void move_watts(item_state *item, size_t mechanism, double by, double *more)
{
    if (!move(&item->loss.watts[mechanism], by)) return;
    item->watts += by;
    *more -= by;
}

void told_move(hl_workspace *work, double more[])
{
    const told *list = work->response->from[0]->list;
    double *rows = work->bench.asked;
    size_t held = response_hold_told(work->response, work);
    response_told(work->response, work, held, 0, list->mechanisms, rows);
    fit_to_parts(work, 0, list->mechanisms, rows);
    const told_row *row = list->row;
    for (size_t k = 0; k < list->mechanisms; k++)
        move_watts(&work->items[row[k].owner], row[k].which, rows[k], &more[row[k].owner]);
    *work->bench.untold = held;
    /* a start of the caller's may be gone by the time that they are read */
    if (work->response != start_response(work->foretold)) told_quantities(work);
}

void told_quantities(const hl_workspace *work)
{
    if (!work->network || !*work->bench.untold) return;
    const told *list = work->response->from[0]->list;
    double *rows = work->bench.asked;
    response_told(work->response, work, *work->bench.untold, list->mechanisms, list->n, rows);
    fit_to_parts(work, list->mechanisms, list->n, rows);
    const told_row *row = list->row + list->mechanisms;
    for (size_t k = 0; k < list->n - list->mechanisms; k++)
        move(&work->stages[row[k].owner].out.quantity[row[k].which].value, rows[k]);
    *work->bench.untold = 0;
}
