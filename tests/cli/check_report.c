/* check_report.c - the report as its reader's browser meets it: whole, well formed, honest, and safe. */
#include <signal.h>
#include <stdbool.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command_run.h"
#include "scratch_folder.h"
#include "story.h"

static char *read_whole(const char *path, size_t *length)
{
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "no file %s", path);
    size_t room = 8 << 20;
    char *text = malloc(room);
    ck_assert_ptr_nonnull(text);
    *length = fread(text, 1, room - 1, file);
    text[*length] = '\0';
    fclose(file);
    return text;
}

/* -------------------------------------------------------------- well formed -- */

enum { DEPTH_MAX = 64, TAG_MAX = 24 };

static bool is_void(const char *tag)
{
    static const char *const names[] = {"meta", "wbr", "br", "hr", NULL};
    for (size_t i = 0; names[i]; i++)
        if (!strcmp(names[i], tag)) return true;
    return false;
}

/* Every tag that opens closes, in order; text holds no bare < or >. */
static void check_balance(const char *html, const char *name)
{
    char open[DEPTH_MAX][TAG_MAX];
    size_t depth = 0;
    for (const char *at = strchr(html, '<'); at; at = strchr(at, '<')) {
        const char *end = strchr(at, '>');
        ck_assert_msg(end != NULL, "%s: a tag does not end: %.60s", name, at);
        bool closing = at[1] == '/', own = end[-1] == '/';
        char tag[TAG_MAX] = "";
        sscanf(at + 1 + closing, "%23[a-zA-Z0-9:]", tag);
        bool style = !strcmp(tag, "style") && !closing;
        at = end + 1;
        if (!*tag) continue; /* <!DOCTYPE html> */
        if (style) at = strstr(at, "</style>");
        ck_assert_ptr_nonnull(at);
        if (closing) {
            ck_assert_msg(depth > 0 && !strcmp(open[depth - 1], tag), "%s: </%s> closes <%s>", name, tag,
                          depth ? open[depth - 1] : "nothing");
            depth--;
        } else if (!own && !is_void(tag)) {
            ck_assert_msg(depth < DEPTH_MAX, "%s: too deep", name);
            snprintf(open[depth++], TAG_MAX, "%s", tag);
        }
    }
    ck_assert_msg(depth == 0, "%s: <%s> is left open", name, open[depth ? depth - 1 : 0]);
}

static size_t count(const char *text, const char *word)
{
    size_t n = 0;
    for (const char *at = text; (at = strstr(at, word)) != NULL; at += strlen(word)) n++;
    return n;
}

/* Nothing that reaches out of the file or runs. */
static void check_self_contained(const char *html, const char *name)
{
    static const char *const foreign[] = {"<script", "javascript:", "src=",   "@import", "url(",
                                          "<link",   "<iframe",     "onload", NULL};
    for (size_t i = 0; foreign[i]; i++)
        ck_assert_msg(!strstr(html, foreign[i]), "%s holds '%s'", name, foreign[i]);
    for (const char *at = html; (at = strstr(at, "http")) != NULL; at += 4)
        ck_assert_msg(!strncmp(at, "http://www.w3.org/", 18), "%s: an address: %.50s", name, at);
}

/* Figures are figures: no word of a number that is none. */
static void check_figures(const char *html, const char *name)
{
    static const char *const words[] = {">nan",  ">-nan",  ">inf",      ">nil",     "nan W",
                                        "inf W", "nan °C", "table: 0x", "userdata", NULL};
    for (size_t i = 0; words[i]; i++) ck_assert_msg(!strstr(html, words[i]), "%s shows '%s'", name, words[i]);
}

static void check_page(const char *html, const char *name)
{
    check_balance(html, name);
    check_self_contained(html, name);
    check_figures(html, name);
    ck_assert_uint_eq(count(html, "<h1>"), 1);
    ck_assert_ptr_nonnull(strstr(html, "lang=\"en\""));
    ck_assert_ptr_nonnull(strstr(html, "charged capacitors kill"));
    ck_assert_msg(count(html, "<svg") == count(html, "role=\"img\" aria-labelledby="),
                  "%s: a picture without a title", name);
}

/* What the report writes to `page`; to be freed. */
static char *page_of(const char *const arguments[], const char *page)
{
    size_t length;
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    command_free(&output);
    return read_whole(page, &length);
}

/* ------------------------------------------------------------------- stories -- */

static const char *const examples[] = {"desk_charger/charger", "wall_adapter/adapter", "tool_charger/charger",
                                       "small_adapter/adapter"};

