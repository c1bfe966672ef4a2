/* merge.c - `heatledger merge`: the stores of a sweep's shards become one. */
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/store_text.h"

static const char help[] =
    "usage: heatledger merge --store FILE SHARD...\n"
    "\n"
    "Join the stores of the shards of one sweep into the new store FILE.  Every point must be there, once;\n"
    "stores of another plan are refused.  What a plan keeps (the best, the Pareto set, the first failures)\n"
    "is chosen anew from all of them, so FILE holds what one machine would have kept.\n"
    "\n"
    "  --store FILE   the store to make; must not be there yet\n"
    "  --incomplete   join although points are missing; `heatledger sweep ... --store FILE` goes on with "
    "them\n"
    "  --csv          print the joined rows, as `heatledger sweep` does\n"
    "  --json         the same as JSON\n"
    "\n"
    "exit: 0 good, 1 bad input, or a store that cannot be read or written\n";

typedef struct choices {
    session_options session;
    const char *store;
    option_list shards;
    bool incomplete, csv, json;
} choices;

static int show(const choices *chosen, hl_diagnostics *diagnostics)
{
    hl_store_counts counts;
    hl_store *store = hl_store_read(chosen->store, diagnostics);
    if (!store) return EXIT_BAD_INPUT;
    hl_status status = hl_store_count(store, &counts, diagnostics);
    if (status == HL_OK && chosen->csv)
        status = store_csv(stdout, store, diagnostics);
    else if (status == HL_OK && chosen->json)
        status = store_json(stdout, store, &counts, diagnostics);
    else if (status == HL_OK)
        store_summary(stdout, store, NULL, &counts, diagnostics);
    hl_store_close(store);
    if (status != HL_OK) return EXIT_BAD_INPUT;
    return printed_whole(true) ? EXIT_GOOD : EXIT_BAD_INPUT;
}

static int run(int argc, char **argv)
{
    choices chosen;
    memset(&chosen, 0, sizeof chosen);
    const own_option own[] = {
        {"store", OWN_TEXT, &chosen.store}, {"incomplete", OWN_FLAG, &chosen.incomplete},
        {"csv", OWN_FLAG, &chosen.csv},     {"json", OWN_FLAG, &chosen.json},
        {"", OWN_REST, &chosen.shards},     {NULL, OWN_FLAG, NULL}};
    if (!options_read_words("merge", argc, argv, &chosen.session, own)) return EXIT_BAD_INPUT;
    if (!chosen.store || !chosen.shards.n) {
        fputs("heatledger merge: name the store to make and those to join: --store FILE SHARD...\n", stderr);
        return EXIT_BAD_INPUT;
    }
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    int code = EXIT_BAD_INPUT;
    if (diagnostics && hl_store_merge(chosen.store, chosen.shards.n, chosen.shards.text, chosen.incomplete,
                                      diagnostics) == HL_OK)
        code = show(&chosen, diagnostics);
    session_print(diagnostics, session_least(&chosen.session));
    hl_diagnostics_destroy(diagnostics);
    return code;
}

extern const command command_merge;
const command command_merge = {"merge", "join the stores of a sweep's shards", help, run};
