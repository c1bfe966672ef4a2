/* command_json.h - what a command says with --json, as a document; the caller decrefs it.
 * Another exit code, or anything but JSON, fails the running test. */
#ifndef COMMAND_JSON_H
#define COMMAND_JSON_H

#include <jansson.h>

#include "command_run.h"

/* Run it and expect to end well; arguments as of command_run. */
json_t *command_json(const char *const arguments[]);
/* Of a command that has run, and was to end with `code`. */
json_t *output_json(const command_output *output, int code);

#endif
