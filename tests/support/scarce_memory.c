/* scarce_memory.c - stands in front of glibc's allocator, whose own entry points keep other names. */
#include "scarce_memory.h"

#include <errno.h>
#include <stddef.h>

static _Thread_local bool counting;
static _Thread_local long asked, allowed = -1;

bool scarce_memory_works(void)
{
#if defined(__SANITIZE_ADDRESS__)
    return false;
#else
    return true;
#endif
}

void scarce_memory_begin(long good)
{
    asked = 0;
    allowed = good;
    counting = true;
}

long scarce_memory_end(void)
{
    counting = false;
    return asked;
}

#if !defined(__SANITIZE_ADDRESS__)

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *memory, size_t size);
/* Seen by the shared libraries too, so that theirs are replaced as well. */
#define SEEN __attribute__((visibility("default")))
SEEN void *malloc(size_t size);
SEEN void *calloc(size_t count, size_t size);
SEEN void *realloc(void *memory, size_t size);

static bool granted(void)
{
    if (!counting) return true;
    asked++;
    if (allowed < 0 || asked <= allowed) return true;
    errno = ENOMEM;
    return false;
}

void *malloc(size_t size)
{
    return granted() ? __libc_malloc(size) : NULL;
}

void *calloc(size_t count, size_t size)
{
    return granted() ? __libc_calloc(count, size) : NULL;
}

void *realloc(void *memory, size_t size)
{
    return granted() ? __libc_realloc(memory, size) : NULL;
}

#endif
