/* draft_losses.c - the losses and the warmth of a draft by rule, about which the field of its box is
 * condensed.
 *
 * A condensed field is exact for the heat it was made about and near for other heat (docs/theory/field.md).
 * Losses hardly know by which network their temperatures were found: what rules say is enough. */
#include "design/draft.h"
#include "solve/workspace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A kept field serves as long as no loss moves by more than a step or so, which is a third. */
static const double steps_a_decade = 8;
static const double least_share = 2e-3; /* of the whole loss, so that every part counts */

static double stepped(double heat, double whole)
{
    double least = least_share * whole;
    return pow(10, round(steps_a_decade * log10(heat > least ? heat : least)) / steps_a_decade);
}

/* The air inside conducts as it does at this temperature; the step moves it by less than a hundredth. */
static const double air_step = 5; /* K */

static double inner_air(const hl_design *design, const hl_workspace *workspace)
{
    for (size_t i = 0; i < hl_design_nodes(design); i++)
        if (!strcmp(hl_design_node_name(design, i), "inner air"))
            return air_step * round(hl_result_node_temperature(workspace, i) / air_step);
    return 0;
}

static bool keep(hl_draft *draft, const hl_design *design, const hl_workspace *workspace)
{
    size_t items = hl_design_items(design);
    double *heat = arena_array(draft->memory, items + 1, sizeof *heat), whole = 0;
    if (!heat) return false;
    for (size_t i = 0; i < items; i++) whole += heat[i] = hl_result_item_loss(workspace, i);
    for (size_t s = 0; s < hl_design_stages(design); s++) heat[items] += hl_result_own(workspace, s, NULL);
    whole += heat[items];
    if (!(whole > 0 && isfinite(whole))) return true;
    for (size_t i = 0; i <= items; i++) heat[i] = stepped(heat[i], whole);
    draft->foreseen = heat;
    draft->n_foreseen = items + 1;
    draft->foreseen_air = inner_air(design, workspace);
    return true;
}

hl_status hl_draft_foresee(hl_draft *draft)
{
    if (!draft->has_box || !draft->box.by_field) return HL_OK;
    hl_diagnostics *unsaid = hl_diagnostics_create(); /* hl_draft_finish says it again */
    draft->foreseen = NULL;
    draft->foreseen_air = 0;
    draft->box.by_field = false;
    hl_design *design = hl_draft_finish(draft, unsaid);
    draft->box.by_field = true;
    hl_workspace *workspace = design ? hl_workspace_create(design) : NULL;
    double *settings = design ? calloc(hl_design_settings(design) + 1, sizeof *settings) : NULL;
    hl_status status = unsaid && (design ? workspace && settings : !draft->starved) ? HL_OK : HL_NO_MEMORY;
    if (status == HL_OK && design) {
        hl_design_defaults(design, settings);
        if (hl_solve(workspace, settings) == HL_OK && hl_result_outcome(workspace) == HL_SOLVED &&
            !keep(draft, design, workspace))
            status = HL_NO_MEMORY;
    }
    free(settings);
    hl_workspace_destroy(workspace);
    hl_design_destroy(design);
    hl_diagnostics_destroy(unsaid);
    return status;
}
