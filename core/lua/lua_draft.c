/* lua_draft.c - describing an adapter from Lua.
 *
 * A statement that is wrong is noted with its line and the script goes on, so
 * that finish() can raise every problem of the description at once. */
#include "lua/binding.h"

#include <math.h>
#include <string.h>

static bound_draft *check_draft(lua_State *L)
{
    bound_draft *bound = luaL_checkudata(L, 1, BINDING_DRAFT);
    if (!bound->draft) luaL_error(L, "this adapter description could not be made: memory ran out");
    return bound;
}

/* draft(name) -> an empty description */
static int new_draft(lua_State *L)
{
    const char *name = luaL_checkstring(L, 1);
    const hl_host *host = binding_host(L);
    bound_draft *bound = lua_newuserdatauv(L, sizeof *bound, 1);
    memset(bound, 0, sizeof *bound);
    luaL_setmetatable(L, BINDING_DRAFT);
    lua_newtable(L); /* parts in use: keeps their catalogues alive */
    lua_setiuservalue(L, -2, 1);
    bound->draft = hl_draft_create(host, name);
    bound->diagnostics = hl_diagnostics_create();
    if (!bound->draft || !bound->diagnostics) return luaL_error(L, "memory ran out; close other programs");
    return 1;
}

static int draft_gc(lua_State *L)
{
    bound_draft *bound = luaL_checkudata(L, 1, BINDING_DRAFT);
    hl_draft_destroy(bound->draft);
    hl_diagnostics_destroy(bound->diagnostics);
    memset(bound, 0, sizeof *bound);
    return 0;
}

static int draft_source(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_draft_source(bound->draft, &place, luaL_checknumber(L, 2), luaL_checknumber(L, 3), bound->diagnostics);
    return 0;
}

static int draft_ambient(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_draft_ambient(bound->draft, &place, luaL_checknumber(L, 2), luaL_checknumber(L, 3),
                     bound->diagnostics);
    return 0;
}

static int draft_stage(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_status status = hl_draft_stage(bound->draft, &place, luaL_checkstring(L, 2), luaL_checkstring(L, 3),
                                      luaL_checkstring(L, 4), bound->diagnostics);
    lua_pushboolean(L, status == HL_OK);
    return 1;
}

/* draft:set(stage, parameter, text or number) */
static int draft_set(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    const char *stage = luaL_checkstring(L, 2), *parameter = luaL_checkstring(L, 3);
    if (lua_isboolean(L, 4)) {
        hl_draft_set(bound->draft, &place, stage, parameter, lua_toboolean(L, 4) ? "yes" : "no",
                     bound->diagnostics);
    } else {
        hl_draft_set(bound->draft, &place, stage, parameter, luaL_checkstring(L, 4), bound->diagnostics);
    }
    return 0;
}

static void keep_part(lua_State *L, int part)
{
    lua_getiuservalue(L, 1, 1);
    lua_pushvalue(L, part);
    lua_rawseti(L, -2, (lua_Integer)lua_rawlen(L, -2) + 1);
    lua_pop(L, 1);
}

static unsigned check_count(lua_State *L, int index)
{
    lua_Integer count = luaL_optinteger(L, index, 1);
    return count < 0 || count > 1000000 ? 0 : (unsigned)count;
}

/* draft:fill(stage, slot, part, count) */
static int draft_fill(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    bound_part *part = luaL_checkudata(L, 4, BINDING_PART);
    keep_part(L, 4);
    hl_draft_fill(bound->draft, &place, luaL_checkstring(L, 2), luaL_checkstring(L, 3), part->part,
                  check_count(L, 5), bound->diagnostics);
    return 0;
}

/* draft:bus_capacitor(stage, label, part, count) */
static int draft_bus_capacitor(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    bound_part *part = luaL_checkudata(L, 4, BINDING_PART);
    keep_part(L, 4);
    hl_draft_bus_capacitor(bound->draft, &place, luaL_checkstring(L, 2), luaL_checkstring(L, 3), part->part,
                           check_count(L, 5), bound->diagnostics);
    return 0;
}

/* draft:alternative(stage, slot or bus capacitor, part): one more part that a setting may put there */
static int draft_alternative(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    bound_part *part = luaL_checkudata(L, 4, BINDING_PART);
    keep_part(L, 4);
    hl_draft_alternative(bound->draft, &place, luaL_checkstring(L, 2), luaL_checkstring(L, 3), part->part,
                         bound->diagnostics);
    return 0;
}

static int draft_port(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_draft_port(bound->draft, &place, luaL_checkstring(L, 2), luaL_checkstring(L, 3),
                  luaL_checknumber(L, 4), luaL_checknumber(L, 5), bound->diagnostics);
    return 0;
}

