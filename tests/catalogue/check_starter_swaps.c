/* check_starter_swaps.c - parts of the starter catalogue in the places of the examples' own: the adapter
 * still solves, its books close, and it is about as good.  HEATLEDGER_LONG=1 tries every candidate, otherwise
 * the first. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "command_json.h"
#include "example_run.h"
#include "story.h"

#define FOLDER HL_TEST_BUILD "/starter_swaps"
enum { CANDIDATES = 10 };

typedef struct swap {
    const char *example; /* folder/script */
    const char *place;   /* name of the example's own part */
    const char *candidate[CANDIDATES];
} swap;

/* clang-format off */
static const swap swaps[] = {
    {"desk_charger/charger", "pfc_switch", {"gan_650v_110m_a", "gan_650v_50m_a", "gan_650v_80m_a", "gan_650v_190m_a",
     "gan_650v_270m_a", "mosfet_650v_125m_a", "mosfet_650v_190m_a", "sic_mosfet_650v_72m_a", "sic_mosfet_650v_110m_a"}},
    {"desk_charger/charger", "pfc_diode", {"sic_diode_650v_6a", "sic_diode_650v_2a", "sic_diode_650v_4a",
     "sic_diode_650v_8a", "diode_600v_5a_hyperfast", "diode_600v_8a_hyperfast"}},
    {"desk_charger/charger", "pfc_inductor", {"inductor_ferrite_330u", "inductor_ferrite_150u", "inductor_ferrite_200u",
     "inductor_ferrite_270u", "inductor_ferrite_400u", "inductor_ferrite_200u_hf"}},
    {"desk_charger/charger", "bridge", {"bridge_800v_6a", "bridge_1000v_3a", "bridge_800v_4a", "bridge_600v_8a"}},
    {"desk_charger/charger", "llc_switch", {"mosfet_650v_190m_a", "mosfet_650v_125m_fast", "mosfet_650v_190m_fast",
     "mosfet_650v_280m_a", "mosfet_650v_380m_a", "gan_650v_150m_a", "gan_650v_190m_a"}},
    {"desk_charger/charger", "llc_transformer", {"transformer_llc_33_4_hf", "transformer_llc_33_4",
     "transformer_llc_34_5", "transformer_llc_28_4_large"}},
    {"desk_charger/charger", "synchronous_rectifier", {"mosfet_80v_4m_a", "mosfet_80v_7p5m_a", "mosfet_100v_3m_a",
     "mosfet_100v_5m_a", "gan_100v_3p2m_a"}},
    {"desk_charger/charger", "bulk_capacitor", {"electrolytic_450v_82u", "electrolytic_450v_47u",
     "electrolytic_450v_68u", "electrolytic_450v_100u", "electrolytic_450v_150u"}},
    {"desk_charger/charger", "resonant_capacitor", {"film_630v_30n", "film_630v_22n", "film_630v_47n"}},
    {"desk_charger/charger", "buck_switch", {"mosfet_40v_5m_a", "mosfet_40v_3p5m_a", "mosfet_40v_7m_a",
     "mosfet_30v_3p5m_a", "mosfet_30v_6m_a"}},
    {"desk_charger/charger", "buck_inductor_large", {"inductor_moulded_6u8", "inductor_moulded_4u7", "inductor_moulded_10u"}},
    {"wall_adapter/adapter", "primary_switch", {"gan_700v_240m_a", "gan_700v_165m_a", "gan_650v_150m_a",
     "gan_650v_190m_a", "mosfet_700v_450m_a", "mosfet_800v_450m_a"}},
    {"wall_adapter/adapter", "transformer", {"transformer_flyback_30_6_hf", "transformer_flyback_40_6"}},
    {"wall_adapter/adapter", "synchronous_rectifier", {"mosfet_150v_5p5m_a", "mosfet_150v_8p5m_a", "mosfet_150v_14m_a"}},
    {"wall_adapter/adapter", "bus_polymer", {"polymer_25v_390u", "polymer_25v_220u", "polymer_35v_330u"}},
    {"small_adapter/adapter", "primary_switch", {"mosfet_700v_900m_a", "mosfet_700v_450m_a", "mosfet_700v_1400m_a",
     "gan_650v_350m_a", "gan_650v_500m_a"}},
    {"small_adapter/adapter", "output_diode", {"schottky_100v_20a", "schottky_100v_10a", "schottky_100v_40a", "schottky_150v_20a"}},
    {"small_adapter/adapter", "output_electrolytic", {"electrolytic_16v_1000u", "electrolytic_16v_680u", "electrolytic_25v_470u"}},
    {"small_adapter/adapter", "cable", {"cable_1m2_0p82mm2", "cable_1m5_0p5mm2", "cable_1m8_1p3mm2"}},
    {"tool_charger/charger", "synchronous_rectifier", {"mosfet_100v_3m_a", "mosfet_100v_5m_a", "gan_100v_1p8m_a"}},
    {"tool_charger/charger", "pfc_switch", {"mosfet_650v_99m_a", "mosfet_650v_70m_a", "gan_650v_50m_a", "sic_mosfet_650v_50m_a"}},
};
/* clang-format on */
enum { SWAPS = sizeof swaps / sizeof *swaps };

