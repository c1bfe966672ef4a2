/* check_failing_calls.c - one call to the system that fails, or all from one on: a file that cannot be opened
 * or written, a thread or a process that cannot be had.  The command says so and leaves what was there, or
 * its result is the one that it has without.  A few calls out of all; HEATLEDGER_LONG=1: each. */
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "failing_run.h"
#include "scratch_folder.h"
#include "story.h"

#define PLAN    HL_TEST_SOURCE "/sweep/plan.lua"
#define BENCH   HL_PROJECT_SOURCE "/examples/desk_charger/bench.yaml"
#define CHARGER HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua"
#define ADAPTER HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua"
#define PLUGIN  HL_TEST_PLUGINS "/fuse.so"

enum { USUAL_TRIES = 2, TEXT_MOST = 1 << 22 };

/* What is made; @ stands for the scratch folder. */
static const struct {
    const char *arguments[12], *makes; /* NULL: nothing but what is printed */
    bool seldom;                       /* by hand, since it takes long */
} cases[] = {
    {{"report", ADAPTER, "--samples", "0", "--quiet", "--to", "@/page.html"}, "page.html", false},
    {{"fit", CHARGER, BENCH, "--overlay", "@/overlay.yaml"}, "overlay.yaml", true},
    {{"models", "--markdown", "@"}, "fuse.md", true},
    {{"solve", ADAPTER, "--json"}, NULL, false},
    {{"solve", ADAPTER, "--csv"}, NULL, false},
    {{"sweep", PLAN, "--store", "@/s.store", "--csv", "--quiet", "--workers", "2"}, NULL, false},
};
enum { CASES = sizeof cases / sizeof *cases };

static const struct {
    int kind;
    bool only;
} ways[] = {{FAILING_WRITES, true},
            {FAILING_OPENS, false},
            {FAILING_OPENS, true},
            {FAILING_THREADS, false},
            {FAILING_PROCESSES, false}};
enum { WAYS = sizeof ways / sizeof *ways };

static const char *const *arguments_of(size_t i)
{
    static char text[12][200];
    static const char *list[12];
    size_t k = 0;
    for (; cases[i].arguments[k]; k++) {
        const char *given = cases[i].arguments[k];
        if (given[0] == '@')
            snprintf(text[k], sizeof text[k], "%s%s", scratch_folder, given + 1);
        else
            snprintf(text[k], sizeof text[k], "%s", given);
        list[k] = text[k];
    }
    list[k] = NULL;
    return list;
}

/* The whole file, to be freed; "" when it is not there. */
static char *content(const char *path)
{
    char *text = calloc(1, TEXT_MOST);
    ck_assert_ptr_nonnull(text);
    FILE *file = fopen(path, "rb");
    if (!file) return text;
    ck_assert_uint_lt(fread(text, 1, TEXT_MOST - 1, file), TEXT_MOST - 1);
    fclose(file);
    return text;
}

static const char old[] = "yesterday\n";

static void lay_out(size_t i)
{
    unlink(scratch_file("s.store"));
    if (cases[i].makes) scratch_write(cases[i].makes, old);
}

static char *made(size_t i)
{
    return cases[i].makes ? content(scratch_file(cases[i].makes)) : strdup("");
}

/* What a run without faults prints, makes and calls. */
typedef struct usual {
    command_output out;
    char *made;
    long calls[FAILING_KINDS];
} usual;

/* The result stands, or the failure is told and what was there stands. */
static void judge(size_t i, failing how, const command_output *out, const usual *want, long *stood)
{
    const char *name = cases[i].arguments[0];
    char *now = made(i);
    ck_assert_msg(out->code < 128, "%s, %s %ld: signal %d: %s", name, failing_names[how.kind], how.after,
                  out->code - 128, out->error);
    if (out->code == 0) {
        ++*stood;
        bool same = !strcmp(out->out, want->out.out) && !strcmp(now, want->made);
        ck_assert_msg(same || strlen(out->error) > strlen(want->out.error),
                      "%s, %s %ld: another result without a word", name, failing_names[how.kind], how.after);
    } else {
        ck_assert_msg(strlen(out->error) > 15, "%s, %s %ld: exit %d with '%s'", name, failing_names[how.kind],
                      how.after, out->code, out->error);
        ck_assert_msg(!cases[i].makes || !strcmp(now, old) || !strcmp(now, want->made),
                      "%s, %s %ld: the old file is spoilt: %.60s", name, failing_names[how.kind], how.after,
                      now);
    }
    free(now);
}

