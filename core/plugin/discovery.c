/* discovery.c - which folders are searched for plugins, and in what order. */
#define _GNU_SOURCE /* dladdr */
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "plugin/host.h"

static int plugin_name(const struct dirent *item)
{
    size_t length = strlen(item->d_name);
    return item->d_name[0] != '.' && length > 3 && strcmp(item->d_name + length - 3, ".so") == 0;
}

/* By bytes, so that the order is the same in every locale. */
static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

static hl_status load_item(hl_host *host, const char *folder, const char *name, hl_diagnostics *diagnostics)
{
    size_t size = strlen(folder) + strlen(name) + 2;
    char *path = malloc(size);
    if (!path) return HL_NO_MEMORY;
    snprintf(path, size, "%s/%s", folder, name);
    hl_status status = host_load(host, path, HL_WARNING, diagnostics);
    free(path);
    return status;
}

hl_status hl_host_load_folder(hl_host *host, const char *folder, hl_diagnostics *diagnostics)
{
    struct dirent **items = NULL;
    hl_place place = {folder, 0, 0};
    int n = scandir(folder, &items, plugin_name, by_name);
    if (n < 0) {
        hl_diagnostics_add(diagnostics, HL_ERROR, &place, "cannot be searched for plugins: %s",
                           strerror(errno));
        return errno == ENOMEM ? HL_NO_MEMORY : HL_NO_FILE;
    }
    hl_status status = HL_OK;
    for (int i = 0; i < n; i++) {
        if (status == HL_OK && load_item(host, folder, items[i]->d_name, diagnostics) == HL_NO_MEMORY) {
            hl_diagnostics_add(diagnostics, HL_ERROR, &place, "%s", hl_status_text(HL_NO_MEMORY));
            status = HL_NO_MEMORY;
        }
        free(items[i]);
    }
    free(items);
    return status;
}

/* Folders of HEATLEDGER_PLUGINS.  An empty or relative one would mean the working folder, where anybody's
 * files may lie. */
static hl_status load_listed(hl_host *host, const char *list, hl_diagnostics *diagnostics)
{
    hl_status first = HL_OK;
    while (*list) {
        size_t length = strcspn(list, ":");
        char *folder = strndup(list, length);
        if (!folder) return HL_NO_MEMORY;
        hl_status status = HL_OK;
        if (folder[0] != '/') {
            hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                               "HEATLEDGER_PLUGINS: '%s' is not an absolute folder; begin it with /", folder);
            status = HL_BAD_INPUT;
        } else
            status = hl_host_load_folder(host, folder, diagnostics);
        free(folder);
        if (first == HL_OK) first = status;
        if (status == HL_NO_MEMORY) return status;
        list += length;
        if (*list == ':') {
            list++;
            if (!*list || *list == ':') {
                hl_diagnostics_add(
                    diagnostics, HL_ERROR, NULL,
                    "HEATLEDGER_PLUGINS: an empty entry would mean the working folder; remove the extra ':'");
                if (first == HL_OK) first = HL_BAD_INPUT;
                while (*list == ':') list++;
            }
        }
    }
    return first;
}

/* The shipped models lie beside the shared library, in a build tree as in an install that was moved;
 * failing that, in the folder the library was configured for. */
static const char *shipped_folder(char folder[], size_t size)
{
    Dl_info info;
    union {
        hl_host *(*function)(void);
        void *address;
    } own = {hl_host_create};
    if (!dladdr(own.address, &info) || !info.dli_fname || info.dli_fname[0] != '/') return HL_PLUGIN_FOLDER;
    const char *slash = strrchr(info.dli_fname, '/');
    int n = snprintf(folder, size, "%.*s/heatledger/plugins", (int)(slash - info.dli_fname), info.dli_fname);
    return n > 0 && (size_t)n < size && access(folder, X_OK) == 0 ? folder : HL_PLUGIN_FOLDER;
}

hl_status hl_host_load_shipped(hl_host *host, hl_diagnostics *diagnostics)
{
    char beside[PATH_MAX];
    const char *shipped = shipped_folder(beside, sizeof beside);
    size_t before = hl_host_models(host);
    /* A program that runs with another user's rights does not take that from its caller. */
    bool own_rights = getuid() == geteuid() && getgid() == getegid();
    const char *list = own_rights ? getenv("HEATLEDGER_PLUGINS") : NULL;
    bool listed = list && *list;
    hl_status status =
        listed ? load_listed(host, list, diagnostics) : hl_host_load_folder(host, shipped, diagnostics);
    if (status == HL_OK && hl_host_models(host) == before) {
        hl_place place = {listed ? list : shipped, 0, 0};
        hl_diagnostics_add(
            diagnostics, HL_ERROR, &place,
            "no plugin could be loaded from there; install the models or set HEATLEDGER_PLUGINS");
        return HL_NO_PLUGIN;
    }
    return status;
}
