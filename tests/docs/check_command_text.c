/* check_command_text.c - what every command says of itself: help, man pages, completion; and that nothing a
 * person reads is wider than eighty columns or coloured. */
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "command_run.h"
#include "story.h"

#define EXAMPLES HL_PROJECT_SOURCE "/examples/"
#define PAGES    HL_TEST_BUILD "/share/man/man1"

enum { COMMANDS_MAX = 40 };

static command_output shell(const char *script)
{
    return program_run("/bin/sh", (const char *const[]){"-e", "-c", script, NULL});
}

static void must(const char *script)
{
    command_output output = shell(script);
    ck_assert_msg(output.code == 0, "exit %d of %.900s\n%.1200s\n%.1200s", output.code, script, output.out,
                  output.error);
    command_free(&output);
}

/* The names that `heatledger --help` lists. */
static size_t commands_of(char names[][40])
{
    command_output output = command_run((const char *const[]){"--help", NULL});
    ck_assert_int_eq(output.code, 0);
    size_t n = 0;
    char *at = strstr(output.out, "\ncommands:\n");
    ck_assert_ptr_nonnull(at);
    for (at += strlen("\ncommands:\n"); *at == ' '; at = strchr(at, '\n') + 1) {
        ck_assert_int_eq(sscanf(at, " %39s", names[n]), 1);
        ck_assert_uint_lt(++n, COMMANDS_MAX);
    }
    command_free(&output);
    ck_assert_uint_ge(n, 10);
    return n;
}

static void check_narrow(const char *text, const char *what)
{
    size_t columns = 0;
    for (const char *at = text, *line = text; *at; at++) {
        ck_assert_msg(*at != '\033', "%s: a colour or cursor sequence", what);
        if (*at == '\n') {
            columns = 0;
            line = at + 1;
            continue;
        }
        if (!strncmp(line, "file ", 5) || !strncmp(line, "plugin:", 7))
            continue; /* a path is as long as it is */
        columns += ((unsigned char)*at & 0xC0) != 0x80;
        ck_assert_msg(columns <= 80, "%s: wider than 80 columns:\n%.200s", what, line);
    }
}

/* What a refused command says; the text begins as expected. */
static char *says_wrong(const char *const arguments[], const char *expected)
{
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 1, "%s: exit %d", arguments[0], output.code);
    ck_assert_msg(!strncmp(output.error, expected, strlen(expected)), "%s says\n%.500s", arguments[0],
                  output.error);
    char *said = strdup(output.error);
    ck_assert_ptr_nonnull(said);
    command_free(&output);
    return said;
}

static void narrow_run(const char *const arguments[])
{
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "%s: exit %d: %.2000s", arguments[0], output.code, output.error);
    ck_assert_msg(*output.out != '\0', "%s says nothing", arguments[0]);
    char what[200];
    snprintf(what, sizeof what, "%s %.150s", arguments[0], arguments[1] ? arguments[1] : "");
    check_narrow(output.out, what);
    command_free(&output);
}

/* "--word" in a text; its end is returned, NULL when there is no further one. */
static const char *next_option(const char *at, char *name, size_t room)
{
    while ((at = strstr(at, "--")) != NULL) {
        size_t n = strspn(at + 2, "abcdefghijklmnopqrstuvwxyz-");
        if (n > 0 && n + 3 < room) {
            snprintf(name, room, "%.*s", (int)n + 2, at);
            return at + 2 + n;
        }
        at += 2;
    }
    return NULL;
}

/* The option that ends at `at` stands in the help before, too. */
static bool named_before(const char *help, const char *at, const char *name)
{
    char other[60];
    for (const char *to = help; (to = next_option(to, other, sizeof other)) != NULL && to < at;)
        if (!strcmp(other, name)) return true;
    return false;
}

/* Every option that the help names is described there, and taken by the command. */
static void check_options(const char *command, const char *help)
{
    char name[60], described[64];
    for (const char *at = help; (at = next_option(at, name, sizeof name)) != NULL;) {
        if (!strcmp(name, "--help")) continue;
        snprintf(described, sizeof described, "\n  %s", name);
        if (!strstr(help, described)) {
            bool other = strstr(help, "`heatledger") != NULL; /* it speaks of another command's option */
            ck_assert_msg(other, "%s: %s is named and not described", command, name);
            continue;
        }
        if (named_before(help, at, name)) continue;
        command_output output = command_run((const char *const[]){command, name, NULL});
        ck_assert_msg(!strstr(output.error, "no option"), "%s: %s is described and not taken: %.300s",
                      command, name, output.error);
        command_free(&output);
    }
}

