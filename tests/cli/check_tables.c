/* check_tables.c - the tables of commands, as their reader meets them: what a column holds, no row twice. */
#include <string.h>

#include "command_run.h"
#include "story.h"

#define ADAPTER HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua"

static command_output good(const char *const arguments[])
{
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    return output;
}

static size_t count(const char *text, const char *word)
{
    size_t n = 0;
    for (const char *at = text; (at = strstr(at, word)) != NULL; at += strlen(word)) n++;
    return n;
}

/* A column of changes holds changes alone; what is changed stands above, with units. */
START_TEST(a_swap_tells_changes_apart_from_figures)
{
    command_output output = good((const char *const[]){"swap", ADAPTER, "--catalogue", "--slot",
                                                       "flyback.rectifier", "--top", "4", NULL});
    ck_assert_ptr_eq(strstr(output.out, "as it is: case "), output.out);
    ck_assert_ptr_nonnull(strstr(output.out, " degC, lost "));
    ck_assert_ptr_nonnull(strstr(output.out, "        -        -      -\n"));
    const char *row = strstr(output.out, "\nflyback.rectifier: ");
    for (int k = 0; k < 4; k++, row = strchr(row + 1, '\n')) { /* all with two decimals */
        ck_assert_msg(row && strlen(row) > 54, "row %d of:\n%s", k, output.out);
        const char *point = memchr(row + 39, '.', 16);
        ck_assert_msg(point && point == row + 51, "%.60s", row);
    }
    command_free(&output);
}
END_TEST

/* However far a swap throws a part over its limit, and however long its name: within eighty columns. */
START_TEST(swaps_keep_within_eighty_columns)
{
    command_output output = good((const char *const[]){"swap", ADAPTER, "--catalogue", "--top", "700", NULL});
    size_t lines = 0;
    for (char *line = strtok(output.out, "\n"); line; line = strtok(NULL, "\n"), lines++)
        ck_assert_msg(strlen(line) <= 80, "%s", line);
    ck_assert_uint_ge(lines, 700);
    command_free(&output);
}
END_TEST

/* Between two steps of one load nothing jumps, so that time has one row; between two loads it has two. */
START_TEST(a_time_has_two_rows_where_the_load_jumps)
{
    static const char *const second[] = {"1 for 10 min", "0.5 for 10 min"};
    for (size_t i = 0; i < 2; i++) {
        command_output output = good((const char *const[]){"warmup", ADAPTER, "--step", "1 for 10 min",
                                                           "--step", second[i], "--every", "4 min", NULL});
        ck_assert_uint_eq(count(output.out, "\n    10.0 min "), i + 1);
        command_free(&output);
    }
}
END_TEST

START_TEST(rows_that_look_the_same_are_left_out)
{
    command_output output = good((const char *const[]){"warmup", ADAPTER, "--for", "20 h", NULL});
    const char *end = strstr(output.out, "\n\n  node "), *begin = strstr(output.out, "hottest, degC\n");
    ck_assert(begin && end);
    size_t rows = 0;
    for (const char *at = begin; at < end && (at = strchr(at, '\n')) != NULL; at++) rows++;
    ck_assert_msg(rows >= 4 && rows <= 8, "%zu rows of:\n%s", rows, output.out);
    ck_assert_ptr_nonnull(strstr(output.out, "\n     20.00 h ")); /* the last one stays */
    command_free(&output);
}
END_TEST

/* Of 40 draws no share has decimals, and what is left out has the heading's unit. */
START_TEST(a_spread_shows_what_its_draws_tell)
{
    command_output output = good((const char *const[]){"spread", ADAPTER, "--samples", "40", "--totals", "0",
                                                       "--set", "ambient.temperature=60 degC", NULL});
    ck_assert_ptr_nonnull(strstr(output.out, " more below 50 %, of points that solve\n"));
    const char *broken = strstr(output.out, "\nlimits that may be broken, of points that solve\n");
    for (; broken && *broken; broken = strchr(broken + 1, '\n'))
        if (broken[1] && strchr(broken + 1, '%') == strchr(broken + 1, '\n') - 1)
            ck_assert_msg(strchr(broken + 1, '%')[-4] != '.', "%s", broken);
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_swap_tells_changes_apart_from_figures);
    tcase_add_test(tests, swaps_keep_within_eighty_columns);
    tcase_add_test(tests, a_time_has_two_rows_where_the_load_jumps);
    tcase_add_test(tests, rows_that_look_the_same_are_left_out);
    tcase_add_test(tests, a_spread_shows_what_its_draws_tell);
}

int main(void)
{
    return story_main("tables", fill);
}
