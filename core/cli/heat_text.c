/* heat_text.c - ways of the heat and links as aligned text. */
#include "cli/heat_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "cli/wrapped.h"

enum { WAYS_MAX = 4 };

static const double least_share = 0.05;

/* "> main > face z0 inside > face z0", broken before column 80. */
static void print_way(FILE *to, const hl_network *network, const hl_heat_path *path)
{
    int column = fprintf(to, "    %9.4f W", path->watts);
    for (size_t i = 1; i < path->n; i++) {
        const char *name = hl_network_node_name(network, path->node[i]);
        if (column + (int)strlen(name) + 3 > 79) column = fprintf(to, "\n               ") - 1;
        column += fprintf(to, " > %s", name);
    }
    fputs(path->n == 1 ? " straight out\n" : "\n", to);
}

/* Faces, the one that takes most first, down to the least share of the part's heat. */
static void print_faces(FILE *to, const hl_design *design, const double watts[], double heat)
{
    bool told[HL_FACES] = {false};
    for (int round = 0; round < HL_FACES; round++) {
        int most = -1;
        for (int f = 0; f < HL_FACES; f++)
            if (!told[f] && (most < 0 || watts[f] > watts[most])) most = f;
        if (!(watts[most] >= least_share * heat)) return;
        told[most] = true;
        fprintf(to, "    %9.4f W > %s\n", watts[most],
                hl_design_node_name(design, (size_t)hl_design_face_node(design, (hl_face)most)));
    }
}

/* With a field there are no links to follow, but faces by which the heat gets out. */
static bool faces_text(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    size_t n = hl_design_items(design);
    double *heat = calloc(n * (HL_FACES + 1) + 1, sizeof *heat), *watts = heat + n;
    bool known = heat && hl_result_leaves_by(workspace, heat, watts);
    if (known)
        fprintf(to, "  which faces a part's heat leaves by (%.0f %% of it or more)\n", 100 * least_share);
    for (size_t i = 0; known && i < n; i++) {
        if (!(heat[i] >= 5e-5)) continue;
        fprintf(to, "  %s, %.4f W\n", hl_design_item(design, i)->name, heat[i]);
        print_faces(to, design, watts + i * HL_FACES, heat[i]);
    }
    if (known) fputc('\n', to);
    free(heat);
    return known;
}

void heat_text_ways(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    const hl_network *network = hl_design_network(design);
    if (faces_text(to, design, workspace)) return;
    hl_trace *trace = hl_trace_create(workspace);
    if (!trace) return;
    fprintf(to, "  which ways carry the heat (those with %.0f %% of a part's or more)\n", 100 * least_share);
    for (size_t i = 0; i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        hl_heat_path path[WAYS_MAX];
        if (item->node < 0) continue;
        double heat = hl_result_node_heat(workspace, (size_t)item->node);
        if (!(heat >= 5e-5)) continue;
        fprintf(to, "  %s, %.4f W\n", item->name, heat);
        size_t n = hl_trace_paths(trace, item->node, least_share, path, WAYS_MAX);
        for (size_t k = 0; k < n; k++) print_way(to, network, &path[k]);
    }
    fputc('\n', to);
    hl_trace_destroy(trace);
}

void heat_text_links(FILE *to, const hl_design *design, const hl_workspace *workspace)
{
    const hl_network *network = hl_design_network(design);
    hl_trace *trace = hl_trace_create(workspace);
    if (!trace) return;
    fprintf(to, "  %-27s %-27s %-9s %10s\n", "link from", "to", "law", "W");
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        fputs("  ", to);
        wrapped_name(to, 2, 27, hl_link_end(network, link->a));
        fputc(' ', to);
        wrapped_name(to, 30, 27, hl_link_end(network, link->b));
        fprintf(to, " %-9s %10.5f\n", hl_law_name(link->law), hl_trace_flow(trace, k));
    }
    fputc('\n', to);
    hl_trace_destroy(trace);
}
