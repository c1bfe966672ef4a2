/* check_prove_faults.c - the conformance kit over plugins wrong in one way each, and the command's own words.
 */
#include <string.h>

#include "command_run.h"
#include "findings.h"
#include "story.h"

/* The thread sanitizer keeps a signal until the program calls something; an endless loop never does. */
#ifdef __SANITIZE_THREAD__
#define ENDLESS "no progress for 60 s"
#else
#define ENDLESS "does not come back from loss()"
#endif

/* The fault of a plugin, the check that must find it, and words the finding must have. */
typedef struct fault {
    const char *plugin, *check, *verdict, *words;
} fault;

static const fault faults[] = {
    {"negative_loss", "losses", "fail", "a loss is never negative"},
    {"nan_when_hot", "losses", "fail", "leakage loss is nan W"},
    {"crashing", "losses", "crash", "killed by signal 11 (Segmentation fault) in loss()"},
    {"ending", "losses", "crash", "ended the process with exit code 0"},
    {"endless", "bad values", "hang", ENDLESS},
    {"endless", "losses", "not run", "the model hung before"},
    {"slope_of_wrong_sign", "slope", "fail", "a central difference gives"},
    {"slope_lacks_a_term", "slope", "fail", "a central difference gives"},
    {"nan_at_rest", "zero stress", "fail", "conduction loss is"},
    {"loss_at_rest", "zero stress", "fail", "bias loss is 0.001 W at no stress at all"},
    {"linear_conduction", "current scaling", "fail", "the square of the current"},
    {"falling_with_current", "current scaling", "fail", "reverse conduction loss falls"},
    {"gate_drive_squared", "frequency scaling", "fail", "proportional to frequency"},
    {"allocating", "allocation", "fail", "hot functions allocate nothing"},
    {"static_cache", "static data", "fail", "'last_"},
    {"racing", "static data", "fail", "'shared'"},
    {"racing", "threads", "fail", "beside another thread"},
    {"unsteady", "repeatable", "fail", "the same input gives another answer at once"},
    {"past_its_state", "own memory", "fail", "prepare() writes 1 byte past the end of its state of 24 bytes"},
    {"changes_state", "own memory", "fail", "loss() changes the prepared state"},
    {"changes_stress", "own memory", "fail", "arrays of the stress were written to"},
    {"accepts_no_number", "bad values", "fail", "accepts a on_resistance that is not a number"},
    {"refuses_in_silence", "prepare", "fail", "without a reason"},
    {"refuses_everything", "prepare", "fail", "refused all of"},
    {"limit_unit", "limits", "fail", "'Volts' is not a unit"},
    {"limit_without_name", "limits", "fail", "no printable name"},
    {"limit_without_rating", "limits", "fail", "rated 0"},
    {"too_many_limits", "limits", "fail", "limits() returns 13; there is room for 12"},
    {"parameter_unit", "table", "fail", "'Ohms per square' is not a unit"},
    {"terminal_negative", "terminal", "fail", "shows a resistance of -"},
    {"negative_esr", "impedance", "fail", "must not be negative"},
    {"impedances_differ", "impedance", "fail", "impedances() gives"},
    {"impedances_overrun", "own memory", "fail", "impedances() writes"},
    {"crashes_on_loading", "table", "crash", "killed by signal 6 (Aborted) in loading"},
    {"open_books", "books", "fail", "the books do not close"},
    {"forgets_extra_loss", "books", "fail", "the books do not close"},
    {"stage_nan", "books", "fail", "total_peak of the stress in slot 'resistor' is"},
    {"lost_weight", "books", "fail", "sum to 0.99; 1 is wanted"},
    {"heats_no_slot", "books", "fail", "sends heat to no slot of it"},
    {"quantity_unit", "books", "fail", "'amps' is not a unit"},
    {"stage_crashing", "books", "crash", "killed by signal 6 (Aborted) in solve()"},
    {"nan_outside", "outside", "fail", "output current is nan"},
    {"silent_stage", "reasons", "fail", "without a reason"},
    {"reason_without_number", "reasons", "fail", "'it does not work', which has no number in it"},
    {"scratch_overrun", "scratch", "fail", "writes outside a scratch of"},
    {"scratch_too_small", "reasons", "fail", "runs out of scratch"},
    {"memory_matters", "warm start", "fail", "from the memory of a neighbour"},
    {"memory_overrun", "own memory", "fail", "outside its warm-start memory of 8 bytes"},
    {"past_an_older_output", "own memory", "fail", "solve() writes to byte"},
    {"asks_a_nearer_member", "own memory", "fail", "solve() writes to byte"},
    {"reads_past_an_older_input", "own memory", "fail", "another answer to a host with shorter structures"},
    {"past_an_older_terminal", "own memory", "fail", "present() writes to byte"},
    {"stage_allocating", "allocation", "fail", "hot functions allocate nothing"},
};
enum { FAULTS = sizeof faults / sizeof *faults };

START_TEST(a_plugin_that_keeps_the_rules_passes)
{
    findings_expect_pass(HL_TEST_BUILD "/tests/faults/sound_switch.so");
    findings_expect_pass(HL_TEST_BUILD "/tests/faults/sound_capacitor.so");
    findings_expect_pass(HL_TEST_BUILD "/tests/faults/sound_stage.so");
}
END_TEST

