/* host.c - the models of all loaded plugins, by name. */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/catalogue.h"
#include "heatledger/quantity.h"
#include "plugin/host.h"
#include "plugin/loader.h"
#include "plugin/table.h"
#include "plugin/trust.h"

typedef struct plugin {
    module *opened;
    char *path;
} plugin;

typedef struct entry {
    const hl_model *model;
    const char *file; /* of its plugin */
} entry;

struct hl_host {
    plugin *plugins;
    size_t n_plugins;
    entry *models;      /* in name order */
    const char **names; /* of the same, NULL-ended */
    size_t n_models;
};

hl_host *hl_host_create(void)
{
    hl_host *host = calloc(1, sizeof *host);
    if (host && !loader_start()) {
        free(host);
        return NULL;
    }
    return host;
}

void hl_host_destroy(hl_host *host)
{
    if (!host) return;
    for (size_t i = host->n_plugins; i-- > 0;) {
        loader_close(host->plugins[i].opened);
        free(host->plugins[i].path);
    }
    free(host->plugins);
    free(host->models);
    free(host->names);
    loader_stop();
    free(host);
}

/* Index of `name`, or where it would stand; *found tells which. */
static size_t place_of(const hl_host *host, const char *name, bool *found)
{
    size_t low = 0, high = host->n_models;
    *found = false;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        int order = strcmp(host->models[middle].model->name, name);
        if (order == 0) {
            *found = true;
            return middle;
        }
        if (order < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Room for one more plugin with n models, so that nothing can fail half way. */
static bool reserve(hl_host *host, size_t n)
{
    plugin *plugins = realloc(host->plugins, (host->n_plugins + 1) * sizeof *plugins);
    if (!plugins) return false;
    host->plugins = plugins;
    entry *models = realloc(host->models, (host->n_models + n) * sizeof *models);
    if (!models) return false;
    host->models = models;
    const char **names = realloc(host->names, (host->n_models + n + 1) * sizeof *names);
    if (!names) return false;
    host->names = names;
    return true;
}

static void insert(hl_host *host, const hl_model *model, const char *file)
{
    bool found;
    size_t at = place_of(host, model->name, &found);
    memmove(&host->models[at + 1], &host->models[at], (host->n_models - at) * sizeof *host->models);
    host->models[at] = (entry){model, file};
    host->n_models++;
    for (size_t i = 0; i < host->n_models; i++) host->names[i] = host->models[i].model->name;
    host->names[host->n_models] = NULL;
}

static bool names_free(const hl_host *host, const hl_plugin *table, report *r)
{
    size_t before = r->count;
    for (size_t i = 0; i < table->n_models; i++) {
        bool found;
        size_t at = place_of(host, table->models[i]->name, &found);
        if (found)
            complain(r, "not loaded: model '%s' is already provided by %s; rename one of them",
                     table->models[i]->name, host->models[at].file);
    }
    return r->count == before;
}

/* `path` is absolute with links resolved, and was found trustworthy; it is owned by the host on success. */
static hl_status take_in(hl_host *host, char *path, report *r)
{
    const hl_plugin *table = NULL;
    module *opened;
    hl_status status = loader_open(path, &opened, &table, r);
    if (status != HL_OK) return status;
    status = HL_NO_PLUGIN;
    if (!table_sound(table, r) || !names_free(host, table, r)) goto refuse;
    if (!reserve(host, table->n_models)) {
        complain(r, "not loaded: %s", hl_status_text(HL_NO_MEMORY));
        status = HL_NO_MEMORY;
        goto refuse;
    }
    host->plugins[host->n_plugins++] = (plugin){opened, path};
    for (size_t i = 0; i < table->n_models; i++) insert(host, table->models[i], path);
    return HL_OK;
refuse:
    loader_close(opened);
    return status;
}

/* libltdl reads *.la files as instructions to load something else; only shared objects are taken. */
static bool is_shared_object(const char *path)
{
    size_t length = strlen(path);
    return length > 3 && strcmp(path + length - 3, ".so") == 0;
}

/* The path is made absolute first, so that neither loader ever searches for it. */
hl_status host_load(hl_host *host, const char *path, hl_severity severity, hl_diagnostics *diagnostics)
{
    report r = {diagnostics, severity, {path, 0, 0}, 0};
    char *resolved = realpath(path, NULL);
    if (!resolved) {
        complain(&r, "not loaded: %s", strerror(errno));
        return errno == ENOMEM ? HL_NO_MEMORY : HL_NO_FILE;
    }
    hl_status status = HL_NO_PLUGIN;
    if (!is_shared_object(resolved))
        complain(&r, "not loaded: a plugin is a shared object named *.so");
    else if (trusted_plugin(resolved, &r))
        status = take_in(host, resolved, &r);
    if (status != HL_OK) free(resolved);
    return status;
}

hl_status hl_host_load(hl_host *host, const char *path, hl_diagnostics *diagnostics)
{
    return host_load(host, path, HL_ERROR, diagnostics);
}

size_t hl_host_models(const hl_host *host)
{
    return host->n_models;
}

const hl_model *hl_host_model(const hl_host *host, size_t index)
{
    return index < host->n_models ? host->models[index].model : NULL;
}

const char *hl_host_model_file(const hl_host *host, size_t index)
{
    return index < host->n_models ? host->models[index].file : NULL;
}

const hl_model *hl_host_find(const hl_host *host, const char *name)
{
    bool found;
    size_t at = place_of(host, name, &found);
    return found ? host->models[at].model : NULL;
}

const char *hl_host_nearest(const hl_host *host, const char *name)
{
    return host->n_models ? hl_nearest_word(name, host->names) : NULL;
}
