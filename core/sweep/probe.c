/* probe.c - one number of a solved point, found by name once and read without names after. */
#include "heatledger/sweep.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "diagnostic/joined.h"
#include "heatledger/limits.h"
#include "heatledger/quantity.h"

static const double kelvin = 273.15;

typedef enum figure_kind {
    FIGURE_INPUT,
    FIGURE_OUTPUT,
    FIGURE_LOSS,
    FIGURE_EFFICIENCY,
    FIGURE_POWER_FACTOR,
    FIGURE_INPUT_CURRENT,
    FIGURE_GAIN,
    FIGURE_PART_HOTTEST,
    FIGURE_CASE_HOTTEST,
    FIGURE_HEADROOM,
    FIGURE_ITEM_TEMPERATURE,
    FIGURE_ITEM_LOSS,
    FIGURE_ITEM_HEADROOM,
    FIGURE_ITEM_LIFE,
    FIGURE_ITEM_MECHANISM, /* b: which */
    FIGURE_STAGE_INPUT,
    FIGURE_STAGE_OUTPUT,
    FIGURE_STAGE_LOSS,
    FIGURE_STAGE_HEADROOM,
    FIGURE_QUANTITY, /* b: where its name begins */
    FIGURE_PORT_VOLTAGE,
    FIGURE_PORT_POWER,
    FIGURE_NODE_TEMPERATURE,
    FIGURE_NODE_HEAT,
    FIGURE_NODE_HEADROOM,
    FIGURE_SETTING,
    FIGURE_SETTING_CELSIUS,
} figure_kind;

typedef struct word {
    const char *text;
    figure_kind kind;
} word;

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static const word whole_words[] = {
    {"input_w", FIGURE_INPUT},
    {"output_w", FIGURE_OUTPUT},
    {"loss_w", FIGURE_LOSS},
    {"efficiency", FIGURE_EFFICIENCY},
    {"power_factor", FIGURE_POWER_FACTOR},
    {"input_current", FIGURE_INPUT_CURRENT},
    {"feedback_gain", FIGURE_GAIN},
    {"part_hottest_c", FIGURE_PART_HOTTEST},
    {"case_hottest_c", FIGURE_CASE_HOTTEST},
    {"headroom_used", FIGURE_HEADROOM},
};
static const word item_words[] = {
    {"temperature_c", FIGURE_ITEM_TEMPERATURE},
    {"loss_w", FIGURE_ITEM_LOSS},
    {"headroom_used", FIGURE_ITEM_HEADROOM},
    {"life_h", FIGURE_ITEM_LIFE},
};
static const word stage_words[] = {
    {"input_w", FIGURE_STAGE_INPUT},
    {"output_w", FIGURE_STAGE_OUTPUT},
    {"loss_w", FIGURE_STAGE_LOSS},
    {"headroom_used", FIGURE_STAGE_HEADROOM},
};
static const word port_words[] = {{"voltage", FIGURE_PORT_VOLTAGE}, {"power_w", FIGURE_PORT_POWER}};
static const word node_words[] = {
    {"temperature_c", FIGURE_NODE_TEMPERATURE},
    {"heat_w", FIGURE_NODE_HEAT},
    {"headroom_used", FIGURE_NODE_HEADROOM},
};

/* ------------------------------------------------------------------ find -- */

static bool is_word(const word words[], size_t n, const char *text, hl_probe *figure)
{
    for (size_t i = 0; i < n; i++)
        if (!strcmp(words[i].text, text)) {
            figure->kind = (int)words[i].kind;
            return true;
        }
    return false;
}

/* "winding (dc)" is asked for as winding_dc_w: a figure's name becomes a column, so nothing in it needs care.
 */
static void mechanism_word(hl_mechanism mechanism, char text[], size_t size)
{
    size_t n = 0;
    for (const char *c = hl_mechanism_name(mechanism); *c && n + 3 < size; c++)
        if (*c != '(' && *c != ')') text[n++] = *c == ' ' || *c == '-' ? '_' : *c;
    memcpy(text + n, "_w", 3);
}

static bool is_mechanism(const char *text, hl_probe *figure)
{
    char name[64];
    for (int m = 0; m < HL_MECHANISMS; m++) {
        mechanism_word((hl_mechanism)m, name, sizeof name);
        if (strcmp(name, text) != 0) continue;
        figure->kind = FIGURE_ITEM_MECHANISM;
        figure->b = (size_t)m;
        return true;
    }
    return false;
}

static bool is_setting(const hl_design *design, const char *name, hl_probe *figure)
{
    figure->a = hl_design_find_setting(design, name, NULL);
    figure->kind = FIGURE_SETTING;
    if (figure->a != SIZE_MAX) return true;
    size_t length = strlen(name);
    char plain[112];
    if (length < 3 || strcmp(name + length - 2, "_c") != 0) return false;
    snprintf(plain, sizeof plain, "%.*s", (int)(length - 2), name);
    figure->a = hl_design_find_setting(design, plain, NULL);
    figure->kind = FIGURE_SETTING_CELSIUS;
    return figure->a != SIZE_MAX && !strcmp(hl_design_setting(design, figure->a)->dimension, "degC");
}

