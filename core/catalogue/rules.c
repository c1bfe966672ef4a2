/* rules.c - looking up facts, values and rules, and reading a file of them. */
#include "catalogue/rules.h"

#include <stdio.h>
#include <string.h>

#include "catalogue/fact_reader.h"
#include "catalogue/number.h"
#include "catalogue/rule_cycle.h"
#include "catalogue/rule_reader.h"
#include "catalogue/rule_scope.h"
#include "heatledger/quantity.h"
#include "quantity/excerpt.h"

static const char format_word[] = "estimates/1";

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

const char *rules_together(const rule_set *sets, const hl_model *model, const char *value)
{
    for (const rule_set *set = sets; set; set = set->next)
        for (size_t g = 0; rules_serve(set, model) && g < set->n_groups; g++)
            for (size_t i = 0; set->groups[g].values[i]; i++)
                if (strcmp(set->groups[g].values[i], value) == 0) return set->groups[g].group;
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

/* ------------------------------------------------------------------ file -- */

/* Models that are not loaded are left out: their plugin may be missing for a reason told elsewhere. */
static bool read_models(scope *s, const node *from)
{
    const char **names = scope_words(s, from, "models");
    size_t n = scope_items(from);
    s->set->models = arena_array(s->reader->memory, n + 1, sizeof *s->set->models);
    if (!names || !s->set->models) return false;
    const node *at = from->kind == NODE_SEQUENCE ? from->first : from;
    for (size_t i = 0; names[i]; i++, at = at->next) {
        const hl_model *model = hl_host_find(s->host, names[i]);
        if (model && model->device) {
            s->set->models[s->set->n_models++] = model;
            continue;
        }
        s->lacking = true;
        hl_place place = {s->reader->file, at->line, at->column};
        const char *near = hl_host_nearest(s->host, names[i]);
        hl_diagnostics_add(s->reader->diagnostics, HL_WARNING, &place,
                           "models: no device model is named '%s' here%s%s%s; its rules are left out",
                           excerpt_of(names[i], strlen(names[i])).text, near ? " (near: " : "",
                           near ? near : "", near ? ")" : "");
    }
    return true;
}

static bool read_group(scope *s, const node *key, const node *from, together *group)
{
    const fact *found;
    if (key->kind != NODE_SCALAR || !(group->group = scope_keep(s, key))) return false;
    if (!(group->values = scope_words(s, from, group->group))) return false;
    const node *at = from->kind == NODE_SEQUENCE ? from->first : from;
    for (size_t i = 0; group->values[i]; i++, at = at->next) {
        const hl_parameter *p = scope_meaning(s, group->values[i], &found);
        if (p && !found && p->kind == HL_NUMBER) continue;
        if (p)
            value_complain(s->reader, at, group->group, "%s is not a number of a model", p->name);
        else
            scope_unknown(s, at, group->group, group->values[i]);
        if (p || !s->lacking) return false;
    }
    return true;
}

/* together: { levels: [threshold_voltage, plateau_voltage] } */
static bool read_together(scope *s, const node *from)
{
    if (!scope_mapping(s, from, "together")) return false;
    s->set->groups = arena_array(s->reader->memory, from->n / 2 + 1, sizeof *s->set->groups);
    if (!s->set->groups) s->reader->starved = true;
    for (const node *key = from->first; s->set->groups && key && key->next; key = key->next->next)
        if (!read_group(s, key, key->next, &s->set->groups[s->set->n_groups++])) return false;
    return s->set->groups != NULL;
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
    enum { FORMAT, MODELS, FACTS, TOGETHER, RULES, FIELDS };
    static const char *const words[] = {"heatledger", "models", "facts", "together", "rules", NULL};
    const node *found[FIELDS] = {NULL};
    bool passed_over = false;
    scope s = {.reader = reader, .host = host, .sets = *sets, .passed_over = &passed_over};
    if (!scope_mapping(&s, root, "") || !fields_read(reader, "", root, words, found)) return;
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
    if (found[FACTS] && !facts_read(&s, found[FACTS])) return;
    if (found[TOGETHER] && !read_together(&s, found[TOGETHER])) return;
    if (!rule_list_read(&s, found[RULES]) || reader->complaints || reader->starved) return;
    rule_set **end = sets;
    while (*end) end = &(*end)->next;
    *end = s.set;
    if (rule_cycle_refused(reader, *sets, s.set)) *end = NULL;
}
