/* border.c - how far load and ambient may rise before run-away, and how far they must come down after one. */
#include "cli/border.h"

#include <stdlib.h>
#include <string.h>

#include "cli/wrapped.h"
#include "lua/json_tree.h"
#include "lua/lua_heat.h"

static const double kelvin = 273.15;

static const border searched[BORDERS] = {
    {.setting = "load", .key = "load", .low = 0.01, .most = 4},
    {.setting = "ambient.temperature", .key = "ambient", .low = 233.15, .most = 398.15, .temperature = true}};

static bool search(hl_workspace *beside, double settings[], size_t index, double from, double to, border *b)
{
    settings[index] = from;
    return hl_critical_setting(beside, settings, index, to, &b->found) == HL_OK;
}

/* The nearest point below that settles, and from there up again: a light load alone is no safe place to
 * begin, since what blocks for longer leaks for longer. */
static void search_back(hl_workspace *beside, double settings[], size_t index, border *b)
{
    static const double steps[] = {0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 1}; /* of the way down */
    double own = settings[index];
    for (size_t k = 0; k < sizeof steps / sizeof *steps; k++) {
        b->known = search(beside, settings, index, own - steps[k] * (own - b->low), own, b);
        if (b->known && b->found.border != HL_BORDER_BEFORE) return;
    }
}

static void find(hl_workspace *beside, bool back, double settings[], border *b)
{
    size_t index = hl_design_find_setting(hl_workspace_design(beside), b->setting, NULL);
    double own = settings[index];
    if (back)
        search_back(beside, settings, index, b);
    else
        b->known = search(beside, settings, index, own, b->most, b);
    settings[index] = own;
}

void border_find(const hl_workspace *workspace, const double settings[], border list[BORDERS])
{
    const hl_design *design = hl_workspace_design(workspace);
    size_t n = hl_design_settings(design);
    bool back = hl_result_outcome(workspace) == HL_RAN_AWAY;
    double *moved = malloc(n * sizeof *moved);
    hl_workspace *beside = moved ? hl_workspace_create(design) : NULL;
    memcpy(list, searched, sizeof searched);
    if (moved) memcpy(moved, settings, n * sizeof *moved);
    for (size_t k = 0; beside && k < BORDERS; k++) find(beside, back, moved, &list[k]);
    hl_workspace_destroy(beside);
    free(moved);
}

/* ------------------------------------------------------------------ text -- */

static double shown(const border *b)
{
    return b->found.value - (b->temperature ? kelvin : 0);
}

static void print_border(FILE *to, const hl_design *design, const border *b)
{
    const char *unit = b->temperature ? " degC" : "";
    switch (b->found.border) {
    case HL_BORDER_NONE:
        fprintf(to, "  %s: no run-away up to %.4g%s (thermal feedback gain %.3f)\n", b->setting, shown(b),
                unit, b->found.gain);
        return;
    case HL_BORDER_FOLD:
        if (b->found.leader < 0) {
            fprintf(to,
                    "  %s: too hot above %.4g%s, by watts that no loss leads with its growth\n"
                    "      (thermal feedback gain %.3f)\n",
                    b->setting, shown(b), unit, b->found.gain);
            return;
        }
        fprintf(to, "  %s: runs away above %.4g%s, led by %s\n", b->setting, shown(b), unit,
                hl_design_node_name(design, (size_t)b->found.leader));
        return;
    case HL_BORDER_INFEASIBLE:
        fprintf(to,
                "  %s: the circuit gives up above %.4g%s, before run-away\n"
                "      (thermal feedback gain %.3f)\n",
                b->setting, shown(b), unit, b->found.gain);
        return;
    case HL_BORDER_BEFORE:
        fprintf(to, "  %s: this point itself has no solution\n", b->setting);
        return;
    }
}

void border_text(FILE *to, const hl_design *design, const border list[BORDERS])
{
    for (size_t k = 0; k < BORDERS; k++)
        if (list[k].known) print_border(to, design, &list[k]);
}

/* "it settles up to load = 0.41, all else as it is"; false: nothing is known of this one. */
static bool way_back(const border *b, char text[], size_t size)
{
    const char *unit = b->temperature ? " degC" : "";
    if (!b->known || b->found.border == HL_BORDER_NONE) return false;
    if (b->found.border == HL_BORDER_BEFORE)
        snprintf(text, size, "not even %s = %.3g%s settles, all else as it is", b->setting, shown(b), unit);
    else
        snprintf(text, size, "it settles up to %s = %.3g%s, all else as it is", b->setting, shown(b), unit);
    return true;
}

void border_way_back(FILE *to, const hl_workspace *workspace, const border list[BORDERS])
{
    char line[400];
    for (size_t k = 0; k < BORDERS; k++)
        if (way_back(&list[k], line, sizeof line)) wrapped_print(to, "  ", 4, line);
    int leader;
    hl_result_feedback_gain(workspace, &leader);
    if (leader >= 0)
        snprintf(line, sizeof line,
                 "what to do: lower one of these; or give the heat of %s a better way out (copper, a pad, a "
                 "heat sink, another place: docs/heat-paths.md shows how each is written); or check its "
                 "data: what "
                 "of its loss grows with temperature, resistance_case, resistance_board. --ways shows where "
                 "its heat goes, at a point that settles",
                 hl_design_node_name(hl_workspace_design(workspace), (size_t)leader));
    else
        snprintf(line, sizeof line,
                 "what to do: lower one of these; or check the data of what loses most, then give its heat a "
                 "better way out. --ways shows where heat goes, at a point that settles");
    wrapped_print(to, "  ", 4, line);
}

/* ------------------------------------------------------------------ json -- */

json_t *border_document(const hl_design *design, const border list[BORDERS])
{
    json_t *borders = json_object();
    for (size_t k = 0; k < BORDERS; k++)
        if (list[k].known)
            borders = tree_put(borders, list[k].key,
                               critical_document(design, &list[k].found, list[k].temperature));
    return borders;
}
