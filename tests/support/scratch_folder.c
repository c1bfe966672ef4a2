#include "scratch_folder.h"

#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { NAMES = 64 };

char scratch_folder[64];
static char files[NAMES][256];

static void give_up(const char *what)
{
    perror(what);
    abort();
}

void scratch_folder_make(void)
{
    memset(files, 0, sizeof files);
    strcpy(scratch_folder, "/tmp/heatledger-test-XXXXXX");
    if (!mkdtemp(scratch_folder)) give_up("scratch folder");
}

static int remove_one(const char *path, const struct stat *facts, int kind, struct FTW *depth)
{
    (void)facts, (void)kind, (void)depth;
    return remove(path);
}

void scratch_folder_remove(void)
{
    if (nftw(scratch_folder, remove_one, 16, FTW_DEPTH | FTW_PHYS) != 0) give_up(scratch_folder);
}

const char *scratch_file(const char *name)
{
    char wanted[256];
    if (snprintf(wanted, sizeof wanted, "%s/%s", scratch_folder, name) >= (int)sizeof wanted)
        give_up("long name");
    size_t i = 0;
    while (i < NAMES && files[i][0] && strcmp(files[i], wanted) != 0) i++;
    if (i == NAMES) give_up("too many names");
    return strcpy(files[i], wanted);
}

const char *scratch_write(const char *name, const char *text)
{
    const char *path = scratch_file(name);
    FILE *file = fopen(path, "w");
    if (!file || fputs(text, file) < 0 || fclose(file) != 0) give_up(path);
    return path;
}
