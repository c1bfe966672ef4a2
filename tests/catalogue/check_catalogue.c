/* Part files that are right: every kind of value, origins, bands, defaults; and what may go wrong around. */
#include "story.h"

#include <math.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "heatledger/heatledger.h"
#include "lottery.h"
#include "scarce_memory.h"
#include "scratch_folder.h"

static hl_host *host;
static hl_diagnostics *diagnostics;
static hl_catalogue *catalogue;

static void set_up(void)
{
    host = hl_host_create();
    diagnostics = hl_diagnostics_create();
    ck_assert_int_eq(hl_host_load(host, HL_SAMPLE_MODELS, diagnostics), HL_OK);
    catalogue = hl_catalogue_create(host);
}

static void tear_down(void)
{
    hl_catalogue_destroy(catalogue);
    hl_diagnostics_destroy(diagnostics);
    hl_host_destroy(host);
}

static hl_status read_as(const char *name, const char *text)
{
    return hl_catalogue_read_text(catalogue, name, text, strlen(text), diagnostics);
}

static const char *first_message(void)
{
    return hl_diagnostics_count(diagnostics) ? hl_diagnostics_text(diagnostics, 0) : "";
}

enum {
    ON_RESISTANCE,
    OUTPUT_CHARGE,
    RESISTANCE_FACTOR,
    THRESHOLD,
    TECHNOLOGY,
    KNEE_TEMPERATURE,
    GATE_RESISTANCE
};
enum { WINDING_TURNS, CONDUCTOR, INDUCTANCE, DAMPING_CAPACITANCE, MAXIMUM_TEMPERATURE };

static const char everything[] = "heatledger: parts/1\n"
                                 "parts:\n"
                                 "  q-1.a_B:\n"
                                 "    model: sample_switch\n"
                                 "    description: \"a switch: \xCE\xA9\"\n"
                                 "    origin: bench\n"
                                 "    on_resistance: { typical: 150 mohm, tolerance: 10 % }\n"
                                 "    output_charge: { typical: 30 nC, maximum: 40 nC, origin: datasheet }\n"
                                 "    resistance_factor: { table: [[25 degC, 1.0], [150 degC, 2.1]], "
                                 "interpolation: cubic, origin: estimate }\n"
                                 "    technology: cascode\n"
                                 "    gate_resistance: { marking: 4R7J }\n"
                                 "    size: 8 x 8 x 1 mm\n"
                                 "    maximum_temperature: 150 degC\n"
                                 "    resistance_case: { minimum: 1 K/W, maximum: 3 K/W }\n"
                                 "  winding:\n"
                                 "    model: sample_winding\n"
                                 "    winding_turns: [33, 4, 4]\n"
                                 "    conductor: { value: [litz, foil, foil], origin: bench }\n"
                                 "    inductance: { maximum: 2 uH }\n"
                                 "    damping_capacitance: { marking: 334K }\n"
                                 "    maximum_temperature: 130 \xC2\xB0"
                                 "C\n";

