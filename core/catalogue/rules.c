/* rules.c - reading a file of estimate rules: its facts, its rules, and whether they can be right. */
#include "catalogue/rules.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "catalogue/number.h"
#include "catalogue/rule_cycle.h"
#include "catalogue/series.h"
#include "heatledger/quantity.h"
#include "quantity/excerpt.h"
#include "quantity/unit.h"

static const char format_word[] = "estimates/1";

enum { FACTS_MAX = 64, WORDS_MAX = 200, RULES_MAX = 500, CONDITIONS_MAX = 8 };

/* The set being read, and what its rules may name. */
typedef struct scope {
    value_reader *reader;
    const hl_host *host;
    const rule_set *sets; /* read before */
    rule_set *set;
    const rule *rule; /* whose expression is being read */
} scope;

bool rules_serve(const rule_set *set, const hl_model *model)
{
    for (size_t i = 0; i < set->n_models; i++)
        if (set->models[i] == model) return true;
    return false;
}

bool rule_serves(const rule *r, const hl_model *model)
{
    for (size_t i = 0; r->models && r->models[i]; i++)
        if (strcmp(r->models[i], model->name) == 0) return true;
    return r->models == NULL;
}

const fact *rules_find_fact(const rule_set *sets, const hl_model *model, const char *name)
{
    for (const rule_set *set = sets; set; set = set->next)
        for (size_t i = 0; rules_serve(set, model) && i < set->n_facts; i++)
            if (strcmp(set->facts[i].parameter.name, name) == 0) return &set->facts[i];
    return NULL;
}

const hl_parameter *rules_find_value(const hl_model *model, const char *name, size_t *index)
{
    for (size_t i = 0; i < model->n_parameters; i++) {
        const hl_parameter *p = hl_model_parameter(model, i);
        if (index) *index = i;
        if (strcmp(p->name, name) == 0) return p;
    }
    for (size_t i = 0; i < HL_COMMONS; i++) {
        if (index) *index = model->n_parameters + i;
        if (strcmp(hl_common_parameter(i)->name, name) == 0) return hl_common_parameter(i);
    }
    return NULL;
}

int rules_side(const char *name, const char *column)
{
    static const char *const sides[] = {"length", "width", "height"};
    if (!column || strcmp(name, "size") != 0) return -1;
    for (int i = 0; i < 3; i++)
        if (strcmp(column, sides[i]) == 0) return i;
    return -1;
}

size_t fact_column(const fact *f, const char *column)
{
    for (size_t i = 0; column && i < f->n_columns; i++)
        if (strcmp(f->columns[i], column) == 0) return i;
    return SIZE_MAX;
}

/* ----------------------------------------------------------------- names -- */

static const fact *own_fact(const scope *s, const hl_model *model, const char *name)
{
    for (size_t i = 0; i < s->set->n_facts; i++)
        if (strcmp(s->set->facts[i].parameter.name, name) == 0) return &s->set->facts[i];
    return rules_find_fact(s->sets, model, name);
}

/* What a name stands for: in the first model of the set that knows it. */
static const hl_parameter *meaning_of(const scope *s, const char *name, const fact **found)
{
    *found = NULL;
    for (size_t i = 0; i < s->set->n_models; i++) {
        const hl_model *model = s->set->models[i];
        if (s->rule && !rule_serves(s->rule, model)) continue;
        const hl_parameter *p = rules_find_value(model, name, NULL);
        if (p) return p;
        *found = own_fact(s, model, name);
        if (*found) return &(*found)->parameter;
    }
    return NULL;
}

static const char *nearest_name(const scope *s, const char *name)
{
    const char **words = arena_array(s->reader->scratch, FACTS_MAX + HL_COMMONS + 512, sizeof *words);
    size_t n = 0;
    if (!words) return NULL;
    for (size_t i = 0; i < s->set->n_facts; i++) words[n++] = s->set->facts[i].parameter.name;
    for (size_t i = 0; i < HL_COMMONS; i++) words[n++] = hl_common_parameter(i)->name;
    for (size_t m = 0; m < s->set->n_models; m++)
        for (size_t i = 0; i < s->set->models[m]->n_parameters && n < FACTS_MAX + HL_COMMONS + 511; i++)
            words[n++] = hl_model_parameter(s->set->models[m], i)->name;
    return hl_nearest_word(name, words);
}