/* ---------------------------------------------------------------- thermal -- */

static double field_number(lua_State *L, int table, const char *name, double fallback)
{
    lua_getfield(L, table, name);
    double value = lua_isnil(L, -1) ? fallback : luaL_checknumber(L, -1);
    lua_pop(L, 1);
    return value;
}

static void field_triple(lua_State *L, int table, const char *name, double out[3])
{
    lua_getfield(L, table, name);
    if (lua_isnil(L, -1)) {
        out[0] = out[1] = out[2] = 0;
    } else {
        luaL_checktype(L, -1, LUA_TTABLE);
        for (int k = 0; k < 3; k++) {
            lua_rawgeti(L, -1, k + 1);
            out[k] = luaL_checknumber(L, -1);
            lua_pop(L, 1);
        }
    }
    lua_pop(L, 1);
}

static const char *const face_words[] = {"x0", "x1", "y0", "y1", "z0", "z1", "none", NULL};

static hl_face field_face(lua_State *L, int table, const char *name, hl_face fallback)
{
    lua_getfield(L, table, name);
    hl_face face = lua_isnil(L, -1) ? fallback : (hl_face)luaL_checkoption(L, -1, NULL, face_words);
    lua_pop(L, 1);
    return face;
}

/* draft:box{ size, wall, wall_conductivity, ..., up, covered = {x0 = 0..1, ...} } all in SI */
static int draft_box(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    luaL_checktype(L, 2, LUA_TTABLE);
    hl_box box = {.wall = field_number(L, 2, "wall", 2.5e-3),
                  .wall_conductivity = field_number(L, 2, "wall_conductivity", 0.2),
                  .wall_density_heat = field_number(L, 2, "wall_density_heat", 1.5e6),
                  .emissivity_outside = field_number(L, 2, "emissivity_outside", 0.9),
                  .emissivity_inside = field_number(L, 2, "emissivity_inside", 0.9),
                  .fill_conductivity = field_number(L, 2, "fill_conductivity", 0.0),
                  .fill_density_heat = field_number(L, 2, "fill_density_heat", 1.8e6),
                  .cover_conductance = field_number(L, 2, "cover_conductance", 0.0),
                  .air_speed = field_number(L, 2, "air_speed", 0.0),
                  .up = field_face(L, 2, "up", HL_FACE_Z1)};
    lua_getfield(L, 2, "by_field");
    box.by_field = lua_toboolean(L, -1);
    lua_pop(L, 1);
    box.potted = box.fill_conductivity > 0;
    field_triple(L, 2, "size", box.size);
    lua_getfield(L, 2, "covered");
    if (lua_istable(L, -1))
        for (int f = 0; f < HL_FACES; f++)
            box.covered[f] = field_number(L, lua_gettop(L), face_words[f], 0.0);
    lua_pop(L, 1);
    hl_draft_box(bound->draft, &place, &box, bound->diagnostics);
    return 0;
}

/* draft:board{ name, low, high, conductivity_in, conductivity_through, density_heat } */
static int draft_board(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    luaL_checktype(L, 2, LUA_TTABLE);
    lua_getfield(L, 2, "name");
    hl_board board = {.name = luaL_checkstring(L, -1),
                      .conductivity_in = field_number(L, 2, "conductivity_in", 20.0),
                      .conductivity_through = field_number(L, 2, "conductivity_through", 0.35),
                      .density_heat = field_number(L, 2, "density_heat", 2.0e6)};
    field_triple(L, 2, "low", board.low);
    field_triple(L, 2, "high", board.high);
    hl_draft_board(bound->draft, &place, &board, bound->diagnostics);
    return 0;
}

/* draft:spreader{ name, low, high, conductivity, density_heat, emissivity } */
static int draft_spreader(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    luaL_checktype(L, 2, LUA_TTABLE);
    lua_getfield(L, 2, "name");
    hl_spreader spreader = {.name = luaL_checkstring(L, -1),
                            .conductivity = field_number(L, 2, "conductivity", 0),
                            .density_heat = field_number(L, 2, "density_heat", 2.4e6),
                            .emissivity = field_number(L, 2, "emissivity", 0.1)};
    field_triple(L, 2, "low", spreader.low);
    field_triple(L, 2, "high", spreader.high);
    hl_draft_spreader(bound->draft, &place, &spreader, bound->diagnostics);
    return 0;
}