START_TEST(every_kind_of_value_is_read)
{
    ck_assert_msg(read_as("parts.yaml", everything) == HL_OK, "%s", first_message());
    ck_assert_uint_eq(hl_diagnostics_count(diagnostics), 0);
    ck_assert_uint_eq(hl_catalogue_parts(catalogue), 2);
    const hl_part *part = hl_catalogue_find(catalogue, "q-1.a_B");
    ck_assert_ptr_nonnull(part);
    ck_assert_str_eq(hl_part_name(part), "q-1.a_B");
    ck_assert_str_eq(hl_part_description(part), "a switch: \xCE\xA9");
    ck_assert_str_eq(hl_part_model(part)->name, "sample_switch");
    ck_assert_int_eq(hl_part_place(part).line, 3);
    ck_assert_int_eq(hl_part_place(part).column, 3);
    ck_assert_str_eq(hl_part_place(part).file, "parts.yaml");
    const hl_value *v = hl_part_values(part);
    ck_assert_double_eq(v[ON_RESISTANCE].number, 0.150);
    ck_near(v[ON_RESISTANCE].minimum, 0.135, 1e-15, 0); /* 0.150 - 10 % of it: two roundings */
    ck_near(v[ON_RESISTANCE].maximum, 0.165, 1e-15, 0);
    ck_assert_int_eq(v[ON_RESISTANCE].origin, HL_ORIGIN_BENCH);
    ck_assert_double_eq(v[OUTPUT_CHARGE].number, 30e-9);
    ck_assert_double_eq(v[OUTPUT_CHARGE].minimum, 30e-9);
    ck_assert_double_eq(v[OUTPUT_CHARGE].maximum, 40e-9);
    ck_assert_int_eq(v[OUTPUT_CHARGE].origin, HL_ORIGIN_DATASHEET);
    ck_assert_int_eq(hl_part_value_place(part, OUTPUT_CHARGE).line, 8);
    ck_assert_int_eq(hl_part_value_place(part, OUTPUT_CHARGE).column, 20);
    const hl_curve *curve = &v[RESISTANCE_FACTOR].curve;
    ck_assert_uint_eq(curve->n, 2);
    ck_assert(curve->cubic);
    ck_assert_double_eq(curve->x[0], 25 + 273.15);
    ck_assert_double_eq(curve->x[1], 150 + 273.15);
    ck_assert_double_eq(curve->y[1], 2.1);
    ck_assert_double_eq(v[RESISTANCE_FACTOR].number, 1.0);
    ck_assert_int_eq(v[RESISTANCE_FACTOR].origin, HL_ORIGIN_ESTIMATE);
    ck_assert_double_eq(v[TECHNOLOGY].number, 1);
    ck_assert_int_eq(v[GATE_RESISTANCE].origin, HL_ORIGIN_MARKING);
    ck_assert_double_eq(v[GATE_RESISTANCE].number, 4.7);
    ck_near(v[GATE_RESISTANCE].minimum, 4.465, 1e-15, 0); /* J: 5 % */
}
END_TEST

START_TEST(lists_and_common_figures_are_read)
{
    ck_assert_int_eq(read_as("parts.yaml", everything), HL_OK);
    const hl_part *part = hl_catalogue_find(catalogue, "winding");
    const hl_value *v = hl_part_values(part);
    ck_assert_uint_eq(v[WINDING_TURNS].curve.n, 3);
    ck_assert_double_eq(v[WINDING_TURNS].curve.y[0], 33);
    ck_assert_double_eq(v[WINDING_TURNS].curve.y[2], 4);
    ck_assert_ptr_null(v[WINDING_TURNS].curve.x);
    ck_assert_int_eq(v[WINDING_TURNS].origin, HL_ORIGIN_STATED);
    ck_assert_uint_eq(v[CONDUCTOR].curve.n, 3);
    ck_assert_double_eq(v[CONDUCTOR].curve.y[1], 1);
    ck_assert_int_eq(v[CONDUCTOR].origin, HL_ORIGIN_BENCH);
    ck_assert_double_eq(v[INDUCTANCE].number, 2e-6);
    ck_assert_double_eq(v[DAMPING_CAPACITANCE].number, 0.33e-6);
    ck_near(v[DAMPING_CAPACITANCE].maximum, 0.363e-6, 1e-15, 0); /* K: 10 % */
    /* the winding's own maximum temperature serves as the common one too */
    ck_assert_double_eq(v[MAXIMUM_TEMPERATURE].number, 130 + 273.15);
    ck_assert_double_eq(hl_part_commons(part)[HL_COMMON_MAXIMUM_TEMPERATURE].number, 130 + 273.15);
    const hl_value *c = hl_part_commons(hl_catalogue_find(catalogue, "q-1.a_B"));
    ck_assert_uint_eq(c[HL_COMMON_SIZE].curve.n, 3);
    ck_assert_double_eq(c[HL_COMMON_SIZE].curve.y[2], 0.001);
    ck_assert_double_eq(c[HL_COMMON_RESISTANCE_CASE].number, 2.0);
    ck_assert_double_eq(c[HL_COMMON_RESISTANCE_CASE].minimum, 1.0);
    ck_assert(!c[HL_COMMON_HEAT_CAPACITY].given);
}
END_TEST

