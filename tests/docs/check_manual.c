/* check_manual.c - every command and script that the documents show is run, with the installed package, in an
 * empty folder; what it prints is compared.  scripts/dev/docs writes the figures anew.
 *
 * The pages of docs/manual/ are one story, told in one folder in the order of its index.  Every other page
 * stands for itself and finds the examples beside it.  The tutorials are followed by check_stranger. */
#include <dirent.h>
#include <stdbool.h>
#include <string.h>

#include "command_run.h"
#include "story.h"
#include "tutorial_run.h"

#define ROOT HL_TEST_BUILD "/documents"
#define DOCS HL_PROJECT_SOURCE "/docs"

/* The package's command and Lua library; a stock interpreter takes a sanitized module only with its library.
 */
#define SHELL                                                                                                \
    "export PATH=" ROOT "/bin:" ROOT "/usr/bin:$PATH NO_COLOR=1 LC_ALL=C.UTF-8\n"                            \
    "export LUA_PATH='" ROOT "/usr/share/lua/5.4/?.lua;" ROOT "/usr/share/lua/5.4/?/init.lua'\n"             \
    "export LUA_CPATH=" ROOT "/usr/lib/lua/5.4/?.so\n"

/* A page of the source tree: the examples lie there, and the demo has been built. */
#define TREE                                                                                                 \
    SHELL "test -e examples || cp -r " HL_PROJECT_SOURCE "/examples .\n"                                     \
          "test -e docs || ln -s " HL_PROJECT_SOURCE "/docs " HL_PROJECT_SOURCE "/scripts .\n"               \
          "test -e build || { mkdir build; ln -s " HL_TEST_BUILD " build/release; }\n"

static void shell(const char *script)
{
    command_output output = program_run("/bin/sh", (const char *const[]){"-e", "-c", script, NULL});
    ck_assert_msg(output.code == 0, "exit %d of %.600s\n%.1500s\n%.1500s", output.code, script, output.out,
                  output.error);
    command_free(&output);
}

static void install(void)
{
    shell("rm -rf " ROOT " && cmake --install " HL_TEST_BUILD " --prefix " ROOT "/usr && mkdir " ROOT "/bin\n"
          "preload=; case '" HL_TEST_FLAGS "' in *address*) preload=$(cc -print-file-name=libasan.so);;\n"
          " *thread*) preload=$(cc -print-file-name=libtsan.so);; esac\n"
          "printf '#!/bin/sh\\nLD_PRELOAD=%s ASAN_OPTIONS=detect_leaks=0 exec /usr/bin/lua5.4 \"$@\"\\n' "
          "\"$preload\" >" ROOT "/bin/lua5.4\nchmod +x " ROOT "/bin/lua5.4");
}

/* The pages that the index of the manual names, in its order. */
static size_t manual_pages(char pages[][80], size_t room)
{
    FILE *index = fopen(DOCS "/manual/index.md", "r");
    ck_assert_ptr_nonnull(index);
    char line[4096];
    size_t n = 0;
    while (fgets(line, sizeof line, index))
        for (char *at = line; (at = strstr(at, "](")) != NULL; at += 2)
            if (sscanf(at, "](%79[a-z-].md)", pages[n]) == 1) {
                bool seen = false;
                for (size_t i = 0; i < n; i++) seen |= !strcmp(pages[i], pages[n]);
                if (seen) continue;
                n++;
                ck_assert_uint_lt(n, room);
            }
    fclose(index);
    return n;
}

static size_t markdown_files(const char *folder)
{
    DIR *there = opendir(folder);
    ck_assert_msg(there != NULL, "no folder %s", folder);
    size_t n = 0;
    for (struct dirent *entry; (entry = readdir(there)) != NULL;) {
        size_t length = strlen(entry->d_name);
        n += length > 3 && !strcmp(entry->d_name + length - 3, ".md");
    }
    closedir(there);
    return n;
}

