#include "prove/guard.h"

#include <stdlib.h>
#include <string.h>

enum { GROUND = 4096, MARK = 0xA5 };

bool guarded_create(guarded *g, size_t size)
{
    *g = (guarded){0};
    if (size > (size_t)-1 - 2 * GROUND) return false;
    g->block = calloc(1, size + 2 * GROUND); /* pages of a large state that nobody touches are never made */
    if (!g->block) return false;
    g->memory = g->block + GROUND;
    g->size = size;
    memset(g->block, MARK, GROUND);
    memset(g->memory + size, MARK, GROUND);
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
