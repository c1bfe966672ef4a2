/* case.c - the hottest of the case: its hot spot where the field is solved, a face's mean where rules stand.
 */
#include <math.h>

#include "heatledger/design.h"
#include "heatledger/thermal.h"
#include "solve/workspace.h"

static bool is_part(const hl_design *design, int node)
{
    for (size_t i = 0; i < design->n_items; i++)
        if (design->items[i].shown.node == node) return true;
    return false;
}

/* By rule the case is what gives its heat to the air outside: the node with an air or radiation law to the
 * surroundings on link k, or HL_AMBIENT. */
static int face_of(const hl_design *design, const hl_network *network, size_t k)
{
    const hl_link *link = hl_network_link(network, (int)k);
    int node = link->b == HL_AMBIENT ? link->a : link->a == HL_AMBIENT ? link->b : HL_AMBIENT;
    return node != HL_AMBIENT && link->law != HL_LAW_FIXED && !is_part(design, node) ? node : HL_AMBIENT;
}

const char *hl_design_case_hottest(const hl_design *design)
{
    if (design->field) return "hot spot of the case";
    const hl_network *network = design->network;
    for (size_t k = 0; network && k < hl_network_links(network); k++)
        if (face_of(design, network, k) != HL_AMBIENT) return "hottest face, mean";
    return NULL;
}

double hl_result_case_hottest(const hl_workspace *workspace)
{
    double most = NAN;
    hl_field_face face;
    for (int f = 0; f < HL_FACES && hl_result_face(workspace, (hl_face)f, &face); f++)
        most = fmax(most, face.hottest.temperature);
    const hl_network *network = workspace->design->field ? NULL : workspace->design->network;
    for (size_t k = 0; network && k < hl_network_links(network); k++) {
        int node = face_of(workspace->design, network, k);
        if (node != HL_AMBIENT) most = fmax(most, hl_result_node_temperature(workspace, (size_t)node));
    }
    return most;
}