typedef const char *(*namer)(const hl_design *design, size_t index);

static const char *item_name(const hl_design *design, size_t index)
{
    return hl_design_item(design, index)->name;
}

static bool find_owner(const hl_design *design, size_t n, namer name, const char *owner, hl_probe *figure)
{
    for (figure->a = 0; figure->a < n; figure->a++)
        if (!strcmp(name(design, figure->a), owner)) return true;
    return false;
}

/* OWNER.WORD, for whoever of the design is called OWNER. */
static bool is_owned(const hl_design *design, const char *owner, const char *text, hl_probe *figure)
{
    if (find_owner(design, hl_design_items(design), item_name, owner, figure) &&
        (is_word(item_words, COUNT(item_words), text, figure) || is_mechanism(text, figure)))
        return true;
    if (find_owner(design, hl_design_ports(design), hl_design_port_name, owner, figure) &&
        is_word(port_words, COUNT(port_words), text, figure))
        return true;
    if (find_owner(design, hl_design_stages(design), hl_design_stage_name, owner, figure) &&
        is_word(stage_words, COUNT(stage_words), text, figure))
        return true;
    return find_owner(design, hl_design_nodes(design), hl_design_node_name, owner, figure) &&
           is_word(node_words, COUNT(node_words), text, figure);
}

bool hl_probe_find(const hl_design *design, const char *name, hl_probe *figure)
{
    memset(figure, 0, sizeof *figure);
    if (strlen(name) >= sizeof figure->name) return false;
    memcpy(figure->name, name, strlen(name) + 1);
    if (is_word(whole_words, COUNT(whole_words), name, figure)) return true;
    const char *dot = strrchr(name, '.');
    if (!dot) return is_setting(design, name, figure);
    char owner[112];
    snprintf(owner, sizeof owner, "%.*s", (int)(dot - name), name);
    if (is_owned(design, owner, dot + 1, figure)) return true;
    if (is_setting(design, name, figure)) return true;
    figure->kind = FIGURE_QUANTITY;
    figure->b = (size_t)(dot + 1 - name);
    return dot[1] && find_owner(design, hl_design_stages(design), hl_design_stage_name, owner, figure);
}

/* ---------------------------------------------------------------- advice -- */

enum { WORDS_MOST = 16 };

/* The first word that holds `name`, else the one spelt most alike; NULL: none. */
static const char *near_word(const word words[], size_t n, const char *name)
{
    const char *texts[WORDS_MOST + 1] = {0};
    for (size_t i = 0; i < n && i < WORDS_MOST; i++) {
        if (strlen(name) >= 3 && strstr(words[i].text, name)) return words[i].text;
        texts[i] = words[i].text;
    }
    return hl_nearest_word(name, texts);
}

static void list_words(const word words[], size_t n, char *text, size_t size)
{
    for (size_t i = 0; i < n; i++) join_word(text, size, i ? ", " : "", words[i].text);
}

static void advise_owned(const char *owner, const char *name, const word words[], size_t n, char *text,
                         size_t size)
{
    const char *near = near_word(words, n, name);
    if (near)
        snprintf(text, size, "did you mean %s.%s?", owner, near);
    else {
        snprintf(text, size, "%s has: ", owner);
        list_words(words, n, text, size);
    }
}

void hl_probe_advice(const hl_design *design, const char *name, char *text, size_t size)
{
    const char *dot = strrchr(name, '.'), *first = hl_design_items(design) ? item_name(design, 0) : "PART";
    hl_probe figure;
    char owner[112];
    snprintf(owner, sizeof owner, "%.*s", dot ? (int)(dot - name) : 0, name);
    if (dot && find_owner(design, hl_design_items(design), item_name, owner, &figure)) {
        advise_owned(owner, dot + 1, item_words, COUNT(item_words), text, size);
    } else if (dot && find_owner(design, hl_design_ports(design), hl_design_port_name, owner, &figure)) {
        advise_owned(owner, dot + 1, port_words, COUNT(port_words), text, size);
    } else if (dot && find_owner(design, hl_design_nodes(design), hl_design_node_name, owner, &figure)) {
        advise_owned(owner, dot + 1, node_words, COUNT(node_words), text, size);
    } else if (dot) {
        snprintf(text, size,
                 "no part, stage, port or node is called '%s'; `heatledger solve FILE` lists them", owner);
    } else {
        const char *near = near_word(whole_words, COUNT(whole_words), name);
        if (near)
            snprintf(text, size, "did you mean %s, or that of one part, such as %s.%s?", near, first,
                     item_words[0].text);
        else {
            snprintf(text, size, "a part's figure is named as in %s.%s; the whole has: ", first,
                     item_words[0].text);
            list_words(whole_words, COUNT(whole_words), text, size);
        }
    }
}

/* ------------------------------------------------------------------ read -- */

static double most_used(const hl_headroom headroom[], size_t n)
{
    double most = n ? 0 : NAN;
    // cppcheck-suppress uninitvar ; what fills the rows is told their number, and gives back how many it
    // filled
    for (size_t i = 0; i < n; i++) most = fmax(most, headroom[i].used);
    return most;
}

