/* model_reference.c - pages for people and JSON for programs, from the tables of the loaded models. */
#include "cli/model_reference.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "diagnostic/replace_file.h"
#include "heatledger/quantity.h"
#include "prove/survey.h"

enum { TEXT = 64, SEED = 1 };

static const char *const kinds[] = {"number", "choice", "curve", "list", "choices"};
static const char *const terminals[] = {"dc", "ac", "rectified"};

static const char *kind_name(hl_parameter_kind kind)
{
    return (size_t)kind < sizeof kinds / sizeof *kinds ? kinds[kind] : "number";
}

static const char *terminal_name(hl_terminal_kind kind)
{
    return (size_t)kind < sizeof terminals / sizeof *terminals ? terminals[kind] : "dc";
}

void reference_default(const hl_parameter *parameter, char *text, size_t size)
{
    text[0] = '\0';
    if (!(parameter->flags & HL_DEFAULT)) return;
    if (parameter->kind == HL_CHOICE || parameter->kind == HL_CHOICES)
        snprintf(text, size, "%s", parameter->choices[(size_t)parameter->fallback]);
    else
        hl_quantity_print(parameter->fallback, parameter->dimension, 4, text, size);
}

/* ----------------------------------------------------------------- pages -- */

/* Text inside a table's cell. */
static void cell(FILE *to, const char *text)
{
    for (; *text; text++) {
        if (*text == '|') fputc('\\', to);
        fputc(*text, to);
    }
}

static bool is_choice(const hl_parameter *p)
{
    return p->kind == HL_CHOICE || p->kind == HL_CHOICES;
}

static void write_unit(FILE *to, const hl_parameter *p)
{
    if (p->kind == HL_CURVE)
        fprintf(to, "curve of %s over %s", p->dimension, p->x_dimension ? p->x_dimension : "1");
    else if (p->kind == HL_LIST)
        fprintf(to, "list of %s", p->dimension);
    else if (is_choice(p))
        fprintf(to, "%s", p->kind == HL_CHOICE ? "word" : "list of words");
    else
        fprintf(to, "%s", p->dimension);
}

static void write_need(FILE *to, const hl_parameter *p)
{
    char text[TEXT];
    reference_default(p, text, sizeof text);
    fprintf(to, " | %s%s | ", p->flags & HL_REQUIRED ? "required" : *text ? "default " : "optional", text);
}

static void write_usual(FILE *to, const hl_parameter *p)
{
    char low[TEXT], high[TEXT];
    for (const char *const *word = is_choice(p) ? p->choices : NULL; word && *word; word++)
        fprintf(to, "%s%s", word == p->choices ? "" : ", ", *word);
    if (is_choice(p) || p->low == p->high) return;
    hl_quantity_print(p->low, p->dimension, 4, low, sizeof low);
    hl_quantity_print(p->high, p->dimension, 4, high, sizeof high);
    fprintf(to, "%s … %s", low, high);
}

static void parameter_heading(FILE *to)
{
    fputs("| name | dimension | needed | usual | meaning | where to find it |\n"
          "| --- | --- | --- | --- | --- | --- |\n",
          to);
}

static void write_parameter(FILE *to, const hl_parameter *p)
{
    fprintf(to, "| `%s` | ", p->name);
    write_unit(to, p);
    write_need(to, p);
    write_usual(to, p);
    fputs(" | ", to);
    cell(to, p->meaning);
    fputs(" | ", to);
    cell(to, p->source);
    fputs(" |\n", to);
}

static void write_parameters(FILE *to, const hl_model *model)
{
    fputs("\n## Parameters\n", to);
    if (!model->n_parameters) {
        fputs("None.\n", to);
        return;
    }
    parameter_heading(to);
    for (size_t i = 0; i < model->n_parameters; i++) write_parameter(to, hl_model_parameter(model, i));
}

/* What a marking says beside the model's own values: the rules of estimates go by it. */
static void write_facts(FILE *to, const hl_catalogue *rules, const hl_model *model)
{
    const hl_parameter *fact = hl_catalogue_fact(rules, model, 0);
    if (!fact) return;
    fputs("\n## Facts of a marking\nMay be stated beside the parameters; what is not stated is then "
          "[estimated](../estimates.md) from them.\n\n"
          "| name | dimension | words, or usual | meaning |\n| --- | --- | --- | --- |\n",
          to);
    for (size_t i = 0; (fact = hl_catalogue_fact(rules, model, i)) != NULL; i++) {
        fprintf(to, "| `%s` | ", fact->name);
        write_unit(to, fact);
        fputs(" | ", to);
        write_usual(to, fact);
        fputs(" | ", to);
        cell(to, fact->meaning);
        fputs(" |\n", to);
    }
}