START_TEST(what_is_not_stated_is_an_estimate_or_absent)
{
    ck_assert_int_eq(
        read_as("p", "parts: { q: { model: sample_switch, on_resistance: 1 ohm, output_charge: 1 nC } }"),
        HL_OK);
    const hl_part *part = hl_catalogue_find(catalogue, "q");
    const hl_value *v = hl_part_values(part);
    ck_assert_int_eq(v[ON_RESISTANCE].origin, HL_ORIGIN_STATED);
    ck_assert_int_eq(v[THRESHOLD].origin, HL_ORIGIN_ABSENT);
    ck_assert(!v[THRESHOLD].given);
    ck_assert_int_eq(hl_part_value_place(part, THRESHOLD).line, 0);
    ck_assert_int_eq(v[GATE_RESISTANCE].origin, HL_ORIGIN_ESTIMATE);
    ck_assert(v[GATE_RESISTANCE].given);
    ck_assert_double_eq(v[GATE_RESISTANCE].number, 2);
    ck_near(v[GATE_RESISTANCE].minimum, 2 / 1.3, 1e-15, 0); /* estimates: a factor of 1.3 either way */
    ck_near(v[GATE_RESISTANCE].maximum, 2 * 1.3, 1e-15, 0);
    ck_assert_double_eq(v[KNEE_TEMPERATURE].minimum, 398.15); /* no percentage of a temperature */
    ck_assert_uint_eq(v[RESISTANCE_FACTOR].curve.n, 1);
    ck_assert_double_eq(v[RESISTANCE_FACTOR].curve.y[0], 1);
    ck_assert_double_eq(v[TECHNOLOGY].number, 0);
    const hl_value *c = hl_part_commons(part);
    ck_assert_int_eq(c[HL_COMMON_EMISSIVITY].origin, HL_ORIGIN_ESTIMATE);
    ck_assert_double_eq(c[HL_COMMON_EMISSIVITY].maximum, 1.0); /* the band ends where the range does */
    ck_assert(!c[HL_COMMON_MAXIMUM_TEMPERATURE].given);
    ck_assert_str_eq(hl_part_description(part), "");
}
END_TEST

START_TEST(good_parts_of_a_wrong_file_are_kept)
{
    ck_assert_int_eq(read_as("p",
                             "parts:\n"
                             "  good: { model: sample_switch, on_resistance: 1 ohm, output_charge: 1 nC }\n"
                             "  bad: { model: sample_switch, on_resistance: 1 V, output_charge: 1 nC }\n"
                             "  also: { model: sample_switch, on_resistance: 2 ohm, output_charge: 1 nC }\n"),
                     HL_BAD_INPUT);
    ck_assert_uint_eq(hl_catalogue_parts(catalogue), 2);
    ck_assert_str_eq(hl_part_name(hl_catalogue_part(catalogue, 0)), "also"); /* name order */
    ck_assert_str_eq(hl_part_name(hl_catalogue_part(catalogue, 1)), "good");
    ck_assert_ptr_null(hl_catalogue_part(catalogue, 2));
    ck_assert_ptr_null(hl_catalogue_find(catalogue, "bad"));
    ck_assert_str_eq(hl_catalogue_nearest(catalogue, "goood"), "good");
    ck_assert_ptr_null(hl_catalogue_nearest(catalogue, "banana"));
}
END_TEST

START_TEST(a_name_is_taken_once_over_all_files)
{
    static const char one[] =
        "parts: { q: { model: sample_switch, on_resistance: 1 ohm, output_charge: 1 nC } }";
    ck_assert_int_eq(read_as("first.yaml", one), HL_OK);
    ck_assert_int_eq(read_as("second.yaml", one), HL_BAD_INPUT);
    ck_assert_str_eq(first_message(),
                     "second.yaml:1:10: q: a part of this name stands already at first.yaml:1:10");
    ck_assert_uint_eq(hl_catalogue_parts(catalogue), 1);
}
END_TEST

