/* number.c - one quantity as a scalar, "150 mohm" or "150 mohm ± 10 %", and the fields of a mapping. */
#include "catalogue/number.h"

#include <string.h>

#include "heatledger/quantity.h"
#include "quantity/excerpt.h"

bool scalar_read(value_reader *reader, const char *label, const node *from, const char *unit_text, double low,
                 double high, double *number)
{
    char why[512];
    if (from->kind == NODE_BROKEN || reader->complaints > COMPLAINTS_MAX) return false;
    if (from->kind != NODE_SCALAR) {
        value_complain(reader, from, label, "one value is wanted here, not a %s",
                       from->kind == NODE_SEQUENCE ? "list" : "mapping");
        return false;
    }
    if (!hl_quantity_read(from->text, from->length, unit_text, number, why, sizeof why) ||
        !hl_quantity_plausible(from->text, from->length, *number, unit_text, low, high, why, sizeof why)) {
        value_complain(reader, from, label, "%s", why);
        return false;
    }
    return true;
}

static int find_key(const node *key, const char *const *keys)
{
    for (int i = 0; keys[i]; i++)
        if (strlen(keys[i]) == key->length && memcmp(keys[i], key->text, key->length) == 0) return i;
    return -1;
}

static void unknown_key(value_reader *reader, const char *label, const node *key, const char *const *keys)
{
    excerpt shown = excerpt_of(key->text, key->length);
    const char *near = hl_nearest_word(shown.text, keys);
    char all[320];
    words_listed(keys, all, sizeof all);
    if (near)
        value_complain(reader, key, label, "'%s' is not known here; did you mean '%s'?", shown.text, near);
    else
        value_complain(reader, key, label, "'%s' is not known here; known are: %s", shown.text, all);
}

bool fields_read(value_reader *reader, const char *label, const node *mapping, const char *const *keys,
                 const node *found[])
{
    bool good = true;
    for (const node *key = mapping->first; key && key->next; key = key->next->next) {
        if (reader->complaints > COMPLAINTS_MAX) return false;
        int index = key->kind == NODE_SCALAR ? find_key(key, keys) : -1;
        if (index < 0) {
            if (key->kind == NODE_SCALAR) unknown_key(reader, label, key, keys);
            good = false;
        } else if (found[index]) {
            value_complain(reader, key, label, "'%s' stands here a second time; the first is at line %d",
                           keys[index], found[index]->line);
            good = false;
        } else {
            found[index] = key->next;
        }
    }
    return good;
}

size_t plus_minus_at(const char *text, size_t length, size_t *sign)
{
    static const char *const signs[] = {"\xC2\xB1", "+/-", "+-"};
    for (size_t at = 1; at < length; at++)
        for (size_t s = 0; s < sizeof signs / sizeof signs[0]; s++) {
            size_t n = strlen(signs[s]);
            if (n > length - at || memcmp(text + at, signs[s], n) != 0) continue;
            *sign = n;
            return at;
        }
    return 0;
}
