/* check_ledger.c - the printed ledger as a sum: what is lost stage by stage, part by part and in all agree to
 * the digits shown. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "command_run.h"
#include "story.h"

static const char *const examples[] = {"desk_charger/charger.lua", "wall_adapter/adapter.lua",
                                       "tool_charger/charger.lua", "small_adapter/adapter.lua"};

/* The last number of a line. */
static double last_number(const char *line, size_t length)
{
    while (length > 0 && line[length - 1] != ' ') length--;
    return strtod(line + length, NULL);
}

/* Sum of the last numbers of the lines between a heading and the line that begins with "all", and that
 * line's. */
static double sum_of_stages(const char *text, double *all)
{
    const char *line = strstr(text, "\n  stage ");
    ck_assert_ptr_nonnull(line);
    double sum = 0;
    for (line = strchr(line + 1, '\n') + 1;; line = strchr(line, '\n') + 1) {
        double last = last_number(line, strcspn(line, "\n"));
        if (!strncmp(line, "  all ", 6)) {
            *all = last;
            return sum;
        }
        ck_assert_msg(line[0] == ' ' && isfinite(last), "no sum below the stages");
        sum += last;
    }
}

START_TEST(what_the_stages_lose_is_what_is_lost)
{
    char path[400];
    snprintf(path, sizeof path, "%s/examples/%s", HL_PROJECT_SOURCE, examples[_i]);
    const char *arguments[] = {"solve", path, "--quiet", NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "%s", output.error);
    double all, sum = sum_of_stages(output.out, &all);
    const char *lost = strstr(output.out, " lost ");
    ck_assert_ptr_nonnull(lost);
    ck_near(all, strtod(lost + 6, NULL), 0, 1e-9);
    ck_near(sum, all, 1e-3, 1e-3); /* three or four digits a row are shown */
    command_free(&output);
}
END_TEST

/* A part that breaks two limits has a line for each, and the exit code of --strict tells. */
START_TEST(every_broken_limit_has_its_line)
{
    static const char *const adapter = HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua";
    const char *arguments[] = {"solve",   adapter,
                               "--quiet", "--strict",
                               "--set",   "flyback.electrolytic.rated_life=100 h",
                               "--set",   "flyback.electrolytic.rated_voltage=8 V",
                               NULL};
    command_output output = command_run(arguments);
    ck_assert_int_eq(output.code, 2); /* a limit is broken */
    const char *headroom = strstr(output.out, "what gives way first");
    ck_assert_ptr_nonnull(headroom);
    static const char *const limits[] = {"needed life", "capacitor voltage"};
    for (size_t i = 0; i < 2; i++) {
        char line[80];
        snprintf(line, sizeof line, "%-29s %-18s", "flyback.electrolytic", limits[i]);
        const char *found = strstr(headroom, line);
        ck_assert_msg(found != NULL, "no line of %s in %s", limits[i], headroom);
        ck_assert_int_eq(found[strcspn(found, "\n") - 1], '!');
    }
    command_free(&output);
}
END_TEST

START_TEST(each_stage_tells_its_waveforms)
{
    static const char *const adapter = HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua";
    const char *arguments[] = {"solve", adapter, "--quiet", "--stages", NULL};
    command_output output = command_run(arguments);
    ck_assert_int_eq(output.code, 0);
    const char *stage = strstr(output.out, "\n  flyback (flyback)\n");
    ck_assert_ptr_nonnull(stage);
    const char *frequency =
        strstr(stage, "    switching frequency           65 kHz"); /* as the script states */
    ck_assert_msg(frequency && frequency < strstr(stage, "\n\n"), "%s", stage);
    command_free(&output);
}
END_TEST

/* Whole in both tables, and the columns beside it stay where they are. */
START_TEST(a_long_name_has_a_line_of_its_own)
{
    const char *arguments[] = {"solve", HL_TEST_SOURCE "/cli/long_names.lua", "--quiet", NULL};
    command_output output = command_run(arguments);
    ck_assert_int_eq(output.code, 0);
    static const char name[] = "\n  switch_of_the_port_at_the_far_end.switch\n";
    const char *part = strstr(output.out, name), *headroom = strstr(output.out, "\n  what gives way first");
    ck_assert_msg(part && headroom && part < headroom, "%s", output.out);
    const char *first = strstr(headroom, name);
    ck_assert_msg(first != NULL, "%s", headroom);
    char blank[64];
    snprintf(blank, sizeof blank, "  %31s %3d ", "", 1);
    ck_assert_int_eq(strncmp(part + sizeof name - 1, blank, strlen(blank)), 0);
    snprintf(blank, sizeof blank, "  %29s drain current ", "");
    ck_assert_int_eq(strncmp(first + sizeof name - 1, blank, strlen(blank)), 0);
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, what_the_stages_lose_is_what_is_lost, 0,
                        (int)(sizeof examples / sizeof *examples));
    tcase_add_test(tests, each_stage_tells_its_waveforms);
    tcase_add_test(tests, every_broken_limit_has_its_line);
    tcase_add_test(tests, a_long_name_has_a_line_of_its_own);
}

int main(void)
{
    return story_main("ledger", fill);
}