START_TEST(a_thousand_parts_stay_in_name_order)
{
    char *text = malloc(200000);
    size_t used = (size_t)sprintf(text, "parts:\n");
    for (int i = 0; i < 1000; i++)
        used += (size_t)sprintf(
            text + used, "  part-%03d: { model: sample_switch, on_resistance: 1 ohm, output_charge: 1 nC }\n",
            (i * 617) % 1000);
    ck_assert_int_eq(read_as("many.yaml", text), HL_OK);
    ck_assert_uint_eq(hl_catalogue_parts(catalogue), 1000);
    for (size_t i = 1; i < 1000; i++)
        ck_assert_int_lt(strcmp(hl_part_name(hl_catalogue_part(catalogue, i - 1)),
                                hl_part_name(hl_catalogue_part(catalogue, i))),
                         0);
    free(text);
}
END_TEST

/* More problems than anyone reads: the first 200 are kept, and reading ends soon after. */
START_TEST(very_many_problems_end_the_reading)
{
    enum { KEYS = 40000 };
    char *text = malloc((size_t)KEYS * 24 + 100);
    size_t used = (size_t)sprintf(text, "parts:\n  q:\n    model: sample_switch\n");
    for (int i = 0; i < KEYS; i++) used += (size_t)sprintf(text + used, "    thresholt%d: 1\n", i);
    ck_assert_int_eq(read_as("many.yaml", text), HL_BAD_INPUT);
    ck_assert_uint_eq(hl_diagnostics_count(diagnostics), 201);
    ck_assert_uint_lt(hl_diagnostics_errors(diagnostics), 300);
    free(text);
}
END_TEST

static void repeat(char *text, const char *piece, size_t times)
{
    size_t n = strlen(piece);
    for (size_t i = 0; i < times; i++) memcpy(text + i * n, piece, n);
    text[times * n] = '\0';
}

START_TEST(bombs_are_refused)
{
    static const struct {
        const char *piece, *message;
        size_t times;
    } bombs[] = {
        {"[", "nested more than 8 deep", 100000},      {"{a: ", "nested more than 8 deep", 100000},
        {"- ", "nested more than 8 deep", 100000},     {"- 1\n", "more than 200000 values", 400000},
        {"a: 1\n", "more than 200000 values", 400000}, {" ", "larger than 8 MiB", (8u << 20) + 1},
    };
    for (size_t i = 0; i < sizeof bombs / sizeof *bombs; i++) {
        char *text = malloc(strlen(bombs[i].piece) * bombs[i].times + 1);
        repeat(text, bombs[i].piece, bombs[i].times);
        hl_diagnostics *own = hl_diagnostics_create();
        ck_assert_int_eq(hl_catalogue_read_text(catalogue, "bomb", text, strlen(text), own), HL_BAD_INPUT);
        ck_assert_msg(strstr(hl_diagnostics_text(own, 0), bombs[i].message) != NULL, "%s: %s", bombs[i].piece,
                      hl_diagnostics_text(own, 0));
        hl_diagnostics_destroy(own);
        free(text);
    }
}
END_TEST

