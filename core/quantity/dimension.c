/* dimension.c - what makes two units comparable, and what that is called. */
#include "quantity/unit.h"

#include <string.h>

/* clang-format off */
static const struct { hl_dimension dimension; const char *name; } names[] = {
    {{1, 2, -3, -1, 0}, "a voltage"},
    {{0, 0, 0, 1, 0},   "a current"},
    {{1, 2, -3, -2, 0}, "a resistance"},
    {{1, 2, -3, 0, 0},  "a power"},
    {{1, 2, -2, 0, 0},  "an energy"},
    {{0, 0, 1, 1, 0},   "a charge"},
    {{-1, -2, 4, 2, 0}, "a capacitance"},
    {{1, 2, -2, -2, 0}, "an inductance"},
    {{1, 2, -2, -1, 0}, "a magnetic flux"},
    {{1, 0, -2, -1, 0}, "a flux density"},
    {{-1, -2, 3, 2, 0}, "a conductance"},
    {{0, 0, -1, 0, 0},  "a frequency"},
    {{0, 0, 1, 0, 0},   "a time"},
    {{0, 1, 0, 0, 0},   "a length"},
    {{0, 2, 0, 0, 0},   "an area"},
    {{0, 3, 0, 0, 0},   "a volume"},
    {{0, 1, -1, 0, 0},  "a speed"},
    {{1, 0, 0, 0, 0},   "a mass"},
    {{1, 1, -2, 0, 0},  "a force"},
    {{1, -1, -2, 0, 0}, "a pressure"},
    {{0, 0, 0, 0, 1},   "a temperature"},
    {{-1, -2, 3, 0, 1}, "a thermal resistance"},
    {{1, 2, -3, 0, -1}, "a thermal conductance"},
    {{1, 2, -2, 0, -1}, "a heat capacity"},
    {{1, 1, -3, 0, -1}, "a thermal conductivity"},
    {{0, 2, -2, 0, -1}, "a specific heat"},
    {{1, -1, -3, 0, 0}, "a power per volume"},
    {{0, 0, 0, 0, -1},  "a temperature coefficient"},
    {{0, 0, 0, 0, 0},   "a plain number"},
};
/* clang-format on */

bool dimension_equal(hl_dimension a, hl_dimension b)
{
    return a.mass == b.mass && a.length == b.length && a.time == b.time && a.current == b.current &&
           a.temperature == b.temperature;
}

bool dimension_none(hl_dimension dimension)
{
    return dimension_equal(dimension, (hl_dimension){0, 0, 0, 0, 0});
}

const char *dimension_name(hl_dimension dimension)
{
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (dimension_equal(names[i].dimension, dimension)) return names[i].name;
    return NULL;
}

bool hl_dimension_of(const char *text, hl_dimension *dimension)
{
    unit parsed;
    if (!text || !unit_parse(text, strlen(text), &parsed, NULL, NULL)) return false;
    *dimension = parsed.dimension;
    return true;
}
