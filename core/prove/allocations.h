/* allocations.h - how often this thread asked for memory, whoever in the process asked: also a plugin, also
 * the C library on a plugin's behalf; and how often the process did in vain. */
#ifndef HEATLEDGER_ALLOCATIONS_H
#define HEATLEDGER_ALLOCATIONS_H

#include <stddef.h>

/* Once, before the first count. */
void allocations_watch(void);
/* Calls of malloc, calloc, realloc and their kin in this thread so far. */
size_t allocations_counted(void);
/* How many of all threads' calls were refused; 0 under a sanitizer.  What is put together of many small
 * pieces by a library that leaves out the one there is no room for (a JSON document) may be incomplete after
 * that. */
size_t allocations_refused(void);

#endif
