/* failing_calls.c - preloaded: the n-th call of a kind fails, and every one after it (CALLS_AFTER=n, counted
 * from 0), or with CALLS_ONLY=1 that one alone.  CALLS_KIND says which are counted:
 *
 * - write: write, pwrite, ftruncate, fsync, fdatasync and rename of regular files, which find no room; pipes
 *   and terminals are left alone;
 * - open: fopen, open, mkstemp, opendir and mkdir, as when too many files are open;
 * - thread: pthread_create; process: fork and posix_spawnp, as when there are too many.
 *
 * With CALLS_COUNT=FILE the numbers of calls of the four kinds are written there at the end. */
#define _GNU_SOURCE /* RTLD_NEXT */
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <spawn.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

#define SEEN __attribute__((visibility("default")))

enum kind { WRITES, OPENS, THREADS, PROCESSES, KINDS };
static const char *const kind_names[KINDS] = {"write", "open", "thread", "process"};
static long asked[KINDS];

static int refused(enum kind kind, int error)
{
    const char *wanted = getenv("CALLS_KIND"), *after = getenv("CALLS_AFTER"), *only = getenv("CALLS_ONLY");
    long now = __atomic_add_fetch(&asked[kind], 1, __ATOMIC_RELAXED);
    if (!wanted || !after || strcmp(kind_names[kind], wanted) != 0) return 0;
    if (now <= atol(after) || (only && now > atol(after) + 1)) return 0;
    errno = error;
    return 1;
}

static int is_file(int file)
{
    struct stat s;
    return fstat(file, &s) == 0 && S_ISREG(s.st_mode);
}

static void *next(const char *name)
{
    return dlsym(RTLD_NEXT, name);
}

/* ISO C has no conversion between the two kinds of pointer. */
#define NEXT(result, name, ...)                                                                              \
    union {                                                                                                  \
        void *object;                                                                                        \
        result (*function)(__VA_ARGS__);                                                                     \
    } real = {next(name)}

/* ------------------------------------------------------------------------ write -- */

static int no_room(void)
{
    return refused(WRITES, ENOSPC);
}

SEEN ssize_t write(int file, const void *data, size_t n)
{
    NEXT(ssize_t, "write", int, const void *, size_t);
    return is_file(file) && no_room() ? -1 : real.function(file, data, n);
}

SEEN ssize_t pwrite(int file, const void *data, size_t n, off_t at)
{
    NEXT(ssize_t, "pwrite", int, const void *, size_t, off_t);
    return is_file(file) && no_room() ? -1 : real.function(file, data, n, at);
}

SEEN ssize_t pwrite64(int file, const void *data, size_t n, off64_t at)
{
    NEXT(ssize_t, "pwrite64", int, const void *, size_t, off64_t);
    return is_file(file) && no_room() ? -1 : real.function(file, data, n, at);
}

SEEN int ftruncate(int file, off_t length)
{
    NEXT(int, "ftruncate", int, off_t);
    return no_room() ? -1 : real.function(file, length);
}

SEEN int ftruncate64(int file, off64_t length)
{
    NEXT(int, "ftruncate64", int, off64_t);
    return no_room() ? -1 : real.function(file, length);
}

SEEN int fsync(int file)
{
    NEXT(int, "fsync", int);
    return is_file(file) && no_room() ? -1 : real.function(file);
}

SEEN int fdatasync(int file)
{
    NEXT(int, "fdatasync", int);
    return is_file(file) && no_room() ? -1 : real.function(file);
}

SEEN int rename(const char *from, const char *to)
{
    NEXT(int, "rename", const char *, const char *);
    return no_room() ? -1 : real.function(from, to);
}

/* ------------------------------------------------------------------------- open -- */

static int too_many(void)
{
    return refused(OPENS, EMFILE);
}

static int mode_in(int flags, va_list more)
{
    return flags & (O_CREAT | O_TMPFILE) ? va_arg(more, int) : 0;
}

SEEN int open(const char *path, int flags, ...)
{
    NEXT(int, "open", const char *, int, ...);
    va_list more;
    va_start(more, flags);
    int mode = mode_in(flags, more);
    va_end(more);
    return too_many() ? -1 : real.function(path, flags, mode);
}

SEEN int open64(const char *path, int flags, ...)
{
    NEXT(int, "open64", const char *, int, ...);
    va_list more;
    va_start(more, flags);
    int mode = mode_in(flags, more);
    va_end(more);
    return too_many() ? -1 : real.function(path, flags, mode);
}

SEEN FILE *fopen(const char *path, const char *mode)
{
    NEXT(FILE *, "fopen", const char *, const char *);
    return too_many() ? NULL : real.function(path, mode);
}

SEEN int mkstemp(char *path)
{
    NEXT(int, "mkstemp", char *);
    return too_many() ? -1 : real.function(path);
}

SEEN DIR *opendir(const char *path)
{
    NEXT(DIR *, "opendir", const char *);
    return too_many() ? NULL : real.function(path);
}

SEEN int mkdir(const char *path, mode_t mode)
{
    NEXT(int, "mkdir", const char *, mode_t);
    return too_many() ? -1 : real.function(path, mode);
}

/* ---------------------------------------------------------- threads and processes -- */

SEEN int pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*start)(void *),
                        void *given)
{
    NEXT(int, "pthread_create", pthread_t *, const pthread_attr_t *, void *(*)(void *), void *);
    return refused(THREADS, EAGAIN) ? EAGAIN : real.function(thread, attributes, start, given);
}

SEEN pid_t fork(void)
{
    NEXT(pid_t, "fork", void);
    return refused(PROCESSES, EAGAIN) ? -1 : real.function();
}

SEEN int posix_spawnp(pid_t *child, const char *file, const posix_spawn_file_actions_t *actions,
                      const posix_spawnattr_t *attributes, char *const arguments[], char *const environment[])
{
    NEXT(int, "posix_spawnp", pid_t *, const char *, const posix_spawn_file_actions_t *,
         const posix_spawnattr_t *, char *const[], char *const[]);
    return refused(PROCESSES, EAGAIN)
               ? EAGAIN
               : real.function(child, file, actions, attributes, arguments, environment);
}

/* A child of `prove` that ends by _exit does not come here. */
__attribute__((destructor)) static void tell(void)
{
    const char *path = getenv("CALLS_COUNT");
    if (!path) return;
    char text[128];
    int n = snprintf(text, sizeof text, "%ld %ld %ld %ld", asked[WRITES], asked[OPENS], asked[THREADS],
                     asked[PROCESSES]);
    NEXT(ssize_t, "write", int, const void *, size_t);
    union {
        void *object;
        int (*function)(const char *, int, ...);
    } real_open = {next("open")};
    int file = real_open.function(path, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    if (file >= 0 && real.function(file, text, (size_t)n) == n) close(file);
}
