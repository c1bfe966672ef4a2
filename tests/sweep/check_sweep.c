/* check_sweep.c - a sweep's store is the same whatever happens to it: any number of workers, shards, killed
 * at any moment, a full disk.  HEATLEDGER_LONG=1: five hundred kills instead of fifteen. */
#include <fcntl.h>
#include <jansson.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "command_json.h"
#include "lottery.h"
#include "scratch_folder.h"
#include "story.h"

static const char *plan(const char *name)
{
    static char path[4][512];
    static int next;
    next = (next + 1) % 4;
    snprintf(path[next], sizeof path[next], "%s/sweep/%s.lua", HL_TEST_SOURCE, name);
    return path[next];
}

static const char *store(const char *name)
{
    char file[64];
    snprintf(file, sizeof file, "%s.store", name);
    return scratch_file(file);
}

/* Run to the end; the rows as comma-separated values.  The caller frees. */
static char *rows_of(const char *script, const char *path, const char *workers, const char *shard)
{
    const char *arguments[] = {"sweep", script,  "--store", path,  "--workers",
                               workers, "--csv", "--shard", shard, NULL};
    command_output out = command_run(arguments);
    ck_assert_msg(out.code == 0, "exit %d: %s", out.code, out.error);
    free(out.error);
    return out.out;
}

static int run_quietly(const char *const arguments[], const char *said)
{
    command_output out = command_run(arguments);
    int code = out.code;
    ck_assert_msg(!said || strstr(out.error, said), "not '%s' but: %s", said, out.error);
    command_free(&out);
    return code;
}

/* ---------------------------------------------------------------- workers -- */

static void same_for_any_workers(const char *script)
{
    scratch_folder_make();
    char *one = rows_of(script, store("one"), "1", "1/1");
    static const char *const workers[] = {"2", "7"};
    for (size_t i = 0; i < 2; i++) {
        char *other = rows_of(script, store(workers[i]), workers[i], "1/1");
        ck_assert_msg(!strcmp(one, other), "%s workers gave other rows", workers[i]);
        free(other);
    }
    ck_assert_uint_gt(strlen(one), 500);
    free(one);
    scratch_folder_remove();
}

START_TEST(any_number_of_workers_gives_the_same_bits)
{
    static const char *const plans[] = {"plan", "long_plan", "pareto_plan", "best_plan"};
    for (size_t i = 0; i < 4; i++) same_for_any_workers(plan(plans[i]));
}
END_TEST

/* ----------------------------------------------------------------- shards -- */

static void same_from_shards(const char *name)
{
    scratch_folder_make();
    const char *script = plan(name);
    char *whole = rows_of(script, store("whole"), "2", "1/1");
    free(rows_of(script, store("s1"), "1", "1/3"));
    free(rows_of(script, store("s2"), "2", "2/3"));
    const char *early[] = {"merge", "--store", store("early"), store("s2"), store("s1"), NULL};
    ck_assert_int_eq(run_quietly(early, "missing"), 1);
    free(rows_of(script, store("s3"), "2", "3/3"));
    const char *twice[] = {"merge", "--store", store("twice"), store("s2"), store("s1"), store("s2"), NULL};
    ck_assert_int_eq(run_quietly(twice, "once"), 1);
    const char *merge[] = {"merge",     "--csv",     "--store",   store("joined"),
                           store("s3"), store("s1"), store("s2"), NULL};
    command_output joined = command_run(merge);
    ck_assert_msg(joined.code == 0, "%s", joined.error);
    ck_assert_msg(!strcmp(joined.out, whole), "%s: joined shards differ from the whole", name);
    command_free(&joined);
    free(whole);
    scratch_folder_remove();
}

/* As it is mostly run: from the folder of the plan, by its bare name. */
START_TEST(a_plan_named_from_its_own_folder_is_the_same)
{
    static const char *const names[] = {"plan.lua", "./plan.lua"};
    scratch_folder_make();
    char *afar = rows_of(plan("plan"), store("afar"), "2", "1/1");
    ck_assert_int_eq(chdir(HL_TEST_SOURCE "/sweep"), 0);
    for (size_t k = 0; k < 2; k++) {
        char *near = rows_of(names[k], store(k ? "dotted" : "bare"), "2", "1/1");
        ck_assert_str_eq(near, afar);
        free(near);
    }
    free(afar);
    scratch_folder_remove();
}
END_TEST

START_TEST(joined_shards_are_the_whole)
{
    same_from_shards("plan");
    same_from_shards("pareto_plan");
    same_from_shards("best_plan");
}
END_TEST

