/* allocations.h - how often this thread asked for memory, whoever in the process asked: also a plugin, also
 * the C library on a plugin's behalf. */
#ifndef HEATLEDGER_ALLOCATIONS_H
#define HEATLEDGER_ALLOCATIONS_H

#include <stddef.h>

/* Once, before the first count. */
void allocations_watch(void);
/* Calls of malloc, calloc, realloc and their kin in this thread so far. */
size_t allocations_counted(void);

#endif
