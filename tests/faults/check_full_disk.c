/* check_full_disk.c - a disk that is full at the first, the second, ... write of a command: an error and an
 * exit code, and what was there before is there still. A folder that may not be written; an output that is
 * full or closed.  HEATLEDGER_LONG=1: at every write, not at some twenty.
 */
#include <fcntl.h>
#include <signal.h>
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "command_run.h"
#include "failing_run.h"
#include "scratch_folder.h"
#include "story.h"

#define PLAN    HL_TEST_SOURCE "/sweep/plan.lua"
#define BENCH   HL_PROJECT_SOURCE "/examples/desk_charger/bench.yaml"
#define CHARGER HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua"
#define ADAPTER HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua"

static char *slurp(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    if (!file) return NULL;
    char *text = calloc(1, 1 << 24);
    ck_assert_ptr_nonnull(text);
    *length = fread(text, 1, (1 << 24) - 1, file);
    fclose(file);
    return text;
}

static void put_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    ck_assert(file && fputs(text, file) >= 0 && fclose(file) == 0);
}

static command_output run_full(const char *const arguments[], long after, long *writes)
{
    long calls[FAILING_KINDS];
    command_output out = failing_run(arguments, (failing){FAILING_WRITES, after, false}, calls);
    if (writes) *writes = calls[FAILING_WRITES];
    return out;
}

/* The command for a fresh file; `keeps`: a file of that name must stay what it was when the command fails. */
static void full_at_each_write(const char *const arguments[], const char *made, bool keeps)
{
    long all, tried = 0, stood = 0;
    command_output whole = run_full(arguments, -1, &all);
    ck_assert_msg(whole.code == 0 && all > 0, "%s: exit %d, %ld writes: %s", arguments[0], whole.code, all,
                  whole.error);
    command_free(&whole);
    size_t length;
    long stride = getenv("HEATLEDGER_LONG") ? 1 : 1 + all / 5;
    for (long after = 0; after < all; after += stride, tried++) {
        if (keeps)
            put_text(made, "yesterday\n");
        else
            unlink(made);
        command_output out = run_full(arguments, after, NULL);
        ck_assert_msg(out.code < 128, "%s, full after %ld of %ld writes: ended by signal %d: %s",
                      arguments[0], after, all, out.code - 128, out.error);
        if (out.code == 0) { /* the cache, or a sync of the folder: the result itself stands */
            stood++;
        } else {
            ck_assert_msg(out.error[0], "%s fails without a word after %ld writes", arguments[0], after);
            char *text = keeps ? slurp(made, &length) : NULL;
            ck_assert_msg(!keeps || (text && !strcmp(text, "yesterday\n")), "%s spoilt the old file: %.40s",
                          arguments[0], text ? text : "it is gone");
            free(text);
        }
        command_free(&out);
    }
    fprintf(stderr, "%s: full at %ld of %ld writes, %ld times the result stood all the same\n", arguments[0],
            tried, all, stood);
}

START_TEST(a_report_is_the_old_one_or_the_new_one)
{
    if (!FAILING_RUNS) return;
    const char *page = scratch_file("page.html");
    full_at_each_write((const char *const[]){"report", ADAPTER, "--samples", "0", "--to", page, NULL}, page,
                       true);
}
END_TEST

START_TEST(an_overlay_is_the_old_one_or_the_new_one)
{
    if (!FAILING_RUNS) return;
    const char *overlay = scratch_file("overlay.yaml");
    full_at_each_write((const char *const[]){"fit", CHARGER, BENCH, "--overlay", overlay, NULL}, overlay,
                       true);
}
END_TEST

static char *rows_of(const char *path)
{
    const char *arguments[] = {"sweep", PLAN, "--store", path, "--workers", "2", "--csv", NULL};
    command_output out = command_run(arguments);
    ck_assert_msg(out.code == 0, "exit %d: %s", out.code, out.error);
    free(out.error);
    return out.out;
}

START_TEST(a_sweep_goes_on_from_a_disk_full_at_any_write)
{
    if (!FAILING_RUNS) return;
    const char *path = scratch_file("s.store");
    char *wanted = rows_of(scratch_file("whole.store"));
    const char *arguments[] = {"sweep", PLAN, "--store", path, "--workers", "1", "--quiet", NULL};
    long all, tried = 0;
    command_output whole = run_full(arguments, -1, &all);
    command_free(&whole);
    long stride = getenv("HEATLEDGER_LONG") ? 1 : 1 + all / 5;
    for (long after = 0; after < all; after += stride, tried++) {
        unlink(path);
        command_output out = run_full(arguments, after, NULL);
        ck_assert_msg(out.code == 1 || out.code == 0, "full after %ld of %ld writes: exit %d: %s", after, all,
                      out.code, out.error);
        ck_assert_msg(out.code == 0 || out.error[0], "fails without a word after %ld writes", after);
        command_free(&out);
        char *rows = rows_of(path);
        ck_assert_msg(!strcmp(rows, wanted), "full after %ld of %ld writes: other rows", after, all);
        free(rows);
    }
    fprintf(stderr, "sweep: full at %ld of %ld writes\n", tried, all);
    free(wanted);
}
END_TEST

