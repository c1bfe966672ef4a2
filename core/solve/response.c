/* response.c - the derivative of a round, by differences, and Newton's step with it.
 *
 * A solved point is a fixed point x = g(x) of the round g.  About it g(x) = g0 + J (x - x0), so from a miss
 * g(x) - x the fixed point is (1 - J)^-1 (g(x) - x) further on; beyond g(x) itself that is
 * ((1 - J)^-1 - 1) (g(x) - x) = J (1 - J)^-1 (g(x) - x).  Temperatures of nodes that hold no part only begin
 * the network's own Newton step: their columns are nought.
 * What a round says besides, the losses of parts and circuits, is followed to the fixed point in the same
 * way: y + Y (1 - J)^-1 (g(x) - x). source: Newton's method with a derivative kept from elsewhere, J. M.
 * Ortega, W. C. Rheinboldt, Iterative Solution of Nonlinear Equations, 1970, section 7.1; from memory */
#include "solve/workspace.h"

#include <float.h>
#include <math.h>
#include <string.h>

#include "solve/round.h"
#include "solve/vectors.h"
#include "wave/lanes.h"

/* Steps of the differences: far above what a round leaves open, 1e-11, and small against what bends. */
static const double small_share = 1e-5, small_kelvin = 0.01;

/* What a column adds is left out where it comes to less, as a share: far below what a point leaves open. */
static const double lightest = 1e-12;
/* A figure of a part may follow its temperature where nothing else does: 1e-7 K is left out then. */
static const double told_weight = 1e-4;

/* Eight numbers side by side. */
enum { EIGHT = 8 };
typedef float eight __attribute__((vector_size(EIGHT * sizeof(float)), aligned(4), may_alias));
#define eight_at(place) (*(eight *)(void *)(place))

/* Pass of a walk that is not among the first, which forgive failing stages. */
enum { LATE_WALK = 100 };

static bool holds_a_part(const hl_design *design, size_t node)
{
    for (size_t i = 0; i < design->n_items; i++)
        if (design->items[i].shown.node == (int)node) return true;
    return false;
}

/* Does a round feel this unknown? */
static bool matters(const hl_design *design, size_t unknown)
{
    size_t electrical = 3 * design->n_stages;
    if (unknown >= electrical) return holds_a_part(design, unknown - electrical);
    const design_stage *stage = &design->stages[unknown / 3];
    switch (unknown % 3) {
    case 0:
        return true;
    case 1:
        return stage->n_capacitors > 0;
    default:
        return !stage->model->stage->terminal;
    }
}

size_t response_columns(const hl_design *design)
{
    size_t n = 0;
    for (size_t j = 0; j < round_unknowns(design); j++) n += matters(design, j);
    return n;
}

size_t response_rows(const hl_design *design)
{
    return round_unknowns(design) + design->n_items + design->n_stages;
}

/* Numbers of a column, in whole eights. */
static size_t reach_of(const hl_design *design)
{
    return (response_rows(design) + told_room(design) + EIGHT - 1) / EIGHT * EIGHT;
}

size_t response_size(const hl_design *design)
{
    return response_columns(design) * reach_of(design);
}

bool response_create(response *made, arena *memory, const hl_design *design, const told *list, float *gain)
{
    made->list = list;
    made->n = round_unknowns(design);
    made->rows = response_rows(design);
    made->told = told_room(design);
    made->reach = reach_of(design);
    made->items = design->n_items;
    made->circuit = 3 * design->n_stages;
    made->known = false;
    made->columns = 0;
    size_t columns = response_columns(design);
    made->column = arena_array(memory, columns + 1, sizeof *made->column);
    made->weight = arena_array(memory, columns + 1, sizeof *made->weight);
    made->slope = arena_array(memory, design->n_items + 1, sizeof *made->slope);
    made->gain = gain ? gain : arena_array(memory, response_size(design) + 1, sizeof *made->gain);
    made->told_at = arena_array(memory, made->told + 1, sizeof *made->told_at);
    if (!made->column || !made->weight || !made->slope || !made->gain || !made->told_at) return false;
    for (size_t j = 0; j < made->n; j++)
        if (matters(design, j)) made->column[made->columns++] = j;
    return true;
}

