/* number.c - one quantity: "150 mohm", { typical: 30 nC, maximum: 40 nC } or { marking: 4R7 }. */
#include "catalogue/number.h"

#include <math.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "quantity/excerpt.h"
#include "quantity/marking.h"
#include "quantity/unit.h"

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

static bool parameter_scalar(value_reader *reader, const hl_parameter *p, const node *from, double *number)
{
    return scalar_read(reader, p->name, from, p->dimension, p->low, p->high, number);
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

enum { TYPICAL, MINIMUM, MAXIMUM, TOLERANCE, MARKING, ORIGIN, FIELDS };
static const char *const field_names[FIELDS + 1] = {"typical", "minimum", "maximum", "tolerance",
                                                    "marking", "origin",  NULL};

static bool is_temperature(const hl_parameter *p)
{
    unit u;
    return p->dimension && unit_parse(p->dimension, strlen(p->dimension), &u, NULL, NULL) && u.celsius;
}

/* { marking: 4R7J }: the code gives the value and, by its last letter, the tolerance. */
static bool read_marking(value_reader *reader, const hl_parameter *p, const node *from, double *number,
                         double *tolerance)
{
    char why[512];
    if (from->kind == NODE_BROKEN) return false;
    if (from->kind != NODE_SCALAR) {
        value_complain(reader, from, p->name, "a marking is one word as printed on the part");
        return false;
    }
    if (!marking_read(from->text, from->length, p->dimension, number, tolerance, why, sizeof why) ||
        !hl_quantity_plausible(from->text, from->length, *number, p->dimension, p->low, p->high, why,
                               sizeof why)) {
        value_complain(reader, from, p->name, "%s", why);
        return false;
    }
    return true;
}

static bool read_tolerance(value_reader *reader, const hl_parameter *p, const node *from, double *tolerance)
{
    if (is_temperature(p)) {
        value_complain(reader, from, p->name,
                       "a temperature has no percentage; state minimum: and maximum: instead");
        return false;
    }
    char why[512];
    if (!scalar_read(reader, p->name, from, "1", 0, 0, tolerance)) return false;
    if (*tolerance >= 0.0 && *tolerance <= 1.0) return true;
    if (!hl_quantity_plausible(from->text, from->length, *tolerance, "%", 0.0, 1.0, why, sizeof why))
        value_complain(reader, from, p->name, "tolerance %s", why);
    return false;
}

static bool fields_agree(value_reader *reader, const hl_parameter *p, const node *from, const node *const f[])
{
    if (f[MARKING] && f[TYPICAL])
        value_complain(reader, f[MARKING], p->name, "typical: and marking: both state the value; keep one");
    else if (f[TOLERANCE] && (f[MINIMUM] || f[MAXIMUM]))
        value_complain(reader, f[TOLERANCE], p->name,
                       "tolerance: and a minimum: or maximum: do not go together");
    else if (f[TOLERANCE] && !f[TYPICAL] && !f[MARKING])
        value_complain(reader, f[TOLERANCE], p->name, "tolerance: of what? state typical: too");
    else if (!f[TYPICAL] && !f[MARKING] && !f[MINIMUM] && !f[MAXIMUM])
        value_complain(reader, from, p->name,
                       "no value here; state typical:, minimum:, maximum: or marking:");
    else
        return true;
    return false;
}

/* A band with no typical value inside is represented by its middle; one bound alone by itself. */
static void complete_band(const node *const f[], double tolerance, hl_value *value)
{
    bool centre = f[TYPICAL] || f[MARKING];
    if (!centre && f[MINIMUM] && f[MAXIMUM])
        value->number = value->minimum + 0.5 * (value->maximum - value->minimum);
    else if (!centre)
        value->number = f[MINIMUM] ? value->minimum : value->maximum;
    double reach = tolerance * fabs(value->number);
    if (!f[MINIMUM]) value->minimum = value->number - reach;
    if (!f[MAXIMUM]) value->maximum = value->number + reach;
}

static bool band_rises(value_reader *reader, const hl_parameter *p, const node *const f[],
                       const hl_value *value)
{
    char low[64], middle[64], high[64];
    if (value->minimum <= value->number && value->number <= value->maximum) return true;
    hl_quantity_print(value->minimum, p->dimension, 6, low, sizeof low);
    hl_quantity_print(value->number, p->dimension, 6, middle, sizeof middle);
    hl_quantity_print(value->maximum, p->dimension, 6, high, sizeof high);
    const node *at = value->minimum <= value->number ? f[MAXIMUM] : f[MINIMUM];
    value_complain(reader, at, p->name, "minimum %s, typical %s, maximum %s do not rise in this order", low,
                   middle, high);
    return false;
}

static bool read_fields(value_reader *reader, const hl_parameter *p, const node *const f[], double *tolerance,
                        hl_value *value)
{
    bool good = true;
    if (f[TYPICAL]) good &= parameter_scalar(reader, p, f[TYPICAL], &value->number);
    if (f[MINIMUM]) good &= parameter_scalar(reader, p, f[MINIMUM], &value->minimum);
    if (f[MAXIMUM]) good &= parameter_scalar(reader, p, f[MAXIMUM], &value->maximum);
    if (f[MARKING]) {
        value->origin = HL_ORIGIN_MARKING;
        good &= read_marking(reader, p, f[MARKING], &value->number, tolerance);
    }
    if (f[TOLERANCE]) good &= read_tolerance(reader, p, f[TOLERANCE], tolerance);
    if (f[ORIGIN]) good &= (value->origin = origin_read(reader, p->name, f[ORIGIN])) != HL_ORIGIN_ABSENT;
    return good;
}

bool number_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value)
{
    if (from->kind != NODE_MAPPING) {
        if (!parameter_scalar(reader, parameter, from, &value->number)) return false;
        value->minimum = value->maximum = value->number;
        return true;
    }
    const node *f[FIELDS] = {NULL};
    double tolerance = 0.0;
    bool known = fields_read(reader, parameter->name, from, field_names, f);
    if (!fields_agree(reader, parameter, from, f) || !read_fields(reader, parameter, f, &tolerance, value) ||
        !known)
        return false;
    complete_band(f, tolerance, value);
    return band_rises(reader, parameter, f, value);
}
