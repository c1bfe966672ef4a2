/* prove.c - `heatledger prove`: the conformance kit over the models of a plugin. */
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/command.h"
#include "cli/options.h"
#include "cli/printed.h"
#include "prove/kit.h"

static const char help[] =
    "usage: heatledger prove PLUGIN.so [--model NAME] [--json] [--seed N] [--times X]\n"
    "\n"
    "Try every model of a plugin on random parts, stresses and operating points: tables, losses,\n"
    "dP/dT, scaling laws, books, and the rules for memory and threads.  Each check runs in a process\n"
    "of its own, so that a model that crashes or hangs is named.  docs/prove.md explains each verdict.\n"
    "\n"
    "  --model NAME    only this model\n"
    "  --json          findings as JSON (schema heatledger.prove/1)\n"
    "  --seed N        other random numbers; the same N gives the same run\n"
    "  --times X       X times as many draws as usual, 0.1 to 100: 10 before a release\n"
    "\n"
    "exit: 0 everything passes, else 1\n";

enum { MARGIN = 26, WIDTH = 100 };

/* Text wrapped at spaces, continued at a margin. */
static void print_wrapped(const char *text, int margin)
{
    int column = margin;
    while (*text) {
        size_t space = strspn(text, " "), word = strcspn(text + space, " \n");
        if (text[space] == '\n') {
            printf("\n%*s", margin, "");
            column = margin;
            text += space + 1;
            continue;
        }
        if (column > margin && column + (int)(space + word) > WIDTH) {
            printf("\n%*s", margin, "");
            column = margin;
            text += space;
            space = 0;
        }
        printf("%.*s", (int)(space + word), text);
        column += (int)(space + word);
        text += space + word;
    }
    putchar('\n');
}

static void print_finding(const char *name, const finding *found)
{
    bool good = found->verdict == VERDICT_PASS;
    printf("  %-10s %-18s ", good ? "pass" : verdict_name(found->verdict), name);
    print_wrapped(found->detail, 32);
    if (good || !found->inputs[0]) return;
    printf("%*s", 32, "");
    print_wrapped(found->inputs, 32);
}

static void print_report(const kit_report *report)
{
    printf("%s\n", report->path);
    print_finding("table", &report->table);
    for (size_t i = 0; i < report->n; i++) {
        const kit_model *model = &report->models[i];
        printf("\n%s (%s)\n", model->name, model->kind);
        for (size_t k = 0; k < model->n; k++) print_finding(model->checks[k].name, model->checks[k].found);
    }
    size_t failed = report->checks - report->passed;
    if (failed)
        printf("\n%zu of %zu checks failed; docs/prove.md says what each means and how to mend it\n", failed,
               report->checks);
    else
        printf("\nall %zu checks passed\n", report->checks);
}

static json_t *finding_json(const char *name, const finding *found)
{
    json_t *object = json_object();
    json_object_set_new(object, "check", json_string(name));
    json_object_set_new(object, "verdict", json_string(verdict_name(found->verdict)));
    json_object_set_new(object, "detail", json_string(found->detail));
    if (found->verdict == VERDICT_PASS) return object;
    if (found->doing[0]) json_object_set_new(object, "function", json_string(found->doing));
    if (found->inputs[0]) json_object_set_new(object, "inputs", json_string(found->inputs));
    if (found->verdict == VERDICT_CRASH) json_object_set_new(object, "signal", json_integer(found->signal));
    return object;
}

static bool print_json(const kit_report *report)
{
    json_t *top = json_object(), *models = json_array();
    json_object_set_new(top, "schema", json_string("heatledger.prove/1"));
    json_object_set_new(top, "plugin", json_string(report->path));
    json_object_set_new(top, "passed", json_boolean(report->passed == report->checks));
    json_object_set_new(top, "table", finding_json("table", &report->table));
    json_object_set_new(top, "models", models);
    for (size_t i = 0; i < report->n; i++) {
        const kit_model *model = &report->models[i];
        json_t *object = json_object(), *checks = json_array();
        json_object_set_new(object, "model", json_string(model->name));
        json_object_set_new(object, "kind", json_string(model->kind));
        json_object_set_new(object, "checks", checks);
        for (size_t k = 0; k < model->n; k++)
            json_array_append_new(checks, finding_json(model->checks[k].name, model->checks[k].found));
        json_array_append_new(models, object);
    }
    return printed_whole(printed_json(top, 0));
}

static bool read_seed(const char *text, uint64_t *seed)
{
    char *end;
    *seed = strtoull(text, &end, 0);
    if (*text && *text != '-' && !*end) return true;
    fprintf(stderr, "heatledger prove: --seed %s: a whole number is wanted\n", text);
    return false;
}

static bool read_times(const char *text, double *times)
{
    char *end;
    *times = strtod(text, &end);
    if (*text && !*end && *times >= 0.1 && *times <= 100.0) return true;
    fprintf(stderr, "heatledger prove: --times %s: a number from 0.1 to 100 is wanted\n", text);
    return false;
}

static int run(int argc, char **argv)
{
    const char *model = NULL, *seed = "1", *times = "1";
    bool json = false;
    kit_draws draws;
    option_list words = {{NULL}, 0};
    const own_option own[] = {{"model", OWN_TEXT, &model}, {"json", OWN_FLAG, &json},
                              {"seed", OWN_TEXT, &seed},   {"times", OWN_TEXT, &times},
                              {NULL, OWN_REST, &words},    {NULL, OWN_FLAG, NULL}};
    if (!options_read_words("prove", argc, argv, NULL, own) || !read_seed(seed, &draws.seed) ||
        !read_times(times, &draws.times))
        return EXIT_BAD_INPUT;
    if (words.n != 1) {
        fputs("heatledger prove: one plugin file is wanted; `heatledger prove --help` tells more\n", stderr);
        return EXIT_BAD_INPUT;
    }
    kit_report *report = kit_prove(words.text[0], model, draws);
    if (!report) {
        fputs("heatledger prove: memory ran out; close other programs\n", stderr);
        return EXIT_BAD_INPUT;
    }
    bool good = report->passed == report->checks;
    if (json)
        good = print_json(report) && good;
    else
        print_report(report);
    kit_report_destroy(report);
    return good ? EXIT_GOOD : EXIT_BAD_INPUT;
}

extern const command command_prove;
const command command_prove = {"prove", "check that a plugin's models keep the rules", help, run};
