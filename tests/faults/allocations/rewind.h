/* rewind.h - a place in a run to come back to, with the memory and the open files as they were there: what a
 * copy of the process gives too, at a tenth of the time. */
#ifndef REWIND_H
#define REWIND_H

#include <stdbool.h>

/* Call once, before the first. */
void rewind_prepare(void);
/* false: the place is set; true: come back to it, by rewind_back. */
bool rewind_set(void);
_Noreturn void rewind_back(void);

#endif
