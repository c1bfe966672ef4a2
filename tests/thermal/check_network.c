/* check_network.c - networks against an independent solution (tests/reference/G_network_open.json: steady by
 * Newton in extended precision, transients by another integrator, folds by continuation). */
#include "heatledger/thermal.h"

#include "reference_case.h"
#include "scarce_memory.h"
#include "story.h"

#include <math.h>
#include <string.h>

enum { MAX = 512 };

/* --------------------------------------------------------------- fixture -- */

typedef struct source {
    size_t n;
    double power[MAX], a[MAX], g[MAX], leak[MAX], scale[MAX];
    double reference; /* T0 */
    double factor;
    int kind; /* 0 constant, 1 linear, 2 power law and leakage */
} source;

static void source_at(void *context, double factor, const double temperature[], double power[],
                      double slope[])
{
    const source *s = context;
    for (size_t i = 0; i < s->n; i++) {
        double p = factor * s->power[i], t = temperature[i], t0 = s->reference;
        power[i] = p;
        slope[i] = 0;
        if (s->kind == 1) {
            power[i] = p * (1 + s->a[i] * (t - t0));
            slope[i] = p * s->a[i];
        } else if (s->kind == 2) {
            double grown = p * pow(t / t0, s->g[i]), leak = s->leak[i] * exp((t - t0) / s->scale[i]);
            power[i] = grown + leak;
            slope[i] = grown * s->g[i] / t + leak / s->scale[i];
        }
    }
}

static void source_heat(void *context, double time, const double temperature[], double power[],
                        double slope[])
{
    const source *s = context;
    (void)time;
    source_at(context, s->factor, temperature, power, slope);
}

static void add_links(hl_network *network, json_t *rows, hl_law law, int figures)
{
    for (size_t k = 0; k < json_array_size(rows); k++) {
        double row[6];
        reference_numbers(json_array_get(rows, k), (size_t)figures + 2, row);
        hl_link link = {(int)row[0], (int)row[1], law, 0, {row[2], row[3], 0, 0}};
        if (figures == 1) link.p[1] = 0;
        if (figures == 3) link.p[2] = row[4];
        ck_assert_int_ge(hl_network_add_link(network, &link), 0);
    }
}

static hl_network *network_of(json_t *inputs)
{
    double capacity[MAX];
    size_t n = (size_t)reference_number(inputs, "n_nodes");
    hl_network *network = hl_network_create();
    reference_numbers(reference_at(inputs, "C"), n, capacity);
    for (size_t i = 0; i < n; i++)
        ck_assert_int_eq(hl_network_add_node(network, "node", capacity[i]), (int)i);
    add_links(network, reference_at(inputs, "lin"), HL_LAW_FIXED, 1);
    add_links(network, reference_at(inputs, "conv"), HL_LAW_POWER, 3);
    add_links(network, reference_at(inputs, "rad"), HL_LAW_RADIATION, 2);
    ck_assert_int_eq(hl_network_check(network, NULL), HL_OK);
    return network;
}

static void source_of(json_t *inputs, source *s)
{
    memset(s, 0, sizeof *s);
    s->n = (size_t)reference_number(inputs, "n_nodes");
    s->factor = 1;
    reference_numbers(reference_at(inputs, "P"), s->n, s->power);
    json_t *form = json_object_get(inputs, "source");
    if (!form) return;
    s->reference = reference_number(form, "T0");
    s->kind = strcmp(json_string_value(reference_at(form, "type")), "linear") == 0 ? 1 : 2;
    if (s->kind == 1) {
        reference_numbers(reference_at(form, "a"), s->n, s->a);
        return;
    }
    reference_numbers(reference_at(form, "g"), s->n, s->g);
    reference_numbers(reference_at(form, "Pl"), s->n, s->leak);
    reference_numbers(reference_at(form, "Tc"), s->n, s->scale);
}

typedef struct setting {
    json_t *root, *one_case, *inputs;
    hl_network *network;
    hl_network_work *work;
    hl_surroundings room;
    source source;
    double temperature[MAX];
} setting;

