/* lua_script.c - scripts that a script runs, such as the adapter of a plan. */
#include "lua/lua_script.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "lua/script_path.h"

static const char texts_key = 't';

void script_push_texts(lua_State *L)
{
    lua_rawgetp(L, LUA_REGISTRYINDEX, &texts_key);
}

static void keep_text(lua_State *L, const char *text, size_t length)
{
    if (lua_rawgetp(L, LUA_REGISTRYINDEX, &texts_key) != LUA_TTABLE) {
        lua_pop(L, 1);
        lua_newtable(L);
        lua_pushvalue(L, -1);
        lua_rawsetp(L, LUA_REGISTRYINDEX, &texts_key);
    }
    lua_pushlstring(L, text, length);
    lua_rawseti(L, -2, (lua_Integer)lua_rawlen(L, -2) + 1);
    lua_pop(L, 1);
}

/* The whole file as a string on the stack. */
static void push_file(lua_State *L, const char *path)
{
    luaL_Buffer text;
    char buffer[4096];
    FILE *file = fopen(path, "rb");
    if (!file) luaL_error(L, "script '%s' cannot be read", path);
    char *all = NULL;
    size_t used = 0;
    bool good = true;
    for (size_t n; (n = fread(buffer, 1, sizeof buffer, file)) > 0 && used < (size_t)1 << 24;) {
        char *grown = realloc(all, used + n);
        if (!grown) {
            good = false;
            break;
        }
        all = grown;
        memcpy(all + used, buffer, n);
        used += n;
    }
    fclose(file);
    char *room =
        good ? lua_newuserdatauv(L, used + 1, 0) : NULL; /* freed by Lua, should what follows raise */
    if (room && used) memcpy(room, all, used);
    free(all);
    if (!room) luaL_error(L, "memory ran out; close other programs");
    luaL_buffinit(L, &text);
    luaL_addlstring(&text, room, used);
    luaL_pushresult(&text);
}

/* script(path) -> the value of another script, such as the adapter that a plan is about; a relative path
 * counts from the script that names it, and none leads out of the folder of the script that runs. */
static int run_script(lua_State *L)
{
    char full[PATH_MAX];
    size_t length;
    script_path(L, "script", luaL_checkstring(L, 1), full);
    push_file(L, full);
    const char *text = lua_tolstring(L, -1, &length);
    keep_text(L, text, length);
    lua_pushfstring(L, "@%s", full);
    if (luaL_loadbufferx(L, text, length, lua_tostring(L, -1), "t") != LUA_OK) return lua_error(L);
    lua_call(L, 0, 1);
    return 1;
}

void binding_open_script(lua_State *L)
{
    lua_pushcfunction(L, run_script);
    lua_setfield(L, -2, "script");
}