static void write_families(FILE *to, const hl_slot *slot)
{
    bool first = true;
    for (int f = 0; f < HL_FAMILIES; f++) {
        if (!(slot->families & HL_FITS(f))) continue;
        fprintf(to, "%s%s", first ? "" : " or ", hl_family_name((hl_family)f));
        first = false;
    }
}

/* ": fuse" where the slot asks for a kind. */
static void write_kinds(FILE *to, const hl_stage *stage, size_t slot)
{
    const char *kind;
    for (size_t i = 0; (kind = hl_slot_kind(stage, slot, i)) != NULL; i++)
        fprintf(to, "%s`%s`", i ? " or " : " of the kind ", kind);
}

static void write_slots(FILE *to, const hl_stage *stage)
{
    fputs("\n## Slots\n", to);
    if (!stage->n_slots) {
        fputs("None.\n", to);
        return;
    }
    fputs("| slot | takes | needed | positions | meaning |\n| --- | --- | --- | --- | --- |\n", to);
    for (size_t i = 0; i < stage->n_slots; i++) {
        const hl_slot *slot = hl_stage_slot(stage, i);
        fprintf(to, "| `%s` | ", slot->name);
        write_families(to, slot);
        write_kinds(to, stage, i);
        fprintf(to, " | %s | ", slot->flags & HL_REQUIRED ? "required" : "optional");
        if (stage->positions)
            fputs("by its parameters | ", to);
        else
            fprintf(to, "%u | ", slot->positions);
        cell(to, slot->meaning);
        fputs(" |\n", to);
    }
}

static void write_names(FILE *to, const char *heading, const char *remark, const survey_list *list)
{
    fprintf(to, "\n## %s\n", heading);
    if (!list->n) {
        fputs("None.\n", to);
        return;
    }
    fprintf(to, "%s\n\n| name | unit |\n| --- | --- |\n", remark);
    for (size_t i = 0; i < list->n; i++) {
        fprintf(to, "| `%s` | ", list->entry[i].name);
        cell(to, list->entry[i].unit);
        fputs(" |\n", to);
    }
}

static void write_mechanisms(FILE *to, const survey *found)
{
    bool first = true;
    fputs("\n## Mechanisms it books\n", to);
    for (int m = 0; m < HL_MECHANISMS; m++) {
        if (!found->booked[m]) continue;
        fprintf(to, "%s%s", first ? "" : ", ", hl_mechanism_name((hl_mechanism)m));
        first = false;
    }
    fputs(first ? "None.\n" : ".\n", to);
}

/* Which slots of which stages take such a part, or some such parts. */
static void write_places(FILE *to, const hl_host *host, const hl_model *part)
{
    fputs("\n## Where such a part may sit\n", to);
    for (size_t i = 0; i < hl_host_models(host); i++) {
        const hl_model *model = hl_host_model(host, i);
        bool first = true;
        for (size_t s = 0; model->stage && s < model->stage->n_slots; s++) {
            const hl_slot *slot = hl_stage_slot(model->stage, s);
            if (!hl_slot_takes(model->stage, s, part, NULL)) continue;
            if (first) fprintf(to, "- [%s](%s.md): ", model->name, model->name);
            fprintf(to, "%s`%s`", first ? "" : ", ", slot->name);
            first = false;
        }
        if (!first) fputc('\n', to);
    }
    if (part->device->family == HL_FAMILY_CAPACITOR)
        fputs("- on the bus behind any stage: `capacitors`\n", to);
}

/* What its parts may stand as, where that is more than their family. */
static void write_own_kinds(FILE *to, const hl_device *device)
{
    const char *kind = hl_device_kind(device, 0);
    if (!kind || !strcmp(kind, hl_family_name(device->family))) return;
    fputs("\nMay stand as ", to);
    for (size_t i = 0; (kind = hl_device_kind(device, i)) != NULL; i++)
        fprintf(to, "%s`%s`", i ? " or " : "", kind);
    fputs(" in a slot that asks for it.\n", to);
}

