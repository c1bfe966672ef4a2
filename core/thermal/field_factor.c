/* field_factor.c - supernodal Cholesky factorisation (E. G. Ng & B. W. Peyton 1993, SIAM J. Sci. Comput. 14;
 * Davis 2006, Direct Methods for Sparse Linear Systems, chapter 4), right-looking: a finished panel is
 * subtracted from the panels of its rows at once.
 *
 * Rows of a panel are kept in strips of four: for each column the four values side by side.  All work is then
 * one product of a strip with a strip, four by four sums held in registers, with two values to an
 * instruction on every x86-64.  Each sum runs over the columns in their order whatever the machine, so the
 * digits are the same on all. */
#include "thermal/field_factor.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef double pair_of __attribute__((vector_size(16), may_alias));

enum { STRIP = 4, HALVES = STRIP / 2, CACHE_LINE = 64 };

struct field_factor {
    int n, panels, most_rows;
    int *first, *begin, *row;
    int *panel_of;    /* per column */
    size_t *value_at; /* panels + 1: where a panel's strips begin */
    double *value;
    double *update; /* one column strip of what a panel subtracts from others */
    size_t *target; /* where each row of the update lies in the panel it goes to */
};

/* sum[c] of four rows: over k of wide[k][4 rows] x narrow[k][c], for c = 0 to 3. */
static inline void multiply(int depth, const double *wide, int wide_step, const double *narrow,
                            int narrow_step, pair_of sum[STRIP * HALVES])
{
    pair_of a0 = {0, 0}, a1 = a0, b0 = a0, b1 = a0, c0 = a0, c1 = a0, d0 = a0, d1 = a0;
    for (int k = 0; k < depth; k++) {
        const pair_of *w = (const pair_of *)wide;
        pair_of low = w[0], high = w[1];
        a0 += low * narrow[0];
        a1 += high * narrow[0];
        b0 += low * narrow[1];
        b1 += high * narrow[1];
        c0 += low * narrow[2];
        c1 += high * narrow[2];
        d0 += low * narrow[3];
        d1 += high * narrow[3];
        wide += wide_step;
        narrow += narrow_step;
    }
    const pair_of all[] = {a0, a1, b0, b1, c0, c1, d0, d1};
    memcpy(sum, all, sizeof all);
}

static int strips_of(int rows)
{
    return (rows + STRIP - 1) / STRIP;
}

static int rows_of(const field_factor *f, int panel)
{
    return f->begin[panel + 1] - f->begin[panel];
}

static int columns_of(const field_factor *f, int panel)
{
    return f->first[panel + 1] - f->first[panel];
}

static double *strip_at(const field_factor *f, int panel, int strip)
{
    return f->value + f->value_at[panel] + (size_t)strip * (size_t)(STRIP * columns_of(f, panel));
}

/* ---------------------------------------------------------------- create -- */

static int *copy_of(const int *list, size_t n)
{
    int *copy = malloc((n + 1) * sizeof *copy);
    if (copy) memcpy(copy, list, n * sizeof *copy);
    return copy;
}

static void *aligned_doubles(size_t n)
{
    size_t line = CACHE_LINE / sizeof(double);
    return aligned_alloc(CACHE_LINE, (n + line) / line * CACHE_LINE);
}

static void lay_out(field_factor *f)
{
    f->value_at[0] = 0;
    for (int p = 0; p < f->panels; p++) {
        size_t strips = (size_t)strips_of(rows_of(f, p));
        f->value_at[p + 1] = f->value_at[p] + strips * (size_t)(STRIP * columns_of(f, p));
        if (rows_of(f, p) > f->most_rows) f->most_rows = rows_of(f, p);
        for (int c = f->first[p]; c < f->first[p + 1]; c++) f->panel_of[c] = p;
    }
}

field_factor *factor_create(const factor_shape *shape)
{
    field_factor *f = calloc(1, sizeof *f);
    if (!f) return NULL;
    size_t panels = (size_t)shape->panels;
    f->n = shape->n;
    f->panels = shape->panels;
    f->first = copy_of(shape->first, panels + 1);
    f->begin = copy_of(shape->begin, panels + 1);
    f->row = copy_of(shape->row, (size_t)shape->begin[panels]);
    f->panel_of = malloc(((size_t)f->n + 1) * sizeof *f->panel_of);
    f->value_at = malloc((panels + 1) * sizeof *f->value_at);
    bool good = f->first && f->begin && f->row && f->panel_of && f->value_at;
    if (good) {
        lay_out(f);
        size_t rows = (size_t)strips_of(f->most_rows) * STRIP;
        f->value = aligned_doubles(f->value_at[panels]);
        f->update = aligned_doubles(rows * STRIP);
        f->target = malloc((rows + 1) * sizeof *f->target);
        good = f->value && f->update && f->target;
    }
    if (good) return f;
    factor_destroy(f);
    return NULL;
}

