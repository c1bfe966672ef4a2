/* series.c - values that come in rows: { table: [[25 degC, 1.0], ...] }, [33, 4, 4], [litz, foil]. */
#include "catalogue/series.h"

#include <stdio.h>
#include <string.h>

#include "catalogue/band.h"
#include "catalogue/number.h"
#include "heatledger/quantity.h"
#include "quantity/excerpt.h"

static double *take_row(value_reader *reader, size_t n)
{
    double *row = arena_array(reader->memory, n, sizeof *row);
    if (!row) reader->starved = true;
    return row;
}

/* A lone text (a setting, a stage's parameter) has nowhere to keep a row of numbers. */
static bool may_keep(value_reader *reader, const hl_parameter *p, const node *from)
{
    if (reader->memory) return true;
    value_complain(reader, from, p->name, "a list or a curve is stated in a part file, not here");
    return false;
}

static void adopt(hl_value *value, const double *x, const double *y, size_t n)
{
    value->curve = (hl_curve){.n = n, .x = x, .y = y, .cubic = value->curve.cubic};
    value->number = value->minimum = value->maximum = y[0];
}

/* The one point has an x as well (plugin.h: only lists have none), since a model may look at the first. */
bool curve_flat(arena *memory, double y, hl_value *value)
{
    double *row = memory ? arena_take(memory, 2 * sizeof *row) : NULL;
    if (!row) return false;
    row[0] = 0.0;
    row[1] = y;
    value->curve = (hl_curve){.n = 1, .x = row, .y = row + 1};
    return true;
}

static bool row_fits(value_reader *reader, const hl_parameter *p, const node *from, size_t most)
{
    if (from->n == 0)
        value_complain(reader, from, p->name, "an empty list");
    else if (from->n > most)
        value_complain(reader, from, p->name, "%zu entries; at most %zu are read", from->n, most);
    else
        return true;
    return false;
}

static bool read_sequence(value_reader *reader, const hl_parameter *p, const node *from, hl_value *value)
{
    if (!row_fits(reader, p, from, LIST_MAX)) return false;
    double *row = take_row(reader, from->n);
    if (!row) return false;
    bool good = true;
    size_t i = 0;
    bool pure = !p->dimension || strcmp(p->dimension, "1") == 0; /* [33,4,4] has no points in it */
    for (const node *entry = from->first; entry; entry = entry->next) {
        bool cut = !pure && entry->next && comma_refused(reader, p->name, entry, entry->next);
        good &= !cut && scalar_read(reader, p->name, entry, p->dimension, p->low, p->high, &row[i++]);
        if (cut) entry = entry->next;
    }
    if (good) adopt(value, NULL, row, from->n);
    return good;
}

/* "88 x 60 x 31 mm" */
static bool read_product(value_reader *reader, const hl_parameter *p, const node *from, hl_value *value)
{
    enum { ROOM = 32 };
    double read[ROOM];
    char why[512] = "";
    size_t n = hl_quantity_read_product(from->text, from->length, p->dimension, read, ROOM, why, sizeof why);
    bool good = n > 0;
    for (size_t i = 0; i < n && good; i++)
        good = hl_quantity_plausible(from->text, from->length, read[i], p->dimension, p->low, p->high, why,
                                     sizeof why);
    if (!good) {
        value_complain(reader, from, p->name, "%s", why);
        return false;
    }
    double *row = take_row(reader, n);
    if (!row) return false;
    memcpy(row, read, n * sizeof *row);
    adopt(value, NULL, row, n);
    return true;
}

bool list_read(value_reader *reader, const hl_parameter *p, const node *from, hl_value *value)
{
    if (!may_keep(reader, p, from)) return false;
    if (from->kind == NODE_SEQUENCE) return read_sequence(reader, p, from, value);
    if (from->kind == NODE_SCALAR) return read_product(reader, p, from, value);
    value_complain(reader, from, p->name, "a list is wanted here, such as [1, 2]");
    return false;
}

bool choices_read(value_reader *reader, const hl_parameter *p, const node *from, hl_value *value)
{
    if (!may_keep(reader, p, from)) return false;
    bool lone = from->kind == NODE_SCALAR;
    if (from->kind == NODE_MAPPING) {
        value_complain(reader, from, p->name, "a list of words is wanted here");
        return false;
    }
    if (!lone && !row_fits(reader, p, from, LIST_MAX)) return false;
    double *row = take_row(reader, lone ? 1 : from->n);
    if (!row) return false;
    bool good = true;
    size_t i = 0;
    for (const node *entry = lone ? from : from->first; entry; entry = lone ? NULL : entry->next) {
        int index = choice_read(reader, p, entry);
        good &= index >= 0;
        row[i++] = index;
    }
    if (good) adopt(value, NULL, row, i);
    return good;
}

