/* estimate.c - from a value that is wanted, backwards through the rules to what is stated. */
#include "catalogue/estimate.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "catalogue/band.h"
#include "catalogue/rules.h"
#include "catalogue/series.h"
#include "diagnostic/joined.h"

enum { DEPTH_MAX = 64 };

/* Where a name's value stands. */
typedef struct place {
    const hl_parameter *parameter;
    hl_value *value;
    hl_band *band;
    const rule **by; /* NULL: a fact */
    const fact *fact;
} place;

size_t estimate_facts(const rule_set *sets, const hl_model *model, const fact **facts, size_t room)
{
    size_t n = 0;
    for (const rule_set *set = sets; set; set = set->next)
        for (size_t i = 0; rules_serve(set, model) && i < set->n_facts; i++, n++)
            if (n < room) facts[n] = &set->facts[i];
    return n;
}

static place place_at(estimator *e, size_t index)
{
    size_t n = e->model->n_parameters;
    if (index < n)
        return (place){hl_model_parameter(e->model, index), &e->values[index], &e->bands[index],
                       &e->by[index], NULL};
    size_t c = index - n;
    return (place){hl_common_parameter(c), &e->commons[c], &e->common_bands[c], &e->by[index], NULL};
}

static bool find(estimator *e, const char *name, place *at)
{
    size_t index;
    if (rules_find_value(e->model, name, &index)) {
        *at = place_at(e, index);
        return true;
    }
    for (size_t i = 0; i < e->n_facts; i++)
        if (strcmp(e->facts[i]->parameter.name, name) == 0) {
            *at = (place){&e->facts[i]->parameter, &e->fact_values[i], &e->fact_bands[i], NULL, e->facts[i]};
            return true;
        }
    return false;
}

static bool fill(estimator *e, const char *name, place *at);

static bool known(estimator *e, const char *name, place *at)
{
    return find(e, name, at) && (at->value->given || fill(e, name, at));
}

static const char *word_of(const place *at)
{
    if (at->parameter->kind == HL_CHOICES && at->value->curve.n)
        return at->parameter->choices[(size_t)at->value->curve.y[0]];
    return at->parameter->kind == HL_CHOICE ? at->parameter->choices[(size_t)at->value->number] : NULL;
}

static bool holds(estimator *e, const condition *c)
{
    place at;
    if (!known(e, c->name, &at)) return false;
    if (!c->words) return at.value->number >= c->low && at.value->number <= c->high;
    const char *word = word_of(&at);
    for (size_t i = 0; word && c->words[i]; i++)
        if (strcmp(c->words[i], word) == 0) return true;
    return false;
}

/* ---------------------------------------------------------------- values -- */

/* An evaluation, with one name's value multiplied by 1 + step for the elasticities. */
typedef struct evaluation {
    estimator *e;
    const char *moved, *moved_column;
    double step;
} evaluation;

static double cell_of(const place *at, const char *column)
{
    if (at->fact && at->fact->n_columns) {
        size_t index = fact_column(at->fact, column);
        return index == SIZE_MAX ? NAN : at->fact->cells[(size_t)at->value->number * COLUMNS_MAX + index];
    }
    int side = rules_side(at->parameter->name, column);
    return side >= 0 && at->value->curve.n == 3 ? at->value->curve.y[side] : NAN;
}

static double entry(const hl_value *value, size_t index)
{
    size_t n = value->curve.x ? 0 : value->curve.n;
    if (n == 0) return value->number;
    return value->curve.y[index < n ? index : n - 1];
}

static double value_of(const void *context, const char *name, const char *column, size_t index)
{
    const evaluation *v = context;
    place at;
    if (!find(v->e, name, &at) || !at.value->given) return NAN;
    double number = column ? cell_of(&at, column) : entry(at.value, index);
    if (v->moved && !column && strcmp(v->moved, name) == 0) number *= 1 + v->step;
    return number;
}

/* How many entries the result has: as many as the longest list among its names. */
typedef struct needs {
    estimator *e;
    bool met;
    size_t entries;
} needs;

static void need_name(void *context, const char *name, const char *column)
{
    needs *n = context;
    place at;
    if (!n->met || !known(n->e, name, &at)) {
        n->met = false;
        return;
    }
    if (!column && at.parameter->kind == HL_LIST && at.value->curve.n > n->entries)
        n->entries = at.value->curve.n;
}

/* ----------------------------------------------------------------- bands -- */

/* Relative variance a formula takes over from the values it is made of: sum of (elasticity sigma)^2 over
 * those that have a band themselves. source: JCGM 100:2008 (GUM), eq. 12 for products of powers; elsewhere
 * its first order */
typedef struct inherited {
    evaluation at;
    const rule *by;
    double base, variance;
} inherited;

