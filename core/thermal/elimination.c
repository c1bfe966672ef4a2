/* elimination.c - LU factors of a small matrix with a symmetric pattern, by a plan made once.
 *
 * The order is that of the least degree (Tinney & Walker 1967, Proc. IEEE 55, scheme 2; Duff, Erisman & Reid,
 * Direct Methods for Sparse Matrices, ch. 7): the node with the fewest neighbours left goes first, and its
 * neighbours become neighbours of one another.  Nodes that most others are tied to, air, walls and boards, so
 * come last: the last twelve, the tail, are kept as whole rows, noughts and all, and what earlier pivots have
 * in common with them too, so that it is worked through four numbers at a time.  Among the pivots before, the
 * head, the plan lists where the products of a column and a row go; to subtract them takes no search and no
 * scratch row. */
#include "thermal/elimination.h"

#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include "wave/lanes.h"

/* Positions are kept in 16 bits; a longer plan would not stay in the cache next to the numbers. */
enum { NODES_MAX = 512, NUMBERS_MAX = 65535, PRODUCTS_MAX = 100000 };

/* Nodes of the tail, in whole lanes; of a network that has fewer, the rest are nought. */
enum { TAIL = 3 * LANES };

typedef unsigned short position;

/* Two pivots of the head that are tied, the earlier first. */
typedef struct pair {
    int pivot, other;
} pair;

/* One of a pivot's neighbours in the tail, and where its row lies there. */
typedef struct tail_row {
    position turn, at;
} tail_row;

struct elimination {
    int n, entries, fill; /* fill: numbers on one side of the diagonal */
    int head;             /* pivots before the tail */
    bool regular;
    int *order;     /* node by its turn */
    int *begin;     /* of each pivot's neighbours; n + 1 */
    int *neighbour; /* turns, rising */
    int *split;     /* of each pivot of the head: the first of its neighbours in the tail */
    int n_inner;
    pair *inner;       /* pivot by pivot, its neighbours within the head */
    int *inner_begin;  /* of each pivot of the head, and the end of the last */
    position *place;   /* of each entry of the matrix among the numbers */
    position *product; /* pivot by pivot of the head: column by row, the place each product is added to */
    tail_row *in_tail; /* pivot by pivot of the head */
    int n_filled;
    position *filled;   /* places before the tail that hold no entry, but come to hold products */
    int room;           /* of a right side by turn, head and tail each in whole lanes */
    double *right_side; /* two of them */

    size_t numbers;
    double *number;        /* where all of these lie: n pivots, as inverses, first */
    double *right, *below; /* [n_inner] right of and below pivots, within the head; shares of the pivot, less
                            * than nought as they stand here, as are the factors below */
    double *across, *down; /* [head, in whole lanes][TAIL] the same in the tail's columns and rows */
    double *tail;          /* [TAIL][TAIL] its rows */
    double *lower, *upper; /* [TAIL][TAIL] its factors, column by column */
};

/* ------------------------------------------------------------------ order -- */

/* Who is tied to whom, one byte a pair, while the plan is made. */
typedef struct ties {
    int n;
    bool *tied, *gone;
    int *degree;
} ties;

static bool *tie(const ties *t, int a, int b)
{
    return &t->tied[(size_t)a * (size_t)t->n + (size_t)b];
}

static int least_tied(const ties *t)
{
    int best = -1;
    for (int i = 0; i < t->n; i++)
        if (!t->gone[i] && (best < 0 || t->degree[i] < t->degree[best])) best = i;
    return best;
}

static void tie_neighbours(ties *t, const int list[], int count)
{
    for (int i = 0; i < count; i++)
        for (int j = 0; j < i; j++) {
            if (*tie(t, list[i], list[j])) continue;
            *tie(t, list[i], list[j]) = *tie(t, list[j], list[i]) = true;
            t->degree[list[i]]++;
            t->degree[list[j]]++;
        }
}

/* The nodes still there that `node` is tied to; it leaves them. */
static int leave(ties *t, int node, int list[])
{
    int count = 0;
    for (int i = 0; i < t->n; i++)
        if (!t->gone[i] && i != node && *tie(t, node, i)) list[count++] = i;
    t->gone[node] = true;
    for (int i = 0; i < count; i++) t->degree[list[i]]--;
    return count;
}