static void set_up(setting *s, const char *id)
{
    memset(s, 0, sizeof *s);
    s->root = reference_open("G_network_open.json");
    json_t *cases = reference_at(s->root, "cases");
    for (size_t k = 0; k < json_array_size(cases); k++) {
        json_t *one = json_array_get(cases, k);
        if (strcmp(json_string_value(reference_at(one, "id")), id) == 0) s->one_case = one;
    }
    ck_assert_ptr_nonnull(s->one_case);
    s->inputs = reference_at(s->one_case, "inputs");
    s->network = network_of(s->inputs);
    s->work = hl_network_work_create(s->network);
    ck_assert_ptr_nonnull(s->work);
    source_of(s->inputs, &s->source);
    s->room = (hl_surroundings){reference_number(s->inputs, "Ta"), 101325.0};
    for (size_t i = 0; i < s->source.n; i++) s->temperature[i] = s->room.temperature;
}

static void tear_down(setting *s)
{
    hl_network_work_destroy(s->work);
    hl_network_destroy(s->network);
    json_decref(s->root);
}

static hl_status solve(setting *s)
{
    return hl_network_steady(s->work, &s->room, source_heat, &s->source, s->temperature);
}

static const char *const constant_case[] = {"G01", "G03", "G11"};
static const char *const feedback_case[] = {"G05", "G07", "G10"};

/* ---------------------------------------------------------------- steady -- */

/* Reference printed to 1e-9 K; the residual allowed here is some 1e-10 W of a few watts. */
START_TEST(steady_temperatures_match_from_ambient_start)
{
    setting s;
    set_up(&s, constant_case[_i]);
    double expected[MAX], flow[4096];
    reference_numbers(reference_output(s.one_case, "T_steady"), s.source.n, expected);
    ck_assert_int_eq(solve(&s), HL_OK);
    for (size_t i = 0; i < s.source.n; i++) ck_near(s.temperature[i], expected[i], 0, 1e-6);
    double in = 0, out = 0;
    for (size_t i = 0; i < s.source.n; i++) in += s.source.power[i];
    hl_network_flows(s.network, &s.room, s.temperature, flow);
    for (size_t k = 0; k < hl_network_links(s.network); k++) {
        const hl_link *link = hl_network_link(s.network, (int)k);
        out += link->b == HL_AMBIENT ? flow[k] : link->a == HL_AMBIENT ? -flow[k] : 0;
    }
    ck_near(out, in, 1e-10, 0);
    tear_down(&s);
}
END_TEST

START_TEST(steady_temperatures_do_not_depend_on_the_start)
{
    setting s;
    set_up(&s, constant_case[_i]);
    double first[MAX];
    ck_assert_int_eq(solve(&s), HL_OK);
    memcpy(first, s.temperature, sizeof first);
    const double starts[] = {1.0, 250.0, 400.0, 1500.0, NAN};
    for (size_t k = 0; k < sizeof starts / sizeof starts[0]; k++) {
        for (size_t i = 0; i < s.source.n; i++) s.temperature[i] = i % 3 == k % 3 ? starts[k] : 320.0;
        ck_assert_int_eq(solve(&s), HL_OK);
        for (size_t i = 0; i < s.source.n; i++) ck_near(s.temperature[i], first[i], 0, 1e-6);
    }
    tear_down(&s);
}
END_TEST

/* ------------------------------------------------------------- transient -- */

START_TEST(warm_up_matches_an_independent_integrator)
{
    setting s;
    set_up(&s, constant_case[_i]);
    size_t n = s.source.n, n_times = json_array_size(reference_output(s.one_case, "times"));
    double times[16], energy[3], expected[MAX], *course = calloc(n * n_times, sizeof *course);
    reference_numbers(reference_output(s.one_case, "times"), n_times, times);
    ck_assert_int_eq(hl_network_transient(s.network, &s.room, source_heat, &s.source, s.temperature, n_times,
                                          times, course, energy),
                     HL_OK);
    double worst = 0;
    for (size_t k = 0; k < n_times; k++) {
        reference_numbers(json_array_get(reference_output(s.one_case, "T_transient"), k), n, expected);
        for (size_t i = 0; i < n; i++) worst = fmax(worst, fabs(course[k * n + i] - expected[i]));
    }
    ck_near(worst, 0, 0, 1e-4); /* K; asked for: 0.05 K */
    ck_near(energy[0], energy[1] + energy[2], 1e-8, 0);
    free(course);
    tear_down(&s);
}
END_TEST

/* -------------------------------------------------------------- feedback -- */

