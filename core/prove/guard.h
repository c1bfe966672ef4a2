/* guard.h - a block of memory with marked ground on both sides, to see who steps over. */
#ifndef HEATLEDGER_GUARD_H
#define HEATLEDGER_GUARD_H

#include <stdbool.h>
#include <stddef.h>

typedef struct guarded {
    unsigned char *block;
    unsigned char *memory; /* [size], zeroed, aligned for any type */
    size_t size;
} guarded;

/* false: no memory */
bool guarded_create(guarded *g, size_t size);
void guarded_destroy(guarded *g);
/* Bytes past the end (negative: before the start) of the first one that changed; 0 when none did. */
long guarded_breach(const guarded *g);

#endif