static void unknown_name(const scope *s, const char *name, char *why, size_t size)
{
    const char *near = nearest_name(s, name);
    excerpt shown = excerpt_of(name, strlen(name));
    if (near)
        snprintf(why, size, "no model of this file has a value '%s'; did you mean '%s'?", shown.text, near);
    else
        snprintf(why, size, "no model of this file has a value '%s', nor is it one of its facts", shown.text);
}

static bool column_means(const fact *f, const char *name, const char *column, hl_dimension *dimension,
                         char *why, size_t size)
{
    size_t index = f ? fact_column(f, column) : SIZE_MAX;
    if (index != SIZE_MAX) return hl_dimension_of(f->units[index], dimension);
    if (rules_side(name, column) >= 0) return hl_dimension_of("m", dimension);
    const char *near = f && f->columns ? hl_nearest_word(column, f->columns) : NULL;
    snprintf(why, size, "'%s' has no figure '%s'%s%s%s", name, column, near ? "; did you mean '" : "",
             near ? near : "", near ? "'?" : "");
    return false;
}

static bool name_means(const void *context, const char *name, const char *column, hl_dimension *dimension,
                       char *why, size_t size)
{
    const scope *s = context;
    const fact *found;
    const hl_parameter *p = meaning_of(s, name, &found);
    if (!p) {
        unknown_name(s, name, why, size);
        return false;
    }
    if (column) return column_means(found, name, column, dimension, why, size);
    if (p->kind == HL_NUMBER || p->kind == HL_LIST) return hl_dimension_of(p->dimension, dimension);
    snprintf(why, size, "'%s' is no number; a word's figure is written %s.figure", name, name);
    return false;
}

/* ----------------------------------------------------------------- texts -- */

static const char *keep(scope *s, const node *from)
{
    const char *kept = arena_text(s->reader->memory, from->text, from->length);
    if (!kept) s->reader->starved = true;
    return kept;
}

static bool read_text(scope *s, const node *from, const char *label, const char **text)
{
    if (from->kind == NODE_BROKEN) return false;
    if (from->kind != NODE_SCALAR || from->length == 0) {
        value_complain(s->reader, from, label, "is plain text");
        return false;
    }
    return (*text = keep(s, from)) != NULL;
}

static size_t items_of(const node *from)
{
    return from->kind == NODE_SEQUENCE ? from->n : 1;
}

/* One word or a list of words, NULL-ended. */
static const char **read_words(scope *s, const node *from, const char *label)
{
    size_t n = items_of(from), i = 0;
    const char **words = arena_array(s->reader->memory, n + 1, sizeof *words);
    if (!words) {
        s->reader->starved = true;
        return NULL;
    }
    const node *item = from->kind == NODE_SEQUENCE ? from->first : from;
    for (; i < n && item; item = item->next)
        if (!read_text(s, item, label, &words[i++])) return NULL;
    if (n == 0) value_complain(s->reader, from, label, "an empty list");
    return n ? words : NULL;
}

/* ----------------------------------------------------------------- facts -- */

static bool word_is_plain(const char *text)
{
    size_t n = strlen(text);
    return n > 0 && n <= 48 && strspn(text, "abcdefghijklmnopqrstuvwxyz0123456789_") == n;
}

static bool mapping_wanted(scope *s, const node *from, const char *label)
{
    if (from->kind == NODE_MAPPING) return true;
    if (from->kind != NODE_BROKEN) value_complain(s->reader, from, label, "a mapping is wanted here");
    return false;
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
        if (!(f->columns[column] = keep(s, key)) || !cell_unit(s, cell, key->text, &f->units[column]))
            return false;
        f->n_columns++;
    }
    return scalar_read(s->reader, key->text, cell, f->units[column], 0, 0, &row[column]);
}

