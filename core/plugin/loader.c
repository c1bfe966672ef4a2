/* loader.c - the only file that talks to libltdl.
 *
 * libltdl keeps one list of modules per process and does not lock it, hence the one lock here; it guards that
 * library's state, there is none of our own. */
#include "plugin/loader.h"
#include "plugin/calling.h"

#include <dlfcn.h>
#include <errno.h>
#include <ltdl.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

static pthread_mutex_t libltdl_lock = PTHREAD_MUTEX_INITIALIZER;

struct module {
    lt_dlhandle handle;
};

bool loader_start(void)
{
    pthread_mutex_lock(&libltdl_lock);
    bool ready = lt_dlinit() == 0;
    pthread_mutex_unlock(&libltdl_lock);
    return ready;
}

void loader_stop(void)
{
    pthread_mutex_lock(&libltdl_lock);
    lt_dlexit();
    pthread_mutex_unlock(&libltdl_lock);
}

/* The loader gives its reason as text alone. */
static bool tells_of_memory(const char *reason)
{
    return strstr(reason, strerror(ENOMEM)) || strstr(reason, "out of memory");
}

/* Resolve every symbol now, before libltdl opens the file lazily: an object once opened lazily stays so, and
 * a missing function would end the program in the middle of a solution.  libltdl also answers "file not
 * found" to everything, so the system's reason comes from here.  An opened file stays mapped until the
 * process ends: to take some sixty of them down again cost a command a tenth of its time, and a host opened
 * later in the same process finds them in place.  NULL: refused, *reason is static text of the loader. */
static void *bind_all(const char *path, const char **reason)
{
    void *bound = dlopen(path, RTLD_NOW | RTLD_LOCAL | RTLD_NODELETE);
    if (bound) return bound;
    const char *words = dlerror();
    *reason = words ? words : "the system gives no reason";
    size_t length = strlen(path);
    if (strncmp(*reason, path, length) == 0 && strncmp(*reason + length, ": ", 2) == 0)
        *reason += length + 2; /* the path stands in front of the complaint already */
    return NULL;
}

static lt_dlhandle open_local(const char *path)
{
    lt_dladvise advise;
    if (lt_dladvise_init(&advise) != 0) return NULL;
    lt_dlhandle handle = lt_dladvise_local(&advise) == 0 ? lt_dlopenadvise(path, advise) : NULL;
    lt_dladvise_destroy(&advise);
    return handle;
}

static hl_status refuse(report *r, const char *reason)
{
    complain(r, "not loaded: %s", reason);
    return tells_of_memory(reason) ? HL_NO_MEMORY : HL_NO_PLUGIN;
}

static hl_status open_and_find(module *opened, const char *path, const hl_plugin **table, report *r)
{
    const char *reason;
    calling_file(path);
    void *bound = bind_all(path, &reason);
    called();
    if (!bound) return refuse(r, reason);
    opened->handle = open_local(path);
    if (!opened->handle) {
        reason = lt_dlerror();
        dlclose(bound);
        return refuse(r, reason ? reason : strerror(ENOMEM));
    }
    dlclose(bound); /* libltdl's handle keeps it, bound as it is */
    *table = lt_dlsym(opened->handle, HL_PLUGIN_SYMBOL);
    if (!*table)
        return refuse(r, "no symbol '" HL_PLUGIN_SYMBOL
                         "' in it, so it is not a plugin; define `const hl_plugin " HL_PLUGIN_SYMBOL "`");
    return HL_OK;
}

hl_status loader_open(const char *path, module **opened, const hl_plugin **table, report *r)
{
    *opened = calloc(1, sizeof **opened);
    if (!*opened) return refuse(r, strerror(ENOMEM));
    pthread_mutex_lock(&libltdl_lock);
    hl_status status = open_and_find(*opened, path, table, r);
    pthread_mutex_unlock(&libltdl_lock);
    if (status == HL_OK) return HL_OK;
    loader_close(*opened);
    *opened = NULL;
    return status;
}

void loader_close(module *opened)
{
    if (!opened) return;
    pthread_mutex_lock(&libltdl_lock);
    if (opened->handle) lt_dlclose(opened->handle);
    pthread_mutex_unlock(&libltdl_lock);
    free(opened);
}
