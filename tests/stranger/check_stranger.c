/* check_stranger.c - a plugin built outside the tree against the installed package is loaded by the
 * installed command and used by name in a part file, without anything of the build tree. */
#include <string.h>

#include "command_run.h"
#include "story.h"

static void run(const char *what, const char *const arguments[], const char *expected)
{
    command_output output = program_run("/usr/bin/env", arguments);
    ck_assert_msg(output.code == 0, "%s: exit %d\n%s\n%s", what, output.code, output.out, output.error);
    ck_assert_msg(!expected || strstr(output.out, expected), "%s: '%s' is not in:\n%s", what, expected,
                  output.out);
    command_free(&output);
}

#define ROOT HL_TEST_BUILD "/stranger"

START_TEST(a_plugin_from_outside_is_built_loaded_and_used)
{
    run("clean", (const char *const[]){"rm", "-rf", ROOT, NULL}, NULL);
    run("install", (const char *const[]){"cmake", "--install", HL_TEST_BUILD, "--prefix", ROOT "/usr", NULL}, NULL);
    run("configure",
        (const char *const[]){"cmake", "-S", HL_PROJECT_SOURCE "/examples/plugin_device", "-B", ROOT "/build",
                              "-DCMAKE_PREFIX_PATH=" ROOT "/usr", "-DCMAKE_C_FLAGS=" HL_TEST_FLAGS, NULL},
        NULL);
    run("build", (const char *const[]){"cmake", "--build", ROOT "/build", NULL}, NULL);
    run("describe",
        (const char *const[]){ROOT "/usr/bin/heatledger", "models", "ferrite_bead", "--plugins",
                              ROOT "/build/ferrite_bead.so", NULL},
        "dc resistance at 20 degC");
    /* 2 A through 50 mohm at 25 degC: 4 x 0.05 x (1 + 0.00393 x 5) = 0.204 W (the plugin's own equation). */
    run("solve",
        (const char *const[]){ROOT "/usr/bin/heatledger", "solve",
                              HL_PROJECT_SOURCE "/examples/plugin_device/bead.lua", "--plugins",
                              ROOT "/build/ferrite_bead.so", NULL},
        "conduction 0.204");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_plugin_from_outside_is_built_loaded_and_used);
}

int main(void)
{
    return story_main("stranger", fill);
}
