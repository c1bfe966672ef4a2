/* check_prove.c - the conformance kit over every shipped plugin. */
#include <dirent.h>
#include <string.h>

#include "findings.h"
#include "story.h"

/* Shipped plugins, in the order of the folder. */
enum { PLUGINS_MAX = 256 };
static char plugins[PLUGINS_MAX][64];
static size_t n_plugins;

static void list_plugins(void)
{
    DIR *folder = opendir(HL_TEST_PLUGINS);
    for (struct dirent *entry; folder && (entry = readdir(folder)) != NULL;) {
        size_t length = strlen(entry->d_name);
        if (length < 4 || length >= sizeof plugins[0] || strcmp(entry->d_name + length - 3, ".so")) continue;
        if (n_plugins < PLUGINS_MAX) strcpy(plugins[n_plugins++], entry->d_name);
    }
    if (folder) closedir(folder);
}

START_TEST(a_shipped_plugin_passes)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", HL_TEST_PLUGINS, plugins[_i]);
    findings_expect_pass(path);
}
END_TEST

START_TEST(there_are_shipped_plugins)
{
    ck_assert_msg(n_plugins > 0, "no plugin in %s", HL_TEST_PLUGINS);
}
END_TEST

static void fill(TCase *tests)
{
    list_plugins();
    tcase_add_test(tests, there_are_shipped_plugins);
    tcase_add_loop_test(tests, a_shipped_plugin_passes, 0, (int)n_plugins);
}

int main(void)
{
    return story_main("prove", fill);
}
