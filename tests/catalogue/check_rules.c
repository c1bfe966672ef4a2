/* Files of estimate rules that are wrong, each in one way: the exact text, with file, line and column. */
#include "story.h"

#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "lottery.h"
#include "scarce_memory.h"

#define HEAD "heatledger: estimates/1\nmodels: [sample_switch]\n"
#define FACTS                                                                                                \
    "facts:\n"                                                                                               \
    "  package:\n"                                                                                           \
    "    meaning: the housing\n"                                                                             \
    "    classes: { to_220: { board: 30 K/W }, so_8: { board: 20 K/W } }\n"
#define RULE "rules:\n  - fills: output_charge\n    factor: 2\n    source: s\n    "

static const struct {
    const char *text, *message;
} cases[] = {
    {"", "r.yaml:1:1: a mapping is wanted here"},
    {"heatledger: parts/1\nmodels: [sample_switch]\nrules: []\n",
     "r.yaml:1:13: heatledger: a file of rules is marked 'estimates/1'"},
    {"heatledger: estimates/1\nrules: []\n", "r.yaml:1:1: 'models:' is missing"},
    {"heatledger: estimates/1\nmodels: [sample_switch]\n", "r.yaml:1:1: 'rules:' is missing"},
    {HEAD "rule: []\n", "r.yaml:3:1: 'rule' is not known here; did you mean 'rules'?"},
    {HEAD "rules: []\n", "r.yaml:3:8: rules: a list of 1 to 500 rules is wanted here"},
    {HEAD RULE "form: '1 [nC]'\n", "r.yaml:7:5: rules: 'form' is not known here; did you mean 'from'?"},
    {HEAD RULE "word: yes\n", "r.yaml:7:11: output_charge: 'yes' is none of its words"},
    {HEAD RULE "from: 1 [nC]\n    word: x\n",
     "r.yaml:4:5: output_charge: a rule has one of from:, word: and table:"},
    {HEAD "rules:\n  - { fills: outputcharge, source: s, from: '1 [nC]', factor: 2 }\n",
     "r.yaml:4:14: fills: no model of this file has a value 'outputcharge'; did you mean 'output_charge'?"},
    {HEAD "rules:\n  - { fills: size, source: s, from: '1 [mm]', factor: 2 }\n",
     "r.yaml:4:14: fills: size is measured, not estimated"},
    {HEAD "rules:\n  - { fills: output_charge, from: '1 [nC]', factor: 2 }\n",
     "r.yaml:4:5: rules: source: is missing; a rule says what it fills and by what source"},
    {HEAD "rules:\n  - { fills: output_charge, from: '1 [nC]', source: s }\n",
     "r.yaml:4:5: output_charge: wants one of factor:, tolerance:, sigma: and band: none; how sure is it?"},
    {HEAD "rules:\n  - { fills: output_charge, from: '1 [nC]', source: s, band: wide }\n",
     "r.yaml:4:62: band: only none may stand here"},
    {HEAD RULE "from: 1 [nC]\n    between: { threshold: [3 V, 2 V] }\n",
     "r.yaml:8:27: threshold: the highest value stands second"},
    {HEAD RULE "from: 1 [nC]\n    for: { technology: cascade }\n",
     "r.yaml:8:24: technology: 'cascade' is none of its words; did you mean cascode?"},
    {HEAD RULE "from: 1 [nC]\n    for: { threshold: cascade }\n",
     "r.yaml:8:12: threshold: is no word; a range is stated in between:"},
    {HEAD RULE "from: 1 [nC]\n    unless: [trehsold]\n",
     "r.yaml:8:14: no model of this file has a value 'trehsold'; did you mean 'threshold'?"},
    /* formulas */
    {HEAD RULE "from: 1 [nC] / on_resistance\n",
     "r.yaml:7:11: from: gives another dimension, but output_charge is in C"},
    {HEAD RULE "from: 1 [nC] + on_resistance\n",
     "r.yaml:7:18: from: a sum wants two values of the same dimension"},
    {HEAD RULE "from: 1 [nCoulomb]\n", "r.yaml:7:14: from: 'nCoulomb' is not a unit known here"},
    {HEAD RULE "from: 1 [nC\n", "r.yaml:7:13: from: [ without ]"},
    {HEAD RULE "from: 1 [nC] * (2 + 3\n", "r.yaml:7:26: from: ) is wanted here"},
    {HEAD RULE "from: 1 [nC] *\n", "r.yaml:7:19: from: a number, a name or ( is wanted here"},
    {HEAD RULE "from: 1 [nC] 2\n", "r.yaml:7:18: from: nothing more is expected here; + - * / ^ join values"},
    {HEAD RULE "from: 1 [nC] * sin(2)\n",
     "r.yaml:7:20: from: 'sin' is no function here; known are min, max, first, sqrt, exp and ln"},
    {HEAD RULE "from: 1 [nC] * on_resistence\n",
     "r.yaml:7:20: from: no model of this file has a value 'on_resistence'; did you mean 'on_resistance'?"},
    {HEAD RULE "from: 1 [nC] * technology\n",
     "r.yaml:7:20: from: 'technology' is no number; a word's figure is written technology.figure"},
    {HEAD RULE "from: 1 [nC] * threshold^1.5\n",
     "r.yaml:7:29: from: only a value without dimension may have such a power; divide it by a usual one"},
    {HEAD RULE "from: 1 [nC] * exp(threshold)\n", "r.yaml:7:20: from: exp wants a value without dimension"},
    {HEAD RULE "from: 1 [nC] * ((((((((((((((((((((((((((((((((((((((((((1))))\n",
     "r.yaml:7:40: from: nested too deeply"},
    {HEAD FACTS RULE "from: 1 [nC] * package.bord\n",
     "r.yaml:11:20: from: 'package' has no figure 'bord'; did you mean 'board'?"},
    {HEAD FACTS RULE "from: 1 [nC] * package\n",
     "r.yaml:11:20: from: 'package' is no number; a word's figure is written package.figure"},
    /* facts */
    {HEAD "facts:\n  threshold: { meaning: m, unit: V }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:3: threshold: is known already, as a value of a model or a fact of another file"},
    {HEAD "facts:\n  wire: { meaning: m }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:3: wire: wants meaning: and one of classes:, words: and unit:"},
    {HEAD "facts:\n  wire: { meaning: m, unit: millimetre }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:29: unit: 'millimetre' is not a unit known here"},
    {HEAD "facts:\n  wire: { meaning: m, classes: { thin: { d: 1 mm }, thick: { d: 2 V } } }\n" RULE
          "from: 1 [nC]\n",
     "r.yaml:4:65: d: 2 V is a voltage; a length in mm is wanted"},
    {HEAD RULE "from: [1 nC]\n", "r.yaml:7:11: from: a formula is wanted here"},
    {HEAD RULE "table: [[1 V, 1 nC]]\n", "r.yaml:7:12: output_charge: is no curve; state from:"},
    {HEAD RULE "from: 1 [nC]\n    between: { threshold: 3 V }\n",
     "r.yaml:8:27: threshold: a range is written [lowest, highest]"},
    {HEAD RULE "from: 1 [nC]\n    between: { technology: [1, 2] }\n",
     "r.yaml:8:28: technology: a range is written [lowest, highest]"},
    {HEAD RULE "from: 1 [nC]\n    between: { threshold: [3 A, 4 V] }\n",
     "r.yaml:8:28: threshold: 3 A is a current; a voltage in V is wanted"},
    {HEAD RULE "from: 1 [nC]\n    between: [threshold]\n", "r.yaml:8:14: between: a mapping is wanted here"},
    {HEAD RULE "from: 1 [nC]\n    for: { model: sample_winding }\n",
     "r.yaml:8:19: model: 'sample_winding' is not among this file's models"},
    {HEAD RULE "from: 1 [nC]\n    for: { techology: cascode }\n",
     "r.yaml:8:12: no model of this file has a value 'techology'; did you mean 'technology'?"},
    {HEAD RULE "from: 1 [nC]\n    unless: {}\n", "r.yaml:8:13: unless: is plain text"},
    {HEAD RULE "from: 1 [nC]\n    group: [a]\n", "r.yaml:8:12: group: is one word of lower-case letters, "
                                                 "digits and _ (at most 48), with - before it for what "
                                                 "falls as the others rise"},
    {HEAD "rules:\n  - { fills: technology, source: s, from: '1' }\n",
     "r.yaml:4:43: technology: is a word; state word:"},
    {HEAD "rules:\n  - { fills: technology, source: s, word: cascode, factor: 2 }\n",
     "r.yaml:4:5: technology: a word has no band"},
    {HEAD "rules:\n  - { fills: [size], source: s, from: '1', factor: 2 }\n",
     "r.yaml:4:14: fills: no model of this file has a value '', nor is it one of its facts"},
    {HEAD "rules:\n  - { fills: output_charge, source: [s], from: '1 [nC]', factor: 2 }\n",
     "r.yaml:4:37: source: is plain text"},
    {HEAD "rules:\n  - fills\n", "r.yaml:4:5: rules: a mapping is wanted here"},
    {HEAD RULE "from: 1 [nC] * sqrt(1 [V^0])\n", "r.yaml:7:28: from: 'V^0' is not a unit known here"},
    {HEAD RULE "from: 1 [nC] * sqrt(threshold)\n",
     "r.yaml:7:20: from: sqrt of this has no dimension that exists"},
    {HEAD RULE "from: 1 [nC] * min(threshold, 2)\n",
     "r.yaml:7:20: from: min wants two values of the same dimension"},
    {HEAD RULE "from: 1 [nC] * size.lenght / 1 [mm]\n", "r.yaml:7:20: from: 'size' has no figure 'lenght'"},
    /* facts */
    {HEAD "facts: [wire]\n" RULE "from: 1 [nC]\n", "r.yaml:3:8: facts: a mapping is wanted here"},
    {HEAD "facts:\n  Wire: { meaning: m, unit: m }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:3: Wire: is no name for a fact; use a-z, 0-9 and _ (at most 48)"},
    {HEAD "facts:\n  wire: { meaning: m, unit: [m] }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:29: unit: is plain text"},
    {HEAD "facts:\n  wire: { meaning: m, unit: m, usual: 3 mm }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:39: usual: two values: [lowest, highest]"},
    {HEAD "facts:\n  wire: { meaning: m, unit: m, usual: [3 mm, 5 V] }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:46: usual: 5 V is a voltage; a length in m is wanted"},
    {HEAD "facts:\n  wire: { meaning: m, words: [] }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:30: wire: an empty list"},
    {HEAD "facts:\n  wire: { meaning: m, classes: {} }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:32: classes: from 1 to 200 classes"},
    {HEAD "facts:\n  wire: { meaning: m, classes: [a] }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:32: classes: a mapping is wanted here"},
    {HEAD "facts:\n  wire: { meaning: m, classes: { thin: 3 } }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:40: thin: a mapping is wanted here"},
    {HEAD "facts:\n  wire: { meaning: m, classes: { thin: { D: 1 mm } } }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:42: wire: at most 24 figures, named in a-z, 0-9 and _"},
    {HEAD "facts:\n  wire: { meaning: m, classes: { thin: { d: [1] } } }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:45: d: one value is wanted here, not a list"},
    {HEAD "facts:\n  wire: { meaning: m, classes: { thin: { d: 1 foot } } }\n" RULE "from: 1 [nC]\n",
     "r.yaml:4:45: d: a figure with its unit is wanted here"},
    {HEAD "facts: { wire: { meaning: [m], unit: m } }\n" RULE "from: 1 [nC]\n",
     "r.yaml:3:27: meaning: is plain text"},
    /* together */
    {HEAD "together: [threshold]\n" RULE "from: 1 [nC]\n", "r.yaml:3:11: together: a mapping is wanted here"},
    {HEAD "together: { levels: [threshold, plateu] }\n" RULE "from: 1 [nC]\n",
     "r.yaml:3:33: levels: no model of this file has a value 'plateu', nor is it one of its facts"},
    {HEAD "together: { levels: technology }\n" RULE "from: 1 [nC]\n",
     "r.yaml:3:21: levels: technology is not a number of a model"},
    {HEAD "together: { levels: [] }\n" RULE "from: 1 [nC]\n", "r.yaml:3:21: levels: an empty list"},
    /* cycles */
    {HEAD "rules:\n  - { fills: output_charge, factor: 2, source: s, from: 2 * output_charge }\n",
     "r.yaml:4:5: rules: output_charge is estimated from itself: output_charge from output_charge"},
    {HEAD
     "rules:\n"
     "  - { fills: output_charge, factor: 2, source: s, from: '1 [nC/V] * threshold' }\n"
     "  - { fills: threshold, factor: 2, source: s, from: '1 [V]', between: { gate_resistance: [1 ohm, 2 "
     "ohm] } }\n"
     "  - { fills: gate_resistance, factor: 2, source: s, from: '1 [ohm/C] * output_charge' }\n",
     "r.yaml:6:5: rules: output_charge is estimated from itself: output_charge from threshold from "
     "gate_resistance "
     "from output_charge"},
};
enum { CASES = (int)(sizeof cases / sizeof cases[0]) };