bool response_bench_create(response_bench *made, arena *memory, const hl_design *design)
{
    size_t n = response_rows(design) + told_room(design), columns = response_columns(design);
    made->matrix = arena_array(memory, columns * columns + 1, sizeof *made->matrix);
    made->asked = arena_array(memory, n + 1, sizeof *made->asked);
    made->start = arena_array(memory, n + 1, sizeof *made->start);
    made->column = arena_array(memory, n + 1, sizeof *made->column);
    made->row = arena_array(memory, columns + 1, sizeof *made->row);
    made->missed = arena_array(memory, n + 1, sizeof *made->missed);
    made->held = arena_array(memory, columns + 1, sizeof *made->held);
    made->besides = arena_array(memory, columns + 1, sizeof *made->besides);
    made->sum = arena_array(memory, reach_of(design) + 1, sizeof *made->sum);
    made->pivot = arena_array(memory, columns + 1, sizeof *made->pivot);
    made->untold = arena_array(memory, 1, sizeof *made->untold);
    return made->matrix && made->asked && made->start && made->column && made->row && made->missed &&
           made->held && made->besides && made->sum && made->pivot && made->untold;
}

/* ----------------------------------------------------------- differences -- */

static bool late_round(hl_workspace *work)
{
    const round_way way = {LATE_WALK, true, false, 1e-3};
    round_end end;
    return round_make(work, &way, &end) == HL_STAGE_SOLVED && end.heat == HL_OK;
}

/* The unknowns a round made, behind them its losses, and what is told besides. */
static void pack_all(const told *list, const hl_workspace *work, double made[])
{
    told_pack(list, work, made + response_rows(work->design));
    round_pack(work, made);
    made += round_unknowns(work->design);
    for (size_t i = 0; i < work->design->n_items; i++) *made++ = work->items[i].watts;
    for (size_t i = 0; i < work->design->n_stages; i++) *made++ = work->stages[i].out.circuit_loss;
}

static double step_of(const hl_workspace *work, size_t unknown, double at)
{
    if (unknown >= 3 * work->design->n_stages) return small_kelvin;
    if (unknown % 3 == 2) return small_share * fmax(fabs(at), 1e-3);
    return small_share * fmax(fabs(work->stages[unknown / 3].input_power), 1e-2);
}

/* One column of J.  The walk asks anew only the stages that feel the change. */
static bool difference(hl_workspace *work, const response *of, size_t unknown, double column[])
{
    size_t rows = of->rows;
    const response_bench *bench = &work->bench;
    double step = step_of(work, unknown, bench->asked[unknown]);
    memcpy(column, bench->asked, round_unknowns(work->design) * sizeof *column);
    column[unknown] += step;
    round_unpack(work, column);
    if (!late_round(work)) return false;
    pack_all(of->list, work, column);
    for (size_t i = 0; i < rows + of->told; i++) {
        column[i] = (column[i] - bench->start[i]) / step;
        if (fabs(column[i]) < (double)FLT_MAX) continue;
        if (i < rows) return false;
        column[i] = 0; /* what no float holds is not told */
    }
    return true;
}

/* What counts as one of an unknown. */
static double unit_of(const hl_workspace *work, size_t unknown)
{
    if (unknown >= 3 * work->design->n_stages) return 100;
    const stage_state *stage = &work->stages[unknown / 3];
    return fmax(fabs(unknown % 3 == 2 ? stage->voltage : stage->input_power), 1e-3);
}

static double weight_of(const hl_workspace *work, size_t unknown, const double column[])
{
    double most = 0, unit = unit_of(work, unknown), power = fmax(work->figures.input, 1e-3);
    size_t n = round_unknowns(work->design);
    for (size_t i = 0; i < n; i++) most = fmax(most, fabs(column[i]) * unit / unit_of(work, i));
    for (size_t i = n; i < response_rows(work->design); i++)
        most = fmax(most, fabs(column[i]) * unit / power);
    return most;
}

/* ----------------------------------------------------------- elimination -- */

/* The transpose of 1 - J among the columns, row by row, into triangles; rows are changed for the greatest
 * pivot.  false: singular. */
static bool eliminate(const response_bench *bench, size_t m)
{
    double *a = bench->matrix;
    for (size_t c = 0; c < m; c++) {
        size_t best = c;
        for (size_t i = c + 1; i < m; i++)
            if (fabs(a[i * m + c]) > fabs(a[best * m + c])) best = i;
        if (!(fabs(a[best * m + c]) > 1e-12)) return false;
        bench->pivot[c] = best;
        for (size_t k = 0; best != c && k < m; k++) {
            double kept = a[c * m + k];
            a[c * m + k] = a[best * m + k];
            a[best * m + k] = kept;
        }
        for (size_t i = c + 1; i < m; i++) {
            double factor = a[i * m + c] /= a[c * m + c];
            if (factor == 0) continue;
            for (size_t k = c + 1; k < m; k++) a[i * m + k] -= factor * a[c * m + k];
        }
    }
    return true;
}

