/* warmup.c - `heatledger warmup`: temperatures of an adapter over hours of load. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/command.h"
#include "cli/csv_text.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/wrapped.h"
#include "lua/lua_warmup.h"

static const char help[] =
    "usage: heatledger warmup FILE.lua [--profile NAME | --step \"STEP\"... | --for TIME]\n"
    "                         [--from cold|steady] [--cycles N] [--every TIME]\n"
    "                         [--limit NODE=TEMPERATURE]... [--set NAME=VALUE]... [--json | --csv]\n"
    "\n"
    "Follow the adapter that FILE.lua returns over time: from cold or from a steady point, through\n"
    "steps of load; the losses follow temperature and load.  Shows each part's peak and when it\n"
    "reaches its limit.  Without a profile or steps the load of the script is held for 4 h.\n"
    "\n"
    "  --profile NAME    a profile of the script: charger:profile \"NAME\" { ... }\n"
    "  --step STEP       \"1 for 30 min\" holds a load factor, \"1 to 0.1 for 1 h\" tapers; may be repeated\n"
    "  --for TIME        hold the load this long\n"
    "  --from START      cold (default), or steady: balanced at the first step's load\n"
    "  --cycles N        run through the steps N times\n"
    "  --every TIME      time between rows\n"
    "  --limit N=T       when is node N as hot as T?  The parts' own limits and that of\n"
    "                    touch are watched anyway\n"
    "  --set NAME=VALUE  change a setting for this run; may be repeated\n"
    "  --json            print the schema heatledger.warmup/1\n"
    "  --csv             print the rows: time, load, loss, one column for each node in degC\n"
    "  --strict          exit with 2 when a limit is reached\n" OPTION_HELP_SCRIPT
    "  --quiet           errors only: no warnings, no progress\n"
    "\n"
    "exit: 0 good, 1 bad input, 2 a limit is reached (with --strict), 3 no solution on the way\n";

static const double kelvin = 273.15;

typedef struct choices {
    session_options session;
    const char *profile, *duration, *from, *cycles, *every;
    option_list steps, limits;
    bool json, csv, strict;
} choices;

/* What the protected part needs and leaves. */
typedef struct warmup_run {
    const choices *chosen;
    bound_design *bound;
    hl_course *course;
    hl_diagnostics *said;
    hl_status status;
    char name[64];
} warmup_run;

static bool parse(int argc, char **argv, choices *chosen)
{
    memset(chosen, 0, sizeof *chosen);
    const own_option own[] = {{"profile", OWN_TEXT, &chosen->profile},
                              {"for", OWN_TEXT, &chosen->duration},
                              {"from", OWN_TEXT, &chosen->from},
                              {"cycles", OWN_TEXT, &chosen->cycles},
                              {"every", OWN_TEXT, &chosen->every},
                              {"step", OWN_LIST, &chosen->steps},
                              {"limit", OWN_LIST, &chosen->limits},
                              {"json", OWN_FLAG, &chosen->json},
                              {"csv", OWN_FLAG, &chosen->csv},
                              {"strict", OWN_FLAG, &chosen->strict},
                              {NULL, OWN_FLAG, NULL}};
    if (!options_read("warmup", argc, argv, &chosen->session, own)) return false;
    if ((chosen->profile != NULL) + (chosen->duration != NULL) + (chosen->steps.n > 0) > 1)
        fputs("heatledger warmup: --profile, --step and --for exclude each other\n", stderr);
    else if (chosen->json && chosen->csv)
        fputs("heatledger warmup: --json or --csv, not both\n", stderr);
    else
        return true;
    return false;
}

/* -------------------------------------------------------------------- run -- */

static void set_text(lua_State *L, const char *name, const char *text)
{
    if (!text) return;
    lua_pushstring(L, text);
    lua_setfield(L, -2, name);
}

