/* crowding.h - parts that stand where something else is, or where nothing holds them. */
#ifndef HEATLEDGER_CROWDING_H
#define HEATLEDGER_CROWDING_H

#include "design/draft.h"
#include "design/field_heat.h"

/* Tell what stands in the box as the script puts it there, before a network moves it.  Two parts that share
 * more than 0.05 mm each way: an error where the heat field is solved, since each point of it holds one body;
 * a warning where rules take each part for itself.  By rule also what reaches into a wall or its board, and
 * what floats off its board; field_seat.c tells that of a field, with what it makes of it.  Parts without a
 * place are left out.  true: an error. */
bool crowding_tell(const hl_draft *draft, size_t n, const placed_part parts[], hl_diagnostics *diagnostics);

#endif