static void write_device(FILE *to, const hl_host *host, const hl_catalogue *rules, const hl_model *model,
                         const survey *found)
{
    fprintf(to, "A device of the family **%s**.", hl_family_name(model->device->family));
    fputs(" Beside the parameters below, it may state what\n[every part](index.md#what-every-part-may-state) "
          "may: size, highest temperature, ways of its heat.\n",
          to);
    write_own_kinds(to, model->device);
    fprintf(to, "\nEquations from: %s.\n", model->source);
    write_parameters(to, model);
    write_facts(to, rules, model);
    write_mechanisms(to, found);
    write_names(to, "Limits it checks",
                "Beside its highest temperature, where the data for it are stated:", &found->limits);
    write_places(to, host, model);
}

static void write_stage(FILE *to, const hl_model *model, const survey *found)
{
    const hl_stage *stage = model->stage;
    fprintf(to, "A stage fed with %s", terminal_name(stage->input));
    if (stage->terminal)
        fputs("; nothing follows it.\n", to);
    else
        fprintf(to, ", giving %s; %s.\n", terminal_name(stage->output),
                stage->regulates ? "it sets its output voltage itself" : "its output follows its input");
    fprintf(to, "\nEquations from: %s.\n", model->source);
    write_slots(to, stage);
    write_parameters(to, model);
    write_names(to, "Quantities", "Named in a result, where they apply:", &found->quantities);
}

static const char made[] = "<!-- made by `heatledger models --markdown`; do not edit -->\n";

/* A page grows in memory and is then written whole or not at all: a full disk leaves no half page. */
typedef struct page {
    char path[PATH_MAX], *text;
    size_t length;
} page;

static FILE *page_open(const char *folder, const char *name, page *begun)
{
    *begun = (page){.text = NULL};
    int n = snprintf(begun->path, sizeof begun->path, "%s/%s.md", folder, name);
    bool fits = n > 0 && n < PATH_MAX;
    FILE *to = fits ? open_memstream(&begun->text, &begun->length) : NULL;
    if (!to)
        fprintf(stderr, "heatledger models: %s/%s.md: %s\n", folder, name,
                fits ? "memory ran out; close other programs"
                     : "the path is too long; name a shorter folder");
    return to;
}

static bool page_close(FILE *to, page *begun)
{
    char why[PATH_MAX + 200] = "memory ran out; close other programs";
    bool good = !ferror(to);
    good = fclose(to) == 0 && good;
    good = good && hl_replace_file(begun->path, begun->text, begun->length, why, sizeof why);
    if (!good) fprintf(stderr, "heatledger models: %s\n", why);
    free(begun->text);
    return good;
}

static bool write_page(const hl_host *host, const hl_catalogue *rules, const hl_model *model,
                       const char *folder, survey *found)
{
    page whole;
    if (!survey_model(model, SEED, found)) {
        fprintf(stderr, "heatledger models: %s refuses what its own table calls usual, or memory ran out\n",
                model->name);
        return false;
    }
    FILE *to = page_open(folder, model->name, &whole);
    if (!to) return false;
    fprintf(to, "%s\n# %s: %s\n\n", made, model->name, model->title);
    if (model->device)
        write_device(to, host, rules, model, found);
    else
        write_stage(to, model, found);
    return page_close(to, &whole);
}

static void write_index_list(FILE *to, const hl_host *host, const char *heading, bool stages,
                             hl_family family)
{
    fprintf(to, "\n## %s\n| model | what it is |\n| --- | --- |\n", heading);
    for (size_t i = 0; i < hl_host_models(host); i++) {
        const hl_model *model = hl_host_model(host, i);
        if ((model->stage != NULL) != stages || (!stages && model->device->family != family)) continue;
        fprintf(to, "| [%s](%s.md) | ", model->name, model->name);
        cell(to, model->title);
        fputs(" |\n", to);
    }
}

static bool write_index(const hl_host *host, const char *folder)
{
    static const char *const headings[HL_FAMILIES] = {"Switches", "Diodes", "Capacitors", "Magnetics",
                                                      "Resistors"};
    page whole;
    FILE *to = page_open(folder, "index", &whole);
    if (!to) return false;
    fprintf(
        to,
        "%s\n# Models\n\nMade from the tables of the models themselves.  Mechanisms, limits and quantities "
        "are found by\ntrying each model on random parts and points.\n",
        made);
    for (int f = 0; f < HL_FAMILIES; f++) write_index_list(to, host, headings[f], false, (hl_family)f);
    write_index_list(to, host, "Stages", true, HL_FAMILY_SWITCH);
    fputs("\n## What every part may state\n", to);
    parameter_heading(to);
    for (size_t i = 0; i < HL_COMMONS; i++) write_parameter(to, hl_common_parameter(i));
    return page_close(to, &whole);
}

