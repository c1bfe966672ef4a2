/* bench.c - whole electro-thermal solutions per second of adapters, where the time goes, and what other ways
 * take for the same.   bench [--json|--models] [--seconds S] SCRIPT.lua ...   or   bench SCRIPT.lua SECONDS
 * POINTS [warm]
 *
 * Cold points walk over a grid of mains voltage and load in leaps; each begins at the nearest
 * anchor of the design, and nothing is carried over from the one before.  Warm ones walk the same grid in
 * order, each begun where the points before it in its group of 64 point to, as a sweep does. Time is that of
 * the processor, so that a busy machine tells the same.  With a number of points it solves just those, cold,
 * for counting instructions, each once before by hl_solve_from, so that the solved points about which a
 * workspace begins are there: valgrind --tool=callgrind --toggle-collect=hl_solve bench SCRIPT.lua 9 32.
 * The same with `warm` at the end for warm ones: --toggle-collect=warm_point */
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "cli/session.h"
#include "rivals.h"
#include "solve/workspace.h"

enum { SCRIPTS_MAX = 16, GROUP = 64, THREADS_MAX = 2, MOST = 1000000, PAST = 6 };

typedef struct figures {
    const char *script;
    char name[120];
    size_t parts, nodes;
    unsigned long points, unsolved;
    double cold, warm;                    /* solutions a second */
    double cold_rounds, warm_rounds;      /* each */
    double stages, items, buses, network; /* us of a cold solution */
    double two_threads; /* solutions a second and core with both at work, over those of one */
    double growth;      /* bytes that 1e6 points leave behind */
    double llc, buck;   /* us, its stages of these models at the base settings; 0 = none */
} figures;

/* ------------------------------------------------------------------- runs -- */

typedef struct walk {
    const hl_design *design;
    hl_workspace *work;
    const double *base;
    double *settings;
    size_t voltage, load;
} walk;

static void leap(walk *w, unsigned long k)
{
    w->settings[w->voltage] = 90.0 + (double)(k * 37 % 175);
    w->settings[w->load] = w->base[w->load] * (0.25 + 0.75 * (double)(k * 61 % 101) / 100.0);
}

/* Load in 1 % steps within a group of 64, voltage from group to group. */
static void stroll(walk *w, unsigned long k)
{
    w->settings[w->voltage] = 90.0 + (double)(k / GROUP * 37 % 175);
    w->settings[w->load] = w->base[w->load] * (0.25 + 0.01 * (double)(k / GROUP * 23 % 12 + k % GROUP));
}

static bool solved(const walk *w, hl_status status)
{
    return status == HL_OK && hl_result_outcome(w->work) == HL_SOLVED;
}

typedef struct tally {
    unsigned long points, unsolved, rounds;
    double seconds;
} tally;

static void run_before(walk *w, unsigned long points, bool warm)
{
    for (unsigned long k = 0; k < points; k++) {
        warm ? stroll(w, k) : leap(w, k);
        (void)hl_solve_from(w->work, w->settings, NULL);
    }
}

static tally run_cold(walk *w, double seconds, unsigned long most)
{
    double start = bench_now();
    tally done = {0};
    for (; done.points < most && done.seconds < seconds; done.seconds = bench_now() - start)
        for (int k = 0; k < GROUP && done.points < most; k++, done.points++) {
            leap(w, done.points);
            if (!solved(w, hl_solve(w->work, w->settings))) done.unsolved++;
            done.rounds += hl_result_power(w->work)->passes;
        }
    return done;
}

/* Where the last points of a group, [0] the newest, lead on even steps. */
static const hl_start *lead(hl_start *const past[PAST], hl_start *blend, int known)
{
    const hl_start *from[PAST];
    int n = known < PAST ? known : PAST;
    for (int i = 0; i < n; i++) from[i] = past[i];
    return hl_start_onward(blend, from, (size_t)n) ? blend : NULL;
}

/* Apart, so that its instructions can be counted. */
__attribute__((noinline)) static hl_status warm_point(walk *w, const hl_start *from)
{
    return hl_solve_from(w->work, w->settings, from);
}

