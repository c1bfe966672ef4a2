/* rule_scope.c - what a file of rules may name while it is read, and its plain texts. */
#include "catalogue/rule_scope.h"

#include <stdio.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "quantity/excerpt.h"
#include "quantity/unit.h"

static const fact *own_fact(const scope *s, const hl_model *model, const char *name)
{
    for (size_t i = 0; i < s->set->n_facts; i++)
        if (strcmp(s->set->facts[i].parameter.name, name) == 0) return &s->set->facts[i];
    return rules_find_fact(s->sets, model, name);
}

/* What a name stands for: in the first model of the set that knows it. */
const hl_parameter *scope_meaning(const scope *s, const char *name, const fact **found)
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

static void tell_unknown(const scope *s, const char *name, char *why, size_t size)
{
    const char *near = nearest_name(s, name);
    excerpt shown = excerpt_of(name, strlen(name));
    if (near)
        snprintf(why, size, "no model of this file has a value '%s'; did you mean '%s'?", shown.text, near);
    else
        snprintf(why, size, "no model of this file has a value '%s', nor is it one of its facts", shown.text);
}

void scope_unknown(const scope *s, const node *at, const char *label, const char *name)
{
    char why[256];
    if (s->lacking) {
        *s->passed_over = true;
        return;
    }
    tell_unknown(s, name, why, sizeof why);
    value_complain(s->reader, at, label, "%s", why);
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

bool scope_name_means(const void *context, const char *name, const char *column, hl_dimension *dimension,
                      char *why, size_t size)
{
    const scope *s = context;
    const fact *found;
    const hl_parameter *p = scope_meaning(s, name, &found);
    if (!p) {
        tell_unknown(s, name, why, size);
        *s->passed_over = s->lacking;
        return false;
    }
    if (column) return column_means(found, name, column, dimension, why, size);
    if (p->kind == HL_NUMBER || p->kind == HL_LIST) return hl_dimension_of(p->dimension, dimension);
    snprintf(why, size, "'%s' is no number; a word's figure is written %s.figure", name, name);
    return false;
}

/* ----------------------------------------------------------------- texts -- */

const char *scope_keep(scope *s, const node *from)
{
    const char *kept = arena_text(s->reader->memory, from->text, from->length);
    if (!kept) s->reader->starved = true;
    return kept;
}

bool scope_text(scope *s, const node *from, const char *label, const char **text)
{
    if (from->kind == NODE_BROKEN) return false;
    if (from->kind != NODE_SCALAR || from->length == 0) {
        value_complain(s->reader, from, label, "is plain text");
        return false;
    }
    return (*text = scope_keep(s, from)) != NULL;
}

size_t scope_items(const node *from)
{
    return from->kind == NODE_SEQUENCE ? from->n : 1;
}

/* One word or a list of words, NULL-ended. */
const char **scope_words(scope *s, const node *from, const char *label)
{
    size_t n = scope_items(from), i = 0;
    const char **words = arena_array(s->reader->memory, n + 1, sizeof *words);
    if (!words) {
        s->reader->starved = true;
        return NULL;
    }
    const node *item = from->kind == NODE_SEQUENCE ? from->first : from;
    for (; i < n && item; item = item->next)
        if (!scope_text(s, item, label, &words[i++])) return NULL;
    if (n == 0) value_complain(s->reader, from, label, "an empty list");
    return n ? words : NULL;
}

bool scope_mapping(scope *s, const node *from, const char *label)
{
    if (from->kind == NODE_MAPPING) return true;
    if (from->kind != NODE_BROKEN) value_complain(s->reader, from, label, "a mapping is wanted here");
    return false;
}
