/* excerpt.h - what the user wrote, fit to stand in a message. */
#ifndef HEATLEDGER_EXCERPT_H
#define HEATLEDGER_EXCERPT_H

#include <stddef.h>

typedef struct excerpt {
    char text[64];
} excerpt;

/* Blanks around it cut, control bytes and broken UTF-8 shown as '?', long text ended by "…". */
excerpt excerpt_of(const char *text, size_t length);

/* Move *text and *length past blanks on both sides. */
void trim_blanks(const char **text, size_t *length);

#endif