static void set_list(lua_State *L, const char *name, const option_list *list)
{
    lua_createtable(L, (int)list->n, 0);
    for (size_t i = 0; i < list->n; i++) {
        lua_pushstring(L, list->text[i]);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    lua_setfield(L, -2, name);
}

/* Pushes the profile that the options ask for, as scripts/heatledger/profile.lua makes it. */
static void push_table(lua_State *L, const choices *chosen)
{
    lua_getglobal(L, "require");
    lua_pushliteral(L, "heatledger.profile");
    lua_call(L, 1, 1);
    lua_getfield(L, -1, "of_options");
    lua_newtable(L);
    set_text(L, "name", chosen->profile);
    set_text(L, "duration", chosen->duration);
    set_text(L, "from", chosen->from);
    set_text(L, "cycles", chosen->cycles);
    set_text(L, "every", chosen->every);
    set_list(L, "steps", &chosen->steps);
    set_list(L, "limits", &chosen->limits);
    lua_getiuservalue(L, 1, 1);
    if (lua_istable(L, -1)) {
        lua_getfield(L, -1, "profiles");
        lua_remove(L, -2);
    }
    lua_call(L, 2, 1);
}

/* Protected: (design, run). */
static int run_protected(lua_State *L)
{
    warmup_run *run = lua_touserdata(L, 2);
    push_table(L, run->chosen);
    lua_getfield(L, -1, "name");
    const char *name = lua_tostring(L, -1);
    snprintf(run->name, sizeof run->name, "%s", name ? name : "profile");
    lua_pop(L, 1);
    const hl_profile *profile = profile_push(L, -1, run->bound);
    run->status = hl_warm_up(run->bound->workspace, profile, &run->course, run->said);
    return 0;
}

/* ------------------------------------------------------------------ print -- */

static void print_csv(const bound_design *bound, const hl_course *course)
{
    fputs("time_s,load,loss_w", stdout);
    for (size_t i = 0; i < hl_course_nodes(course); i++) {
        putchar(',');
        csv_field(stdout, hl_design_node_name(bound->design, i));
    }
    putchar('\n');
    for (size_t r = 0; r < hl_course_rows(course); r++) {
        hl_course_row row = hl_course_at(course, r);
        printf("%.6g,%.6g,%.6g", row.time, row.load, row.loss);
        for (size_t i = 0; i < hl_course_nodes(course); i++) printf(",%.3f", row.temperature[i] - kelvin);
        putchar('\n');
    }
}

/* 95 s, 12.5 min, 3.2 h. */
static const char *time_text(double seconds, char text[24])
{
    if (!isfinite(seconds))
        snprintf(text, 24, "-");
    else if (seconds < 120)
        snprintf(text, 24, "%.0f s", seconds);
    else if (seconds < 7200)
        snprintf(text, 24, "%.1f min", seconds / 60);
    else
        snprintf(text, 24, "%.2f h", seconds / 3600);
    return text;
}

static size_t hottest_of(const hl_course *course, hl_course_row row)
{
    size_t hottest = 0;
    for (size_t i = 1; i < hl_course_nodes(course); i++)
        if (row.temperature[i] > row.temperature[hottest]) hottest = i;
    return hottest;
}

/* What a line shows of load, losses and hottest node, without its time. */
static void row_text(const warmup_run *run, hl_course_row row, char *text, size_t size)
{
    size_t hottest = hottest_of(run->course, row);
    snprintf(text, size, "%6.3f %8.3f  %6.1f %s", row.load, row.loss, row.temperature[hottest] - kelvin,
             hl_design_node_name(run->bound->design, hottest));
}

/* A dozen rows spread over the course; of those that look the same, the first and the last. */
static void print_rows(const warmup_run *run)
{
    enum { SHOWN = 13 };
    size_t rows = hl_course_rows(run->course), shown = rows < SHOWN ? rows : SHOWN;
    char text[SHOWN][160];
    hl_course_row row[SHOWN];
    for (size_t k = 0; k < shown; k++) {
        row[k] = hl_course_at(run->course, shown > 1 ? k * (rows - 1) / (shown - 1) : 0);
        row_text(run, row[k], text[k], sizeof text[k]);
    }
    printf("  %10s %6s %8s  %s\n", "time", "load", "lost W", "hottest, degC");
    for (size_t k = 0; k < shown; k++) {
        bool before = k > 0 && !strcmp(text[k - 1], text[k]);
        bool after = k + 1 < shown && !strcmp(text[k + 1], text[k]);
        /* A step of the load has a row on either side of it, at one time. */
        bool twice = before && !(row[k].time > row[k - 1].time);
        char time[24];
        if (!(before && after) && !twice) printf("  %10s %s\n", time_text(row[k].time, time), text[k]);
    }
    putchar('\n');
}

static size_t print_peaks(const bound_design *bound, const hl_course *course)
{
    size_t broken = 0;
    printf("  %-34s %9s %10s %9s %10s\n", "node", "peak degC", "at", "limit", "reached");
    for (size_t i = 0; i < hl_course_nodes(course); i++) {
        hl_course_peak peak = hl_course_peak_of(course, i);
        char at[24], reached[24], limit[24] = "-";
        if (!isnan(peak.limit)) snprintf(limit, sizeof limit, "%.1f", peak.limit - kelvin);
        fputs("  ", stdout);
        wrapped_name(stdout, 2, 34, hl_design_node_name(bound->design, i));
        printf(" %9.1f %10s %9s %10s%s\n", peak.temperature - kelvin, time_text(peak.time, at), limit,
               time_text(peak.reached, reached), isfinite(peak.reached) ? " !" : "");
        broken += isfinite(peak.reached);
    }
    putchar('\n');
    return broken;
}

static void print_junctions(const bound_design *bound, const hl_course *course)
{
    for (size_t i = 0; i < hl_design_items(bound->design); i++) {
        const hl_item *item = hl_design_item(bound->design, i);
        if (!hl_part_commons(item->part)[HL_COMMON_TRANSIENT_IMPEDANCE].given) continue;
        printf("  junction of %-32s peak %6.1f degC\n", item->name,
               hl_course_junction_peak(course, i) - kelvin);
    }
}

static void print_text(const warmup_run *run)
{
    const hl_course_figures *f = hl_course_summary(run->course);
    printf("%s: warm-up, %s\n\n", hl_design_name(run->bound->design), run->name);
    print_rows(run);
    print_peaks(run->bound, run->course);
    print_junctions(run->bound, run->course);
    printf("  heat: %.1f J put in = %.1f J handed out + %.1f J stored\n"
           "  (off by %.1e J)\n"
           "  %u steps, circuit solved %u times, greatest correction %.1e of the losses\n",
           f->put_in, f->handed_out, f->stored, f->put_in - f->handed_out - f->stored, f->steps, f->solutions,
           f->worst_jump);
}

static bool print_json(const warmup_run *run)
{
    json_t *document = warmup_document(run->bound->design, run->course, run->name, run->bound->notes);
    return printed_json(document, 0);
}

static bool any_reached(const hl_course *course)
{
    for (size_t i = 0; i < hl_course_nodes(course); i++)
        if (isfinite(hl_course_peak_of(course, i).reached)) return true;
    return false;
}

static int print_course(const warmup_run *run)
{
    const choices *chosen = run->chosen;
    bool good = true;
    if (chosen->json) {
        good = print_json(run);
    } else if (chosen->csv)
        print_csv(run->bound, run->course);
    else
        print_text(run);
    session_print(run->bound->notes, session_least(&run->chosen->session));
    if (!printed_whole(good)) return EXIT_BAD_INPUT;
    if (hl_course_outcome(run->course) != HL_SOLVED) {
        fprintf(stderr, "no solution %s\n", hl_course_reason(run->course));
        return EXIT_NO_SOLUTION;
    }
    return chosen->strict && any_reached(run->course) ? EXIT_LIMIT_BROKEN : EXIT_GOOD;
}

static int warm_up(session *opened, warmup_run *run)
{
    lua_State *L = sandbox_state(opened->box); /* the design is on top */
    lua_pushcfunction(L, run_protected);
    lua_pushvalue(L, -2);
    lua_pushlightuserdata(L, run);
    if (!session_call(L, 2, 0)) return EXIT_BAD_INPUT;
    session_print(run->said, session_least(&run->chosen->session));
    return run->status == HL_OK ? print_course(run) : EXIT_BAD_INPUT;
}

static int run(int argc, char **argv)
{
    choices chosen;
    if (!parse(argc, argv, &chosen)) return EXIT_BAD_INPUT;
    session opened;
    int code = EXIT_BAD_INPUT;
    if (session_open(&opened, &chosen.session)) {
        warmup_run run = {.chosen = &chosen, .bound = opened.bound, .said = hl_diagnostics_create()};
        if (run.said) code = warm_up(&opened, &run);
        hl_course_destroy(run.course);
        hl_diagnostics_destroy(run.said);
    }
    session_close(&opened);
    return code;
}

extern const command command_warmup;
const command command_warmup = {"warmup", "temperatures over hours: load steps, charge profiles", help, run};
