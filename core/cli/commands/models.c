/* models.c - `heatledger models`: what is loaded, and the meaning of every parameter. */
#include <limits.h>
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "cli/model_reference.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "cli/wrapped.h"
#include "diagnostic/joined.h"

static const char help[] =
    "usage: heatledger models [NAME] [--json] [--markdown FOLDER] [--plugins PATH]...\n"
    "\n"
    "List the loaded device and stage models; with NAME, that model's slots, parameters and facts with\n"
    "meaning, unit, usual range and source.\n"
    "\n"
    "  --json            the same in the schema heatledger.models/1; ranges and defaults in SI\n"
    "  --markdown FOLDER write a page for each model, and index.md, into a folder that is there\n"
    "  --plugins PATH    load a plugin file, or every plugin of a folder; may be repeated\n"
    "\n"
    "exit: 0 good, 1 bad input\n";

static void print_list(const hl_host *host)
{
    for (int stages = 0; stages <= 1; stages++) {
        printf("%s%s\n", stages ? "\n" : "", stages ? "stages" : "devices");
        for (size_t i = 0; i < hl_host_models(host); i++) {
            const hl_model *model = hl_host_model(host, i);
            if ((model->stage != NULL) != (stages == 1)) continue;
            char lead[120];
            snprintf(lead, sizeof lead, "  %-25.60s %-9s ", model->name,
                     model->device ? hl_family_name(model->device->family) : "");
            wrapped_print(stdout, lead, 38, model->title);
        }
    }
    puts("\n`heatledger models NAME` lists a model's parameters.");
}

static void print_range(const hl_parameter *parameter)
{
    char low[40], high[40];
    if (parameter->low == parameter->high) return;
    hl_quantity_print(parameter->low, parameter->dimension, 4, low, sizeof low);
    hl_quantity_print(parameter->high, parameter->dimension, 4, high, sizeof high);
    printf("      usual: %s … %s\n", low, high);
}

static void print_choices(const hl_parameter *parameter)
{
    char text[600] = "";
    for (const char *const *word = parameter->choices; word && *word; word++)
        join_word(text, sizeof text, ", ", *word);
    if (parameter->choices) wrapped_print(stdout, "      one of: ", 14, text);
}

static void print_parameter(const hl_parameter *parameter)
{
    static const char *const kinds[] = {"", "choice", "curve", "list", "list of choices"};
    printf("\n  %s", parameter->name);
    if (parameter->kind == HL_CURVE)
        printf("  (%s over %s)", parameter->dimension, parameter->x_dimension ? parameter->x_dimension : "1");
    else if (parameter->kind != HL_CHOICE && strcmp(parameter->dimension, "1"))
        printf("  (%s)", parameter->dimension);
    if (*kinds[parameter->kind]) printf("  %s", kinds[parameter->kind]);
    if (parameter->flags & HL_REQUIRED) printf("  required");
    if (parameter->flags & HL_DEFAULT) {
        char text[40];
        reference_default(parameter, text, sizeof text);
        printf("  default %s", text);
    }
    putchar('\n');
    wrapped_print(stdout, "      ", 6, parameter->meaning);
    print_choices(parameter);
    print_range(parameter);
    wrapped_print(stdout, "      found in: ", 16, parameter->source);
}

/* A line for the kinds that the slot takes, where it asks for one. */
static void print_kinds(const hl_stage *stage, size_t slot)
{
    const char *kind;
    for (size_t i = 0; (kind = hl_slot_kind(stage, slot, i)) != NULL; i++)
        printf("%s%s", i ? " or " : "                           takes the kind: ", kind);
    if (hl_slot_kind(stage, slot, 0)) putchar('\n');
}

static void print_slots(const hl_stage *stage)
{
    if (!stage->n_slots) return;
    puts("\nslots");
    for (size_t i = 0; i < stage->n_slots; i++) {
        const hl_slot *slot = hl_stage_slot(stage, i);
        char lead[80];
        snprintf(lead, sizeof lead, "  %-24.40s %s", slot->name,
                 slot->flags & HL_REQUIRED ? "required; " : "");
        wrapped_print(stdout, lead, 27, slot->meaning);
        print_kinds(stage, i);
    }
}