bool reference_write(const hl_host *host, const hl_catalogue *rules, const char *folder)
{
    survey *found = malloc(sizeof *found);
    bool good = found && write_index(host, folder);
    for (size_t i = 0; i < hl_host_models(host) && good; i++)
        good = write_page(host, rules, hl_host_model(host, i), folder, found);
    free(found);
    return good;
}

/* ------------------------------------------------------------------ json -- */

static void set_text(json_t *object, const char *key, const char *text)
{
    json_object_set_new(object, key, text ? json_string(text) : json_null());
}

static json_t *words_json(const char *const *words)
{
    json_t *list = json_array();
    for (; words && *words; words++) json_array_append_new(list, json_string(*words));
    return list;
}

static json_t *parameter_json(const hl_parameter *p)
{
    json_t *object = json_object();
    set_text(object, "name", p->name);
    set_text(object, "kind", kind_name(p->kind));
    set_text(object, "dimension", p->dimension);
    if (p->x_dimension) set_text(object, "over", p->x_dimension);
    json_object_set_new(object, "required", json_boolean(p->flags & HL_REQUIRED));
    if (p->flags & HL_DEFAULT)
        json_object_set_new(object, "default",
                            is_choice(p) ? json_string(p->choices[(size_t)p->fallback])
                                         : json_real(p->fallback));
    if (is_choice(p)) json_object_set_new(object, "choices", words_json(p->choices));
    if (!is_choice(p) && p->low != p->high) {
        json_object_set_new(object, "low", json_real(p->low));
        json_object_set_new(object, "high", json_real(p->high));
    }
    set_text(object, "meaning", p->meaning);
    set_text(object, "found_in", p->source);
    return object;
}

static json_t *slot_json(const hl_stage *stage, size_t index)
{
    const hl_slot *slot = hl_stage_slot(stage, index);
    json_t *object = json_object(), *families = json_array(), *words = json_array();
    const char *kind;
    set_text(object, "name", slot->name);
    for (int f = 0; f < HL_FAMILIES; f++)
        if (slot->families & HL_FITS(f))
            json_array_append_new(families, json_string(hl_family_name((hl_family)f)));
    json_object_set_new(object, "families", families);
    for (size_t i = 0; (kind = hl_slot_kind(stage, index, i)) != NULL; i++)
        json_array_append_new(words, json_string(kind));
    json_object_set_new(object, "kinds", words);
    json_object_set_new(object, "required", json_boolean(slot->flags & HL_REQUIRED));
    json_object_set_new(object, "positions", json_integer(slot->positions));
    set_text(object, "meaning", slot->meaning);
    return object;
}

static void set_family(json_t *object, const hl_device *device)
{
    json_t *words = json_array();
    const char *kind;
    set_text(object, "family", hl_family_name(device->family));
    for (size_t i = 0; (kind = hl_device_kind(device, i)) != NULL; i++)
        json_array_append_new(words, json_string(kind));
    json_object_set_new(object, "kinds", words);
}

json_t *reference_json(const hl_catalogue *rules, const hl_model *model)
{
    json_t *object = json_object(), *parameters = json_array();
    set_text(object, "name", model->name);
    set_text(object, "title", model->title);
    set_text(object, "kind", model->device ? "device" : "stage");
    if (model->device) set_family(object, model->device);
    set_text(object, "source", model->source);
    for (size_t i = 0; i < model->n_parameters; i++)
        json_array_append_new(parameters, parameter_json(hl_model_parameter(model, i)));
    json_object_set_new(object, "parameters", parameters);
    json_t *facts = json_array();
    const hl_parameter *fact;
    for (size_t i = 0; (fact = hl_catalogue_fact(rules, model, i)) != NULL; i++)
        json_array_append_new(facts, parameter_json(fact));
    json_object_set_new(object, "facts", facts);
    if (!model->stage) return object;
    json_t *slots = json_array();
    for (size_t i = 0; i < model->stage->n_slots; i++)
        json_array_append_new(slots, slot_json(model->stage, i));
    json_object_set_new(object, "slots", slots);
    set_text(object, "input", terminal_name(model->stage->input));
    if (!model->stage->terminal) set_text(object, "output", terminal_name(model->stage->output));
    json_object_set_new(object, "regulates", json_boolean(model->stage->regulates));
    return object;
}
