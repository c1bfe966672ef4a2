#include "prove/guard.h"

#include <stdlib.h>
#include <string.h>

enum { GROUND = 4096, MARK = 0xA5 };

bool guarded_create(guarded *g, size_t size)
{
    *g = (guarded){0};
    if (size > (size_t)-1 - 2 * GROUND) return false;
    g->block = malloc(size + 2 * GROUND);
    if (!g->block) return false;
    memset(g->block, MARK, size + 2 * GROUND);
    g->memory = g->block + GROUND;
    g->size = size;
    memset(g->memory, 0, size);
    return true;
}

void guarded_destroy(guarded *g)
{
    free(g->block);
    *g = (guarded){0};
}

long guarded_breach(const guarded *g)
{
    const unsigned char *after = g->memory + g->size;
    for (size_t i = 0; i < GROUND; i++)
        if (after[i] != MARK) return (long)i + 1;
    for (size_t i = 0; i < GROUND; i++)
        if (g->memory[-1 - (long)i] != MARK) return -(long)i - 1;
    return 0;
}
