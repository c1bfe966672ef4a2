/* scarce_memory.h - makes the n-th allocation of this thread fail, to see what is left behind.
 * A program that uses it has its malloc, calloc and realloc replaced; not under the address or
 * thread sanitizer or memcheck. */
#ifndef SCARCE_MEMORY_H
#define SCARCE_MEMORY_H

#include <stdbool.h>

/* false: another owns the allocator, nothing will fail. */
bool scarce_memory_works(void);
/* Let `good` allocations pass, then make every one fail until the end; -1: count only. */
void scarce_memory_begin(long good);
/* Libraries (NULL-ended, parts of their files' names) that are given what they ask for all the same: those
 * that do not check it. */
void scarce_memory_spare(const char *const libraries[]);
/* Back to normal; how many allocations were asked for since the beginning. */
long scarce_memory_end(void);

#endif