/* A store that a failing sweep has left goes on to the usual rows. */
static void goes_on(size_t i, failing how, const usual *want)
{
    if (strcmp(cases[i].arguments[0], "sweep") != 0) return;
    command_output out = command_run(arguments_of(i));
    ck_assert_msg(out.code == 0 && !strcmp(out.out, want->out.out), "sweep after %s %ld: exit %d: %s",
                  failing_names[how.kind], how.after, out.code, out.error);
    command_free(&out);
}

/* As many of all calls as are tried, evenly. */
static long step_through(long calls)
{
    return getenv("HEATLEDGER_LONG") ? 1 : 1 + calls / USUAL_TRIES;
}

static void fail_each(size_t i, int kind, bool only, const usual *want)
{
    long calls = want->calls[kind], step = step_through(calls), stood = 0, tried = 0;
    for (long after = step / 2; after < calls; after += step, tried++) {
        failing how = {kind, after, only};
        lay_out(i);
        command_output out = failing_run(arguments_of(i), how, NULL);
        judge(i, how, &out, want, &stood);
        command_free(&out);
        goes_on(i, how, want);
    }
    if (calls)
        fprintf(stderr, "%s, %s, %s: %ld of %ld calls, %ld times the result stood\n", cases[i].arguments[0],
                failing_names[kind], only ? "one" : "all from there", tried, calls, stood);
}

START_TEST(a_call_that_fails_is_told_or_makes_no_difference)
{
    if (!FAILING_RUNS || (cases[_i].seldom && !getenv("HEATLEDGER_LONG"))) return;
    size_t i = (size_t)_i;
    usual want;
    lay_out(i);
    want.out = failing_run(arguments_of(i), (failing){0, -1, false}, want.calls);
    ck_assert_msg(want.out.code == 0, "%s: %s", cases[i].arguments[0], want.out.error);
    ck_assert_int_gt(want.calls[FAILING_OPENS], 0);
    want.made = made(i);
    for (size_t w = 0; w < WAYS; w++) fail_each(i, ways[w].kind, ways[w].only, &want);
    command_free(&want.out);
    free(want.made);
}
END_TEST

/* A check that could not be made is no check passed. */
START_TEST(a_plugin_passes_nothing_that_could_not_be_tried)
{
    static const int kinds[] = {FAILING_PROCESSES, FAILING_THREADS};
    if (!FAILING_RUNS) return;
    const char *arguments[] = {"prove", PLUGIN, NULL};
    long calls[FAILING_KINDS];
    failing how = {kinds[_i], -1, false};
    command_output out = failing_run(arguments, how, calls);
    ck_assert_msg(out.code == 0, "%s", out.error);
    command_free(&out);
    /* threads are made by children, which count for themselves */
    long most = how.kind == FAILING_THREADS ? 1 : calls[how.kind], step = step_through(most);
    ck_assert_int_gt(most, 0);
    for (how.after = 0; how.after < most; how.after += step) {
        out = failing_run(arguments, how, NULL);
        ck_assert_msg(out.code == 1, "%s %ld: exit %d: %s%s", failing_names[how.kind], how.after, out.code,
                      out.out, out.error);
        ck_assert_msg(strstr(out.out, "be started") || strstr(out.error, "be started"), "%s %ld: %s%s",
                      failing_names[how.kind], how.after, out.out, out.error);
        command_free(&out);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_set_timeout(tests, 1800);
    tcase_add_checked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_loop_test(tests, a_call_that_fails_is_told_or_makes_no_difference, 0, CASES);
    tcase_add_loop_test(tests, a_plugin_passes_nothing_that_could_not_be_tried, 0, 2);
}

int main(void)
{
    return story_main("failing calls", fill);
}
