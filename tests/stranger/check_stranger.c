/* check_stranger.c - somebody who has only the installed package follows the tutorials word by word in an
 * empty folder, and ends with the examples. */
#include <string.h>

#include "command_run.h"
#include "story.h"
#include "tutorial_run.h"

#define ROOT HL_TEST_BUILD "/stranger"

/* Where the package lies, as its user would tell the shell; the flags are those of a build for sanitizers. */
#define SHELL                                                                                                \
    "export PATH=" ROOT "/usr/bin:$PATH CMAKE_PREFIX_PATH=" ROOT "/usr CFLAGS='" HL_TEST_FLAGS "'\n"         \
    "export PKG_CONFIG_PATH=$(dirname $(find " ROOT "/usr -name heatledger.pc))\n"

static void run(const char *what, const char *script, const char *expected)
{
    command_output output = program_run("/bin/sh", (const char *const[]){"-e", "-c", script, NULL});
    ck_assert_msg(output.code == 0, "%s: exit %d\n%s\n%s", what, output.code, output.out, output.error);
    ck_assert_msg(!expected || strstr(output.out, expected), "%s: '%s' is not in:\n%s", what, expected,
                  output.out);
    command_free(&output);
}

static void install(void)
{
    run("install", "rm -rf " ROOT " && cmake --install " HL_TEST_BUILD " --prefix " ROOT "/usr", NULL);
}

/* Lines that hold something. */
static size_t lines_of(const char *path)
{
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "cannot open %s", path);
    size_t n = 0;
    for (int c; (c = fgetc(file)) != EOF;) n += c == '\n';
    fclose(file);
    return n;
}

static void follow(const char *name, const char *example, const char *source)
{
    char page[600], folder[600], compare[2000];
    snprintf(page, sizeof page, "%s/docs/tutorial-%s.md", HL_PROJECT_SOURCE, name);
    snprintf(folder, sizeof folder, "%s/%s", ROOT, name);
    tutorial_count count = tutorial_run(page, folder, SHELL);
    ck_assert_uint_eq(count.files, 4);
    ck_assert_uint_ge(count.commands, 3);
    ck_assert_uint_ge(count.expected, 5);
    snprintf(compare, sizeof compare, "for f in %s/examples/%s/*; do diff -u \"$f\" %s/; done",
             HL_PROJECT_SOURCE, example, folder);
    run("the example is what the page ends in", compare, NULL);
    snprintf(compare, sizeof compare, "%s/%s", folder, source);
    ck_assert_uint_lt(lines_of(compare), 120);
}

START_TEST(the_device_tutorial_works_word_by_word)
{
    follow("device", "plugin_device", "ferrite_bead.c");
}
END_TEST

START_TEST(the_stage_tutorial_works_word_by_word)
{
    follow("stage", "plugin_stage", "linear_regulator.c");
}
END_TEST

/* The package may be moved after it was installed: nothing in it names the place. */
START_TEST(package_files_point_to_where_they_lie)
{
    run("pkg-config",
        SHELL "pkg-config --cflags --libs heatledger | tr ' ' '\\n' | sed -n 's/^-[IL]//p' | "
              "while read -r d; do test -d \"$d\"; case $(realpath \"$d\") in " ROOT
              "/usr/*) echo here;; esac; done",
        "here\nhere\n");
    run("plugin folder", SHELL "ls \"$(pkg-config --variable=plugindir heatledger)\"", "gan_transistor.so");
    run("version", SHELL "pkg-config --exact-version=0.1.0 heatledger && echo same", "same");
    run("moved",
        "rm -rf " ROOT "/moved && cp -a " ROOT "/usr " ROOT "/moved && mkdir " ROOT "/moved/try && "
        "cd " ROOT "/moved/try && cp " HL_PROJECT_SOURCE "/examples/plugin_device/* . && "
        "CFLAGS='" HL_TEST_FLAGS "' cmake -S . -B build -DCMAKE_PREFIX_PATH=" ROOT
        "/moved >log && cmake --build build >>log && " ROOT
        "/moved/bin/heatledger solve bead.lua --plugins build/ferrite_bead.so",
        "conduction 0.204");
    run("the config tells where plugins lie",
        "mkdir -p " ROOT "/where && cd " ROOT "/where && printf 'cmake_minimum_required(VERSION 3.25)\\n"
        "project(where LANGUAGES C)\\nfind_package(heatledger 0.1 REQUIRED)\\n"
        "message(STATUS \"plugins in ${HEATLEDGER_PLUGIN_FOLDER}\")\\n' >CMakeLists.txt && "
        "cmake -S . -B build -DCMAKE_PREFIX_PATH=" ROOT "/usr",
        "plugins in " ROOT "/usr/lib");
}
END_TEST

/* What is installed suffices for a script that uses the starter catalogue. */
START_TEST(the_catalogue_is_installed_too)
{
    run("parts", SHELL "heatledger parts gan_650v_150m_a", "150 mohm");
    run("script", SHELL "heatledger solve " HL_TEST_SOURCE "/catalogue/starter.lua", "conduction 0.040");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, install, NULL);
    tcase_add_test(tests, the_device_tutorial_works_word_by_word);
    tcase_add_test(tests, the_stage_tutorial_works_word_by_word);
    tcase_add_test(tests, package_files_point_to_where_they_lie);
    tcase_add_test(tests, the_catalogue_is_installed_too);
}

int main(void)
{
    return story_main("stranger", fill);
}