START_TEST(every_example_gives_a_whole_page)
{
    char script[400];
    snprintf(script, sizeof script, "%s/examples/%s.lua", HL_PROJECT_SOURCE, examples[_i]);
    const char *page = scratch_file("example.html");
    const char *arguments[] = {"report", script, "--to", page, NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 0, "%s: exit %d: %s", script, output.code, output.error);
    ck_assert_msg(!strstr(output.error, "gnuplot"), "%s", output.error);
    command_free(&output);
    size_t length;
    char *html = read_whole(page, &length);
    check_page(html, examples[_i]);
    ck_assert_msg(length < 3u << 20, "%zu bytes", length);
    static const char *const sections[] = {"flow", "losses",   "temperatures", "case",   "curves", "warm-up",
                                           "sure", "headroom", "law",          "inputs", "notes"};
    for (size_t i = 0; i < sizeof sections / sizeof *sections; i++) {
        char heading[60];
        snprintf(heading, sizeof heading, "<h2 id=\"%s\">", sections[i]);
        ck_assert_msg(count(html, heading) == 1, "%s has %zu of section %s", examples[_i],
                      count(html, heading), sections[i]);
    }
    /* The watt flow, the case, and three charts; each with a table behind it. */
    ck_assert_uint_eq(count(html, "<svg"), 5);
    ck_assert_uint_ge(count(html, "The figures of this picture"), 5);
    free(html);
}
END_TEST

/* A name is text wherever it stands, whatever it holds. */
START_TEST(names_cannot_become_markup)
{
    const char *page = scratch_file("hostile.html");
    scratch_write("parts.yaml",
                  "heatledger: parts/1\nparts:\n  shunt: {model: resistor, description: \"<img src=x "
                  "onerror=alert(2)>\", resistance: 10 mohm}\n");
    const char *script = scratch_write(
        "hostile.lua",
        "local hl = require 'heatledger'\nlocal part = hl.parts 'parts.yaml'\n"
        "local a = hl.adapter \"<script>alert(1)</script> & \\\"quotes\\\" 'x'\"\n"
        "a:supply { voltage = '24 V' }\n"
        "a:stage 'out' { model = 'output_switch', fed_by = 'source', sense_resistor = part.shunt }\n"
        "a:port 'port' { fed_by = 'out', voltage = '24 V', current = '1 A' }\nreturn a\n");
    const char *arguments[] = {"report", script, "--to", page, "--what-if", "</table><b>: load=0.5", NULL};
    char *html = page_of(arguments, page);
    check_page(html, "hostile");
    ck_assert_ptr_nonnull(
        strstr(html, "&lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;quotes&quot; &#39;x&#39;"));
    ck_assert_ptr_nonnull(strstr(html, "&lt;/table&gt;&lt;b&gt;"));
    free(html);
}
END_TEST

START_TEST(a_point_without_a_solution_says_so)
{
    const char *page = scratch_file("none.html");
    const char *arguments[] = {"report", HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua",
                               "--to",   page,
                               "--set",  "mains.voltage=20 V",
                               NULL};
    command_output output = command_run(arguments);
    ck_assert_msg(output.code == 3, "exit %d: %s", output.code, output.error);
    ck_assert_ptr_nonnull(strstr(output.error, "no solution"));
    command_free(&output);
    size_t length;
    char *html = read_whole(page, &length);
    check_page(html, "none");
    ck_assert_ptr_nonnull(strstr(html, "No solution (infeasible)"));
    free(html);
}
END_TEST

/* No gnuplot at all; one that this user may not run: the system says "permission denied" then, as it does of
 * a folder on the PATH that only root may enter; or 127, which a child that never became gnuplot ends with
 * (POSIX.1-2017, posix_spawn) where the system tells of it no sooner. */
START_TEST(without_a_plotter_the_tables_stand_alone)
{
    char *before = strdup(getenv("PATH"));
    const char *page = scratch_file("tables.html");
    setenv("PATH", scratch_folder, 1);
    const char *barred = _i ? scratch_write("gnuplot", _i == 2 ? "#!/bin/sh\nexit 127\n" : "") : NULL;
    if (_i == 2) ck_assert_int_eq(chmod(barred, 0700), 0);
    const char *arguments[] = {"report", HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua", "--to",
                               page, NULL};
    command_output output = command_run(arguments);
    setenv("PATH", before, 1);
    free(before);
    ck_assert_msg(output.code == 0, "exit %d: %s", output.code, output.error);
    ck_assert_msg(strstr(output.error, "no gnuplot") && strstr(output.error, "apt-get install gnuplot-nox") &&
                      strstr(output.error, "shown as tables") && !strstr(output.error, "ermission"),
                  "%s", output.error);
    if (barred) unlink(barred);
    command_free(&output);
    size_t length;
    char *html = read_whole(page, &length);
    check_page(html, "tables");
    ck_assert_uint_eq(count(html, "<svg"), 2);
    ck_assert_ptr_nonnull(strstr(html, "efficiency, % over load"));
    free(html);
}
END_TEST