START_TEST(a_join_leaves_its_parts_alone)
{
    if (!FAILING_RUNS) return;
    const char *joined = scratch_file("joined.store"), *one = scratch_file("1.store"),
               *two = scratch_file("2.store");
    for (int i = 1; i <= 2; i++) {
        const char *arguments[] = {
            "sweep", PLAN, "--store", i == 1 ? one : two, "--shard", i == 1 ? "1/2" : "2/2", "--quiet", NULL};
        command_output out = command_run(arguments);
        ck_assert_msg(out.code == 0, "%s", out.error);
        command_free(&out);
    }
    const char *merge[] = {"merge", "--store", joined, one, two, NULL};
    full_at_each_write(merge, joined, false);
    unlink(joined);
    command_output out = command_run(merge);
    ck_assert_msg(out.code == 0, "%s", out.error);
    command_free(&out);
    char *wanted = rows_of(scratch_file("whole.store")), *rows = rows_of(joined);
    ck_assert_str_eq(rows, wanted);
    free(rows);
    free(wanted);
}
END_TEST

/* --------------------------------------------------------- standard output -- */

static const char *const printing[][8] = {
    {"solve", ADAPTER, NULL},
    {"solve", ADAPTER, "--json", NULL},
    {"efficiency", ADAPTER, NULL},
    {"models", NULL},
    {"parts", NULL},
    {"warmup", ADAPTER, NULL},
    {"efficiency", ADAPTER, "--json", NULL},
};
enum { PRINTING = sizeof printing / sizeof *printing };

/* Exit status of the command with its standard output there; *said: whether it wrote to stderr. */
static int run_into(int out, const char *const arguments[], char *error, size_t size)
{
    const char *list[12] = {"heatledger"};
    for (int i = 0; arguments[i]; i++) list[i + 1] = arguments[i];
    FILE *words = tmpfile();
    ck_assert_ptr_nonnull(words);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        signal(SIGPIPE, SIG_DFL);
        dup2(out, STDOUT_FILENO);
        dup2(fileno(words), STDERR_FILENO);
        close(out);
        execv(HL_TEST_BUILD "/bin/heatledger", (char *const *)list);
        _exit(127);
    }
    close(out);
    int status;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    rewind(words);
    error[fread(error, 1, size - 1, words)] = '\0';
    fclose(words);
    return status;
}

START_TEST(an_output_without_room_is_an_error)
{
    char error[2000];
    int full = open("/dev/full", O_WRONLY);
    if (full < 0) return;
    int status = run_into(full, printing[_i], error, sizeof error);
    ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 1, "%s: status %x", printing[_i][0],
                  (unsigned)status);
    ck_assert_msg(strstr(error, "space") != NULL, "%s: '%s'", printing[_i][0], error);
}
END_TEST

/* A reader that has gone, as in `heatledger ... | head -1`: ended by the pipe's signal, without a word. */
START_TEST(a_closed_pipe_ends_it_quietly)
{
    char error[2000];
    int ends[2];
    ck_assert_int_eq(pipe(ends), 0);
    close(ends[0]);
    int status = run_into(ends[1], printing[_i], error, sizeof error);
    ck_assert_msg(WIFSIGNALED(status) && WTERMSIG(status) == SIGPIPE, "%s: status %x", printing[_i][0],
                  (unsigned)status);
    ck_assert_msg(!strstr(error, "heatledger:") && !strstr(error, "crash"), "%s: %s", printing[_i][0], error);
}
END_TEST

/* ------------------------------------------------------------------ folder -- */

START_TEST(a_folder_that_may_not_be_written_is_told)
{
    const char *nowhere = geteuid() == 0 ? "/proc/1/page" : scratch_file("closed/page");
    if (geteuid() != 0) ck_assert_int_eq(mkdir(scratch_file("closed"), 0500), 0);
    const char *const commands[][10] = {
        {"report", ADAPTER, "--samples", "0", "--to", nowhere, NULL},
        {"sweep", PLAN, "--store", nowhere, NULL},
        {"merge", "--store", nowhere, scratch_file("none.store"), NULL},
        {"fit", CHARGER, BENCH, "--overlay", nowhere, NULL},
    };
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
        command_output out = command_run(commands[i]);
        ck_assert_msg(out.code == 1, "%s: exit %d: %s", commands[i][0], out.code, out.error);
        ck_assert_msg(strlen(out.error) > 20, "%s: '%s'", commands[i][0], out.error);
        command_free(&out);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, a_report_is_the_old_one_or_the_new_one);
    tcase_add_test(tests, an_overlay_is_the_old_one_or_the_new_one);
    tcase_add_test(tests, a_sweep_goes_on_from_a_disk_full_at_any_write);
    tcase_add_test(tests, a_join_leaves_its_parts_alone);
    tcase_add_loop_test(tests, an_output_without_room_is_an_error, 0, PRINTING);
    tcase_add_loop_test(tests, a_closed_pipe_ends_it_quietly, 0, PRINTING);
    tcase_add_test(tests, a_folder_that_may_not_be_written_is_told);
}

int main(void)
{
    return story_main("full disk", fill);
}
