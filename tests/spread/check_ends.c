/* check_ends.c - every value with a band at one end: from C, from the command, from a script. */
#include <stdlib.h>
#include <string.h>

#include "command_run.h"
#include "heatledger/spread.h"
#include "story.h"
#include "uncertain_buck.h"

static hl_status move(const uncertain_buck *buck, const char *word, double settings[])
{
    hl_place place = {"test", 0, 0};
    hl_design_defaults(buck->design, settings);
    return hl_design_end(buck->design, word, settings, &place, buck->said);
}

/* At the ends a band is written with; 5 % beyond where it has none; others keep their place. */
START_TEST(every_band_stands_at_its_end)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    double low[600], middle[600], high[600];
    ck_assert_int_eq(move(&buck, "low", low), HL_OK);
    ck_assert_int_eq(move(&buck, "typical", middle), HL_OK);
    ck_assert_int_eq(move(&buck, "high", high), HL_OK);
    size_t moved = 0;
    for (size_t i = 0; i < hl_design_settings(buck.design); i++) {
        hl_band band;
        ck_assert(hl_design_band(buck.design, i, &band));
        if (band.kind == HL_BAND_NONE || hl_design_setting(buck.design, i)->kind != HL_NUMBER) {
            ck_assert(!memcmp(&low[i], &high[i], sizeof low[i]));
            continue;
        }
        moved++;
        bool endless = band.kind == HL_BAND_NORMAL || band.kind == HL_BAND_LOG_NORMAL;
        ck_assert_double_eq(middle[i], band.central);
        ck_assert_double_eq(low[i], hl_band_quantile(&band, endless ? 0.05 : 0));
        ck_assert_double_eq(high[i], hl_band_quantile(&band, endless ? 0.95 : 1));
        ck_assert(band.opposed ? low[i] >= high[i] : low[i] <= high[i]);
    }
    ck_assert_uint_ge(moved, 5);
    drafted_end(&buck);
}
END_TEST

START_TEST(what_the_user_changed_stays)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    hl_place place = {"test", 0, 0};
    double settings[600];
    size_t at = drafted_setting(&buck, "buck.inductor.dc_resistance");
    hl_design_defaults(buck.design, settings);
    double stated = settings[at] *= 1.01;
    ck_assert_int_eq(hl_design_end(buck.design, "high", settings, &place, buck.said), HL_OK);
    ck_assert_double_eq(settings[at], stated);
    drafted_end(&buck);
}
END_TEST

START_TEST(another_word_is_refused)
{
    uncertain_buck buck;
    uncertain_buck_open(&buck);
    double settings[600];
    size_t before = hl_diagnostics_count(buck.said);
    ck_assert_int_eq(move(&buck, "hihg", settings), HL_BAD_INPUT);
    ck_assert_str_eq(hl_diagnostics_text(buck.said, before),
                     "test: 'hihg' is no end of a band: low, typical or high; did you mean high?");
    drafted_end(&buck);
}
END_TEST

/* Loss of the marked charger in W at an end of all bands; `command` reaches it through C or through a script.
 */
static double loss_at(const char *command, int loss_column, const char *end)
{
    const char *arguments[] = {
        command, HL_PROJECT_SOURCE "/examples/desk_charger/marked.lua", "--quiet", "--csv", "--bands", end,
        NULL};
    command_output said = command_run(arguments);
    ck_assert_msg(said.code == 0, "%s", said.error);
    double sum = 0;
    const char *row = strchr(said.out, '\n');
    for (; row && row[1]; row = strchr(row + 1, '\n')) {
        const char *cell = row + 1;
        for (int column = 0; cell && column < loss_column; column++) cell = strchr(cell, ',') + 1;
        sum += strtod(cell, NULL);
    }
    command_free(&said);
    return sum;
}

/* Nearly every value of it has a band and costs more when it is higher: a fifth less, half as much again. */
START_TEST(commands_follow_the_option)
{
    static const char *const ends[] = {"low", "typical", "high"};
    static const struct {
        const char *name;
        int loss_column;
    } commands[] = {{"solve", 2}, {"efficiency", 5}};
    for (size_t k = 0; k < 2; k++) {
        double loss[3];
        for (int e = 0; e < 3; e++) loss[e] = loss_at(commands[k].name, commands[k].loss_column, ends[e]);
        ck_assert_msg(loss[0] < 0.8 * loss[1] && loss[2] > 1.5 * loss[1], "%s: %g, %g, %g W",
                      commands[k].name, loss[0], loss[1], loss[2]);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_band_stands_at_its_end);
    tcase_add_test(tests, what_the_user_changed_stays);
    tcase_add_test(tests, another_word_is_refused);
    tcase_add_test(tests, commands_follow_the_option);
}

int main(void)
{
    return story_main("ends", fill);
}
