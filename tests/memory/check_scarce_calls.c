/* check_scarce_calls.c - each family of calls alone, with memory that runs out at each of its allocations in
 * turn: refused, or the same figure as with memory enough; never a crash or another figure.
 *
 * check_scarce_design.c and check_scarce_scenario.c do the same to whole ways through the program, where the
 * first allocations hide those of what is called late.  CVODE 6.4.1 and libltdl 2.4.7 are given what they ask
 * for, since they do not check it themselves; METIS, since it writes each refusal to the test's output. */
#include <math.h>
#include <string.h>
#include <unistd.h>

#include "heatledger/fit.h"
#include "heatledger/heatledger.h"
#include "heatledger/limits.h"
#include "heatledger/spread.h"
#include "heatledger/sweep.h"
#include "heatledger/warmup.h"
#include "lottery.h"
#include "scarce_memory.h"
#include "scratch_folder.h"
#include "story.h"
#include "uncertain_buck.h"

static const char *const unchecked[] = {"libltdl", "libsundials", "libmetis", NULL};

static uncertain_buck buck;
static double base[512];

/* ------------------------------------------------------------------ statistics -- */

static bool product(void *context, const double x[], double y[])
{
    (void)context;
    y[0] = x[0] * x[1];
    return true;
}

static double combine(hl_diagnostics *said)
{
    (void)said;
    const double x[2] = {3, 4}, u[2] = {0.1, 0.2};
    double y, uy;
    hl_combination job = {.inputs = 2, .outputs = 1, .x = x, .u = u, .f = product};
    return hl_combine(&job, &(hl_combined){.y = &y, .u = &uy}) == HL_OK ? uy : NAN;
}

static bool sum(void *context, size_t worker, const double p[], double y[])
{
    (void)context, (void)worker;
    y[0] = p[0] + 2 * p[1];
    return true;
}

static double indices(hl_diagnostics *said)
{
    (void)said;
    double first[2], total[2], noise[2];
    hl_indices_job job = {.base = 16, .unknowns = 2, .outputs = 1, .workers = 1, .model = sum};
    return hl_indices(&job, first, total, noise) == HL_OK ? total[1] : NAN;
}

static double samples(hl_diagnostics *said)
{
    (void)said;
    const double r[4] = {1, 0.5, 0.5, 1};
    double p[60];
    return hl_latin_hypercube(1, 30, 2, p) == HL_OK && hl_sample_correlate(30, 2, r, p) == HL_OK ? p[7] : NAN;
}

static bool line(void *context, const double values[], double predicted[])
{
    (void)context;
    for (int i = 0; i < 4; i++) predicted[i] = values[0] + values[1] * i;
    return true;
}

static double squares(hl_diagnostics *said)
{
    (void)said;
    const hl_fit_value values[3] = {{"a", 1, 0, 9, 0, 0}, {"b", 1, 0, 9, 2, 0.5}, {"untold", 1, 0, 9, 0, 0}};
    const hl_fit_reading readings[4] = {{"", 1, 0.1}, {"", 3, 0.1}, {"", 5, 0.1}, {"", 9, 0.1}};
    hl_fit_problem problem = {
        .n_values = 3, .n_readings = 4, .values = values, .readings = readings, .model = line};
    hl_fit_result *result = NULL;
    double found = hl_fit(&problem, &result) == HL_OK ? hl_fit_estimate_of(result, 1)->value : NAN;
    hl_fit_destroy(result);
    return found;
}

/* ------------------------------------------------------------------------ design -- */

static const char bench_text[] = "heatledger: bench/1\n"
                                 "free:\n"
                                 "  - { value: high.on_resistance, low: 4 mohm, high: 16 mohm }\n"
                                 "points:\n"
                                 "  - name: full\n"
                                 "    settings: { load: 1 }\n"
                                 "    readings:\n"
                                 "      - { of: input power, value: 50 W, uncertainty: 20 mW, by: meter }\n"
                                 "      - { of: buck.high_switch, value: 60 degC, uncertainty: 0.7 K }\n";

