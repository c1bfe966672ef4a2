/* source.h - a whole file in memory. */
#ifndef HEATLEDGER_SOURCE_H
#define HEATLEDGER_SOURCE_H

#include <stddef.h>

#include "heatledger/status.h"

/* Read a regular file of at most `most` bytes; *text is the caller's to free, ended by NUL.
 * HL_NO_FILE, HL_BAD_INPUT (too large) or HL_NO_MEMORY: the reason is in diagnostics. */
hl_status source_read(const char *path, size_t most, char **text, size_t *length,
                      hl_diagnostics *diagnostics);

#endif
