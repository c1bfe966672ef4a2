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

/* Its length in bytes, at most 16 MB; negative: it cannot be read. */
static long length_of_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (!file) return -1;
    long length = fseek(file, 0, SEEK_END) == 0 ? ftell(file) : -1;
    fclose(file);
    return length < 1L << 24 ? length : 1L << 24;
}

/* The whole file as a string on the stack.  Room first, for asking Lua for it may raise: no file is open
 * then. */
static void push_file(lua_State *L, const char *path)
{
    long length = length_of_file(path);
    char *room = length < 0 ? NULL : lua_newuserdatauv(L, (size_t)length + 1, 0);
    FILE *file = room ? fopen(path, "rb") : NULL;
    if (!file) luaL_error(L, "script '%s' cannot be read", path);
    size_t used = fread(room, 1, (size_t)length, file);
    fclose(file);
    lua_pushlstring(L, room, used);
}

/* script(path, ...) -> the value of another script, such as the adapter that a plan is about; it finds what
 * follows as its `...`. A relative path counts from the script that names it, and none leads out of the
 * folder of the script that runs. */
static int run_script(lua_State *L)
{
    char full[PATH_MAX];
    size_t length;
    int given = lua_gettop(L) - 1;
    script_path(L, "script", luaL_checkstring(L, 1), full);
    push_file(L, full);
    const char *text = lua_tolstring(L, -1, &length);
    keep_text(L, text, length);
    lua_pushfstring(L, "@%s", full);
    if (luaL_loadbufferx(L, text, length, lua_tostring(L, -1), "t") != LUA_OK) return lua_error(L);
    for (int i = 0; i < given; i++) lua_pushvalue(L, 2 + i);
    lua_call(L, given, 1);
    return 1;
}

void binding_open_script(lua_State *L)
{
    lua_pushcfunction(L, run_script);
    lua_setfield(L, -2, "script");
}
