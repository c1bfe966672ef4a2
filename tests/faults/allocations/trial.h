/* trial.h - at each allocation a copy of the process tries what happens when it is refused. */
#ifndef TRIAL_H
#define TRIAL_H

#include <stdbool.h>
#include <stddef.h>

/* false: this copy is the one that is refused. `spared`: asked by a library that does not check. */
bool trial_grants(bool spared, size_t size, const void *caller);
/* What is asked for now is for the trial itself. */
bool trial_is_judging(void);
/* In a copy: freed memory is not given back, which would copy its pages. */
bool trial_keeps_freed(void);
/* In a copy: libraries stay mapped. */
bool trial_keeps_libraries(void);

/* Calls so far. */
long trial_asked(void);

/* Blocks of this project's own that are held now. */
long front_kept(void);

#endif
