/* check_materials.c - the manual's list of materials is the library's own table. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command_run.h"
#include "scratch_folder.h"
#include "story.h"

#define PAGE HL_PROJECT_SOURCE "/docs/manual/hot-spot.md"

static char *page_text(void)
{
    enum { ROOM = 1 << 18 };
    FILE *file = fopen(PAGE, "r");
    ck_assert_msg(file != NULL, "no file %s", PAGE);
    char *text = malloc(ROOM);
    ck_assert_ptr_nonnull(text);
    text[fread(text, 1, ROOM - 1, file)] = '\0';
    fclose(file);
    return text;
}

START_TEST(the_manual_lists_the_materials_there_are)
{
    const char *script = scratch_write("list.lua", "print(require 'heatledger'.materials.markdown())\n");
    command_output output = command_run((const char *const[]){"solve", script, NULL});
    ck_assert_msg(strstr(output.out, "| `polycarbonate` |") != NULL, "%s%s", output.out, output.error);
    char *page = page_text();
    ck_assert_msg(strstr(page, output.out) != NULL, "%s should hold:\n%s", PAGE, output.out);
    free(page);
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, the_manual_lists_the_materials_there_are);
}

int main(void)
{
    return story_main("materials", fill);
}
