/* response.c - the derivative of a round, by differences, and Newton's step with it.
 *
 * A solved point is a fixed point x = g(x) of the round g.  About it g(x) = g0 + J (x - x0), so from a miss
 * g(x) - x the fixed point is (1 - J)^-1 (g(x) - x) further on; beyond g(x) itself that is
 * ((1 - J)^-1 - 1) (g(x) - x) = J (1 - J)^-1 (g(x) - x).  Temperatures of nodes that hold no part only begin
 * the network's own Newton step: their columns are nought.
 * What a round says besides, the losses of parts and circuits, is followed to the fixed point in the same
 * way: y + Y (1 - J)^-1 (g(x) - x). source: Newton's method with a derivative kept from elsewhere, J. M.
 * Ortega, W. C. Rheinboldt, Iterative Solution of Nonlinear Equations, 1970, section 7.1; from memory */
#include "solve/response.h"

#include <math.h>
#include <string.h>

#include "solve/round.h"
#include "wave/lanes.h"

/* Steps of the differences: far above what a round leaves open, 1e-11, and small against what bends. */
static const double small_share = 1e-5, small_kelvin = 0.01;

/* Columns of less weight are left out beside an anchor where all were learnt: circuit, temperatures. Errors
 * of the circuit are parts in 1e4 when a start is good, those of temperatures a few tenths of a kelvin. */
static const double light_circuit = 1e-3, light_kelvin = 1e-4;

enum { FOUR = 4 }; /* responses in a mean, and columns at a time */

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

bool response_create(response *made, arena *memory, const hl_design *design, double *gain)
{
    made->n = round_unknowns(design);
    made->rows = response_rows(design);
    made->items = design->n_items;
    made->circuit = 3 * design->n_stages;
    made->known = made->surrounded = false;
    made->columns = 0;
    size_t columns = response_columns(design);
    made->column = arena_array(memory, columns + 1, sizeof *made->column);
    made->weight = arena_array(memory, columns + 1, sizeof *made->weight);
    made->slope = arena_array(memory, design->n_items + 1, sizeof *made->slope);
    made->gain = gain ? gain : arena_array(memory, columns * made->rows + 1, sizeof *made->gain);
    if (!made->column || !made->weight || !made->slope || !made->gain) return false;
    for (size_t j = 0; j < made->n; j++)
        if (matters(design, j)) made->column[made->columns++] = j;
    return true;
}

bool response_bench_create(response_bench *made, arena *memory, const hl_design *design)
{
    size_t n = response_rows(design), columns = response_columns(design);
    made->matrix = arena_array(memory, columns * columns + 1, sizeof *made->matrix);
    made->asked = arena_array(memory, n + 1, sizeof *made->asked);
    made->start = arena_array(memory, n + 1, sizeof *made->start);
    made->row = arena_array(memory, columns + 1, sizeof *made->row);
    made->pivot = arena_array(memory, columns + 1, sizeof *made->pivot);
    return made->matrix && made->asked && made->start && made->row && made->pivot;
}

/* ----------------------------------------------------------- differences -- */

static bool late_round(hl_workspace *work)
{
    const round_way way = {LATE_WALK, true, false, 1e-3};
    round_end end;
    return round_make(work, &way, &end) == HL_STAGE_SOLVED && end.heat == HL_OK;
}

/* The unknowns a round made, and behind them its losses. */
static void pack_all(const hl_workspace *work, double made[])
{
    round_pack(work, made);
    made += round_unknowns(work->design);
    for (size_t i = 0; i < work->design->n_items; i++) *made++ = loss_watts(&work->items[i].loss);
    for (size_t i = 0; i < work->design->n_stages; i++) *made++ = work->stages[i].out.circuit_loss;
}

static double step_of(const hl_workspace *work, size_t unknown, double at)
{
    if (unknown >= 3 * work->design->n_stages) return small_kelvin;
    if (unknown % 3 == 2) return small_share * fmax(fabs(at), 1e-3);
    return small_share * fmax(fabs(work->stages[unknown / 3].input_power), 1e-2);
}

