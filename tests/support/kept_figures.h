/* kept_figures.h - figures as they were when they were last decided on, kept in tests/figures/NAME.txt, so
 * that none moves unasked.  The record is no evidence that a figure is right, only that it is the same:
 * published values, time domains, field solutions and laws say what is right.
 *
 * HEATLEDGER_KEEP_FIGURES=1 writes the records anew (scripts/dev/figures does it for all). */
#ifndef KEPT_FIGURES_H
#define KEPT_FIGURES_H

#include <stdbool.h>
#include <stddef.h>

#include "lottery.h"

/* The figures of one line.  A figure may be put more than once, such as a loss under several stresses: the
 * line keeps the geometric mean of their sizes and, where not all are positive, a sign for each. */
typedef struct figure_sheet figure_sheet;
/* name: spaces become _; told from others by its text alone */
void figure_sheet_put(figure_sheet *sheet, const char *name, double figure);
/* The same of a figure that is a difference, or a part, of something of that size: it may move by 1e-9 of
 * that. */
void figure_sheet_put_of(figure_sheet *sheet, const char *name, double figure, double scale);

/* What an input is to be taken as: itself, or beside it by 1e-13, up or down by chance. */
typedef struct figure_hair {
    bool off;
    lottery luck;
} figure_hair;
double figure_hair_beside(figure_hair *hair, double input);

typedef struct kept_figures kept_figures;
/* The record of that name; `what` is said at its head when it is written. */
kept_figures *kept_figures_open(const char *name, const char *what);
/* One line: compute() puts its figures on the sheet, the same for the same hair.  Called once to compare;
 * when the record is written, several times with inputs a hair beside, and a figure that moves by more than
 * 1e-7 then is left out: it stands on a knife-edge, and another compiler may find it on the other side. */
void kept_figures_line(kept_figures *book, const char *group,
                       void (*compute)(void *context, figure_hair *hair, figure_sheet *sheet), void *context);
/* Fails the running test with the figures that moved, or writes the record; frees the book. */
void kept_figures_close(kept_figures *book);

/* A whole record of n lines, STEM,NUMBER each, that are drawn by their number: compute() is handed its
 * address. */
void kept_figures_numbered(const char *name, const char *what, const char *stem, size_t n,
                           void (*compute)(void *context, figure_hair *hair, figure_sheet *sheet));

/* A seed that is the same on every machine, from a text and a number. */
unsigned long long figure_seed(const char *text, size_t number);

#endif
