/* part.h - one described part, and how it is read. */
#ifndef HEATLEDGER_PART_H
#define HEATLEDGER_PART_H

#include "catalogue/rules.h"
#include "catalogue/value.h"
#include "heatledger/catalogue.h"

struct hl_part {
    const char *name, *description;
    const hl_model *model;
    hl_value *values; /* in table order */
    hl_value commons[HL_COMMONS];
    hl_band *bands; /* of the values, in table order */
    hl_band common_bands[HL_COMMONS];
    const rule **by; /* [parameters + HL_COMMONS]: the rule each was estimated by, NULL: none */
    hl_place place;
    hl_place *value_places; /* of each parameter; line 0: not stated */
};

/* Read `from` (what stands behind the part's name) into a new part in reader->memory.
 * NULL: the problems are in reader->diagnostics, or reader->starved. */
hl_part *part_read(value_reader *reader, const hl_host *host, const rule_set *rules, const node *name,
                   const node *from);

#endif
