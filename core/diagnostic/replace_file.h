/* replace_file.h - writing a file whole or not at all. */
#ifndef HEATLEDGER_REPLACE_FILE_H
#define HEATLEDGER_REPLACE_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "heatledger/status.h"

/* Write `length` bytes to a temporary name beside `path`, sync, and rename over it: after a kill or on a full
 * disk the old file is still there.  false: `why` (size bytes) says what failed and what would do. */
HL_EXPORT bool hl_replace_file(const char *path, const void *data, size_t length, char *why, size_t size);

#endif