/* A room hotter than parts may be: said in words, and what gives way first may be a face. */
START_TEST(a_room_hotter_than_its_parts_may_be_is_told)
{
    const char *page = scratch_file("hot.html");
    const char *arguments[] = {"report",    HL_PROJECT_SOURCE "/examples/wall_adapter/adapter.lua",
                               "--to",      page,
                               "--samples", "0",
                               "--set",     "ambient.temperature=120 degC",
                               "--what-if", "cool: ambient.temperature=25 degC",
                               NULL};
    char *html = page_of(arguments, page);
    check_page(html, "hot");
    ck_assert_ptr_nonnull(strstr(html, "over its limit"));
    ck_assert_ptr_nonnull(strstr(html, "the room alone is above"));
    ck_assert_ptr_nonnull(strstr(html, "touch, plastic"));
    ck_assert_ptr_null(strstr(html, "inf\u00a0%"));
    const char *as_it_is = strstr(html, "as it is<span class=\"what\">"), *cool = strstr(html, "cool<span");
    const char *red = as_it_is ? strstr(as_it_is, "<span class=\"bad\">first to give way") : NULL;
    ck_assert_msg(red && cool && red < cool, "what is broken is not red among the what-ifs");
    ck_assert_ptr_nonnull(strstr(cool, "; first to give way")); /* and what is not is plain */
    free(html);
}
END_TEST

/* Of the line that says over how many values the samples go; 0: that none has a band. */
static int unknown_values(const char *const more[3])
{
    const char *path = scratch_file("sure.html");
    const char *arguments[] = {"report",    HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua",
                               "--samples", "20",
                               "--to",      path,
                               more[0],     more[1],
                               more[2],     NULL};
    char *html = page_of(arguments, path);
    const char *at = strstr(html, "over the bands of ");
    ck_assert_msg(at || strstr(html, "No value has a band"), "nothing is said of how sure it is");
    int n = at ? atoi(at + strlen("over the bands of ")) : 0;
    free(html);
    return n;
}

START_TEST(what_is_set_has_no_band_in_the_report)
{
    int open = unknown_values((const char *const[3]){NULL});
    ck_assert_int_gt(open, 10);
    ck_assert_int_eq(
        unknown_values((const char *const[3]){"--set", "flyback.rectifier.leakage_doubling=12 K", NULL}),
        open - 1);
    /* at an end of its band a value is known too; the choice of an end is no setting */
    ck_assert_int_lt(unknown_values((const char *const[3]){"--bands", "high", NULL}), open);
}
END_TEST

/* Samples without a solution stand among the key figures, and nothing speaks of nine in ten without them. */
START_TEST(samples_without_a_solution_are_a_headline)
{
    const char *path = scratch_file("warm.html");
    const char *arguments[] = {"report", HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua",
                               "--set",  "ambient.temperature=65 degC",
                               "--to",   path,
                               NULL};
    char *html = page_of(arguments, path);
    check_balance(html, "warm");
    const char *tile = strstr(html, "<dt>without a solution</dt>"), *end = strstr(html, "</dl>");
    ck_assert_msg(tile && tile < end, "no key figure tells of samples without a solution");
    ck_assert_ptr_nonnull(strstr(tile, "run-away led by"));
    ck_assert_ptr_nonnull(strstr(html, "<dt>without a solution</dt><dd class=\"bad\">"));
    const char *sure = strstr(html, "id=\"sure\"");
    ck_assert_ptr_nonnull(strstr(sure, "of the 400 samples ("));
    ck_assert_ptr_nonnull(strstr(sure, "nine cases in ten of those that solve lie between low and high"));
    ck_assert_ptr_nonnull(strstr(sure, "What separates samples without a solution from the others"));
    ck_assert_ptr_nonnull(strstr(sure, "Measure output_diode.leakage_doubling first"));
    ck_assert_ptr_nonnull(strstr(html, "°C to run-away"));
    free(html);
}
END_TEST

/* What a standard beside the laws asks for and does not get, here of a resistor that is too large, stands
 * among the key figures. */