START_TEST(critical_load_matches_the_continuation_of_the_reference)
{
    setting s;
    set_up(&s, feedback_case[_i]);
    double critical, at[MAX], expected[MAX];
    int leader;
    ck_assert_int_eq(hl_network_critical(s.work, &s.room, source_at, &s.source, 100, &critical, at, &leader),
                     HL_OK);
    ck_near(critical, json_number_value(reference_output(s.one_case, "s_critical")), 1e-6, 0);
    ck_assert_int_ge(leader, 0);
    if (json_object_get(reference_at(s.one_case, "outputs"), "T_fold")) {
        reference_numbers(reference_output(s.one_case, "T_fold"), s.source.n, expected);
        for (size_t i = 0; i < s.source.n; i++) ck_near(at[i], expected[i], 0, 0.01);
    }
    tear_down(&s);
}
END_TEST

START_TEST(no_critical_load_below_the_bound_is_infinity)
{
    setting s;
    set_up(&s, feedback_case[_i]);
    double critical, at[MAX], known = json_number_value(reference_output(s.one_case, "s_critical"));
    ck_assert_int_eq(
        hl_network_critical(s.work, &s.room, source_at, &s.source, 0.9 * known, &critical, at, NULL), HL_OK);
    ck_assert(isinf(critical));
    tear_down(&s);
}
END_TEST

START_TEST(stable_branch_matches_up_to_the_critical_load)
{
    setting s;
    set_up(&s, feedback_case[_i]);
    json_t *fractions = reference_output(s.one_case, "s_fractions");
    double critical = json_number_value(reference_output(s.one_case, "s_critical"));
    double expected[MAX], power[MAX], slope[MAX], last = 0;
    for (size_t k = 0; k < json_array_size(fractions); k++) {
        s.source.factor = critical * json_number_value(json_array_get(fractions, k));
        reference_numbers(json_array_get(reference_output(s.one_case, "T_stable"), k), s.source.n, expected);
        hl_status status = solve(&s);
        double hottest = 0;
        for (size_t i = 0; i < s.source.n; i++) hottest = fmax(hottest, expected[i]);
        if (hottest > 2000) { /* beyond what counts as a solution */
            ck_assert_int_eq(status, HL_RUNAWAY);
            continue;
        }
        ck_assert_int_eq(status, HL_OK);
        for (size_t i = 0; i < s.source.n; i++) ck_near(s.temperature[i], expected[i], 0, 1e-4);
        source_at(&s.source, s.source.factor, s.temperature, power, slope);
        double gain = hl_network_gain(s.work, &s.room, s.temperature, slope, NULL);
        ck_assert(gain < 1 && gain > last);
        last = gain;
    }
    tear_down(&s);
}
END_TEST

START_TEST(beyond_the_critical_load_is_a_runaway_from_any_start)
{
    setting s;
    set_up(&s, feedback_case[_i]);
    double critical = json_number_value(reference_output(s.one_case, "s_critical"));
    const double over[] = {1.0005, 1.02, 1.06, 1.5, 5}, starts[] = {313.15, 290, 400, 700};
    for (size_t k = 0; k < sizeof over / sizeof over[0]; k++)
        for (size_t j = 0; j < sizeof starts / sizeof starts[0]; j++) {
            s.source.factor = critical * over[k];
            for (size_t i = 0; i < s.source.n; i++) s.temperature[i] = starts[j];
            ck_assert_int_eq(solve(&s), HL_RUNAWAY);
        }
    tear_down(&s);
}
END_TEST

/* From starts on the far side of the unstable branch the stable solution must still be the answer. */
START_TEST(below_the_critical_load_the_stable_solution_is_found_from_any_start)
{
    setting s;
    set_up(&s, feedback_case[_i]);
    double critical = json_number_value(reference_output(s.one_case, "s_critical")), expected[MAX];
    const double under[] = {0.5, 0.9, 0.99}, starts[] = {290, 400, 600, 900};
    for (size_t k = 0; k < sizeof under / sizeof under[0]; k++) {
        s.source.factor = critical * under[k];
        for (size_t i = 0; i < s.source.n; i++) s.temperature[i] = s.room.temperature;
        if (solve(&s) == HL_RUNAWAY) continue; /* linear sources: hotter than 2000 K near their limit */
        memcpy(expected, s.temperature, sizeof expected);
        for (size_t j = 0; j < sizeof starts / sizeof starts[0]; j++) {
            for (size_t i = 0; i < s.source.n; i++) s.temperature[i] = starts[j];
            ck_assert_int_eq(solve(&s), HL_OK);
            for (size_t i = 0; i < s.source.n; i++) ck_near(s.temperature[i], expected[i], 0, 1e-5);
        }
    }
    tear_down(&s);
}
END_TEST