START_TEST(help_is_narrow_and_true)
{
    char names[COMMANDS_MAX][40];
    size_t n = commands_of(names);
    narrow_run((const char *const[]){"--help", NULL});
    for (size_t i = 0; i < n; i++) {
        command_output output = command_run((const char *const[]){names[i], "--help", NULL});
        ck_assert_int_eq(output.code, 0);
        ck_assert_msg(strstr(output.out, "usage: heatledger") == output.out, "%s", names[i]);
        check_narrow(output.out, names[i]);
        check_options(names[i], output.out);
        command_free(&output);
    }
}
END_TEST

/* ------------------------------------------------------- pages, completion -- */

START_TEST(every_command_has_a_sound_man_page)
{
    char names[COMMANDS_MAX][40], script[600];
    size_t n = commands_of(names);
    for (size_t i = 0; i <= n; i++) {
        snprintf(
            script, sizeof script,
            "page=" PAGES "/heatledger%s%s.1\n"
            "mandoc -T lint -W warning \"$page\"\nmandoc \"$page\" >/dev/null\n"
            "! command -v man >/dev/null || test -z \"$(LC_ALL=C.UTF-8 man --warnings -E UTF-8 -l -Tutf8 "
            "-Z \"$page\" 2>&1 >/dev/null)\"",
            i < n ? "-" : "", i < n ? names[i] : "");
        must(script);
    }
}
END_TEST

