/* lua_description.c - a design told back: its tree, its parts, and every input with its origin. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "diagnostic/joined.h"
#include "lua/binding.h"

/* Three lengths of a core, all of them; a curve or a longer list by its length. */
static void entries_text(const hl_parameter *parameter, const hl_curve *curve, char *text, size_t size)
{
    enum { ENTRIES = 4 };
    if (parameter->kind == HL_CURVE || curve->n > ENTRIES) {
        snprintf(text, size, "table of %zu points", curve->n);
        return;
    }
    text[0] = '\0';
    for (size_t i = 0; i < curve->n; i++) {
        char entry[24];
        if (parameter->kind == HL_CHOICES)
            snprintf(entry, sizeof entry, "%s", parameter->choices[(size_t)curve->y[i]]);
        else
            hl_quantity_print(curve->y[i], parameter->dimension, 4, entry, sizeof entry);
        join_word(text, size, ", ", entry);
    }
}

/* The value as a person would write it. */
static void value_text(const hl_parameter *parameter, const hl_value *value, char *text, size_t size)
{
    if (value->curve.n) {
        entries_text(parameter, &value->curve, text, size);
        return;
    }
    if (parameter->kind == HL_CHOICE)
        snprintf(text, size, "%s", parameter->choices[(size_t)value->number]);
    else
        hl_quantity_print(value->number, parameter->dimension, 4, text, size);
}

/* Append one input to the table on top. */
static void add_input(lua_State *L, const char *owner, const hl_parameter *parameter, const hl_value *value)
{
    if (!value->given) return;
    char text[80];
    value_text(parameter, value, text, sizeof text);
    lua_createtable(L, 0, 7);
    binding_put_text(L, "owner", owner);
    binding_put_text(L, "name", parameter->name);
    binding_put_text(L, "text", text);
    binding_put_text(L, "meaning", parameter->meaning);
    binding_put_text(L, "origin", hl_origin_name(value->origin));
    if (!value->curve.n && parameter->kind != HL_CHOICE && value->minimum < value->maximum) {
        binding_put_number(L, "minimum", value->minimum);
        binding_put_number(L, "maximum", value->maximum);
    }
    lua_rawseti(L, -2, (lua_Integer)lua_rawlen(L, -2) + 1);
}

static void push_inputs(lua_State *L, const hl_design *design)
{
    lua_newtable(L);
    for (size_t s = 0; s < hl_design_stages(design); s++) {
        const hl_model *model = hl_design_stage_model(design, s);
        const hl_value *values = hl_design_stage_values(design, s);
        for (size_t i = 0; i < model->n_parameters; i++)
            add_input(L, hl_design_stage_name(design, s), hl_model_parameter(model, i), &values[i]);
    }
    for (size_t k = 0; k < hl_design_items(design); k++) {
        const hl_item *item = hl_design_item(design, k);
        const hl_model *model = hl_part_model(item->part);
        const hl_value *values = hl_part_values(item->part), *commons = hl_part_commons(item->part);
        for (size_t i = 0; i < model->n_parameters; i++)
            add_input(L, item->name, hl_model_parameter(model, i), &values[i]);
        for (size_t i = 0; i < HL_COMMONS; i++) add_input(L, item->name, hl_common_parameter(i), &commons[i]);
    }
}

static void push_stages(lua_State *L, const hl_design *design)
{
    lua_newtable(L);
    for (size_t s = 0; s < hl_design_stages(design); s++) {
        int parent = hl_design_stage_parent(design, s);
        lua_createtable(L, 0, 4);
        binding_put_text(L, "stage", hl_design_stage_name(design, s));
        binding_put_text(L, "model", hl_design_stage_model(design, s)->name);
        binding_put_text(L, "title", hl_design_stage_model(design, s)->title);
        if (parent >= 0) binding_put_text(L, "fed_by", hl_design_stage_name(design, (size_t)parent));
        lua_rawseti(L, -2, (lua_Integer)s + 1);
    }
}

static void push_ports(lua_State *L, const hl_design *design)
{
    lua_newtable(L);
    for (size_t p = 0; p < hl_design_ports(design); p++) {
        lua_createtable(L, 0, 2);
        binding_put_text(L, "port", hl_design_port_name(design, p));
        binding_put_text(L, "fed_by", hl_design_stage_name(design, (size_t)hl_design_port_stage(design, p)));
        lua_rawseti(L, -2, (lua_Integer)p + 1);
    }
}

static void push_parts(lua_State *L, const hl_design *design)
{
    lua_newtable(L);
    for (size_t k = 0; k < hl_design_items(design); k++) {
        const hl_item *item = hl_design_item(design, k);
        lua_createtable(L, 0, 7);
        binding_put_text(L, "item", item->name);
        binding_put_text(L, "stage", item->stage);
        binding_put_text(L, "part", hl_part_name(item->part));
        binding_put_text(L, "description", hl_part_description(item->part));
        binding_put_text(L, "model", hl_part_model(item->part)->name);
        binding_put_text(L, "title", hl_part_model(item->part)->title);
        binding_put_number(L, "count", item->count);
        lua_rawseti(L, -2, (lua_Integer)k + 1);
    }
}

/* Size in m and the face that looks up; nothing without a box. */
static void put_box(lua_State *L, const hl_box *box)
{
    if (!box) return;
    lua_createtable(L, 0, 2);
    lua_createtable(L, 3, 0);
    for (int i = 0; i < 3; i++) {
        lua_pushnumber(L, box->size[i]);
        lua_rawseti(L, -2, i + 1);
    }
    lua_setfield(L, -2, "size");
    binding_put_text(L, "up", hl_face_name(box->up));
    lua_setfield(L, -2, "box");
}

/* design:description() -> { name, stages, ports, parts, inputs, box } as described, before any setting is
 * changed
 */
static int design_description(lua_State *L)
{
    const bound_design *bound = luaL_checkudata(L, 1, BINDING_DESIGN);
    lua_createtable(L, 0, 5);
    binding_put_text(L, "name", hl_design_name(bound->design));
    push_stages(L, bound->design);
    lua_setfield(L, -2, "stages");
    push_ports(L, bound->design);
    lua_setfield(L, -2, "ports");
    push_parts(L, bound->design);
    lua_setfield(L, -2, "parts");
    push_inputs(L, bound->design);
    lua_setfield(L, -2, "inputs");
    put_box(L, hl_design_box(bound->design));
    return 1;
}

void binding_open_description(lua_State *L)
{
    luaL_getmetatable(L, BINDING_DESIGN);
    lua_getfield(L, -1, "__index");
    lua_pushcfunction(L, design_description);
    lua_setfield(L, -2, "description");
    lua_pop(L, 2);
}
