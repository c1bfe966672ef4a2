/* document_fault.h - what a text that is no YAML most likely lacks. */
#ifndef HEATLEDGER_DOCUMENT_FAULT_H
#define HEATLEDGER_DOCUMENT_FAULT_H

#include <stdbool.h>
#include <stddef.h>
#include <yaml.h>

#include "heatledger/status.h"

/* A parser that has stopped, and what it read. */
typedef struct document_fault {
    const yaml_parser_t *parser;
    const char *text;
    size_t length;
    bool quoted;                  /* the last scalar stood in quotes, */
    yaml_mark_t begin_at, end_at; /* from here to there */
} document_fault;

/* The place where something is to be mended (its file is left as it is), and in one sentence what is wrong
 * and what to do. Where no usual mistake is recognized they are the parser's own. */
void document_fault_tell(const document_fault *fault, hl_place *place, char *sentence, size_t size);

#endif