static double bench(hl_diagnostics *said)
{
    hl_bench *read = hl_bench_read_text(buck.design, "bench", bench_text, sizeof bench_text - 1, said);
    hl_fit_result *result = NULL;
    double found = NAN;
    if (read && hl_bench_fit(read, base, &result, said) == HL_OK)
        found = hl_fit_estimate_of(result, 0)->value;
    hl_fit_destroy(result);
    hl_bench_destroy(read);
    return found;
}

static double spread(hl_diagnostics *said)
{
    const size_t about = 0;
    hl_spread_options options = {
        .samples = 6, .workers = 1, .base = base, .about = &about, .n_about = 1, .total_base = 2};
    hl_spread *made = NULL;
    double found = NAN;
    size_t n;
    if (hl_spread_design(buck.design, &options, &made, said) == HL_OK) {
        const double *sorted = hl_spread_sorted(made, 0, &n);
        found = n ? sorted[0] + hl_spread_driver(made, 0, 0)->first : NAN;
    }
    hl_spread_destroy(made);
    return found;
}

static double warm_up(hl_diagnostics *said)
{
    hl_workspace *workspace = hl_workspace_create(buck.design);
    hl_profile_step step = {.duration = 60, .settings = base, .load_end = NAN};
    hl_profile profile = {.n_steps = 1, .step = &step, .cycles = 1, .every = 30};
    hl_course *course = NULL;
    double found = NAN;
    if (workspace && hl_warm_up(workspace, &profile, &course, said) == HL_OK)
        found = hl_course_at(course, hl_course_rows(course) - 1).loss;
    hl_course_destroy(course);
    hl_workspace_destroy(workspace);
    return found;
}

static double critical(hl_diagnostics *said)
{
    (void)said;
    hl_workspace *workspace = hl_workspace_create(buck.design);
    hl_critical border;
    double found = NAN;
    size_t load = hl_design_find_setting(buck.design, "load", NULL);
    if (workspace && hl_critical_setting(workspace, base, load, 1.2, &border) == HL_OK) found = border.value;
    hl_workspace_destroy(workspace);
    return found;
}

static double start(hl_diagnostics *said)
{
    (void)said;
    hl_workspace *workspace = hl_workspace_create(buck.design);
    hl_start *from = hl_start_create(buck.design);
    size_t load = hl_design_find_setting(buck.design, "load", NULL);
    const double step = 1e-3;
    double found = NAN;
    if (workspace && from && hl_solve(workspace, base) == HL_OK && hl_start_take(from, workspace)) {
        hl_start_learn(from, workspace, &load, &step, 1); /* may fail: the start is as it was taken */
        if (hl_solve_from(workspace, base, from) == HL_OK) found = hl_result_power(workspace)->loss;
    }
    hl_start_destroy(from);
    hl_workspace_destroy(workspace);
    return found;
}

static double harmonics(hl_diagnostics *said)
{
    double rms[5] = {1}, found = NAN;
    hl_workspace *workspace = hl_workspace_create(buck.design);
    hl_reliance total;
    if (workspace && hl_solve(workspace, base) == HL_OK &&
        hl_result_mains_harmonics(workspace, 5, rms) == HL_OK &&
        hl_result_reliance(workspace, NULL, &total) == HL_OK) {
        hl_result_warnings(workspace, said);
        found = rms[0] + total.loss;
    }
    hl_workspace_destroy(workspace);
    return found;
}

