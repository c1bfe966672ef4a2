/* field_heat.h - the condensed heat field of a design's box, in place of links by rule. */
#ifndef HEATLEDGER_FIELD_HEAT_H
#define HEATLEDGER_FIELD_HEAT_H

#include "design/design.h"
#include "design/draft.h"

/* A part as it stands in the box, made by heat_paths.c for either kind of network. */
typedef struct placed_part {
    hl_body body;
    const char *name;      /* as the script knows it */
    const hl_place *place; /* where the script puts it, or the box when it does not */
    bool placed;
    bool split;    /* the hot spot is a node of its own, tied to the body by `inside` */
    double inside; /* K/W */
} placed_part;

/* Condense the box: design->field, and a node of design->network for each part, board, face and face's
 * hottest spot.  No links: the field carries the heat. */
hl_status field_heat_build(const hl_draft *draft, hl_design *design, const placed_part parts[],
                           hl_diagnostics *diagnostics);

/* The same field with what a warm-up needs, made anew or read from where it is kept; the caller's. NULL:
 * memory ran out, or diagnostics say why. */
hl_field *field_heat_in_time(const hl_design *design, hl_diagnostics *diagnostics);

#endif