static void expect_finding(const json_t *top, const fault *f)
{
    const json_t *finding = finding_named(top, f->check);
    ck_assert_msg(finding != NULL, "%s: check '%s' did not run", f->plugin, f->check);
    const char *verdict = finding_text(finding, "verdict"), *detail = finding_text(finding, "detail");
    if (!strcmp(verdict, f->verdict) && strstr(detail, f->words)) return;
    findings_complain(top, f->plugin);
    ck_abort_msg("%s: check '%s' says %s: %s; wanted is %s: %s", f->plugin, f->check, verdict, detail,
                 f->verdict, f->words);
}

/* Lines of the same plugin follow each other: it is tried once for all of them, with the first. */
START_TEST(a_fault_is_found_and_named)
{
    const fault *f = &faults[_i], *end = faults + FAULTS;
    if (f > faults && !strcmp(f[-1].plugin, f->plugin)) return;
    char path[1024];
    snprintf(path, sizeof path, "%s/tests/faults/%s.so", HL_TEST_BUILD, f->plugin);
    json_t *top = findings_of(path, "1");
    ck_assert_msg(!json_is_true(json_object_get(top, "passed")), "%s passes", f->plugin);
    for (const char *plugin = f->plugin; f < end && !strcmp(f->plugin, plugin); f++) expect_finding(top, f);
    json_decref(top);
}
END_TEST

/* A failure must be repeatable by hand: the inputs are told in words with units. */
START_TEST(a_finding_tells_the_inputs_in_words)
{
    json_t *top = findings_of(HL_TEST_BUILD "/tests/faults/negative_loss.so", "1");
    const char *inputs = finding_text(finding_named(top, "losses"), "inputs");
    ck_assert_msg(strstr(inputs, "on_resistance ") && strstr(inputs, "ohm") && strstr(inputs, "degC") &&
                      strstr(inputs, "current_off ") && strstr(inputs, "cycle"),
                  "%s", inputs);
    json_decref(top);
}
END_TEST

START_TEST(the_same_seed_gives_the_same_findings)
{
    const char *const arguments[] = {"prove", "--seed", "7",
                                     HL_TEST_BUILD "/tests/faults/slope_lacks_a_term.so", NULL};
    command_output one = command_run(arguments), two = command_run(arguments);
    /* the number of rounds two threads manage is the machine's */
    char *threads_one = strstr(one.out, "threads"), *threads_two = strstr(two.out, "threads");
    ck_assert(threads_one && threads_two);
    *threads_one = *threads_two = 0;
    ck_assert_str_eq(one.out, two.out);
    ck_assert_int_eq(one.code, 1);
    command_free(&one);
    command_free(&two);
}
END_TEST

/* Of the loads of a part there are always twelve. */
START_TEST(as_many_draws_are_made_as_asked_for)
{
    const char *path = HL_TEST_BUILD "/tests/faults/sound_switch.so";
    const struct {
        const char *times, *words;
    } cases[] = {{"0.1", "72 points of 6 parts"}, {"1", "720 points of 60 parts"}, {"2.5", "of 150 parts"}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        json_t *top = findings_of(path, cases[i].times);
        const char *detail = finding_text(finding_named(top, "losses"), "detail");
        ck_assert_msg(strstr(detail, cases[i].words), "--times %s: %s", cases[i].times, detail);
        json_decref(top);
    }
}
END_TEST

START_TEST(wrong_use_is_explained)
{
    const struct {
        const char *arguments[5], *words;
    } cases[] = {
        {{"prove", NULL}, "one plugin file is wanted"},
        {{"prove", "--seed", "x", "a.so", NULL}, "a whole number is wanted"},
        {{"prove", "--times", "0.01", "a.so", NULL}, "--times 0.01: a number from 0.1 to 100 is wanted"},
        {{"prove", "--times", "2x", "a.so", NULL}, "--times 2x: a number from 0.1 to 100 is wanted"},
        {{"prove", "--times", "nan", "a.so", NULL}, "--times nan: a number from 0.1 to 100 is wanted"},
        {{"prove", "/nowhere/at/all.so", NULL}, "No such file"},
        {{"prove", "--model", "no_such", HL_TEST_BUILD "/tests/faults/sound_switch.so", NULL},
         "no model 'no_such' in it; it has plain_switch"},
        {{"prove", HL_TEST_BUILD "/tests/bad/no_table.so", NULL}, "no symbol 'hl_plugin_table'"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        command_output output = command_run(cases[i].arguments);
        char all[8192];
        size_t used = 0;
        for (const char *c = output.out; *c && used < sizeof all - 1; c++) /* lines are wrapped */
            if (*c != '\n' && (*c != ' ' || (used && all[used - 1] != ' ')))
                all[used++] = *c;
            else if (used && all[used - 1] != ' ')
                all[used++] = ' ';
        all[used] = 0;
        ck_assert_int_eq(output.code, 1);
        ck_assert_msg(strstr(all, cases[i].words) || strstr(output.error, cases[i].words), "case %zu: %s%s",
                      i, output.out, output.error);
        command_free(&output);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_plugin_that_keeps_the_rules_passes);
    tcase_add_loop_test(tests, a_fault_is_found_and_named, 0, FAULTS);
    tcase_add_test(tests, a_finding_tells_the_inputs_in_words);
    tcase_add_test(tests, the_same_seed_gives_the_same_findings);
    tcase_add_test(tests, as_many_draws_are_made_as_asked_for);
    tcase_add_test(tests, wrong_use_is_explained);
}

int main(void)
{
    return story_main("prove faults", fill);
}
