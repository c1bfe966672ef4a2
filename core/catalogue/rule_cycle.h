/* rule_cycle.h - rules that would need their own result. */
#ifndef HEATLEDGER_RULE_CYCLE_H
#define HEATLEDGER_RULE_CYCLE_H

#include "catalogue/rules.h"

/* Complain of a value of `set` that is estimated from itself, directly or through others; true when one is.
 */
bool rule_cycle_refused(value_reader *reader, const rule_set *sets, const rule_set *set);

#endif
