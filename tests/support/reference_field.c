#include "reference_field.h"

#include "story.h"

#include <string.h>

const char *const reference_face_name[HL_FACES] = {"x-", "x+", "y-", "y+", "z-", "z+"};

static void corners(json_t *list, double low[3], double high[3])
{
    double six[6];
    reference_numbers(list, 6, six);
    for (int k = 0; k < 3; k++) {
        low[k] = six[2 * k];
        high[k] = six[2 * k + 1];
    }
}

static const char *text_at(json_t *object, const char *key)
{
    return json_string_value(reference_at(object, key));
}

static double number_or(json_t *object, const char *key, double otherwise)
{
    json_t *value = json_object_get(object, key);
    return value ? json_number_value(value) : otherwise;
}

static double density_heat(json_t *matter)
{
    return reference_number(matter, "rho") * reference_number(matter, "cp");
}

static void read_side(hl_field_side *side, json_t *from)
{
    const char *kind = text_at(from, "kind");
    side->emissivity = number_or(from, "eps", 0);
    side->law = HL_FIELD_NATURAL;
    if (strcmp(kind, "fixed") == 0) side->law = HL_FIELD_FIXED;
    if (strcmp(kind, "adiabatic") == 0) side->law = HL_FIELD_ADIABATIC;
    side->coefficient = number_or(from, "h", 0);
    side->length = number_or(from, "Lc", 0);
    if (strcmp(kind, "up") == 0) side->orientation = HL_FACING_UP;
    if (strcmp(kind, "down") == 0) side->orientation = HL_FACING_DOWN;
}

static void read_box(hl_field_box *box, json_t *inputs)
{
    json_t *shell = reference_at(inputs, "shell"), *fill = reference_at(inputs, "fill");
    reference_numbers(reference_at(inputs, "box"), 3, box->size);
    box->shell = reference_number(inputs, "t_shell");
    box->shell_conductivity = reference_number(shell, "k");
    box->shell_density_heat = density_heat(shell);
    box->shell_emissivity = reference_number(shell, "emis");
    box->fill_conductivity = reference_number(fill, "k");
    box->fill_density_heat = density_heat(fill);
    box->potted = strcmp(text_at(fill, "kind"), "pot") == 0;
    box->still = true;
    box->surroundings = (hl_surroundings){273.15 + reference_number(inputs, "T_ambient_C"), 101325};
    for (int face = 0; face < HL_FACES; face++)
        read_side(&box->sides[face], reference_at(reference_at(inputs, "bc"), reference_face_name[face]));
}

typedef struct zone_list {
    hl_field_zone *zones;
    size_t n;
} zone_list;

/* The copper of a board in two outer layers instead of spread over its thickness: the same conductivity x
 * thickness in plane; across, copper. */
static void add_copper(zone_list *list, const hl_field_board *board, double layer, double core, double in,
                       const double low[3], const double high[3])
{
    int axis = board->normal;
    double thickness = board->high[axis] - board->low[axis];
    double copper = (in * thickness - core * (thickness - 2 * layer)) / (2 * layer);
    for (int top = 0; top < 2; top++) {
        hl_field_zone *zone = &list->zones[list->n++];
        memcpy(zone->low, low, sizeof zone->low);
        memcpy(zone->high, high, sizeof zone->high);
        zone->low[axis] = top ? board->high[axis] - layer : board->low[axis];
        zone->high[axis] = top ? board->high[axis] : board->low[axis] + layer;
        zone->conductivity_in = zone->conductivity_through = copper;
    }
}