static double holder_headroom(const hl_workspace *workspace, size_t holder)
{
    hl_headroom headroom[HL_HOLDER_LIMITS_MAX];
    return most_used(headroom, hl_result_holder_headroom(workspace, holder, headroom, HL_HOLDER_LIMITS_MAX));
}

/* h; NaN: the part has no model of its life. */
static double item_life(const hl_workspace *workspace, size_t item)
{
    hl_headroom headroom[HL_LIMITS_MAX + 1];
    size_t n = hl_result_headroom(workspace, item, headroom, HL_LIMITS_MAX + 1);
    for (size_t i = 0; i < n; i++)
        if (!strcmp(headroom[i].limit.unit, "h")) return headroom[i].limit.rated;
    return NAN;
}

static double headroom_of_all(const hl_design *design, const hl_workspace *workspace)
{
    double most = NAN;
    for (size_t i = 0; i < hl_design_holders(design); i++) most = fmax(most, holder_headroom(workspace, i));
    return most;
}

static double hottest_part(const hl_design *design, const hl_workspace *workspace)
{
    double most = NAN;
    for (size_t i = 0; i < hl_design_items(design); i++)
        most = fmax(most, hl_result_item_temperature(workspace, i));
    return most - kelvin;
}

static double quantity(const hl_workspace *workspace, const hl_probe *figure)
{
    const char *name = figure->name + figure->b;
    for (size_t k = 0; k < hl_result_quantities(workspace, figure->a); k++) {
        const hl_quantity *found = hl_result_quantity(workspace, figure->a, k);
        if (!strcmp(found->name, name)) return found->value;
    }
    return NAN;
}

static double whole_figure(figure_kind kind, const hl_workspace *workspace)
{
    const hl_power_figures *f = hl_result_power(workspace);
    const hl_design *design = hl_workspace_design(workspace);
    switch (kind) {
    case FIGURE_INPUT:
        return f->input;
    case FIGURE_OUTPUT:
        return f->output;
    case FIGURE_LOSS:
        return f->loss;
    case FIGURE_EFFICIENCY:
        return f->efficiency;
    case FIGURE_POWER_FACTOR:
        return f->power_factor;
    case FIGURE_INPUT_CURRENT:
        return f->input_current;
    case FIGURE_GAIN:
        return hl_result_feedback_gain(workspace, NULL);
    case FIGURE_PART_HOTTEST:
        return hottest_part(design, workspace);
    case FIGURE_CASE_HOTTEST:
        return hl_result_case_hottest(workspace) - kelvin;
    case FIGURE_HEADROOM:
        return headroom_of_all(design, workspace);
    default:
        return NAN;
    }
}

double hl_probe_read(const hl_probe *figure, const hl_workspace *workspace, const double settings[])
{
    figure_kind kind = (figure_kind)figure->kind;
    if (kind == FIGURE_SETTING) return settings[figure->a];
    if (kind == FIGURE_SETTING_CELSIUS) return settings[figure->a] - kelvin;
    if (hl_result_outcome(workspace) != HL_SOLVED) return NAN;
    const hl_design *design = hl_workspace_design(workspace);
    switch (kind) {
    case FIGURE_ITEM_TEMPERATURE:
        return hl_result_item_temperature(workspace, figure->a) - kelvin;
    case FIGURE_ITEM_LOSS:
        return hl_result_item_loss(workspace, figure->a);
    case FIGURE_ITEM_HEADROOM:
        return holder_headroom(workspace, figure->a);
    case FIGURE_ITEM_LIFE:
        return item_life(workspace, figure->a);
    case FIGURE_ITEM_MECHANISM:
        return hl_result_loss(workspace, figure->a, (hl_mechanism)figure->b);
    case FIGURE_STAGE_INPUT:
        return hl_result_stage_input(workspace, figure->a);
    case FIGURE_STAGE_OUTPUT:
        return hl_result_stage_output(workspace, figure->a);
    case FIGURE_STAGE_LOSS:
        return hl_result_stage_input(workspace, figure->a) - hl_result_stage_output(workspace, figure->a);
    case FIGURE_QUANTITY:
        return quantity(workspace, figure);
    case FIGURE_PORT_VOLTAGE:
        return hl_result_port_voltage(workspace, figure->a);
    case FIGURE_PORT_POWER:
        return hl_result_port_voltage(workspace, figure->a) * hl_result_port_current(workspace, figure->a);
    case FIGURE_NODE_TEMPERATURE:
        return hl_result_node_temperature(workspace, figure->a) - kelvin;
    case FIGURE_NODE_HEAT:
        return hl_result_node_heat(workspace, figure->a);
    case FIGURE_NODE_HEADROOM:
        return holder_headroom(workspace, hl_design_items(design) + figure->a);
    case FIGURE_STAGE_HEADROOM:
        return holder_headroom(workspace, hl_design_items(design) + hl_design_nodes(design) + figure->a);
    default:
        return whole_figure(kind, workspace);
    }
}
