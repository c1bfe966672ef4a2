/* field_basis.c - from a condensed grid to modes in time.
 *
 * Galerkin's projection of C dT/dt + A T = B w on few shapes V: the even rise, the steady response to each
 * port, and the bodies' responses to heat that grows as e^(s t), (A + s C)^-1 B, at rates s that span the
 * box's own (rational Krylov subspaces: Ruhe 1984, Linear Algebra Appl. 58; Antoulas 2005, Approximation of
 * Large-Scale Dynamical Systems, ch. 11). V' A V and V' C V are symmetric and positive, so every rate is real
 * and nothing grows; with the even rise among the shapes stored heat is exact, with the steady responses the
 * steady state.  A V needs no product: A (A^-1 B) = B, A (A + s C)^-1 B = B - s C (A + s C)^-1 B. */
#include "thermal/field_modes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { RATES = 5, CELLS_AT_ONCE = 8 };

/* Times of growth as shares of the box's own, capacity over conductance to the surroundings. */
static const double share_of_time[RATES] = {0.4, 0.08, 0.016, 0.0032, 0.0006};
static const double least_new = 1e-9; /* of a shape's square: what is no more than this lies in the others */

bool modes_allocate(field_modes *modes, int n, const field_ports *ports, int n_spots)
{
    size_t m = (size_t)n;
    modes->n = n;
    modes->n_rows = ports_rows(ports);
    modes->n_ports = ports_count(ports);
    modes->n_spots = n_spots;
    modes->rate = calloc(m + 1, sizeof(double));
    modes->in = calloc(m * (size_t)modes->n_ports + 1, sizeof(double));
    modes->row = calloc(m * (size_t)modes->n_rows + 1, sizeof(double));
    modes->spot = calloc(m * (size_t)n_spots + 1, sizeof(double));
    modes->stored = calloc(m + 1, sizeof(double));
    modes->own = calloc((size_t)ports->n_patches + 1, sizeof(double));
    if (modes->rate && modes->in && modes->row && modes->spot && modes->stored && modes->own) return true;
    modes_release(modes);
    return false;
}

void modes_release(field_modes *modes)
{
    free(modes->rate);
    free(modes->in);
    free(modes->row);
    free(modes->spot);
    free(modes->stored);
    free(modes->own);
    memset(modes, 0, sizeof *modes);
}

/* ---------------------------------------------------------------- shapes -- */

static double outward_of(const field_level *level, const field_linear *linear, int patch)
{
    return linear->outward[patch] * level->patch_area[patch];
}

static double own_time(const field_level *level, const field_linear *linear)
{
    double capacity = 0, conductance = 0;
    for (int c = 0; c < level->g->cells; c++) capacity += level->g->capacity[c];
    for (int p = 0; p < level->ports->n_patches; p++) conductance += outward_of(level, linear, p);
    return conductance > 0 && capacity > 0 ? capacity / conductance : 1;
}

bool basis_create(field_basis *basis, field_level *level, const field_linear *linear)
{
    size_t cells = (size_t)level->g->cells, bodies = (size_t)level->ports->bodies;
    double time = own_time(level, linear);
    basis->level = level;
    basis->rates = RATES;
    basis->columns = 1 + ports_count(level->ports) + RATES * (int)bodies;
    basis->late = malloc(cells * bodies * RATES * sizeof *basis->late);
    bool good = basis->late != NULL;
    for (int k = 0; good && k < RATES; k++) {
        double *columns = basis->late + (size_t)k * bodies * cells;
        basis->rate[k] = 1 / (share_of_time[k] * time);
        for (size_t b = 0; b < bodies; b++) level_spread(level, (int)b, columns + b * cells);
        good = matrix_factor(level->matrix, level->pair, level->outward, basis->rate[k]);
        if (good) matrix_solve(level->matrix, columns, bodies);
    }
    if (!good) basis_release(basis);
    return good;
}

void basis_release(field_basis *basis)
{
    free(basis->late);
    basis->late = NULL;
}