static void read_board(hl_field_board *board, hl_field_zone *zones, json_t *from)
{
    zone_list list = {zones, 0};
    board->name = text_at(from, "name");
    corners(reference_at(from, "box"), board->low, board->high);
    board->normal = text_at(from, "normal")[0] - 'x';
    board->conductivity_in = reference_number(from, "k_in");
    board->conductivity_through = reference_number(from, "k_thru");
    board->density_heat = density_heat(from);
    board->emissivity = reference_number(from, "emis");
    double layer = number_or(from, "cu_layer_m", 0), core = number_or(from, "core_k_in", 0);
    if (layer > 0) {
        add_copper(&list, board, layer, core, board->conductivity_in, board->low, board->high);
        board->conductivity_in = core;
    }
    json_t *parts = reference_at(from, "zones");
    for (size_t i = 0; i < json_array_size(parts); i++) {
        hl_field_zone zone = {.conductivity_in = reference_number(json_array_get(parts, i), "k_in")};
        corners(reference_at(json_array_get(parts, i), "box"), zone.low, zone.high);
        ck_assert_uint_le(list.n + 2, FIELD_ZONES);
        if (layer > 0)
            add_copper(&list, board, layer, core, zone.conductivity_in, zone.low, zone.high);
        else
            zones[list.n++] = zone;
    }
    board->zones = zones;
    board->n_zones = list.n;
}

static void read_block(const reference_field *field, hl_field_block *block, json_t *from)
{
    json_t *k = reference_at(from, "k"), *on = json_object_get(from, "on");
    block->name = text_at(from, "name");
    corners(reference_at(from, "box"), block->low, block->high);
    for (size_t axis = 0; axis < 3; axis++)
        block->conductivity[axis] = json_number_value(json_is_array(k) ? json_array_get(k, axis) : k);
    block->density_heat = density_heat(from);
    block->emissivity = reference_number(from, "emis");
    block->heat = number_or(from, "W", 0);
    block->contact = number_or(from, "contact_R_m2K_W", 0);
    block->on = HL_FIELD_ANY;
    for (size_t i = 0; on && i < field->box.n_boards; i++)
        if (strcmp(field->boards[i].name, json_string_value(on)) == 0) block->on = (int)i;
}

void reference_field_open(reference_field *field, const char *id)
{
    memset(field, 0, sizeof *field);
    field->root = reference_open("box_open.json");
    json_t *cases = reference_at(field->root, "cases");
    for (size_t k = 0; k < json_array_size(cases); k++) {
        json_t *one = json_array_get(cases, k);
        if (strcmp(text_at(one, "id"), id) == 0) field->one_case = one;
    }
    ck_assert_ptr_nonnull(field->one_case);
    json_t *inputs = reference_at(field->one_case, "inputs"), *boards = reference_at(inputs, "boards");
    json_t *blocks = reference_at(inputs, "blocks"), *spreaders = reference_at(inputs, "spreaders");
    hl_field_box *box = &field->box;
    read_box(box, inputs);
    box->boards = field->boards;
    box->blocks = field->blocks;
    box->spreaders = field->spreaders;
    box->n_boards = json_array_size(boards);
    box->n_blocks = json_array_size(blocks);
    box->n_spreaders = json_array_size(spreaders);
    ck_assert_uint_le(box->n_boards, FIELD_BOARDS);
    ck_assert_uint_le(box->n_blocks, FIELD_BODIES);
    ck_assert_uint_le(box->n_spreaders, FIELD_BODIES);
    for (size_t i = 0; i < box->n_boards; i++)
        read_board(&field->boards[i], field->zones[i], json_array_get(boards, i));
    for (size_t i = 0; i < box->n_blocks; i++)
        read_block(field, &field->blocks[i], json_array_get(blocks, i));
    for (size_t i = 0; i < box->n_spreaders; i++)
        read_block(field, &field->spreaders[i], json_array_get(spreaders, i));
}

void reference_field_close(reference_field *field)
{
    json_decref(field->root);
}

static json_t *output_of(const reference_field *field, const char *format, const char *name)
{
    char key[128];
    snprintf(key, sizeof key, format, name);
    json_t *output = json_object_get(reference_at(field->one_case, "outputs"), key);
    ck_assert_msg(output != NULL, "no %s", key);
    return output;
}

double reference_field_answer(const reference_field *field, const char *format, const char *name)
{
    return 273.15 + reference_number(output_of(field, format, name), "value");
}

double reference_field_doubt(const reference_field *field, const char *format, const char *name)
{
    return reference_number(output_of(field, format, name), "error");
}
