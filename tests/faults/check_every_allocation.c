/* check_every_allocation.c - the command with one allocation refused, or all from one on: it ends in order,
 * says why, keeps nothing, prints no other result with a good status, and what was in its files before, or
 * what a store holds, stands.  allocations/trial.c tells how one run tries many.
 *
 * A stride goes through them; HEATLEDGER_LONG=1 takes each that is come to by another chain of calls,
 * HEATLEDGER_LONG=all each of them (hours, most of them the report's).  HEATLEDGER_COPIES=1: copies of the
 * process try, not itself.  Spared, since they do not check their own: libltdl 2.4.7,
 * CVODE 6.4.1. */
#include <stdbool.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command_run.h"
#include "scratch_folder.h"
#include "story.h"

enum { REFUSES = sizeof HL_TEST_FLAGS == 1 }; /* sanitizers have a malloc of their own */

#define CHARGER HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua"
#define PARTS   HL_PROJECT_SOURCE "/examples/desk_charger/parts.yaml"

enum { USUAL_TRIES = 16 };

static const struct {
    const char *name, *arguments[12]; /* @: the folder that it writes into */
    bool writes, goes_on;
} cases[] = {
    {"solve", {"solve", CHARGER}, false, false},
    {"solve as JSON", {"solve", CHARGER, "--json"}, false, false},
    {"parts", {"parts", PARTS}, false, false},
    {"report", {"report", CHARGER, "--to", "@/page.html", "--samples", "20", "--quiet"}, true, false},
    {"sweep",
     {"sweep", "@.plans/plan.lua", "--store", "@/s.store", "--csv", "--workers", "1", "--quiet"},
     true,
     true},
};

static const char plan[] = "local hl = require 'heatledger'\n"
                           "return hl.sweep {\n"
                           "  adapter = 'module.lua',\n"
                           "  axes = { { 'load', from = 0.25, to = 1, steps = 4 },\n"
                           "           { 'source.voltage', list = { '11 V', '24 V' } } },\n"
                           "  figures = { 'efficiency', 'loss_w' },\n"
                           "  derive = { half = function(r) return r.loss_w / 2 end },\n"
                           "}\n";

static const char *folder; /* what a case writes into; what is kept stands beside it */

/* The arguments with the folder's name in them. */
static const char *const *arguments_of(size_t i, const char *in)
{
    static char text[12][160];
    static const char *list[12];
    size_t k = 0;
    for (; cases[i].arguments[k]; k++) {
        const char *given = cases[i].arguments[k];
        if (given[0] == '@')
            snprintf(text[k], sizeof text[k], "%s%s", in, given + 1);
        else
            snprintf(text[k], sizeof text[k], "%s", given);
        list[k] = text[k];
    }
    list[k] = NULL;
    return list;
}

static void set_number(const char *name, long value)
{
    char text[32];
    snprintf(text, sizeof text, "%ld", value);
    setenv(name, text, 1);
}

static void clear_folder(void)
{
    char command[200];
    snprintf(command, sizeof command, "rm -rf %s %s.held && mkdir %s", folder, folder, folder);
    ck_assert_int_eq(system(command), 0);
}

typedef struct verdict {
    long allocations, tried, refused, same, bad, after, kept;
    char *record;
} verdict;

static verdict verdict_in(const char *path)
{
    verdict v = {.bad = -1, .record = calloc(1, 1 << 20)};
    FILE *file = fopen(path, "r");
    ck_assert(v.record && file);
    size_t n = fread(v.record, 1, (1 << 20) - 1, file);
    fclose(file);
    ck_assert_uint_lt(n, (1 << 20) - 1);
    const char *last = strstr(v.record, "allocations ");
    ck_assert_msg(
        last && sscanf(last, "allocations %ld tried %ld refused %ld same %ld bad %ld after %ld kept %ld",
                       &v.allocations, &v.tried, &v.refused, &v.same, &v.bad, &v.after, &v.kept) == 7,
        "%s", v.record);
    return v;
}

