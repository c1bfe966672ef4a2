/* network.c - building a network and reading it back; is every node tied to the surroundings? */
#include "thermal/network.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

hl_network *hl_network_create(void)
{
    return calloc(1, sizeof(hl_network));
}

void hl_network_destroy(hl_network *network)
{
    if (!network) return;
    for (size_t i = 0; i < network->n_nodes; i++) free(network->nodes[i].name);
    free(network->nodes);
    free(network->links);
    free(network->outward);
    free(network);
}

/* Room for one more element, doubling; false: no memory. */
static bool make_room(void **list, size_t *room, size_t used, size_t size)
{
    if (used < *room) return true;
    if (used >= INT_MAX / 4) return false;
    size_t more = *room ? 2 * *room : 16;
    void *grown = realloc(*list, more * size);
    if (!grown) return false;
    *list = grown;
    *room = more;
    return true;
}

static char *copy_of(const char *text)
{
    size_t size = strlen(text) + 1;
    char *copy = malloc(size);
    if (copy) memcpy(copy, text, size);
    return copy;
}

int hl_network_add_node(hl_network *network, const char *name, double capacity)
{
    void *list = network->nodes;
    if (!make_room(&list, &network->room_nodes, network->n_nodes, sizeof *network->nodes)) return -1;
    network->nodes = list;
    char *copy = copy_of(name ? name : "node");
    if (!copy) return -1;
    double kept = isfinite(capacity) && capacity > 0 ? capacity : 0.0;
    network->nodes[network->n_nodes] = (network_node){copy, kept};
    return (int)network->n_nodes++;
}

static int figures_of(hl_law law)
{
    switch (law) {
    case HL_LAW_FIXED:
        return 1;
    case HL_LAW_RADIATION:
        return 2;
    case HL_LAW_NATURAL:
        return 4;
    case HL_LAW_POWER:
    case HL_LAW_GAP:
    case HL_LAW_FORCED:
        return 3;
    }
    return 0;
}

static bool figures_are_sane(const hl_link *link)
{
    int figures = figures_of(link->law);
    if (figures == 0) return false;
    for (int k = 0; k < figures; k++)
        if (!(link->p[k] >= 0 && link->p[k] <= 1e12)) return false;
    bool has_length = link->law == HL_LAW_NATURAL || link->law == HL_LAW_GAP || link->law == HL_LAW_FORCED;
    if (has_length && !(link->p[1] > 0)) return false;
    if (link->law == HL_LAW_GAP && !(link->p[2] > 0)) return false;
    if (link->law == HL_LAW_POWER && !(link->p[2] <= 10)) return false;
    bool turned = link->law == HL_LAW_NATURAL || link->law == HL_LAW_GAP;
    return !turned || (link->kind >= HL_VERTICAL && link->kind <= HL_FACING_DOWN);
}

int hl_network_add_link(hl_network *network, const hl_link *link)
{
    int nodes = (int)network->n_nodes;
    if (link->a < HL_AMBIENT || link->a >= nodes || link->b < HL_AMBIENT || link->b >= nodes) return -1;
    if (link->a == link->b || !figures_are_sane(link)) return -1;
    void *list = network->links, *outward = network->outward;
    if (!make_room(&list, &network->room_links, network->n_links, sizeof *network->links)) return -1;
    network->links = list;
    if (!make_room(&outward, &network->room_outward, network->n_outward, sizeof *network->outward)) return -1;
    network->outward = outward;
    if (link->a == HL_AMBIENT || link->b == HL_AMBIENT)
        network->outward[network->n_outward++] = network->n_links;
    network->links[network->n_links] = *link;
    return (int)network->n_links++;
}

size_t network_cut(hl_network *network, int a, int b)
{
    size_t cut = 0;
    for (size_t k = 0; k < network->n_links; k++) {
        hl_link *link = &network->links[k];
        if (!((link->a == a && link->b == b) || (link->a == b && link->b == a)) || !(link->p[0] > 0))
            continue;
        link->p[0] = 0; /* conductance, area, emissivity: the first figure of every law scales it */
        cut++;
    }
    return cut;
}

size_t hl_network_nodes(const hl_network *network)
{
    return network ? network->n_nodes : 0;
}

size_t hl_network_links(const hl_network *network)
{
    return network ? network->n_links : 0;
}

const char *hl_network_node_name(const hl_network *network, int node)
{
    bool known = network && node >= 0 && (size_t)node < network->n_nodes;
    return known ? network->nodes[node].name : NULL;
}

const hl_link *hl_network_link(const hl_network *network, int link)
{
    bool known = network && link >= 0 && (size_t)link < network->n_links;
    return known ? &network->links[link] : NULL;
}

/* ----------------------------------------------------------------- check -- */

/* A link that carries nothing at any temperature ties nothing together. */
static bool carries(const hl_link *link)
{
    if (!(link->p[0] > 0)) return false;
    if (link->law == HL_LAW_FORCED) return link->p[2] > 0;
    return link->law == HL_LAW_FIXED || link->p[1] > 0;
}

static size_t root_of(size_t *parent, size_t i)
{
    while (parent[i] != i) {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    return i;
}

/* Sets joined link by link; the surroundings are one more element at the end. */
static void join_all(const hl_network *network, size_t *parent)
{
    size_t n = network->n_nodes;
    for (size_t i = 0; i <= n; i++) parent[i] = i;
    for (size_t k = 0; k < network->n_links; k++) {
        const hl_link *link = &network->links[k];
        if (!carries(link)) continue;
        size_t a = link->a < 0 ? n : (size_t)link->a, b = link->b < 0 ? n : (size_t)link->b;
        parent[root_of(parent, a)] = root_of(parent, b);
    }
}

static void report_lost(hl_diagnostics *diagnostics, const char *name, size_t lost)
{
    if (lost == 1)
        hl_diagnostics_add(
            diagnostics, HL_ERROR, NULL,
            "thermal node '%s' has no path to the ambient: its heat cannot leave; link it to a "
            "node that has one, or to 'ambient'",
            name);
    else
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                           "thermal node '%s' and %zu more have no path to the ambient: their heat cannot "
                           "leave; link one of each group to a node that has one, or to 'ambient'",
                           name, lost - 1);
}

hl_status hl_network_check(const hl_network *network, hl_diagnostics *diagnostics)
{
    size_t n = network->n_nodes, lost = 0, first = 0;
    size_t *parent = malloc((n + 1) * sizeof *parent);
    if (!parent) {
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
        return HL_NO_MEMORY;
    }
    join_all(network, parent);
    for (size_t i = n; i-- > 0;) {
        if (root_of(parent, i) == root_of(parent, n)) continue;
        lost++;
        first = i;
    }
    free(parent);
    if (lost == 0) return HL_OK;
    report_lost(diagnostics, network->nodes[first].name, lost);
    return HL_BAD_INPUT;
}
