/* scarce_memory.c - stands in front of glibc's allocator, whose own entry points keep other names. */
#define _GNU_SOURCE /* dladdr */
#include "scarce_memory.h"

#include <dlfcn.h>
#include <errno.h>
#include <stddef.h>
#include <string.h>

static _Thread_local bool counting;
static _Thread_local long asked, allowed = -1;
static const char *const *spared;

/* Sanitizers and memcheck (STORY_PART, story.h) have an allocator of their own. */
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__) || defined(STORY_PART)
enum { WORKS = 0 };
#else
enum { WORKS = 1 };
#endif

bool scarce_memory_works(void)
{
    return WORKS;
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

void scarce_memory_spare(const char *const libraries[])
{
    spared = libraries;
}

#if !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__) && !defined(STORY_PART)

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *memory, size_t size);
/* Seen by the shared libraries too, so that theirs are replaced as well. */
#define SEEN __attribute__((visibility("default")))
SEEN void *malloc(size_t size);
SEEN void *calloc(size_t count, size_t size);
SEEN void *realloc(void *memory, size_t size);

static bool is_spared(const void *caller)
{
    Dl_info from;
    if (!spared || !dladdr(caller, &from) || !from.dli_fname) return false;
    for (size_t i = 0; spared[i]; i++)
        if (strstr(from.dli_fname, spared[i])) return true;
    return false;
}

static bool granted(const void *caller)
{
    if (!counting) return true;
    asked++;
    if (allowed < 0 || asked <= allowed || is_spared(caller)) return true;
    errno = ENOMEM;
    return false;
}

void *malloc(size_t size)
{
    return granted(__builtin_return_address(0)) ? __libc_malloc(size) : NULL;
}

void *calloc(size_t count, size_t size)
{
    return granted(__builtin_return_address(0)) ? __libc_calloc(count, size) : NULL;
}

void *realloc(void *memory, size_t size)
{
    return granted(__builtin_return_address(0)) ? __libc_realloc(memory, size) : NULL;
}

#endif
