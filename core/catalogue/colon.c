/* colon.c - what was meant to be "name: value", and has no colon that YAML takes for one. */
#include "catalogue/colon.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "quantity/excerpt.h"
#include "quantity/unit.h"

/* Bytes of the name a line begins with: up to a blank, a colon or an equals sign. */
static size_t name_length(const char *text, size_t length)
{
    size_t n = 0;
    while (n < length && text[n] != ':' && text[n] != '=' && !space_at(text + n, length - n)) n++;
    return n;
}

static bool comment_advised(const char *line, size_t length, char *sentence, size_t size)
{
    static const char *const signs[] = {"//", "/*", "--", ";"};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        size_t n = strlen(signs[i]);
        if (length < n || memcmp(line, signs[i], n) != 0) continue;
        snprintf(sentence, size, "no value stands here; a remark begins with # rather than %s", signs[i]);
        return true;
    }
    return false;
}

void colon_advice(const char *line, size_t length, char *sentence, size_t size)
{
    trim_blanks(&line, &length);
    if (comment_advised(line, length, sentence, size)) return;
    size_t n = name_length(line, length);
    excerpt name = excerpt_of(line, n);
    line += n;
    length -= n;
    trim_blanks(&line, &length);
    char sign = length ? *line : '\0';
    bool signed_so = sign == ':' || sign == '=';
    const char *what = sign == '=' ? "an equals sign, no colon," : "no colon";
    line += signed_so;
    length -= signed_so;
    if (sign == ':')
        what = length && space_at(line, length) ? "no plain space behind the colon"
                                                : "no space behind the colon";
    excerpt rest = excerpt_of(line, length);
    const char *blank = rest.text[0] ? " " : "";
    snprintf(sentence, size, "%s after '%s'; write '%s:%s%s'", what, name.text, name.text, blank, rest.text);
}

const char *colon_lacks(const char *text, size_t length, const char *const *words)
{
    size_t n = name_length(text, length);
    for (size_t i = 0; n > 0 && n < length && words[i]; i++)
        if (strlen(words[i]) == n && memcmp(words[i], text, n) == 0) return words[i];
    return NULL;
}