/* One run of case i from the from-th allocation on; what it prints and its status are as always. */
static verdict run(size_t i, long from, long step, bool once, const command_output *usual)
{
    const char *path = scratch_file("case.record");
    clear_folder();
    if (cases[i].writes && !cases[i].goes_on) scratch_write("case/page.html", "what was there before\n");
    unlink(path);
    setenv("SCARCE_RECORD", path, 1);
    set_number("SCARCE_FROM", from);
    set_number("SCARCE_STEP", step);
    set_number("SCARCE_ONCE", once);
    setenv("PATH", "/nonexistent", 1); /* no plotting program, which would serve copies and process alike */
    command_output out = program_run(HL_TEST_BUILD "/tests/scarce_heatledger", arguments_of(i, folder));
    setenv("PATH", "/usr/bin:/bin", 1);
    ck_assert_msg(out.code == 0, "%s: %d: %s", cases[i].name, out.code, out.error);
    if (usual) ck_assert_str_eq(out.out, usual->out);
    command_free(&out);
    return verdict_in(path);
}

static void try_case(size_t i, bool once)
{
    char self[200];
    ssize_t n = readlink("/proc/self/exe", self, sizeof self - 1);
    ck_assert(n > 0);
    self[n] = '\0';
    command_output usual = command_run(arguments_of(i, folder));
    ck_assert_msg(usual.code == 0, "%s: %s", cases[i].name, usual.error);
    setenv("SCARCE_OUTPUT", scratch_write("case.output", usual.out), 1);
    if (cases[i].writes) setenv("SCARCE_FOLDER", folder, 1);
    if (cases[i].goes_on) setenv("SCARCE_AFTER", self, 1);
    const char *longer = getenv("HEATLEDGER_LONG"), *copies = getenv("HEATLEDGER_COPIES");
    set_number("SCARCE_REWIND", !copies);
    verdict counted = run(i, 1000000000, 1, once, &usual);
    long step = longer ? 1 : 1 + counted.allocations / USUAL_TRIES;
    set_number("SCARCE_ALIKE", longer && strcmp(longer, "all") != 0);
    set_number("SCARCE_FREE", !copies || !longer);
    verdict v = run(i, longer ? 1 : 1 + step / 2, step, once, &usual);
    ck_assert_msg(v.bad == 0, "%s:\n%s", cases[i].name, v.record);
    ck_assert_int_gt(v.refused, 0);
    fprintf(stderr, "%s, %s: %ld of %ld allocations refused, %ld times in vain, %ld stores went on\n",
            cases[i].name, once ? "one" : "all from there", v.tried, v.allocations, v.same, v.after);
    free(counted.record);
    free(v.record);
    command_free(&usual);
    unsetenv("SCARCE_FOLDER");
    unsetenv("SCARCE_AFTER");
}

/* The store that a refused sweep left in a folder is taken on by the usual command: the very rows. */
static int goes_on(const char *from)
{
    char there[100], command[700];
    setenv("PATH", "/usr/bin:/bin", 1);
    snprintf(there, sizeof there, "%s.again", from);
    snprintf(command, sizeof command,
             "rm -rf %s && mkdir %s && cp %s/* %s/ && '" HL_TEST_BUILD
             "/bin/heatledger' sweep %s.plans/plan.lua "
             "--store %s/s.store --csv --workers 1 --quiet </dev/null 2>/dev/null | cmp -s - %s.output",
             there, there, from, there, from, there, from);
    return system(command) != 0;
}

static void begin(void)
{
    char command[400];
    scratch_folder_make();
    folder = scratch_file("case");
    snprintf(command, sizeof command,
             "mkdir %s %s.plans && cp '" HL_TEST_SOURCE "/sweep/module.lua' '" HL_TEST_SOURCE
             "/sweep/parts.yaml' %s.plans/",
             folder, folder, folder);
    ck_assert_int_eq(system(command), 0);
    scratch_write("case.plans/plan.lua", plan);
}

START_TEST(one_refusal_is_told_or_makes_no_difference)
{
    if (REFUSES) try_case((size_t)_i, true);
}
END_TEST

START_TEST(memory_that_stays_out_ends_in_order)
{
    if (REFUSES) try_case((size_t)_i, false);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_set_timeout(tests, 100000);
    tcase_add_checked_fixture(tests, begin, scratch_folder_remove);
    tcase_add_loop_test(tests, one_refusal_is_told_or_makes_no_difference, 0, sizeof cases / sizeof *cases);
    tcase_add_loop_test(tests, memory_that_stays_out_ends_in_order, 0, sizeof cases / sizeof *cases);
}

int main(int argc, char **argv)
{
    if (argc == 2) return goes_on(argv[1]); /* as SCARCE_AFTER */
    return story_main("every allocation", fill);
}