START_TEST(the_page_is_the_help)
{
    command_output output =
        shell("mandoc -T ascii " PAGES "/heatledger-solve.1 | col -b 2>/dev/null || mandoc -T "
              "ascii " PAGES "/heatledger-solve.1 | sed 's/.\\x08//g'");
    static const char *const words[] = {"SYNOPSIS",         "heatledger solve FILE.lua",
                                        "--set NAME=VALUE", "EXIT STATUS",
                                        "3 no solution",    "charged capacitors kill"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        ck_assert_msg(strstr(output.out, words[i]) != NULL, "no '%s' in\n%.3000s", words[i], output.out);
    command_free(&output);
}
END_TEST

/* What bash offers for the words typed so far; the last one is the one at the cursor. */
static void offers(const char *words, const char *expected, const char *not_expected)
{
    char script[1200];
    snprintf(script, sizeof script,
             "bash -c '. " HL_TEST_BUILD "/share/bash-completion/completions/heatledger\n"
             "cd " EXAMPLES
             "small_adapter\ncomplete -p heatledger | grep -q -- \"-F _heatledger\" || exit 1\n"
             "COMP_WORDS=(%s)\nCOMP_CWORD=$((${#COMP_WORDS[@]} - 1))\n_heatledger\n"
             "printf \" %%s\" \"${COMPREPLY[@]}\"\necho \" \"'",
             words);
    command_output output = shell(script);
    ck_assert_msg(output.code == 0, "%s: exit %d: %.600s", words, output.code, output.error);
    ck_assert_msg(strstr(output.out, expected) != NULL, "%s: '%s' is not in '%.600s'", words, expected,
                  output.out);
    ck_assert_msg(!not_expected || !strstr(output.out, not_expected), "%s: %.600s", words, output.out);
    command_free(&output);
}

/* What the zsh function hands to zsh's own for the words typed so far; stand-ins print it, one a line. */
static void in_zsh(const char *words, const char *expected, const char *not_expected)
{
    char script[1600];
    snprintf(script, sizeof script,
             "file=" HL_TEST_BUILD "/share/zsh/vendor-completions/_heatledger\n"
             "head -n 1 \"$file\" | grep -qx '#compdef heatledger'\n"
             "command -v zsh >/dev/null || { echo none; exit 0; }\nzsh -n \"$file\"\n"
             "zsh -f -c 'setopt err_exit\n_arguments() { print -rl -- \"$@\" }\n"
             "_describe() { print -rl -- \"${(@qq)${(P)2}}\" }\ncompadd() { print -r -- \"$@\" }\n"
             "words=(%s)\nCURRENT=$#words\n. \"$1\"' zsh \"$file\"",
             words);
    command_output output = shell(script);
    ck_assert_msg(output.code == 0, "%s: exit %d: %.600s", words, output.code, output.error);
    bool without = !strcmp(output.out, "none\n"); /* no zsh on this machine */
    ck_assert_msg(without || strstr(output.out, expected), "%s: '%s' is not in '%.1600s'", words, expected,
                  output.out);
    ck_assert_msg(!not_expected || !strstr(output.out, not_expected), "%s: %.600s", words, output.out);
    command_free(&output);
}

START_TEST(the_shell_completes)
{
    offers("heatledger so", " solve ", "spread");
    offers("heatledger \"\"", " report ", NULL);
    offers("heatledger solve --se", " --settings ", "--json");
    offers("heatledger solve ad", " adapter.lua ", NULL);
    offers("heatledger report adapter.lua --to \"\"", "adapter.lua", NULL);
    offers("heatledger solve adapter.lua --set \"\"", " ", "adapter.lua");
    in_zsh("heatledger so", "'solve", NULL);
    in_zsh("heatledger so", "--version", NULL);
    in_zsh("heatledger solve --se", "*--set[", "--workers");
    in_zsh("heatledger solve --se", "\n--json[", NULL);
    in_zsh("heatledger report adapter.lua --to x", "--to[where to write]:FILE.html:_files\n", NULL);
    in_zsh("heatledger solve adapter.lua --set x", "NAME=VALUE: \n", NULL);
    in_zsh("heatledger --completion z", "bash zsh", NULL);
    command_output output = command_run((const char *const[]){"--completion", "tcsh", NULL});
    ck_assert_int_eq(output.code, 1);
    ck_assert_ptr_nonnull(strstr(output.error, "bash"));
    command_free(&output);
}
END_TEST

/* What every command takes that reads a script, its help must tell. */
START_TEST(help_tells_the_options_that_all_take)
{
    static const char *const commands[] = {"compare", "efficiency", "fit",   "report", "solve",
                                           "spread",  "swap",       "sweep", "warmup"};
    static const char *const options[] = {"--bands END", "--network KIND", "--plugins PATH", "--trust ",
                                          "--quiet "};
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
        command_output output = command_run((const char *const[]){commands[i], "--help", NULL});
        for (size_t k = 0; k < sizeof options / sizeof *options; k++)
            ck_assert_msg(strstr(output.out, options[k]) != NULL, "%s --help does not tell %s", commands[i],
                          options[k]);
        ck_assert_msg(!strstr(output.out, " \n"), "%s --help: a line ends in a blank", commands[i]);
        command_free(&output);
    }
}
END_TEST

/* ------------------------------------------------------------- terminal -- */

static const char *const adapters[] = {
    EXAMPLES "desk_charger/charger.lua", EXAMPLES "wall_adapter/adapter.lua",
    EXAMPLES "tool_charger/charger.lua", EXAMPLES "small_adapter/adapter.lua"};

START_TEST(nothing_is_wider_than_the_terminal)
{
    const char *adapter = adapters[_i];
    narrow_run((const char *const[]){"solve", adapter, NULL});
    narrow_run((const char *const[]){"solve", adapter, "--stages", "--ways", "--links", "--border", NULL});
    narrow_run((const char *const[]){"solve", adapter, "--settings", NULL});
    narrow_run((const char *const[]){"efficiency", adapter, NULL});
    narrow_run((const char *const[]){"spread", adapter, "--samples", "30", "--totals", "0", NULL});
    narrow_run((const char *const[]){"warmup", adapter, "--for", "1 h", NULL});
}
END_TEST

