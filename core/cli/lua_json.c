/* lua_json.c - a Lua table as a JSON tree. */
#include "cli/lua_json.h"

#include <math.h>
#include <stdbool.h>

enum { DEPTH_MAX = 32 };

static json_t *value_of(lua_State *L, int index, int depth);

static json_t *array_of(lua_State *L, int index, int depth)
{
    json_t *array = json_array();
    lua_Integer n = (lua_Integer)lua_rawlen(L, index);
    for (lua_Integer i = 1; array && i <= n; i++) {
        lua_rawgeti(L, index, i);
        json_t *entry = value_of(L, lua_gettop(L), depth);
        lua_pop(L, 1);
        if (json_array_append_new(array, entry) == 0) continue; /* refuses NULL too */
        json_decref(array);
        array = NULL;
    }
    return array;
}

static json_t *object_of(lua_State *L, int index, int depth)
{
    json_t *object = json_object();
    bool good = object != NULL;
    lua_pushnil(L);
    while (good && lua_next(L, index)) {
        good = lua_type(L, -2) == LUA_TSTRING &&
               json_object_set_new(object, lua_tostring(L, -2), value_of(L, lua_gettop(L), depth)) == 0;
        lua_pop(L, 1);
    }
    if (good) return object;
    lua_settop(L, index);
    json_decref(object);
    return NULL;
}

static json_t *table_of(lua_State *L, int index, int depth)
{
    if (depth > DEPTH_MAX || !lua_checkstack(L, 4)) return NULL;
    lua_rawgeti(L, index, 1);
    bool list = !lua_isnil(L, -1);
    lua_pop(L, 1);
    if (!list) {
        lua_pushnil(L);
        list = lua_next(L, index) == 0;
        if (!list) lua_pop(L, 2);
    }
    return list ? array_of(L, index, depth + 1) : object_of(L, index, depth + 1);
}

static json_t *value_of(lua_State *L, int index, int depth)
{
    switch (lua_type(L, index)) {
    case LUA_TTABLE:
        return table_of(L, index, depth);
    case LUA_TSTRING:
        return json_string(lua_tostring(L, index));
    case LUA_TBOOLEAN:
        return json_boolean(lua_toboolean(L, index));
    case LUA_TNUMBER:
        if (lua_isinteger(L, index)) return json_integer(lua_tointeger(L, index));
        return isfinite(lua_tonumber(L, index)) ? json_real(lua_tonumber(L, index)) : json_null();
    default:
        return NULL;
    }
}

json_t *lua_json(lua_State *L, int index)
{
    return value_of(L, lua_absindex(L, index), 0);
}