/* One column of J.  The walk asks anew only the stages that feel the change. */
static bool difference(hl_workspace *work, size_t unknown, double column[])
{
    const response_bench *bench = &work->bench;
    double step = step_of(work, unknown, bench->asked[unknown]);
    memcpy(column, bench->asked, round_unknowns(work->design) * sizeof *column);
    column[unknown] += step;
    round_unpack(work, column);
    if (!late_round(work)) return false;
    pack_all(work, column);
    for (size_t i = 0; i < response_rows(work->design); i++) {
        column[i] = (column[i] - bench->start[i]) / step;
        if (!isfinite(column[i])) return false;
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
    double most = 0, unit = unit_of(work, unknown);
    for (size_t i = 0; i < round_unknowns(work->design); i++)
        most = fmax(most, fabs(column[i]) * unit / unit_of(work, i));
    return most;
}

void response_like(response *to, const response *elsewhere)
{
    to->columns = 0;
    for (size_t j = 0; j < elsewhere->columns; j++) {
        bool circuit = elsewhere->column[j] < elsewhere->circuit;
        if (elsewhere->weight[j] >= (circuit ? light_circuit : light_kelvin))
            to->column[to->columns++] = elsewhere->column[j];
    }
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

/* J (1 - J)^-1, row by row: a row x of the product solves x (1 - J) = row of J. */
static bool invert(response *to, const response_bench *bench)
{
    size_t m = to->columns, n = to->rows;
    for (size_t j = 0; j < m; j++)
        for (size_t i = 0; i < m; i++) bench->matrix[j * m + i] = (i == j) - to->gain[j * n + to->column[i]];
    if (!eliminate(bench, m)) return false;
    for (size_t i = 0; i < n; i++) {
        for (size_t j = 0; j < m; j++) bench->row[j] = to->gain[j * n + i];
        solve_transposed(bench, m, bench->row);
        for (size_t j = 0; j < m; j++) to->gain[j * n + i] = bench->row[j];
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
    pack_all(work, work->bench.start);
    for (size_t i = 0; i < work->design->n_items; i++) to->slope[i] = work->items[i].loss.slope;
    for (size_t j = 0; j < to->columns; j++) {
        double *column = &to->gain[j * to->rows];
        if (!difference(work, to->column[j], column)) return false;
        to->weight[j] = weight_of(work, to->column[j], column);
    }
    return to->known = invert(to, &work->bench);
}

/* Where `column` stands among the columns, which rise; SIZE_MAX: not there.  *from: where to look first. */
static size_t place_of(const response *known, size_t column, size_t *from)
{
    while (*from < known->columns && known->column[*from] < column) ++*from;
    return *from < known->columns && known->column[*from] == column ? *from : SIZE_MAX;
}

/* to += sum of four columns, each with its weight. */
FOUR_LANES static void add_four(double *restrict to, const double *const column[FOUR],
                                const double weight[FOUR], size_t n)
{
    const double *a = column[0], *b = column[1], *c = column[2], *d = column[3];
    double wa = weight[0], wb = weight[1], wc = weight[2], wd = weight[3];
    for (size_t i = 0; i < n; i++) to[i] += (wa * a[i] + wb * b[i]) + (wc * c[i] + wd * d[i]);
}

/* One column of the mean; false: some lack it. */
static bool mix_column(response *to, size_t unknown, const response *const from[], const double weight[],
                       size_t n, size_t at[])
{
    const double *column[FOUR];
    double share[FOUR] = {0};
    for (size_t k = 0; k < n; k++) {
        size_t place = place_of(from[k], unknown, &at[k]);
        if (place == SIZE_MAX) return false;
        column[k] = &from[k]->gain[place * to->rows];
        share[k] = weight[k];
    }
    for (size_t k = n; k < FOUR; k++) column[k] = column[0];
    double *gain = &to->gain[to->columns * to->rows];
    memset(gain, 0, to->rows * sizeof *gain);
    add_four(gain, column, share, to->rows);
    return true;
}

void response_between(response *to, const response *const from[], const double weight[], size_t n)
{
    for (size_t i = 0; i < to->items; i++) {
        to->slope[i] = 0;
        for (size_t k = 0; k < n; k++) to->slope[i] += weight[k] * from[k]->slope[i];
    }
    size_t at[FOUR] = {0};
    to->columns = 0;
    to->known = n > 0 && n <= FOUR;
    for (size_t j = 0; to->known && j < from[0]->columns; j++)
        if (mix_column(to, from[0]->column[j], from, weight, n, at))
            to->column[to->columns++] = from[0]->column[j];
}

static void take_miss(const response *known, const response_bench *bench, const double handed[],
                      const double made[])
{
    for (size_t j = 0; j < known->columns; j++)
        bench->row[j] = made[known->column[j]] - handed[known->column[j]];
}

/* Rows `first` to `last` of the gain times the miss, added to `vector`. */
static void add_gain(const response *known, const response_bench *bench, size_t first, size_t last,
                     double vector[])
{
    for (size_t j = 0; j < known->columns; j += FOUR) {
        const double *column[FOUR];
        double miss[FOUR] = {0};
        for (size_t k = 0; k < FOUR; k++) {
            bool there = j + k < known->columns;
            column[k] = &known->gain[(there ? j + k : j) * known->rows + first];
            if (there) miss[k] = bench->row[j + k];
        }
        add_four(vector, column, miss, last - first);
    }
}

void response_apply(const response *known, const response_bench *bench, const double handed[], double made[])
{
    take_miss(known, bench, handed, made);
    add_gain(known, bench, 0, known->n, made);
}

/* A part's own slope as the response holds it: none where its temperature was left out as of no weight. */
static double slope_held(const response *known, const hl_design *design, size_t item)
{
    size_t from = 0, unknown = known->circuit + (size_t)design->items[item].shown.node;
    return place_of(known, unknown, &from) != SIZE_MAX ? known->slope[item] : 0;
}

void response_losses(const response *known, const hl_workspace *work, double more[])
{
    memset(more, 0, (known->rows - known->n) * sizeof *more);
    add_gain(known, &work->bench, known->n, known->rows, more);
    for (size_t i = 0; i < work->design->n_items; i++) {
        const item_state *item = &work->items[i];
        if (work->design->items[i].shown.node < 0) continue;
        double off = item->loss.slope - slope_held(known, work->design, i);
        more[i] += off * (item->temperature - item->booked_at);
    }
}

bool response_moved(const response *known, hl_workspace *work, double moved[])
{
    const response_bench *bench = &work->bench;
    round_unpack(work, bench->asked);
    electrical_ask_anew(work);
    if (!late_round(work)) return false;
    round_pack(work, moved);
    for (size_t i = 0; i < known->n; i++) {
        moved[i] -= bench->start[i];
        if (!isfinite(moved[i])) return false;
    }
    for (size_t j = 0; j < known->columns; j++) bench->row[j] = moved[known->column[j]];
    add_gain(known, bench, 0, known->n, moved);
    return true;
}
