/* design.c - reading an immutable design. */
#include "design/design.h"

const char *hl_design_name(const hl_design *design)
{
    return design->name;
}

size_t hl_design_items(const hl_design *design)
{
    return design->n_items;
}

const hl_item *hl_design_item(const hl_design *design, size_t index)
{
    return index < design->n_items ? &design->items[index].shown : NULL;
}

size_t hl_design_alternatives(const hl_design *design, size_t item)
{
    return item < design->n_items ? design->items[item].n_alternatives : 0;
}

const hl_part *hl_design_alternative(const hl_design *design, size_t item, size_t index)
{
    return index < hl_design_alternatives(design, item) ? design->items[item].alternatives[index].part : NULL;
}

size_t hl_design_part_setting(const hl_design *design, size_t item)
{
    return item < design->n_items ? design->items[item].part_setting : SIZE_MAX;
}

size_t hl_design_stages(const hl_design *design)
{
    return design->n_stages;
}

const char *hl_design_stage_name(const hl_design *design, size_t index)
{
    return index < design->n_stages ? design->stages[index].name : NULL;
}

const hl_model *hl_design_stage_model(const hl_design *design, size_t index)
{
    return index < design->n_stages ? design->stages[index].model : NULL;
}

int hl_design_stage_parent(const hl_design *design, size_t index)
{
    return index < design->n_stages ? design->stages[index].parent : -1;
}

const hl_value *hl_design_stage_values(const hl_design *design, size_t index)
{
    return index < design->n_stages ? design->stages[index].set.values : NULL;
}

size_t hl_design_ports(const hl_design *design)
{
    return design->n_ports;
}

const char *hl_design_port_name(const hl_design *design, size_t index)
{
    return index < design->n_ports ? design->ports[index].name : NULL;
}

int hl_design_port_stage(const hl_design *design, size_t index)
{
    return index < design->n_ports ? design->ports[index].stage : -1;
}

size_t hl_design_nodes(const hl_design *design)
{
    return design->network ? hl_network_nodes(design->network) : 0;
}

const char *hl_design_node_name(const hl_design *design, size_t index)
{
    return index < hl_design_nodes(design) ? hl_network_node_name(design->network, (int)index) : NULL;
}

int hl_design_face_node(const hl_design *design, hl_face face)
{
    return design->field && face < HL_FACES ? design->first_face + (int)face : -1;
}

const hl_network *hl_design_network(const hl_design *design)
{
    return design->network;
}

const hl_box *hl_design_box(const hl_design *design)
{
    return design->boxed ? &design->box : NULL;
}
