/* arena.h - memory that lives and dies together: one arena per catalogue, draft or design. */
#ifndef HEATLEDGER_ARENA_H
#define HEATLEDGER_ARENA_H

#include <stddef.h>

typedef struct arena arena;

arena *arena_create(void); /* NULL: no memory */
/* The same in large pages, for some megabytes that are walked through ten thousand times a second: with small
 * ones a processor spends parts in a hundred of its time on finding where they lie. */
arena *arena_create_paged(void);
void arena_destroy(arena *memory); /* NULL is allowed */

/* Zeroed, aligned for any type; NULL when memory ran out. */
void *arena_take(arena *memory, size_t bytes);
/* count * size, with overflow checked. */
void *arena_array(arena *memory, size_t count, size_t size);
/* Copy of length bytes, ended by NUL. */
char *arena_text(arena *memory, const char *text, size_t length);
/* Copy of a NUL-ended text; NULL stays NULL. */
char *arena_copy(arena *memory, const char *text);

#endif
