/* field_lattice.c - a plane at every edge of forty parts would cut a box into a million cells; a part's place
 * is known to a millimetre or two, and what it states of its thermal resistance is kept whatever its
 * footprint. */
#include "design/field_lattice.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static const double steps_along = 24;                  /* of the longest side */
static const double finest = 1.5e-3, coarsest = 12e-3; /* m */
static const double ladder[] = {1e-3, 3e-3, 6e-3};     /* m from the board; then every `rung` */
static const double rung = 5e-3;
static const double near_a_plane = 0.4; /* of a step */
static const int farthest_shift = 3;    /* steps */

typedef struct lattice {
    const hl_box *box;
    double step;
} lattice;

static double inner_low(const lattice *l)
{
    return l->box->wall;
}

static double inner_high(const lattice *l, int axis)
{
    return l->box->size[axis] - l->box->wall;
}

static double hold(const lattice *l, int axis, double at)
{
    return fmin(fmax(at, inner_low(l)), inner_high(l, axis));
}

/* The nearest plane: a multiple of the step from the inner wall, or the far wall when that is close. */
static double to_plane(const lattice *l, int axis, double at)
{
    double plane = inner_low(l) + l->step * round((at - inner_low(l)) / l->step);
    if (fabs(at - inner_high(l, axis)) < near_a_plane * l->step || plane > inner_high(l, axis))
        plane = inner_high(l, axis);
    return hold(l, axis, plane);
}

static void settle_along(const lattice *l, int axis, hl_body *body)
{
    double low = to_plane(l, axis, body->low[axis]), high = to_plane(l, axis, body->high[axis]);
    if (high - low < 0.5 * l->step) {
        double middle = 0.5 * (body->low[axis] + body->high[axis]);
        low = hold(l, axis, inner_low(l) + l->step * floor((middle - inner_low(l)) / l->step));
        if (low > inner_high(l, axis) - 0.5 * l->step) low -= l->step;
        high = to_plane(l, axis, low + l->step);
    }
    body->low[axis] = low;
    body->high[axis] = high;
}

static double to_ladder(double height)
{
    size_t n = sizeof ladder / sizeof *ladder;
    double best = ladder[0];
    for (size_t i = 1; i < n; i++)
        if (fabs(ladder[i] - height) < fabs(best - height)) best = ladder[i];
    double above = ladder[n - 1] + rung * fmax(0, round((height - ladder[n - 1]) / rung));
    return fabs(above - height) < fabs(best - height) ? above : best;
}

/* Away from the board: flush with its face, as high as the nearest rung, within the walls. */
static void settle_across(const lattice *l, int axis, const hl_board *board, hl_body *body)
{
    double middle = 0.5 * (body->low[axis] + body->high[axis]);
    double height = to_ladder(body->high[axis] - body->low[axis]);
    if (middle > 0.5 * (board->low[axis] + board->high[axis])) {
        body->low[axis] = board->high[axis];
        body->high[axis] = hold(l, axis, body->low[axis] + height);
    } else {
        body->high[axis] = board->low[axis];
        body->low[axis] = hold(l, axis, body->high[axis] - height);
    }
}

static int thin_axis(const hl_board *board)
{
    int thin = 0;
    for (int k = 1; k < 3; k++)
        if (board->high[k] - board->low[k] < board->high[thin] - board->low[thin]) thin = k;
    return thin;
}

static bool meet(const hl_body *a, const hl_body *b)
{
    for (int k = 0; k < 3; k++)
        if (!(a->low[k] < b->high[k] - 1e-6 && b->low[k] < a->high[k] - 1e-6)) return false;
    return true;
}

static double volume(const hl_body *body)
{
    double v = 1;
    for (int k = 0; k < 3; k++) v *= body->high[k] - body->low[k];
    return v;
}

/* A smaller body may lie on a greater one, which gives way to it; not on one of its own size. */
static bool is_free(const hl_body bodies[], size_t index, const hl_body *moved)
{
    for (size_t i = 0; i < index; i++)
        if (meet(&bodies[i], moved) && volume(&bodies[i]) < 4 * volume(moved)) return false;
    return true;
}

static bool inside(const lattice *l, const hl_body *body, int across)
{
    for (int k = 0; k < 3; k++)
        if (k != across && !(body->low[k] > inner_low(l) - 1e-9 && body->high[k] < inner_high(l, k) + 1e-9))
            return false;
    return true;
}

static void move_aside(const lattice *l, int across, hl_body bodies[], size_t index)
{
    if (is_free(bodies, index, &bodies[index])) return;
    int first = across == 0 ? 1 : 0, second = 3 - across - first;
    for (int reach = 1; reach <= farthest_shift; reach++)
        for (int a = -reach; a <= reach; a++)
            for (int b = -reach; b <= reach; b++) {
                if (a != -reach && a != reach && b != -reach && b != reach) continue;
                hl_body moved = bodies[index];
                moved.low[first] += a * l->step;
                moved.high[first] += a * l->step;
                moved.low[second] += b * l->step;
                moved.high[second] += b * l->step;
                if (!inside(l, &moved, across) || !is_free(bodies, index, &moved)) continue;
                bodies[index] = moved;
                return;
            }
}

void field_lattice_settle(const hl_box *box, const hl_board boards[], hl_body bodies[], size_t n)
{
    double longest = fmax(box->size[0], fmax(box->size[1], box->size[2]));
    lattice l = {box, fmin(fmax(longest / steps_along, finest), coarsest)};
    for (size_t i = 0; i < n; i++) {
        const hl_board *board = bodies[i].board >= 0 ? &boards[bodies[i].board] : NULL;
        int across = board ? thin_axis(board) : -1;
        for (int axis = 0; axis < 3; axis++)
            if (axis == across)
                settle_across(&l, axis, board, &bodies[i]);
            else
                settle_along(&l, axis, &bodies[i]);
        move_aside(&l, across < 0 ? 2 : across, bodies, i);
    }
}
