/* arena.c - blocks in a list, taken from the front, freed at once. */
#define _DEFAULT_SOURCE 1 /* madvise */
#include "diagnostic/arena.h"

#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

enum { BLOCK = 16384, ALIGNMENT = 16, LARGE_PAGE = 2097152 };

typedef struct block {
    struct block *next;
    size_t size, used;
} block;

struct arena {
    block *first;
    bool paged;
};

/* Bytes before a block's payload, rounded so that the payload is aligned. */
static const size_t header = (sizeof(block) + ALIGNMENT - 1) & ~(size_t)(ALIGNMENT - 1);

arena *arena_create(void)
{
    return calloc(1, sizeof(arena));
}

arena *arena_create_paged(void)
{
    arena *memory = arena_create();
    if (memory) memory->paged = true;
    return memory;
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

/* Noughts, in whole large pages. The system is free not to give such: then they are small ones. */
static void *take_pages(size_t bytes)
{
    void *pages = aligned_alloc(LARGE_PAGE, bytes);
    if (!pages) return NULL;
#ifdef MADV_HUGEPAGE
    (void)madvise(pages, bytes, MADV_HUGEPAGE);
#endif
    return memset(pages, 0, bytes);
}

/* An empty one with room for so many bytes. */
static block *fresh_block(const arena *memory, size_t need)
{
    size_t size = header + (need > BLOCK ? need : BLOCK);
    if (memory->paged) size = (header + need + LARGE_PAGE - 1) / LARGE_PAGE * LARGE_PAGE;
    block *fresh = memory->paged ? take_pages(size) : calloc(1, size);
    if (fresh) fresh->size = size - header;
    return fresh;
}

void *arena_take(arena *memory, size_t bytes)
{
    if (bytes > SIZE_MAX / 2) return NULL;
    size_t need = (bytes + ALIGNMENT - 1) & ~(size_t)(ALIGNMENT - 1);
    if (need == 0) need = ALIGNMENT;
    block *b = memory->first;
    if (!b || need > b->size - b->used) {
        block *fresh = fresh_block(memory, need);
        if (!fresh) return NULL;
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
