/* elimination.c - LU factors of a small matrix with a symmetric pattern, by a plan made once.
 *
 * The order is that of the least degree (Tinney & Walker 1967, Proc. IEEE 55, scheme 2; Duff, Erisman & Reid,
 * Direct Methods for Sparse Matrices, ch. 7): the node with the fewest neighbours left goes first, and its
 * neighbours become neighbours of one another.  The numbers lie in one array: the pivots (as inverses), then
 * row by row what is right of them, then column by column what is below.  For each pivot the plan lists where
 * the products of its column and its row go; to subtract them takes no search and no scratch row. */
#include "thermal/elimination.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Positions are kept in 16 bits; a longer plan would not stay in the cache next to the numbers. */
enum { NODES_MAX = 512, NUMBERS_MAX = 65535, PRODUCTS_MAX = 100000 };

typedef unsigned short position;

struct elimination {
    int n, entries, fill; /* fill: numbers on one side of the diagonal */
    bool regular;
    int *order;         /* node by its turn */
    int *begin;         /* of each pivot's neighbours; n + 1 */
    int *neighbour;     /* turns, rising */
    position *place;    /* of each entry of the matrix among the numbers */
    position *product;  /* pivot by pivot: column by row, the place each product is taken from */
    double *number;     /* n + 2 fill */
    double *right_side; /* by turn */
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

/* Where the number of a row and a column lies, both as turns; its place is there by the fill. */
static position place_of(const elimination *e, int row, int column)
{
    if (row == column) return (position)row;
    int pivot = row < column ? row : column, other = row < column ? column : row;
    int low = e->begin[pivot], high = e->begin[pivot + 1] - 1;
    while (low < high) {
        int middle = low + (high - low) / 2;
        if (e->neighbour[middle] < other)
            low = middle + 1;
        else
            high = middle;
    }
    return (position)(e->n + low + (row < column ? 0 : e->fill));
}

static void plan(elimination *e, const int column[], const int row[], const int turn[])
{
    for (int j = 0; j < e->n; j++)
        for (int p = column[j]; p < column[j + 1]; p++) e->place[p] = place_of(e, turn[row[p]], turn[j]);
    position *product = e->product;
    for (int k = 0; k < e->n; k++)
        for (int i = e->begin[k]; i < e->begin[k + 1]; i++)
            for (int j = e->begin[k]; j < e->begin[k + 1]; j++)
                *product++ = place_of(e, e->neighbour[i], e->neighbour[j]);
}

static bool make_plan(elimination *e, const int column[], const int row[], bool *fits)
{
    size_t n = (size_t)e->n;
    ties t;
    int *turn = calloc(n, sizeof *turn);
    bool begun = ties_begin(&t, e->n, column, row);
    int products = begun && turn ? eliminate_ties(e, &t) : -1;
    *fits = products >= 0 || !begun || !turn;
    ties_end(&t);
    if (products >= 0) {
        e->place = malloc(((size_t)e->entries + 1) * sizeof *e->place);
        e->product = malloc(((size_t)products + 1) * sizeof *e->product);
        e->number = calloc(n + 2 * (size_t)e->fill, sizeof *e->number);
        e->right_side = calloc(n, sizeof *e->right_side);
    }
    bool good = products >= 0 && e->place && e->product && e->number && e->right_side;
    if (good) {
        number_by_turn(e, turn);
        plan(e, column, row, turn);
    }
    free(turn);
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
    void *blocks[] = {e->order, e->begin, e->neighbour, e->place, e->product, e->number, e->right_side};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(e);
}

/* ---------------------------------------------------------------- numbers -- */

bool elimination_factor(elimination *e, const double value[])
{
    double *number = e->number;
    const position *product = e->product;
    bool positive = true, regular = true;
    memset(number, 0, ((size_t)e->n + 2 * (size_t)e->fill) * sizeof *number);
    for (int p = 0; p < e->entries; p++) number[e->place[p]] = value[p];
    for (int k = 0; k < e->n; k++) {
        double pivot = number[k], inverse = 1 / pivot;
        positive = positive && pivot > 0;
        regular = regular && isfinite(pivot) && isfinite(inverse);
        number[k] = inverse;
        int count = e->begin[k + 1] - e->begin[k];
        const double *right = number + e->n + e->begin[k];
        double *below = number + e->n + e->fill + e->begin[k];
        for (int i = 0; i < count; i++, product += count) {
            double share = below[i] *= inverse;
            for (int j = 0; j < count; j++) number[product[j]] -= share * right[j];
        }
    }
    e->regular = regular;
    return positive && regular;
}

bool elimination_is_regular(const elimination *e)
{
    return e->regular;
}

void elimination_solve(elimination *e, double vector[])
{
    double *x = e->right_side;
    const double *right = e->number + e->n, *below = right + e->fill;
    for (int k = 0; k < e->n; k++) x[k] = vector[e->order[k]];
    for (int k = 0; k < e->n; k++)
        for (int p = e->begin[k]; p < e->begin[k + 1]; p++) x[e->neighbour[p]] -= below[p] * x[k];
    for (int k = e->n - 1; k >= 0; k--) {
        double sum = x[k];
        for (int p = e->begin[k]; p < e->begin[k + 1]; p++) sum -= right[p] * x[e->neighbour[p]];
        vector[e->order[k]] = x[k] = sum * e->number[k];
    }
}
