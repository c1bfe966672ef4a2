/* solve.c - `heatledger solve`: one operating point as a ledger or as JSON. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/border.h"
#include "cli/command.h"
#include "cli/csv_text.h"
#include "cli/heat_text.h"
#include "cli/ledger_csv.h"
#include "cli/ledger_text.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/stage_text.h"
#include "cli/wrapped.h"
#include "lua/document.h"
#include "lua/json_tree.h"
#include "lua/lua_heat.h"

static const char help[] =
    "usage: heatledger solve FILE.lua [--set NAME=VALUE]... [--json | --csv] [--strict]\n"
    "\n"
    "Solve the adapter that FILE.lua returns: where the watts go, how hot each part is, what\n"
    "gives way first.\n"
    "\n"
    "  --set NAME=VALUE  change a setting for this run, such as mains.voltage='115 V', load=0.5,\n"
    "                    or any stage's or part's figure; may be repeated\n"
    "  --stages          show also each stage's frequency, duty, currents and voltages, to compare\n"
    "                    with an oscilloscope (--json always tells them)\n"
    "  --ways            show also by which nodes or faces each part's heat gets out, in W\n"
    "  --links           show also every thermal link with its law, figures and watts\n"
    "  --border          show also how far load and ambient may rise before run-away (where it ran\n"
    "                    away: how far they must come down; that is told anyway)\n"
    "  --settings        list the settings with their values and meanings instead of solving\n"
    "  --json            print the result in the schema heatledger.result/1\n"
    "  --csv             one row for each part: watts, temperature, tightest limit, its mechanisms;\n"
    "                    with --settings one row for each setting\n"
    "  --strict          exit with 2 when any limit is used beyond 100 %\n" OPTION_HELP_SCRIPT
    "  --quiet           errors only: no warnings, no progress\n"
    "\n"
    "exit: 0 good, 1 bad input, 2 a limit is broken (with --strict), 3 no solution\n";

typedef struct choices {
    session_options session;
    bool json, csv, strict, settings, stages, ways, links, border;
} choices;

static bool parse(int argc, char **argv, choices *chosen)
{
    memset(chosen, 0, sizeof *chosen);
    const own_option own[] = {{"settings", OWN_FLAG, &chosen->settings},
                              {"json", OWN_FLAG, &chosen->json},
                              {"csv", OWN_FLAG, &chosen->csv},
                              {"strict", OWN_FLAG, &chosen->strict},
                              {"stages", OWN_FLAG, &chosen->stages},
                              {"ways", OWN_FLAG, &chosen->ways},
                              {"links", OWN_FLAG, &chosen->links},
                              {"border", OWN_FLAG, &chosen->border},
                              {NULL, OWN_FLAG, NULL}};
    return options_read("solve", argc, argv, &chosen->session, own);
}

static void print_setting_row(const bound_design *bound, size_t i)
{
    const hl_parameter *parameter = hl_design_setting(bound->design, i);
    double value = bound->settings[i];
    char number[32] = "";
    if (value == value) hl_number_print(value, number, sizeof number);
    csv_text(stdout, hl_design_setting_name(bound->design, i));
    putchar(',');
    if (value == value && parameter->kind == HL_CHOICE)
        csv_text(stdout, parameter->choices[(size_t)value]);
    else
        fputs(number, stdout);
    printf(",%s,", parameter->dimension ? parameter->dimension : "");
    csv_text(stdout, parameter->meaning ? parameter->meaning : "");
    putchar('\n');
}

static void print_setting_rows(const bound_design *bound)
{
    printf("setting,value_si,unit,meaning\n");
    for (size_t i = 0; i < hl_design_settings(bound->design); i++) print_setting_row(bound, i);
}

static void print_settings(const bound_design *bound)
{
    for (size_t i = 0; i < hl_design_settings(bound->design); i++) {
        const hl_parameter *parameter = hl_design_setting(bound->design, i);
        double value = bound->settings[i];
        char text[64] = "-";
        if (value == value && parameter->kind == HL_CHOICE)
            snprintf(text, sizeof text, "%s", parameter->choices[(size_t)value]);
        else if (value == value)
            hl_quantity_print(value, parameter->dimension, 6, text, sizeof text);
        printf("%-52s %s\n", hl_design_setting_name(bound->design, i), text);
        wrapped_print(stdout, "      ", 6, parameter->meaning ? parameter->meaning : "");
    }
}

static json_t *with_heat(json_t *document, const bound_design *bound, const choices *chosen,
                         const border borders[])
{
    if (chosen->links)
        document = tree_put(document, "links", links_document(bound->design, bound->workspace));
    if (chosen->border) document = tree_put(document, "critical", border_document(bound->design, borders));
    return document;
}

static void print_heat(const bound_design *bound, const choices *chosen, const border borders[])
{
    if (chosen->stages) stage_text(stdout, bound->design, bound->workspace);
    if (chosen->ways) heat_text_ways(stdout, bound->design, bound->workspace);
    if (chosen->links) heat_text_links(stdout, bound->design, bound->workspace);
    if (chosen->border) border_text(stdout, bound->design, borders);
}

static int print_no_solution(const bound_design *bound, const border borders[])
{
    fflush(stdout);
    fprintf(stderr, "no solution: %s\n", hl_result_reason(bound->workspace));
    if (hl_result_outcome(bound->workspace) == HL_RAN_AWAY)
        border_way_back(stderr, bound->workspace, borders);
    return EXIT_NO_SOLUTION;
}

static int print_result(const bound_design *bound, const choices *chosen)
{
    hl_outcome outcome = hl_result_outcome(bound->workspace);
    border borders[BORDERS] = {{0}};
    bool good = true;
    if (chosen->border || outcome == HL_RAN_AWAY) border_find(bound->workspace, bound->settings, borders);
    if (chosen->json) {
        json_t *document = document_of(bound->design, bound->workspace, bound->settings, true, bound->notes);
        good = printed_json(with_heat(document, bound, chosen, borders), 0);
    } else if (outcome == HL_SOLVED) {
        if (chosen->csv) {
            ledger_csv(stdout, bound->design, bound->workspace);
        } else {
            ledger_text(stdout, bound->design, bound->workspace);
            print_heat(bound, chosen, borders);
        }
        hl_diagnostics *warnings = hl_diagnostics_create();
        if (warnings) hl_result_warnings(bound->workspace, warnings);
        session_print(bound->notes, session_least(&chosen->session));
        session_print(warnings, session_least(&chosen->session));
        hl_diagnostics_destroy(warnings);
    }
    if (outcome != HL_SOLVED) {
        if (!chosen->json) session_print(bound->notes, session_least(&chosen->session)); /* may tell why */
        return print_no_solution(bound, borders);
    }
    if (!printed_whole(good)) return EXIT_BAD_INPUT;
    return chosen->strict && ledger_broken(bound->design, bound->workspace) ? EXIT_LIMIT_BROKEN : EXIT_GOOD;
}

static int run(int argc, char **argv)
{
    choices chosen;
    if (!parse(argc, argv, &chosen)) return EXIT_BAD_INPUT;
    session opened;
    int code = EXIT_BAD_INPUT;
    if (session_open(&opened, &chosen.session)) {
        if (chosen.settings) {
            if (chosen.csv)
                print_setting_rows(opened.bound);
            else
                print_settings(opened.bound);
            code = EXIT_GOOD;
        } else {
            hl_status status = hl_solve(opened.bound->workspace, opened.bound->settings);
            if (status == HL_OK)
                code = print_result(opened.bound, &chosen);
            else
                fprintf(stderr, "%s: %s\n", hl_status_text(status),
                        hl_result_reason(opened.bound->workspace));
        }
    }
    session_close(&opened);
    return code;
}

extern const command command_solve;
const command command_solve = {"solve", "losses and temperatures at one operating point", help, run};
