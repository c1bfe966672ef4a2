/* fuzz_quantity.c - text with a unit.  First byte: which reader; second: which unit; the rest is the text. */
#include <math.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "target.h"

static const char *const units[] = {"V", "A",   "ohm", "F",     "H",  "W",   "K",       "degC", "K/W",
                                    "1", "m",   "s",   "Hz",    "C",  "J",   "W/(m K)", "J/K",  "A^2 s",
                                    "T", "m^2", "V/s", "ohm m", "kg", "A/m", "m^2 K/W"};
enum { UNITS = sizeof units / sizeof *units };

/* What was read must be a number, and must come back bit for bit through its exact print. */
static void comes_back(double value, const char *unit)
{
    char text[120], why[300];
    double again = NAN;
    MUST(isfinite(value));
    hl_quantity_print_exact(value, unit, text, sizeof text);
    MUST(hl_quantity_read(text, strlen(text), unit, &again, why, sizeof why));
    MUST(again == value);
    for (int digits = -1; digits <= 18; digits += 3)
        hl_quantity_print(value, unit, digits, text, sizeof text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 2) return 0;
    const char *unit = units[data[1] % UNITS], *text = (const char *)data + 2;
    size_t length = size - 2;
    double value = NAN, values[8];
    char why[300];
    hl_dimension dimension;
    char word[64];
    switch (data[0] % 6) {
    case 0:
        if (hl_quantity_read(text, length, unit, &value, why, sizeof why)) comes_back(value, unit);
        break;
    case 1:
        if (hl_marking_read(text, length, unit, &value, why, sizeof why)) MUST(isfinite(value));
        break;
    case 2:
        MUST(hl_quantity_read_product(text, length, unit, values, 8, why, sizeof why) <= 8);
        break;
    case 3:
        snprintf(word, sizeof word, "%.*s", (int)(length > 63 ? 63 : length), text);
        if (hl_dimension_of(word, &dimension) && hl_quantity_read("1", 1, word, &value, why, sizeof why))
            MUST(isfinite(value));
        break;
    case 4:
        if (length < 3 * sizeof value) break;
        memcpy(values, text, 3 * sizeof value);
        hl_quantity_plausible(text, length, values[0], unit, values[1], values[2], why, sizeof why);
        MUST(memchr(why, 0, sizeof why) != NULL);
        break;
    default:
        if (length < sizeof value) break;
        memcpy(&value, text, sizeof value);
        if (isfinite(value)) hl_quantity_print_exact(value, unit, word, data[1] % sizeof word + 1);
        hl_quantity_print(value, unit, (int)data[1] - 100, word, data[1] % sizeof word + 1);
    }
    return 0;
}
