/* check_scarce_documents.c - each document of results with one allocation of the JSON library refused: none
 * at all, never one with a gap. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "heatledger/limits.h"
#include "heatledger/spread.h"
#include "heatledger/warmup.h"
#include "lua/document.h"
#include "lua/json_tree.h"
#include "lua/lua_heat.h"
#include "lua/lua_spread.h"
#include "lua/lua_warmup.h"
#include "story.h"
#include "uncertain_buck.h"

static uncertain_buck buck;
static long asked, refused; /* allocations of the library; the one that fails, -1: none */

static void *count(size_t size)
{
    return asked++ == refused ? NULL : malloc(size);
}

static json_t *result(void)
{
    return document_of(buck.design, buck.workspace, buck.settings, true, NULL);
}

static json_t *links(void)
{
    return links_document(buck.design, buck.workspace);
}

static json_t *border(void)
{
    const hl_critical found = {.border = HL_BORDER_FOLD, .value = 300, .gain = 0.5, .points = 3, .leader = 0};
    return critical_document(buck.design, &found, true);
}

static hl_spread *spread;
static const size_t about[1] = {0};
static const hl_spread_options wanted = {
    .samples = 20, .seed = 1, .total_base = 8, .about = about, .n_about = 1};

static json_t *spread_of(void)
{
    const double levels[2] = {0.05, 0.95};
    return spread_document(buck.design, spread, &wanted, levels, 2);
}

static hl_course *course;

static json_t *warmup(void)
{
    return warmup_document(buck.design, course, "ten seconds", buck.said);
}

static void set_up(void)
{
    uncertain_buck_open(&buck);
    hl_spread_options options = wanted;
    options.base = buck.settings;
    drafted_must(&buck, hl_spread_design(buck.design, &options, &spread, buck.said));
    const hl_profile_step step = {.duration = 10, .settings = buck.settings, .load_end = (double)NAN};
    const hl_profile profile = {.n_steps = 1, .step = &step, .cycles = 1, .every = 5};
    drafted_must(&buck, hl_warm_up(buck.workspace, &profile, &course, buck.said));
    hl_diagnostics_add(buck.said, HL_WARNING, NULL, "a name outside UTF-8: \xff");
    drafted_solve(&buck);
}

static void tear_down(void)
{
    hl_spread_destroy(spread);
    hl_course_destroy(course);
    drafted_end(&buck);
}

static const struct {
    const char *name;
    json_t *(*make)(void);
} documents[] = {
    {"result", result}, {"links", links}, {"border", border}, {"spread", spread_of}, {"warm-up", warmup}};

START_TEST(a_refused_allocation_leaves_no_document)
{
    json_malloc_t usual;
    json_free_t freed;
    json_get_alloc_funcs(&usual, &freed);
    json_set_alloc_funcs(count, freed);
    asked = 0, refused = -1;
    json_t *whole = documents[_i].make();
    long all = asked, gaps = 0;
    for (long k = 0; k < all; k++) {
        asked = 0, refused = k;
        json_t *made = documents[_i].make();
        gaps += made && !json_equal(made, whole); /* a text is tried a second time */
        json_decref(made);
    }
    json_set_alloc_funcs(usual, freed);
    ck_assert_msg(whole != NULL, "no document: %s", documents[_i].name);
    json_decref(whole);
    ck_assert_msg(gaps == 0, "%s: %ld of %ld refusals left a gap", documents[_i].name, gaps, all);
    ck_assert_int_gt(all, 10);
}
END_TEST

START_TEST(what_json_cannot_hold_is_shown_as_well_as_can_be)
{
    json_t *number = tree_number(HUGE_VAL), *text = tree_text("caf\xe9 bar");
    ck_assert(json_is_null(number));
    ck_assert_str_eq(json_string_value(text), "caf? bar");
    json_decref(number);
    json_decref(text);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_loop_test(tests, a_refused_allocation_leaves_no_document, 0,
                        (int)(sizeof documents / sizeof *documents));
    tcase_add_test(tests, what_json_cannot_hold_is_shown_as_well_as_can_be);
}

int main(void)
{
    return story_main("scarce documents", fill);
}