void basis_rise(const field_basis *basis, int rate, const double heat[], double rise[])
{
    size_t cells = (size_t)basis->level->g->cells, bodies = (size_t)basis->level->ports->bodies;
    memset(rise, 0, cells * sizeof *rise);
    for (size_t b = 0; b < bodies; b++) {
        const double *column = basis->late + ((size_t)rate * bodies + b) * cells;
        for (size_t c = 0; c < cells; c++) rise[c] += heat[b] * column[c];
    }
}

/* Shape v; NULL: the even one. */
static const double *shape_of(const field_basis *basis, int v)
{
    size_t cells = (size_t)basis->level->g->cells;
    int ports = ports_count(basis->level->ports);
    if (v == 0) return NULL;
    if (v <= ports) return basis->level->field + (size_t)(v - 1) * cells;
    return basis->late + (size_t)(v - 1 - ports) * cells;
}

/* -------------------------------------------------------------- matrices -- */

typedef struct projection {
    int n, rows, ports, spots;
    double *row, *in, *spot;             /* per shape */
    double *heat_capacity, *conductance; /* n x n */
    double *lower, *left;                /* Cholesky factor of the kept shapes, and what is left */
    int *kept;
    int n_kept;
    double *value, *spare;
} projection;

static bool allocate(projection *p)
{
    size_t n = (size_t)p->n;
    p->row = calloc(n * (size_t)p->rows + 1, sizeof(double));
    p->in = calloc(n * (size_t)p->ports + 1, sizeof(double));
    p->spot = calloc(n * (size_t)p->spots + 1, sizeof(double));
    p->heat_capacity = calloc(n * n, sizeof(double));
    p->conductance = calloc(n * n, sizeof(double));
    p->lower = calloc(n * n, sizeof(double));
    p->left = calloc(n, sizeof(double));
    p->kept = calloc(n, sizeof(int));
    p->value = calloc(n, sizeof(double));
    p->spare = calloc(3 * n + 8, sizeof(double));
    return p->row && p->in && p->spot && p->heat_capacity && p->conductance && p->lower && p->left &&
           p->kept && p->value && p->spare;
}

static void release(projection *p)
{
    void *blocks[] = {p->row,   p->in,   p->spot, p->heat_capacity, p->conductance,
                      p->lower, p->left, p->kept, p->value,         p->spare};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
}

/* V' C V, a few cells at a time. */
static bool fill_heat_capacity(projection *p, const field_basis *basis)
{
    const grid *g = basis->level->g;
    size_t n = (size_t)p->n;
    double *some = malloc(CELLS_AT_ONCE * n * sizeof *some), weight[CELLS_AT_ONCE];
    if (!some) return false;
    for (int first = 0; first < g->cells; first += CELLS_AT_ONCE) {
        for (int k = 0; k < CELLS_AT_ONCE; k++) weight[k] = first + k < g->cells ? g->capacity[first + k] : 0;
        for (size_t v = 0; v < n; v++) {
            const double *shape = shape_of(basis, (int)v);
            for (int k = 0; k < CELLS_AT_ONCE; k++)
                some[(size_t)k * n + v] = first + k >= g->cells ? 0 : shape ? shape[first + k] : 1;
        }
        for (size_t i = 0; i < n; i++) {
            double *row = p->heat_capacity + i * n, w[CELLS_AT_ONCE];
            for (int k = 0; k < CELLS_AT_ONCE; k++) w[k] = weight[k] * some[(size_t)k * n + i];
            for (size_t j = 0; j <= i; j++) {
                double sum = 0;
                for (int k = 0; k < CELLS_AT_ONCE; k++) sum += w[k] * some[(size_t)k * n + j];
                row[j] += sum;
            }
        }
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++) p->heat_capacity[j * n + i] = p->heat_capacity[i * n + j];
    free(some);
    return true;
}

