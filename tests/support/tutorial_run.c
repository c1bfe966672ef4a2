#include "tutorial_run.h"

#include <check.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "command_run.h"
#include "said_lines.h"

enum { LINE = 4096, BLOCK = 1 << 16, PATHS = 1024 };

typedef struct page {
    FILE *file;
    FILE *remade; /* the page with fresh output, or NULL */
    const char *path, *folder, *before;
    int line;
    char block[BLOCK]; /* of the fence just read */
    int block_line;
    char said[BLOCK]; /* what the last commands printed */
    tutorial_count count;
} page;

static void copy(page *p, const char *line)
{
    if (p->remade) fputs(line, p->remade);
}

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

static void run_block(page *p, int expected)
{
    static char script[2 * BLOCK];
    snprintf(script, sizeof script, "set -e\ncd '%s'\n%s\n%s", p->folder, p->before, p->block);
    command_output output = program_run("/bin/sh", (const char *const[]){"-c", script, NULL});
    ck_assert_msg(output.code == expected, "%s:%d: exit %d of\n%.900s\n%.900s%.900s", p->path, p->block_line,
                  output.code, p->block, output.out, output.error);
    snprintf(p->said, sizeof p->said, "%s%s", output.out, output.error);
    command_free(&output);
    p->count.commands++;
}

/* Every line stands in what was printed, in this order; "..." stands for lines left out. */
static void expect_lines(page *p)
{
    const char *from = p->said;
    int number = p->block_line;
    bool fresh = p->remade != NULL;
    for (char *line = p->block, *next; *line; line = next, number++) {
        next = line + strcspn(line, "\n");
        if (*next) *next++ = '\0';
        if (!*line || !strcmp(line, "...")) {
            if (fresh) fprintf(p->remade, "%s\n", line);
            continue;
        }
        said_place found;
        ck_assert_msg(said_find(from, line, !fresh, &found), "%s:%d: '%s' is not in\n%.1500s", p->path,
                      number, line, from);
        if (fresh) fprintf(p->remade, "%.*s\n", (int)(found.end - found.begin), found.begin);
        from = found.end;
        p->count.expected++;
    }
}

static void take_block(page *p, const char *opening, bool announced)
{
    char language[32] = "", name[200] = "";
    int words = sscanf(opening + 3, "%31s %199s", language, name), expected = 0;
    read_block(p);
    bool output = words == 1 && !strcmp(language, "text");
    copy(p, opening);
    if (!output) copy(p, p->block);
    if (words == 2 && !strcmp(name, "illustration"))
        ck_assert_msg(announced, "%s:%d: say 'Not run by the tests' before an illustration", p->path,
                      p->block_line - 1);
    else if (words == 2 && sscanf(name, "exit=%d", &expected) == 1)
        run_block(p, expected);
    else if (words == 2)
        add_to_file(p, name);
    else if (words == 1 && !strcmp(language, "sh"))
        run_block(p, 0);
    else if (output)
        expect_lines(p);
    else
        ck_abort_msg("%s:%d: a block is marked 'LANGUAGE FILE', 'sh', 'sh exit=N', 'text', or 'LANGUAGE "
                     "illustration'",
                     p->path, p->block_line - 1);
    copy(p, "```\n");
}

/* An indented block is a formula or a file's extract.  A command there would never be run. */
static void refuse_hidden_command(const page *p, const char *line)
{
    static const char *const commands[] = {"heatledger ", "cmake ", "scripts/", "build/", "sudo ",
                                           "apt",         "$ ",     "cc ",      "make ",  "dpkg"};
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++)
        ck_assert_msg(strncmp(line, "    ", 4) || strncmp(line + 4, commands[i], strlen(commands[i])),
                      "%s:%d: a command stands in an indented block, where nobody tries it: %s", p->path,
                      p->line, line);
}

static void read_page(page *p)
{
    char line[LINE];
    bool announced = false;
    while (fgets(line, sizeof line, p->file)) {
        p->line++;
        if (!strncmp(line, "```", 3)) {
            take_block(p, line, announced);
            announced = false;
            continue;
        }
        announced |= strstr(line, "Not run by the tests") != NULL;
        if (*line == '#') announced = false;
        refuse_hidden_command(p, line);
        copy(p, line);
    }
}

tutorial_count tutorial_follow(const char *path, const char *folder, const char *before)
{
    page *p = calloc(1, sizeof *p);
    ck_assert_ptr_nonnull(p);
    p->path = path, p->folder = folder, p->before = before;
    p->file = fopen(path, "r");
    ck_assert_msg(p->file != NULL, "cannot open %s", path);
    char remade[PATHS];
    snprintf(remade, sizeof remade, "%s.new", path);
    if (getenv("HEATLEDGER_REMAKE_DOCS")) p->remade = fopen(remade, "w");
    read_page(p);
    fclose(p->file);
    if (p->remade) {
        ck_assert_int_eq(fclose(p->remade), 0);
        ck_assert_int_eq(rename(remade, path), 0);
    }
    tutorial_count count = p->count;
    free(p);
    return count;
}

tutorial_count tutorial_run(const char *path, const char *folder, const char *before)
{
    command_output fresh =
        program_run("/bin/sh", (const char *const[]){"-c", "rm -rf \"$0\" && mkdir -p \"$0\"", folder, NULL});
    ck_assert_int_eq(fresh.code, 0);
    command_free(&fresh);
    return tutorial_follow(path, folder, before);
}
