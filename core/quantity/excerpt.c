/* excerpt.c - what the user wrote, fit to stand in a message. */
#include "quantity/excerpt.h"

#include <string.h>

#include "quantity/unit.h"

/* Bytes of the well-formed UTF-8 character at text, 0 when it is broken or a control character.
 * source: RFC 3629, section 4 (overlong forms and surrogates are told by their second byte). */
static size_t character_at(const unsigned char *text, size_t length)
{
    unsigned char c = text[0];
    if (c < 0x80) return c >= 0x20 && c != 0x7F ? 1 : 0;
    size_t n = c >= 0xF0 ? 4 : c >= 0xE0 ? 3 : 2;
    if (c < 0xC2 || c > 0xF4 || n > length) return 0;
    for (size_t i = 1; i < n; i++)
        if ((text[i] & 0xC0) != 0x80) return 0;
    if ((c == 0xE0 && text[1] < 0xA0) || (c == 0xED && text[1] > 0x9F)) return 0;
    if ((c == 0xF0 && text[1] < 0x90) || (c == 0xF4 && text[1] > 0x8F)) return 0;
    return c == 0xC2 && text[1] < 0xA0 ? 0 : n; /* U+0080 to U+009F are controls */
}

void trim_blanks(const char **text, size_t *length)
{
    size_t n;
    while (*length && (n = space_at(*text, *length)) > 0) {
        *text += n;
        *length -= n;
    }
    for (bool again = true; again;) {
        again = false;
        for (n = 1; n <= 3 && n <= *length; n++) {
            if (space_at(*text + *length - n, n) != n) continue;
            *length -= n;
            again = true;
            break;
        }
    }
}

excerpt excerpt_of(const char *text, size_t length)
{
    static const char more[] = "…";
    excerpt shown = {{0}};
    size_t used = 0;
    trim_blanks(&text, &length);
    for (size_t at = 0; at < length;) {
        size_t n = character_at((const unsigned char *)text + at, length - at), take = n ? n : 1;
        if (used + take + sizeof more > sizeof shown.text) {
            memcpy(shown.text + used, more, sizeof more);
            break;
        }
        if (n)
            memcpy(shown.text + used, text + at, n);
        else
            shown.text[used] = '?';
        used += take;
        at += take;
    }
    return shown;
}