static bool read_point(value_reader *reader, const hl_parameter *p, const node *from, double *x, double *y)
{
    if (from->kind == NODE_BROKEN) return false;
    if (from->kind != NODE_SEQUENCE || from->n != 2) {
        value_complain(reader, from, p->name, "each row of a table is a pair [x, y]");
        return false;
    }
    bool good = scalar_read(reader, p->name, from->first, p->x_dimension, 0, 0, x);
    return scalar_read(reader, p->name, from->last, p->dimension, p->low, p->high, y) && good;
}

/* Places are strictly rising in x, or the table is no function. */
static bool rises(value_reader *reader, const hl_parameter *p, const node *table, const double *x)
{
    const node *row = table->first;
    for (size_t i = 1; row && i < table->n; i++) {
        row = row->next;
        if (x[i] > x[i - 1]) continue;
        char before[64], here[64];
        hl_quantity_print(x[i - 1], p->x_dimension, 6, before, sizeof before);
        hl_quantity_print(x[i], p->x_dimension, 6, here, sizeof here);
        value_complain(reader, row, p->name, "%s follows %s; x must rise from row to row", here, before);
        return false;
    }
    return true;
}

bool table_read(value_reader *reader, const hl_parameter *p, const node *table, hl_value *value)
{
    if (table->kind == NODE_BROKEN) return false;
    if (table->kind != NODE_SEQUENCE) {
        value_complain(reader, table, p->name,
                       "table: wants rows, such as [[25 degC, 1.0], [150 degC, 2.1]]");
        return false;
    }
    if (!row_fits(reader, p, table, TABLE_MAX)) return false;
    if (table->n == 1) {
        value_complain(reader, table, p->name, "a table of one row; write its value alone");
        return false;
    }
    double *x = take_row(reader, table->n), *y = take_row(reader, table->n);
    if (!x || !y) return false;
    bool good = true;
    size_t i = 0;
    for (const node *row = table->first; row; row = row->next, i++)
        good &= read_point(reader, p, row, &x[i], &y[i]);
    if (!good || !rises(reader, p, table, x)) return false;
    adopt(value, x, y, table->n);
    return true;
}

enum { TABLE, INTERPOLATION, TABLE_ORIGIN, TABLE_SCALE, TABLE_FIELDS = TABLE_SCALE + SCALE_FIELDS };
static const char *const table_names[] = {"table", "interpolation", "origin", SCALE_WORDS, NULL};

static bool read_interpolation(value_reader *reader, const hl_parameter *p, const node *from, hl_value *value)
{
    if (from->kind == NODE_BROKEN) return false;
    if (from->kind == NODE_SCALAR && strcmp(from->text, "linear") == 0) return true;
    if (from->kind == NODE_SCALAR && strcmp(from->text, "cubic") == 0) return value->curve.cubic = true;
    value_complain(reader, from, p->name, "interpolation: is linear or cubic");
    return false;
}

static bool has_key(const node *mapping, const char *word)
{
    for (const node *key = mapping->first; key && key->next; key = key->next->next)
        if (key->kind == NODE_SCALAR && strcmp(key->text, word) == 0) return true;
    return false;
}

static bool read_tabled(value_reader *reader, const hl_parameter *p, const node *from, hl_value *value,
                        hl_band *band)
{
    const node *f[TABLE_FIELDS] = {NULL};
    bool good = fields_read(reader, p->name, from, table_names, f);
    if (f[INTERPOLATION]) good &= read_interpolation(reader, p, f[INTERPOLATION], value);
    if (f[TABLE_ORIGIN])
        good &= (value->origin = origin_read(reader, p->name, f[TABLE_ORIGIN])) != HL_ORIGIN_ABSENT;
    good &= scale_read(reader, p->name, f + TABLE_SCALE, band);
    if (!f[TABLE]) {
        value_complain(reader, from, p->name, "table: is missing here");
        return false;
    }
    return table_read(reader, p, f[TABLE], value) && good;
}

/* A table, or a number (with or without a band) that holds for every x. */
bool curve_read(value_reader *reader, const hl_parameter *p, const node *from, hl_value *value, hl_band *band)
{
    if (!may_keep(reader, p, from)) return false;
    if (from->kind == NODE_SEQUENCE) {
        value_complain(reader, from, p->name, "a curve is written { table: [[x, y], [x, y]] }");
        return false;
    }
    if (from->kind == NODE_MAPPING && (has_key(from, "table") || has_key(from, "interpolation")))
        return read_tabled(reader, p, from, value, band);
    if (!number_read(reader, p, from, value, band)) return false;
    hl_band whole = band_about_one(*band, value->number);
    whole.group = band->group;
    whole.opposed = band->opposed;
    *band = whole;
    if (curve_flat(reader->memory, value->number, value)) return true;
    reader->starved = true;
    return false;
}