/* classes: a word and the figures behind it, each. */
static bool read_classes(scope *s, fact *f, const node *from)
{
    if (!mapping_wanted(s, from, "classes")) return false;
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
        if (key->kind != NODE_SCALAR || !(words[w] = keep(s, key))) return false;
        if (!mapping_wanted(s, key->next, words[w])) return false;
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
    if (!read_text(s, unit_node, "unit", &f->parameter.dimension)) return false;
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
    if (key->kind != NODE_SCALAR || !(f->parameter.name = keep(s, key))) return false;
    const char *name = f->parameter.name;
    f->parameter.dimension = "1";
    f->parameter.source = "marking, or measured";
    if (!word_is_plain(name)) {
        value_complain(s->reader, key, name, "is no name for a fact; use a-z, 0-9 and _ (at most 48)");
        return false;
    }
    if (!mapping_wanted(s, from, name) || !fields_read(s->reader, name, from, words, found)) return false;
    if (!found[MEANING] || (found[CLASSES] != NULL) + (found[WORDS] != NULL) + (found[UNIT] != NULL) != 1) {
        value_complain(s->reader, key, name, "wants meaning: and one of classes:, words: and unit:");
        return false;
    }
    if (!read_text(s, found[MEANING], "meaning", &f->parameter.meaning)) return false;
    if (found[CLASSES]) return read_classes(s, f, found[CLASSES]);
    if (found[UNIT]) {
        f->parameter.kind = found[LIST] ? HL_LIST : HL_NUMBER;
        return read_unit(s, f, found[UNIT], found[USUAL]);
    }
    f->parameter.kind = HL_CHOICE;
    return (f->parameter.choices = read_words(s, found[WORDS], name)) != NULL;
}

static bool fact_is_new(scope *s, const node *key, const fact *f)
{
    const fact *found;
    if (!f->parameter.name) return false;
    if (!meaning_of(s, f->parameter.name, &found)) return true;
    value_complain(s->reader, key, f->parameter.name,
                   "is known already, as a value of a model or a fact of another file");
    return false;
}