START_TEST(an_incomplete_join_can_be_finished)
{
    scratch_folder_make();
    char *whole = rows_of(plan("plan"), store("whole"), "2", "1/1");
    free(rows_of(plan("plan"), store("s1"), "1", "1/3"));
    free(rows_of(plan("plan"), store("s3"), "1", "3/3"));
    const char *merge[] = {"merge", "--incomplete", "--store", store("part"), store("s3"), store("s1"), NULL};
    ck_assert_int_eq(run_quietly(merge, NULL), 0);
    char *rest = rows_of(plan("plan"), store("part"), "2", "1/1");
    ck_assert_str_eq(rest, whole);
    free(rest);
    free(whole);
    scratch_folder_remove();
}
END_TEST

START_TEST(stores_of_another_plan_or_shard_are_refused)
{
    scratch_folder_make();
    free(rows_of(plan("plan"), store("a"), "1", "1/4"));
    free(rows_of(plan("long_plan"), store("b"), "2", "4/4"));
    const char *merge[] = {"merge", "--store", store("joined"), store("a"), store("b"), NULL};
    ck_assert_int_eq(run_quietly(merge, "only stores of one plan"), 1);
    const char *other_plan[] = {"sweep", plan("long_plan"), "--store", store("a"), NULL};
    ck_assert_int_eq(run_quietly(other_plan, "another plan"), 1);
    const char *other_setting[] = {"sweep", plan("plan"), "--store",           store("a"), "--shard",
                                   "1/4",   "--set",      "out.current=3.9 A", NULL};
    ck_assert_int_eq(run_quietly(other_setting, "another plan"), 1);
    const char *other_shard[] = {"sweep", plan("plan"), "--store", store("a"), "--shard", "2/4", NULL};
    ck_assert_int_eq(run_quietly(other_shard, "--shard"), 1);
    const char *no_store[] = {"sweep", plan("plan"), "--store", plan("plan"), NULL};
    ck_assert_int_eq(run_quietly(no_store, "no store"), 1);
    scratch_folder_remove();
}
END_TEST

/* ------------------------------------------------------------------- kill -- */

static pid_t start(const char *script, const char *path, rlim_t largest_file)
{
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child) return child;
    int nowhere = open("/dev/null", O_WRONLY);
    dup2(nowhere, STDOUT_FILENO);
    dup2(nowhere, STDERR_FILENO);
    if (largest_file) setrlimit(RLIMIT_FSIZE, &(struct rlimit){largest_file, largest_file});
    execl(HL_TEST_BUILD "/bin/heatledger", "heatledger", "sweep", script, "--store", path, "--workers", "2",
          "--quiet", (char *)NULL);
    _exit(127);
}

START_TEST(a_killed_sweep_goes_on_and_loses_and_repeats_nothing)
{
    scratch_folder_make();
    lottery luck = lottery_open("killed sweep");
    const char *script = plan("long_plan"), *path = store("killed");
    char *whole = rows_of(script, store("whole"), "2", "1/1");
    int wanted = getenv("HEATLEDGER_LONG") ? 500 : 15, struck = 0, finished = 0;
    for (int i = 0; i < 20 * wanted && struck < wanted; i++) {
        pid_t child = start(script, path, 0);
        double seconds = lottery_between(&luck, 0.0, 1.0) * 0.6;
        nanosleep(&(struct timespec){0, (long)(1e9 * seconds)}, NULL);
        kill(child, SIGKILL);
        int status;
        ck_assert_int_eq(waitpid(child, &status, 0), child);
        if (WIFSIGNALED(status)) {
            struck++;
            continue;
        }
        ck_assert_int_eq(WEXITSTATUS(status), 0); /* it was through before: compare, and begin anew */
        char *rows = rows_of(script, path, "2", "1/1");
        ck_assert_str_eq(rows, whole);
        free(rows);
        finished++;
        unlink(path);
    }
    ck_assert_int_eq(struck, wanted);
    char *rows = rows_of(script, path, "2", "1/1");
    ck_assert_str_eq(rows, whole);
    fprintf(stderr, "killed %d times, finished %d times between\n", struck, finished);
    free(rows);
    free(whole);
    scratch_folder_remove();
}
END_TEST

START_TEST(asked_to_stop_it_finishes_the_points_in_hand)
{
    scratch_folder_make();
    const char *script = plan("long_plan"), *path = store("stopped");
    pid_t child = start(script, path, 0);
    struct stat seen;
    for (int i = 0; i < 2000 && (stat(path, &seen) != 0 || seen.st_size < 20000); i++)
        nanosleep(&(struct timespec){0, 1000000}, NULL);
    kill(child, SIGINT);
    int status;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status));
    ck_assert_msg(WEXITSTATUS(status) == 130 || WEXITSTATUS(status) == 0, "exit %d", WEXITSTATUS(status));
    char *whole = rows_of(script, store("whole"), "2", "1/1"), *rows = rows_of(script, path, "2", "1/1");
    ck_assert_str_eq(rows, whole);
    free(rows);
    free(whole);
    scratch_folder_remove();
}
END_TEST