static hl_host *host;
static hl_diagnostics *diagnostics;
static hl_catalogue *catalogue;

static void begin(void)
{
    host = hl_host_create();
    diagnostics = hl_diagnostics_create();
    ck_assert_int_eq(hl_host_load(host, HL_SAMPLE_MODELS, diagnostics), HL_OK);
    catalogue = hl_catalogue_create(host);
}

static void end(void)
{
    hl_catalogue_destroy(catalogue);
    hl_diagnostics_destroy(diagnostics);
    hl_host_destroy(host);
}

static hl_status read_rules(const char *text)
{
    return hl_catalogue_read_rules_text(catalogue, "r.yaml", text, strlen(text), diagnostics);
}

START_TEST(a_wrong_rule_file_is_answered_word_for_word)
{
    begin();
    hl_status status = read_rules(cases[_i].text);
    const char *said = hl_diagnostics_count(diagnostics) ? hl_diagnostics_text(diagnostics, 0) : "nothing";
    ck_assert_msg(!strcmp(said, cases[_i].message), "%s\ngot      %s\nexpected %s", cases[_i].text, said,
                  cases[_i].message);
    ck_assert_int_eq(status, HL_BAD_INPUT);
    /* and nothing of it is kept */
    static const char part[] = "parts: { q: { model: sample_switch, on_resistance: 1 ohm } }\n";
    ck_assert_int_eq(hl_catalogue_read_text(catalogue, "p.yaml", part, strlen(part), NULL), HL_BAD_INPUT);
    end();
}
END_TEST

