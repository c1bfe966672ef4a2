/* rewind.c - all private memory that may be written is kept page by page when a place is set, and what has
 * changed since is put back at the return; what was mapped since is unmapped, files opened since are closed,
 * those closed are open again.  Both are done on a stack of their own, in a mapping that is not kept.
 *
 * It does not bring back what was unmapped (the C library's allocator is told not to map blocks), locks on
 * files, threads, or children. */
#define _GNU_SOURCE /* MAP_ANONYMOUS, F_DUPFD_CLOEXEC, dup3, syscall */
#include "rewind.h"

#include <fcntl.h>
#include <malloc.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <ucontext.h>
#include <unistd.h>

enum { SPANS = 2000, TEXT = 1 << 19, STACK = 1 << 17, OPEN = 48, COPIES = 200, PAGE = 4096, BELOW = 8192 };
static const size_t all_room = (size_t)1 << 34; /* address space, not memory */

typedef struct span {
    uintptr_t from, to;
    bool kept, grows_down; /* grows_down: the first stack */
    unsigned char *copy;   /* kept: its bytes, from `from` on */
} span;

typedef struct span_list {
    size_t n;
    span span[SPANS];
} span_list;

/* Every block of copies made so far, found again by the place that it is for. */
typedef struct store {
    size_t n;
    struct {
        uintptr_t from;
        size_t room;
        unsigned char *copy;
    } block[SPANS];
} store;

typedef struct keeper {
    ucontext_t here, other;
    int phase; /* 0: to be set; 1: set; 2: come back to */
    uintptr_t top_of_heap, stack_in_use;
    span_list then, now;
    store store;
    int copy_of[OPEN], flags[OPEN];
    unsigned char *free_room;
    char text[TEXT];
    _Alignas(64) unsigned char stack[STACK];
} keeper;

static keeper *k;
static uintptr_t own_from, own_to;

