/* model_reference.h - the reference of models, made from their parameter tables: Markdown pages and JSON. */
#ifndef HEATLEDGER_MODEL_REFERENCE_H
#define HEATLEDGER_MODEL_REFERENCE_H

#include <jansson.h>
#include <stdbool.h>

#include "heatledger/catalogue.h"

/* NAME.md for every model, and index.md, into a folder that is there.  false: the reason is on stderr. */
bool reference_write(const hl_host *host, const hl_catalogue *rules, const char *folder);
/* One model with its parameters and slots, and the facts that `rules` know of it; ranges and defaults in SI.
 */
json_t *reference_json(const hl_catalogue *rules, const hl_model *model);

/* "150 mohm", a word, or "" when there is no default. */
void reference_default(const hl_parameter *parameter, char *text, size_t size);

#endif