/* A copy of the script with `part.PLACE` replaced by the catalogue's part, beside the example's own parts. */
static void write_script(const swap *s, const char *candidate, char path[600])
{
    char command[4000], name[100];
    snprintf(name, sizeof name, "%s", s->example);
    *strchr(name, '/') = '\0';
    snprintf(path, 600, FOLDER "/%s.lua", name);
    snprintf(command, sizeof command,
             "mkdir -p %s && cp %s/examples/%s/parts.yaml %s/ && sed -e 's/part\\.%s\\>/starter.%s/g' -e "
             "'s/^local part = .*/&\\nlocal starter = hl.catalogue()/' %s/examples/%s.lua >%s && grep -q "
             "'starter\\.%s' %s",
             FOLDER, HL_PROJECT_SOURCE, name, FOLDER, s->place, candidate, HL_PROJECT_SOURCE, s->example,
             path, candidate, path);
    command_output output = program_run("/bin/sh", (const char *const[]){"-c", command, NULL});
    ck_assert_msg(output.code == 0, "%s has no part.%s\n%s", s->example, s->place, output.error);
    command_free(&output);
}

/* Efficiency of the script; fails when it has no solution. */
static double efficiency_of(const char *script, const char *what)
{
    command_output output = command_run((const char *const[]){"solve", script, "--json", NULL});
    ck_assert_msg(output.code == 0, "%s: exit %d\n%s", what, output.code, output.error);
    json_t *root = output_json(&output, 0);
    command_free(&output);
    example_books_close(root);
    double in = example_figure(root, "power", "input_w"), out = example_figure(root, "power", "output_w");
    json_decref(root);
    return out / in;
}

START_TEST(a_part_of_the_catalogue_takes_the_place_of_the_examples_own)
{
    const swap *s = &swaps[_i];
    char path[600];
    snprintf(path, sizeof path, "%s/examples/%s.lua", HL_PROJECT_SOURCE, s->example);
    double own = efficiency_of(path, s->example);
    int most = getenv("HEATLEDGER_LONG") ? CANDIDATES : 1;
    for (int c = 0; c < most && s->candidate[c]; c++) {
        char what[300];
        write_script(s, s->candidate[c], path);
        snprintf(what, sizeof what, "%s: %s for %s", s->example, s->candidate[c], s->place);
        double with = efficiency_of(path, what);
        printf("%-80s %6.2f %% (its own %6.2f %%)\n", what, 100.0 * with, 100.0 * own);
        ck_assert_msg(fabs(with - own) < 0.015, "%s: %g, its own %g", what, with, own);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, a_part_of_the_catalogue_takes_the_place_of_the_examples_own, 0, SWAPS);
}

int main(void)
{
    return story_main("starter catalogue in the examples", fill);
}
