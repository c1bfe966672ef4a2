/* safety_film_capacitor.c - X and Y capacitors: film capacitors judged by the mains voltage they stand.
 * docs/theory/capacitors.md */
#include "film_device.h"

enum { SAFETY_CLASS = FILM_PARAMETERS, PARAMETERS };

static const char *const classes[] = {"x1", "x2", "x3", "y1", "y2", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    FILM_ROWS(0, HL_REQUIRED),
    {"safety_class", "1", HL_CHOICE, HL_DEFAULT, 1, 0, 0, NULL, classes, "class under IEC 60384-14", "marking"},
};
/* clang-format on */

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
