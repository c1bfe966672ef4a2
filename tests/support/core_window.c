#include "core_window.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "story.h"

static const double mu0 = 1.25663706212e-6, step = 0.1e-3, air = 12e-3, growth = 1.15;

/* Lines of the grid: even steps as far as the core reaches, growing ones through the air outside. */
typedef struct lines {
    size_t n;
    double *at;
} lines;

typedef struct grid {
    lines x, y;
    double *east, *north, *diagonal; /* couplings to the next node, and their sum; 1 / mu */
    double *a, *residual, *direction, *image;
} grid;

static lines lines_of(double even)
{
    lines l = {(size_t)(even / step + 0.5) + 1, NULL};
    size_t room = l.n + 100;
    l.at = calloc(room, sizeof *l.at);
    ck_assert_ptr_nonnull(l.at);
    for (size_t i = 0; i < l.n; i++) l.at[i] = (double)i * step;
    for (double d = step; l.at[l.n - 1] < even + air && l.n < room; d *= growth, l.n++)
        l.at[l.n] = l.at[l.n - 1] + d;
    return l;
}

/* 1 / mu of the cell between lines i and i + 1, j and j + 1. */
static double cell(const grid *g, const core_window *w, size_t i, size_t j)
{
    double x = 0.5 * (g->x.at[i] + g->x.at[i + 1]), y = 0.5 * (g->y.at[j] + g->y.at[j + 1]);
    double outer = w->leg + w->depth;
    if (x > outer + w->outer_leg || y > w->half_width + w->yoke) return 1.0 / mu0;
    bool iron =
        y > w->half_width || (x < w->leg && y > 0.5 * w->inner_gap) || (x > outer && y > 0.5 * w->outer_gap);
    return iron ? 1.0 / (mu0 * w->permeability) : 1.0 / mu0;
}

static size_t node(const grid *g, size_t i, size_t j)
{
    return j * g->x.n + i;
}

static void couple(grid *g, const core_window *w)
{
    for (size_t j = 0; j + 1 < g->y.n; j++)
        for (size_t i = 0; i + 1 < g->x.n; i++) {
            double dx = g->x.at[i + 1] - g->x.at[i], dy = g->y.at[j + 1] - g->y.at[j], nu = cell(g, w, i, j);
            g->east[node(g, i, j)] += 0.5 * nu * dy / dx;
            g->east[node(g, i, j + 1)] += 0.5 * nu * dy / dx;
            g->north[node(g, i, j)] += 0.5 * nu * dx / dy;
            g->north[node(g, i + 1, j)] += 0.5 * nu * dx / dy;
        }
    for (size_t j = 0; j + 1 < g->y.n; j++)
        for (size_t i = 1; i + 1 < g->x.n; i++) {
            size_t k = node(g, i, j);
            g->diagonal[k] = g->east[k] + g->east[k - 1] + g->north[k] + (j ? g->north[k - g->x.n] : 0.0);
        }
}

/* to = matrix times from, where from is 0 on the borders with A = 0. */
static void apply(const grid *g, const double *from, double *to)
{
    for (size_t j = 0; j + 1 < g->y.n; j++)
        for (size_t i = 1; i + 1 < g->x.n; i++) {
            size_t k = node(g, i, j);
            to[k] = g->diagonal[k] * from[k] - g->east[k] * from[k + 1] - g->east[k - 1] * from[k - 1] -
                    g->north[k] * from[k + g->x.n];
            if (j) to[k] -= g->north[k - g->x.n] * from[k - g->x.n];
        }
}

static double product(const grid *g, const double *a, const double *b)
{
    double sum = 0.0;
    for (size_t k = 0; k < g->x.n * g->y.n; k++) sum += a[k] * b[k];
    return sum;
}

/* residual / diagonal into image; returns residual . image. */
static double scaled(const grid *g)
{
    for (size_t k = 0; k < g->x.n * g->y.n; k++)
        g->image[k] = g->diagonal[k] > 0.0 ? g->residual[k] / g->diagonal[k] : 0.0;
    return product(g, g->residual, g->image);
}

/* Conjugate gradients with the diagonal as preconditioner, to 1e-9 of the start. */
static void settle(grid *g)
{
    size_t nodes = g->x.n * g->y.n;
    double size = scaled(g), first = size;
    memcpy(g->direction, g->image, nodes * sizeof *g->image);
    for (int round = 0; round < 20000; round++) {
        apply(g, g->direction, g->image);
        double along = size / product(g, g->direction, g->image);
        for (size_t k = 0; k < nodes; k++) {
            g->a[k] += along * g->direction[k];
            g->residual[k] -= along * g->image[k];
        }
        double before = size;
        size = scaled(g);
        if (size <= 1e-18 * first) return;
        for (size_t k = 0; k < nodes; k++) g->direction[k] = g->image[k] + size / before * g->direction[k];
    }
    ck_abort_msg("the field in the window does not settle");
}

static size_t nearest(const lines *l, double x)
{
    size_t i = (size_t)(x / step + 0.5);
    ck_assert_msg(fabs(l->at[i] - x) < 1e-9, "%g m is no line of the grid", x);
    return i;
}

void core_window_squares(const core_window *w, size_t n, const double x[], const double y[],
                         const double current[], double square[])
{
    grid g = {lines_of(w->leg + w->depth + w->outer_leg),
              lines_of(w->half_width + w->yoke),
              NULL,
              NULL,
              NULL,
              NULL,
              NULL,
              NULL,
              NULL};
    double **field[] = {&g.east, &g.north, &g.diagonal, &g.a, &g.residual, &g.direction, &g.image};
    for (size_t f = 0; f < sizeof field / sizeof *field; f++) {
        *field[f] = calloc(g.x.n * g.y.n, sizeof **field[f]);
        ck_assert_ptr_nonnull(*field[f]);
    }
    couple(&g, w);
    for (size_t k = 0; k < n; k++)
        g.residual[node(&g, nearest(&g.x, w->leg + x[k]), nearest(&g.y, y[k]))] += current[k];
    settle(&g);
    /* the mean of both sides: a wire's own field is odd about it */
    for (size_t k = 0; k < n; k++) {
        size_t at = node(&g, nearest(&g.x, w->leg + x[k]), nearest(&g.y, y[k]));
        double along = (g.a[at + 1] - g.a[at - 1]) / (2.0 * step * mu0);
        double across = (g.a[at + g.x.n] - g.a[at - g.x.n]) / (2.0 * step * mu0);
        square[k] = along * along + across * across;
    }
    for (size_t f = 0; f < sizeof field / sizeof *field; f++) free(*field[f]);
    free(g.x.at);
    free(g.y.at);
}
