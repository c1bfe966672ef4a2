/* allocations.c - the command's own malloc: counts per thread and passes on to the C library.
 *
 * A definition in the executable takes the place of the library's for every shared object of the process
 * (glibc manual, "Replacing malloc"), so a plugin cannot allocate unseen; comparing the heap's size before
 * and after would miss what is freed again.  Under a sanitizer, which replaces malloc itself, its hook counts
 * instead.  The counters are the only mutable data of the command: one per thread, and one of what was
 * refused. */
#include "prove/allocations.h"

#include <errno.h>
#include <stdatomic.h>
#include <stdlib.h>

#include "heatledger/plugin.h"

static _Thread_local size_t counted;
static atomic_size_t in_vain;

size_t allocations_counted(void)
{
    return counted;
}

size_t allocations_refused(void)
{
    return atomic_load_explicit(&in_vain, memory_order_relaxed);
}

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)

/* Of the sanitizers' interface, sanitizer/allocator_interface.h; not there in every version. */
extern int __sanitizer_install_malloc_and_free_hooks(void (*taken)(const volatile void *, size_t),
                                                     void (*freed)(const volatile void *))
    __attribute__((weak));

static void note_taken(const volatile void *memory, size_t size)
{
    (void)memory, (void)size;
    counted++;
}

static void note_freed(const volatile void *memory)
{
    (void)memory;
}

void allocations_watch(void)
{
    if (__sanitizer_install_malloc_and_free_hooks)
        __sanitizer_install_malloc_and_free_hooks(note_taken, note_freed);
}

#else

extern void *__libc_malloc(size_t size);
extern void *__libc_calloc(size_t n, size_t size);
extern void *__libc_realloc(void *memory, size_t size);
extern void *__libc_memalign(size_t alignment, size_t size);
extern void __libc_free(void *memory);
extern void *memalign(size_t alignment, size_t size);

void allocations_watch(void)
{
}

static void *noted(void *memory)
{
    counted++;
    if (!memory) atomic_fetch_add_explicit(&in_vain, 1, memory_order_relaxed);
    return memory;
}

HL_EXPORT void *malloc(size_t size)
{
    return noted(__libc_malloc(size));
}

HL_EXPORT void *calloc(size_t n, size_t size)
{
    return noted(__libc_calloc(n, size));
}

HL_EXPORT void *realloc(void *memory, size_t size)
{
    void *moved = __libc_realloc(memory, size);
    return size ? noted(moved) : moved; /* of nothing, NULL is no refusal */
}

HL_EXPORT void free(void *memory)
{
    __libc_free(memory);
}

HL_EXPORT void *memalign(size_t alignment, size_t size)
{
    return noted(__libc_memalign(alignment, size));
}

HL_EXPORT void *aligned_alloc(size_t alignment, size_t size)
{
    return memalign(alignment, size);
}

HL_EXPORT int posix_memalign(void **memory, size_t alignment, size_t size)
{
    if (alignment % sizeof(void *) || (alignment & (alignment - 1)) || !alignment) return EINVAL;
    void *taken = memalign(alignment, size);
    if (!taken) return ENOMEM;
    *memory = taken;
    return 0;
}

#endif
