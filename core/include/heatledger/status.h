/* status.h - how calls fail, and the list of diagnostics a caller collects.
 * Part of the host interface: include heatledger.h. */
#ifndef HEATLEDGER_STATUS_H
#define HEATLEDGER_STATUS_H

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

#ifndef HL_EXPORT
#define HL_EXPORT __attribute__((visibility("default")))
#endif

/* One list yields the codes and their sentences. */
#define HL_STATUS_LIST(X)                                                                                    \
    X(HL_OK, 0, "no error")                                                                                  \
    X(HL_BAD_INPUT, 1, "the input is wrong; see the diagnostics")                                            \
    X(HL_NO_FILE, 2, "a file cannot be read or written")                                                     \
    X(HL_NO_PLUGIN, 3, "a plugin cannot be loaded")                                                          \
    X(HL_NO_SOLUTION, 4, "no operating point exists there")                                                  \
    X(HL_RUNAWAY, 5, "losses grow faster than heat is carried away")                                         \
    X(HL_NO_MEMORY, 6, "memory ran out")                                                                     \
    X(HL_INTERNAL, 7, "an inner check failed; please report it")

typedef enum hl_status {
#define HL_X(name, code, sentence) name = (code),
    HL_STATUS_LIST(HL_X)
#undef HL_X
} hl_status;

/* The sentence for a status; never NULL. */
HL_EXPORT const char *hl_status_text(hl_status status);

/* Where something was read.  line and column count from 1; 0 = unknown. */
typedef struct hl_place {
    const char *file; /* NULL = no file */
    int line, column;
} hl_place;

typedef enum hl_severity { HL_NOTE, HL_WARNING, HL_ERROR } hl_severity;

/* Messages in the order they were found.  Made by the caller, filled by the
 * library, printed by whoever owns the terminal.  One thread at a time. */
typedef struct hl_diagnostics hl_diagnostics;

HL_EXPORT hl_diagnostics *hl_diagnostics_create(void); /* NULL: no memory */
HL_EXPORT void hl_diagnostics_destroy(hl_diagnostics *diagnostics);

/* Add one message `what: why; what would do`.  `place` may be NULL; its file text is copied.
 * A NULL `diagnostics` is allowed and drops the message.  When memory runs out the message is
 * counted and replaced by a fixed one.  More than 200 messages are counted, not kept. */
HL_EXPORT void hl_diagnostics_add(hl_diagnostics *diagnostics, hl_severity severity, const hl_place *place,
                                  const char *format, ...) __attribute__((format(printf, 4, 5)));

HL_EXPORT size_t hl_diagnostics_count(const hl_diagnostics *diagnostics);
HL_EXPORT size_t hl_diagnostics_errors(const hl_diagnostics *diagnostics);
HL_EXPORT hl_severity hl_diagnostics_severity(const hl_diagnostics *diagnostics, size_t index);
/* "file:line:column: text" (or the parts that are known); valid until the next add. */
HL_EXPORT const char *hl_diagnostics_text(const hl_diagnostics *diagnostics, size_t index);

#ifdef __cplusplus
}
#endif
#endif
