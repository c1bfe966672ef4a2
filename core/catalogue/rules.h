/* rules.h - estimate rules as read from their files: what a marking says of the values that are not printed.
 */
#ifndef HEATLEDGER_RULES_H
#define HEATLEDGER_RULES_H

#include "catalogue/expression.h"
#include "catalogue/value.h"

/* What may be stated of a part beside its model's own values: a word with a row of figures behind it
 * (package: to_220) or a quantity (wire_diameter). */
typedef struct fact {
    hl_parameter parameter;
    const char **columns; /* of a word: NULL-ended */
    const char **units;
    const double *cells; /* [word][COLUMNS_MAX]; NaN: not in this row */
    size_t n_columns;
} fact;

enum { COLUMNS_MAX = 24 }; /* figures behind one word */

typedef struct condition {
    const char *name;
    const char **words; /* NULL-ended; NULL: a range */
    double low, high;   /* SI */
} condition;

typedef struct rule {
    const char *fills;
    const char **models; /* NULL-ended; NULL: all of its set */
    const char **unless; /* NULL-ended: stated values beside which the rule has nothing to say; NULL: none */
    condition *conditions;
    size_t n_conditions;
    const expression *from; /* NULL: a word or a table */
    const char *word;
    hl_value table; /* given: a curve */
    hl_band_kind shape;
    double width;        /* factor, tolerance or sigma */
    bool width_is_share; /* of the value; otherwise SI */
    const char *group;
    bool opposed;
    const char *source;
    hl_place place;
} rule;

/* Values that move together where each is left to its model's default. */
typedef struct together {
    const char *group;
    const char **values; /* NULL-ended */
} together;

typedef struct rule_set {
    const hl_model **models; /* those of the file that are loaded */
    size_t n_models;
    fact *facts;
    size_t n_facts;
    rule *rules;
    size_t n_rules;
    together *groups;
    size_t n_groups;
    struct rule_set *next; /* in the order they were read */
} rule_set;

/* Read a rule file's tree and append it to *sets; nothing is appended when anything in it is wrong. */
void rules_read(value_reader *reader, const hl_host *host, const node *root, rule_set **sets);

bool rules_serve(const rule_set *set, const hl_model *model);
/* A fact of this name for this model, in any set; NULL: none. */
const fact *rules_find_fact(const rule_set *sets, const hl_model *model, const char *name);
/* A value of the model or a common one; *index counts the model's parameters first, then the commons. */
const hl_parameter *rules_find_value(const hl_model *model, const char *name, size_t *index);
/* May this rule be tried for this model? */
bool rule_serves(const rule *r, const hl_model *model);
/* The group a value's default moves with; NULL: with none. */
const char *rules_together(const rule_set *sets, const hl_model *model, const char *value);
/* Sides of a body in the order of `size`: 0, 1, 2; -1: no such side. */
int rules_side(const char *name, const char *column);
/* Column of a word fact, SIZE_MAX: none. */
size_t fact_column(const fact *f, const char *column);

#endif
