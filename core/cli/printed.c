/* printed.c - the end of what a command prints. */
#include "cli/printed.h"

#include <errno.h>
#include <stdio.h>

bool printed_json(json_t *document, size_t order)
{
    if (!document) {
        errno = ENOMEM;
        return false;
    }
    bool good = json_dumpf(document, stdout, JSON_INDENT(1) | JSON_REAL_PRECISION(17) | order) == 0;
    json_decref(document);
    return putchar('\n') != EOF && good;
}

const char *printed_plural(size_t n)
{
    return n == 1 ? "" : "s";
}

bool printed_whole(bool good)
{
    if (good && !fflush(stdout) && !ferror(stdout)) return true;
    perror("heatledger: the result could not be written");
    return false;
}