static tally run_warm(walk *w, double seconds, unsigned long most)
{
    tally done = {0};
    hl_start *past[PAST] = {NULL}, *blend = hl_start_create(w->design);
    bool good = blend;
    for (int i = 0; i < PAST; i++) good = (past[i] = hl_start_create(w->design)) && good;
    double began = bench_now();
    for (; good && done.points < most && done.seconds < seconds; done.seconds = bench_now() - began)
        for (int k = 0; k < GROUP && done.points < most; k++, done.points++) {
            stroll(w, done.points);
            if (!solved(w, warm_point(w, lead(past, blend, k)))) done.unsolved++;
            done.rounds += hl_result_power(w->work)->passes;
            hl_start *oldest = past[PAST - 1];
            memmove(past + 1, past, (PAST - 1) * sizeof past[0]);
            past[0] = oldest;
            hl_start_take(oldest, w->work);
        }
    hl_start_destroy(blend);
    for (int i = 0; i < PAST; i++) hl_start_destroy(past[i]);
    return done;
}

/* ---------------------------------------------------------------- threads -- */

typedef struct worker {
    walk walk;
    unsigned long points;
    double seconds; /* of this thread's processor time */
} worker;

static double thread_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void *work_on(void *context)
{
    worker *me = context;
    double began = thread_now();
    for (unsigned long k = 0; k < me->points; k++) {
        leap(&me->walk, k);
        (void)hl_solve(me->walk.work, me->walk.settings);
    }
    me->seconds = thread_now() - began;
    return NULL;
}

/* Rate of a thread beside another over that of one alone; twice that is the scaling on two idle cores. */
static double beside_another(const walk *w, size_t settings, unsigned long points, double alone)
{
    worker crew[THREADS_MAX] = {{{0}, 0, 0}};
    pthread_t thread[THREADS_MAX];
    double seconds = 0;
    int begun = 0;
    for (; begun < THREADS_MAX; begun++) {
        worker *me = &crew[begun];
        me->walk = *w;
        me->points = points;
        me->walk.work = hl_workspace_create(w->design);
        me->walk.settings = malloc((settings + 1) * sizeof(double));
        if (!me->walk.work || !me->walk.settings) break;
        memcpy(me->walk.settings, w->base, settings * sizeof(double));
        if (pthread_create(&thread[begun], NULL, work_on, me)) break;
    }
    for (int i = 0; i < begun; i++) pthread_join(thread[i], NULL);
    for (int i = 0; i < THREADS_MAX; i++) {
        seconds += crew[i].seconds / THREADS_MAX;
        hl_workspace_destroy(crew[i].walk.work);
        free(crew[i].walk.settings);
    }
    return begun == THREADS_MAX && seconds > 0 ? (double)points / seconds / alone : 0;
}

/* ----------------------------------------------------------------- models -- */

/* One call of each stage and part of the point solved last, as the solver made it. */
static double repeat_loss(const item_state *item, const hl_device *device)
{
    enum { CALLS = 300 };
    double began = bench_now();
    for (int k = 0; k < CALLS; k++) {
        hl_loss loss;
        memset(&loss, 0, sizeof loss);
        loss.struct_size = sizeof loss;
        device->loss(item->state, item->stress, item->temperature, &loss);
    }
    return 1e6 * (bench_now() - began) / CALLS;
}

static double repeat_solve(stage_state *state, const hl_stage *stage)
{
    enum { CALLS = 100 };
    double began = bench_now();
    for (int k = 0; k < CALLS; k++) {
        state->scratch.used = 0;
        memset(&state->out, 0, sizeof state->out);
        state->out.struct_size = sizeof state->out;
        (void)stage->solve(&state->in, &state->out);
    }
    return 1e6 * (bench_now() - began) / CALLS;
}

