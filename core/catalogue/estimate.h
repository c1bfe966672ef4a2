/* estimate.h - completing a part from what its marking says. */
#ifndef HEATLEDGER_ESTIMATE_H
#define HEATLEDGER_ESTIMATE_H

#include "catalogue/rules.h"

/* A part being completed. Facts are in the order of their sets. */
typedef struct estimator {
    value_reader *reader;
    const rule_set *sets;
    const hl_model *model;
    const char *part;
    hl_value *values, *commons;
    hl_band *bands, *common_bands;
    const rule **by; /* [parameters + HL_COMMONS]: the rule that filled each, NULL: none */
    const fact **facts;
    hl_value *fact_values;
    hl_band *fact_bands;
    size_t n_facts;
    const char **misread; /* NULL-ended: values that stand there, but could not be read */
    size_t depth;
} estimator;

/* Number of facts that may be stated for a model. */
size_t estimate_facts(const rule_set *sets, const hl_model *model, const fact **facts, size_t room);

/* Fill value `index` (parameters first, then commons) when a rule can: then it is given, with its band and
 * the origin estimate. */
bool estimate_fill(estimator *e, size_t index);

/* What one must state so that `name` can be estimated: "package, or size", at most size bytes. "" when no
 * rule fills it. */
void estimate_wants(estimator *e, const char *name, char *text, size_t size);

/* Was `name` misread, or anything it might be estimated from? Then nobody knows whether it is missing. */
bool estimate_in_doubt(estimator *e, const char *name);

#endif