/* Everything a description may hold, and the design made of it, by rule. */
static hl_draft *describe(bool by_field, hl_diagnostics *d)
{
    const hl_place place = {"adapter.lua", 3, 1};
    const hl_part *high = hl_catalogue_find(buck.catalogue, "high"),
                  *coil = hl_catalogue_find(buck.catalogue, "coil");
    hl_box box = {.size = {0.06, 0.04, 0.02},
                  .wall = 0.002,
                  .wall_conductivity = 0.2,
                  .wall_density_heat = 1.5e6,
                  .emissivity_outside = 0.9,
                  .emissivity_inside = 0.9,
                  .by_field = by_field,
                  .up = HL_FACE_Z1};
    hl_board board = {"main", {0.004, 0.004, 0.006}, {0.056, 0.036, 0.0076}, 20, 0.3, 2e6};
    hl_spreader foil = {"foil", {0.004, 0.004, 0.003}, {0.056, 0.036, 0.0031}, 380, 3.4e6, 0.1};
    const hl_position on_board = {.centre = {0.02, 0.02, 0.009},
                                  .size = {0.005, 0.005, 0.0025},
                                  .board = "main",
                                  .pad_face = HL_FACES},
                      beside = {.centre = {0.04, 0.02, 0.01},
                                .size = {0.01, 0.01, 0.004},
                                .pad_face = HL_FACE_Z1,
                                .pad_resistance = 5};
    const double way[4] = {0.05};
    const hl_insulation_class class = {"B", 403.15, 393.15};
    hl_draft *draft = hl_draft_create(buck.host, "described");
    if (draft && hl_draft_source(draft, &place, 48, 0, d) == HL_OK &&
        hl_draft_ambient(draft, &place, 303.15, 500, d) == HL_OK &&
        hl_draft_stage(draft, &place, "buck", "synchronous_buck", "source", d) == HL_OK &&
        hl_draft_set(draft, &place, "buck", "switching_frequency",
                     "{ typical: 200 kHz, tolerance: 5 %, group: clock }", d) == HL_OK &&
        hl_draft_fill(draft, &place, "buck", "high_switch", high, 2, d) == HL_OK &&
        hl_draft_fill(draft, &place, "buck", "low_switch", high, 1, d) == HL_OK &&
        hl_draft_fill(draft, &place, "buck", "inductor", coil, 1, d) == HL_OK &&
        hl_draft_port(draft, &place, "out", "buck", 12, 2, d) == HL_OK &&
        hl_draft_box(draft, &place, &box, d) == HL_OK && hl_draft_board(draft, &place, &board, d) == HL_OK &&
        hl_draft_spreader(draft, &place, &foil, d) == HL_OK &&
        hl_draft_position(draft, &place, "buck.high_switch", &on_board, d) == HL_OK &&
        hl_draft_position(draft, &place, "buck.inductor", &beside, d) == HL_OK &&
        hl_draft_node(draft, &place, "sink", 10, d) == HL_OK &&
        hl_draft_link(draft, &place, "buck.low_switch", "sink", HL_LAW_FIXED, 0, way, d) == HL_OK &&
        hl_draft_link(draft, &place, "sink", "ambient", HL_LAW_FIXED, 0, way, d) == HL_OK &&
        hl_draft_limit(draft, &place, "sink", "touch", 350, d) == HL_OK &&
        hl_draft_limit_case(draft, &place, "case", 350, d) == HL_OK &&
        hl_draft_insulation(draft, &place, 1, &class, "B", d) == HL_OK &&
        hl_draft_derating(draft, &place, "drain voltage", 0.8, 0, d) == HL_OK)
        return draft;
    hl_draft_destroy(draft);
    return NULL;
}

static double design(hl_diagnostics *said)
{
    static double settings[512];
    double found = NAN;
    hl_draft *draft = describe(false, said);
    hl_design *made = draft ? hl_draft_finish(draft, said) : NULL;
    hl_workspace *workspace = made ? hl_workspace_create(made) : NULL;
    if (workspace) hl_design_defaults(made, settings);
    if (workspace && hl_solve(workspace, settings) == HL_OK) found = hl_result_power(workspace)->loss;
    hl_workspace_destroy(workspace);
    hl_design_destroy(made);
    hl_draft_destroy(draft);
    return found;
}

/* What is foreseen is not told: a failure must be. The field itself is `field`'s. */
static double foresee(hl_diagnostics *said)
{
    hl_draft *draft = describe(true, said);
    double found = draft && hl_draft_foresee(draft) == HL_OK ? 1 : NAN;
    hl_draft_destroy(draft);
    return found;
}

