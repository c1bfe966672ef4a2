/* report.h - where the complaints about one plugin go: errors when it was named, warnings in a folder. */
#ifndef HEATLEDGER_REPORT_H
#define HEATLEDGER_REPORT_H

#include <stdbool.h>

#include "heatledger/status.h"

typedef struct report {
    hl_diagnostics *diagnostics;
    hl_severity severity;
    hl_place place; /* the plugin's path */
    size_t count;   /* complaints so far */
} report;

/* Adds one complaint; always false, so that a check can end with `return complain(...)`. */
bool complain(report *r, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