static const char sound[] = HEAD FACTS
    "rules:\n"
    "  - { fills: output_charge, factor: 2, source: s, from: '30 [ohm nC] / on_resistance * (threshold / 2 "
    "[V])^-0.5' }\n"
    "  - { fills: threshold, sigma: 0.1 V, source: s, from: '2 [V]', for: { technology: enhancement } }\n"
    "  - { fills: threshold, sigma: 0.1 V, source: s, from: '3 [V]' }\n"
    "  - { fills: resistance_factor, table: [[25 degC, 1], [100 degC, 1.5]], tolerance: 10 %, source: s }\n"
    "  - { fills: technology, word: cascode, source: s, for: { package: to_220 } }\n"
    "  - { fills: resistance_board, from: package.board, factor: 1.5, source: s, group: heat }\n";

START_TEST(rules_chain_choose_and_fall_back)
{
    begin();
    hl_status read = read_rules(sound);
    ck_assert_msg(read == HL_OK, "%s", hl_diagnostics_text(diagnostics, 0));
    static const char parts[] =
        "parts:\n"
        "  a: { model: sample_switch, on_resistance: 1 ohm, package: to_220 }\n"
        "  b: { model: sample_switch, on_resistance: 1 ohm, technology: enhancement }\n";
    hl_status status = hl_catalogue_read_text(catalogue, "p.yaml", parts, strlen(parts), diagnostics);
    ck_assert_msg(status == HL_OK, "%s", hl_diagnostics_text(diagnostics, 0));
    const hl_value *a = hl_part_values(hl_catalogue_find(catalogue, "a"));
    const hl_value *b = hl_part_values(hl_catalogue_find(catalogue, "b"));
    ck_assert_double_eq(a[3].number, 3); /* cascode by its package: the second rule */
    ck_near(a[1].number, 30e-9 / sqrt(1.5), 1e-14, 0);
    ck_assert_double_eq(b[3].number, 2);
    ck_near(b[1].number, 30e-9, 1e-14, 0);
    ck_assert_uint_eq(a[2].curve.n, 2);
    ck_assert_double_eq(a[2].curve.y[1], 1.5);
    const hl_band *heat =
        &hl_part_common_bands(hl_catalogue_find(catalogue, "a"))[HL_COMMON_RESISTANCE_BOARD];
    ck_near(heat->low, 20, 1e-14, 0);
    ck_near(heat->high, 45, 1e-14, 0);
    ck_assert_str_eq(heat->group, "a:heat");
    ck_assert_ptr_nonnull(hl_catalogue_fact(catalogue, hl_host_find(host, "sample_switch"), 0));
    ck_assert_ptr_null(hl_catalogue_fact(catalogue, hl_host_find(host, "sample_switch"), 1));
    end();
}
END_TEST