static double relative_deviation(const hl_band *band)
{
    if (band->kind == HL_BAND_LOG_NORMAL) return band->sigma;
    return band->central != 0 ? hl_band_deviation(band) / fabs(band->central) : 0;
}

static void inherit_name(void *context, const char *name, const char *column)
{
    static const double step = 1e-4;
    inherited *i = context;
    place at;
    if (column || !find(i->at.e, name, &at) || at.band->kind == HL_BAND_NONE) return;
    i->at.moved = name;
    i->at.step = step;
    double moved = expression_evaluate(i->by->from, value_of, &i->at, 0);
    double elasticity = (moved - i->base) / (step * i->base);
    double share = elasticity * relative_deviation(at.band);
    if (isfinite(share)) i->variance += share * share;
}

static hl_band rule_band(estimator *e, const rule *r, double number)
{
    hl_band band = band_exact(number);
    inherited in = {.at = {.e = e}, .by = r, .base = number};
    if (r->from && number != 0) expression_names(r->from, inherit_name, &in);
    double share = r->width_is_share && r->shape != HL_BAND_LOG_NORMAL ? r->width * fabs(number) : r->width;
    if (r->shape == HL_BAND_LOG_NORMAL && number > 0) {
        double own = log(r->width) / band_reach();
        return band_factor(number, exp(band_reach() * sqrt(own * own + in.variance)));
    }
    if (r->shape == HL_BAND_UNIFORM && in.variance == 0)
        return band_between(HL_BAND_UNIFORM, number - share, number, number + share);
    if (r->shape == HL_BAND_UNIFORM) share /= sqrt(3); /* standard deviation of a rectangle */
    if (r->shape == HL_BAND_NORMAL || r->shape == HL_BAND_UNIFORM) {
        double sigma = sqrt(share * share + in.variance * number * number);
        return sigma > 0 ? band_normal(number, sigma) : band;
    }
    return in.variance > 0 ? band_normal(number, sqrt(in.variance) * fabs(number)) : band;
}

/* The groups of a rule are the part's own: another part's core is another core. */
static bool name_group(estimator *e, const rule *r, hl_band *band)
{
    if (!r->group || band->kind == HL_BAND_NONE) return true;
    size_t length = strlen(e->part) + strlen(r->group) + 2;
    char *name = arena_take(e->reader->memory, length);
    if (!name) {
        e->reader->starved = true;
        return false;
    }
    snprintf(name, length, "%s:%s", e->part, r->group);
    band->group = name;
    band->opposed = r->opposed;
    return true;
}

/* ---------------------------------------------------------------- filling -- */

static bool usable(const hl_parameter *p, double number)
{
    return isfinite(number) && (p->low == p->high || (number >= p->low && number <= p->high));
}

static bool fill_list(estimator *e, const rule *r, const place *at, size_t entries, hl_value *value)
{
    evaluation v = {.e = e};
    double *row = arena_array(e->reader->memory, entries, sizeof *row);
    if (!row) {
        e->reader->starved = true;
        return false;
    }
    for (size_t i = 0; i < entries; i++) {
        row[i] = expression_evaluate(r->from, value_of, &v, i);
        if (!usable(at->parameter, row[i])) return false;
    }
    value->curve = (hl_curve){.n = entries, .y = row};
    value->number = value->minimum = value->maximum = row[0];
    return true;
}

static bool fill_number(estimator *e, const rule *r, const place *at, hl_value *value, hl_band *band)
{
    evaluation v = {.e = e};
    needs n = {.e = e, .met = true, .entries = 1};
    expression_names(r->from, need_name, &n);
    if (!n.met) return false;
    if (at->parameter->kind == HL_LIST) {
        if (!fill_list(e, r, at, n.entries, value)) return false;
        *band = band_about_one(rule_band(e, r, value->number), value->number);
        return true;
    }
    double number = expression_evaluate(r->from, value_of, &v, 0);
    if (!usable(at->parameter, number)) return false;
    *band = rule_band(e, r, number);
    bool ranged = at->parameter->low < at->parameter->high;
    if (at->parameter->kind == HL_CURVE) {
        *band = band_about_one(*band, number);
        if (curve_flat(e->reader->memory, number, value))
            value->number = value->minimum = value->maximum = number;
        else
            e->reader->starved = true;
        return value->curve.n > 0;
    }
    value->number = number;
    value->minimum = ranged ? fmax(band->low, at->parameter->low) : band->low;
    value->maximum = ranged ? fmin(band->high, at->parameter->high) : band->high;
    return true;
}

