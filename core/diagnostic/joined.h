/* joined.h - names in a row for a message: "a, b, c". */
#ifndef HEATLEDGER_JOINED_H
#define HEATLEDGER_JOINED_H

#include <stdio.h>
#include <string.h>

/* `text` grows by a word, after `between` unless it is empty; what size bytes do not hold is cut off. In the
 * header, since the command and the Lua module see no more of the library than its public calls. */
static inline void join_word(char *text, size_t size, const char *between, const char *word)
{
    size_t used = strlen(text);
    snprintf(text + used, size - used, "%s%s", used ? between : "", word);
}

#endif
