#include "tutorial_run.h"

#include <check.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "command_run.h"

enum { LINE = 4096, BLOCK = 1 << 16, PATHS = 1024 };

typedef struct page {
    FILE *file;
    const char *path, *folder, *before;
    int line;
    char block[BLOCK]; /* of the fence just read */
    int block_line;
    char said[BLOCK]; /* what the last commands printed */
    tutorial_count count;
} page;

/* The lines up to the closing fence. */
static void read_block(page *p)
{
    char line[LINE];
    size_t used = 0;
    p->block[0] = '\0';
    p->block_line = p->line + 1;
    while (fgets(line, sizeof line, p->file)) {
        p->line++;
        if (!strncmp(line, "```", 3)) return;
        size_t n = strlen(line);
        ck_assert_msg(used + n < BLOCK, "%s:%d: the block is too long", p->path, p->line);
        memcpy(p->block + used, line, n + 1);
        used += n;
    }
    ck_abort_msg("%s:%d: the block is not closed", p->path, p->block_line);
}

static void add_to_file(page *p, const char *name)
{
    char path[PATHS];
    struct stat there;
    ck_assert_msg(!strchr(name, '/'), "%s:%d: '%s' leads out of the folder", p->path, p->line, name);
    snprintf(path, sizeof path, "%s/%s", p->folder, name);
    bool more = stat(path, &there) == 0;
    FILE *to = fopen(path, "a");
    ck_assert_ptr_nonnull(to);
    fprintf(to, "%s%s", more ? "\n" : "", p->block);
    ck_assert_int_eq(fclose(to), 0);
    p->count.files += !more;
}

static void run_block(page *p)
{
    static char script[2 * BLOCK];
    snprintf(script, sizeof script, "set -e\ncd '%s'\n%s\n%s", p->folder, p->before, p->block);
    command_output output = program_run("/bin/sh", (const char *const[]){"-c", script, NULL});
    ck_assert_msg(output.code == 0, "%s:%d: exit %d of\n%s\n%.3000s%.3000s", p->path, p->block_line,
                  output.code, p->block, output.out, output.error);
    snprintf(p->said, sizeof p->said, "%s%s", output.out, output.error);
    command_free(&output);
    p->count.commands++;
}

static void expect_lines(page *p)
{
    int number = p->block_line;
    for (char *line = strtok(p->block, "\n"); line; line = strtok(NULL, "\n"), number++) {
        ck_assert_msg(strstr(p->said, line) != NULL, "%s:%d: '%s' is not in\n%.6000s", p->path, number, line,
                      p->said);
        p->count.expected++;
    }
}

tutorial_count tutorial_run(const char *path, const char *folder, const char *before)
{
    page *p = calloc(1, sizeof *p);
    ck_assert_ptr_nonnull(p);
    p->path = path, p->folder = folder, p->before = before;
    command_output fresh =
        program_run("/bin/sh", (const char *const[]){"-c", "rm -rf \"$0\" && mkdir -p \"$0\"", folder, NULL});
    ck_assert_int_eq(fresh.code, 0);
    command_free(&fresh);
    p->file = fopen(path, "r");
    ck_assert_msg(p->file != NULL, "cannot open %s", path);
    char line[LINE], language[32], name[200];
    while (fgets(line, sizeof line, p->file)) {
        p->line++;
        if (strncmp(line, "```", 3)) continue;
        int words = sscanf(line + 3, "%31s %199s", language, name);
        read_block(p);
        if (words == 2)
            add_to_file(p, name);
        else if (words == 1 && !strcmp(language, "sh"))
            run_block(p);
        else if (words == 1 && !strcmp(language, "text"))
            expect_lines(p);
        else
            ck_abort_msg("%s:%d: a block is marked 'LANGUAGE FILE', 'sh' or 'text'", path, p->block_line - 1);
    }
    fclose(p->file);
    tutorial_count count = p->count;
    free(p);
    return count;
}
