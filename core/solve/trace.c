/* trace.c - each part's heat followed from node to node until it is outside.
 *
 * Heat flows from hot to cold, so the solved flows make a graph without circles.  What enters a node, its own
 * heat and what neighbours bring, leaves it in one mixture by every link (proportional sharing: J. Bialek
 * 1996, IEE Proc. 143, for power in grids; from memory).  The shares of all sources then add up to every
 * flow. */
#include "heatledger/trace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "solve/workspace.h"

typedef struct outflow {
    int to; /* HL_AMBIENT: outside */
    double watts;
} outflow;

struct hl_trace {
    const hl_network *network;
    size_t nodes, links;
    double *flow;    /* per link */
    int *order;      /* nodes, the hottest first */
    size_t *first;   /* of each node's outflows; nodes + 1 */
    size_t *last;    /* one behind them */
    outflow *out;    /* by node */
    double *through; /* W that leave each node */
    double *heat;    /* W put into each node */
    double *carried; /* W of the source at hand that pass each node */
    int source;      /* carried is of this one; -2: none */
};

typedef struct warm_node {
    double temperature;
    int node;
} warm_node;

static int hottest_first(const void *a, const void *b)
{
    const warm_node *x = a, *y = b;
    if (x->temperature != y->temperature) return x->temperature < y->temperature ? 1 : -1;
    return x->node - y->node;
}

static bool sort_nodes(hl_trace *t, const double temperature[])
{
    warm_node *list = calloc(t->nodes + 1, sizeof *list);
    if (!list) return false;
    for (size_t i = 0; i < t->nodes; i++) list[i] = (warm_node){temperature[i], (int)i};
    qsort(list, t->nodes, sizeof *list, hottest_first);
    for (size_t i = 0; i < t->nodes; i++) t->order[i] = list[i].node;
    free(list);
    return true;
}

/* The node a link's heat leaves, or HL_AMBIENT. */
static int giver(const hl_trace *t, size_t k)
{
    const hl_link *link = hl_network_link(t->network, (int)k);
    return t->flow[k] >= 0 ? link->a : link->b;
}

static int taker(const hl_trace *t, size_t k)
{
    const hl_link *link = hl_network_link(t->network, (int)k);
    return t->flow[k] >= 0 ? link->b : link->a;
}

/* Links between the same two nodes are one way. */
static bool merge_flows(hl_trace *t)
{
    size_t *seen = calloc(t->nodes + 2, sizeof *seen); /* place of an outflow to a node, + 1 */
    if (!seen) return false;
    for (size_t i = 0; i < t->nodes; i++) {
        size_t kept = t->first[i];
        for (size_t k = t->first[i]; k < t->first[i + 1]; k++) {
            size_t *place = &seen[t->out[k].to + 1];
            if (*place > t->first[i] && *place <= kept && t->out[*place - 1].to == t->out[k].to) {
                t->out[*place - 1].watts += t->out[k].watts;
                continue;
            }
            t->out[kept] = t->out[k];
            *place = ++kept;
        }
        t->last[i] = kept;
    }
    free(seen);
    return true;
}

/* Outflows in rows by their node. */
static bool sort_flows(hl_trace *t)
{
    size_t *next = calloc(t->nodes + 1, sizeof *next);
    if (!next) return false;
    for (size_t k = 0; k < t->links; k++) {
        int from = giver(t, k);
        if (from >= 0) t->first[from + 1]++;
    }
    for (size_t i = 0; i < t->nodes; i++) {
        t->first[i + 1] += t->first[i];
        next[i] = t->first[i];
    }
    for (size_t k = 0; k < t->links; k++) {
        int from = giver(t, k);
        if (from < 0) continue;
        t->out[next[from]++] = (outflow){taker(t, k), fabs(t->flow[k])};
        t->through[from] += fabs(t->flow[k]);
    }
    free(next);
    return merge_flows(t);
}

static bool take_memory(hl_trace *t)
{
    t->flow = calloc(t->links + 1, sizeof *t->flow);
    t->order = calloc(t->nodes + 1, sizeof *t->order);
    t->first = calloc(t->nodes + 2, sizeof *t->first);
    t->last = calloc(t->nodes + 1, sizeof *t->last);
    t->out = calloc(t->links + 1, sizeof *t->out);
    t->through = calloc(t->nodes + 1, sizeof *t->through);
    t->heat = calloc(t->nodes + 1, sizeof *t->heat);
    t->carried = calloc(t->nodes + 1, sizeof *t->carried);
    return t->flow && t->order && t->first && t->last && t->out && t->through && t->heat && t->carried;
}

