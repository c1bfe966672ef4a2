/* check_case_map.c - the report's picture of the case and its tables: letters that can be read on every
 * colour. source: W3C, Web Content Accessibility Guidelines 2.1, relative luminance; success criterion 1.4.3.
 */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "command_run.h"
#include "story.h"

/* Faces are painted in patches, cool beside hot, as a heat field finds them. */
static const char chunk[] =
    "local map = require 'heatledger.report.case_map' "
    "local low, high = %d, %d local faces = {} "
    "for i, name in ipairs { 'x0', 'x1', 'y0', 'y1', 'z0', 'z1' } do "
    "  local n, axis = 3, (i + 1) // 2 local patches = {} "
    "  for a = 0, n - 1 do for b = 0, n - 1 do "
    "    local from, to = { 0, 0, 0 }, { 0.06, 0.06, 0.06 } "
    "    local u, v = axis %% 3 + 1, (axis + 1) %% 3 + 1 "
    "    from[u], to[u], from[v], to[v] = 0.02 * a, 0.02 * a + 0.02, 0.02 * b, 0.02 * b + 0.02 "
    "    local t = low + (high - low) * ((a * n + b + i) %% 9) / 8 "
    "    patches[#patches + 1] = { low_m = from, high_m = to, temperature_c = t } "
    "  end end "
    "  faces[name] = { mean = (low + high) / 2, maximum = high, patches = patches } "
    "end "
    "print(map.picture({ size = { 0.06, 0.06, 0.06 }, up = 'z1' }, faces, 25))";

static command_output stock(const char *text)
{
    const char *arguments[] = {"LUA_PATH=" HL_PROJECT_SOURCE "/scripts/?.lua;;", "lua5.4", "-e", text, NULL};
    return program_run("/usr/bin/env", arguments);
}

static double channel(unsigned value)
{
    double share = value / 255.0;
    return share <= 0.03928 ? share / 12.92 : pow((share + 0.055) / 1.055, 2.4);
}

static double luminance(unsigned r, unsigned g, unsigned b)
{
    return 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b);
}

/* The least contrast of black and of white letters in a box around (x, y) with what is painted there. */
static void contrasts(const char *picture, double x, double y, double half, double *black, double *white)
{
    *black = *white = 21;
    for (const char *at = picture; (at = strstr(at, "<rect x=")) != NULL; at++) {
        double left, top, w, h;
        unsigned r, g, b;
        if (sscanf(at, "<rect x=\"%lf\" y=\"%lf\" width=\"%lf\" height=\"%lf\" fill=\"#%2x%2x%2x\"", &left,
                   &top, &w, &h, &r, &g, &b) != 7)
            continue;
        if (left > x + half || left + w < x - half || top > y || top + h < y - 8) continue;
        double bright = luminance(r, g, b);
        *black = fmin(*black, (bright + 0.05) / 0.05);
        *white = fmin(*white, 1.05 / (bright + 0.05));
    }
}

static bool holds(const char *from, const char *to, const char *word)
{
    const char *found = strstr(from, word);
    return found && found < to;
}

/* Either the letters stand out by 4.5 on all that is below them, or they have a rim of the other ink. */
START_TEST(letters_stand_out_on_every_patch)
{
    static const int range[][2] = {{40, 80}, {25, 120}};
    char text[2000];
    snprintf(text, sizeof text, chunk, range[_i][0], range[_i][1]);
    command_output output = stock(text);
    ck_assert_msg(output.code == 0, "%s", output.error);
    size_t letters = 0;
    for (const char *at = output.out; (at = strstr(at, "<text class=\"on\"")) != NULL; at++, letters++) {
        double x, y, black, white;
        char ink[4] = "";
        ck_assert_int_eq(
            sscanf(at, "<text class=\"on\" x=\"%lf\" y=\"%lf\" style=\"fill:#%3[0f]", &x, &y, ink), 3);
        const char *end = strchr(at, '>');
        bool rim = holds(at, end, "paint-order:stroke");
        contrasts(output.out, x, y, 20, &black, &white);
        double found = strcmp(ink, "fff") ? black : white;
        ck_assert_msg(found >= 4.5 || rim, "contrast %.2f at %.80s", found, at);
        if (rim) ck_assert(holds(at, end, strcmp(ink, "fff") ? "stroke:#fff" : "stroke:#000"));
    }
    ck_assert_uint_eq(letters, 18);
    ck_assert_ptr_null(strstr(output.out, " most<"));
    command_free(&output);
}
END_TEST

/* Rows of a picture's table end where nothing changes to the digit shown; hours are never kilo-hours. */
START_TEST(tables_show_no_row_thrice)
{
    command_output output = stock("local chart = require 'heatledger.report.chart' local points = {} "
                                  "for k = 1, 50 do points[k] = { k, 130 - 100 / k ^ 3 } end "
                                  "local html = chart.figure(nil, 'x', { title = 't', x_title = 'min', "
                                  "y_title = 'degC', shown = '%.1f', "
                                  "series = { { title = 's', points = points } } }) "
                                  "local _, n = html:gsub('>130%.0<', '') io.write(n, ' ', "
                                  "html:find('alike', 1, true) and 'said' or '', ' ', "
                                  "require 'heatledger.report.number'.with_unit(15000, 'h'))");
    ck_assert_msg(output.code == 0, "%s", output.error);
    ck_assert_str_eq(output.out, "2 said 15000\u00a0h");
    command_free(&output);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, letters_stand_out_on_every_patch, 0, 2);
    tcase_add_test(tests, tables_show_no_row_thrice);
}

int main(void)
{
    return story_main("case map", fill);
}
