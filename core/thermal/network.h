/* network.h - inside of a network: nodes and links as they were added. */
#ifndef HEATLEDGER_THERMAL_NETWORK_H
#define HEATLEDGER_THERMAL_NETWORK_H

#include "heatledger/thermal.h"

typedef struct network_node {
    char *name;
    double capacity; /* J/K */
} network_node;

struct hl_network {
    size_t n_nodes, room_nodes;
    size_t n_links, room_links;
    network_node *nodes;
    hl_link *links;
    size_t n_outward, room_outward;
    size_t *outward; /* which of the links lead to the surroundings: their ends stay as they were added */
};

/* Links between two ends carry nothing from here on; returns how many did. */
size_t network_cut(hl_network *network, int a, int b);

/* W that the links hand to the surroundings at these temperatures. */
double network_handed_out(const hl_network *network, const hl_surroundings *surroundings,
                          const double temperature[]);

#endif
