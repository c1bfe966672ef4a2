/* safety_film_capacitor.c - X and Y capacitors: film capacitors judged by the mains voltage they stand.
 * docs/theory/capacitors.md */
#include <string.h>

#include "film_device.h"

enum { SAFETY_CLASS = FILM_PARAMETERS, PARAMETERS };

static const char *const classes[] = {"x1", "x2", "x3", "y1", "y2", NULL};
enum { FIRST_Y = 3 };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    FILM_ROWS(0, HL_REQUIRED),
    {"safety_class", "1", HL_CHOICE, HL_DEFAULT, 1, 0, 0, NULL, classes, "class under IEC 60384-14; of a part marked as X and as Y, that of its place", "marking"},
};
/* clang-format on */

/* A class is what the part was tried as (IEC 60384-14, from memory).  X, across the line: its failure must
 * start no fire.  Y, from the line to what may be touched: it must not fail short, so an X capacitor is never
 * one.  A part tried as Y alone stands more than an X one of its voltage, but nobody tried it across the
 * line, and its nanofarads are no filter there. */
static bool of_kind(const hl_value *values, const char *kind)
{
    return (values[SAFETY_CLASS].number >= FIRST_Y) == !strcmp(kind, "y_capacitor");
}

static const hl_device device = {
    FILM_DEVICE,
    .kinds = HL_KINDS("x_capacitor", "y_capacitor"),
    .of_kind = of_kind,
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "safety_film_capacitor",
    .title = "film capacitor across the mains",
    .source = "IEC 60384-14",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("safety_film_capacitor", "0.1.0", "heatledger", "MIT", &model);
