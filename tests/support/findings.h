/* findings.h - what `heatledger prove` finds in a plugin. */
#ifndef FINDINGS_H
#define FINDINGS_H

#include <jansson.h>

/* Findings as JSON from `times` as many draws as usual, to be released by json_decref; the exit code must
 * agree with them. */
json_t *findings_of(const char *path, const char *times);
/* "" for what is not there. */
const char *finding_text(const json_t *object, const char *key);
/* The first of that check in any model; NULL when it did not run. */
const json_t *finding_named(const json_t *top, const char *check);
/* All that did not pass, for the message of a test. */
void findings_complain(const json_t *top, const char *path);
/* Fails the test unless every check of every model passes, and there is a model; sanitizers see fewer draws.
 */
void findings_expect_pass(const char *path);

#endif
