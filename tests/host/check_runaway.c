/* check_runaway.c - a part whose leakage outruns its cooling: found, named, and never shown as a temperature.
 */
#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "story.h"

/* A silicon Schottky rectifier in a diode buck: its leakage doubles every 10 K. */
static const char parts[] =
    "parts:\n"
    "  high: { model: measured_switch, resistance: 10 mohm, rated_voltage: 100 V }\n"
    "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm }\n"
    "  diode:\n"
    "    model: schottky_diode\n"
    "    rated_voltage: 60 V\n"
    "    rated_current: 5 A\n"
    "    threshold_voltage: 0.30 V\n"
    "    slope_resistance: 20 mohm\n"
    "    leakage_current: { typical: 2 mA, maximum: 2 mA }\n"
    "    leakage_voltage: 60 V\n"
    "    leakage_temperature: 25 degC\n"
    "    leakage_doubling: 10 K\n";

typedef struct bench {
    hl_host *host;
    hl_catalogue *catalogue;
    hl_draft *draft;
    hl_design *design;
    hl_workspace *workspace;
    hl_diagnostics *said;
    double settings[600];
} bench;

static void must(bench *b, hl_status status)
{
    ck_assert_msg(status == HL_OK, "%s",
                  hl_diagnostics_count(b->said) ? hl_diagnostics_text(b->said, 0) : hl_status_text(status));
}

static void put(bench *b, const char *slot, const char *part)
{
    must(b, hl_draft_fill(b->draft, NULL, "buck", slot, hl_catalogue_find(b->catalogue, part), 1, b->said));
}

/* The diode's only way out is `resistance` K/W to the surroundings. */
static void begin(bench *b, double resistance)
{
    memset(b, 0, sizeof *b);
    b->host = hl_host_create();
    b->said = hl_diagnostics_create();
    must(b, hl_host_load_shipped(b->host, b->said));
    b->catalogue = hl_catalogue_create(b->host);
    must(b, hl_catalogue_read_text(b->catalogue, "parts", parts, strlen(parts), b->said));
    b->draft = hl_draft_create(b->host, "bench");
    must(b, hl_draft_source(b->draft, NULL, 48, 0, b->said));
    must(b, hl_draft_stage(b->draft, NULL, "buck", "synchronous_buck", "source", b->said));
    must(b, hl_draft_set(b->draft, NULL, "buck", "switching_frequency", "200 kHz", b->said));
    must(b, hl_draft_set(b->draft, NULL, "buck", "light_load", "diode_emulation", b->said));
    put(b, "high_switch", "high");
    put(b, "low_switch", "diode");
    put(b, "inductor", "coil");
    must(b, hl_draft_port(b->draft, NULL, "out", "buck", 12, 2, b->said));
    const double good[4] = {1.0}, cooling[4] = {1 / resistance};
    must(b, hl_draft_link(b->draft, NULL, "buck.high_switch", "ambient", HL_LAW_FIXED, 0, good, b->said));
    must(b, hl_draft_link(b->draft, NULL, "buck.inductor", "ambient", HL_LAW_FIXED, 0, good, b->said));
    must(b, hl_draft_link(b->draft, NULL, "buck.low_switch", "ambient", HL_LAW_FIXED, 0, cooling, b->said));
    b->design = hl_draft_finish(b->draft, b->said);
    ck_assert_msg(b->design != NULL, "%s", hl_diagnostics_text(b->said, 0));
    b->workspace = hl_workspace_create(b->design);
    ck_assert_uint_lt(hl_design_settings(b->design), 600);
    hl_design_defaults(b->design, b->settings);
}

static void end(bench *b)
{
    hl_workspace_destroy(b->workspace);
    hl_design_destroy(b->design);
    hl_draft_destroy(b->draft);
    hl_catalogue_destroy(b->catalogue);
    hl_host_destroy(b->host);
    hl_diagnostics_destroy(b->said);
}

static hl_outcome at_ambient(bench *b, double celsius)
{
    b->settings[hl_design_find_setting(b->design, "ambient.temperature", NULL)] = celsius + 273.15;
    must(b, hl_solve(b->workspace, b->settings));
    return hl_result_outcome(b->workspace);
}

START_TEST(a_leaking_diode_settles_when_it_is_cooled_well)
{
    bench b;
    begin(&b, 12);
    ck_assert_int_eq(at_ambient(&b, 25), HL_SOLVED);
    ck_assert(hl_result_power(b.workspace)->feedback_gain < 1);
    end(&b);
}
END_TEST

START_TEST(run_away_is_named_and_has_no_temperature)
{
    bench b;
    begin(&b, 60);
    ck_assert_int_eq(at_ambient(&b, 60), HL_RAN_AWAY);
    ck_assert_ptr_nonnull(strstr(hl_result_reason(b.workspace), "buck.low_switch"));
    for (size_t i = 0; i < hl_design_items(b.design); i++)
        ck_assert(isnan(hl_result_item_temperature(b.workspace, i)));
    for (size_t i = 0; i < hl_design_nodes(b.design); i++)
        ck_assert(isnan(hl_result_node_temperature(b.workspace, i)));
    end(&b);
}
END_TEST

/* As the ambient rises the gain rises, up to the border and not beyond one on the solved side. */
START_TEST(the_gain_climbs_to_one_at_the_border)
{
    bench b;
    begin(&b, 30);
    double last = 0, low = -40, high = 125;
    ck_assert_int_eq(at_ambient(&b, low), HL_SOLVED);
    ck_assert_int_eq(at_ambient(&b, high), HL_RAN_AWAY);
    while (high - low > 1e-3) {
        double middle = 0.5 * (low + high);
        if (at_ambient(&b, middle) == HL_SOLVED) {
            double gain = hl_result_power(b.workspace)->feedback_gain;
            ck_assert_msg(gain > last && gain < 1, "gain %.6f after %.6f", gain, last);
            last = gain;
            low = middle;
        } else
            high = middle;
    }
    ck_assert_msg(last > 0.95, "the border was met at a gain of %.4f", last);
    /* the same answer after the border as before it: nothing is remembered */
    ck_assert_int_eq(at_ambient(&b, low), HL_SOLVED);
    ck_assert_double_eq(hl_result_power(b.workspace)->feedback_gain, last);
    end(&b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_leaking_diode_settles_when_it_is_cooled_well);
    tcase_add_test(tests, run_away_is_named_and_has_no_temperature);
    tcase_add_test(tests, the_gain_climbs_to_one_at_the_border);
}

int main(void)
{
    return story_main("run-away", fill);
}
