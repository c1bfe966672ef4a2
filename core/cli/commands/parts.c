/* parts.c - `heatledger parts`: the parts of a file or of the starter catalogue, with their telling figures.
 */
#include <jansson.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "cli/options.h"
#include "cli/part_text.h"
#include "cli/printed.h"

static const char help[] =
    "usage: heatledger parts [FILE.yaml] [--catalogue] [--family NAME] [PART] [--json | --csv]\n"
    "\n"
    "List the parts of a part file with the figures that tell them apart; without a file, those of\n"
    "the starter catalogue, which are all invented.  With PART, all that is known of that one: value,\n"
    "band, where it comes from, and what is usual.\n"
    "\n"
    "  --catalogue       read the starter catalogue as well when a file is named\n"
    "  --family NAME     only switch, diode, capacitor, magnetic or resistor\n"
    "  --json            the same with all values, in the schema heatledger.parts/1\n"
    "  --csv             a row for each value of each part, numbers in SI\n"
    "  --plugins PATH    load a plugin file, or every plugin of a folder; may be repeated\n"
    "\n"
    "exit: 0 good, 1 bad input\n";

typedef struct choices {
    session_options shared;
    option_list words;
    const char *family, *part;
    bool starter, json, csv;
} choices;

static bool is_file(const char *word)
{
    size_t n = strlen(word);
    return (n > 5 && !strcmp(word + n - 5, ".yaml")) || (n > 4 && !strcmp(word + n - 4, ".yml"));
}

static bool family_known(const char *name)
{
    const char *words[HL_FAMILIES + 1] = {0};
    for (int f = 0; f < HL_FAMILIES; f++) {
        words[f] = hl_family_name((hl_family)f);
        if (!strcmp(name, words[f])) return true;
    }
    const char *near = hl_nearest_word(name, words);
    fprintf(stderr, "heatledger parts: no family '%s'; %s%s%s\n", name, near ? "did you mean '" : "",
            near ? near : "known: switch, diode, capacitor, magnetic, resistor", near ? "'?" : "");
    return false;
}

static bool read_starter(hl_catalogue *catalogue, hl_diagnostics *diagnostics)
{
    static const char *const names[] = {"switches", "diodes", "capacitors", "magnetics", "resistors"};
    bool good = true;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[PATH_MAX];
        snprintf(path, sizeof path, "%s/heatledger/catalogue/%s.yaml", session_library(), names[i]);
        good &= hl_catalogue_read_file(catalogue, path, diagnostics) == HL_OK;
    }
    return good;
}

/* What a part file does not state is estimated here as in a script: a part known by its marking is one. */
static bool read_file(hl_catalogue *catalogue, const char *path, bool first, hl_diagnostics *diagnostics)
{
    char rules[PATH_MAX];
    snprintf(rules, sizeof rules, "%s/heatledger/estimates", session_library());
    if (first && hl_catalogue_read_rules_folder(catalogue, rules, diagnostics) != HL_OK) return false;
    return hl_catalogue_read_file(catalogue, path, diagnostics) == HL_OK;
}

/* Every word that names a file is read; the other one is the part asked for.  The starter catalogue states
 * all, so it is read before there are rules. */
static bool read_files(choices *chosen, hl_catalogue *catalogue, hl_diagnostics *diagnostics)
{
    const char *files[OPTION_LIST_MAX];
    size_t n = 0;
    for (size_t i = 0; i < chosen->words.n; i++) {
        const char *word = chosen->words.text[i];
        if (is_file(word)) {
            files[n++] = word;
        } else if (strpbrk(word, "/") || (strlen(word) > 4 && !strcmp(word + strlen(word) - 4, ".lua"))) {
            fprintf(stderr, "heatledger parts: '%s' is no part file; the name of one ends in .yaml\n", word);
            return false;
        } else if (chosen->part) {
            fprintf(stderr, "heatledger parts: '%s' and '%s': name one part, or none\n", chosen->part, word);
            return false;
        } else {
            chosen->part = word;
        }
    }
    bool good = (n > 0 && !chosen->starter) || read_starter(catalogue, diagnostics);
    for (size_t i = 0; i < n; i++) good &= read_file(catalogue, files[i], i == 0, diagnostics);
    return good;
}

