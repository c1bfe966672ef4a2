/* rule_reader.h - the rules of a file of estimate rules. */
#ifndef HEATLEDGER_RULE_READER_H
#define HEATLEDGER_RULE_READER_H

#include "catalogue/rule_scope.h"

/* Read the list `rules:` into the scope's set. */
bool rule_list_read(scope *s, const node *from);

#endif