START_TEST(a_full_disk_is_a_clear_error_and_no_loss)
{
    scratch_folder_make();
    const char *script = plan("long_plan"), *path = store("full");
    char *whole = rows_of(script, store("whole"), "2", "1/1");
    static const rlim_t sizes[] = {4096, 60000, 200000, 500000};
    for (size_t i = 0; i < 4; i++) {
        int status;
        pid_t child = start(script, path, sizes[i]);
        ck_assert_int_eq(waitpid(child, &status, 0), child);
        ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 1, "file limit %lu: status %x",
                      (unsigned long)sizes[i], (unsigned)status);
    }
    char *rows = rows_of(script, path, "2", "1/1");
    ck_assert_str_eq(rows, whole);
    free(rows);
    free(whole);
    scratch_folder_remove();
}
END_TEST

/* ------------------------------------------------------------------- best -- */

/* brute_force.lua describes each choice as an adapter of its own, without alternatives and without a sweep.
 */
START_TEST(the_best_choice_is_the_one_brute_force_finds)
{
    scratch_folder_make();
    const char *brute[] = {"solve", plan("brute_force"), NULL};
    const char *sweep[] = {"sweep", plan("best_plan"), "--store", store("best"), "--json", NULL};
    command_output by_hand = command_run(brute);
    json_t *root = command_json(sweep), *row;
    size_t i, n = 0;
    json_array_foreach(json_object_get(root, "rows"), i, row)
    {
        char line[256];
        snprintf(line, sizeof line, "best %s %s %s %g ",
                 json_string_value(json_object_get(row, "buck.high_switch")),
                 json_string_value(json_object_get(row, "buck.low_switch")),
                 json_string_value(json_object_get(row, "buck.inductor")),
                 json_number_value(json_object_get(row, "load")));
        const char *same = strstr(by_hand.out, line);
        ck_assert_msg(same != NULL, "the sweep's '%s' is not among\n%s", line, by_hand.out);
        /* another design begins from another point: equal to the tolerance of solving, 1e-9, not to the bit
         */
        ck_near(json_number_value(json_object_get(row, "efficiency")), strtod(same + strlen(line), NULL),
                1e-9, 0);
        n++;
    }
    ck_assert_uint_eq(n, 3);
    json_decref(root);
    command_free(&by_hand);
    scratch_folder_remove();
}
END_TEST

START_TEST(a_swap_says_what_it_breaks)
{
    char parts[512];
    snprintf(parts, sizeof parts, "%s/sweep/parts.yaml", HL_TEST_SOURCE);
    const char *arguments[] = {"swap",   plan("module"), "--parts",          parts, "--json", "--by",
                               "loss_w", "--slot",       "buck.high_switch", NULL};
    json_t *root = command_json(arguments), *swaps = json_object_get(root, "swaps");
    ck_assert_uint_eq(json_array_size(swaps), 3);
    json_t *first = json_array_get(swaps, 0), *last = json_array_get(swaps, 2);
    ck_assert_str_eq(json_string_value(json_object_get(first, "part")), "switch_c");
    ck_assert_str_eq(json_string_value(json_object_get(last, "part")), "switch_weak");
    const char *fault = json_string_value(json_array_get(json_object_get(last, "breaks"), 0));
    ck_assert_msg(fault && strstr(fault, "drain voltage"), "%s", fault ? fault : "nothing");
    json_decref(root);
}
END_TEST

static json_t *swap_in(const char *place, const char *set, const char *by)
{
    char parts[512];
    snprintf(parts, sizeof parts, "%s/sweep/parts.yaml", HL_TEST_SOURCE);
    return command_json((const char *const[]){"swap", plan("module"), "--parts", parts, "--json", "--by", by,
                                              "--slot", place, "--set", set, NULL});
}

/* Where a part stands among the swaps, from 0. */
static size_t place_of(const json_t *root, const char *part)
{
    const json_t *swaps = json_object_get(root, "swaps");
    size_t at = 0;
    while (at < json_array_size(swaps) &&
           strcmp(json_string_value(json_object_get(json_array_get(swaps, at), "part")), part) != 0)
        at++;
    ck_assert_msg(at < json_array_size(swaps), "no swap with %s", part);
    return at;
}

static const json_t *swap_at(const json_t *root, size_t at)
{
    return json_array_get(json_object_get(root, "swaps"), at);
}

