/* rule_cycle.c - a walk from each value to those it is estimated from, until one comes round again. */
#include "catalogue/rule_cycle.h"
#include "diagnostic/joined.h"

#include <stdio.h>
#include <string.h>

enum { NAMES_MAX = 512, PATH_MAX_LENGTH = 64 };

typedef struct walk {
    const rule_set *sets;
    const hl_model *model;
    const char *done[NAMES_MAX]; /* reached, and nothing found behind them */
    size_t n_done;
    const char *path[PATH_MAX_LENGTH];
    size_t depth;
    const rule *guilty;
} walk;

static void visit(walk *w, const rule *by, const char *name);

typedef struct step {
    walk *w;
    const rule *by;
} step;

static void visit_name(void *context, const char *name, const char *column)
{
    step *s = context;
    (void)column;
    visit(s->w, s->by, name);
}

static void visit_rule(walk *w, const rule *r)
{
    step s = {w, r};
    for (size_t i = 0; i < r->n_conditions; i++) visit(w, r, r->conditions[i].name);
    expression_names(r->from, visit_name, &s);
}

static bool among(const char *const *names, size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(names[i], name) == 0) return true;
    return false;
}

static void visit(walk *w, const rule *by, const char *name)
{
    if (w->guilty || among(w->done, w->n_done, name)) return;
    if (among(w->path, w->depth, name) || w->depth == PATH_MAX_LENGTH) {
        w->guilty = by;
        if (w->depth < PATH_MAX_LENGTH) w->path[w->depth++] = name;
        return;
    }
    w->path[w->depth++] = name;
    for (const rule_set *set = w->sets; set; set = set->next)
        for (size_t i = 0; rules_serve(set, w->model) && i < set->n_rules; i++)
            if (rule_serves(&set->rules[i], w->model) && strcmp(set->rules[i].fills, name) == 0)
                visit_rule(w, &set->rules[i]);
    if (w->guilty) return;
    w->depth--;
    if (w->n_done < NAMES_MAX) w->done[w->n_done++] = name;
}

static void complain(value_reader *reader, const walk *w)
{
    char chain[400] = "";
    size_t from = 0;
    const char *last = w->path[w->depth - 1];
    while (from + 1 < w->depth && strcmp(w->path[from], last) != 0) from++;
    for (size_t i = from; i < w->depth; i++) join_word(chain, sizeof chain, " from ", w->path[i]);
    node at = {.line = w->guilty->place.line, .column = w->guilty->place.column};
    value_complain(reader, &at, "rules", "%s is estimated from itself: %s", last, chain);
}

bool rule_cycle_refused(value_reader *reader, const rule_set *sets, const rule_set *set)
{
    for (size_t m = 0; m < set->n_models; m++) {
        walk w = {.sets = sets, .model = set->models[m]};
        for (size_t i = 0; i < set->n_rules && !w.guilty; i++) visit(&w, &set->rules[i], set->rules[i].fills);
        if (!w.guilty) continue;
        complain(reader, &w);
        return true;
    }
    return false;
}
