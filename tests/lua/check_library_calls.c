/* check_library_calls.c - calls of the library in the sandbox that scripts run in: wrong ones are told so,
 * the statistics agree with closed forms.  Each script checks itself and returns an adapter when all is well.
 */
#include "command_run.h"
#include "story.h"

static void run(const char *script)
{
    const char *arguments[] = {"solve", script, "--quiet", NULL};
    command_output said = command_run(arguments);
    ck_assert_msg(said.code == 0, "%s", said.error);
    command_free(&said);
}

START_TEST(every_wrong_call_is_told)
{
    run(HL_TEST_SOURCE "/lua/misuse.lua");
}
END_TEST

START_TEST(statistics_agree_with_closed_forms)
{
    run(HL_TEST_SOURCE "/lua/statistics.lua");
}
END_TEST

START_TEST(a_script_takes_the_circuit_of_another)
{
    run(HL_TEST_SOURCE "/lua/borrow.lua");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_wrong_call_is_told);
    tcase_add_test(tests, statistics_agree_with_closed_forms);
    tcase_add_test(tests, a_script_takes_the_circuit_of_another);
}

int main(void)
{
    return story_main("library calls", fill);
}