/* The first stage of a model, us a call; 0 without one. */
static double stage_call(walk *w, const char *model)
{
    const hl_design *design = w->work->design;
    for (size_t i = 0; i < design->n_stages; i++)
        if (!strcmp(design->stages[i].model->name, model))
            return repeat_solve(&w->work->stages[i], design->stages[i].model->stage);
    return 0;
}

static void measure_stages(walk *w, figures *f)
{
    memcpy(w->settings, w->base, hl_design_settings(w->design) * sizeof(double));
    if (!solved(w, hl_solve(w->work, w->settings))) return;
    f->llc = stage_call(w, "half_bridge_llc");
    f->buck = stage_call(w, "synchronous_buck");
}

static void print_models(walk *w)
{
    const hl_design *design = w->work->design;
    memcpy(w->settings, w->base, hl_design_settings(design) * sizeof(double));
    if (!solved(w, hl_solve(w->work, w->settings))) return;
    printf("\n| part | model | cycles | µs a call | µs a cycle |\n| --- | --- | ---: | ---: | ---: |\n");
    for (size_t i = 0; i < design->n_items; i++) {
        const item_state *item = &w->work->items[i];
        if (!item->stress) continue;
        size_t cycles = item->stress->n ? item->stress->n : 1;
        double call = repeat_loss(item, design->items[i].set.model->device);
        printf("| %s | %s | %zu | %.2f | %.3f |\n", design->items[i].shown.name,
               design->items[i].set.model->name, cycles, call, call / (double)cycles);
    }
    printf("\n| stage | model | µs a call |\n| --- | --- | ---: |\n");
    for (size_t i = 0; i < design->n_stages; i++)
        printf("| %s | %s | %.2f |\n", design->stages[i].name, design->stages[i].model->name,
               repeat_solve(&w->work->stages[i], design->stages[i].model->stage));
}

/* ---------------------------------------------------------------- adapter -- */

static double resident(void)
{
    unsigned long pages = 0, held = 0;
    FILE *file = fopen("/proc/self/statm", "r");
    if (!file) return 0;
    if (fscanf(file, "%lu %lu", &pages, &held) != 2) held = 0;
    fclose(file);
    return (double)held * (double)sysconf(_SC_PAGESIZE);
}

static void measure(walk *w, double seconds, figures *f)
{
    run_cold(w, 0.1 * seconds, MOST); /* warm the caches */
    tally cold = run_cold(w, seconds, MOST);
    run_warm(w, 0.1 * seconds, MOST);
    tally warm = run_warm(w, seconds, MOST);
    f->points = cold.points;
    f->unsolved = cold.unsolved + warm.unsolved;
    f->cold = (double)cold.points / cold.seconds;
    f->warm = warm.seconds > 0 ? (double)warm.points / warm.seconds : 0;
    f->cold_rounds = (double)cold.rounds / (double)cold.points;
    f->warm_rounds = warm.points ? (double)warm.rounds / (double)warm.points : 0;
    f->two_threads = beside_another(w, hl_design_settings(w->design), cold.points, f->cold);
    hl_workspace_measure(w->work, true);
    double before = resident();
    tally again = run_cold(w, 0.5 * seconds, MOST);
    f->growth = (resident() - before) / (double)again.points * 1e6;
    const hl_times *t = hl_workspace_times(w->work);
    double per = 1e6 / (double)t->points;
    f->stages = per * t->stages;
    f->items = per * t->parts;
    f->buses = per * t->buses;
    f->network = per * t->network;
    hl_workspace_measure(w->work, false);
}

