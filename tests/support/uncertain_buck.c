#include "uncertain_buck.h"

#include <string.h>

#include "story.h"

static const char parts[] = "parts:\n"
                            "  high:\n"
                            "    model: silicon_mosfet\n"
                            "    on_resistance: { typical: 9 mohm, tolerance: 25 % }\n"
                            "    rated_voltage: 80 V\n"
                            "    rated_current: 60 A\n"
                            "    gate_charge: { typical: 40 nC, tolerance: 20 % }\n"
                            "    gate_drain_charge: { typical: 8 nC, tolerance: 30 % }\n"
                            "    gate_drive_voltage: 10 V\n"
                            "    output_charge: { typical: 50 nC, tolerance: 20 % }\n"
                            "    output_voltage: 40 V\n"
                            "    maximum_temperature: 150 degC\n"
                            "  coil:\n"
                            "    model: measured_inductor\n"
                            "    inductance: 22 uH\n"
                            "    dc_resistance: { typical: 20 mohm, sigma: 2 mohm }\n";

static void must(uncertain_buck *b, hl_status status)
{
    ck_assert_msg(status == HL_OK, "%s",
                  hl_diagnostics_count(b->said) ? hl_diagnostics_text(b->said, 0) : hl_status_text(status));
}

static void put(uncertain_buck *b, const char *slot, const char *part)
{
    must(b, hl_draft_fill(b->draft, NULL, "buck", slot, hl_catalogue_find(b->catalogue, part), 1, b->said));
}

static void cool(uncertain_buck *b, const char *item, double conductance)
{
    const double way[4] = {conductance};
    must(b, hl_draft_link(b->draft, NULL, item, "ambient", HL_LAW_FIXED, 0, way, b->said));
}

void uncertain_buck_open(uncertain_buck *b)
{
    memset(b, 0, sizeof *b);
    b->host = hl_host_create();
    b->said = hl_diagnostics_create();
    must(b, hl_host_load_shipped(b->host, b->said));
    b->catalogue = hl_catalogue_create(b->host);
    must(b, hl_catalogue_read_text(b->catalogue, "parts", parts, strlen(parts), b->said));
    b->draft = hl_draft_create(b->host, "uncertain buck");
    must(b, hl_draft_source(b->draft, NULL, 48, 0, b->said));
    must(b, hl_draft_stage(b->draft, NULL, "buck", "synchronous_buck", "source", b->said));
    must(b, hl_draft_set(b->draft, NULL, "buck", "switching_frequency", "200 kHz", b->said));
    must(b, hl_draft_set(b->draft, NULL, "buck", "light_load", "diode_emulation", b->said));
    put(b, "high_switch", "high");
    put(b, "low_switch", "high");
    put(b, "inductor", "coil");
    must(b, hl_draft_port(b->draft, NULL, "out", "buck", 12, 4, b->said));
    cool(b, "buck.high_switch", 0.04);
    cool(b, "buck.low_switch", 0.03);
    cool(b, "buck.inductor", 0.02);
    b->design = hl_draft_finish(b->draft, b->said);
    ck_assert_msg(b->design != NULL, "%s",
                  hl_diagnostics_count(b->said) ? hl_diagnostics_text(b->said, 0) : "");
}

void uncertain_buck_close(uncertain_buck *b)
{
    hl_design_destroy(b->design);
    hl_draft_destroy(b->draft);
    hl_catalogue_destroy(b->catalogue);
    hl_host_destroy(b->host);
    hl_diagnostics_destroy(b->said);
}

size_t uncertain_buck_setting(const uncertain_buck *buck, const char *name)
{
    size_t index = hl_design_find_setting(buck->design, name, NULL);
    ck_assert_msg(index != SIZE_MAX, "no setting %s", name);
    return index;
}