static bool ties_begin(ties *t, int n, const int column[], const int row[])
{
    size_t size = (size_t)n;
    *t = (ties){n, calloc(size * size, sizeof(bool)), calloc(size, sizeof(bool)), calloc(size, sizeof(int))};
    if (!t->tied || !t->gone || !t->degree) return false;
    for (int j = 0; j < n; j++)
        for (int p = column[j]; p < column[j + 1]; p++)
            if (row[p] != j && !*tie(t, row[p], j)) {
                *tie(t, row[p], j) = true;
                t->degree[j]++;
            }
    return true;
}

static void ties_end(ties *t)
{
    free(t->tied);
    free(t->gone);
    free(t->degree);
}

/* Order and neighbours; how many products it comes to, or -1: too many. */
static int eliminate_ties(elimination *e, ties *t)
{
    int products = 0;
    for (int turn = 0; turn < e->n; turn++) {
        int node = least_tied(t), *list = e->neighbour + e->fill;
        int count = leave(t, node, list);
        tie_neighbours(t, list, count);
        e->order[turn] = node;
        e->fill += count;
        e->begin[turn + 1] = e->fill;
        products += count * count;
        if (products > PRODUCTS_MAX || e->n + 2 * (e->fill + e->n) > NUMBERS_MAX) return -1;
    }
    return products;
}

static int rising(const void *left, const void *right)
{
    const int *a = left, *b = right;
    return (*a > *b) - (*a < *b);
}

/* From nodes to turns. */
static void number_by_turn(elimination *e, int turn[])
{
    for (int k = 0; k < e->n; k++) turn[e->order[k]] = k;
    for (int k = 0; k < e->n; k++) {
        int *list = e->neighbour + e->begin[k], count = e->begin[k + 1] - e->begin[k];
        for (int i = 0; i < count; i++) list[i] = turn[list[i]];
        qsort(list, (size_t)count, sizeof *list, rising);
    }
}

/* ------------------------------------------------------------------- plan -- */

static int in_whole_lanes(int count)
{
    return (count + LANES - 1) / LANES * LANES;
}

/* Where the numbers of each kind begin, one after another; returns how many there are. */
static size_t lay_out(elimination *e)
{
    size_t at = (size_t)in_whole_lanes(e->n), fill = (size_t)e->fill, square = TAIL * TAIL;
    size_t rows = (size_t)in_whole_lanes(e->head) * TAIL;
    const struct {
        double **kind;
        size_t size;
    } part[] = {{&e->right, fill},  {&e->below, fill},   {&e->across, rows}, {&e->down, rows},
                {&e->tail, square}, {&e->lower, square}, {&e->upper, square}};
    for (size_t k = 0; k < sizeof part / sizeof part[0]; k++) {
        if (e->number) *part[k].kind = e->number + at;
        at += part[k].size;
    }
    return at;
}

