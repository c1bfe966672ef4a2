/* held_folder.c - files of a small folder held in memory.  A second name for each (in FOLDER.held) keeps the
 * very file, since the process has it open. */
#define _GNU_SOURCE /* MAP_ANONYMOUS, O_CLOEXEC, pread */
#include "held_folder.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FILES = 16, MOST = 1 << 22 };

static struct {
    char name[64];
    char *data;
    size_t length;
} held[FILES];
static size_t n_held;

char *held_folder_room(size_t size)
{
    char *room = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (room == MAP_FAILED) abort();
    return room;
}

static void path_of(char *path, size_t size, const char *folder, const char *name)
{
    snprintf(path, size, "%s/%s", folder, name);
}

static size_t content(const char *path, char *data)
{
    int file = open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0) return 0;
    ssize_t n = pread(file, data, MOST, 0);
    close(file);
    return n > 0 ? (size_t)n : 0;
}

/* Each regular file's name in turn; the callback's first false ends it. */
static bool each(const char *folder, bool (*see)(const char *folder, const char *name))
{
    DIR *list = opendir(folder);
    bool good = true;
    for (struct dirent *d = NULL; good && list && (d = readdir(list)) != NULL;)
        if (d->d_name[0] != '.') good = see(folder, d->d_name);
    if (list) closedir(list);
    return good;
}

static bool hold(const char *folder, const char *name)
{
    static char *data;
    if (!data) data = held_folder_room(MOST);
    char path[300], second[300];
    if (n_held == FILES) abort();
    path_of(path, sizeof path, folder, name);
    snprintf(second, sizeof second, "%s.held/%s", folder, name);
    unlink(second);
    if (link(path, second)) abort();
    snprintf(held[n_held].name, sizeof held[n_held].name, "%s", name);
    held[n_held].length = content(path, data);
    held[n_held].data = malloc(held[n_held].length + 1);
    if (!held[n_held].data) abort();
    memcpy(held[n_held].data, data, held[n_held].length);
    n_held++;
    return true;
}

void held_folder_take(const char *folder)
{
    char second[300];
    for (size_t i = 0; i < n_held; i++) free(held[i].data);
    n_held = 0;
    snprintf(second, sizeof second, "%s.held", folder);
    mkdir(second, 0700);
    each(folder, hold);
}

static size_t find(const char *name)
{
    size_t i = 0;
    while (i < n_held && strcmp(held[i].name, name) != 0) i++;
    return i;
}

static bool is_as_held(const char *path, size_t i)
{
    static char *data;
    if (!data) data = held_folder_room(MOST);
    return content(path, data) == held[i].length && !memcmp(data, held[i].data, held[i].length);
}

static bool is_known(const char *folder, const char *name)
{
    char path[300];
    size_t i = find(name);
    path_of(path, sizeof path, folder, name);
    return i < n_held && is_as_held(path, i);
}

bool held_folder_changed(const char *folder)
{
    for (size_t i = 0; i < n_held; i++) {
        char path[300];
        path_of(path, sizeof path, folder, held[i].name);
        if (access(path, F_OK)) return true;
    }
    return !each(folder, is_known);
}

static uint64_t mark;

/* FNV-1a. */
static void add_to_mark(const char *data, size_t n)
{
    for (size_t i = 0; i < n; i++) mark = (mark ^ (unsigned char)data[i]) * 0x100000001b3u;
}

static bool mark_file(const char *folder, const char *name)
{
    static char *data;
    if (!data) data = held_folder_room(MOST);
    char path[300];
    path_of(path, sizeof path, folder, name);
    add_to_mark(name, strlen(name) + 1);
    add_to_mark(data, content(path, data));
    return true;
}

uint64_t held_folder_mark(const char *folder)
{
    mark = 0xcbf29ce484222325u;
    if (folder) each(folder, mark_file);
    return mark;
}

static bool drop_unknown(const char *folder, const char *name)
{
    char path[300];
    path_of(path, sizeof path, folder, name);
    if (find(name) == n_held) unlink(path);
    return true;
}

static void put_back(const char *folder, size_t i)
{
    char path[300], second[300];
    struct stat now = {0}, same;
    path_of(path, sizeof path, folder, held[i].name);
    snprintf(second, sizeof second, "%s.held/%s", folder, held[i].name);
    if (stat(second, &same)) abort();
    if (stat(path, &now) || now.st_ino != same.st_ino) {
        unlink(path);
        if (link(second, path)) abort();
    }
    if (is_as_held(path, i)) return;
    int file = open(path, O_WRONLY | O_CLOEXEC);
    if (file < 0 || pwrite(file, held[i].data, held[i].length, 0) != (ssize_t)held[i].length ||
        ftruncate(file, (off_t)held[i].length))
        abort();
    close(file);
}

void held_folder_restore(const char *folder)
{
    each(folder, drop_unknown);
    for (size_t i = 0; i < n_held; i++) put_back(folder, i);
}
