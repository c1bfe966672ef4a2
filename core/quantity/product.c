/* product.c - "88 x 60 x 31 mm": values in order, joined by x. */
#include <stdio.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "quantity/decimal.h"
#include "quantity/excerpt.h"
#include "quantity/float_state.h"
#include "quantity/unit.h"

enum { FACTORS_MAX = 64, FACTOR_LENGTH = 128 };

typedef struct factor {
    const char *text;
    size_t length;
    bool bare; /* no unit of its own */
} factor;

/* Where the next x, X or multiplication sign stands; length when there is none. */
static size_t find_cross(const char *text, size_t length, size_t *cross)
{
    for (size_t i = 0; i < length; i++) {
        *cross = 1;
        if (text[i] == 'x' || text[i] == 'X') return i;
        *cross = 2;
        if (i + 1 < length && memcmp(text + i, "\xC3\x97", 2) == 0) return i; /* U+00D7 */
    }
    *cross = 0;
    return length;
}

static size_t split(const char *text, size_t length, factor factors[], size_t room)
{
    size_t count = 0;
    for (;;) {
        size_t cross, at = find_cross(text, length, &cross);
        if (count == room) return room + 1;
        factor f = {.text = text, .length = at};
        trim_blanks(&f.text, &f.length);
        decimal number;
        f.bare = f.length > 0 && decimal_scan(f.text, f.length, &number) == f.length;
        factors[count++] = f;
        if (cross == 0) return count;
        text += at + cross;
        length -= at + cross;
    }
}

/* One factor with the unit of the last one put behind it. */
static bool read_factor(const factor *f, const factor *last, const char *wanted, double *value, char *why,
                        size_t size)
{
    if (!f->bare || last->bare) return hl_quantity_read(f->text, f->length, wanted, value, why, size);
    decimal number;
    size_t skip = decimal_scan(last->text, last->length, &number);
    char text[2 * FACTOR_LENGTH + 2];
    if (f->length > FACTOR_LENGTH || last->length - skip > FACTOR_LENGTH) {
        snprintf(why, size, "a factor is too long for a quantity");
        return false;
    }
    int n = snprintf(text, sizeof text, "%.*s %.*s", (int)f->length, f->text, (int)(last->length - skip),
                     last->text + skip);
    return hl_quantity_read(text, (size_t)n, wanted, value, why, size);
}

size_t hl_quantity_read_product(const char *text, size_t length, const char *wanted, double values[],
                                size_t room, char *why, size_t size)
{
    PLAIN_FLOAT_STATE;
    factor factors[FACTORS_MAX];
    excerpt shown = excerpt_of(text ? text : "", text ? length : 0);
    if (room > FACTORS_MAX) room = FACTORS_MAX;
    size_t count = text && room ? split(text, length, factors, room) : 0;
    if (count == 0 || count > room) {
        snprintf(why, size, "%s has more than %zu values joined by x", shown.text, room);
        return 0;
    }
    const factor *last = &factors[count - 1];
    size_t bare = 0, empty = 0;
    for (size_t i = 0; i < count; i++) {
        empty += factors[i].length == 0;
        bare += i + 1 < count && factors[i].bare;
    }
    if (empty > 0 && count > 1) {
        snprintf(why, size, "%s: a value is missing beside an x", shown.text);
        return 0;
    }
    if (bare > 0 && bare + 1 < count) {
        snprintf(why, size, "%s: give every value its unit, or only the last one", shown.text);
        return 0;
    }
    for (size_t i = 0; i < count; i++)
        if (!read_factor(&factors[i], last, wanted, &values[i], why, size)) return 0;
    return count;
}
