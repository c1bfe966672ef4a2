/* fact_reader.c - what may be stated of a part beside its model's values: words with figures, and quantities.
 */
#include "catalogue/fact_reader.h"

#include <math.h>
#include <string.h>

#include "catalogue/number.h"
#include "heatledger/quantity.h"
#include "quantity/excerpt.h"
#include "quantity/unit.h"

static bool word_is_plain(const char *text)
{
    size_t n = strlen(text);
    return n > 0 && n <= 48 && strspn(text, "abcdefghijklmnopqrstuvwxyz0123456789_") == n;
}

/* Unit of a cell as its text has it: what stands behind the number. */
static bool cell_unit(scope *s, const node *cell, const char *label, const char **unit_text)
{
    size_t n = cell->kind == NODE_SCALAR ? strspn(cell->text, "+-.0123456789eE") : 0;
    while (n > 0 && n < cell->length && cell->text[n] == ' ') n++;
    const char *text = n < cell->length ? cell->text + n : "1";
    if (cell->kind == NODE_SCALAR && n > 0 && strcmp(text, "%") == 0) text = "1";
    *unit_text = arena_copy(s->reader->memory, text);
    hl_dimension d;
    if (*unit_text && hl_dimension_of(*unit_text, &d)) return true;
    value_complain(s->reader, cell, label, "a figure with its unit is wanted here");
    return false;
}

static bool read_cell(scope *s, fact *f, const node *key, const node *cell, double *row)
{
    size_t column = fact_column(f, key->text);
    if (column == SIZE_MAX) {
        if (f->n_columns == COLUMNS_MAX || !word_is_plain(key->text)) {
            value_complain(s->reader, key, f->parameter.name, "at most %d figures, named in a-z, 0-9 and _",
                           COLUMNS_MAX);
            return false;
        }
        column = f->n_columns;
        if (!(f->columns[column] = scope_keep(s, key)) || !cell_unit(s, cell, key->text, &f->units[column]))
            return false;
        f->n_columns++;
    }
    return scalar_read(s->reader, key->text, cell, f->units[column], 0, 0, &row[column]);
}

/* classes: a word and the figures behind it, each. */
static bool read_classes(scope *s, fact *f, const node *from)
{
    if (!scope_mapping(s, from, "classes")) return false;
    size_t n = from->n / 2, w = 0;
    if (n == 0 || n > WORDS_MAX) {
        value_complain(s->reader, from, "classes", "from 1 to %d classes", WORDS_MAX);
        return false;
    }
    const char **words = arena_array(s->reader->memory, n + 1, sizeof *words);
    double *cells = arena_array(s->reader->memory, n * COLUMNS_MAX, sizeof *cells);
    f->columns = arena_array(s->reader->memory, COLUMNS_MAX + 1, sizeof *f->columns);
    f->units = arena_array(s->reader->memory, COLUMNS_MAX + 1, sizeof *f->units);
    if (!words || !cells || !f->columns || !f->units) {
        s->reader->starved = true;
        return false;
    }
    for (size_t i = 0; i < n * COLUMNS_MAX; i++) cells[i] = NAN;
    bool good = true;
    for (const node *key = from->first; key && key->next; key = key->next->next, w++) {
        if (key->kind != NODE_SCALAR || !(words[w] = scope_keep(s, key))) return false;
        if (!scope_mapping(s, key->next, words[w])) return false;
        for (const node *c = key->next->first; c && c->next; c = c->next->next)
            good &= c->kind == NODE_SCALAR && read_cell(s, f, c, c->next, &cells[w * COLUMNS_MAX]);
    }
    f->parameter.kind = HL_CHOICE;
    f->parameter.choices = words;
    f->cells = cells;
    return good;
}

static bool read_unit(scope *s, fact *f, const node *unit_node, const node *range)
{
    hl_dimension d;
    if (!scope_text(s, unit_node, "unit", &f->parameter.dimension)) return false;
    if (!hl_dimension_of(f->parameter.dimension, &d)) {
        value_complain(s->reader, unit_node, "unit", "'%s' is not a unit known here",
                       excerpt_of(unit_node->text, unit_node->length).text);
        return false;
    }
    if (!range) return true;
    const char *unit_text = f->parameter.dimension;
    if (range->kind == NODE_SEQUENCE && range->n == 2)
        return scalar_read(s->reader, "usual", range->first, unit_text, 0, 0, &f->parameter.low) &&
               scalar_read(s->reader, "usual", range->last, unit_text, 0, 0, &f->parameter.high);
    value_complain(s->reader, range, "usual", "two values: [lowest, highest]");
    return false;
}

static bool read_fact(scope *s, const node *key, const node *from, fact *f)
{
    enum { MEANING, CLASSES, WORDS, UNIT, USUAL, LIST, FIELDS };
    static const char *const words[] = {"meaning", "classes", "words", "unit", "usual", "list", NULL};
    const node *found[FIELDS] = {NULL};
    if (key->kind != NODE_SCALAR || !(f->parameter.name = scope_keep(s, key))) return false;
    const char *name = f->parameter.name;
    f->parameter.dimension = "1";
    f->parameter.source = "marking, or measured";
    if (!word_is_plain(name)) {
        value_complain(s->reader, key, name, "is no name for a fact; use a-z, 0-9 and _ (at most 48)");
        return false;
    }
    if (!scope_mapping(s, from, name) || !fields_read(s->reader, name, from, words, found)) return false;
    if (!found[MEANING] || (found[CLASSES] != NULL) + (found[WORDS] != NULL) + (found[UNIT] != NULL) != 1) {
        value_complain(s->reader, key, name, "wants meaning: and one of classes:, words: and unit:");
        return false;
    }
    if (!scope_text(s, found[MEANING], "meaning", &f->parameter.meaning)) return false;
    if (found[CLASSES]) return read_classes(s, f, found[CLASSES]);
    if (found[UNIT]) {
        f->parameter.kind = found[LIST] ? HL_LIST : HL_NUMBER;
        return read_unit(s, f, found[UNIT], found[USUAL]);
    }
    f->parameter.kind = HL_CHOICE;
    return (f->parameter.choices = scope_words(s, found[WORDS], name)) != NULL;
}

static bool fact_is_new(scope *s, const node *key, const fact *f)
{
    const fact *found;
    if (!f->parameter.name) return false;
    if (!scope_meaning(s, f->parameter.name, &found)) return true;
    value_complain(s->reader, key, f->parameter.name,
                   "is known already, as a value of a model or a fact of another file");
    return false;
}

bool facts_read(scope *s, const node *from)
{
    if (!scope_mapping(s, from, "facts")) return false;
    size_t n = from->n / 2;
    if (n > FACTS_MAX) {
        value_complain(s->reader, from, "facts", "at most %d in one file", FACTS_MAX);
        return false;
    }
    s->set->facts = arena_array(s->reader->memory, n + 1, sizeof *s->set->facts);
    if (!s->set->facts) s->reader->starved = true;
    bool good = s->set->facts != NULL;
    for (const node *key = from->first; good && key && key->next; key = key->next->next) {
        fact read = {.n_columns = 0};
        if (!read_fact(s, key, key->next, &read) || !fact_is_new(s, key, &read)) return false;
        s->set->facts[s->set->n_facts++] = read;
    }
    return good;
}