static bool read_facts(scope *s, const node *from)
{
    if (!mapping_wanted(s, from, "facts")) return false;
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

/* ----------------------------------------------------------------- rules -- */

enum {
    FILLS,
    FROM,
    WORD,
    TABLE,
    FOR,
    BETWEEN,
    UNLESS,
    FACTOR,
    TOLERANCE,
    SIGMA,
    BAND,
    GROUP,
    SOURCE,
    NOTE,
    RULE_FIELDS
};
static const char *const rule_words[] = {"fills",   "from",   "word",   "table",     "for",
                                         "between", "unless", "factor", "tolerance", "sigma",
                                         "band",    "group",  "source", "note",      NULL};

static bool known_word(const hl_parameter *p, const char *word)
{
    for (size_t i = 0; p->choices && p->choices[i]; i++)
        if (strcmp(p->choices[i], word) == 0) return true;
    return false;
}

static bool is_worded(const hl_parameter *p)
{
    return p->kind == HL_CHOICE || p->kind == HL_CHOICES;
}

static bool check_words(scope *s, const node *at, const hl_parameter *p, const char *const *words)
{
    for (size_t i = 0; words[i]; i++) {
        if (known_word(p, words[i])) continue;
        const char *near = p->choices ? hl_nearest_word(words[i], p->choices) : NULL;
        value_complain(s->reader, at, p->name, "'%s' is none of its words%s%s%s",
                       excerpt_of(words[i], strlen(words[i])).text, near ? "; did you mean " : "",
                       near ? near : "", near ? "?" : "");
        return false;
    }
    return true;
}

static const hl_parameter *condition_target(scope *s, const node *key)
{
    const fact *found;
    const hl_parameter *p = key->kind == NODE_SCALAR ? meaning_of(s, key->text, &found) : NULL;
    char why[256];
    if (p || key->kind != NODE_SCALAR) return p;
    unknown_name(s, key->text, why, sizeof why);
    value_complain(s->reader, key, "", "%s", why);
    return NULL;
}

static bool check_models(scope *s, const node *at, const char *const *names)
{
    for (size_t i = 0; names[i]; i++) {
        bool known = false;
        for (size_t m = 0; m < s->set->n_models; m++) known |= !strcmp(s->set->models[m]->name, names[i]);
        if (known || !hl_host_find(s->host, names[i])) continue;
        value_complain(s->reader, at, "model", "'%s' is not among this file's models",
                       excerpt_of(names[i], strlen(names[i])).text);
        return false;
    }
    return true;
}

/* for: { technology: [planar, trench], model: gan_transistor } */
static bool read_for(scope *s, rule *r, const node *from)
{
    if (!mapping_wanted(s, from, "for")) return false;
    for (const node *key = from->first; key && key->next; key = key->next->next) {
        const char **words = read_words(s, key->next, "for");
        if (!words) return false;
        if (key->kind == NODE_SCALAR && strcmp(key->text, "model") == 0) {
            r->models = words;
            if (!check_models(s, key->next, words)) return false;
            continue;
        }
        const hl_parameter *p = condition_target(s, key);
        if (!p || !is_worded(p)) {
            if (p) value_complain(s->reader, key, p->name, "is no word; a range is stated in between:");
            return false;
        }
        if (!check_words(s, key->next, p, words) || r->n_conditions == CONDITIONS_MAX) return false;
        r->conditions[r->n_conditions++] = (condition){.name = keep(s, key), .words = words};
    }
    return !s->reader->starved;
}

/* between: { rated_voltage: [500 V, 700 V] } */
static bool read_between(scope *s, rule *r, const node *from)
{
    if (!mapping_wanted(s, from, "between")) return false;
    for (const node *key = from->first; key && key->next; key = key->next->next) {
        const hl_parameter *p = condition_target(s, key);
        const node *pair = key->next;
        if (!p) return false;
        if ((p->kind != HL_NUMBER && p->kind != HL_LIST) || pair->kind != NODE_SEQUENCE || pair->n != 2) {
            value_complain(s->reader, pair, p->name, "a range is written [lowest, highest]");
            return false;
        }
        condition c = {.name = keep(s, key)};
        if (!scalar_read(s->reader, p->name, pair->first, p->dimension, 0, 0, &c.low) ||
            !scalar_read(s->reader, p->name, pair->last, p->dimension, 0, 0, &c.high))
            return false;
        if (!(c.low < c.high) || r->n_conditions == CONDITIONS_MAX) {
            value_complain(s->reader, pair, p->name, "the highest value stands second");
            return false;
        }
        r->conditions[r->n_conditions++] = c;
    }
    return !s->reader->starved;
}

/* unless: [esr, loss_factor_curve] */
static bool read_unless(scope *s, rule *r, const node *from)
{
    if (!(r->unless = read_words(s, from, "unless"))) return false;
    const node *at = from->kind == NODE_SEQUENCE ? from->first : from;
    for (; at; at = from->kind == NODE_SEQUENCE ? at->next : NULL)
        if (!condition_target(s, at)) return false;
    return true;
}

static bool read_from(scope *s, rule *r, const hl_parameter *target, const node *from)
{
    char why[320];
    size_t column;
    hl_dimension wanted;
    if (from->kind != NODE_SCALAR) {
        value_complain(s->reader, from, "from", "a formula is wanted here");
        return false;
    }
    r->from =
        expression_read(s->reader->memory, from->text, from->length, name_means, s, why, sizeof why, &column);
    if (!r->from && !why[0]) s->reader->starved = true;
    node at = *from;
    at.column += (int)column + !from->plain;
    if (!r->from) {
        if (why[0]) value_complain(s->reader, &at, "from", "%s", why);
        return false;
    }
    if (is_worded(target)) {
        value_complain(s->reader, from, target->name, "is a word; state word:");
        return false;
    }
    if (hl_dimension_of(target->dimension, &wanted) && dimension_equal(wanted, expression_dimension(r->from)))
        return true;
    const char *got = dimension_name(expression_dimension(r->from));
    value_complain(s->reader, from, "from", "gives %s, but %s is in %s", got ? got : "another dimension",
                   target->name, target->dimension);
    return false;
}

static bool read_result(scope *s, rule *r, const hl_parameter *target, const node *const f[], const node *at)
{
    if ((f[FROM] != NULL) + (f[WORD] != NULL) + (f[TABLE] != NULL) != 1) {
        value_complain(s->reader, at, target->name, "a rule has one of from:, word: and table:");
        return false;
    }
    if (f[FROM]) return read_from(s, r, target, f[FROM]);
    if (f[WORD]) {
        if (!read_text(s, f[WORD], "word", &r->word)) return false;
        const char *const one[] = {r->word, NULL};
        return check_words(s, f[WORD], target, one);
    }
    if (target->kind != HL_CURVE) {
        value_complain(s->reader, f[TABLE], target->name, "is no curve; state from:");
        return false;
    }
    return r->table.given = table_read(s->reader, target, f[TABLE], &r->table);
}

static bool read_width(scope *s, rule *r, const hl_parameter *target, const node *const f[], const node *at)
{
    int stated = (f[FACTOR] != NULL) + (f[TOLERANCE] != NULL) + (f[SIGMA] != NULL) + (f[BAND] != NULL);
    if (f[WORD]) {
        if (stated) value_complain(s->reader, at, target->name, "a word has no band");
        return stated == 0;
    }
    if (stated != 1) {
        value_complain(s->reader, at, target->name,
                       "wants one of factor:, tolerance:, sigma: and band: none; how sure is it?");
        return false;
    }
    if (f[BAND]) {
        if (f[BAND]->kind == NODE_SCALAR && strcmp(f[BAND]->text, "none") == 0) return true;
        value_complain(s->reader, f[BAND], "band", "only none may stand here");
        return false;
    }
    return width_read(s->reader, target, f[FACTOR], f[TOLERANCE], f[SIGMA], &r->shape, &r->width,
                      &r->width_is_share);
}

static bool read_rule_group(scope *s, rule *r, const node *from)
{
    hl_band band = {.group = NULL};
    if (!group_read(s->reader, "group", from, &band)) return false;
    r->group = band.group;
    r->opposed = band.opposed;
    return true;
}

static const hl_parameter *rule_target(scope *s, const node *at)
{
    const fact *found;
    char why[256];
    const hl_parameter *p = at->kind == NODE_SCALAR ? meaning_of(s, at->text, &found) : NULL;
    if (p && strcmp(p->name, "size") != 0) return p;
    if (p)
        snprintf(why, sizeof why, "size is measured, not estimated");
    else
        unknown_name(s, at->kind == NODE_SCALAR ? at->text : "", why, sizeof why);
    value_complain(s->reader, at, "fills", "%s", why);
    return NULL;
}

static bool read_rule(scope *s, const node *from, rule *r)
{
    const node *f[RULE_FIELDS] = {NULL};
    if (!mapping_wanted(s, from, "rules") || !fields_read(s->reader, "rules", from, rule_words, f))
        return false;
    if (!f[FILLS] || !f[SOURCE]) {
        value_complain(s->reader, from, "rules",
                       "%s: is missing; a rule says what it fills and by what source",
                       f[FILLS] ? "source" : "fills");
        return false;
    }
    s->rule = r;
    r->place = (hl_place){s->reader->file, from->line, from->column};
    r->conditions = arena_array(s->reader->memory, CONDITIONS_MAX, sizeof *r->conditions);
    if (!r->conditions) {
        s->reader->starved = true;
        return false;
    }
    if (!read_text(s, f[SOURCE], "source", &r->source) || (f[FOR] && !read_for(s, r, f[FOR])) ||
        (f[BETWEEN] && !read_between(s, r, f[BETWEEN])) || (f[UNLESS] && !read_unless(s, r, f[UNLESS])) ||
        (f[GROUP] && !read_rule_group(s, r, f[GROUP])))
        return false;
    const hl_parameter *target = rule_target(s, f[FILLS]);
    if (!target || !(r->fills = keep(s, f[FILLS]))) return false;
    return read_result(s, r, target, f, from) && read_width(s, r, target, f, from);
}

static bool read_rules(scope *s, const node *from)
{
    if (from->kind != NODE_SEQUENCE || from->n == 0 || from->n > RULES_MAX) {
        if (from->kind != NODE_BROKEN)
            value_complain(s->reader, from, "rules", "a list of 1 to %d rules is wanted here", RULES_MAX);
        return false;
    }
    s->set->rules = arena_array(s->reader->memory, from->n, sizeof *s->set->rules);
    if (!s->set->rules) s->reader->starved = true;
    bool good = s->set->rules != NULL;
    for (const node *item = from->first; item && s->set->rules; item = item->next) {
        rule *r = &s->set->rules[s->set->n_rules];
        *r = (rule){.fills = NULL};
        if (s->reader->complaints > COMPLAINTS_MAX) return false;
        if (read_rule(s, item, r))
            s->set->n_rules++;
        else
            good = false;
        s->rule = NULL;
    }
    return good;
}

/* ------------------------------------------------------------------ file -- */

/* Models that are not loaded are left out: their plugin may be missing for a reason told elsewhere. */
static bool read_models(scope *s, const node *from)
{
    const char **names = read_words(s, from, "models");
    size_t n = items_of(from);
    s->set->models = arena_array(s->reader->memory, n + 1, sizeof *s->set->models);
    if (!names || !s->set->models) return false;
    const node *at = from->kind == NODE_SEQUENCE ? from->first : from;
    for (size_t i = 0; names[i]; i++, at = at->next) {
        const hl_model *model = hl_host_find(s->host, names[i]);
        if (model && model->device) {
            s->set->models[s->set->n_models++] = model;
            continue;
        }
        hl_place place = {s->reader->file, at->line, at->column};
        const char *near = hl_host_nearest(s->host, names[i]);
        hl_diagnostics_add(s->reader->diagnostics, HL_WARNING, &place,
                           "models: no device model is named '%s' here%s%s%s; its rules are left out",
                           excerpt_of(names[i], strlen(names[i])).text, near ? " (near: " : "",
                           near ? near : "", near ? ")" : "");
    }
    return true;
}

static bool check_format(scope *s, const node *from, const node *root)
{
    if (from && from->kind == NODE_SCALAR && strcmp(from->text, format_word) == 0) return true;
    value_complain(s->reader, from ? from : root, "heatledger", "a file of rules is marked '%s'",
                   format_word);
    return false;
}

void rules_read(value_reader *reader, const hl_host *host, const node *root, rule_set **sets)
{
    enum { FORMAT, MODELS, FACTS, RULES, FIELDS };
    static const char *const words[] = {"heatledger", "models", "facts", "rules", NULL};
    const node *found[FIELDS] = {NULL};
    scope s = {.reader = reader, .host = host, .sets = *sets};
    if (!mapping_wanted(&s, root, "") || !fields_read(reader, "", root, words, found)) return;
    if (!check_format(&s, found[FORMAT], root)) return;
    if (!found[MODELS] || !found[RULES]) {
        value_complain(reader, root, "", "'%s:' is missing", found[MODELS] ? "rules" : "models");
        return;
    }
    s.set = arena_take(reader->memory, sizeof *s.set);
    if (!s.set) {
        reader->starved = true;
        return;
    }
    *s.set = (rule_set){.models = NULL};
    if (!read_models(&s, found[MODELS]) || !s.set->n_models) return;
    if (found[FACTS] && !read_facts(&s, found[FACTS])) return;
    if (!read_rules(&s, found[RULES]) || reader->complaints || reader->starved) return;
    rule_set **end = sets;
    while (*end) end = &(*end)->next;
    *end = s.set;
    if (rule_cycle_refused(reader, *sets, s.set)) *end = NULL;
}
