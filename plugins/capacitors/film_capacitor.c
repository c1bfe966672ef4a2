/* film_capacitor.c - polypropylene or polyester film: a loss factor of the film, a resistance of the metal.
 * Temperature is left out: both move by some ten per cent over the working range.  docs/theory/capacitors.md
 */
#include "film_device.h"

enum { PARAMETERS = FILM_PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    FILM_ROWS(HL_REQUIRED, 0),
};
/* clang-format on */

static const hl_device device = {FILM_DEVICE};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "film_capacitor",
    .title = "film capacitor",
    .source = "IEC 60384-1; IEC 60384-16",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("film_capacitor", "0.1.0", "heatledger", "MIT", &model);