START_TEST(files_are_read_or_refused_with_the_reason)
{
    const char *path = scratch_file("parts.yaml");
    ck_assert_int_eq(hl_catalogue_read_file(catalogue, scratch_folder, diagnostics), HL_NO_FILE);
    ck_assert_ptr_nonnull(strstr(hl_diagnostics_text(diagnostics, 0), "not a regular file"));
    ck_assert_int_eq(hl_catalogue_read_file(catalogue, path, diagnostics), HL_NO_FILE);
    ck_assert_ptr_nonnull(strstr(hl_diagnostics_text(diagnostics, 1), "No such file"));
    ck_assert_int_eq(mkfifo(path, 0600), 0);
    ck_assert_int_eq(hl_catalogue_read_file(catalogue, path, diagnostics), HL_NO_FILE);
    ck_assert_int_eq(unlink(path), 0);
    scratch_write("parts.yaml", everything);
    ck_assert_int_eq(hl_catalogue_read_file(catalogue, path, diagnostics), HL_OK);
    ck_assert_str_eq(hl_part_place(hl_catalogue_find(catalogue, "winding")).file, path);
    ck_assert_int_eq(truncate(path, (9 << 20)), 0);
    ck_assert_int_eq(hl_catalogue_read_file(catalogue, path, diagnostics), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(strstr(hl_diagnostics_text(diagnostics, 3), "larger than 8 MiB"));
}
END_TEST

static const hl_parameter *parameter_of(const char *model, size_t index)
{
    return hl_model_parameter(hl_host_find(host, model), index);
}

START_TEST(a_lone_text_is_read_as_in_a_part_file)
{
    hl_value value;
    hl_place place = {"adapter.lua", 7, 0};
    const hl_parameter *p = parameter_of("sample_switch", ON_RESISTANCE);
    ck_assert_int_eq(hl_value_read(p, "150 mohm", &place, &value, diagnostics), HL_OK);
    ck_assert_double_eq(value.number, 0.150);
    ck_assert_double_eq(value.maximum, 0.150);
    ck_assert(value.given);
    ck_assert_int_eq(hl_value_read(p, "150 Mohm", &place, &value, diagnostics), HL_BAD_INPUT);
    ck_assert_str_eq(first_message(), "adapter.lua:7: on_resistance: 150 Mohm is outside 0.5 mohm … 20 ohm; "
                                      "did you mean 150 mohm?");
    ck_assert_int_eq(hl_value_read(p, NULL, NULL, &value, diagnostics), HL_BAD_INPUT);
    ck_assert_str_eq(hl_diagnostics_text(diagnostics, 1),
                     "on_resistance: empty; a resistance in ohm is wanted");
    p = parameter_of("sample_switch", TECHNOLOGY);
    ck_assert_int_eq(hl_value_read(p, "cascode", NULL, &value, diagnostics), HL_OK);
    ck_assert_double_eq(value.number, 1);
    p = parameter_of("sample_winding", WINDING_TURNS);
    ck_assert_int_eq(hl_value_read(p, "33", NULL, &value, diagnostics), HL_BAD_INPUT);
    ck_assert_int_eq(hl_value_read(parameter_of("sample_switch", ON_RESISTANCE), "5 V", NULL, &value, NULL),
                     HL_BAD_INPUT);
}
END_TEST

START_TEST(a_number_is_judged_like_a_text)
{
    hl_value value;
    const hl_parameter *p = parameter_of("sample_switch", ON_RESISTANCE);
    ck_assert_int_eq(hl_value_from_number(p, 0.15, NULL, &value, diagnostics), HL_OK);
    ck_assert_double_eq(value.number, 0.15);
    ck_assert_int_eq(hl_value_from_number(p, 150e6, NULL, &value, diagnostics), HL_BAD_INPUT);
    ck_assert_ptr_nonnull(
        strstr(first_message(), "150 Mohm is outside 0.5 mohm … 20 ohm; did you mean 150 mohm?"));
    ck_assert_int_eq(hl_value_from_number(p, NAN, NULL, &value, diagnostics), HL_BAD_INPUT);
    ck_assert_int_eq(hl_value_from_number(p, INFINITY, NULL, &value, diagnostics), HL_BAD_INPUT);
    p = parameter_of("sample_switch", TECHNOLOGY);
    ck_assert_int_eq(hl_value_from_number(p, 1, NULL, &value, diagnostics), HL_OK);
    static const double wrong[] = {2, -1, 0.5, NAN, INFINITY};
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++)
        ck_assert_int_eq(hl_value_from_number(p, wrong[i], NULL, &value, diagnostics), HL_BAD_INPUT);
    p = parameter_of("sample_switch", RESISTANCE_FACTOR);
    ck_assert_int_eq(hl_value_from_number(p, 1, NULL, &value, diagnostics), HL_BAD_INPUT);
}
END_TEST

START_TEST(the_common_table_is_sound)
{
    for (size_t i = 0; i < HL_COMMONS; i++) {
        const hl_parameter *p = hl_common_parameter(i);
        hl_dimension d;
        ck_assert_ptr_nonnull(p);
        ck_assert(hl_dimension_of(p->dimension, &d));
        ck_assert(p->low < p->high || (p->kind == HL_CHOICE && p->choices));
        ck_assert_uint_gt(strlen(p->meaning), 8);
        ck_assert_uint_gt(strlen(p->source), 8);
        if (p->flags & HL_DEFAULT) ck_assert(p->fallback >= p->low && p->fallback <= p->high);
    }
    ck_assert_ptr_null(hl_common_parameter(HL_COMMONS));
}
END_TEST

/* Each allocation fails in turn: the answer is always "no memory", never a crash, and what was there stays.
 */
