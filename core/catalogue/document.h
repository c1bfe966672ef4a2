/* document.h - a YAML text as a tree in which every node knows its line and column. */
#ifndef HEATLEDGER_DOCUMENT_TREE_H
#define HEATLEDGER_DOCUMENT_TREE_H

#include <stdbool.h>
#include <stddef.h>

#include "diagnostic/arena.h"
#include "heatledger/status.h"

typedef enum node_kind {
    NODE_SCALAR,
    NODE_SEQUENCE,
    NODE_MAPPING, /* children in turn: key, value, key, value */
    NODE_BROKEN,  /* already reported: say nothing more about it */
} node_kind;

typedef struct node {
    node_kind kind;
    int line, column; /* from 1 */
    bool closed;      /* its end was seen; false after a fault further down */
    bool plain;       /* a scalar without quotes */
    bool tight;       /* a scalar right behind the comma that ends the one before it */
    const char *text; /* of a scalar, ended by NUL */
    size_t length;
    size_t n; /* children */
    struct node *first, *last, *next;
} node;

enum { DOCUMENT_BYTES_MAX = 8 << 20, DOCUMENT_DEPTH_MAX = 8, DOCUMENT_NODES_MAX = 200000 };

/* Parse length bytes; what is wrong goes to diagnostics with its place in `file`.
 *   *root   the tree in `memory`, NULL for an empty text; after a fault, what was read before it
 *   return  HL_OK, HL_BAD_INPUT or HL_NO_MEMORY */
hl_status document_read(arena *memory, const char *file, const char *text, size_t length, node **root,
                        hl_diagnostics *diagnostics);

/* Keys of a mapping that stand there twice are reported and marked broken, the later ones. */
hl_status document_refuse_twins(arena *memory, const char *file, node *mapping, hl_diagnostics *diagnostics);

#endif
