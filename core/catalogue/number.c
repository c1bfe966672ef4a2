/* number.c - one quantity as a scalar, "150 mohm" or "150 mohm ± 10 %", and the fields of a mapping. */
#include "catalogue/number.h"

#include <string.h>

#include "catalogue/colon.h"
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

/* "4,7 kohm" among others in braces or brackets is two entries: "4", and "7 kohm" right behind the comma. */
static bool is_cut(const node *first, const node *second)
{
    bool plain = first && first->kind == NODE_SCALAR && first->plain && second->kind == NODE_SCALAR;
    if (!plain || !second->plain || !second->tight || !first->length || !second->length) return false;
    return strchr("0123456789", first->text[first->length - 1]) && strchr("0123456789", second->text[0]);
}

bool comma_refused(value_reader *reader, const char *label, const node *first, const node *second)
{
    if (!is_cut(first, second)) return false;
    excerpt a = excerpt_of(first->text, first->length), b = excerpt_of(second->text, second->length);
    value_complain(reader, first, label, "%s,%s: a comma parts entries here; use a point: %s.%s", a.text,
                   b.text, a.text, b.text);
    return true;
}

static void unknown_key(value_reader *reader, const char *label, const node *key, const char *const *keys)
{
    excerpt shown = excerpt_of(key->text, key->length);
    const char *near = hl_nearest_word(shown.text, keys);
    char all[320];
    words_listed(keys, all, sizeof all);
    if (colon_lacks(key->text, key->length, keys)) {
        colon_advice(key->text, key->length, all, sizeof all);
        value_complain(reader, key, label, "%s", all);
    } else if (near)
        value_complain(reader, key, label, "'%s' is not known here; did you mean '%s'?", shown.text, near);
    else
        value_complain(reader, key, label, "'%s' is not known here; known are: %s", shown.text, all);
}

/* The end of a value that a decimal comma has cut in two, taken for a key without a value. */
static bool is_cut_value(const node *before, const node *key)
{
    return is_cut(before, key) && key->next->kind == NODE_SCALAR && key->next->length == 0;
}

bool fields_read(value_reader *reader, const char *label, const node *mapping, const char *const *keys,
                 const node *found[])
{
    static const node broken = {.kind = NODE_BROKEN};
    bool good = true;
    int index = -1;
    const node *name = NULL;
    for (const node *key = mapping->first; key && key->next; name = key, key = key->next->next) {
        if (reader->complaints > COMPLAINTS_MAX) return false;
        if (name && name->kind == NODE_SCALAR && is_cut_value(name->next, key)) {
            comma_refused(reader, name->text, name->next, key);
            if (index >= 0) found[index] = &broken;
            good = false;
            continue;
        }
        index = key->kind == NODE_SCALAR ? find_key(key, keys) : -1;
        if (index < 0) {
            if (key->kind == NODE_SCALAR) unknown_key(reader, label, key, keys);
            good = false;
        } else if (found[index]) {
            good = false;
            if (found[index]->kind == NODE_BROKEN) continue;
            value_complain(reader, key, label,
                           "'%s' stands here a second time; keep one of it and the first, at line %d",
                           keys[index], found[index]->line);
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
