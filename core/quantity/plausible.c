/* plausible.c - is this figure usual, and if not, which reading of the same text would be. */
#include "quantity/decimal.h"
#include "quantity/excerpt.h"
#include "quantity/float_state.h"
#include "quantity/print.h"
#include "quantity/unit.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

typedef struct doubt {
    const char *number; /* the figure as written */
    size_t number_length;
    const char *prefix; /* its unit, prefix first */
    size_t prefix_length, unit_length;
    const char *wanted;
    double low, high;
} doubt;

/* Written anew with another prefix; true when that reading is usual. */
static bool fits(const doubt *d, const char *prefix, const char *symbol, size_t symbol_length, char *text,
                 size_t size)
{
    char why[8];
    double value;
    int n = snprintf(text, size, "%.*s%s%s%.*s", (int)d->number_length, d->number,
                     *prefix || symbol_length ? " " : "", prefix, (int)symbol_length, symbol);
    if (n < 0 || (size_t)n >= size) return false;
    if (!hl_quantity_read(text, (size_t)n, d->wanted, &value, why, sizeof why)) return false;
    return value >= d->low && value <= d->high;
}

/* Milli heard as mega first (the same letter), then the prefixes nearest to the one that was written. */
static bool other_prefix(const doubt *d, char *text, size_t size)
{
    static const char *const prefixes[] = {"f", "p", "n", "u", "m", "", "k", "M", "G", "T"};
    enum { COUNT = sizeof prefixes / sizeof *prefixes };
    int exponent = 0;
    if (d->prefix_length) prefix_at(d->prefix, d->prefix_length, &exponent);
    const char *symbol = d->prefix + d->prefix_length;
    size_t n = d->unit_length - d->prefix_length;
    if (exponent == -3 && fits(d, "M", symbol, n, text, size)) return true;
    if (exponent == 6 && fits(d, "m", symbol, n, text, size)) return true;
    for (int step = 3; step <= 27; step += 3) {
        for (int sign = -1; sign <= 1; sign += 2) {
            int index = (exponent + sign * step) / 3 + 5;
            bool whole = (exponent + sign * step) % 3 == 0; /* not from centi or hecto */
            if (whole && index >= 0 && index < COUNT && fits(d, prefixes[index], symbol, n, text, size))
                return true;
        }
    }
    return false;
}

/* The nearest reading of what was written that would be usual, e.g. "150 mohm". */
static bool likely_reading(doubt *d, const char *text, size_t length, char *near, size_t size)
{
    decimal number;
    unit u;
    trim_blanks(&text, &length);
    size_t at = decimal_scan(text, length, &number);
    if (at == 0 || at > 64) return false;
    d->number = text;
    d->number_length = at;
    text += at;
    length -= at;
    trim_blanks(&text, &length);
    /* per cent are said in tens: 90 may be 90 %, 3 is no 3 % */
    if (length == 0) return decimal_value(&number, 0) >= 5 && fits(d, "%", "", 0, near, size);
    if (!unit_parse(text, length, &u, NULL, NULL)) return false;
    d->prefix = text;
    d->prefix_length = u.prefix_length;
    d->unit_length = length;
    if (length == 1 && *text == 'K') return fits(d, "", "degC", 4, near, size);
    if (u.celsius) return false;
    if (length == 1 && *text == '%') return fits(d, "", "", 0, near, size);
    if (text[u.prefix_length] == 'K' && !u.prefixed) return false; /* nobody means millikelvin per watt */
    return other_prefix(d, near, size);
}

bool hl_quantity_plausible(const char *text, size_t length, double value, const char *wanted, double low,
                           double high, char *why, size_t size)
{
    PLAIN_FLOAT_STATE;
    if (size) why[0] = '\0';
    excerpt shown = excerpt_of(text ? text : "", text ? length : 0);
    if (!isfinite(value)) {
        snprintf(why, size, "%s is not a finite number", shown.text);
        return false;
    }
    if (low == high || (value >= low && value <= high)) return true;
    doubt d = {.wanted = wanted, .low = low, .high = high};
    char from[64], to[64], near[160] = "";
    print_bound(low, wanted, from, sizeof from);
    print_bound(high, wanted, to, sizeof to);
    if (likely_reading(&d, text ? text : "", text ? length : 0, near, sizeof near))
        snprintf(why, size, "%s is outside %s … %s; did you mean %s?", shown.text, from, to, near);
    else
        snprintf(why, size, "%s is outside %s … %s; check figure and unit", shown.text, from, to);
    return false;
}