static hl_status try_all(void)
{
    static const char part[] =
        "parts: { a: { model: sample_switch, on_resistance: 1 ohm, package: to_220 } }\n";
    hl_catalogue *made = hl_catalogue_create(host);
    if (!made) return HL_NO_MEMORY;
    hl_status status = hl_catalogue_read_rules_text(made, "r.yaml", sound, strlen(sound), NULL);
    if (status == HL_OK) status = hl_catalogue_read_text(made, "p.yaml", part, strlen(part), NULL);
    hl_catalogue_destroy(made);
    return status;
}

/* Every allocation fails in turn: each time a status, and all given back. */
START_TEST(every_allocation_may_fail)
{
    if (!scarce_memory_works()) return;
    begin();
    scarce_memory_begin(-1);
    hl_status whole = try_all();
    long all = scarce_memory_end();
    ck_assert_int_eq(whole, HL_OK);
    ck_assert_int_gt(all, 100);
    for (long good = 0; good < all; good++) {
        scarce_memory_begin(good);
        hl_status status = try_all();
        scarce_memory_end();
        ck_assert_msg(status != HL_OK, "allocation %ld of %ld was not missed", good, all);
    }
    end();
}
END_TEST

/* A byte here and there turned into another: an answer or a message, never a crash. Seed printed on failure.
 */