static const char *first_of(const json_t *row, const char *list)
{
    const char *text = json_string_value(json_array_get(json_object_get(row, list), 0));
    return text ? text : "";
}

/* A limit that is broken as the module stands, the drain of its upper switch, is no fault of another coil. */
START_TEST(what_was_broken_before_is_no_fault_of_a_swap)
{
    json_t *root = swap_in("buck.inductor", "buck.high_switch.rated_voltage=22 V", "loss_w");
    ck_assert_ptr_nonnull(strstr(first_of(root, "broken"), "buck.high_switch: drain voltage at 1"));
    ck_assert_uint_gt(json_array_size(json_object_get(root, "swaps")), 0);
    for (size_t k = 0; k < json_array_size(json_object_get(root, "swaps")); k++) {
        ck_assert_str_eq(first_of(swap_at(root, k), "breaks"), "");
        ck_assert_str_eq(first_of(swap_at(root, k), "worsens"), "");
    }
    json_decref(root);
}
END_TEST

/* One that becomes worse stands apart, with what it was: in hot air a part that loses more heats a switch
 * that is too hot already. */
START_TEST(what_a_swap_makes_worse_stands_apart)
{
    json_t *root = swap_in("buck.low_switch", "ambient.temperature=105 degC", "loss_w");
    ck_assert_ptr_nonnull(strstr(first_of(root, "broken"), "buck.high_switch: temperature at"));
    const json_t *row = swap_at(root, place_of(root, "switch_b"));
    const char *worse = first_of(row, "worsens");
    ck_assert_msg(strstr(worse, "buck.high_switch: temperature at") && strstr(worse, " %, was "), "%s",
                  worse);
    ck_assert_str_eq(first_of(row, "breaks"), "");
    json_decref(root);
}
END_TEST

/* The weak switch conducts best, yet stands behind all that hold the voltage, though they too move a limit
 * that is broken elsewhere. */
START_TEST(a_swap_that_breaks_a_limit_comes_after_all_others)
{
    static const char *const by[] = {"buck.high_switch.conduction_w", "loss_w", "efficiency",
                                     "case_hottest_c"};
    for (size_t k = 0; k < sizeof by / sizeof *by; k++) {
        json_t *root = swap_in("buck.high_switch", "buck.low_switch.rated_voltage=22 V", by[k]);
        ck_assert_str_ne(first_of(root, "broken"), "");
        size_t last = json_array_size(json_object_get(root, "swaps")) - 1;
        ck_assert_msg(place_of(root, "switch_weak") == last, "by %s", by[k]);
        ck_assert_ptr_nonnull(strstr(first_of(swap_at(root, last), "breaks"), "drain voltage at 1"));
        ck_assert_str_ne(first_of(swap_at(root, place_of(root, "switch_c")), "worsens"), "");
        json_decref(root);
    }
}
END_TEST

/* In air hotter than a face may be no share of its limit is left: that is no share of nothing. */
START_TEST(a_limit_without_any_room_is_not_shown_as_unused)
{
    char parts[512];
    snprintf(parts, sizeof parts, "%s/sweep/parts.yaml", HL_TEST_SOURCE);
    command_output out =
        command_run((const char *const[]){"swap", plan("module"), "--parts", parts, "--slot", "buck.inductor",
                                          "--set", "ambient.temperature=100 degC", NULL});
    ck_assert_msg(out.code == 0, "%s", out.error);
    ck_assert_msg(strstr(out.out, ", used inf %\n") && !strstr(out.out, "nan"), "%s", out.out);
    command_free(&out);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, any_number_of_workers_gives_the_same_bits);
    tcase_add_test(tests, a_plan_named_from_its_own_folder_is_the_same);
    tcase_add_test(tests, joined_shards_are_the_whole);
    tcase_add_test(tests, an_incomplete_join_can_be_finished);
    tcase_add_test(tests, stores_of_another_plan_or_shard_are_refused);
    tcase_add_test(tests, a_killed_sweep_goes_on_and_loses_and_repeats_nothing);
    tcase_add_test(tests, asked_to_stop_it_finishes_the_points_in_hand);
    tcase_add_test(tests, a_full_disk_is_a_clear_error_and_no_loss);
    tcase_add_test(tests, the_best_choice_is_the_one_brute_force_finds);
    tcase_add_test(tests, a_swap_says_what_it_breaks);
    tcase_add_test(tests, what_was_broken_before_is_no_fault_of_a_swap);
    tcase_add_test(tests, what_a_swap_makes_worse_stands_apart);
    tcase_add_test(tests, a_swap_that_breaks_a_limit_comes_after_all_others);
    tcase_add_test(tests, a_limit_without_any_room_is_not_shown_as_unused);
}

int main(void)
{
    return story_main("sweep", fill);
}
