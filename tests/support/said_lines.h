/* said_lines.h - is a line of a page in what a command printed?  Words must be the same, numbers near.
 *
 * A page of docs/ shows real output.  Other compilers may turn the last digit, so numbers are compared within
 * 0.5 %, or one and a half of the last place printed, or 1e-6 (what is left open of a book). */
#ifndef SAID_LINES_H
#define SAID_LINES_H

#include <stdbool.h>
#include <stddef.h>

typedef struct said_place {
    const char *begin, *end; /* in `said` */
} said_place;

/* Find `line` (one line, without its newline) at or after `from`.  near_numbers false: any number matches
 * any, which is how a stale page finds its own lines again. */
bool said_find(const char *from, const char *line, bool near_numbers, said_place *found);

#endif