static void solve_transposed(const response_bench *bench, size_t m, double x[])
{
    const double *a = bench->matrix;
    for (size_t c = 0; c < m; c++) {
        double kept = x[c];
        x[c] = x[bench->pivot[c]];
        x[bench->pivot[c]] = kept;
    }
    for (size_t i = 1; i < m; i++)
        for (size_t k = 0; k < i; k++) x[i] -= a[i * m + k] * x[k];
    for (size_t i = m; i-- > 0;) {
        for (size_t k = i + 1; k < m; k++) x[i] -= a[i * m + k] * x[k];
        x[i] /= a[i * m + i];
    }
}

/* A row of J to one of the product; false: it is nought, and stays. */
static bool follow_row(const response_bench *bench, size_t m)
{
    bool nought = true;
    for (size_t j = 0; j < m; j++) nought = nought && bench->row[j] == 0;
    if (!nought) solve_transposed(bench, m, bench->row);
    return !nought;
}

static float held_by_float(double figure)
{
    return fabs(figure) < (double)FLT_MAX ? (float)figure : 0.0f;
}

/* J (1 - J)^-1, row by row: a row x of the product solves x (1 - J) = row of J. */
static bool invert(response *to, const response_bench *bench)
{
    size_t m = to->columns, reach = to->reach;
    for (size_t j = 0; j < m; j++)
        for (size_t i = 0; i < m; i++)
            bench->matrix[j * m + i] = (i == j) - (double)to->gain[j * reach + to->column[i]];
    if (!eliminate(bench, m)) return false;
    for (size_t i = 0; i < to->rows + to->told; i++) {
        for (size_t j = 0; j < m; j++) bench->row[j] = (double)to->gain[j * reach + i];
        if (!follow_row(bench, m)) continue;
        for (size_t j = 0; j < m; j++) to->gain[j * reach + i] = held_by_float(bench->row[j]);
    }
    return true;
}

/* ----------------------------------------------------------------- learn -- */

bool response_learn(response *to, hl_workspace *work)
{
    to->known = false;
    if (!work->network || work->outcome != HL_SOLVED) return false;
    round_pack(work, work->bench.asked);
    if (!late_round(work)) return false;
    pack_all(to->list, work, work->bench.start);
    for (size_t i = 0; i < work->design->n_items; i++) to->slope[i] = work->items[i].loss.slope;
    memcpy(to->told_at, work->bench.start + to->rows, to->told * sizeof *to->told_at);
    to->knows_told = told_fits(to->list, work);
    for (size_t j = 0; j < to->columns; j++) {
        double *column = work->bench.column;
        if (!difference(work, to, to->column[j], column)) return false;
        for (size_t i = 0; i < to->rows + to->told; i++) to->gain[j * to->reach + i] = (float)column[i];
        to->knows_told = to->knows_told && told_fits(to->list, work);
        to->weight[j] = weight_of(work, to->column[j], column);
    }
    return to->known = invert(to, &work->bench);
}

/* ------------------------------------------------------------------ apply -- */

/* Numbers from `first` on of one column and then another, added to sums that are fetched and put back once.
 */
FOUR_LANES static void add_two(float *sum, const mean_column two[2], size_t first, size_t n)
{
    const float *a = two[0].from[0], *b = two[0].from[1], *c = two[0].from[2], *d = two[0].from[3];
    const float *e = two[1].from[0], *f = two[1].from[1], *g = two[1].from[2], *h = two[1].from[3];
    float wa = two[0].weight[0], wb = two[0].weight[1], wc = two[0].weight[2], wd = two[0].weight[3];
    float we = two[1].weight[0], wf = two[1].weight[1], wg = two[1].weight[2], wh = two[1].weight[3];
    for (size_t i = first; i < n; i += EIGHT) {
        eight one = (wa * eight_at(a + i) + wb * eight_at(b + i)) +
                    (wc * eight_at(c + i) + wd * eight_at(d + i)),
              other = (we * eight_at(e + i) + wf * eight_at(f + i)) +
                      (wg * eight_at(g + i) + wh * eight_at(h + i));
        eight_at(sum + i) += one + other;
    }
}

static mean_column column_of(const response_mean *near, size_t j, double miss)
{
    mean_column made;
    for (size_t k = 0; k < RESPONSES_MOST; k++) {
        bool there = k < near->n;
        const response *from = near->from[there ? k : 0];
        made.from[k] = &from->gain[j * from->reach];
        made.weight[k] = there ? (float)(near->weight[k] * miss) : 0.0f;
    }
    return made;
}

/* One over what counts as one of each unknown: see unit_of. */
static void fill_scales(const hl_workspace *work, double scale[])
{
    size_t circuit = 3 * work->design->n_stages, n = round_unknowns(work->design);
    for (size_t i = 0; i < work->design->n_stages; i++) {
        scale[3 * i] = scale[3 * i + 1] = 1 / unit_of(work, 3 * i);
        scale[3 * i + 2] = 1 / unit_of(work, 3 * i + 2);
    }
    double kelvin = 1 / unit_of(work, circuit);
    for (size_t i = circuit; i < n; i++) scale[i] = kelvin;
}

