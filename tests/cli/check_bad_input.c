/* check_bad_input.c - scripts that are wrong, each in one way: the command must say where, what and
 * what would do, and end with the right exit code.
 *
 * Every file of tests/bad_input is a case.  Its first lines are comments:
 *   -- exit: 1                     the exit code
 *   -- expect: text                must stand in standard error (may be repeated)
 *   -- set: NAME=VALUE             passed as --set (may be repeated)
 */
#include <dirent.h>
#include <string.h>

#include "command_run.h"
#include "story.h"

enum { LINES_MAX = 16, TEXT_MAX = 400 };

typedef struct bad_case {
    char path[600];
    int code;
    char expect[LINES_MAX][TEXT_MAX], set[LINES_MAX][TEXT_MAX];
    size_t n_expect, n_set;
} bad_case;

static void take_line(const char *line, const char *key, char into[][TEXT_MAX], size_t *n)
{
    size_t length = strlen(key);
    if (strncmp(line, key, length) || *n == LINES_MAX) return;
    snprintf(into[*n], TEXT_MAX, "%s", line + length);
    into[*n][strcspn(into[*n], "\n")] = '\0';
    (*n)++;
}

static bad_case read_case(const char *name)
{
    bad_case found = {.code = -1};
    snprintf(found.path, sizeof found.path, "%s/bad_input/%s", HL_TEST_SOURCE, name);
    FILE *file = fopen(found.path, "r");
    ck_assert_msg(file != NULL, "cannot open %s", found.path);
    char line[TEXT_MAX];
    while (fgets(line, sizeof line, file) && !strncmp(line, "--", 2)) {
        sscanf(line, "-- exit: %d", &found.code);
        take_line(line, "-- expect: ", found.expect, &found.n_expect);
        take_line(line, "-- set: ", found.set, &found.n_set);
    }
    fclose(file);
    ck_assert_msg(found.code > 0 && found.n_expect > 0, "%s states no exit or no expected text", name);
    return found;
}

static void run_case(const char *name)
{
    bad_case wrong = read_case(name);
    const char *arguments[3 + 2 * LINES_MAX] = {"solve", wrong.path};
    for (size_t i = 0; i < wrong.n_set; i++) {
        arguments[2 + 2 * i] = "--set";
        arguments[3 + 2 * i] = wrong.set[i];
    }
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == wrong.code, "%s: exit %d, expected %d; it said:\n%s", name, output.code,
                  wrong.code, output.error);
    for (size_t i = 0; i < wrong.n_expect; i++)
        ck_assert_msg(strstr(output.error, wrong.expect[i]) != NULL, "%s: '%s' is not in:\n%s", name,
                      wrong.expect[i], output.error);
    command_free(&output);
}

START_TEST(every_wrong_script_is_told_what_is_wrong)
{
    DIR *folder = opendir(HL_TEST_SOURCE "/bad_input");
    ck_assert_ptr_nonnull(folder);
    size_t n = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        size_t length = strlen(entry->d_name);
        if (length < 5 || strcmp(entry->d_name + length - 4, ".lua")) continue;
        run_case(entry->d_name);
        n++;
    }
    closedir(folder);
    ck_assert_msg(n >= 40, "only %zu wrong scripts were tried", n);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_wrong_script_is_told_what_is_wrong);
}

int main(void)
{
    return story_main("bad input", fill);
}