void factor_destroy(field_factor *f)
{
    if (!f) return;
    void *blocks[] = {f->first, f->begin, f->row, f->panel_of, f->value_at, f->value, f->update, f->target};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(f);
}

static size_t place_in(const field_factor *f, int panel, int at, int column)
{
    size_t columns = (size_t)columns_of(f, panel);
    return f->value_at[panel] + ((size_t)(at / STRIP) * columns + (size_t)column) * STRIP +
           (size_t)(at % STRIP);
}

size_t factor_place(const field_factor *f, int row, int column)
{
    int panel = f->panel_of[column], low = f->begin[panel], high = f->begin[panel + 1] - 1;
    while (low < high) {
        int middle = low + (high - low) / 2;
        if (f->row[middle] < row)
            low = middle + 1;
        else
            high = middle;
    }
    return place_in(f, panel, low - f->begin[panel], column - f->first[panel]);
}

double *factor_clear(field_factor *f)
{
    memset(f->value, 0, f->value_at[f->panels] * sizeof *f->value);
    return f->value;
}

/* ------------------------------------------------------------- factorise -- */

/* strip[columns from .. from + 4) -= strip x head' over the columns before. */
static void subtract_before(double *strip, const double *head, int from, int width)
{
    pair_of sum[STRIP * HALVES], *to = (pair_of *)(strip + (size_t)from * STRIP);
    multiply(from, strip, STRIP, head, STRIP, sum);
    for (int i = 0; i < width * HALVES; i++) to[i] -= sum[i];
}

/* Four columns of the strip that holds their diagonal; what lies above it is left nothing. */
static bool factor_corner(double *strip, int from, int width)
{
    double *block = strip + (size_t)from * STRIP;
    for (int c = 0; c < width; c++) {
        double *column = block + c * STRIP, pivot = column[c];
        if (!(pivot > 0) || !isfinite(pivot)) return false;
        double root = sqrt(pivot);
        for (int r = 0; r < STRIP; r++) column[r] = r < c ? 0 : column[r] / root;
        for (int d = c + 1; d < width; d++)
            for (int r = d; r < STRIP; r++) block[d * STRIP + r] -= column[r] * column[d];
    }
    return true;
}

/* The same four columns of a strip below: x L' = b. */
static void divide_by_corner(double *strip, const double *head, int from, int width)
{
    const double *corner = head + (size_t)from * STRIP;
    pair_of *x = (pair_of *)(strip + (size_t)from * STRIP);
    for (int c = 0; c < width; c++) {
        for (int d = 0; d < c; d++) {
            double share = corner[d * STRIP + c];
            x[c * HALVES] -= x[d * HALVES] * share;
            x[c * HALVES + 1] -= x[d * HALVES + 1] * share;
        }
        double inverse = 1 / corner[c * STRIP + c];
        x[c * HALVES] *= inverse;
        x[c * HALVES + 1] *= inverse;
    }
}

static bool factor_panel(field_factor *f, int panel)
{
    int columns = columns_of(f, panel), strips = strips_of(rows_of(f, panel));
    for (int from = 0; from < columns; from += STRIP) {
        int width = columns - from < STRIP ? columns - from : STRIP;
        double *head = strip_at(f, panel, from / STRIP);
        subtract_before(head, head, from, width);
        if (!factor_corner(head, from, width)) return false;
        for (int s = from / STRIP + 1; s < strips; s++) {
            double *strip = strip_at(f, panel, s);
            subtract_before(strip, head, from, width);
            divide_by_corner(strip, head, from, width);
        }
    }
    return true;
}

/* Where the panel's rows from `from` on lie in another that has them all. */
static void aim(field_factor *f, int panel, int from, int to)
{
    const int *row = f->row + f->begin[panel], *other = f->row + f->begin[to];
    int rows = rows_of(f, panel), at = 0;
    for (int i = from; i < rows; i++) {
        while (other[at] != row[i]) at++;
        f->target[i] = place_in(f, to, at, 0);
    }
}

/* Subtract a finished panel from those that hold the columns of its rows. */
static void update_others(field_factor *f, int panel)
{
    int columns = columns_of(f, panel), rows = rows_of(f, panel), strips = strips_of(rows), to = -1;
    const int *row = f->row + f->begin[panel];
    for (int head = columns / STRIP; head < strips; head++) {
        const double *narrow = strip_at(f, panel, head);
        for (int s = head; s < strips; s++)
            multiply(columns, strip_at(f, panel, s), STRIP, narrow, STRIP,
                     (pair_of *)(f->update + (size_t)(s - head) * STRIP * STRIP));
        for (int c = 0; c < STRIP; c++) {
            int column = head * STRIP + c;
            if (column < columns || column >= rows) continue;
            if (to != f->panel_of[row[column]]) aim(f, panel, column, to = f->panel_of[row[column]]);
            double *value = f->value + (size_t)(row[column] - f->first[to]) * STRIP;
            const double *sum = f->update + c * STRIP;
            for (int i = column; i < rows; i++) {
                int below = i - head * STRIP;
                value[f->target[i]] -= sum[below / STRIP * STRIP * STRIP + below % STRIP];
            }
        }
    }
}