static void read_shapes(projection *p, const field_basis *basis, const basis_spot spots[])
{
    size_t rows = (size_t)p->rows, n = (size_t)p->spots;
    for (int v = 0; v < p->n; v++) {
        const double *shape = shape_of(basis, v);
        double *row = p->row + (size_t)v * rows, *spot = p->spot + (size_t)v * n;
        if (shape) level_read(basis->level, shape, row);
        if (shape) level_take(basis->level, shape, p->in + (size_t)v * (size_t)p->ports);
        for (size_t s = 0; s < n; s++) spot[s] = spots[s].share * (shape ? shape[spots[s].cell] : 1);
    }
}

/* The even rise is the sum of the responses of the patches to what leaves by them. */
static void read_even(projection *p, const field_basis *basis, const field_linear *linear)
{
    const field_ports *ports = basis->level->ports;
    memset(p->row, 0, (size_t)p->rows * sizeof(double));
    memset(p->in, 0, (size_t)p->ports * sizeof(double));
    for (int k = 0; k < ports->n_patches; k++) {
        double out = outward_of(basis->level, linear, k);
        size_t shape = 1 + (size_t)ports->bodies + (size_t)k;
        for (int r = 0; r < p->rows; r++) p->row[r] += out * p->row[shape * (size_t)p->rows + (size_t)r];
        for (int i = 0; i < p->ports; i++) p->in[i] += out * p->in[shape * (size_t)p->ports + (size_t)i];
    }
}

/* Row v of V' A V. */
static void fill_conductance(projection *p, const field_basis *basis, const field_linear *linear, int v)
{
    const field_ports *ports = basis->level->ports;
    int count = ports_count(ports), late = v - 1 - count;
    double *to = p->conductance + (size_t)v * (size_t)p->n;
    for (int j = 0; j < p->n; j++) {
        const double *in = p->in + (size_t)j * (size_t)p->ports;
        if (v == 0) {
            to[j] = 0;
            for (int k = 0; k < ports->n_patches; k++)
                to[j] += outward_of(basis->level, linear, k) * in[ports->bodies + k];
        } else if (late < 0) {
            to[j] = in[v - 1];
        } else {
            to[j] = in[late % ports->bodies] - basis->rate[late / ports->bodies] *
                                                   p->heat_capacity[(size_t)v * (size_t)p->n + (size_t)j];
        }
    }
}

/* ----------------------------------------------------------------- modes -- */

/* Cholesky's factor of V' C V with the shapes in the order of what is new in them, the even one first
 * (Golub & Van Loan 1996, section 4.2.9); shapes that bring nothing new are left out. */
static void choose_shapes(projection *p)
{
    size_t n = (size_t)p->n;
    for (size_t v = 0; v < n; v++) p->left[v] = p->heat_capacity[v * n + v];
    p->n_kept = 0;
    for (size_t k = 0; k < n; k++) {
        size_t best = 0;
        double most = 0;
        for (size_t v = 0; v < n && k > 0; v++) {
            double whole = p->heat_capacity[v * n + v], share = whole > 0 ? p->left[v] / whole : 0;
            if (share > most) {
                most = share;
                best = v;
            }
        }
        if (k > 0 && !(most > least_new)) return;
        if (!(p->left[best] > 0)) return;
        double root = sqrt(p->left[best]);
        p->kept[p->n_kept++] = (int)best;
        for (size_t v = 0; v < n; v++) { /* column k of the factor: lower[v][k] */
            double sum = p->heat_capacity[v * n + best];
            for (size_t i = 0; i < k; i++) sum -= p->lower[v * n + i] * p->lower[best * n + i];
            p->lower[v * n + k] = sum / root;
        }
        for (size_t v = 0; v < n; v++) p->left[v] -= p->lower[v * n + k] * p->lower[v * n + k];
        p->left[best] = -1;
    }
}

/* list[k][width] <- L^-1 list, the kept shapes' lines in their order. */
static void solve_lines(const projection *p, double *list, size_t width)
{
    for (int i = 0; i < p->n_kept; i++) {
        const double *l = p->lower + (size_t)p->kept[i] * (size_t)p->n;
        double *to = list + (size_t)i * width;
        for (int k = 0; k < i; k++)
            for (size_t c = 0; c < width; c++) to[c] -= l[k] * list[(size_t)k * width + c];
        for (size_t c = 0; c < width; c++) to[c] /= l[i];
    }
}