/* The columns whose miss comes to something; besides them, those that do for what is told alone. */
static void take_miss(const response_mean *near, hl_workspace *work)
{
    const response *one = near->from[0];
    response_bench *bench = &work->bench;
    double *scale = bench->column, *weight = bench->row;
    fill_scales(work, scale);
    memcpy(weight, one->weight, one->columns * sizeof *weight); /* the greatest of all */
    for (size_t k = 1; k < near->n; k++) vector_raise(weight, near->from[k]->weight, one->columns);
    bench->n_held = bench->n_besides = 0;
    for (size_t j = 0; j < one->columns; j++) {
        double miss = bench->missed[one->column[j]], share = fabs(miss) * scale[one->column[j]];
        if (share * weight[j] > lightest)
            bench->held[bench->n_held++] = column_of(near, j, miss);
        else if (share * told_weight > lightest)
            bench->besides[bench->n_besides++] = j;
    }
}

/* Rows `first` to `last` of the mean gain times the miss of the first n columns held; whole eights, so
 * numbers around those rows as well. */
static const float *gain_at_miss(const response_mean *near, const hl_workspace *work, size_t n, size_t first,
                                 size_t last)
{
    const response_bench *bench = &work->bench;
    size_t begin = first / EIGHT * EIGHT, end = (last + EIGHT - 1) / EIGHT * EIGHT;
    memset(bench->sum + begin, 0, (end - begin) * sizeof *bench->sum);
    if (n % 2) bench->held[n] = column_of(near, 0, 0);
    for (size_t j = 0; j < n; j += 2) add_two(bench->sum, &bench->held[j], begin, last);
    return bench->sum;
}

void response_apply(const response_mean *near, hl_workspace *work, const double handed[], double made[])
{
    size_t n = near->from[0]->n;
    for (size_t i = 0; i < n; i++) work->bench.missed[i] = made[i] - handed[i];
    take_miss(near, work);
    const float *more = gain_at_miss(near, work, work->bench.n_held, 0, n);
    for (size_t i = 0; i < n; i++) made[i] += (double)more[i];
}

void response_losses(const response_mean *near, const hl_workspace *work, double more[])
{
    const response *one = near->from[0];
    const float *said = gain_at_miss(near, work, work->bench.n_held, one->n, one->rows);
    for (size_t i = one->n; i < one->rows; i++) more[i - one->n] = (double)said[i];
    double *slope = work->bench.column;
    memset(slope, 0, one->items * sizeof *slope);
    for (size_t k = 0; k < near->n; k++) vector_add(slope, near->weight[k], near->from[k]->slope, one->items);
    for (size_t i = 0; i < one->items; i++) {
        const item_state *item = &work->items[i];
        if (work->design->items[i].shown.node < 0) continue;
        more[i] += (item->loss.slope - slope[i]) * (item->temperature - item->booked_at);
    }
}

bool response_knows_told(const response_mean *near, const hl_workspace *work)
{
    for (size_t k = 0; k < near->n; k++)
        if (!near->from[k]->knows_told || near->from[k]->list != near->from[0]->list) return false;
    return near->n && told_fits(near->from[0]->list, work);
}

size_t response_hold_told(const response_mean *near, const hl_workspace *work)
{
    const response_bench *bench = &work->bench;
    const size_t *column = near->from[0]->column;
    size_t n = bench->n_held;
    for (size_t k = 0; k < bench->n_besides; k++)
        bench->held[n++] = column_of(near, bench->besides[k], bench->missed[column[bench->besides[k]]]);
    return n;
}

void response_told(const response_mean *near, const hl_workspace *work, size_t held, size_t first,
                   size_t last, double more[])
{
    size_t rows = near->from[0]->rows;
    const float *said = gain_at_miss(near, work, held, rows + first, rows + last);
    for (size_t i = first; i < last; i++) more[i - first] = (double)said[rows + i];
}

bool response_moved(const response *known, hl_workspace *work, double moved[])
{
    const response_bench *bench = &work->bench;
    const response_mean here = {.from = {known}, .weight = {1}, .n = 1};
    round_unpack(work, bench->asked);
    electrical_ask_anew(work);
    if (!late_round(work)) return false;
    round_pack(work, moved);
    for (size_t i = 0; i < known->n; i++) {
        bench->missed[i] = moved[i] -= bench->start[i];
        if (!isfinite(moved[i])) return false;
    }
    take_miss(&here, work);
    const float *more = gain_at_miss(&here, work, bench->n_held, 0, known->n);
    for (size_t i = 0; i < known->n; i++) moved[i] += (double)more[i];
    return true;
}