bool factor_run(field_factor *f)
{
    for (int p = 0; p < f->panels; p++) {
        if (!factor_panel(f, p)) return false;
        update_others(f, p);
    }
    return true;
}

/* ----------------------------------------------------------------- solve -- */

static bool is_nothing(const double *x, int rows)
{
    for (int i = 0; i < rows * FACTOR_COLUMNS; i++)
        if (x[i] != 0) return false;
    return true;
}

/* to[row] -= sum[row], for four right sides. */
static void subtract_rows(const pair_of sum[], double *x, const int *row, int first, int end)
{
    for (int r = first; r < end; r++) {
        pair_of *to = (pair_of *)(x + (size_t)row[r] * FACTOR_COLUMNS);
        to[0] -= sum[r * HALVES];
        to[1] -= sum[r * HALVES + 1];
    }
}

static void scale_row(double *row, double by)
{
    for (int i = 0; i < FACTOR_COLUMNS; i++) row[i] *= by;
}

static void subtract_row(double *to, const double *from, double share)
{
    for (int i = 0; i < FACTOR_COLUMNS; i++) to[i] -= share * from[i];
}

static void forward(const field_factor *f, int panel, double *x)
{
    int columns = columns_of(f, panel), rows = rows_of(f, panel), strips = strips_of(rows);
    const int *row = f->row + f->begin[panel];
    double *own = x + (size_t)f->first[panel] * FACTOR_COLUMNS;
    if (is_nothing(own, columns)) return; /* heat elsewhere: nothing reaches these cells on the way down */
    for (int s = 0; s < strips; s++) {
        const double *strip = strip_at(f, panel, s);
        int from = s * STRIP, end = rows - from < STRIP ? rows - from : STRIP;
        int before = from < columns ? from : columns;
        for (int g = 0; g < FACTOR_COLUMNS; g += STRIP) {
            pair_of sum[STRIP * HALVES];
            multiply(before, own + g, FACTOR_COLUMNS, strip, STRIP, sum);
            subtract_rows(sum, x + g, row + from, 0, end);
        }
        for (int c = from; c < from + STRIP && c < columns; c++) { /* the corner, and what is beside it */
            const double *column = strip + (size_t)c * STRIP;
            scale_row(own + (size_t)c * FACTOR_COLUMNS, 1 / column[c - from]);
            for (int r = c + 1; r < from + end; r++)
                subtract_row(x + (size_t)row[r] * FACTOR_COLUMNS, own + (size_t)c * FACTOR_COLUMNS,
                             column[r - from]);
        }
    }
}

/* own[k] -= strip[k]' x the rows of a strip, for four right sides. */
static void subtract_strip(int columns, const double *strip, const pair_of below[], double *own)
{
    for (int k = 0; k < columns; k++) {
        pair_of *to = (pair_of *)own, low = to[0], high = to[1];
        for (int r = 0; r < STRIP; r++) {
            low -= below[r * HALVES] * strip[r];
            high -= below[r * HALVES + 1] * strip[r];
        }
        to[0] = low;
        to[1] = high;
        own += FACTOR_COLUMNS;
        strip += STRIP;
    }
}

static void backward(const field_factor *f, int panel, double *x)
{
    int columns = columns_of(f, panel), rows = rows_of(f, panel);
    const int *row = f->row + f->begin[panel];
    double *own = x + (size_t)f->first[panel] * FACTOR_COLUMNS;
    for (int s = strips_of(rows) - 1; s >= 0; s--) {
        const double *strip = strip_at(f, panel, s);
        int from = s * STRIP, end = rows - from < STRIP ? rows - from : STRIP;
        int corner = columns - from < STRIP ? columns - from : STRIP; /* columns whose diagonal is here */
        for (int c = corner - 1; c >= 0; c--) {
            const double *column = strip + (size_t)(from + c) * STRIP;
            for (int r = c + 1; r < end; r++)
                subtract_row(own + (size_t)(from + c) * FACTOR_COLUMNS,
                             x + (size_t)row[from + r] * FACTOR_COLUMNS, column[r]);
            scale_row(own + (size_t)(from + c) * FACTOR_COLUMNS, 1 / column[c]);
        }
        int before = from < columns ? from : columns;
        for (int g = 0; g < FACTOR_COLUMNS; g += STRIP) {
            pair_of below[STRIP * HALVES];
            memset(below, 0, sizeof below);
            for (int r = 0; r < end; r++)
                memcpy(below + r * HALVES, x + (size_t)row[from + r] * FACTOR_COLUMNS + g,
                       STRIP * sizeof(double));
            subtract_strip(before, strip, below, own + g);
        }
    }
}

void factor_solve(const field_factor *f, double *x)
{
    for (int p = 0; p < f->panels; p++) forward(f, p, x);
    for (int p = f->panels - 1; p >= 0; p--) backward(f, p, x);
}