/* L^-1 K L^-T of the kept shapes: n_kept x n_kept. */
static double *reduced_conductance(const projection *p)
{
    size_t m = (size_t)p->n_kept, n = (size_t)p->n;
    double *a = malloc((m * m + 1) * sizeof *a);
    for (int turn = 0; a && turn < 2; turn++) {
        for (size_t i = 0; turn == 0 && i < m; i++)
            for (size_t j = 0; j < m; j++) {
                size_t x = (size_t)p->kept[i], y = (size_t)p->kept[j];
                a[i * m + j] = 0.5 * (p->conductance[x * n + y] + p->conductance[y * n + x]);
            }
        solve_lines(p, a, m);
        for (size_t i = 0; i < m; i++)
            for (size_t j = 0; j < i; j++) {
                double kept = a[i * m + j];
                a[i * m + j] = a[j * m + i];
                a[j * m + i] = kept;
            }
    }
    for (size_t i = 0; a && i < m; i++)
        for (size_t j = 0; j < i; j++) a[i * m + j] = a[j * m + i] = 0.5 * (a[i * m + j] + a[j * m + i]);
    return a;
}

/* to[mode][width] = vectors' (L^-1 lines) of what each shape has. */
static bool turn_lines(const projection *p, const double *vector, const double *lines, size_t width,
                       double *to)
{
    size_t m = (size_t)p->n_kept;
    double *list = malloc((m * width + 1) * sizeof *list);
    if (!list) return false;
    for (size_t k = 0; k < m; k++)
        memcpy(list + k * width, lines + (size_t)p->kept[k] * width, width * sizeof *list);
    solve_lines(p, list, width);
    memset(to, 0, m * width * sizeof *to);
    for (size_t k = 0; k < m; k++)
        for (size_t i = 0; i < m; i++) {
            double share = vector[k * m + i];
            for (size_t c = 0; c < width; c++) to[i * width + c] += share * list[k * width + c];
        }
    free(list);
    return true;
}

static bool make_modes(projection *p, const field_basis *basis, field_modes *modes)
{
    const field_ports *ports = basis->level->ports;
    choose_shapes(p);
    double *vector = reduced_conductance(p), *even = malloc((size_t)p->n * sizeof *even);
    bool good = vector && even && symmetric_eigen(p->n_kept, vector, p->value, p->spare) &&
                modes_allocate(modes, p->n_kept, ports, p->spots);
    if (good) {
        for (int v = 0; v < p->n; v++) even[v] = p->heat_capacity[(size_t)v * (size_t)p->n];
        good = turn_lines(p, vector, p->row, (size_t)p->rows, modes->row) &&
               turn_lines(p, vector, p->in, (size_t)p->ports, modes->in) &&
               turn_lines(p, vector, p->spot, (size_t)p->spots, modes->spot) &&
               turn_lines(p, vector, even, 1, modes->stored);
        /* rounding may leave a rate at or below nothing where a shape was all but spanned by others */
        double least = 1e-12 * p->value[p->n_kept - 1];
        for (int i = 0; i < modes->n; i++) modes->rate[i] = fmax(p->value[i], least);
        level_own_rises(basis->level, modes->own);
    }
    if (!good) modes_release(modes);
    free(vector);
    free(even);
    return good;
}

bool basis_condense(const field_basis *basis, const field_linear *linear, const basis_spot spots[],
                    int n_spots, field_modes *modes)
{
    projection p = {.n = basis->columns,
                    .rows = ports_rows(basis->level->ports),
                    .ports = ports_count(basis->level->ports),
                    .spots = n_spots};
    bool good = allocate(&p) && fill_heat_capacity(&p, basis);
    if (good) {
        read_shapes(&p, basis, spots);
        read_even(&p, basis, linear);
        for (int v = 0; v < p.n; v++) fill_conductance(&p, basis, linear, v);
        good = make_modes(&p, basis, modes);
    }
    release(&p);
    return good;
}
