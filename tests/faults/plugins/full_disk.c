/* full_disk.c - preloaded: the n-th write to a file, and every one after it, finds no room
 * (FULL_DISK_AFTER=n). Counts write, pwrite, ftruncate, fsync, fdatasync and rename of regular files; pipes
 * and terminals are left alone. With FULL_DISK_COUNT=FILE the number of them is written there at the end. */
#define _GNU_SOURCE /* RTLD_NEXT */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

#define SEEN __attribute__((visibility("default")))

static long asked;

static int refused(void)
{
    const char *after = getenv("FULL_DISK_AFTER");
    long now = __atomic_add_fetch(&asked, 1, __ATOMIC_RELAXED);
    if (!after || now <= atol(after)) return 0;
    errno = ENOSPC;
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

SEEN ssize_t write(int file, const void *data, size_t n)
{
    NEXT(ssize_t, "write", int, const void *, size_t);
    return is_file(file) && refused() ? -1 : real.function(file, data, n);
}

SEEN ssize_t pwrite(int file, const void *data, size_t n, off_t at)
{
    NEXT(ssize_t, "pwrite", int, const void *, size_t, off_t);
    return is_file(file) && refused() ? -1 : real.function(file, data, n, at);
}

SEEN ssize_t pwrite64(int file, const void *data, size_t n, off64_t at)
{
    NEXT(ssize_t, "pwrite64", int, const void *, size_t, off64_t);
    return is_file(file) && refused() ? -1 : real.function(file, data, n, at);
}

SEEN int ftruncate(int file, off_t length)
{
    NEXT(int, "ftruncate", int, off_t);
    return refused() ? -1 : real.function(file, length);
}

SEEN int ftruncate64(int file, off64_t length)
{
    NEXT(int, "ftruncate64", int, off64_t);
    return refused() ? -1 : real.function(file, length);
}

SEEN int fsync(int file)
{
    NEXT(int, "fsync", int);
    return is_file(file) && refused() ? -1 : real.function(file);
}

SEEN int fdatasync(int file)
{
    NEXT(int, "fdatasync", int);
    return is_file(file) && refused() ? -1 : real.function(file);
}

SEEN int rename(const char *from, const char *to)
{
    NEXT(int, "rename", const char *, const char *);
    return refused() ? -1 : real.function(from, to);
}

__attribute__((destructor)) static void tell(void)
{
    const char *path = getenv("FULL_DISK_COUNT");
    if (!path) return;
    char text[32];
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0600), n = snprintf(text, sizeof text, "%ld", asked);
    NEXT(ssize_t, "write", int, const void *, size_t);
    if (file >= 0 && real.function(file, text, (size_t)n) == n) close(file);
}
