/* rule_reader.c - one rule: what it fills, from what, when, how sure, by whose word. */
#include "catalogue/rule_reader.h"

#include <stdio.h>
#include <string.h>

#include "catalogue/number.h"
#include "catalogue/series.h"
#include "heatledger/quantity.h"
#include "quantity/excerpt.h"
#include "quantity/unit.h"

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
    const hl_parameter *p = key->kind == NODE_SCALAR ? scope_meaning(s, key->text, &found) : NULL;
    if (!p && key->kind == NODE_SCALAR) scope_unknown(s, key, "", key->text);
    return p;
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
    if (!scope_mapping(s, from, "for")) return false;
    for (const node *key = from->first; key && key->next; key = key->next->next) {
        const char **words = scope_words(s, key->next, "for");
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
        r->conditions[r->n_conditions++] = (condition){.name = scope_keep(s, key), .words = words};
    }
    return !s->reader->starved;
}

/* between: { rated_voltage: [500 V, 700 V] } */
static bool read_between(scope *s, rule *r, const node *from)
{
    if (!scope_mapping(s, from, "between")) return false;
    for (const node *key = from->first; key && key->next; key = key->next->next) {
        const hl_parameter *p = condition_target(s, key);
        const node *pair = key->next;
        if (!p) return false;
        if ((p->kind != HL_NUMBER && p->kind != HL_LIST) || pair->kind != NODE_SEQUENCE || pair->n != 2) {
            value_complain(s->reader, pair, p->name, "a range is written [lowest, highest]");
            return false;
        }
        condition c = {.name = scope_keep(s, key)};
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
    if (!(r->unless = scope_words(s, from, "unless"))) return false;
    const node *at = from->kind == NODE_SEQUENCE ? from->first : from;
    for (; at; at = from->kind == NODE_SEQUENCE ? at->next : NULL)
        if (!condition_target(s, at) && !*s->passed_over) return false;
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
    r->from = expression_read(s->reader->memory, from->text, from->length, scope_name_means, s, why,
                              sizeof why, &column);
    if (!r->from && !why[0]) s->reader->starved = true;
    node at = *from;
    at.column += (int)column + !from->plain;
    if (!r->from) {
        if (why[0] && !*s->passed_over) value_complain(s->reader, &at, "from", "%s", why);
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
        if (!scope_text(s, f[WORD], "word", &r->word)) return false;
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
    if (!group_read(s->reader, "", from, &band)) return false;
    r->group = band.group;
    r->opposed = band.opposed;
    return true;
}

static const hl_parameter *rule_target(scope *s, const node *at)
{
    const fact *found;
    const hl_parameter *p = at->kind == NODE_SCALAR ? scope_meaning(s, at->text, &found) : NULL;
    if (p && strcmp(p->name, "size") != 0) return p;
    if (p)
        value_complain(s->reader, at, "fills", "size is measured, not estimated");
    else
        scope_unknown(s, at, "fills", at->kind == NODE_SCALAR ? at->text : "");
    return NULL;
}

static bool read_rule(scope *s, const node *from, rule *r)
{
    const node *f[RULE_FIELDS] = {NULL};
    if (!scope_mapping(s, from, "rules") || !fields_read(s->reader, "rules", from, rule_words, f))
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
    if (!scope_text(s, f[SOURCE], "source", &r->source) || (f[FOR] && !read_for(s, r, f[FOR])) ||
        (f[BETWEEN] && !read_between(s, r, f[BETWEEN])) || (f[UNLESS] && !read_unless(s, r, f[UNLESS])) ||
        (f[GROUP] && !read_rule_group(s, r, f[GROUP])))
        return false;
    const hl_parameter *target = rule_target(s, f[FILLS]);
    if (!target || !(r->fills = scope_keep(s, f[FILLS]))) return false;
    return read_result(s, r, target, f, from) && read_width(s, r, target, f, from);
}

bool rule_list_read(scope *s, const node *from)
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
        *s->passed_over = false;
        if (read_rule(s, item, r))
            s->set->n_rules++;
        else if (!*s->passed_over)
            good = false;
        s->rule = NULL;
    }
    return good;
}
