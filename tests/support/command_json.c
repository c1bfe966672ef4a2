#include "command_json.h"

#include <check.h>
#include <stdio.h>

json_t *output_json(const command_output *output, int code)
{
    json_error_t error;
    ck_assert_msg(output->code == code, "exit %d: %s", output->code, output->error);
    json_t *document = json_loads(output->out, 0, &error);
    ck_assert_msg(document != NULL, "no JSON (%s): %.200s%s", error.text, output->out, output->error);
    return document;
}

json_t *command_json(const char *const arguments[])
{
    command_output output = command_run(arguments);
    if (output.code != 0) {
        fprintf(stderr, "heatledger");
        for (size_t i = 0; arguments[i]; i++) fprintf(stderr, " %s", arguments[i]);
        fprintf(stderr, "\n");
    }
    json_t *document = output_json(&output, 0);
    command_free(&output);
    return document;
}
