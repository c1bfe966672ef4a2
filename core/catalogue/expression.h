/* expression.h - the formula of an estimate rule: "3.5 [ohm nC] / on_resistance * (rated_voltage / 600
 * [V])^1.3".
 *
 * Numbers with a unit in brackets, names, package.resistance_case (a column of a class, a side of size),
 * + - * / ^, parentheses, min, max, sqrt, exp, ln; first(a, b) is a in the first entry of a list, b in the
 * others.  Dimensions are checked when it is read; a power other than a whole number wants a base without
 * dimension.  No loops, no assignment, nothing to run away. */
#ifndef HEATLEDGER_EXPRESSION_H
#define HEATLEDGER_EXPRESSION_H

#include "diagnostic/arena.h"
#include "heatledger/quantity.h"

typedef struct expression expression;

/* What the reader of an expression knows of a name: false when it means nothing here (`why` says what would).
 * column is NULL for a plain name. */
typedef bool expression_knows(const void *context, const char *name, const char *column,
                              hl_dimension *dimension, char *why, size_t size);

/* Entry `index` of a name's value (0 unless it is a list), in SI; NaN when it is not known. */
typedef double expression_value(const void *context, const char *name, const char *column, size_t index);

/* Called once for each name in the expression. */
typedef void expression_visit(void *context, const char *name, const char *column);

enum { EXPRESSION_BYTES_MAX = 600, EXPRESSION_DEPTH_MAX = 40 };

/* NULL: `why` says what is wrong and *column (from 0, in characters) where; or memory ran out and why is "".
 */
expression *expression_read(arena *memory, const char *text, size_t length, expression_knows *knows,
                            const void *context, char *why, size_t size, size_t *column);

hl_dimension expression_dimension(const expression *from);

/* NaN when a name's value is not known or the arithmetic has no answer. */
double expression_evaluate(const expression *from, expression_value *value, const void *context,
                           size_t index);

void expression_names(const expression *from, expression_visit *visit, void *context);

#endif