START_TEST(the_other_commands_are_narrow_too)
{
    narrow_run((const char *const[]){"models", NULL});
    narrow_run((const char *const[]){"models", "transformer", NULL});
    narrow_run((const char *const[]){"models", "flyback", NULL});
    narrow_run((const char *const[]){"parts", NULL});
    narrow_run((const char *const[]){"parts", "gan_650v_150m_a", NULL});
    narrow_run((const char *const[]){"fit", adapters[0], EXAMPLES "desk_charger/bench.yaml", NULL});
    narrow_run((const char *const[]){"compare", adapters[0], EXAMPLES "desk_charger/marked.lua", NULL});
    narrow_run(
        (const char *const[]){"swap", adapters[3], "--catalogue", "--slot", "flyback.rectifier", NULL});
    const char *places =
        says_wrong((const char *const[]){"swap", adapters[3], "--catalogue", "--slot", "x.y", NULL},
                   "no part stands at 'x.y'; parts stand at:\n  filter.fuse, ");
    check_narrow(places, "places");
    free((char *)places);
    must("cd " HL_TEST_BUILD " && rm -rf rows && mkdir rows && cd rows && cat >plan.lua <<'END'\n"
         "local hl = require 'heatledger'\n"
         "return hl.sweep { adapter = '" EXAMPLES "small_adapter/adapter.lua',\n"
         "  axes = { { 'load', from = 0.2, to = 1, steps = 3 } }, figures = { 'efficiency', "
         "'case_hottest_c' },\n"
         "  keep = { best = 2, by = 'efficiency', highest = true } }\nEND\n" HL_TEST_BUILD
         "/bin/heatledger sweep plan.lua --trust --store s.db --quiet >table\n"
         "grep -q 'the best first, by efficiency' table && grep -q '^point  load  efficiency' table && "
         "test $(awk '/^point/ { n = NR } n && NR > n && NR < n + 3 && $3 > 0.8' table | wc -l) = 2");
}
END_TEST

/* Rows have as many fields as their heading; quiet says nothing besides. */
static void check_rows(const char *const arguments[], const char *heading)
{
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "%s: %.2000s", arguments[0], output.error);
    ck_assert_msg(!strncmp(output.out, heading, strlen(heading)), "%s: %.300s", arguments[0], output.out);
    ck_assert_msg(*output.error == '\0', "%s is not quiet: %.600s", arguments[0], output.error);
    size_t wanted = 0, rows = 0;
    for (const char *line = output.out; *line; line = strchr(line, '\n') + 1) {
        size_t fields = 1;
        bool quoted = false;
        for (const char *at = line; *at != '\n'; at++) {
            quoted ^= *at == '"';
            fields += *at == ',' && !quoted;
        }
        if (rows++ == 0) wanted = fields;
        ck_assert_msg(fields == wanted, "%s: %zu fields, not %zu: %.200s", arguments[0], fields, wanted,
                      line);
    }
    ck_assert_uint_ge(rows, 3);
    command_free(&output);
}

START_TEST(rows_are_whole_and_quiet_is_quiet)
{
    check_rows((const char *const[]){"solve", adapters[3], "--csv", "--quiet", NULL}, "part,count,loss_w,");
    check_rows((const char *const[]){"solve", adapters[3], "--settings", "--csv", "--quiet", NULL},
               "setting,value_si,");
    check_rows((const char *const[]){"efficiency", adapters[3], "--csv", "--quiet", NULL}, "mains_v,");
    check_rows((const char *const[]){"warmup", adapters[3], "--for", "1 h", "--csv", "--quiet", NULL}, "");
    check_rows((const char *const[]){"spread", adapters[3], "--samples", "30", "--totals", "0", "--csv",
                                     "--quiet", NULL},
               "");
}
END_TEST

START_TEST(the_version_is_told)
{
    command_output output = command_run((const char *const[]){"--version", NULL});
    ck_assert_int_eq(output.code, 0);
    ck_assert_msg(!strncmp(output.out, "heatledger 0.", 13), "%s", output.out);
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, help_is_narrow_and_true);
    tcase_add_test(tests, every_command_has_a_sound_man_page);
    tcase_add_test(tests, the_page_is_the_help);
    tcase_add_test(tests, help_tells_the_options_that_all_take);
    tcase_add_test(tests, the_shell_completes);
    tcase_add_loop_test(tests, nothing_is_wider_than_the_terminal, 0, 4);
    tcase_add_test(tests, the_other_commands_are_narrow_too);
    tcase_add_test(tests, rows_are_whole_and_quiet_is_quiet);
    tcase_add_test(tests, the_version_is_told);
}

int main(void)
{
    return story_main("command text", fill);
}
