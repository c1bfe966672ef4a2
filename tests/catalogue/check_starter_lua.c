/* check_starter_lua.c - hl.catalogue and hl.matching, from the script beside this file. */
#include <string.h>

#include "command_run.h"
#include "story.h"

START_TEST(a_script_walks_narrows_and_uses_the_catalogue)
{
    command_output output =
        command_run((const char *const[]){"solve", HL_TEST_SOURCE "/catalogue/starter.lua", NULL});
    ck_assert_msg(output.code == 0, "exit %d\n%s", output.code, output.error);
    /* 2 A through 10 mohm: 0.04 W */
    ck_assert_msg(strstr(output.out, "conduction 0.040") != NULL, "%s", output.out);
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_script_walks_narrows_and_uses_the_catalogue);
}

int main(void)
{
    return story_main("starter catalogue in scripts", fill);
}