/* ---------------------------------------------------------------------- sweeps -- */

static bool last_row(void *context, size_t columns, const char *const names[], const char *const values[],
                     const bool is_text[])
{
    (void)names, (void)is_text;
    *(double *)context += strtod(values[columns - 1] ? values[columns - 1] : "0", NULL);
    return true;
}

static hl_sweep *make_plan(hl_diagnostics *said)
{
    static const double loads[] = {0.25, 0.5, 1};
    static const char *const labels[] = {"light", "half", "full"};
    static const hl_aim aim = {"efficiency", true};
    size_t load = hl_design_find_setting(buck.design, "load", NULL);
    hl_sweep *plan = hl_sweep_create(buck.design, base);
    if (plan && hl_sweep_axis(plan, "load", 1, &load, 3, loads, labels, said) == HL_OK &&
        hl_sweep_figure(plan, "efficiency", said) == HL_OK &&
        hl_sweep_limit(plan, "efficiency", 0.5, 1, said) == HL_OK &&
        hl_sweep_stamp(plan, "script", "text", 4) == HL_OK &&
        hl_sweep_keep(plan, HL_KEEP_BEST, 2, 1, &aim, said) == HL_OK && hl_sweep_finish(plan, said) == HL_OK)
        return plan;
    hl_sweep_destroy(plan);
    return NULL;
}

static double shards(hl_diagnostics *said)
{
    hl_sweep *plan = make_plan(said);
    double sum_of_rows = 0;
    bool good = plan != NULL;
    const char *parts[2] = {scratch_file("1.store"), scratch_file("2.store")},
               *joined = scratch_file("joined.store");
    for (size_t s = 0; s < 2; s++) {
        unlink(parts[s]);
        hl_store *store = good ? hl_store_open(parts[s], plan, (hl_shard){s + 1, 2}, said) : NULL;
        good = store && hl_sweep_run(plan, store, &(hl_sweep_run_options){.workers = 1}, said) == HL_OK;
        hl_store_close(store);
    }
    unlink(joined);
    good = good && hl_store_merge(joined, 2, parts, false, said) == HL_OK;
    hl_store *store = good ? hl_store_read(joined, said) : NULL;
    hl_store_counts counts;
    good = store && hl_store_count(store, &counts, said) == HL_OK && counts.done == 3 &&
           hl_store_rows(store, 10, last_row, &sum_of_rows, said) == HL_OK;
    hl_store_close(store);
    hl_sweep_destroy(plan);
    return good ? sum_of_rows : NAN;
}

/* ----------------------------------------------------------------------- parts -- */

static const char rules_text[] =
    "heatledger: estimates/1\n"
    "models: [silicon_mosfet]\n"
    "facts:\n"
    "  package: { meaning: the housing, classes: { small: { charge: 20 nC }, large: { charge: 60 nC } } }\n"
    "  span: { meaning: a length, unit: mm, usual: [1 mm, 9 mm] }\n"
    "together: { levels: [threshold_voltage, plateau_voltage] }\n"
    "rules:\n"
    "  - { fills: gate_charge, from: package.charge * 2, for: { package: [small, large] }, factor: 2, group: "
    "g, source: s }\n"
    "  - { fills: gate_drain_charge, from: 'min(gate_charge / 4, 5 [nC])', between: { gate_charge: [1 nC, 1 "
    "uC] },"
    " tolerance: 20 %, unless: output_charge, source: s, note: n }\n";

static const char rated_text[] =
    "parts:\n"
    "  some: { model: silicon_mosfet, on_resistance: { minimum: 8 mohm, typical: 9 mohm, maximum: 11 mohm }, "
    "package: small,\n"
    "    rated_voltage: 80 V, description: a switch, gate_drive_voltage: 10 V, size: [3 mm, 3 mm, 1 mm] }\n"
    "  one:\n    model: junction_diode\n    rated_voltage: 400 V\n"
    "    forward_curve: { table: [[100 mA, 600 mV], [4 A, 900 mV]] }\n";

