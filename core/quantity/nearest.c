/* nearest.c - the word somebody probably meant. */
#include "heatledger/quantity.h"
#include "quantity/suggest.h"

#include <string.h>

enum { WORD_MAX = 64 };

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Edits (insert, delete, replace, swap of neighbours) that turn a into b, case ignored; n, m <= WORD_MAX.
 * source: F. J. Damerau, Communications of the ACM 7(3), 1964 (the four edits); recurrence of optimal
 * string alignment from memory. */
size_t word_edits(const char *a, size_t n, const char *b, size_t m)
{
    size_t rows[3][WORD_MAX + 1];
    size_t *before = rows[0], *last = rows[1], *now = rows[2];
    for (size_t j = 0; j <= m; j++) last[j] = before[j] = j;
    for (size_t i = 1; i <= n; i++) {
        now[0] = i;
        for (size_t j = 1; j <= m; j++) {
            size_t change = lower(a[i - 1]) != lower(b[j - 1]);
            now[j] = least(last[j - 1] + change, least(last[j], now[j - 1]) + 1);
            if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) && lower(a[i - 2]) == lower(b[j - 1]))
                now[j] = least(now[j], before[j - 2] + 1);
        }
        size_t *spare = before;
        before = last;
        last = now;
        now = spare;
    }
    return last[m];
}

const char *hl_nearest_word(const char *word, const char *const *words)
{
    if (!word || !words) return NULL;
    size_t n = strlen(word), best = 0;
    const char *nearest = NULL;
    if (n == 0 || n > WORD_MAX) return NULL;
    for (; *words; words++) {
        size_t m = strlen(*words);
        if (m > WORD_MAX) continue;
        size_t distance = word_edits(word, n, *words, m);
        size_t allowed = (n > m ? n : m) / 3; /* a third of the letters; more would be guessing */
        if (distance <= allowed && (!nearest || distance < best)) {
            nearest = *words;
            best = distance;
        }
    }
    return nearest;
}
