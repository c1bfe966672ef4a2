/* fact_reader.h - the facts of a file of estimate rules. */
#ifndef HEATLEDGER_FACT_READER_H
#define HEATLEDGER_FACT_READER_H

#include "catalogue/rule_scope.h"

/* Read the mapping `facts:` into the scope's set. */
bool facts_read(scope *s, const node *from);

#endif