/* Among a pivot's neighbours, the first that is not before `turn`. */
static int seek(const elimination *e, int pivot, int turn)
{
    int low = e->begin[pivot], high = e->begin[pivot + 1];
    while (low < high) {
        int middle = low + (high - low) / 2;
        if (e->neighbour[middle] < turn)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Where the number of a row and a column lies, both as turns; its place is there by the fill. */
static position place_of(const elimination *e, int row, int column)
{
    int pivot = row < column ? row : column, other = row < column ? column : row, in_tail = other - e->head;
    const double *at = e->number + row;
    if (pivot >= e->head)
        at = e->tail + (row - e->head) * TAIL + column - e->head;
    else if (in_tail >= 0)
        at = (row < column ? e->across : e->down) + pivot * TAIL + in_tail;
    else if (row != column)
        at = (row < column ? e->right : e->below) + e->inner_begin[pivot] + seek(e, pivot, other) -
             e->begin[pivot];
    return (position)(at - e->number);
}

static void plan_pairs(elimination *e)
{
    for (int k = 0; k < e->head; k++) {
        e->split[k] = seek(e, k, e->head);
        e->inner_begin[k] = e->n_inner;
        for (int i = e->begin[k]; i < e->split[k]; i++) e->inner[e->n_inner++] = (pair){k, e->neighbour[i]};
    }
    e->inner_begin[e->head] = e->n_inner;
    tail_row *next = e->in_tail;
    for (int k = 0; k < e->head; k++)
        for (int i = e->split[k]; i < e->begin[k + 1]; i++) {
            int turn = e->neighbour[i] - e->head;
            *next++ = (tail_row){(position)turn, (position)(turn * TAIL)};
        }
}

static void plan_products(elimination *e)
{
    position *product = e->product;
    for (int k = 0; k < e->head; k++) {
        for (int i = e->begin[k]; i < e->split[k]; i++)
            for (int j = e->begin[k]; j < e->split[k]; j++)
                *product++ = place_of(e, e->neighbour[i], e->neighbour[j]);
    }
}

/* Entries, and what fills up besides them; `entered`: room for a mark of each number. */
static void plan_places(elimination *e, const int column[], const int row[], const int turn[], bool entered[])
{
    for (int j = 0; j < e->n; j++)
        for (int p = column[j]; p < column[j + 1]; p++)
            entered[e->place[p] = place_of(e, turn[row[p]], turn[j])] = true;
    for (int k = 0; k < e->head; k++)
        for (int p = e->begin[k]; p < e->begin[k + 1]; p++) {
            const position at[] = {place_of(e, k, e->neighbour[p]), place_of(e, e->neighbour[p], k)};
            for (int side = 0; side < 2; side++)
                if (!entered[at[side]]) e->filled[e->n_filled++] = at[side];
        }
}

static bool make_plan(elimination *e, const int column[], const int row[], bool *fits)
{
    size_t n = (size_t)e->n;
    ties t;
    int *turn = calloc(n, sizeof *turn);
    bool begun = ties_begin(&t, e->n, column, row), *entered = NULL;
    int products = begun && turn ? eliminate_ties(e, &t) : -1;
    *fits = products >= 0 || !begun || !turn;
    ties_end(&t);
    if (products >= 0) {
        e->head = e->n > TAIL ? e->n - TAIL : 0;
        e->numbers = lay_out(e);
        e->place = malloc(((size_t)e->entries + 1) * sizeof *e->place);
        e->product = malloc(((size_t)products + 1) * sizeof *e->product);
        e->in_tail = malloc(((size_t)e->fill + 1) * sizeof *e->in_tail);
        e->filled = malloc((2 * (size_t)e->fill + 1) * sizeof *e->filled);
        e->split = malloc(n * sizeof *e->split);
        e->inner = malloc(((size_t)e->fill + 1) * sizeof *e->inner);
        e->inner_begin = malloc(n * sizeof *e->inner_begin + sizeof *e->inner_begin);
        e->number = calloc(e->numbers, sizeof *e->number);
        e->room = in_whole_lanes(e->head) + TAIL;
        e->right_side = calloc(2 * (size_t)e->room, sizeof *e->right_side);
        entered = calloc(e->numbers, sizeof *entered);
    }
    bool good = e->place && e->product && e->in_tail && e->filled && e->split && e->inner && e->inner_begin &&
                e->number && e->right_side && entered;
    if (good) {
        (void)lay_out(e);
        number_by_turn(e, turn);
        plan_pairs(e);
        plan_products(e);
        plan_places(e, column, row, turn, entered);
    }
    free(turn);
    free(entered);
    return good;
}

elimination *elimination_create(int n, const int column[], const int row[], bool *fits)
{
    *fits = n >= 1 && n <= NODES_MAX;
    if (!*fits) return NULL;
    elimination *e = calloc(1, sizeof *e);
    if (!e) return NULL;
    e->n = n;
    e->entries = column[n];
    e->regular = true;
    e->order = calloc((size_t)n, sizeof *e->order);
    e->begin = calloc((size_t)n + 1, sizeof *e->begin);
    e->neighbour = malloc((NUMBERS_MAX / 2 + 1) * sizeof *e->neighbour);
    if (e->order && e->begin && e->neighbour && make_plan(e, column, row, fits)) return e;
    elimination_destroy(e);
    return NULL;
}

void elimination_destroy(elimination *e)
{
    if (!e) return;
    void *blocks[] = {e->order, e->begin,   e->neighbour, e->split,  e->inner,  e->inner_begin,
                      e->place, e->product, e->in_tail,   e->filled, e->number, e->right_side};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(e);
}

/* ---------------------------------------------------------------- numbers -- */

/* The matrix in its places, and nought where it fills up.  What is no number spreads over noughts that are
 * never written else: then all are written. */
static void enter(elimination *e, const double value[])
{
    if (!e->regular) memset(e->number, 0, e->numbers * sizeof *e->number);
    memset(e->tail, 0, TAIL * TAIL * sizeof *e->tail);
    const position *place = e->place, *filled = e->filled;
    double *number = e->number;
    const size_t entries = (size_t)e->entries, n_filled = (size_t)e->n_filled;
#pragma GCC unroll 8
    for (size_t i = 0; i < n_filled; i++) number[filled[i]] = 0;
#pragma GCC unroll 8
    for (size_t p = 0; p < entries; p++) number[place[p]] = value[p];
}

/* A row of the tail's width, held in registers. */
typedef struct wide {
    lanes part[TAIL / LANES];
} wide;

WITHIN_LANES void load_row(wide *row, const double *from)
{
    for (int i = 0; i < TAIL / LANES; i++) row->part[i] = lanes_load(from + i * LANES);
}

WITHIN_LANES void store_row(double *to, const wide *row)
{
    for (int i = 0; i < TAIL / LANES; i++) lanes_store(to + i * LANES, row->part[i]);
}

/* A sum that takes one of its terms from memory. */
WITHIN_LANES void add_share_of(double *row, double share, const wide *other)
{
    for (int i = 0; i < TAIL; i += LANES)
        lanes_store(row + i, share * other->part[i / LANES] + lanes_load(row + i));
}

WITHIN_LANES void add_share(double *row, double share, const double *other)
{
    wide held;
    load_row(&held, other);
    add_share_of(row, share, &held);
}

/* What lanes write may lie anywhere, for all the compiler knows: so these work on a copy of the plan. */
FOUR_LANES static void factor_head(const elimination *plan)
{
    const elimination e = *plan;
    const position *product = e.product;
    const tail_row *row = e.in_tail;
    for (int k = 0; k < e.head; k++) {
        double inverse = e.number[k] = 1 / e.number[k], less = -inverse;
        double *shares = e.down + k * TAIL;
        wide across, down;
        load_row(&across, e.across + k * TAIL);
        load_row(&down, shares);
        for (int i = 0; i < TAIL / LANES; i++) down.part[i] *= less;
        store_row(shares, &down);
        int begin = e.inner_begin[k], end = e.inner_begin[k + 1];
        for (int i = begin; i < end; i++) {
            double share = e.below[i] *= less;
            for (int j = begin; j < end; j++) e.number[*product++] += share * e.right[j];
            ptrdiff_t other = (ptrdiff_t)e.inner[i].other * TAIL;
            add_share_of(e.across + other, share, &across);
            add_share_of(e.down + other, e.right[i], &down);
        }
        for (int i = begin; i < end; i++) e.right[i] *= less;
        for (const tail_row *last = row + (e.begin[k + 1] - e.split[k]); row < last; row++)
            add_share_of(e.tail + row->at, shares[row->turn], &across);
    }
}

FOUR_LANES static void factor_tail(const elimination *plan)
{
    const elimination e = *plan;
    for (int k = 0; k < e.n - e.head; k++) {
        const double *row = e.tail + k * TAIL;
        double inverse = e.number[e.head + k] = 1 / row[k];
        wide pivotal;
        load_row(&pivotal, row);
        for (int i = k + 1; i < e.n - e.head; i++) {
            double share = -(e.tail[i * TAIL + k] * inverse);
            e.lower[k * TAIL + i] = share;
            e.upper[i * TAIL + k] = -row[i];
            add_share_of(e.tail + i * TAIL, share, &pivotal);
        }
    }
}

/* Are all above nought, and numbers? */
FOUR_LANES static bool all_positive(const double inverse[], int n)
{
    lanes_mask wrong = {0, 0, 0, 0};
    int k = 0;
    for (; k + LANES <= n; k += LANES) {
        lanes some = lanes_load(inverse + k);
        wrong |= ~((some > 0) & (some < INFINITY));
    }
    bool positive = !lanes_any(&wrong);
    for (; k < n; k++) positive &= inverse[k] > 0 && inverse[k] < INFINITY;
    return positive;
}

/* By the pivots' inverses: that of an infinite one is nought. */
bool elimination_factor(elimination *e, const double value[])
{
    enter(e, value);
    factor_head(e);
    factor_tail(e);
    bool positive = all_positive(e->number, e->n);
    e->regular = true;
    for (int k = 0; !positive && k < e->n; k++) e->regular &= isfinite(e->number[k]) && e->number[k] != 0;
    return positive;
}

bool elimination_is_regular(const elimination *e)
{
    return e->regular;
}

/* Four pivots' right sides less what their rows take of the tail, over the pivots. */
WITHIN_LANES void take_across(double *x, const double *across, const double *tail, const double *inverse)
{
    lanes row[LANES];
    for (int k = 0; k < LANES; k++) {
        row[k] = lanes_load(across + k * TAIL) * lanes_load(tail);
        for (int i = LANES; i < TAIL; i += LANES)
            row[k] += lanes_load(across + k * TAIL + i) * lanes_load(tail + i);
    }
    lanes_turned(row);
    lanes taken = (row[0] + row[1]) + (row[2] + row[3]);
    lanes_store(x, (lanes_load(x) - taken) * lanes_load(inverse));
}

WITHIN_LANES void solve_tail(const elimination *e, double *tail)
{
    int last = e->n - e->head;
    for (int k = 0; k < last; k++) add_share(tail, tail[k], e->lower + k * TAIL);
    for (int k = last - 1; k >= 0; k--) {
        tail[k] *= e->number[e->head + k];
        add_share(tail, tail[k], e->upper + k * TAIL);
    }
}

/* Through both factors: right sides by turn, `sides` of them one after another. */
WITHIN_LANES void solve_sides(const elimination *plan, double *first, int sides)
{
    const elimination e = *plan;
    double *x[] = {first, first + e.room};
#pragma GCC unroll 4
    for (int p = 0; p < e.n_inner; p++) {
        const pair *at = &e.inner[p];
        for (int i = 0; i < sides; i++) x[i][at->other] += e.below[p] * x[i][at->pivot];
    }
    for (int i = 0; i < sides; i++) {
        double *tail = x[i] + e.room - TAIL;
        for (int k = 0; k < e.head; k++) add_share(tail, x[i][k], e.down + k * TAIL);
        solve_tail(&e, tail);
        for (int k = 0; k < e.head; k += LANES)
            take_across(x[i] + k, e.across + k * TAIL, tail, e.number + k);
    }
#pragma GCC unroll 4
    for (int p = e.n_inner - 1; p >= 0; p--) {
        const pair *at = &e.inner[p];
        for (int i = 0; i < sides; i++) x[i][at->pivot] += e.right[p] * x[i][at->other];
    }
}

FOUR_LANES static void solve_one_side(const elimination *plan, double *x)
{
    solve_sides(plan, x, 1);
}

FOUR_LANES static void solve_two_sides(const elimination *plan, double *x)
{
    solve_sides(plan, x, 2);
}

static void sort_in(const elimination *e, const double vector[], double *x)
{
    double *tail = x + e->room - TAIL;
    const int *in_head = e->order, *in_tail = in_head + e->head;
    const size_t head = (size_t)e->head, last = (size_t)e->n - head;
#pragma GCC unroll 8
    for (size_t k = 0; k < head; k++) x[k] = vector[in_head[k]];
    for (size_t k = 0; k < last; k++) tail[k] = vector[in_tail[k]];
}

static void sort_out(const elimination *e, const double *x, double vector[])
{
    const double *tail = x + e->room - TAIL;
    const int *in_head = e->order, *in_tail = in_head + e->head;
    const size_t head = (size_t)e->head, last = (size_t)e->n - head;
#pragma GCC unroll 8
    for (size_t k = 0; k < head; k++) vector[in_head[k]] = x[k];
    for (size_t k = 0; k < last; k++) vector[in_tail[k]] = tail[k];
}

void elimination_solve(elimination *e, double vector[])
{
    sort_in(e, vector, e->right_side);
    solve_one_side(e, e->right_side);
    sort_out(e, e->right_side, vector);
}

void elimination_solve_two(elimination *e, double vector[], double other[])
{
    double *x = e->right_side, *y = x + e->room;
    sort_in(e, vector, x);
    sort_in(e, other, y);
    solve_two_sides(e, x);
    sort_out(e, x, vector);
    sort_out(e, y, other);
}
