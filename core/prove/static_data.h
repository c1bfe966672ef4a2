/* static_data.h - the writable data of a loaded plugin: did it change, and which variable? */
#ifndef HEATLEDGER_STATIC_DATA_H
#define HEATLEDGER_STATIC_DATA_H

#include <stdbool.h>
#include <stddef.h>

enum { STATIC_PIECES = 8 };

typedef struct static_piece {
    const unsigned char *start;
    unsigned char *copy;
    size_t size;
} static_piece;

typedef struct static_data {
    const unsigned char *base; /* where the module is loaded */
    char path[1024];
    static_piece piece[STATIC_PIECES];
    size_t pieces, bytes;
} static_data;

/* Copies the writable segments of the module that holds `address`; false: none found, or no memory. */
bool static_data_copy(static_data *data, const void *address);
void static_data_free(static_data *data);
/* True when a byte differs from the copy; `name` gets the variable, or where it lies when the file has no
 * symbols.  Counters of a coverage build do not count. */
bool static_data_changed(const static_data *data, char *name, size_t size);

#endif