static bool with_adapter(const char *script, double seconds, unsigned long most, bool models, bool warm,
                         figures *f)
{
    session_options options = {.script = script};
    session opened;
    if (!session_open(&opened, &options)) return false;
    size_t n = hl_design_settings(opened.bound->design);
    double *base = calloc(2 * n + 2, sizeof *base);
    if (!base) return false;
    walk w = {.design = opened.bound->design,
              .work = opened.bound->workspace,
              .base = base,
              .settings = base + n + 1,
              .voltage = hl_design_find_setting(opened.bound->design, "mains.voltage", NULL),
              .load = hl_design_find_setting(opened.bound->design, "load", NULL)};
    hl_design_defaults(w.design, base);
    memcpy(w.settings, base, n * sizeof *base);
    f->script = script;
    snprintf(f->name, sizeof f->name, "%s", hl_design_name(w.design));
    f->parts = hl_design_items(w.design);
    f->nodes = hl_design_nodes(w.design);
    if (most) run_before(&w, most, warm);
    if (most)
        f->points = (warm ? run_warm(&w, 1e9, most) : run_cold(&w, 1e9, most)).points;
    else if (models)
        print_models(&w);
    else
        measure(&w, seconds, f), measure_stages(&w, f);
    free(base);
    session_close(&opened);
    return true;
}

/* ----------------------------------------------------------------- report -- */

typedef struct rivals {
    double llc, buck, other_bucks, boost; /* s */
    double cycles;                        /* of half a line */
    unsigned half_lines;
    bool formulas;
    rival_formula formula[RIVAL_FORMULAS];
} rivals;

static void print_adapters(const figures f[], size_t n)
{
    printf("| adapter | parts | nodes | cold /s | rounds | warm /s | rounds | beside another | "
           "bytes left by 1e6 points |\n| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n");
    for (size_t i = 0; i < n; i++)
        printf("| %s | %zu | %zu | %.0f | %.1f | %.0f | %.1f | %.2f | %.0f |\n", f[i].name, f[i].parts,
               f[i].nodes, f[i].cold, f[i].cold_rounds, f[i].warm, f[i].warm_rounds, f[i].two_threads,
               f[i].growth);
    printf("\n| adapter, µs of a cold solution | stages | parts | buses | network |\n"
           "| --- | ---: | ---: | ---: | ---: |\n");
    for (size_t i = 0; i < n; i++)
        printf("| %s | %.0f | %.0f | %.0f | %.0f |\n", f[i].name, f[i].stages, f[i].items, f[i].buses,
               f[i].network);
}

static void print_rivals(const rivals *r, const figures *largest)
{
    double point = 1 / largest->cold;
    printf("\n| one converter by time stepping (CVODE) | ms | times its stage here | times a whole cold "
           "solution |\n"
           "| --- | ---: | ---: | ---: |\n");
    printf("| resonant, as in %s | %.1f | %.0f | %.0f |\n", largest->name, 1e3 * r->llc,
           1e6 * r->llc / largest->llc, r->llc / point);
    printf("| buck, as in %s | %.1f | %.0f | %.0f |\n", largest->name, 1e3 * r->buck,
           1e6 * r->buck / largest->buck, r->buck / point);
    double pass = r->boost + r->llc + r->buck + r->other_bucks;
    printf("\n| all switching stages of %s stepped through time | ms | times a whole cold solution |\n"
           "| --- | ---: | ---: |\n",
           largest->name);
    printf(
        "| boost stage: half a line of %.0f cycles, %u times over until its on-time is found | %.1f | %.0f "
        "|\n",
        r->cycles, r->half_lines, 1e3 * r->boost, r->boost / point);
    printf("| resonant stage: to its periodic state at a given frequency | %.1f | %.0f |\n", 1e3 * r->llc,
           r->llc / point);
    printf("| three buck stages: to their periodic states, duty found | %.1f | %.0f |\n",
           1e3 * (r->buck + r->other_bucks), (r->buck + r->other_bucks) / point);
    printf("| once each, at given temperatures | %.1f | %.0f |\n", 1e3 * pass, pass / point);
    printf("| in each of the %.1f rounds that losses and temperatures take to agree | %.1f | %.0f |\n",
           largest->cold_rounds, 1e3 * pass * largest->cold_rounds, pass * largest->cold_rounds / point);
    if (!r->formulas) return;
    printf("\n| formula | here, µs | plain Lua, µs | ratio |\n| --- | ---: | ---: | ---: |\n");
    for (int i = 0; i < RIVAL_FORMULAS; i++)
        printf("| %s | %.3f | %.3f | %.0f |\n", r->formula[i].name, 1e6 * r->formula[i].here,
               1e6 * r->formula[i].lua, r->formula[i].lua / r->formula[i].here);
}

