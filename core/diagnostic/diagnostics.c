/* diagnostics.c - the list of messages a caller collects.
 *
 * The list itself never grows, so a message is lost to want of memory only in its wording: it is still
 * counted, keeps its severity, and reads as a fixed text. */
#include "heatledger/status.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { KEPT_MAX = 200 };

typedef struct message {
    hl_severity severity;
    char *text; /* NULL: no memory for it */
} message;

struct hl_diagnostics {
    size_t kept, dropped, errors;
    hl_severity worst_dropped;
    message list[KEPT_MAX];
    char more[96]; /* what stands for the dropped ones */
};

static const char no_memory[] = "a message was lost because memory ran out; close other programs";

hl_diagnostics *hl_diagnostics_create(void)
{
    return calloc(1, sizeof(hl_diagnostics));
}

void hl_diagnostics_destroy(hl_diagnostics *diagnostics)
{
    if (!diagnostics) return;
    for (size_t i = 0; i < diagnostics->kept; i++) free(diagnostics->list[i].text);
    free(diagnostics);
}

/* "file:line:column: " from what is known of the place; the length needed, as snprintf. */
static int write_place(char *text, size_t size, const hl_place *place)
{
    if (!place) { /* nothing is known: an empty text */
        if (size) text[0] = '\0';
        return 0;
    }
    const char *file = place->file ? place->file : "";
    const char *colon = place->file ? ":" : "";
    if (place->line > 0 && place->column > 0)
        return snprintf(text, size, "%s%s%d:%d: ", file, colon, place->line, place->column);
    if (place->line > 0) return snprintf(text, size, "%s%s%d: ", file, colon, place->line);
    return place->file ? snprintf(text, size, "%s: ", file) : snprintf(text, size, "%s", "");
}

static char *compose(const hl_place *place, const char *format, va_list arguments)
{
    va_list again;
    va_copy(again, arguments);
    char *text = NULL;
    int front = write_place(NULL, 0, place), rest = vsnprintf(NULL, 0, format, arguments);
    if (front >= 0 && rest >= 0) text = malloc((size_t)front + (size_t)rest + 1);
    if (text) {
        write_place(text, (size_t)front + 1, place);
        vsnprintf(text + front, (size_t)rest + 1, format, again);
    }
    va_end(again);
    return text;
}

/* Past the cap messages are counted only; one line at the end tells how many. */
static void drop(hl_diagnostics *diagnostics, hl_severity severity)
{
    if (severity > diagnostics->worst_dropped) diagnostics->worst_dropped = severity;
    diagnostics->dropped++;
    snprintf(diagnostics->more, sizeof diagnostics->more,
             "%zu more not shown; mend the first ones and try again", diagnostics->dropped);
}

void hl_diagnostics_add(hl_diagnostics *diagnostics, hl_severity severity, const hl_place *place,
                        const char *format, ...)
{
    if (!diagnostics) return;
    if (severity == HL_ERROR) diagnostics->errors++;
    if (diagnostics->kept == KEPT_MAX) {
        drop(diagnostics, severity);
        return;
    }
    va_list arguments;
    va_start(arguments, format);
    message *added = &diagnostics->list[diagnostics->kept++];
    added->severity = severity;
    added->text = compose(place, format, arguments);
    va_end(arguments);
}

size_t hl_diagnostics_count(const hl_diagnostics *diagnostics)
{
    return diagnostics ? diagnostics->kept + (diagnostics->dropped > 0) : 0;
}

size_t hl_diagnostics_errors(const hl_diagnostics *diagnostics)
{
    return diagnostics ? diagnostics->errors : 0;
}

hl_severity hl_diagnostics_severity(const hl_diagnostics *diagnostics, size_t index)
{
    if (!diagnostics || index > diagnostics->kept) return HL_NOTE;
    return index < diagnostics->kept ? diagnostics->list[index].severity : diagnostics->worst_dropped;
}

const char *hl_diagnostics_text(const hl_diagnostics *diagnostics, size_t index)
{
    if (!diagnostics || index >= hl_diagnostics_count(diagnostics)) return "";
    if (index == diagnostics->kept) return diagnostics->more;
    const char *text = diagnostics->list[index].text;
    return text ? text : no_memory;
}
