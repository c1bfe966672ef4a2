/* spreader_charger.c - drawn up call by call, as a host does. */
#include "spreader_charger.h"

#include "story.h"

static void must(charger *c, hl_status status)
{
    ck_assert_msg(status == HL_OK, "%s",
                  hl_diagnostics_count(c->said) ? hl_diagnostics_text(c->said, 0) : hl_status_text(status));
}

/* ----------------------------------------------------------------- design -- */

typedef struct row {
    const char *stage, *slot, *part;
} row;

static const row slots[] = {
    {"filter", "fuse", "fuse"},
    {"filter", "thermistor", "inrush_thermistor"},
    {"filter", "x_capacitor", "x_capacitor_1"},
    {"filter", "common_mode_choke", "common_mode_choke_1"},
    {"bridge", "rectifier", "bridge"},
    {"pfc", "switch", "pfc_switch"},
    {"pfc", "rectifier", "pfc_diode"},
    {"pfc", "boost_inductor", "pfc_inductor"},
    {"llc", "switch", "llc_switch"},
    {"llc", "resonant_capacitor", "resonant_capacitor"},
    {"llc", "transformer", "llc_transformer"},
    {"llc", "rectifier", "synchronous_rectifier"},
    {"buck", "high_switch", "buck_switch"},
    {"buck", "low_switch", "buck_switch"},
    {"buck", "inductor", "buck_inductor_large"},
};

static const row buses[] = {
    {"bridge", "film", "bridge_film"},     {"pfc", "bulk", "bulk_capacitor"},
    {"llc", "polymer", "bus_polymer"},     {"llc", "ceramic", "bus_ceramic"},
    {"buck", "polymer", "output_polymer"}, {"buck", "ceramic", "output_ceramic"},
};

static const row stages[] = {
    {"filter", "mains_input_filter", "mains"},
    {"bridge", "bridge_rectifier", "filter"},
    {"pfc", "boost_pfc", "bridge"},
    {"llc", "half_bridge_llc", "pfc"},
    {"buck", "synchronous_buck", "llc"},
};

static const row words[] = {
    {"pfc", "mode", "boundary"},
    {"pfc", "output_voltage", "392 V"},
    {"llc", "secondary", "centre_tapped"},
    {"llc", "output_voltage", "24 V"},
    {"llc", "dead_time", "220 ns"},
    {"buck", "switching_frequency", "360 kHz"},
    {"buck", "light_load", "diode_emulation"},
};

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

/* From an item to the spreader. */
static void cool(charger *c, const row *at, double resistance)
{
    char item[80];
    const double conductance[4] = {1 / resistance};
    snprintf(item, sizeof item, "%s.%s", at->stage, at->slot);
    must(c, hl_draft_link(c->draft, NULL, item, "spreader", HL_LAW_FIXED, 0, conductance, c->said));
}

static const hl_part *part(charger *c, const row *at)
{
    const hl_part *found = hl_catalogue_find(c->catalogue, at->part);
    ck_assert_msg(found != NULL, "no part %s", at->part);
    return found;
}

static void draw_up(charger *c)
{
    const double open[4] = {0.012, 0.05}, bright[4] = {0.9, 0.012};
    must(c, hl_draft_source(c->draft, NULL, 230, 50, c->said));
    for (size_t i = 0; i < COUNT(stages); i++)
        must(c, hl_draft_stage(c->draft, NULL, stages[i].stage, stages[i].slot, stages[i].part, c->said));
    for (size_t i = 0; i < COUNT(words); i++)
        must(c, hl_draft_set(c->draft, NULL, words[i].stage, words[i].slot, words[i].part, c->said));
    must(c, hl_draft_node(c->draft, NULL, "spreader", 100, c->said));
    for (size_t i = 0; i < COUNT(slots); i++) {
        must(c, hl_draft_fill(c->draft, NULL, slots[i].stage, slots[i].slot, part(c, &slots[i]), 1, c->said));
        cool(c, &slots[i], 8);
    }
    for (size_t i = 0; i < COUNT(buses); i++) {
        must(c, hl_draft_bus_capacitor(c->draft, NULL, buses[i].stage, buses[i].slot, part(c, &buses[i]), 2,
                                       c->said));
        cool(c, &buses[i], 15);
    }
    must(c, hl_draft_port(c->draft, NULL, "out", "buck", 20, 4.5, c->said));
    must(c, hl_draft_link(c->draft, NULL, "spreader", "ambient", HL_LAW_NATURAL, HL_VERTICAL, open, c->said));
    must(c, hl_draft_link(c->draft, NULL, "spreader", "ambient", HL_LAW_RADIATION, 0, bright, c->said));
}

/* Points far apart, and neighbours that differ in the last digits. */
static void choose_points(charger *c)
{
    static const struct {
        double mains, load, ambient;
    } at[POINTS] = {{230, 1.0, 298.15},         {90, 1.0, 298.15},  {90, 0.02, 298.15},  {264, 0.3, 313.15},
                    {115, 0.5, 298.15},         {115, 0.5, 333.15}, {230, 0, 298.15},    {180, 0.75, 273.15},
                    {180, 0.750000001, 273.15}, {100, 0.1, 298.15}, {230, 0.05, 248.15}, {230, 1.0, 298.16}};
    size_t mains = hl_design_find_setting(c->design, "mains.voltage", NULL),
           load = hl_design_find_setting(c->design, "load", NULL),
           ambient = hl_design_find_setting(c->design, "ambient.temperature", NULL);
    ck_assert_uint_lt(hl_design_settings(c->design), SETTINGS_MAX);
    for (size_t p = 0; p < POINTS; p++) {
        hl_design_defaults(c->design, c->point[p]);
        c->point[p][mains] = at[p].mains;
        c->point[p][load] = at[p].load;
        c->point[p][ambient] = at[p].ambient;
    }
}

charger *charger_begin(void)
{
    charger *c = calloc(1, sizeof *c);
    ck_assert_ptr_nonnull(c);
    c->host = hl_host_create();
    c->said = hl_diagnostics_create();
    must(c, hl_host_load_shipped(c->host, c->said));
    c->catalogue = hl_catalogue_create(c->host);
    must(c, hl_catalogue_read_file(c->catalogue, HL_PROJECT_SOURCE "/examples/desk_charger/parts.yaml",
                                   c->said));
    c->draft = hl_draft_create(c->host, "bench");
    draw_up(c);
    c->design = hl_draft_finish(c->draft, c->said);
    ck_assert_msg(c->design != NULL, "%s", hl_diagnostics_text(c->said, 0));
    choose_points(c);
    return c;
}

void charger_end(charger *c)
{
    hl_design_destroy(c->design);
    hl_draft_destroy(c->draft);
    hl_catalogue_destroy(c->catalogue);
    hl_host_destroy(c->host);
    hl_diagnostics_destroy(c->said);
    free(c);
}