hl_trace *hl_trace_create(const hl_workspace *workspace)
{
    const hl_network *network = workspace->design->network;
    if (!network || workspace->design->field || workspace->outcome != HL_SOLVED) return NULL;
    hl_trace *t = calloc(1, sizeof *t);
    if (!t) return NULL;
    t->network = network;
    t->nodes = hl_network_nodes(network);
    t->links = hl_network_links(network);
    t->source = -2;
    if (take_memory(t) && sort_nodes(t, workspace->temperature)) {
        hl_network_flows(network, &workspace->surroundings, workspace->temperature, t->flow);
        memcpy(t->heat, workspace->power, t->nodes * sizeof *t->heat);
        if (sort_flows(t)) return t;
    }
    hl_trace_destroy(t);
    return NULL;
}

void hl_trace_destroy(hl_trace *trace)
{
    if (!trace) return;
    free(trace->flow);
    free(trace->order);
    free(trace->first);
    free(trace->last);
    free(trace->out);
    free(trace->through);
    free(trace->heat);
    free(trace->carried);
    free(trace);
}

double hl_trace_flow(const hl_trace *trace, size_t link)
{
    return link < trace->links ? trace->flow[link] : 0;
}

static bool is_node(const hl_trace *t, int node)
{
    return node >= 0 && (size_t)node < t->nodes;
}

/* The source's watts through every node: hottest first, so all that flows in is known before it flows on. */
static void carry(hl_trace *t, int source)
{
    if (t->source == source) return;
    t->source = source;
    memset(t->carried, 0, t->nodes * sizeof *t->carried);
    t->carried[source] = t->heat[source];
    for (size_t i = 0; i < t->nodes; i++) {
        int node = t->order[i];
        if (t->carried[node] == 0 || !(t->through[node] > 0)) continue;
        double share = t->carried[node] / t->through[node];
        for (size_t k = t->first[node]; k < t->last[node]; k++)
            if (t->out[k].to >= 0) t->carried[t->out[k].to] += share * t->out[k].watts;
    }
}

double hl_trace_exit(hl_trace *trace, int source, int node)
{
    if (!is_node(trace, source) || !is_node(trace, node)) return 0;
    carry(trace, source);
    double outside = 0;
    for (size_t k = trace->first[node]; k < trace->last[node]; k++)
        if (trace->out[k].to < 0) outside += trace->out[k].watts;
    return trace->through[node] > 0 ? trace->carried[node] * outside / trace->through[node] : 0;
}

/* ----------------------------------------------------------------- paths -- */

typedef struct walk {
    const hl_trace *trace;
    hl_heat_path *path;
    size_t n, room;
    double least; /* W */
    hl_heat_path now;
} walk;

/* Kept in order of watts, the weakest falls off the end. */
static void keep(walk *w, double watts)
{
    if (!w->room) return;
    size_t at = w->n < w->room ? w->n++ : w->room;
    if (at == w->room) {
        if (!(watts > w->path[w->room - 1].watts)) return;
        at = w->room - 1;
    }
    for (; at > 0 && w->path[at - 1].watts < watts; at--) w->path[at] = w->path[at - 1];
    w->path[at] = w->now;
    w->path[at].watts = watts;
}

static void follow(walk *w, int node, double watts)
{
    const hl_trace *t = w->trace;
    if (w->now.n == HL_PATH_NODES_MAX || !(t->through[node] > 0)) return;
    w->now.node[w->now.n++] = node;
    double outside = 0;
    for (size_t k = t->first[node]; k < t->last[node]; k++) {
        int to = t->out[k].to;
        if (to < 0) {
            outside += t->out[k].watts;
            continue;
        }
        double part = watts * t->out[k].watts / t->through[node];
        if (part >= w->least) follow(w, to, part);
    }
    double part = watts * outside / t->through[node];
    if (part >= w->least) keep(w, part);
    w->now.n--;
}

size_t hl_trace_paths(hl_trace *trace, int source, double least, hl_heat_path path[], size_t room)
{
    if (!is_node(trace, source) || !(trace->heat[source] > 0)) return 0;
    walk w = {.trace = trace, .path = path, .room = room, .least = fmax(least, 1e-4) * trace->heat[source]};
    follow(&w, source, trace->heat[source]);
    return w.n;
}

const char *hl_link_end(const hl_network *network, int end)
{
    return end == HL_AMBIENT ? "ambient" : hl_network_node_name(network, end);
}

const char *hl_law_name(hl_law law)
{
    static const char *const names[] = {"fixed", "power", "radiation", "natural", "gap", "forced"};
    return (unsigned)law < sizeof names / sizeof names[0] ? names[law] : "unknown";
}