START_TEST(a_standard_that_is_not_met_is_a_headline)
{
    const char *path = scratch_file("plug.html");
    const char *arguments[] = {"report",    HL_PROJECT_SOURCE "/examples/desk_charger/charger.lua",
                               "--set",     "filter.discharge_resistor.resistance=2 Mohm",
                               "--samples", "0",
                               "--to",      path,
                               NULL};
    char *html = page_of(arguments, path);
    const char *tile =
                   strstr(html, "<dt>harmonics, plug</dt><dd class=\"bad\">1 not met<small>IEC 62368-1: "),
               *end = strstr(html, "</dl>");
    ck_assert_msg(tile && tile < end, "no key figure tells that the plug is not emptied in time");
    ck_assert_ptr_nonnull(strstr(html, "<dt>efficiency laws</dt><dd>met, as computed"));
    free(html);
}
END_TEST

/* A broken limit at the head is as red as a law that is not met. */
START_TEST(what_is_broken_is_red_at_the_head)
{
    const char *path = scratch_file("red.html");
    const char *arguments[] = {"report",    HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua",
                               "--set",     "ambient.temperature=28 degC",
                               "--set",     "load=1.7",
                               "--samples", "0",
                               "--to",      path,
                               NULL};
    static const char *const red[] = {"<dt>gives way first</dt><dd class=\"bad\">",
                                      "<dt>hottest part</dt><dd class=\"bad\">"};
    static const char *const plain[] = {"<dt>hottest face, mean</dt><dd>", "<dt>efficiency</dt><dd>"};
    char *html = page_of(arguments, path);
    for (size_t i = 0; i < 2; i++) {
        ck_assert_msg(strstr(html, red[i]) != NULL, "not red: %s", red[i]);
        ck_assert_msg(strstr(html, plain[i]) != NULL, "red: %s", plain[i]);
    }
    free(html);
    arguments[3] = "ambient.temperature=25 degC", arguments[5] = "load=1";
    html = page_of(arguments, path);
    ck_assert_ptr_null(strstr(html, "<dd class=\"bad\">"));
    free(html);
}
END_TEST

/* What a script states without an origin is not said to come from a data sheet. */
START_TEST(a_figure_without_an_origin_is_stated)
{
    const char *path = scratch_file("origins.html");
    const char *arguments[] = {
        "report", HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua", "--samples", "0", "--to", path,
        NULL};
    char *html = page_of(arguments, path);
    ck_assert_ptr_nonnull(strstr(html, " stated without an origin, "));
    const char *stated = strstr(html, "Values stated without an origin"),
               *sheets = strstr(html, "Values with origin datasheet");
    ck_assert(stated && sheets && sheets < stated);
    static const char output_voltage[] = "flyback.<wbr>output_<wbr>voltage";
    ck_assert_ptr_nonnull(strstr(stated, output_voltage));
    const char *in_sheets = strstr(sheets, output_voltage);
    ck_assert_msg(in_sheets > stated, "a value of the script is said to come from a data sheet");
    free(html);
}
END_TEST

/* A disk without room: an error, and the report of yesterday is still there. */
START_TEST(a_full_disk_leaves_the_old_page)
{
    const char *page = scratch_write("old.html", "yesterday");
    struct rlimit before, small;
    ck_assert_int_eq(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = 4096;
    const char *arguments[] = {"report", HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua", "--to",
                               page, NULL};
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &small), 0);
    signal(SIGXFSZ, SIG_IGN);
    command_output output = command_run(arguments);
    ck_assert_int_eq(setrlimit(RLIMIT_FSIZE, &before), 0);
    ck_assert_msg(output.code == 1, "exit %d", output.code);
    ck_assert_msg(strstr(output.error, "still there") != NULL, "%s", output.error);
    command_free(&output);
    size_t length;
    char *text = read_whole(page, &length);
    ck_assert_str_eq(text, "yesterday");
    free(text);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_loop_test(tests, every_example_gives_a_whole_page, 0,
                        (int)(sizeof examples / sizeof *examples));
    tcase_add_test(tests, names_cannot_become_markup);
    tcase_add_test(tests, a_point_without_a_solution_says_so);
    tcase_add_loop_test(tests, without_a_plotter_the_tables_stand_alone, 0, 3);
    tcase_add_test(tests, a_room_hotter_than_its_parts_may_be_is_told);
    tcase_add_test(tests, what_is_set_has_no_band_in_the_report);
    tcase_add_test(tests, samples_without_a_solution_are_a_headline);
    tcase_add_test(tests, a_standard_that_is_not_met_is_a_headline);
    tcase_add_test(tests, what_is_broken_is_red_at_the_head);
    tcase_add_test(tests, a_figure_without_an_origin_is_stated);
    tcase_add_test(tests, a_full_disk_leaves_the_old_page);
}

int main(void)
{
    return story_main("report", fill);
}
