#include "chunk_run.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "story.h"

/* What every made-up script ends with: the command wants an adapter. */
#define ENDING                                                                                               \
    "local a = hl.adapter 'bench' a:supply { voltage = '12 V' } "                                            \
    "a:stage 'consumer' { model = 'housekeeping', fed_by = 'source', power = '1 W' } return a"

command_output chunk_run(const char *chunk)
{
    char path[] = "/tmp/heatledger_chunk_XXXXXX";
    int handle = mkstemp(path);
    FILE *file = handle < 0 ? NULL : fdopen(handle, "w");
    ck_assert_ptr_nonnull(file);
    fprintf(file, "local hl = require 'heatledger'\n%s\n%s\n", chunk, ENDING);
    fclose(file);
    const char *arguments[] = {"solve", path, NULL};
    command_output output = command_run(arguments);
    unlink(path);
    return output;
}

void chunk_says(const char *chunk, const char *expected)
{
    command_output output = chunk_run(chunk);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    ck_assert_msg(!strncmp(output.out, expected, strlen(expected)), "expected\n%s\nbut it said\n%.600s",
                  expected, output.out);
    command_free(&output);
}
