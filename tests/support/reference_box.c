#include "reference_box.h"

#include "story.h"

#include <string.h>

static const char *const face_name[HL_FACES] = {"x-", "x+", "y-", "y+", "z-", "z+"};

static void corners(json_t *list, double low[3], double high[3])
{
    double six[6];
    reference_numbers(list, 6, six);
    for (int k = 0; k < 3; k++) {
        low[k] = six[2 * k];
        high[k] = six[2 * k + 1];
    }
}

/* Mean over the footprint of the zones, which overlap each other in none of the cases. */
static double mean_in_plane(json_t *board, const hl_board *made)
{
    double base = reference_number(board, "k_in"), low[3], high[3], sum = 0, whole = 1, part;
    for (int k = 0; k < 3; k++) whole *= made->high[k] - made->low[k];
    json_t *zones = reference_at(board, "zones");
    for (size_t i = 0; i < json_array_size(zones); i++) {
        json_t *zone = json_array_get(zones, i);
        corners(reference_at(zone, "box"), low, high);
        part = (high[0] - low[0]) * (high[1] - low[1]) * (high[2] - low[2]) / whole;
        sum += part * (reference_number(zone, "k_in") - base);
    }
    return base + sum;
}

static void read_box(reference_box *b, json_t *inputs)
{
    json_t *shell = reference_at(inputs, "shell"), *fill = reference_at(inputs, "fill");
    json_t *sides = reference_at(inputs, "bc");
    hl_box *box = &b->box;
    reference_numbers(reference_at(inputs, "box"), 3, box->size);
    box->wall = reference_number(inputs, "t_shell");
    box->wall_conductivity = reference_number(shell, "k");
    box->wall_density_heat = reference_number(shell, "rho") * reference_number(shell, "cp");
    box->emissivity_inside = reference_number(shell, "emis");
    box->emissivity_outside = 0.9;
    box->potted = strcmp(json_string_value(reference_at(fill, "kind")), "pot") == 0;
    box->fill_conductivity = reference_number(fill, "k");
    box->fill_density_heat = reference_number(fill, "rho") * reference_number(fill, "cp");
    b->ambient = 273.15 + reference_number(inputs, "T_ambient_C");
    for (int f = 0; f < HL_FACES; f++) {
        if (strcmp(json_string_value(reference_at(inputs, "up_face")), face_name[f]) == 0)
            box->up = (hl_face)f;
        json_t *side = reference_at(sides, face_name[f]);
        if (strcmp(json_string_value(reference_at(side, "kind")), "fixed") != 0) continue;
        box->covered[f] = 1;
        box->cover_conductance = reference_number(side, "h");
    }
}

static void read_board(reference_box *b, json_t *board)
{
    hl_board *made = &b->boards[b->n_boards++];
    ck_assert_uint_le(b->n_boards, REFERENCE_BOARDS);
    made->name = json_string_value(reference_at(board, "name"));
    corners(reference_at(board, "box"), made->low, made->high);
    made->conductivity_in = mean_in_plane(board, made);
    made->conductivity_through = reference_number(board, "k_thru");
    made->density_heat = reference_number(board, "rho") * reference_number(board, "cp");
}

static double scalar_or_mean(json_t *value)
{
    if (json_is_number(value)) return json_number_value(value);
    double three[3];
    reference_numbers(value, 3, three);
    return (three[0] + three[1] + three[2]) / 3;
}

static int normal_of(const hl_board *board)
{
    int thin = 0;
    for (int k = 1; k < 3; k++)
        if (board->high[k] - board->low[k] < board->high[thin] - board->low[thin]) thin = k;
    return thin;
}

static void read_body(reference_box *b, json_t *block)
{
    b->watts[b->n_bodies] = reference_number(block, "W");
    hl_body *made = &b->bodies[b->n_bodies++];
    ck_assert_uint_le(b->n_bodies, REFERENCE_BODIES);
    made->name = json_string_value(reference_at(block, "name"));
    corners(reference_at(block, "box"), made->low, made->high);
    made->conductivity = scalar_or_mean(reference_at(block, "k"));
    made->density_heat = reference_number(block, "rho") * reference_number(block, "cp");
    made->emissivity = reference_number(block, "emis");
    made->pad_face = HL_FACES;
    made->board = -1;
    for (size_t j = 0; j < b->n_boards; j++)
        if (strcmp(b->boards[j].name, json_string_value(reference_at(block, "on"))) == 0)
            made->board = (int)j;
    if (made->board < 0) return;
    /* a reference states the contact alone; a body's figure begins at its mean: L / (3 k A) of a block that
     * is heated evenly lies before that */
    int normal = normal_of(&b->boards[made->board]);
    double height = made->high[normal] - made->low[normal], foot = 1;
    for (int k = 0; k < 3; k++)
        if (k != normal) foot *= made->high[k] - made->low[k];
    double inside = height / (3 * made->conductivity);
    made->board_resistance = (reference_number(block, "contact_R_m2K_W") + inside) / foot;
}

static void read_answers(reference_box *b)
{
    char key[128];
    for (size_t i = 0; i < b->n_bodies; i++) {
        snprintf(key, sizeof key, "blocks.%s.T_mean_C", b->bodies[i].name);
        b->body_mean[i] = 273.15 + json_number_value(reference_output(b->one_case, key));
    }
    for (size_t i = 0; i < b->n_boards; i++) {
        snprintf(key, sizeof key, "boards.board_%s.T_mean_C", b->boards[i].name);
        b->board_mean[i] = 273.15 + json_number_value(reference_output(b->one_case, key));
    }
    for (int f = 0; f < HL_FACES; f++) {
        snprintf(key, sizeof key, "faces.%s.T_mean_C", face_name[f]);
        b->face_mean[f] = 273.15 + json_number_value(reference_output(b->one_case, key));
        snprintf(key, sizeof key, "faces.%s.Q_W", face_name[f]);
        b->face_heat[f] = json_number_value(reference_output(b->one_case, key));
    }
}

void reference_box_open(reference_box *box, const char *id)
{
    memset(box, 0, sizeof *box);
    box->root = reference_open("box_open.json");
    json_t *cases = reference_at(box->root, "cases");
    for (size_t k = 0; k < json_array_size(cases); k++) {
        json_t *one = json_array_get(cases, k);
        if (strcmp(json_string_value(reference_at(one, "id")), id) == 0) box->one_case = one;
    }
    ck_assert_ptr_nonnull(box->one_case);
    json_t *inputs = reference_at(box->one_case, "inputs");
    read_box(box, inputs);
    json_t *boards = reference_at(inputs, "boards"), *blocks = reference_at(inputs, "blocks");
    for (size_t i = 0; i < json_array_size(boards); i++) read_board(box, json_array_get(boards, i));
    for (size_t i = 0; i < json_array_size(blocks); i++) read_body(box, json_array_get(blocks, i));
    read_answers(box);
}

void reference_box_close(reference_box *box)
{
    json_decref(box->root);
}

void reference_box_heat(void *context, double time, const double temperature[], double power[],
                        double slope[])
{
    const reference_heat *heat = context;
    (void)time, (void)temperature;
    for (size_t i = 0; i < heat->n; i++) {
        power[i] = i < heat->box->n_bodies ? heat->factor * heat->box->watts[i] : 0;
        slope[i] = 0;
    }
}
