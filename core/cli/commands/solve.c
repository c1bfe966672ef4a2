/* solve.c - `heatledger solve`: one operating point as a ledger or as JSON. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/command.h"
#include "cli/ledger_text.h"
#include "cli/options.h"
#include "lua/document.h"

static const char help[] =
    "usage: heatledger solve FILE.lua [--set NAME=VALUE]... [--json] [--strict]\n"
    "\n"
    "Solve the adapter that FILE.lua returns: where the watts go, how hot each part is, what\n"
    "gives way first.\n"
    "\n"
    "  --set NAME=VALUE  change a setting for this run, such as mains.voltage='115 V', load=0.5,\n"
    "                    or any stage's or part's figure; may be repeated\n"
    "  --settings        list the settings with their values and meanings instead of solving\n"
    "  --json            print the result in the schema heatledger.result/1\n"
    "  --strict          exit with 2 when any limit is used beyond 100 %\n"
    "  --plugins PATH    load a plugin file, or every plugin of a folder; may be repeated\n"
    "  --trust           let the script read files and run programs\n"
    "\n"
    "exit: 0 good, 1 bad input, 2 a limit is broken (with --strict), 3 no solution\n";

typedef struct choices {
    session_options session;
    bool json, strict, settings;
} choices;

static bool parse(int argc, char **argv, choices *chosen)
{
    memset(chosen, 0, sizeof *chosen);
    const own_option own[] = {{"settings", OWN_FLAG, &chosen->settings},
                              {"json", OWN_FLAG, &chosen->json},
                              {"strict", OWN_FLAG, &chosen->strict},
                              {NULL, OWN_FLAG, NULL}};
    return options_read("solve", argc, argv, &chosen->session, own);
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
        printf("%-44s %-16s %s\n", hl_design_setting_name(bound->design, i), text, parameter->meaning);
    }
}

static int print_result(const bound_design *bound, const choices *chosen)
{
    hl_outcome outcome = hl_result_outcome(bound->workspace);
    if (chosen->json) {
        json_t *document = document_of(bound->design, bound->workspace, bound->settings, bound->notes);
        if (!document) return EXIT_BAD_INPUT;
        json_dumpf(document, stdout, JSON_INDENT(1) | JSON_REAL_PRECISION(17));
        putchar('\n');
        json_decref(document);
    } else if (outcome == HL_SOLVED) {
        ledger_text(stdout, bound->design, bound->workspace);
        hl_diagnostics *warnings = hl_diagnostics_create();
        if (warnings) hl_result_warnings(bound->workspace, warnings);
        session_print(bound->notes, HL_WARNING);
        session_print(warnings, HL_WARNING);
        hl_diagnostics_destroy(warnings);
    }
    if (outcome != HL_SOLVED) {
        fprintf(stderr, "no solution: %s\n", hl_result_reason(bound->workspace));
        return EXIT_NO_SOLUTION;
    }
    if (fflush(stdout) || ferror(stdout)) {
        perror("heatledger: the result could not be written");
        return EXIT_BAD_INPUT;
    }
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
