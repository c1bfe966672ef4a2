/* table.c - checks a plugin's table down to each model. */
#include "plugin/table.h"

#include <string.h>

enum { MODELS_MAX = 1024, SIZE_MAX_PLAUSIBLE = 65536, WORD_MAX = 63 };

bool word_sound(const char *word)
{
    if (!word || !(word[0] >= 'a' && word[0] <= 'z')) return false;
    for (size_t i = 0; word[i]; i++) {
        bool lower = word[i] >= 'a' && word[i] <= 'z', digit = word[i] >= '0' && word[i] <= '9';
        if ((!lower && !digit && word[i] != '_') || i >= WORD_MAX) return false;
    }
    return true;
}

bool text_present(const char *text)
{
    return text && text[0];
}

bool size_fits(size_t size, size_t least)
{
    return size >= least && size <= SIZE_MAX_PLAUSIBLE;
}

static bool model_sound(const hl_model *model, size_t index, report *r)
{
    if (!model) return complain(r, "model %zu of its table is NULL", index + 1);
    if (!size_fits(model->struct_size, MODEL_LEAST))
        return complain(r, "model %zu: struct_size is %u, at least %d is needed; set it to sizeof(hl_model)",
                        index + 1, model->struct_size, (int)MODEL_LEAST);
    if (!word_sound(model->name))
        return complain(r, "model %zu: the name '%.40s' is not lower case words joined by _", index + 1,
                        model->name ? model->name : "");
    size_t before = r->count;
    if (!text_present(model->title)) complain(r, "model '%s': no title", model->name);
    if (!text_present(model->source))
        complain(r, "model '%s': no source; say which book or paper the equations come from", model->name);
    parameters_sound(model, r);
    if (!model->device == !model->stage)
        complain(r, "model '%s': %s of device and stage set; exactly one must be", model->name,
                 model->device ? "both" : "none");
    else if (model->device)
        device_sound(model, r);
    else
        stage_sound(model, r);
    return r->count == before;
}

/* Two models of one name inside one plugin; names were checked before. */
static void report_twins(const hl_plugin *table, report *r)
{
    for (size_t i = 0; i < table->n_models; i++)
        for (size_t k = 0; k < i; k++)
            if (strcmp(table->models[i]->name, table->models[k]->name) == 0)
                complain(r, "model '%s' stands twice in its table", table->models[i]->name);
}

bool table_sound(const hl_plugin *table, report *r)
{
    if (table->struct_size < SIZE_THROUGH(hl_plugin, abi) || table->struct_size > SIZE_MAX_PLAUSIBLE)
        return complain(
            r,
            "not loaded: struct_size of its table is %u, at least %d is needed; set it to sizeof(hl_plugin)",
            table->struct_size, (int)PLUGIN_LEAST);
    if (table->abi != HL_PLUGIN_ABI)
        return complain(
            r,
            "not loaded: it speaks plugin ABI %u, this program %u; build it against the installed plugin.h",
            table->abi, HL_PLUGIN_ABI);
    if (table->struct_size < PLUGIN_LEAST)
        return complain(
            r,
            "not loaded: struct_size of its table is %u, at least %d is needed; set it to sizeof(hl_plugin)",
            table->struct_size, (int)PLUGIN_LEAST);
    size_t before = r->count;
    if (!text_present(table->name) || !text_present(table->version) || !text_present(table->author) ||
        !text_present(table->licence))
        complain(r, "name, version, author and licence of its table must all be given");
    if (!table->models || table->n_models == 0 || table->n_models > MODELS_MAX)
        return complain(r, "its table lists %zu models; 1 to %d are expected",
                        table->models ? table->n_models : 0, (int)MODELS_MAX);
    bool named = true;
    for (size_t i = 0; i < table->n_models; i++) {
        model_sound(table->models[i], i, r);
        const hl_model *model = table->models[i];
        if (!model || !size_fits(model->struct_size, MODEL_LEAST) || !word_sound(model->name)) named = false;
    }
    if (named) report_twins(table, r);
    return r->count == before;
}
