/* replace_file.c - write beside, sync, rename. */
#include "diagnostic/replace_file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool write_all(int file, const char *data, size_t length)
{
    while (length > 0) {
        ssize_t written = write(file, data, length);
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) return false;
        data += written;
        length -= (size_t)written;
    }
    return fsync(file) == 0;
}

/* The rename itself reaches the disk with its folder; a folder that cannot be synced is no failure. */
static void sync_folder(const char *path)
{
    char folder[PATH_MAX];
    snprintf(folder, sizeof folder, "%s", path);
    char *slash = strrchr(folder, '/');
    if (slash)
        slash[slash == folder] = '\0';
    else
        snprintf(folder, sizeof folder, ".");
    int opened = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (opened < 0) return;
    (void)fsync(opened);
    close(opened);
}

bool hl_replace_file(const char *path, const void *data, size_t length, char *why, size_t size)
{
    char beside[PATH_MAX];
    if ((size_t)snprintf(beside, sizeof beside, "%s.XXXXXX", path) >= sizeof beside) {
        snprintf(why, size, "%.60s...: the path is too long; choose a shorter one", path);
        return false;
    }
    int file = mkstemp(beside);
    if (file < 0) {
        snprintf(why, size, "%s: cannot be written: %s; choose another folder", path, strerror(errno));
        return false;
    }
    mode_t mask = umask(0);
    umask(mask);
    bool good = fchmod(file, 0666 & ~mask) == 0 && write_all(file, data, length);
    int cause = errno;
    if (close(file) && good) {
        good = false;
        cause = errno;
    }
    if (good && rename(beside, path)) {
        good = false;
        cause = errno;
    }
    if (good) {
        sync_folder(path);
        return true;
    }
    unlink(beside);
    snprintf(why, size, "%s: could not be written: %s; what was there before is still there", path,
             strerror(cause));
    return false;
}
