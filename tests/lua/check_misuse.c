/* check_misuse.c - every call of the library that is wrong is told so, in the sandbox that scripts run in. */
#include "command_run.h"
#include "story.h"

START_TEST(every_wrong_call_is_told)
{
    const char *arguments[] = {"solve", HL_TEST_SOURCE "/lua/misuse.lua", "--quiet", NULL};
    command_output said = command_run(arguments);
    ck_assert_msg(said.code == 0, "%s", said.error);
    command_free(&said);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_wrong_call_is_told);
}

int main(void)
{
    return story_main("misuse", fill);
}
