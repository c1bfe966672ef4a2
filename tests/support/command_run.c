#include "command_run.h"

#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { ARGUMENTS_MAX = 64 };

/* Everything in a temporary file, from its start. */
static char *slurp(FILE *file)
{
    fseek(file, 0, SEEK_END);
    long size = ftell(file);
    rewind(file);
    char *text = calloc(1, (size_t)size + 1);
    ck_assert_ptr_nonnull(text);
    ck_assert_uint_eq(fread(text, 1, (size_t)size, file), (size_t)size);
    fclose(file);
    return text;
}

command_output program_run(const char *path, const char *const arguments[])
{
    FILE *out = tmpfile(), *error = tmpfile();
    ck_assert(out && error);
    const char *list[ARGUMENTS_MAX] = {path};
    for (int i = 0; arguments[i] && i < ARGUMENTS_MAX - 2; i++) list[i + 1] = arguments[i];
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        dup2(fileno(out), STDOUT_FILENO);
        dup2(fileno(error), STDERR_FILENO);
        execv(path, (char *const *)list);
        _exit(127);
    }
    int status = 0;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    command_output output = {WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status), slurp(out),
                             slurp(error)};
    return output;
}

command_output command_run(const char *const arguments[])
{
    return program_run(HL_TEST_BUILD "/bin/heatledger", arguments);
}

void command_free(command_output *output)
{
    free(output->out);
    free(output->error);
}