static const hl_model *find(const hl_host *host, const char *name)
{
    const hl_model *model = hl_host_find(host, name);
    if (model) return model;
    const char *near = hl_host_nearest(host, name);
    fprintf(stderr, "no model '%s'%s%s%s\n", name, near ? "; did you mean '" : "", near ? near : "",
            near ? "'?" : "; `heatledger models` lists them");
    return NULL;
}

/* What a marking says: the values that are not stated are estimated from it. */
static void print_facts(const hl_catalogue *rules, const hl_model *model)
{
    const hl_parameter *fact = hl_catalogue_fact(rules, model, 0);
    if (fact) puts("\nfacts of a marking; what is not stated is estimated from them");
    for (size_t i = 0; (fact = hl_catalogue_fact(rules, model, i)) != NULL; i++) print_parameter(fact);
}

static void print_model(const hl_host *host, const hl_catalogue *rules, const hl_model *model)
{
    printf("%s: %s\n", model->name, model->title);
    for (size_t i = 0; i < hl_host_models(host); i++)
        if (hl_host_model(host, i) == model) printf("plugin: %s\n", hl_host_model_file(host, i));
    wrapped_print(stdout, "source: ", 8, model->source);
    if (model->stage) print_slots(model->stage);
    puts(model->n_parameters ? "\nparameters" : "\nparameters: none");
    for (size_t i = 0; i < model->n_parameters; i++) print_parameter(hl_model_parameter(model, i));
    if (!model->device) return;
    print_facts(rules, model);
    puts("\nfigures that any part may state");
    for (size_t i = 0; i < HL_COMMONS; i++) print_parameter(hl_common_parameter(i));
}

/* All models, or the one. */
static bool print_json(const hl_host *host, const hl_catalogue *rules, const hl_model *only)
{
    json_t *top = json_object(), *list = json_array();
    json_object_set_new(top, "schema", json_string("heatledger.models/1"));
    json_object_set_new(top, "models", list);
    for (size_t i = 0; i < hl_host_models(host); i++)
        if (!only || hl_host_model(host, i) == only)
            json_array_append_new(list, reference_json(rules, hl_host_model(host, i)));
    return printed_json(top, 0);
}

static bool show(const hl_host *host, const hl_catalogue *rules, const char *name, const char *folder,
                 bool json)
{
    const hl_model *only = name ? find(host, name) : NULL;
    if (name && !only) return false;
    if (folder) return reference_write(host, rules, folder);
    bool good = true;
    if (json)
        good = print_json(host, rules, only);
    else if (only)
        print_model(host, rules, only);
    else
        print_list(host);
    return printed_whole(good);
}

/* The library's rules of estimates; NULL: what is wrong is told. */
static hl_catalogue *load_rules(const hl_host *host, hl_diagnostics *diagnostics)
{
    hl_catalogue *rules = hl_catalogue_create(host);
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s/heatledger/estimates", session_library());
    if (rules && hl_catalogue_read_rules_folder(rules, path, diagnostics) == HL_OK) return rules;
    hl_catalogue_destroy(rules);
    return NULL;
}

static int run(int argc, char **argv)
{
    session_options shared;
    option_list words = {{NULL}, 0};
    const char *folder = NULL;
    bool json = false;
    const own_option own[] = {{"markdown", OWN_TEXT, &folder},
                              {"json", OWN_FLAG, &json},
                              {NULL, OWN_REST, &words},
                              {NULL, OWN_FLAG, NULL}};
    if (!options_read_words("models", argc, argv, &shared, own)) return EXIT_BAD_INPUT;
    if (words.n > 1) {
        fputs("heatledger models: name one model, or none\n", stderr);
        return EXIT_BAD_INPUT;
    }
    hl_host *host = hl_host_create();
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    bool good = host && diagnostics && session_load_plugins(host, &shared, diagnostics) == HL_OK;
    hl_catalogue *rules = good ? load_rules(host, diagnostics) : NULL;
    if (diagnostics) session_print(diagnostics, HL_WARNING);
    good = rules && show(host, rules, words.n ? words.text[0] : NULL, folder, json);
    hl_catalogue_destroy(rules);
    hl_diagnostics_destroy(diagnostics);
    hl_host_destroy(host);
    return good ? EXIT_GOOD : EXIT_BAD_INPUT;
}

extern const command command_models;
const command command_models = {"models", "the loaded models and their parameters", help, run};