START_TEST(damaged_rule_files_are_survived)
{
    lottery luck = lottery_open("damaged_rule_files_are_survived");
    static const char bytes[] = "{}[]:,-'\"^*/+().0123456789 \nabcxyz_%";
    char text[sizeof sound];
    begin();
    for (int round = 0; round < 3000; round++) {
        memcpy(text, sound, sizeof sound);
        for (int k = 0; k < 3; k++)
            text[lottery_below(&luck, sizeof sound - 1)] = bytes[lottery_below(&luck, sizeof bytes - 1)];
        hl_catalogue *made = hl_catalogue_create(host);
        hl_catalogue_read_rules_text(made, "r.yaml", text, sizeof sound - 1, NULL);
        static const char part[] =
            "parts: { a: { model: sample_switch, on_resistance: 1 ohm, package: to_220 } }\n";
        hl_catalogue_read_text(made, "p.yaml", part, strlen(part), NULL);
        hl_catalogue_destroy(made);
    }
    end();
}
END_TEST

/* Every function of a formula, on a part that states what it needs: 9 V and 4 ohm. */
START_TEST(formulas_are_worked_out)
{
    static const struct {
        const char *formula;
        double charge; /* nC */
    } rows[] = {
        {"1 [nC] * max(threshold, 10 [V]) / 1 [V]", 10},
        {"1 [nC] * min(threshold, 10 [V]) / 1 [V]", 9},
        {"1 [nC] * (threshold - 4 [V]) / 1 [V]", 5},
        {"1 [nC] * exp(ln(threshold / 1 [V]))", 9},
        {"1 [nC] * sqrt(threshold^2) / 1 [V]", 9},
        {"-1 [nC] * -(threshold / 1 [V])", 9},
        {"1 [nC] * first(2, 3)", 2},
        {"1 [nC] * (threshold / 1 [V])^0.5", 3},
        {"1 [nC] * size.height / 1 [mm]", 3},
        {"(1 [nC] + 2 [nC]) * 2 - 1 [nC] / 2", 5.5},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[600];
        static const char part[] =
            "parts:\n  x: { model: sample_switch, on_resistance: 4 ohm, threshold: 9 V, "
            "size: 5 x 4 x 3 mm }\n";
        begin();
        snprintf(text, sizeof text, HEAD RULE "from: %s\n", rows[i].formula);
        ck_assert_msg(read_rules(text) == HL_OK, "%s: %s", rows[i].formula,
                      hl_diagnostics_text(diagnostics, 0));
        ck_assert_int_eq(hl_catalogue_read_text(catalogue, "p.yaml", part, strlen(part), diagnostics), HL_OK);
        double got = hl_part_values(hl_catalogue_find(catalogue, "x"))[1].number;
        ck_assert_msg(fabs(got - 1e-9 * rows[i].charge) < 1e-20, "%s: %g nC", rows[i].formula, 1e9 * got);
        end();
    }
}
END_TEST

