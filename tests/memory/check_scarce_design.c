/* check_scarce_design.c - from a part file to a solved point, a warm-up and a plan, with memory that runs out
 * at each allocation in turn: an error, never a crash or a wrong figure.
 *
 * Plugins are loaded before, since libltdl 2.4.7 does not check its own allocations, and the warm-up's
 * integrator (CVODE 6.4.1) is left out for the same reason.  A stride goes through the allocations;
 * HEATLEDGER_LONG=1 takes each. */
#include <string.h>

#include "heatledger/heatledger.h"
#include "scarce_memory.h"
#include "story.h"
#include "uncertain_buck.h"

static const char parts[] = "parts:\n"
                            "  high:\n"
                            "    model: silicon_mosfet\n"
                            "    on_resistance: { typical: 9 mohm, tolerance: 25 % }\n"
                            "    rated_voltage: 80 V\n"
                            "    rated_current: 60 A\n"
                            "    gate_charge: { typical: 40 nC, tolerance: 20 % }\n"
                            "    gate_drain_charge: 8 nC\n"
                            "    gate_drive_voltage: 10 V\n"
                            "    output_charge: 50 nC\n"
                            "    output_voltage: 40 V\n"
                            "  coil:\n"
                            "    model: measured_inductor\n"
                            "    inductance: 22 uH\n"
                            "    dc_resistance: 20 mohm\n";

typedef struct attempt {
    hl_catalogue *catalogue;
    hl_draft *draft;
    hl_design *design;
    hl_workspace *workspace;
    hl_sweep *plan;
    double settings[256], loss;
} attempt;

static bool read_parts(attempt *a, const hl_host *host, hl_diagnostics *said)
{
    a->catalogue = hl_catalogue_create(host);
    return a->catalogue && hl_catalogue_read_text(a->catalogue, "parts", parts, strlen(parts), said) == HL_OK;
}

static bool make_draft(attempt *a, const hl_host *host, hl_diagnostics *d)
{
    const hl_part *high = hl_catalogue_find(a->catalogue, "high"),
                  *coil = hl_catalogue_find(a->catalogue, "coil");
    const double way[4] = {0.03};
    hl_draft *draft = a->draft = hl_draft_create(host, "scarce");
    return draft && hl_draft_source(draft, NULL, 48, 0, d) == HL_OK &&
           hl_draft_stage(draft, NULL, "buck", "synchronous_buck", "source", d) == HL_OK &&
           hl_draft_set(draft, NULL, "buck", "switching_frequency", "200 kHz", d) == HL_OK &&
           hl_draft_fill(draft, NULL, "buck", "high_switch", high, 1, d) == HL_OK &&
           hl_draft_fill(draft, NULL, "buck", "low_switch", high, 1, d) == HL_OK &&
           hl_draft_fill(draft, NULL, "buck", "inductor", coil, 1, d) == HL_OK &&
           hl_draft_port(draft, NULL, "out", "buck", 12, 4, d) == HL_OK &&
           hl_draft_link(draft, NULL, "buck.high_switch", "ambient", HL_LAW_FIXED, 0, way, d) == HL_OK &&
           hl_draft_link(draft, NULL, "buck.low_switch", "ambient", HL_LAW_FIXED, 0, way, d) == HL_OK &&
           hl_draft_link(draft, NULL, "buck.inductor", "ambient", HL_LAW_FIXED, 0, way, d) == HL_OK;
}

static bool solve(attempt *a, hl_diagnostics *said)
{
    a->design = hl_draft_finish(a->draft, said);
    if (!a->design || hl_design_settings(a->design) > sizeof a->settings / sizeof *a->settings) return false;
    hl_design_defaults(a->design, a->settings);
    a->workspace = hl_workspace_create(a->design);
    if (!a->workspace || hl_solve(a->workspace, a->settings) != HL_OK) return false;
    a->loss = hl_result_power(a->workspace)->loss;
    return hl_result_outcome(a->workspace) == HL_SOLVED &&
           hl_result_reliance(a->workspace, NULL, NULL) == HL_OK;
}

static bool make_plan(attempt *a, hl_diagnostics *said)
{
    const double loads[] = {0.5, 1};
    size_t load = hl_design_find_setting(a->design, "load", NULL);
    a->plan = hl_sweep_create(a->design, a->settings);
    return a->plan && hl_sweep_axis(a->plan, "load", 1, &load, 2, loads, NULL, said) == HL_OK &&
           hl_sweep_figure(a->plan, "efficiency", said) == HL_OK && hl_sweep_finish(a->plan, said) == HL_OK;
}

static bool all_of_it(attempt *a, const hl_host *host, hl_diagnostics *said)
{
    return read_parts(a, host, said) && make_draft(a, host, said) && solve(a, said) && make_plan(a, said);
}

static void give_back(attempt *a)
{
    hl_sweep_destroy(a->plan);
    hl_workspace_destroy(a->workspace);
    hl_design_destroy(a->design);
    hl_draft_destroy(a->draft);
    hl_catalogue_destroy(a->catalogue);
}

START_TEST(memory_may_run_out_at_any_allocation)
{
    if (!scarce_memory_works()) return;
    hl_host *host = hl_host_create();
    hl_diagnostics *said = hl_diagnostics_create();
    ck_assert(host && said && hl_host_load_shipped(host, said) == HL_OK);
    attempt first = {0};
    scarce_memory_begin(-1);
    bool good = all_of_it(&first, host, said);
    long all = scarce_memory_end();
    ck_assert_msg(good, "%s", hl_diagnostics_count(said) ? hl_diagnostics_text(said, 0) : "no solution");
    double loss = first.loss;
    give_back(&first);
    long stride = getenv("HEATLEDGER_LONG") ? 1 : 1 + all / 400, tried = 0;
    for (long allowed = 0; allowed < all; allowed += stride, tried++) {
        attempt next = {0};
        hl_diagnostics *words = hl_diagnostics_create();
        scarce_memory_begin(allowed);
        bool done = all_of_it(&next, host, words);
        scarce_memory_end();
        ck_assert_msg(!done, "allocation %ld of %ld failed and nobody noticed", allowed + 1, all);
        ck_assert(next.loss == 0 || next.loss == loss); /* not told, or right */
        give_back(&next);
        hl_diagnostics_destroy(words);
    }
    fprintf(stderr, "%ld of %ld allocations refused in turn\n", tried, all);
    hl_diagnostics_destroy(said);
    hl_host_destroy(host);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, memory_may_run_out_at_any_allocation);
}

int main(void)
{
    return story_main("scarce design", fill);
}
