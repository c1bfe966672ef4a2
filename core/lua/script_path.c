/* script_path.c - which files a script may name, and where they are. */
#include "lua/script_path.h"

#include <libgen.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Where the file is or, when it is not there, where it would be; false: nowhere that can be told. */
static bool real_place(const char *path, char real[PATH_MAX])
{
    char folder[PATH_MAX];
    if (realpath(path, real)) return true;
    snprintf(folder, sizeof folder, "%s", path);
    return realpath(dirname(folder), real) != NULL;
}

/* No link leads out of the folder. */
static bool inside(const char *root, const char *path)
{
    char real[PATH_MAX], real_root[PATH_MAX];
    if (!realpath(root, real_root)) return false;
    if (!real_place(path, real)) return path[0] != '/' && !strstr(path, "..");
    size_t n = strlen(real_root);
    return !strncmp(real, real_root, n) && (real[n] == '/' || !real[n] || !strcmp(real_root, "/"));
}

/* Folder of the script that calls, with its slash; of the one that ran first where a tail call left no trace
 * of the other; "" for the working folder. */
static int print_folder(lua_State *L, char full[PATH_MAX])
{
    const char *script = binding_place(L).file, *folder = binding_folder(L);
    const char *slash = script ? strrchr(script, '/') : NULL;
    if (slash) return snprintf(full, PATH_MAX, "%.*s", (int)(slash - script) + 1, script);
    if (!script && folder) return snprintf(full, PATH_MAX, "%s/", folder);
    return snprintf(full, PATH_MAX, "%s", "");
}

void script_path(lua_State *L, const char *what, const char *path, char full[PATH_MAX])
{
    const char *root = binding_root(L);
    int used = path[0] == '/' ? 0 : print_folder(L, full);
    int n = used < PATH_MAX ? snprintf(full + used, (size_t)(PATH_MAX - used), "%s", path) : PATH_MAX;
    if (n < 0 || used + n >= PATH_MAX) luaL_error(L, "the path '%s' is too long", path);
    size_t dots = 0;
    while (full[dots] == '.' && full[dots + 1] == '/') dots += 2;
    memmove(full, full + dots, strlen(full + dots) + 1);
    if (root && !inside(root, full))
        luaL_error(L, "%s '%s' lies outside the script's folder; move it there, or run with --trust", what,
                   path);
}
