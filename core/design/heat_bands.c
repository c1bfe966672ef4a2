/* heat_bands.c - how sure the heat paths of the parts are: which link of the network each stands in.
 *
 * The network by rule ties a part to its board, and through a pad to a face, by one fixed conductance each:
 * the part's own resistance in series with the rest, shared among the quarters of the board that it stands
 * on. Another resistance of the part changes that series alone. */
#include "design/heat_bands.h"

#include <string.h>

#include "design/settings.h"
#include "thermal/enclosure.h"

static bool is_piece(const hl_design *design, int node)
{
    for (size_t i = 0; i < design->n_ruled_boards; i++) {
        int first = design->first_piece[i];
        if (first >= 0 && node >= first && node < first + BOARD_PIECES) return true;
    }
    return false;
}

/* The one fixed link from a node to another kind of place, or those to the quarters of a board, which follow
 * one another: how many. 0: none, or not clear which. */
static int find_links(const hl_design *design, int node, bool to_face, int *first)
{
    int found = 0, end = -1;
    for (size_t k = 0; k < hl_network_links(design->network); k++) {
        const hl_link *link = hl_network_link(design->network, (int)k);
        if (link->law != HL_LAW_FIXED || (link->a != node && link->b != node)) continue;
        int other = link->a == node ? link->b : link->a;
        const char *name = other >= 0 ? hl_network_node_name(design->network, other) : "";
        if ((strncmp(name, "face ", 5) == 0) != to_face) continue;
        if (found > 0 && !((int)k == *first + found && is_piece(design, end) && is_piece(design, other)))
            return 0;
        if (found++ == 0) *first = (int)k;
        end = other;
    }
    return found;
}

static bool add(hl_design *design, size_t index, enum hl_common which, bool to_face)
{
    design_item *item = &design->items[index];
    const hl_part *part = item->shown.part;
    const hl_band *band = &hl_part_common_bands(part)[which];
    size_t rule = item->set.model->n_parameters + which;
    bool known = hl_part_value_rule(part, rule, NULL) || band->origin != HL_ORIGIN_ESTIMATE;
    if (band->kind == HL_BAND_NONE || !known || item->shown.node < 0 || item->outer >= 0)
        return true; /* of a part of two nodes the paths begin at its outside */
    int link, n = find_links(design, item->shown.node, to_face, &link);
    double described = item->commons[which].number, count = item->shown.count, all = 0;
    for (int k = 0; k < n; k++) all += hl_network_link(design->network, link + k)->p[0];
    if (!(all > 0) || !(described / count < 1 / all)) return true;
    size_t added;
    if (!settings_add_common(design, item, which, &added)) return false;
    design->heat[design->n_heat++] = (heat_setting){added, index, link, n, described, count};
    return true;
}

bool heat_bands_add(hl_design *design)
{
    design->heat = arena_array(design->memory, 2 * design->n_items + 1, sizeof *design->heat);
    if (!design->heat) return false;
    for (size_t i = 0; design->network && i < design->n_items; i++)
        if (!add(design, i, HL_COMMON_RESISTANCE_BOARD, false) ||
            !add(design, i, HL_COMMON_RESISTANCE_CASE, true))
            return false;
    return true;
}