static bool fill_word(estimator *e, const rule *r, const place *at, hl_value *value)
{
    double index = 0;
    while (strcmp(at->parameter->choices[(size_t)index], r->word) != 0) index++;
    value->number = value->minimum = value->maximum = index;
    if (at->parameter->kind != HL_CHOICES) return true;
    double *row = arena_take(e->reader->memory, sizeof *row); /* the last entry stands for all that follow */
    if (!row) {
        e->reader->starved = true;
        return false;
    }
    *row = index;
    value->curve = (hl_curve){.n = 1, .y = row};
    return true;
}

/* Is something stated that speaks for itself? What another rule filled does not count. */
static bool shut_out(estimator *e, const rule *r)
{
    place at;
    for (size_t i = 0; r->unless && r->unless[i]; i++)
        if (find(e, r->unless[i], &at) && at.value->given && !(at.by && *at.by)) return true;
    return false;
}

static bool try_rule(estimator *e, const rule *r, const place *at)
{
    if (shut_out(e, r)) return false;
    for (size_t i = 0; i < r->n_conditions; i++)
        if (!holds(e, &r->conditions[i])) return false;
    hl_value value = {.origin = HL_ORIGIN_ESTIMATE, .given = true};
    hl_band band = {.kind = HL_BAND_NONE};
    if (r->from && !fill_number(e, r, at, &value, &band)) return false;
    if (r->word && !fill_word(e, r, at, &value)) return false;
    if (r->table.given) {
        value = r->table;
        value.origin = HL_ORIGIN_ESTIMATE;
        band = rule_band(e, r, 1);
    }
    if (!name_group(e, r, &band)) return false;
    band_finish(at->parameter, &value, &band);
    *at->value = value;
    *at->band = band;
    if (at->by) *at->by = r;
    return true;
}

static bool fill(estimator *e, const char *name, place *at)
{
    if (e->depth >= DEPTH_MAX || e->reader->starved) return false;
    e->depth++;
    bool filled = false;
    for (const rule_set *set = e->sets; set && !filled; set = set->next)
        for (size_t i = 0; !filled && rules_serve(set, e->model) && i < set->n_rules; i++) {
            const rule *r = &set->rules[i];
            if (strcmp(r->fills, name) == 0 && rule_serves(r, e->model)) filled = try_rule(e, r, at);
        }
    e->depth--;
    return filled;
}

bool estimate_fill(estimator *e, size_t index)
{
    place at = place_at(e, index);
    return at.value->given || fill(e, at.parameter->name, &at);
}

/* ----------------------------------------------------------------- advice -- */

typedef struct advice {
    estimator *e;
    char *text;
    size_t size, depth;
    bool misread; /* something wanted stands there and could not be read */
} advice;

static void advise(advice *a, const char *name);

static bool was_misread(const estimator *e, const char *name)
{
    for (size_t i = 0; e->misread && e->misread[i]; i++)
        if (strcmp(e->misread[i], name) == 0) return true;
    return false;
}

static void advise_name(void *context, const char *name, const char *column)
{
    advice *a = context;
    place at;
    (void)column;
    if (was_misread(a->e, name)) a->misread = true;
    if (!find(a->e, name, &at) || at.value->given) return;
    advise(a, name);
}

static bool listed(const advice *a, const char *name)
{
    size_t n = strlen(name);
    for (const char *at = a->text; (at = strstr(at, name)); at += n) {
        bool starts = at == a->text || at[-1] == ' ', ends = at[n] == '\0' || at[n] == ',';
        if (starts && ends) return true;
    }
    return false;
}

/* A value no rule can fill is one to be stated; the others are followed to such. */
static void advise(advice *a, const char *name)
{
    bool ruled = false;
    for (const rule_set *set = a->e->sets; set; set = set->next)
        for (size_t i = 0; rules_serve(set, a->e->model) && i < set->n_rules; i++) {
            const rule *r = &set->rules[i];
            if (strcmp(r->fills, name) != 0 || !rule_serves(r, a->e->model) || a->depth > 8) continue;
            ruled = true;
            a->depth++;
            for (size_t k = 0; k < r->n_conditions; k++) advise_name(a, r->conditions[k].name, NULL);
            expression_names(r->from, advise_name, a);
            a->depth--;
        }
    if ((ruled && a->depth > 0) || a->depth == 0 || listed(a, name)) return;
    join_word(a->text, a->size, ", ", name);
}

void estimate_wants(estimator *e, const char *name, char *text, size_t size)
{
    advice a = {.e = e, .text = text, .size = size};
    text[0] = '\0';
    advise(&a, name);
}

bool estimate_in_doubt(estimator *e, const char *name)
{
    char wants[200] = "";
    advice a = {.e = e, .text = wants, .size = sizeof wants, .misread = was_misread(e, name)};
    advise(&a, name);
    return a.misread;
}