void rewind_prepare(void)
{
    /* Guards on both sides: the kernel would join a neighbour of the same kind with it. */
    unsigned char *room = mmap(NULL, all_room, PROT_NONE, MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
    if (room == MAP_FAILED || mprotect(room + PAGE, all_room - 2 * PAGE, PROT_READ | PROT_WRITE)) abort();
    k = (keeper *)(void *)(room + PAGE);
    own_from = (uintptr_t)room;
    own_to = own_from + all_room;
    k->free_room = room + PAGE + ((sizeof *k + PAGE - 1) & ~(size_t)(PAGE - 1));
    mallopt(M_MMAP_MAX, 0);
    mallopt(M_TRIM_THRESHOLD, 1 << 30);
}

/* --------------------------------------------------------------- what is mapped -- */

static size_t read_map(void)
{
    size_t n = 0;
    long file = syscall(SYS_openat, AT_FDCWD, "/proc/self/maps", O_RDONLY | O_CLOEXEC, 0), got;
    if (file < 0) abort();
    while ((got = syscall(SYS_read, file, k->text + n, (size_t)TEXT - 1 - n)) > 0) n += (size_t)got;
    syscall(SYS_close, file);
    if (n >= TEXT - 1) abort();
    k->text[n] = '\0';
    return n;
}

static uintptr_t hexadecimal(const char **at)
{
    uintptr_t value = 0;
    for (;; ++*at) {
        char c = **at;
        if (c >= '0' && c <= '9')
            value = value * 16 + (uintptr_t)(c - '0');
        else if (c >= 'a' && c <= 'f')
            value = value * 16 + (uintptr_t)(c - 'a' + 10);
        else
            return value;
    }
}

static bool ends_in(const char *line, const char *end, const char *word)
{
    size_t n = 0;
    while (word[n]) n++;
    if ((size_t)(end - line) < n) return false;
    for (size_t i = 0; i < n; i++)
        if (end[(ptrdiff_t)i - (ptrdiff_t)n] != word[i]) return false;
    return true;
}

/* FROM-TO rwxp ...; own memory is left out. */
static void list_map(span_list *list)
{
    list->n = 0;
    read_map();
    for (const char *at = k->text; *at;) {
        const char *end = at, *line = at;
        while (*end && *end != '\n') end++;
        uintptr_t from = hexadecimal(&at), to;
        at++;
        to = hexadecimal(&at);
        bool kept = at[1] == 'r' && at[2] == 'w' && at[4] == 'p';
        if (from < own_from || from >= own_to) {
            if (list->n == SPANS) abort();
            list->span[list->n++] = (span){from, to, kept, ends_in(line, end, "[stack]"), NULL};
        }
        at = *end ? end + 1 : end;
    }
}

/* ----------------------------------------------------------------- page by page -- */

static bool same_page(const uint64_t *a, const uint64_t *b)
{
    for (size_t i = 0; i < PAGE / sizeof *a; i += 8) {
        uint64_t other = 0;
        for (size_t j = 0; j < 8; j++) other |= a[i + j] ^ b[i + j];
        if (other) return false;
    }
    return true;
}

static void copy_where_other(unsigned char *to, const unsigned char *from, size_t size)
{
    for (size_t at = 0; at < size; at += PAGE) {
        uint64_t *t = (uint64_t *)(void *)(to + at);
        const uint64_t *f = (const uint64_t *)(const void *)(from + at);
        if (same_page(t, f)) continue;
        for (size_t i = 0; i < PAGE / sizeof *t; i++) t[i] = f[i];
    }
}

static unsigned char *room_for(uintptr_t from, size_t size)
{
    size_t i = 0;
    while (i < k->store.n && k->store.block[i].from != from) i++;
    if (i == SPANS) abort();
    if (i == k->store.n || k->store.block[i].room < size) {
        size_t room = 2 * size;
        if ((uintptr_t)k->free_room + room > own_to - PAGE) abort();
        k->store.block[i].from = from;
        k->store.block[i].room = room;
        k->store.block[i].copy = k->free_room;
        k->free_room += room;
        if (i == k->store.n) k->store.n++;
    }
    return k->store.block[i].copy;
}

/* Of the first stack only what is in use, where it runs on that one. */
static void leave_out_unused_stack(span *s)
{
    uintptr_t low = (k->stack_in_use - BELOW) & ~(uintptr_t)(PAGE - 1);
    if (k->stack_in_use >= s->from && k->stack_in_use < s->to && low > s->from) s->from = low;
}

/* Under the end of the stack: its beginning moves. */
static unsigned char *copy_of(const span *s)
{
    if (!s->grows_down) return room_for(s->from, s->to - s->from);
    size_t most = (size_t)1 << 23;
    return room_for(s->to - most, most) + (most - (s->to - s->from));
}

static void keep(void)
{
    k->top_of_heap = (uintptr_t)syscall(SYS_brk, 0);
    list_map(&k->then);
    for (size_t i = 0; i < k->then.n; i++) {
        span *s = &k->then.span[i];
        if (!s->kept) continue;
        if (s->grows_down) leave_out_unused_stack(s);
        s->copy = copy_of(s);
        copy_where_other(s->copy, (const unsigned char *)s->from, s->to - s->from);
    }
}

/* What is mapped now and was not then. */
static void unmap_new(void)
{
    list_map(&k->now);
    size_t j = 0;
    for (size_t i = 0; i < k->now.n; i++) {
        const span *s = &k->now.span[i];
        if (s->grows_down) continue;
        uintptr_t at = s->from;
        while (j < k->then.n && k->then.span[j].to <= at) j++;
        for (size_t at_then = j; at < s->to; at_then++) {
            uintptr_t known = at_then < k->then.n ? k->then.span[at_then].from : s->to;
            if (known > s->to) known = s->to;
            if (known > at) syscall(SYS_munmap, at, known - at);
            if (at_then >= k->then.n) break;
            at = k->then.span[at_then].to;
        }
    }
}

static void put_back(void)
{
    syscall(SYS_brk, k->top_of_heap);
    unmap_new();
    for (size_t i = 0; i < k->then.n; i++) {
        const span *s = &k->then.span[i];
        if (s->kept) copy_where_other((unsigned char *)s->from, s->copy, s->to - s->from);
    }
}

/* -------------------------------------------------------------------- open files -- */

static void keep_files(void)
{
    for (int i = 0; i < OPEN; i++) {
        k->flags[i] = fcntl(i, F_GETFD);
        k->copy_of[i] = k->flags[i] < 0 ? -1 : fcntl(i, F_DUPFD_CLOEXEC, COPIES);
    }
}

static void put_files_back(void)
{
    for (int i = 0; i < OPEN; i++)
        if (k->copy_of[i] < 0) {
            close(i);
        } else {
            dup3(k->copy_of[i], i, k->flags[i] & FD_CLOEXEC ? O_CLOEXEC : 0);
            close(k->copy_of[i]);
        }
}

/* ---------------------------------------------------------------------- both ways -- */

static void on_own_stack(void (*what)(void))
{
    if (getcontext(&k->other)) abort();
    k->other.uc_stack.ss_sp = k->stack;
    k->other.uc_stack.ss_size = STACK;
    k->other.uc_link = NULL;
    makecontext(&k->other, what, 0);
    setcontext(&k->other);
    abort();
}

static void keep_and_return(void)
{
    keep();
    setcontext(&k->here);
}

static void put_back_and_return(void)
{
    put_back();
    setcontext(&k->here);
}

bool rewind_set(void)
{
    k->phase = 0;
    k->stack_in_use = (uintptr_t)__builtin_frame_address(0);
    keep_files();
    if (getcontext(&k->here)) abort();
    if (k->phase == 0) {
        k->phase = 1;
        on_own_stack(keep_and_return);
    }
    if (k->phase == 1) return false;
    put_files_back();
    return true;
}

void rewind_back(void)
{
    k->phase = 2;
    on_own_stack(put_back_and_return);
    abort();
}
