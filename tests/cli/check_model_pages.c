/* check_model_pages.c - docs/models is made by the command, never by hand: made again, it must be the same.
 */
#include <dirent.h>
#include <jansson.h>
#include <stdbool.h>
#include <string.h>

#include "command_json.h"
#include "story.h"

#define MADE HL_TEST_BUILD "/model_pages"

static void shell(const char *const arguments[])
{
    command_output output = program_run("/usr/bin/env", arguments);
    ck_assert_msg(output.code == 0, "%s %s: exit %d\n%s%s", arguments[0], arguments[1], output.code,
                  output.out, output.error);
    command_free(&output);
}

START_TEST(the_pages_are_those_the_command_makes)
{
    shell((const char *const[]){"rm", "-rf", MADE, NULL});
    shell((const char *const[]){"mkdir", MADE, NULL});
    command_output output = command_run((const char *const[]){"models", "--markdown", MADE, NULL});
    ck_assert_msg(output.code == 0, "exit %d\n%s", output.code, output.error);
    command_free(&output);
    output = program_run("/usr/bin/env",
                         (const char *const[]){"diff", "-ru", HL_PROJECT_SOURCE "/docs/models", MADE, NULL});
    ck_assert_msg(output.code == 0, "make them again: heatledger models --markdown docs/models\n%.4000s",
                  output.out);
    command_free(&output);
}
END_TEST

START_TEST(every_model_has_a_page_with_its_mechanisms_or_quantities)
{
    DIR *folder = opendir(HL_PROJECT_SOURCE "/docs/models");
    ck_assert_ptr_nonnull(folder);
    int pages = 0;
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        static char text[1 << 16];
        char path[600];
        if (!strstr(entry->d_name, ".md") || !strcmp(entry->d_name, "index.md")) continue;
        snprintf(path, sizeof path, "%s/docs/models/%s", HL_PROJECT_SOURCE, entry->d_name);
        FILE *file = fopen(path, "r");
        ck_assert_ptr_nonnull(file);
        text[fread(text, 1, sizeof text - 1, file)] = '\0';
        fclose(file);
        bool device = strstr(text, "A device of the family") != NULL;
        ck_assert_msg(strstr(text, device ? "## Mechanisms it books" : "## Quantities") != NULL, "%s", path);
        ck_assert_msg(strstr(text, "## Parameters") && strstr(text, "Equations from: "), "%s", path);
        ck_assert_msg(!strstr(text, "books\nNone."), "%s books nothing", path);
        pages++;
    }
    closedir(folder);
    ck_assert_msg(pages >= 35, "only %d pages", pages);
}
END_TEST

START_TEST(json_tells_the_same_tables)
{
    json_t *root = command_json((const char *const[]){"models", "--json", NULL});
    ck_assert_str_eq(json_string_value(json_object_get(root, "schema")), "heatledger.models/1");
    size_t i, k;
    json_t *model, *parameter;
    json_array_foreach(json_object_get(root, "models"), i, model)
        json_array_foreach(json_object_get(model, "parameters"), k, parameter)
            ck_assert(json_object_get(parameter, "meaning") && json_object_get(parameter, "found_in"));
    ck_assert_uint_ge(i, 35);
    json_decref(root);
}
END_TEST

START_TEST(a_folder_that_is_not_there_is_told)
{
    command_output output =
        command_run((const char *const[]){"models", "--markdown", "/nowhere/at/all", NULL});
    ck_assert_int_eq(output.code, 1);
    ck_assert_msg(strstr(output.error, "/nowhere/at/all/index.md: cannot be written: No such file"), "%s",
                  output.error);
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_pages_are_those_the_command_makes);
    tcase_add_test(tests, every_model_has_a_page_with_its_mechanisms_or_quantities);
    tcase_add_test(tests, json_tells_the_same_tables);
    tcase_add_test(tests, a_folder_that_is_not_there_is_told);
}

int main(void)
{
    return story_main("model pages", fill);
}
