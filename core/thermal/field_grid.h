/* field_grid.h - the finite-volume grid of a box: lines, cells, conductances, facing surfaces. */
#ifndef HEATLEDGER_THERMAL_FIELD_GRID_H
#define HEATLEDGER_THERMAL_FIELD_GRID_H

#include "heatledger/field.h"

enum { MATTER_FILL, MATTER_SHELL, MATTER_BODY }; /* a cell's matter; MATTER_BODY + i: body i */

/* Two cells that exchange heat. */
typedef struct grid_link {
    int a, b;
    double conductance; /* W/K */
} grid_link;

/* Two solid cells that face each other along an axis across the air: a is the lower. */
typedef struct grid_pair {
    int a, b, axis;
    bool apart;            /* left to the ports: see field_ports.c */
    double area, gap;      /* m^2, m */
    double emissivity;     /* 1 / (1/e1 + 1/e2 - 1) */
    double a_half, b_half; /* K/W from cell centre to surface */
} grid_pair;

/* One cell's outer surface. */
typedef struct grid_surface {
    int cell;
    hl_face face;
    double area;
    double conductance; /* W/K from cell centre to surface */
} grid_surface;

typedef struct grid {
    const hl_field_box *box;
    int n[3];
    double *line[3]; /* n + 1 each */
    int cells, bodies;
    int *matter;
    float *conductivity; /* 3 per cell */
    double *capacity;    /* J/K */
    size_t n_links, n_pairs, n_surfaces;
    grid_link *links;
    grid_pair *pairs;
    grid_surface *surfaces;
} grid;

/* Bodies: blocks, spreaders, boards. */
int field_bodies(const hl_field_box *box);
const hl_field_block *field_block(const hl_field_box *box, int body); /* NULL: it is a board */
const hl_field_board *field_board(const hl_field_box *box, int body); /* NULL: it is a block */
void field_corners(const hl_field_box *box, int body, const double **low, const double **high);

/* The lines of the box's own faces, cut finer with `fineness`. NULL: no memory, or more than `most` cells. */
grid *grid_create(const hl_field_box *box, double fineness, int most);
void grid_destroy(grid *g);

static inline int grid_cell(const grid *g, int i, int j, int k)
{
    return i + g->n[0] * (j + g->n[1] * k);
}
void grid_place(const grid *g, int cell, int place[3]);
double grid_width(const grid *g, int cell, int axis);
double grid_middle(const grid *g, int cell, int axis);

#endif
