/* rule_scope.h - a file of estimate rules while it is being read: what has been read, what may be named. */
#ifndef HEATLEDGER_RULE_SCOPE_H
#define HEATLEDGER_RULE_SCOPE_H

#include "catalogue/rules.h"

enum { FACTS_MAX = 64, WORDS_MAX = 200, RULES_MAX = 500, CONDITIONS_MAX = 8 };

/* The set being read, and what its rules may name. */
typedef struct scope {
    value_reader *reader;
    const hl_host *host;
    const rule_set *sets; /* read before */
    rule_set *set;
    const rule *rule; /* whose expression is being read */
    bool lacking; /* a model of the file is not loaded: a name that stands for nothing may be that one's */
    bool *passed_over; /* such a name was met: what holds it is left out without a word */
} scope;

/* What a name stands for: in the first model of the set that knows it. *found: the fact, if it is one. */
const hl_parameter *scope_meaning(const scope *s, const char *name, const fact **found);
/* A name that stands for nothing: complained of, or passed over. */
void scope_unknown(const scope *s, const node *at, const char *label, const char *name);
/* The dimension of a name in a formula (expression_knows). */
bool scope_name_means(const void *context, const char *name, const char *column, hl_dimension *dimension,
                      char *why, size_t size);

/* A scalar's text in the set's memory; NULL: none left. */
const char *scope_keep(scope *s, const node *from);
bool scope_text(scope *s, const node *from, const char *label, const char **text);
size_t scope_items(const node *from);
/* One word or a list of words, NULL-ended. */
const char **scope_words(scope *s, const node *from, const char *label);
bool scope_mapping(scope *s, const node *from, const char *label);

#endif