START_TEST(time_to_the_limit_in_a_runaway_matches)
{
    setting s;
    set_up(&s, feedback_case[_i]);
    json_t *out = s.one_case;
    double time, factor = json_number_value(reference_output(out, "runaway_s_factor"));
    s.source.factor = factor * json_number_value(reference_output(out, "s_critical"));
    double limit = json_number_value(reference_output(out, "T_limit"));
    double expected = json_number_value(reference_output(out, "t_to_limit"));
    ck_assert_int_eq(
        hl_network_time_to(s.network, &s.room, source_heat, &s.source, s.temperature, limit, 1e6, &time),
        HL_OK);
    ck_near(time, expected, 1e-4, 0);
    ck_assert_int_eq(hl_network_time_to(s.network, &s.room, source_heat, &s.source, s.temperature, limit,
                                        0.5 * expected, &time),
                     HL_OK);
    ck_assert(isinf(time));
    tear_down(&s);
}
END_TEST

/* ----------------------------------------------------------------- memory -- */

static hl_status build_and_solve(void)
{
    source s = {.n = 3, .power = {1, 0.5, 0}, .factor = 1};
    hl_surroundings room = {300, 101325};
    double at[3] = {300, 300, 300};
    hl_status status = HL_NO_MEMORY;
    hl_network *network = hl_network_create();
    if (!network) return HL_NO_MEMORY;
    bool good = true;
    for (int i = 0; i < 3; i++) good = good && hl_network_add_node(network, "node", 1) == i;
    for (int i = 0; i < 3; i++) {
        hl_link link = {i, i == 2 ? HL_AMBIENT : i + 1, HL_LAW_FIXED, 0, {1, 0, 0, 0}};
        good = good && hl_network_add_link(network, &link) == i;
    }
    hl_network_work *work = good ? hl_network_work_create(network) : NULL;
    if (work) status = hl_network_check(network, NULL);
    if (status == HL_OK) status = hl_network_steady(work, &room, source_heat, &s, at);
    hl_network_work_destroy(work);
    hl_network_destroy(network);
    return status;
}

/* Every allocation made to fail in turn: a status, never a crash.  Transients are left out: the integrator's
 * library (CVODE 6.4.1) itself crashes in SUNLogger_Create when memory runs out. */
START_TEST(want_of_memory_is_told)
{
    if (!scarce_memory_works()) return;
    scarce_memory_begin(-1);
    ck_assert_int_eq(build_and_solve(), HL_OK);
    long needed = scarce_memory_end();
    ck_assert_int_gt(needed, 20);
    for (long good = 0; good < needed; good++) {
        scarce_memory_begin(good);
        hl_status status = build_and_solve();
        scarce_memory_end();
        /* the factorisation may fail to shrink a block and go on */
        ck_assert_msg(status == HL_NO_MEMORY || (status == HL_OK && good > needed / 2),
                      "status %d with %ld of %ld allocations", (int)status, good, needed);
    }
}
END_TEST

START_TEST(steady_solution_allocates_nothing)
{
    setting s;
    set_up(&s, constant_case[_i]);
    scarce_memory_begin(-1);
    hl_status status = solve(&s);
    long asked = scarce_memory_end();
    ck_assert_int_eq(status, HL_OK);
    ck_assert_int_eq(asked, 0);
    tear_down(&s);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, steady_temperatures_match_from_ambient_start, 0, 3);
    tcase_add_loop_test(tests, steady_temperatures_do_not_depend_on_the_start, 0, 3);
    tcase_add_loop_test(tests, warm_up_matches_an_independent_integrator, 0, 3);
    tcase_add_loop_test(tests, critical_load_matches_the_continuation_of_the_reference, 0, 3);
    tcase_add_loop_test(tests, no_critical_load_below_the_bound_is_infinity, 0, 3);
    tcase_add_loop_test(tests, stable_branch_matches_up_to_the_critical_load, 0, 3);
    tcase_add_loop_test(tests, beyond_the_critical_load_is_a_runaway_from_any_start, 0, 3);
    tcase_add_loop_test(tests, below_the_critical_load_the_stable_solution_is_found_from_any_start, 0, 3);
    tcase_add_loop_test(tests, time_to_the_limit_in_a_runaway_matches, 0, 3);
    tcase_add_test(tests, want_of_memory_is_told);
    tcase_add_loop_test(tests, steady_solution_allocates_nothing, 0, 3);
}

int main(void)
{
    return story_main("network", fill);
}