static double parts(hl_diagnostics *said)
{
    hl_catalogue *made = hl_catalogue_create(buck.host);
    double found = NAN;
    if (made &&
        hl_catalogue_read_rules_text(made, "rules", rules_text, sizeof rules_text - 1, said) == HL_OK &&
        hl_catalogue_read_text(made, "parts", rated_text, sizeof rated_text - 1, said) == HL_OK) {
        const hl_part *some = hl_catalogue_find(made, "some");
        found = 0;
        for (size_t i = 0; some && i < hl_part_model(some)->n_parameters; i++)
            if (hl_part_values(some)[i].given)
                found += hl_part_values(some)[i].number * (1 + 0.01 * (double)i);
    }
    hl_catalogue_destroy(made);
    return found;
}

/* ----------------------------------------------------------------------- heat -- */

static void ten_watts(void *context, double time, const double temperature[], double power[], double slope[])
{
    (void)context, (void)time, (void)temperature;
    power[0] = 10, power[1] = slope[0] = slope[1] = 0;
}

static void scaled(void *context, double factor, const double temperature[], double power[], double slope[])
{
    (void)context;
    power[0] = factor * (1 + 0.02 * (temperature[0] - 298.15)), slope[0] = 0.02 * factor;
    power[1] = slope[1] = 0;
}

static double network(hl_diagnostics *said)
{
    const hl_surroundings room = {298.15, 101325};
    const double from[2] = {298.15, 298.15}, times[2] = {10, 100}, slope[2] = {0.01, 0};
    double steady[2] = {300, 300}, course[4], found = NAN, time, factor;
    int leader;
    hl_network *made = hl_network_create();
    hl_network_work *work = NULL;
    if (made && hl_network_add_node(made, "part", 5) == 0 && hl_network_add_node(made, "case", 50) == 1 &&
        hl_network_add_link(made, &(hl_link){0, 1, HL_LAW_FIXED, 0, {1}}) == 0 &&
        hl_network_add_link(made, &(hl_link){1, HL_AMBIENT, HL_LAW_FIXED, 0, {0.5}}) == 1 &&
        hl_network_check(made, said) == HL_OK && (work = hl_network_work_create(made)) != NULL &&
        hl_network_steady(work, &room, ten_watts, NULL, steady) == HL_OK &&
        hl_network_transient(made, &room, ten_watts, NULL, from, 2, times, course, NULL) == HL_OK &&
        hl_network_time_to(made, &room, ten_watts, NULL, from, 310, 1000, &time) == HL_OK &&
        hl_network_critical(work, &room, scaled, NULL, 10, &factor, steady, &leader) == HL_OK)
        found = course[3] + hl_network_gain(work, &room, steady, slope, &leader) + time;
    hl_network_work_destroy(work);
    hl_network_destroy(made);
    return found;
}

