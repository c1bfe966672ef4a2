/* hand_links.c - nodes and links that a draft states itself, beside or in place of those by rule. */
#include "design/hand_links.h"

#include <string.h>

#include "design/heat_paths.h"
#include "thermal/enclosure.h"
#include "thermal/network.h"

typedef struct hand {
    const hl_draft *draft;
    hl_design *design;
    hl_diagnostics *diagnostics;
    bool bad, starved;
} hand;

#define WRONG(hand_, place_, ...)                                                                            \
    do {                                                                                                     \
        hl_diagnostics_add((hand_)->diagnostics, HL_ERROR, (place_), __VA_ARGS__);                           \
        (hand_)->bad = true;                                                                                 \
    } while (0)

static int find_stage(const hl_design *design, const char *name)
{
    for (size_t i = 0; i < design->n_stages; i++)
        if (!strcmp(design->stages[i].name, name)) return (int)i;
    return -1;
}

static int find_node(const hl_network *network, const char *name)
{
    for (size_t i = 0; i < hl_network_nodes(network); i++)
        if (!strcmp(hl_network_node_name(network, (int)i), name)) return (int)i;
    return -2;
}

/* Node index of a link's end; a stage's name makes a node for heat that belongs to no part. */
static int end_of(hand *p, const draft_link *link, const char *name)
{
    if (!strcmp(name, "ambient")) return HL_AMBIENT;
    int node = find_node(p->design->network, name);
    if (node >= 0) return node;
    int stage = find_stage(p->design, name);
    if (stage >= 0) {
        node = hl_network_add_node(p->design->network, name, 0.0);
        p->design->stages[stage].node = node;
        p->design->stages[stage].n_nodes = 1;
        if (node < 0) p->starved = true;
        return node;
    }
    heat_paths_unknown(p->design, &link->place, name, p->diagnostics);
    p->bad = true;
    return -2;
}

/* Beside a field, a link by hand leads heat from a part or node straight to the surroundings. */
static void add_leak(hand *p, const draft_link *link, int a, int b)
{
    hl_design *design = p->design;
    if (!design->leak)
        design->leak = arena_array(design->memory, hl_network_nodes(design->network), sizeof(double));
    if (!design->leak) {
        p->starved = true;
        return;
    }
    int node = a == HL_AMBIENT ? b : a;
    bool simple = link->law == HL_LAW_FIXED && (a == HL_AMBIENT) != (b == HL_AMBIENT) && !link->replaces &&
                  node < design->first_face;
    if (!simple)
        WRONG(p, &link->place,
              "with network = \"field\" a link by hand leads from a part or board to the ambient, by a "
              "resistance "
              "or conductance; everything else inside the box is in the field already");
    else
        design->leak[node] += link->p[0];
}

static bool is_node_by_hand(const hl_draft *draft, const char *name)
{
    for (size_t i = 0; i < draft->nodes.n; i++)
        if (!strcmp(LIST_AT(draft->nodes, draft_node, i)->name, name)) return true;
    return false;
}

/* Where a link by hand ends: a node, or the quarters of a board by their shares. */
typedef struct link_end {
    int n, first;
    double share[BOARD_PIECES];
} link_end;

/* W/K that the rules lay between two nodes. */
static double joint(const hl_network *network, int a, int b)
{
    double sum = 0;
    for (size_t k = 0; k < hl_network_links(network); k++) {
        const hl_link *link = hl_network_link(network, (int)k);
        if (link->law != HL_LAW_FIXED || (link->a != a && link->b != a)) continue;
        if ((link->a == a ? link->b : link->a) == b) sum += link->p[0];
    }
    return sum;
}