/* Somebody with the manual and the package alone, in an empty folder. */
START_TEST(the_manual_leads_from_the_bench_to_the_report)
{
    char pages[40][80];
    size_t n = manual_pages(pages, 40);
    ck_assert_msg(n + 1 == markdown_files(DOCS "/manual"), "the index names %zu pages, %zu are there", n,
                  markdown_files(DOCS "/manual") - 1);
    tutorial_count all = {0, 0, 0};
    shell("rm -rf " ROOT "/bench && mkdir -p " ROOT "/bench");
    for (size_t i = 0; i < n; i++) {
        char page[600];
        snprintf(page, sizeof page, "%s/manual/%.79s.md", DOCS, pages[i]);
        tutorial_count count = tutorial_follow(page, ROOT "/bench", SHELL);
        ck_assert_msg(count.commands > 0, "%s: no command", page);
        all.files += count.files;
        all.commands += count.commands;
        all.expected += count.expected;
    }
    ck_assert_uint_ge(all.files, 3);
    ck_assert_uint_ge(all.commands, 20);
    ck_assert_uint_ge(all.expected, 80);
    printf("manual: %zu pages, %zu files, %zu blocks of commands, %zu lines of output\n", n, all.files,
           all.commands, all.expected);
}
END_TEST

/* The adapter of the manual is examples/small_adapter: the same watts, the same temperatures. */
START_TEST(the_manual_describes_the_small_adapter)
{
    shell(SHELL "cd " ROOT "/bench\nheatledger solve " HL_PROJECT_SOURCE
                "/examples/small_adapter/adapter.lua 2>/dev/null | sed /books:/d >example.txt\n"
                "heatledger solve adapter.lua 2>/dev/null | sed /books:/d >manual.txt\n"
                "diff -u example.txt manual.txt");
}
END_TEST

static size_t follow_folder(const char *folder, size_t *commands)
{
    DIR *there = opendir(folder);
    ck_assert_msg(there != NULL, "no folder %s", folder);
    size_t pages = 0;
    for (struct dirent *entry; (entry = readdir(there)) != NULL;) {
        size_t length = strlen(entry->d_name);
        if (length < 4 || strcmp(entry->d_name + length - 3, ".md")) continue;
        if (!strncmp(entry->d_name, "tutorial-", 9)) continue;
        char page[600];
        snprintf(page, sizeof page, "%s/%s", folder, entry->d_name);
        tutorial_count count = tutorial_run(page, ROOT "/page", TREE);
        *commands += count.commands;
        pages++;
    }
    closedir(there);
    return pages;
}

START_TEST(every_other_page_holds)
{
    size_t commands = 0, pages = 0;
    pages += follow_folder(HL_PROJECT_SOURCE, &commands);
    ck_assert_uint_ge(commands, 1); /* of README.md */
    pages += follow_folder(DOCS, &commands);
    pages += follow_folder(DOCS "/theory", &commands);
    pages += follow_folder(DOCS "/models", &commands);
    ck_assert_uint_ge(pages, 40);
    printf("documents: %zu pages besides, %zu blocks of commands\n", pages, commands);
}
END_TEST

/* Every link to a file of the tree leads to one. */
START_TEST(no_link_is_broken)
{
    shell("cd " HL_PROJECT_SOURCE "\n"
          "for page in README.md DEVELOPERS.md docs/*.md docs/*/*.md; do\n"
          "  grep -o '](\\([^)#]*\\)[^)]*)' \"$page\" | sed 's/^](//; s/[#)].*$//' | while read -r link; do\n"
          "    case $link in ''|http*) continue;; esac\n"
          "    test -e \"$(dirname \"$page\")/$link\" || echo \"$page: $link\" >&2\n"
          "  done\n"
          "done 2>&1 | { ! grep .; }");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, install, NULL);
    tcase_add_test(tests, the_manual_leads_from_the_bench_to_the_report);
    tcase_add_test(tests, the_manual_describes_the_small_adapter);
    tcase_add_test(tests, every_other_page_holds);
    tcase_add_test(tests, no_link_is_broken);
}

int main(void)
{
    return story_main("documents", fill);
}