START_TEST(every_allocation_may_fail)
{
    if (!scarce_memory_works()) return;
    static const char wrong[] =
        "parts: { q: { model: sample_swich }, r: { model: sample_switch, thresholt: 1 } }";
    scarce_memory_begin(-1);
    ck_assert_int_eq(read_as("parts.yaml", everything), HL_OK);
    read_as("wrong.yaml", wrong);
    long all = scarce_memory_end();
    ck_assert_int_gt(all, 20);
    int refused = 0;
    for (long good = 0; good < all; good++) {
        hl_diagnostics *own = hl_diagnostics_create();
        scarce_memory_begin(good);
        hl_catalogue *fresh = hl_catalogue_create(host);
        hl_status status = HL_NO_MEMORY;
        if (fresh) status = hl_catalogue_read_text(fresh, "parts.yaml", everything, strlen(everything), own);
        if (fresh) hl_catalogue_read_text(fresh, "wrong.yaml", wrong, strlen(wrong), own);
        scarce_memory_end();
        ck_assert_msg(status == HL_OK || status == HL_NO_MEMORY, "after %ld allocations: %s", good,
                      hl_diagnostics_text(own, 0));
        refused += status == HL_NO_MEMORY;
        for (size_t i = 0; fresh && i < hl_catalogue_parts(fresh); i++)
            ck_assert_ptr_nonnull(hl_catalogue_find(fresh, hl_part_name(hl_catalogue_part(fresh, i))));
        hl_catalogue_destroy(fresh);
        hl_diagnostics_destroy(own);
    }
    ck_assert_int_gt(refused, 10);
}
END_TEST

/* A good file with bytes changed, cut and repeated: read or refused, never anything else. */
START_TEST(damaged_files_are_survived)
{
    lottery luck = lottery_open("damaged_files_are_survived");
    static const char marks[] = "{}[]:,-&*!|>'\"%@`#?\n\t \xC2\xFF\x00";
    for (int round = 0; round < 4000; round++) {
        size_t length = sizeof everything - 1;
        char *text = malloc(2 * length);
        memcpy(text, everything, length);
        for (size_t k = lottery_below(&luck, 6); k; k--)
            text[lottery_below(&luck, length)] =
                round % 2 ? (char)lottery_next(&luck) : marks[lottery_below(&luck, sizeof marks)];
        if (round % 5 == 0) length = lottery_below(&luck, length);
        if (round % 7 == 0) {
            memcpy(text + length, text, length);
            length *= 2;
        }
        hl_catalogue *fresh = hl_catalogue_create(host);
        hl_diagnostics *own = hl_diagnostics_create();
        hl_status status = hl_catalogue_read_text(fresh, "damaged", text, length, own);
        ck_assert_msg(status == HL_OK || status == HL_BAD_INPUT, "seed %llu round %d", luck.seed, round);
        ck_assert_msg((status == HL_BAD_INPUT) == (hl_diagnostics_errors(own) > 0), "seed %llu round %d: %s",
                      luck.seed, round, hl_diagnostics_text(own, 0));
        hl_diagnostics_destroy(own);
        hl_catalogue_destroy(fresh);
        free(text);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, set_up, tear_down);
    tcase_add_checked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, every_kind_of_value_is_read);
    tcase_add_test(tests, lists_and_common_figures_are_read);
    tcase_add_test(tests, what_is_not_stated_is_an_estimate_or_absent);
    tcase_add_test(tests, good_parts_of_a_wrong_file_are_kept);
    tcase_add_test(tests, a_name_is_taken_once_over_all_files);
    tcase_add_test(tests, a_thousand_parts_stay_in_name_order);
    tcase_add_test(tests, very_many_problems_end_the_reading);
    tcase_add_test(tests, bombs_are_refused);
    tcase_add_test(tests, files_are_read_or_refused_with_the_reason);
    tcase_add_test(tests, a_lone_text_is_read_as_in_a_part_file);
    tcase_add_test(tests, a_number_is_judged_like_a_text);
    tcase_add_test(tests, the_common_table_is_sound);
    tcase_add_test(tests, every_allocation_may_fail);
    tcase_add_test(tests, damaged_files_are_survived);
}

int main(void)
{
    return story_main("catalogue", fill);
}
