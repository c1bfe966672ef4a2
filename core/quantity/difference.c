/* difference.c - of temperatures a step of one degree Celsius is one of a kelvin. */
#include "quantity/difference.h"

#include <string.h>

#include "heatledger/quantity.h"

/* The last letter of every way to write degrees Celsius; no multiple of the kelvin has it. */
static bool in_celsius(const char *text, size_t length)
{
    static const char sign[] = "\xe2\x84\x83"; /* one character for both */
    for (size_t i = 0; i + 3 <= length; i++)
        if (!memcmp(text + i, sign, 3)) return true;
    return memchr(text, 'C', length) != NULL;
}

bool quantity_difference(const char *text, size_t length, const char *unit_text, double *value, char *why,
                         size_t size)
{
    bool temperature = unit_text && strcmp(unit_text, "degC") == 0;
    if (!hl_quantity_read(text, length, temperature ? "K" : unit_text, value, why, size)) return false;
    if (temperature && in_celsius(text, length)) *value -= 273.15;
    return true;
}