static bool wanted(const choices *chosen, const hl_part *part)
{
    if (chosen->part && strcmp(chosen->part, hl_part_name(part)) != 0) return false;
    return !chosen->family || !strcmp(chosen->family, hl_family_name(hl_part_model(part)->device->family));
}

static bool print_json(const choices *chosen, const hl_catalogue *catalogue)
{
    json_t *top = json_object(), *list = json_array();
    json_object_set_new(top, "schema", json_string("heatledger.parts/1"));
    json_object_set_new(top, "parts", list);
    for (size_t i = 0; i < hl_catalogue_parts(catalogue); i++) {
        const hl_part *part = hl_catalogue_part(catalogue, i);
        if (wanted(chosen, part)) json_array_append_new(list, part_json(part));
    }
    return printed_json(top, 0);
}

static void print_list(const choices *chosen, const hl_catalogue *catalogue)
{
    for (int f = 0; f < HL_FAMILIES; f++) {
        size_t n = 0;
        for (size_t i = 0; i < hl_catalogue_parts(catalogue); i++) {
            const hl_part *part = hl_catalogue_part(catalogue, i);
            if (hl_part_model(part)->device->family != (hl_family)f || !wanted(chosen, part)) continue;
            if (n++ == 0) part_print_heading((hl_family)f);
            part_print_row(part);
        }
        if (n) printf("  %zu part%s\n\n", n, printed_plural(n));
    }
    const char *file = NULL;
    for (size_t i = 0; i < chosen->words.n && !file; i++)
        if (is_file(chosen->words.text[i])) file = chosen->words.text[i];
    printf("`heatledger parts %s%sPART` tells all about one.\n", file ? file : "", file ? " " : "");
}

static void print_chosen(const choices *chosen, const hl_catalogue *catalogue)
{
    if (chosen->csv) part_print_csv_heading();
    for (size_t i = 0; i < hl_catalogue_parts(catalogue); i++) {
        const hl_part *part = hl_catalogue_part(catalogue, i);
        if (!wanted(chosen, part)) continue;
        if (chosen->csv)
            part_print_csv(part);
        else
            part_print(part);
    }
}

static bool part_known(const choices *chosen, const hl_catalogue *catalogue)
{
    if (!chosen->part || hl_catalogue_find(catalogue, chosen->part)) return true;
    const char *near = hl_catalogue_nearest(catalogue, chosen->part);
    fprintf(stderr, "heatledger parts: no part '%s'%s%s%s\n", chosen->part, near ? "; did you mean '" : "",
            near ? near : "", near ? "'?" : "; `heatledger parts` lists them");
    return false;
}

static int show(const choices *chosen, const hl_catalogue *catalogue)
{
    if (!part_known(chosen, catalogue)) return EXIT_BAD_INPUT;
    bool good = true;
    if (chosen->json) {
        good = print_json(chosen, catalogue);
    } else if (chosen->csv || chosen->part) {
        print_chosen(chosen, catalogue);
    } else {
        print_list(chosen, catalogue);
    }
    return printed_whole(good) ? EXIT_GOOD : EXIT_BAD_INPUT;
}

static int run(int argc, char **argv)
{
    choices chosen = {.family = NULL};
    const own_option own[] = {
        {"catalogue", OWN_FLAG, &chosen.starter}, {"family", OWN_TEXT, &chosen.family},
        {"json", OWN_FLAG, &chosen.json},         {"csv", OWN_FLAG, &chosen.csv},
        {NULL, OWN_REST, &chosen.words},          {NULL, OWN_FLAG, NULL},
    };
    if (!options_read_words("parts", argc, argv, &chosen.shared, own)) return EXIT_BAD_INPUT;
    if (chosen.family && !family_known(chosen.family)) return EXIT_BAD_INPUT;
    hl_host *host = hl_host_create();
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    hl_catalogue *catalogue = host ? hl_catalogue_create(host) : NULL;
    bool good = diagnostics && catalogue &&
                session_load_plugins(host, &chosen.shared, diagnostics) == HL_OK &&
                read_files(&chosen, catalogue, diagnostics);
    if (diagnostics) session_print(diagnostics, HL_WARNING);
    int code = good ? show(&chosen, catalogue) : EXIT_BAD_INPUT;
    hl_catalogue_destroy(catalogue);
    hl_diagnostics_destroy(diagnostics);
    hl_host_destroy(host);
    return code;
}

extern const command command_parts;
const command command_parts = {"parts", "the parts of a file, or the starter catalogue", help, run};