/* A board's name stands for its quarters: those that the other end stands on, or all alike. */
static link_end spread_end(const hl_design *design, int node, int other)
{
    link_end end = {1, node, {1}};
    int board = node - design->first_board_node;
    if (board < 0 || board >= (int)design->n_ruled_boards || design->first_piece[board] < 0) return end;
    int first = design->first_piece[board];
    if (other >= first && other < first + BOARD_PIECES) return end; /* between a quarter and the middle */
    end = (link_end){BOARD_PIECES, first, {0}};
    double all = 0;
    for (int k = 0; k < BOARD_PIECES; k++)
        all += end.share[k] = other == HL_AMBIENT ? 0 : joint(design->network, other, first + k);
    for (int k = 0; k < BOARD_PIECES; k++) end.share[k] = all > 0 ? end.share[k] / all : 1.0 / BOARD_PIECES;
    return end;
}

static size_t cut_between(hl_network *network, const link_end *a, const link_end *b)
{
    size_t n = 0;
    for (int i = 0; i < a->n; i++)
        for (int k = 0; k < b->n; k++) n += network_cut(network, a->first + i, b->first + k);
    return n;
}

static bool add_between(hl_network *network, const draft_link *link, const link_end *a, const link_end *b)
{
    for (int i = 0; i < a->n; i++)
        for (int k = 0; k < b->n; k++) {
            double share = a->share[i] * b->share[k];
            hl_link made = {a->first + i,
                            b->first + k,
                            link->law,
                            link->kind,
                            {link->p[0] * share, link->p[1], link->p[2], link->p[3]}};
            if (!(share > 0)) continue;
            if (hl_network_add_link(network, &made) < 0) return false;
        }
    return true;
}

static void add_link(hand *p, const draft_link *link, int from, int to)
{
    hl_network *network = p->design->network;
    link_end a = spread_end(p->design, from, to), b = spread_end(p->design, to, from);
    if (link->replaces && cut_between(network, &a, &b) == 0)
        WRONG(p, &link->place,
              "no link joins '%s' and '%s', so there is none to override; `heatledger solve FILE --links` "
              "lists them, and link{} adds one",
              link->a, link->b);
    else if (!add_between(network, link, &a, &b))
        WRONG(p, &link->place,
              "the link from '%s' to '%s' joins a node to itself or has a negative or missing figure",
              link->a, link->b);
}

static void add_nodes_by_hand(hand *p)
{
    const hl_draft *draft = p->draft;
    for (size_t i = 0; i < draft->nodes.n; i++) {
        const draft_node *node = LIST_AT(draft->nodes, draft_node, i);
        if (p->design->field)
            WRONG(
                p, &node->place,
                "with network = \"field\" there are no nodes by hand: write '%s' as a body that touches its "
                "part, spreader \"%s\" { low = \"...\", high = \"...\", material = \"aluminium\" }, and "
                "leave "
                "its links out, or take network = \"rule\"; docs/heat-paths.md shows both",
                node->name, node->name);
        else if (find_node(p->design->network, node->name) >= 0)
            WRONG(p, &node->place, "two thermal nodes are named '%s'; rename one", node->name);
        else if (hl_network_add_node(p->design->network, node->name, node->capacity) < 0)
            p->starved = true;
    }
}

static void add_links(hand *p)
{
    const hl_draft *draft = p->draft;
    for (size_t i = 0; i < draft->links.n; i++) {
        const draft_link *link = LIST_AT(draft->links, draft_link, i);
        if (p->design->field && (is_node_by_hand(draft, link->a) || is_node_by_hand(draft, link->b)))
            continue; /* told once, where the node is stated */
        int a = end_of(p, link, link->a), b = end_of(p, link, link->b);
        if (a == -2 || b == -2) continue;
        if (p->design->field)
            add_leak(p, link, a, b);
        else
            add_link(p, link, a, b);
    }
}

hl_status hand_links_add(const hl_draft *draft, hl_design *design, hl_diagnostics *diagnostics)
{
    hand p = {draft, design, diagnostics, false, false};
    add_nodes_by_hand(&p);
    add_links(&p);
    return p.starved ? HL_NO_MEMORY : p.bad ? HL_BAD_INPUT : HL_OK;
}
