/* check_scarce_scenario.c - the desk charger from its script to the text of its report, and a sweep of eight
 * points, with memory that runs out at each allocation in turn: an error in words or the right result, never
 * a crash or another figure; what a store held before stands.
 *
 * Given what they ask for, since they do not check it themselves: libltdl 2.4.7 and CVODE 6.4.1.  A stride
 * goes through the allocations; HEATLEDGER_LONG=1 takes some thousand, HEATLEDGER_LONG=all each of them. */
#include <lauxlib.h>
#include <string.h>
#include <unistd.h>

#include "lua/binding.h"
#include "lua/sandbox.h"
#include "scarce_memory.h"
#include "story.h"
#include "uncertain_buck.h"

static const char *const unchecked[] = {"libltdl", "libsundials", NULL};

static long stride_for(long all, long usual)
{
    const char *text = getenv("HEATLEDGER_LONG");
    long tries = !text ? usual : !strcmp(text, "all") ? all : 50 * usual;
    return all > tries ? all / tries : 1;
}

/* ------------------------------------------------------------------ scenario -- */

typedef struct outcome {
    bool done;
    char said[1000];
    char *page; /* the report's text; the caller frees */
} outcome;

/* Protected: adapter -> HTML */
static int report_of(lua_State *L)
{
    lua_getfield(L, 1, "finish");
    lua_pushvalue(L, 1);
    lua_call(L, 1, 1);
    int design = lua_gettop(L);
    lua_getglobal(L, "require");
    lua_pushliteral(L, "heatledger.report");
    lua_call(L, 1, 1);
    lua_getfield(L, -1, "html");
    lua_pushvalue(L, design);
    luaL_loadstring(L, "return { settings = {}, what_if = {}, samples = 20, date = '2026-11-25',"
                       " draw = function() end }");
    lua_call(L, 0, 1);
    lua_call(L, 2, 1);
    luaL_checkstring(L, -1);
    return 1;
}

static void write_report(outcome *o)
{
    static const sandbox_limits limits = {(size_t)512 << 20, 2000000000LL, 0};
    sandbox *box = sandbox_create(&limits, false, HL_TEST_BUILD "/lib/heatledger/lua");
    if (!box) {
        snprintf(o->said, sizeof o->said, "memory ran out");
        return;
    }
    if (sandbox_run(box, HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua", o->said, sizeof o->said)) {
        lua_State *L = sandbox_state(box);
        lua_pushcfunction(L, report_of);
        lua_insert(L, -2);
        o->done = lua_pcall(L, 1, 1, 0) == LUA_OK;
        const char *text = lua_tostring(L, -1);
        if (o->done)
            o->page = text ? strdup(text) : NULL;
        else
            snprintf(o->said, sizeof o->said, "%s", text ? text : "");
        if (o->done && !o->page) {
            o->done = false;
            snprintf(o->said, sizeof o->said, "no room for the copy");
        }
    }
    sandbox_destroy(box);
}

START_TEST(a_report_is_right_or_refused_in_words)
{
    if (!scarce_memory_works()) return;
    outcome first = {0};
    write_report(&first); /* once before: what the C library keeps for ever is not counted */
    ck_assert_msg(first.done, "%s", first.said);
    outcome counted = {0};
    scarce_memory_spare(unchecked);
    scarce_memory_begin(-1);
    write_report(&counted);
    long all = scarce_memory_end();
    ck_assert_str_eq(counted.page, first.page);
    long stride = stride_for(all, 25), tried = 0, stood = 0;
    for (long allowed = stride / 2; allowed < all; allowed += stride, tried++) {
        outcome next = {0};
        scarce_memory_begin(allowed);
        write_report(&next);
        scarce_memory_end();
        if (next.done) {
            stood++;
            ck_assert_msg(!strcmp(next.page, first.page), "allocation %ld of %ld failed: another page",
                          allowed + 1, all);
        } else {
            ck_assert_msg(next.said[0], "allocation %ld of %ld failed: no word", allowed + 1, all);
        }
        free(next.page);
    }
    fprintf(stderr, "report: %ld of %ld allocations refused in turn, %ld times it was made all the same\n",
            tried, all, stood);
    free(counted.page);
    free(first.page);
}
END_TEST

/* --------------------------------------------------------------------- sweep -- */

static char folder[64], path[96];

static bool count_row(void *context, size_t columns, const char *const names[], const char *const values[],
                      const bool is_text[])
{
    (void)columns, (void)names, (void)values, (void)is_text;
    ++*(size_t *)context;
    return true;
}

/* The plan, its store, its points, its rows; false: something was refused. */
static bool sweep(const uncertain_buck *buck, size_t load, double base[], hl_diagnostics *said)
{
    static const double loads[] = {0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1};
    size_t rows = 0;
    hl_store *store = NULL;
    hl_sweep *plan = hl_sweep_create(buck->design, base);
    bool good = plan && hl_sweep_axis(plan, "load", 1, &load, 8, loads, NULL, said) == HL_OK &&
                hl_sweep_figure(plan, "efficiency", said) == HL_OK && hl_sweep_finish(plan, said) == HL_OK;
    if (good) store = hl_store_open(path, plan, (hl_shard){1, 1}, said);
    hl_sweep_run_options options = {.workers = 1};
    good = store && hl_sweep_run(plan, store, &options, said) == HL_OK &&
           hl_store_rows(store, 100, count_row, &rows, said) == HL_OK && rows == 8;
    hl_store_close(store);
    hl_sweep_destroy(plan);
    return good;
}

START_TEST(a_sweep_is_whole_or_goes_on)
{
    if (!scarce_memory_works()) return;
    strcpy(folder, "/tmp/heatledger-scarce-XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/s.store", folder);
    uncertain_buck buck;
    double base[512];
    uncertain_buck_open(&buck);
    hl_design_defaults(buck.design, base);
    size_t load = uncertain_buck_setting(&buck, "load");
    ck_assert(sweep(&buck, load, base, buck.said));
    unlink(path);
    scarce_memory_begin(-1);
    bool good = sweep(&buck, load, base, buck.said);
    long all = scarce_memory_end(), tried = 0;
    ck_assert(good);
    long stride = stride_for(all, 100);
    for (long allowed = 0; allowed < all; allowed += stride, tried++) {
        unlink(path);
        hl_diagnostics *said = hl_diagnostics_create();
        scarce_memory_begin(allowed);
        bool done = sweep(&buck, load, base, said);
        scarce_memory_end();
        ck_assert_msg(done || hl_diagnostics_errors(said) > 0 || allowed < 60,
                      "allocation %ld of %ld failed: no word", allowed + 1, all);
        hl_diagnostics_destroy(said);
        ck_assert_msg(sweep(&buck, load, base, buck.said), "allocation %ld of %ld: it does not go on: %s",
                      allowed + 1, all,
                      hl_diagnostics_count(buck.said) ? hl_diagnostics_text(buck.said, 0) : "");
    }
    fprintf(stderr, "sweep: %ld of %ld allocations refused in turn\n", tried, all);
    uncertain_buck_close(&buck);
    unlink(path);
    rmdir(folder);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_set_timeout(tests, 100000);
    tcase_add_test(tests, a_report_is_right_or_refused_in_words);
    tcase_add_test(tests, a_sweep_is_whole_or_goes_on);
}

int main(void)
{
    return story_main("scarce scenario", fill);
}
