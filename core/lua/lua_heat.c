/* lua_heat.c - ways of the heat, links and borders as trees for JSON and Lua. */
#include "lua/lua_heat.h"

#include <stdlib.h>

#include "lua/json_tree.h"

enum { PATHS_MAX = 8 };

static const double kelvin = 273.15, least_share = 0.02;

static json_t *nodes_of(const hl_network *network, const hl_heat_path *path)
{
    json_t *list = json_array();
    for (size_t i = 0; i < path->n; i++)
        list = tree_append(list, json_string(hl_network_node_name(network, path->node[i])));
    return list;
}

static json_t *ways_of(const hl_network *network, hl_trace *trace, int source)
{
    hl_heat_path path[PATHS_MAX];
    json_t *list = json_array();
    size_t n = hl_trace_paths(trace, source, least_share, path, PATHS_MAX);
    for (size_t k = 0; k < n; k++)
        list = tree_append(list, json_pack("{s:o, s:o}", "nodes", nodes_of(network, &path[k]), "heat_w",
                                           tree_number(path[k].watts)));
    return list;
}

static json_t *exits_of(const hl_network *network, hl_trace *trace, int source)
{
    json_t *object = json_object();
    for (size_t i = 0; i < hl_network_nodes(network); i++) {
        double watts = hl_trace_exit(trace, source, (int)i);
        if (watts > 0) object = tree_put(object, hl_network_node_name(network, (int)i), tree_number(watts));
    }
    return object;
}

static const char *face_name(const hl_design *design, int face)
{
    return hl_design_node_name(design, (size_t)hl_design_face_node(design, (hl_face)face));
}

/* With a field: each part's heat by the faces it leaves by. *known is false where there is none. */
static json_t *faces_document(const hl_design *design, const hl_workspace *workspace, bool *known)
{
    size_t n = hl_design_items(design);
    double *heat = calloc(n * (HL_FACES + 1) + 1, sizeof *heat), *watts = heat + n;
    *known = !heat || hl_result_leaves_by(workspace, heat, watts);
    json_t *list = heat && *known ? json_array() : NULL;
    for (size_t i = 0; list && i < n; i++) {
        json_t *faces = json_object();
        for (int f = 0; f < HL_FACES; f++)
            faces = tree_put(faces, face_name(design, f), tree_number(watts[i * HL_FACES + (size_t)f]));
        list = tree_append(list, json_pack("{s:s, s:o, s:o, s:o}", "part", hl_design_item(design, i)->name,
                                           "heat_w", tree_number(heat[i]), "leaves_by", faces, "ways",
                                           json_array()));
    }
    free(heat);
    return list;
}

/* Only want of memory is in the way of a trace: there is a network, solved, and no field. */
static bool traceable(const hl_design *design, const hl_workspace *workspace)
{
    hl_field_face face;
    return hl_design_network(design) && hl_result_outcome(workspace) == HL_SOLVED &&
           !hl_result_face(workspace, (hl_face)0, &face);
}

json_t *heat_paths_document(const hl_design *design, const hl_workspace *workspace)
{
    bool known;
    json_t *list = faces_document(design, workspace, &known);
    if (known) return list;
    hl_trace *trace = hl_trace_create(workspace);
    const hl_network *network = hl_design_network(design);
    if (!trace && traceable(design, workspace)) return NULL;
    list = json_array();
    for (size_t i = 0; trace && i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        double watts = item->node >= 0 ? hl_result_node_heat(workspace, (size_t)item->node) : 0;
        if (!(watts > 0)) continue;
        list =
            tree_append(list, json_pack("{s:s, s:o, s:o, s:o}", "part", item->name, "heat_w",
                                        tree_number(watts), "leaves_by", exits_of(network, trace, item->node),
                                        "ways", ways_of(network, trace, item->node)));
    }
    hl_trace_destroy(trace);
    return list;
}

json_t *links_document(const hl_design *design, const hl_workspace *workspace)
{
    hl_trace *trace = hl_trace_create(workspace);
    const hl_network *network = hl_design_network(design);
    if (!trace && traceable(design, workspace)) return NULL;
    json_t *list = json_array();
    for (size_t k = 0; trace && k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        json_t *figures = json_pack("[f, f, f, f]", link->p[0], link->p[1], link->p[2], link->p[3]);
        list =
            tree_append(list, json_pack("{s:s, s:s, s:s, s:o, s:o}", "from", hl_link_end(network, link->a),
                                        "to", hl_link_end(network, link->b), "law", hl_law_name(link->law),
                                        "figures", figures, "heat_w", tree_number(hl_trace_flow(trace, k))));
    }
    hl_trace_destroy(trace);
    return list;
}

json_t *critical_document(const hl_design *design, const hl_critical *found, bool temperature)
{
    static const char *const borders[] = {"none", "fold", "infeasible", "before"};
    json_t *object =
        json_pack("{s:s, s:o, s:o, s:i}", "border", borders[found->border], temperature ? "value_c" : "value",
                  tree_number(found->value - (temperature ? kelvin : 0)), "feedback_gain",
                  tree_number(found->gain), "points", (int)found->points);
    if (!object || found->leader < 0) return object;
    object = tree_put(object, "leader", json_string(hl_design_node_name(design, (size_t)found->leader)));
    return tree_put(object, "leader_c", tree_number(found->leader_hottest - kelvin));
}
