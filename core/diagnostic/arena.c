/* arena.c - blocks in a list, taken from the front, freed at once. */
#include "diagnostic/arena.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK = 16384, ALIGNMENT = 16 };

typedef struct block {
    struct block *next;
    size_t size, used;
} block;

struct arena {
    block *first;
};

/* Bytes before a block's payload, rounded so that the payload is aligned. */
static const size_t header = (sizeof(block) + ALIGNMENT - 1) & ~(size_t)(ALIGNMENT - 1);

arena *arena_create(void)
{
    return calloc(1, sizeof(arena));
}

void arena_destroy(arena *memory)
{
    if (!memory) return;
    for (block *b = memory->first; b;) {
        block *next = b->next;
        free(b);
        b = next;
    }
    free(memory);
}

void *arena_take(arena *memory, size_t bytes)
{
    if (bytes > SIZE_MAX / 2) return NULL;
    size_t need = (bytes + ALIGNMENT - 1) & ~(size_t)(ALIGNMENT - 1);
    if (need == 0) need = ALIGNMENT;
    block *b = memory->first;
    if (!b || need > b->size - b->used) {
        size_t size = need > BLOCK ? need : BLOCK;
        block *fresh = calloc(1, header + size);
        if (!fresh) return NULL;
        fresh->size = size;
        fresh->next = b;
        memory->first = b = fresh;
    }
    void *taken = (unsigned char *)b + header + b->used;
    b->used += need;
    return taken;
}

void *arena_array(arena *memory, size_t count, size_t size)
{
    if (size && count > SIZE_MAX / size) return NULL;
    return arena_take(memory, count * size);
}

char *arena_text(arena *memory, const char *text, size_t length)
{
    char *copy = arena_take(memory, length + 1);
    if (!copy) return NULL;
    memcpy(copy, text, length);
    copy[length] = '\0';
    return copy;
}

char *arena_copy(arena *memory, const char *text)
{
    return text ? arena_text(memory, text, strlen(text)) : NULL;
}