static double field(hl_diagnostics *said)
{
    static const hl_field_block block = {.name = "part",
                                         .low = {0.01, 0.01, 0.004},
                                         .high = {0.02, 0.02, 0.012},
                                         .conductivity = {20, 20, 20},
                                         .density_heat = 2e6,
                                         .emissivity = 0.9,
                                         .heat = 2,
                                         .on = HL_FIELD_ANY};
    static const hl_field_board board = {.name = "board",
                                         .low = {0.002, 0.002, 0.002},
                                         .high = {0.038, 0.028, 0.0036},
                                         .normal = 2,
                                         .conductivity_in = 20,
                                         .conductivity_through = 0.4,
                                         .density_heat = 2e6,
                                         .emissivity = 0.9};
    hl_field_box box = {.size = {0.04, 0.03, 0.02},
                        .shell = 0.002,
                        .shell_conductivity = 0.2,
                        .shell_density_heat = 1.5e6,
                        .shell_emissivity = 0.9,
                        .fill_conductivity = 0.027,
                        .fill_density_heat = 1140,
                        .n_boards = 1,
                        .n_blocks = 1,
                        .boards = &board,
                        .blocks = &block,
                        .surroundings = {298.15, 101325},
                        .fineness = 0.5,
                        .warm = true};
    for (int face = 0; face < HL_FACES; face++)
        box.sides[face] = (hl_field_side){HL_FIELD_FIXED, HL_VERTICAL, 0.02, 8, 0.9, 0, 0, 0, 0};
    const double power[2] = {2, 0};
    double mean[2] = {0}, found = NAN;
    hl_field *made = hl_field_create(&box, said);
    hl_field_work *work = made ? hl_field_work_create(made) : NULL;
    hl_field_warming *warming = work ? hl_field_warming_create(made) : NULL;
    if (warming && hl_field_solve(work, &box.surroundings, power, NULL, NULL, mean) == HL_OK) found = mean[0];
    hl_field_warming_destroy(warming);
    hl_field_work_destroy(work);
    hl_field_destroy(made);
    return found;
}

/* ----------------------------------------------------------------------- turns -- */

typedef double (*attempt)(hl_diagnostics *said);

static const struct {
    const char *name;
    attempt call;
    long most; /* tries of a usual run; HEATLEDGER_LONG=1: all */
} calls[] = {
    {"combination", combine, 1000}, {"indices", indices, 1000},
    {"samples", samples, 1000},     {"least squares", squares, 1000},
    {"bench", bench, 300},          {"spread", spread, 150},
    {"warm-up", warm_up, 150},      {"critical", critical, 150},
    {"start", start, 150},          {"harmonics", harmonics, 150},
    {"design", design, 400},        {"foresee", foresee, 300},
    {"shards", shards, 150},        {"parts", parts, 1000},
    {"network", network, 300},      {"field", field, 40},
};

static void open_all(void)
{
    scratch_folder_make();
    uncertain_buck_open(&buck);
    ck_assert_uint_le(hl_design_settings(buck.design), sizeof base / sizeof *base);
    hl_design_defaults(buck.design, base);
}

static void close_all(void)
{
    drafted_end(&buck);
    scratch_folder_remove();
}

START_TEST(each_allocation_may_fail)
{
    if (!scarce_memory_works()) return;
    open_all();
    scarce_memory_spare(unchecked);
    double wanted = calls[_i].call(buck.said); /* once before: what libraries keep for ever is not counted */
    ck_assert_msg(!isnan(wanted), "%s: %s", calls[_i].name,
                  hl_diagnostics_count(buck.said) ? hl_diagnostics_text(buck.said, 0) : "no answer");
    scarce_memory_begin(-1);
    double counted = calls[_i].call(buck.said);
    long all = scarce_memory_end(), tried = 0, stood = 0;
    ck_assert(counted == wanted);
    lottery luck = lottery_open(calls[_i].name);
    double stride = getenv("HEATLEDGER_LONG") ? 1 : fmax(1, (double)all / (double)calls[_i].most);
    for (double at = 0; at < (double)all; at += stride, tried++) {
        long allowed = (long)(at + (stride > 1 ? lottery_between(&luck, 0, stride) : 0));
        hl_diagnostics *said = hl_diagnostics_create();
        scarce_memory_begin(allowed);
        double found = calls[_i].call(said);
        scarce_memory_end();
        hl_diagnostics_destroy(said);
        stood += !isnan(found);
        ck_assert_msg(isnan(found) || found == wanted,
                      "%s: allocation %ld of %ld failed: %.17g, wanted %.17g", calls[_i].name, allowed + 1,
                      all, found, wanted);
    }
    fprintf(stderr, "%s: %ld of %ld allocations refused in turn, %ld times answered all the same\n",
            calls[_i].name, tried, all, stood);
    close_all();
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, each_allocation_may_fail, 0, (int)(sizeof calls / sizeof *calls));
}

int main(void)
{
    return story_main("scarce calls", fill);
}
