/* library.c - this project's own Lua files: found by module name, listed, told from the user's. */
#include "lua/library.h"

#include <ctype.h>
#include <dirent.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char folder_key = 'f';
static const char own[] = "heatledger";

enum { FILES_MAX = 256 };

const char *library_folder(lua_State *L)
{
    lua_rawgetp(L, LUA_REGISTRYINDEX, &folder_key);
    const char *folder = lua_tostring(L, -1); /* kept alive by the registry */
    lua_pop(L, 1);
    return folder;
}

void library_set(lua_State *L, const char *folder)
{
    if (library_folder(L)) return;
    lua_pushstring(L, folder);
    lua_rawsetp(L, LUA_REGISTRYINDEX, &folder_key);
}

bool library_owns(lua_State *L, const lua_Debug *chunk)
{
    const char *source = chunk->source, *folder = library_folder(L);
    if (!strncmp(source, "=heatledger", 11)) return true;
    if (!folder) return strstr(source, "heatledger/init.lua") != NULL;
    size_t length = strlen(folder), name = strlen(own);
    return source[0] == '@' && !strncmp(source + 1, folder, length) && source[1 + length] == '/' &&
           !strncmp(source + 2 + length, own, name) && source[2 + length + name] == '/';
}

static bool is_word(char c)
{
    return isalnum((unsigned char)c) || c == '_';
}

bool library_path(const char *folder, const char *name, char *path, size_t size)
{
    size_t length = strlen(own);
    if (strncmp(name, own, length)) return false;
    if (!name[length]) return (size_t)snprintf(path, size, "%s/%s/init.lua", folder, own) < size;
    for (const char *c = name + length; *c; c++) {
        bool dot = *c == '.';
        if (!dot && !is_word(*c)) return false;
        if (dot && !is_word(c[1])) return false; /* an empty word between dots, or at the end */
    }
    if (name[length] != '.') return false;
    int written = snprintf(path, size, "%s/%s", folder, name);
    if (written < 0 || (size_t)written + 5 > size) return false;
    for (char *c = path + strlen(folder) + 1; *c; c++)
        if (*c == '.') *c = '/';
    memcpy(path + written, ".lua", 5);
    return true;
}

/* library(path): init.lua says where it was loaded from, as `require` told it. */
static int lua_library(lua_State *L)
{
    static const char tail[] = "/heatledger/init.lua";
    size_t length;
    const char *path = luaL_optlstring(L, 1, "", &length);
    size_t end = sizeof tail - 1;
    if (length <= end || strcmp(path + length - end, tail)) return 0;
    lua_pushlstring(L, path, length - end);
    library_set(L, lua_tostring(L, -1));
    return 0;
}

/* A plain module file: NAME.lua of letters, digits and underscores. */
static int is_module(const struct dirent *entry)
{
    const char *c = entry->d_name;
    while (is_word(*c)) c++;
    return c > entry->d_name && !strcmp(c, ".lua");
}

/* library_files("laws") -> array of module names in that folder of the library, in order of name */
static int lua_library_files(lua_State *L)
{
    const char *name = luaL_checkstring(L, 1), *folder = library_folder(L);
    char path[PATH_MAX];
    for (const char *c = name; *c; c++)
        if (!is_word(*c)) return luaL_error(L, "'%s' is no folder of the library", name);
    if (!folder) return luaL_error(L, "the folder of the library is not known; load it by require");
    snprintf(path, sizeof path, "%s/%s/%s", folder, own, name);
    struct dirent **entries;
    int n = scandir(path, &entries, is_module, alphasort);
    if (n < 0) return luaL_error(L, "%s cannot be read", path);
    char names[FILES_MAX][NAME_MAX + 1]; /* freed before Lua, which may raise, is called again */
    int kept = n < FILES_MAX ? n : FILES_MAX;
    for (int i = 0; i < n; i++) {
        if (i < kept)
            snprintf(names[i], sizeof names[i], "%.*s", (int)(strlen(entries[i]->d_name) - 4),
                     entries[i]->d_name);
        free(entries[i]);
    }
    free(entries);
    lua_createtable(L, kept, 0);
    for (int i = 0; i < kept; i++) {
        lua_pushstring(L, names[i]);
        lua_rawseti(L, -2, i + 1);
    }
    return 1;
}

void library_open(lua_State *L)
{
    lua_pushcfunction(L, lua_library);
    lua_setfield(L, -2, "library");
    lua_pushcfunction(L, lua_library_files);
    lua_setfield(L, -2, "library_files");
}
