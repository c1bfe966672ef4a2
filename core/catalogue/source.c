/* source.c - a whole file in memory; pipes and devices, which may never end, are refused. */
#include "catalogue/source.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static hl_status refuse(hl_status status, const char *path, const char *why, hl_diagnostics *diagnostics)
{
    hl_place place = {path, 0, 0};
    hl_diagnostics_add(diagnostics, HL_ERROR, &place, "cannot be read: %s", why);
    return status;
}

/* Read to the end, whatever size the folder claims; one byte more than allowed tells that it is too much. */
static hl_status read_all(int file, size_t most, char **text, size_t *length)
{
    size_t room = 65536, used = 0;
    char *memory = malloc(room + 1);
    while (memory) {
        ssize_t got = read(file, memory + used, room - used);
        if (got < 0 && errno == EINTR) continue;
        if (got < 0) {
            free(memory);
            return HL_NO_FILE;
        }
        used += (size_t)got;
        if (got == 0 || used > most) break;
        if (used < room) continue;
        room *= 2;
        char *larger = realloc(memory, room + 1);
        if (!larger) free(memory);
        memory = larger;
    }
    if (!memory) return HL_NO_MEMORY;
    memory[used] = '\0';
    *text = memory;
    *length = used;
    return HL_OK;
}

hl_status source_read(const char *path, size_t most, char **text, size_t *length, hl_diagnostics *diagnostics)
{
    struct stat about;
    *text = NULL;
    int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC | O_NOCTTY);
    if (file < 0) return refuse(HL_NO_FILE, path, strerror(errno), diagnostics);
    hl_status status = HL_NO_FILE;
    if (fstat(file, &about) != 0)
        refuse(status, path, strerror(errno), diagnostics);
    else if (!S_ISREG(about.st_mode))
        refuse(status, path, "not a regular file", diagnostics);
    else if ((status = read_all(file, most, text, length)) != HL_OK)
        refuse(status, path, status == HL_NO_MEMORY ? "memory ran out" : strerror(errno), diagnostics);
    close(file);
    if (status != HL_OK || *length <= most) return status;
    free(*text);
    *text = NULL;
    return refuse(HL_BAD_INPUT, path, "larger than 8 MiB; split it", diagnostics);
}
