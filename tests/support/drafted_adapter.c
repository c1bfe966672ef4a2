#include "drafted_adapter.h"

#include <string.h>

#include "story.h"

void drafted_must(drafted_adapter *a, hl_status status)
{
    ck_assert_msg(status == HL_OK, "%s",
                  hl_diagnostics_count(a->said) ? hl_diagnostics_text(a->said, 0) : hl_status_text(status));
}

void drafted_begin(drafted_adapter *a, const char *parts)
{
    *a = (drafted_adapter){.host = hl_host_create(), .said = hl_diagnostics_create()};
    drafted_must(a, hl_host_load_shipped(a->host, a->said));
    a->catalogue = hl_catalogue_create(a->host);
    drafted_must(a, hl_catalogue_read_text(a->catalogue, "parts", parts, strlen(parts), a->said));
    a->draft = hl_draft_create(a->host, "adapter");
}

void drafted_end(drafted_adapter *a)
{
    hl_workspace_destroy(a->workspace);
    hl_design_destroy(a->design);
    hl_draft_destroy(a->draft);
    hl_catalogue_destroy(a->catalogue);
    hl_host_destroy(a->host);
    hl_diagnostics_destroy(a->said);
}

void drafted_source(drafted_adapter *a, double voltage, double frequency)
{
    drafted_must(a, hl_draft_source(a->draft, NULL, voltage, frequency, a->said));
}

void drafted_stage(drafted_adapter *a, const char *stage, const char *model, const char *fed_by)
{
    drafted_must(a, hl_draft_stage(a->draft, NULL, stage, model, fed_by, a->said));
}

void drafted_set(drafted_adapter *a, const char *stage, const char *name, double value)
{
    drafted_must(a, hl_draft_set_number(a->draft, NULL, stage, name, value, a->said));
}

void drafted_choose(drafted_adapter *a, const char *stage, const char *name, const char *word)
{
    drafted_must(a, hl_draft_set(a->draft, NULL, stage, name, word, a->said));
}

void drafted_fill(drafted_adapter *a, const char *stage, const char *slot, const char *part)
{
    const hl_part *found = hl_catalogue_find(a->catalogue, part);
    drafted_must(a, hl_draft_fill(a->draft, NULL, stage, slot, found, 1, a->said));
}

void drafted_bus_capacitor(drafted_adapter *a, const char *stage, const char *name, const char *part)
{
    const hl_part *found = hl_catalogue_find(a->catalogue, part);
    drafted_must(a, hl_draft_bus_capacitor(a->draft, NULL, stage, name, found, 1, a->said));
}

void drafted_port(drafted_adapter *a, const char *port, const char *fed_by, double voltage, double current)
{
    drafted_must(a, hl_draft_port(a->draft, NULL, port, fed_by, voltage, current, a->said));
}

void drafted_cool(drafted_adapter *a, const char *place, double conductance)
{
    const double way[4] = {conductance};
    drafted_must(a, hl_draft_link(a->draft, NULL, place, "ambient", HL_LAW_FIXED, 0, way, a->said));
}

void drafted_finish(drafted_adapter *a)
{
    a->design = hl_draft_finish(a->draft, a->said);
    ck_assert_msg(a->design != NULL, "%s",
                  hl_diagnostics_count(a->said) ? hl_diagnostics_text(a->said, 0) : "no design");
    a->workspace = hl_workspace_create(a->design);
    ck_assert_msg(a->workspace != NULL, "no workspace");
    ck_assert_msg(hl_design_settings(a->design) < DRAFTED_SETTINGS_MAX, "too many settings");
    hl_design_defaults(a->design, a->settings);
}

size_t drafted_setting(const drafted_adapter *a, const char *name)
{
    size_t index = hl_design_find_setting(a->design, name, NULL);
    ck_assert_msg(index != SIZE_MAX, "no setting %s", name);
    return index;
}

void drafted_solve(drafted_adapter *a)
{
    if (!a->design) drafted_finish(a);
    drafted_must(a, hl_solve(a->workspace, a->settings));
    ck_assert_msg(hl_result_outcome(a->workspace) == HL_SOLVED, "%s", hl_result_reason(a->workspace));
    const hl_power_figures *f = hl_result_power(a->workspace);
    ck_near(f->power_imbalance, 0, 0, 1e-9 * f->input);
}