/* A result that is no number, or outside what is usual, is not used. */
START_TEST(senseless_results_are_left_out)
{
    static const char *const formulas[] = {
        "1 [nC] * ln(-1 * threshold / 1 [V])", "1 [nC] * sqrt(4 - threshold / 1 [V])",
        "1 [nC] * size.height / 1 [mm]", "1 [C] * threshold / 1 [V]", "1 [nC] * max(ln(0), 3)"};
    for (size_t i = 0; i < sizeof formulas / sizeof formulas[0]; i++) {
        char text[600];
        static const char part[] =
            "parts:\n  x: { model: sample_switch, on_resistance: 4 ohm, threshold: 9 V }\n";
        begin();
        snprintf(text, sizeof text, HEAD RULE "from: %s\n", formulas[i]);
        ck_assert_msg(read_rules(text) == HL_OK, "%s: %s", formulas[i], hl_diagnostics_text(diagnostics, 0));
        ck_assert_int_eq(hl_catalogue_read_text(catalogue, "p.yaml", part, strlen(part), diagnostics),
                         HL_BAD_INPUT);
        ck_assert_ptr_nonnull(
            strstr(hl_diagnostics_text(diagnostics, 0), "cannot do without: output_charge"));
        end();
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, formulas_are_worked_out);
    tcase_add_test(tests, senseless_results_are_left_out);
    tcase_add_loop_test(tests, a_wrong_rule_file_is_answered_word_for_word, 0, CASES);
    tcase_add_test(tests, rules_chain_choose_and_fall_back);
    tcase_add_test(tests, every_allocation_may_fail);
    tcase_add_test(tests, damaged_rule_files_are_survived);
}

int main(void)
{
    return story_main("rules", fill);
}
