/* models.c - `heatledger models`: what is loaded, and the meaning of every parameter. */
#include <getopt.h>
#include <stdio.h>
#include <string.h>

#include "cli/command.h"
#include "cli/session.h"

static const char help[] =
    "usage: heatledger models [NAME] [--plugins PATH]...\n"
    "\n"
    "List the loaded device and stage models; with NAME, that model's slots and parameters with\n"
    "meaning, unit, usual range and source.\n"
    "\n"
    "  --plugins PATH    load a plugin file, or every plugin of a folder; may be repeated\n";

static void print_list(const hl_host *host)
{
    for (int stages = 0; stages <= 1; stages++) {
        printf("%s%s\n", stages ? "\n" : "", stages ? "stages" : "devices");
        for (size_t i = 0; i < hl_host_models(host); i++) {
            const hl_model *model = hl_host_model(host, i);
            if ((model->stage != NULL) != (stages == 1)) continue;
            printf("  %-28s %-10s %s\n", model->name,
                   model->device ? hl_family_name(model->device->family) : "", model->title);
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
        if (parameter->kind == HL_CHOICE)
            snprintf(text, sizeof text, "%s", parameter->choices[(size_t)parameter->fallback]);
        else
            hl_quantity_print(parameter->fallback, parameter->dimension, 4, text, sizeof text);
        printf("  default %s", text);
    }
    printf("\n      %s\n", parameter->meaning);
    for (const char *const *word = parameter->choices; word && *word; word++)
        printf("%s%s", word == parameter->choices ? "      one of: " : ", ", *word);
    if (parameter->choices) putchar('\n');
    print_range(parameter);
    printf("      found in: %s\n", parameter->source);
}

static void print_slots(const hl_stage *stage)
{
    if (!stage->n_slots) return;
    puts("\nslots");
    for (size_t i = 0; i < stage->n_slots; i++) {
        const hl_slot *slot = hl_stage_slot(stage, i);
        printf("  %-24s %s%s\n", slot->name, slot->flags & HL_REQUIRED ? "required; " : "", slot->meaning);
    }
}

static int print_model(const hl_host *host, const char *name)
{
    const hl_model *model = hl_host_find(host, name);
    if (!model) {
        const char *near = hl_host_nearest(host, name);
        fprintf(stderr, "no model '%s'%s%s%s\n", name, near ? "; did you mean '" : "", near ? near : "",
                near ? "'?" : "; `heatledger models` lists them");
        return EXIT_BAD_INPUT;
    }
    printf("%s: %s\n", model->name, model->title);
    for (size_t i = 0; i < hl_host_models(host); i++)
        if (hl_host_model(host, i) == model) printf("plugin: %s\n", hl_host_model_file(host, i));
    printf("source: %s\n", model->source);
    if (model->stage) print_slots(model->stage);
    puts("\nparameters");
    for (size_t i = 0; i < model->n_parameters; i++) print_parameter(hl_model_parameter(model, i));
    if (model->device) {
        puts("\nfigures that any part may state");
        for (size_t i = 0; i < HL_COMMONS; i++) print_parameter(hl_common_parameter(i));
    }
    return EXIT_GOOD;
}

static int run(int argc, char **argv)
{
    static const struct option options[] = {{"plugins", required_argument, NULL, 'p'}, {NULL, 0, NULL, 0}};
    hl_host *host = hl_host_create();
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    int code = EXIT_BAD_INPUT, c = -1;
    bool good = host && diagnostics && hl_host_load_shipped(host, diagnostics) == HL_OK;
    while (good && (c = getopt_long(argc, argv, "", options, NULL)) != -1) {
        if (c != 'p')
            good = false;
        else {
            size_t n = strlen(optarg);
            hl_status status = n > 3 && !strcmp(optarg + n - 3, ".so")
                                   ? hl_host_load(host, optarg, diagnostics)
                                   : hl_host_load_folder(host, optarg, diagnostics);
            good = status == HL_OK;
        }
    }
    if (diagnostics) session_print(diagnostics, HL_WARNING);
    if (good && optind < argc)
        code = print_model(host, argv[optind]);
    else if (good) {
        print_list(host);
        code = EXIT_GOOD;
    }
    hl_diagnostics_destroy(diagnostics);
    hl_host_destroy(host);
    return code;
}

extern const command command_models;
const command command_models = {"models", "the loaded models and their parameters", help, run};