/* draft:position(item, { centre, size, board, pad_face, pad_resistance, board_resistance }) */
static int draft_position(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    const char *item = luaL_checkstring(L, 2);
    luaL_checktype(L, 3, LUA_TTABLE);
    lua_getfield(L, 3, "board");
    hl_position position = {.board = luaL_optstring(L, -1, NULL),
                            .pad_face = field_face(L, 3, "pad_face", HL_FACES),
                            .pad_resistance = field_number(L, 3, "pad_resistance", 0.0),
                            .board_resistance = field_number(L, 3, "board_resistance", 0.0)};
    field_triple(L, 3, "centre", position.centre);
    field_triple(L, 3, "size", position.size);
    hl_draft_position(bound->draft, &place, item, &position, bound->diagnostics);
    return 0;
}

static int draft_node(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_draft_node(bound->draft, &place, luaL_checkstring(L, 2), luaL_checknumber(L, 3), bound->diagnostics);
    return 0;
}

/* draft:link(a, b, law, kind, p1, p2, p3, p4) */
static int draft_link(lua_State *L)
{
    static const char *const laws[] = {"fixed", "power", "radiation", "natural", "gap", "forced", NULL};
    static const char *const kinds[] = {"vertical", "up", "down", NULL};
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    double p[4];
    for (int k = 0; k < 4; k++) p[k] = luaL_optnumber(L, 6 + k, 0.0);
    hl_draft_link(bound->draft, &place, luaL_checkstring(L, 2), luaL_checkstring(L, 3),
                  (hl_law)luaL_checkoption(L, 4, NULL, laws), luaL_checkoption(L, 5, "vertical", kinds), p,
                  bound->diagnostics);
    return 0;
}

/* draft:takes(stage, slot, part) -> would it fit; is a part of that name there already? */
static int draft_takes(lua_State *L)
{
    const bound_draft *bound = check_draft(L);
    const bound_part *part = luaL_checkudata(L, 4, BINDING_PART);
    const char *stage = luaL_checkstring(L, 2), *slot = luaL_checkstring(L, 3);
    bool there;
    lua_pushboolean(L, hl_draft_takes(bound->draft, stage, slot, part->part, &there));
    lua_pushboolean(L, there);
    return 2;
}

/* draft:filled() -> array of { stage, slot, part's name, model = its name, sized = does it state its size }
 */
static int draft_filled(lua_State *L)
{
    const bound_draft *bound = check_draft(L);
    const char *stage, *slot;
    const hl_part *part;
    lua_newtable(L);
    for (size_t i = 0; hl_draft_filled(bound->draft, i, &stage, &slot, &part); i++) {
        lua_createtable(L, 3, 2);
        lua_pushstring(L, hl_part_model(part)->name);
        lua_setfield(L, -2, "model");
        lua_pushboolean(L, hl_part_commons(part)[HL_COMMON_SIZE].given);
        lua_setfield(L, -2, "sized");
        lua_pushstring(L, stage);
        lua_rawseti(L, -2, 1);
        lua_pushstring(L, slot);
        lua_rawseti(L, -2, 2);
        lua_pushstring(L, hl_part_name(part));
        lua_rawseti(L, -2, 3);
        lua_rawseti(L, -2, (lua_Integer)i + 1);
    }
    return 1;
}

/* draft:note(text): an error found by the Lua library, kept with the others */
static int draft_note(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_diagnostics_add(bound->diagnostics, HL_ERROR, &place, "%s", luaL_checkstring(L, 2));
    return 0;
}

/* draft:warn(text): a warning of the Lua library */
static int draft_warn(lua_State *L)
{
    bound_draft *bound = check_draft(L);
    hl_place place = binding_place(L);
    hl_diagnostics_add(bound->diagnostics, HL_WARNING, &place, "%s", luaL_checkstring(L, 2));
    return 0;
}

void binding_open_draft(lua_State *L)
{
    static const luaL_Reg methods[] = {
        {"source", draft_source},
        {"ambient", draft_ambient},
        {"stage", draft_stage},
        {"set", draft_set},
        {"fill", draft_fill},
        {"bus_capacitor", draft_bus_capacitor},
        {"alternative", draft_alternative},
        {"port", draft_port},
        {"box", draft_box},
        {"board", draft_board},
        {"spreader", draft_spreader},
        {"position", draft_position},
        {"node", draft_node},
        {"link", draft_link},
        {"takes", draft_takes},
        {"filled", draft_filled},
        {"note", draft_note},
        {"warn", draft_warn},
        {NULL, NULL},
    };
    luaL_newmetatable(L, BINDING_DRAFT);
    luaL_newlib(L, methods);
    lua_setfield(L, -2, "__index");
    lua_pushcfunction(L, draft_gc);
    lua_setfield(L, -2, "__gc");
    lua_pop(L, 1);
    lua_pushcfunction(L, new_draft);
    lua_setfield(L, -2, "draft");
}
