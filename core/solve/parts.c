/* parts.c - which of its alternatives stands in each item at this point.
 *
 * A workspace reads its design through a copy of its own.  Choosing a part writes that copy alone: what the
 * solver reads of an item, and the links of the network that the part changes.  Both are set from what was
 * described, never from what stood there before, so a point's bits do not depend on the point before. */
#include "solve/workspace.h"

#include <stdio.h>
#include <string.h>

#include "thermal/network.h"
#include "thermal/repeat.h"

static bool any_link_changes(const hl_design *design)
{
    for (size_t i = 0; i < design->n_items; i++)
        for (size_t k = 1; k < design->items[i].n_alternatives; k++)
            if (design->items[i].alternatives[k].n_changes) return true;
    return false;
}

static hl_network *copy_of(const hl_network *network)
{
    hl_network *copy = hl_network_create();
    bool good = copy != NULL;
    for (size_t i = 0; good && i < network->n_nodes; i++)
        good = hl_network_add_node(copy, network->nodes[i].name, network->nodes[i].capacity) >= 0;
    for (size_t k = 0; good && k < network->n_links; k++)
        good = hl_network_add_link(copy, &network->links[k]) >= 0;
    if (good) return copy;
    hl_network_destroy(copy);
    return NULL;
}

bool parts_create(hl_workspace *work, const hl_design *design)
{
    hl_design *own = arena_take(work->memory, sizeof *own);
    work->described = design;
    work->chosen_items = arena_array(work->memory, design->n_items + 1, sizeof *work->chosen_items);
    work->heat_applied = arena_array(work->memory, design->n_heat + 1, sizeof *work->heat_applied);
    if (!own || !work->chosen_items || !work->heat_applied) return false;
    for (size_t k = 0; k < design->n_heat; k++) work->heat_applied[k] = design->heat[k].described;
    *own = *design;
    own->items = work->chosen_items;
    if (design->n_items) memcpy(own->items, design->items, design->n_items * sizeof *own->items);
    work->design = own;
    if (!design->network || !(any_link_changes(design) || design->n_heat)) return true;
    own->network = work->chosen_network = copy_of(design->network);
    return own->network != NULL;
}

static void put(hl_workspace *work, size_t index, size_t which)
{
    design_item *item = &work->chosen_items[index];
    item_state *state = &work->items[index];
    const alternative *part = &item->alternatives[which];
    item->shown.part = part->part;
    item->set = part->set;
    item->commons = part->commons;
    item->heat_limit = part->heat_limit;
    if (part->set.n) memcpy(state->set.values, part->set.values, part->set.n * sizeof *state->set.values);
    memset(state->state, 0, state->state_size);
    state->set.ready = false;
    state->chosen = which;
}

/* Every link as described, then as the chosen parts want it. */
static void fit_network(hl_workspace *work)
{
    const hl_network *described = work->described->network;
    hl_link *links = work->chosen_network->links;
    memcpy(links, described->links, described->n_links * sizeof *links);
    for (size_t i = 0; i < work->design->n_items; i++) {
        const alternative *part = &work->chosen_items[i].alternatives[work->items[i].chosen];
        for (size_t k = 0; k < part->n_changes; k++) links[part->changes[k].link] = part->changes[k].to;
    }
    for (size_t k = 0; k < work->design->n_heat; k++) { /* a resistance in series with the rest of its link */
        const heat_setting *heat = &work->design->heat[k];
        double all = 0, more = work->heat_applied[k] - heat->described;
        if (more == 0 || work->items[heat->item].chosen != 0) continue;
        for (int n = 0; n < heat->n_links; n++) all += links[heat->link + n].p[0];
        for (int n = 0; n < heat->n_links; n++)
            links[heat->link + n].p[0] /=
                1 + all * more / heat->count; /* 1 / (1 / all + more), shared alike */
    }
    network_take_links(work->network);
}

/* true when a heat path is not what the network has. */
static bool heat_moves(hl_workspace *work, const double settings[])
{
    bool moved = false;
    for (size_t k = 0; k < work->design->n_heat; k++) {
        double wanted = settings[work->design->heat[k].setting];
        if (!(wanted > 0)) wanted = work->design->heat[k].described;
        moved |= wanted != work->heat_applied[k];
        work->heat_applied[k] = wanted;
    }
    return moved;
}

bool parts_choose(hl_workspace *work, const double settings[])
{
    bool moved = false;
    for (size_t i = 0; i < work->design->n_items; i++) {
        const design_item *item = &work->chosen_items[i];
        if (item->part_setting == SIZE_MAX) continue;
        double wanted = settings[item->part_setting];
        if (!(wanted >= 0 && wanted <= (double)(item->n_alternatives - 1))) {
            snprintf(work->reason, sizeof work->reason, "setting %s = %g names none of its %zu parts",
                     item->shown.name, wanted, item->n_alternatives);
            return false;
        }
        if ((size_t)wanted == work->items[i].chosen) continue;
        put(work, i, (size_t)wanted);
        moved = true;
    }
    moved |= heat_moves(work, settings);
    if (moved && work->chosen_network) fit_network(work);
    return true;
}