static void print_json(const figures f[], size_t n, const rivals *r, const figures *largest)
{
    printf("{\"schema\":\"heatledger.bench/1\",\"adapters\":[");
    for (size_t i = 0; i < n; i++)
        printf("%s{\"design\":\"%s\",\"parts\":%zu,\"nodes\":%zu,\"points\":%lu,\"unsolved\":%lu,"
               "\"cold_per_second\":%.1f,\"cold_rounds\":%.3f,\"warm_per_second\":%.1f,\"warm_rounds\":%.3f,"
               "\"rate_beside_another\":%.3f,\"bytes_per_million_points\":%.0f,\"stages_us\":%.2f,"
               "\"parts_us\":%.2f,\"buses_us\":%.2f,\"network_us\":%.2f}",
               i ? "," : "", f[i].name, f[i].parts, f[i].nodes, f[i].points, f[i].unsolved, f[i].cold,
               f[i].cold_rounds, f[i].warm, f[i].warm_rounds, f[i].two_threads, f[i].growth, f[i].stages,
               f[i].items, f[i].buses, f[i].network);
    printf("],\"time_domain\":{\"llc_s\":%.6f,\"llc_stage_s\":%.4g,\"buck_s\":%.6f,\"buck_stage_s\":%.4g,"
           "\"other_bucks_s\":%.6f,\"boost_s\":%.6f,\"boost_half_lines\":%u,\"boost_cycles\":%.0f},"
           "\"lua\":[",
           r->llc, 1e-6 * largest->llc, r->buck, 1e-6 * largest->buck, r->other_bucks, r->boost,
           r->half_lines, r->cycles);
    for (int i = 0; i < RIVAL_FORMULAS && r->formulas; i++)
        printf("%s{\"formula\":\"%s\",\"here_s\":%.4g,\"lua_s\":%.4g}", i ? "," : "", r->formula[i].name,
               r->formula[i].here, r->formula[i].lua);
    printf("]}\n");
}

int main(int argc, char **argv)
{
    figures f[SCRIPTS_MAX] = {{0}};
    if ((argc == 4 || argc == 5) && argv[1][0] != '-') {
        bool warm = argc == 5 && !strcmp(argv[4], "warm");
        return with_adapter(argv[1], 0, strtoul(argv[3], NULL, 10), false, warm, f) ? EXIT_SUCCESS
                                                                                    : EXIT_FAILURE;
    }
    bool json = false, models = false;
    double seconds = 2;
    size_t n = 0, largest = 0;
    for (int i = 1; i < argc && n < SCRIPTS_MAX; i++) {
        if (!strcmp(argv[i], "--json"))
            json = true;
        else if (!strcmp(argv[i], "--models"))
            models = true;
        else if (!strcmp(argv[i], "--seconds") && i + 1 < argc)
            seconds = strtod(argv[++i], NULL);
        else if (!with_adapter(argv[i], seconds, 0, false, false, &f[n++]))
            return EXIT_FAILURE;
    }
    if (!n) return EXIT_FAILURE;
    for (size_t i = 1; i < n; i++)
        if (f[i].parts > f[largest].parts) largest = i;
    rivals r = {
        .llc = rival_llc_seconds(), .buck = rival_buck_seconds(), .other_bucks = rival_other_bucks_seconds()};
    r.boost = rival_boost_seconds(&r.cycles, &r.half_lines);
    r.formulas = rival_formulas(HL_TEST_SOURCE "/bench/plain.lua", r.formula);
    if (json) {
        print_json(f, n, &r, &f[largest]);
        return EXIT_SUCCESS;
    }
    print_adapters(f, n);
    print_rivals(&r, &f[largest]);
    figures unused;
    if (models) with_adapter(f[largest].script, 0, 0, true, false, &unused);
    return EXIT_SUCCESS;
}
