#include "prove/kit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "heatledger/catalogue.h"
#include "prove/checks.h"
#include "prove/child.h"

const check prove_checks[] = {
    {"prepare", true, false, check_prepare},
    {"prepare", false, true, check_stage_values},
    {"bad values", true, false, check_bad_values},
    {"losses", true, false, check_losses},
    {"zero stress", true, false, check_zero_stress},
    {"slope", true, false, check_slope},
    {"current scaling", true, false, check_current_scaling},
    {"frequency scaling", true, false, check_frequency_scaling},
    {"terminal", true, false, check_terminal},
    {"impedance", true, false, check_impedance},
    {"limits", true, false, check_limits},
    {"books", false, true, check_books},
    {"reasons", false, true, check_reasons},
    {"outside", false, true, check_outside},
    {"warm start", false, true, check_warm_start},
    {"scratch", false, true, check_scratch},
    {"repeatable", true, true, check_repeatable},
    {"own memory", true, true, check_own_memory},
    {"allocation", true, true, check_allocation},
    {"static data", true, true, check_static_data},
    {"threads", true, true, check_threads},
    {NULL, false, false, NULL},
};

const char *verdict_name(verdict v)
{
    static const char *const names[] = {"not ended", "pass", "fail", "crash", "hang", "not run"};
    return names[v];
}

/* Models as the child that loaded the plugin saw them; in shared memory. */
typedef struct listing {
    size_t n;
    kit_model models[KIT_MODELS];
} listing;

typedef struct loading {
    const char *path;
    listing *list;
} loading;

/* Diagnostics in one text, a line each. */
static void gather(const hl_diagnostics *diagnostics, finding *found)
{
    size_t used = 0;
    for (size_t i = 0; i < hl_diagnostics_count(diagnostics); i++) {
        if (hl_diagnostics_severity(diagnostics, i) < HL_WARNING) continue;
        int n = snprintf(found->detail + used, DETAIL_SIZE - used, "%s%s", used ? "\n" : "",
                         hl_diagnostics_text(diagnostics, i));
        if (n < 0 || (size_t)n >= DETAIL_SIZE - used) return;
        used += (size_t)n;
    }
}

/* A host with this plugin alone; NULL with the reasons in the finding.  In a child, and never given back:
 * what a plugin left behind, a thread of its own for one, may still use it until the process ends. */
static hl_host *load_plugin(const char *path, finding *found)
{
    static hl_host *volatile held; /* as whoever looks for lost memory is told */
    hl_host *host = hl_host_create();
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    snprintf(found->doing, sizeof found->doing, "loading");
    bool loaded = host && diagnostics && hl_host_load(host, path, diagnostics) == HL_OK;
    found->doing[0] = 0;
    if (!loaded) {
        found->verdict = VERDICT_FAIL;
        snprintf(found->detail, DETAIL_SIZE, "memory ran out");
        if (diagnostics) gather(diagnostics, found);
        hl_host_destroy(host);
        host = NULL;
    }
    hl_diagnostics_destroy(diagnostics);
    held = host;
    return held;
}

static void list_models(void *argument, finding *found)
{
    loading *what = argument;
    hl_host *host = load_plugin(what->path, found);
    if (!host) return;
    size_t n = hl_host_models(host);
    for (size_t i = 0; i < n && i < KIT_MODELS; i++) {
        const hl_model *model = hl_host_model(host, i);
        kit_model *entry = &what->list->models[i];
        snprintf(entry->name, sizeof entry->name, "%s", model->name);
        entry->device = model->device != NULL;
        snprintf(entry->kind, sizeof entry->kind, "%s",
                 model->device ? hl_family_name(model->device->family) : "stage");
        what->list->n = i + 1;
    }
    found->verdict = n <= KIT_MODELS ? VERDICT_PASS : VERDICT_FAIL;
    snprintf(found->detail, DETAIL_SIZE, "%zu model%s%s", n, n == 1 ? "" : "s",
             n <= KIT_MODELS ? "" : ", more than can be tried");
}

typedef struct work {
    const char *path, *model;
    const check *what;
    kit_draws draws;
} work;

static void run_check(void *argument, finding *found)
{
    work *w = argument;
    hl_host *host = load_plugin(w->path, found);
    if (!host) return;
    trial t = {.model = hl_host_find(host, w->model),
               .luck = {w->draws.seed},
               .times = w->draws.times,
               .found = found};
    if (!t.model) return;
    child_observe(&t);
    if (w->what->run(&t) && found->verdict == VERDICT_NONE) found->verdict = VERDICT_PASS;
    child_observe(NULL);
}

static void count(kit_report *report, const finding *found)
{
    report->checks++;
    report->passed += found->verdict == VERDICT_PASS;
}

/* One check in a child; its finding is copied out of the shared memory. */
static bool prove_check(kit_report *report, kit_model *model, const check *what, kit_draws draws, bool hung,
                        finding *shared)
{
    work w = {report->path, model->name, what, draws};
    finding *own = malloc(sizeof *own);
    if (!own) return false;
    memset(shared, 0, sizeof *shared);
    if (hung) {
        shared->verdict = VERDICT_SKIP;
        snprintf(shared->detail, DETAIL_SIZE, "not run, since the model hung before");
    } else {
        child_run(run_check, &w, shared);
    }
    *own = *shared;
    own->detail[DETAIL_SIZE - 1] = own->inputs[INPUTS_SIZE - 1] = 0;
    model->checks[model->n].name = what->name;
    model->checks[model->n++].found = own;
    count(report, own);
    return true;
}

static bool prove_model(kit_report *report, kit_model *model, kit_draws draws, finding *shared)
{
    bool hung = false;
    for (const check *what = prove_checks; what->name; what++) {
        if (!(model->device ? what->device : what->stage)) continue;
        if (!prove_check(report, model, what, draws, hung, shared)) return false;
        hung = hung || model->checks[model->n - 1].found->verdict == VERDICT_HANG;
    }
    return true;
}

static void no_such_model(kit_report *report, const listing *list, const char *model)
{
    report->table.verdict = VERDICT_FAIL;
    int n = snprintf(report->table.detail, DETAIL_SIZE, "no model '%.60s' in it; it has", model);
    for (size_t i = 0; i < list->n && n > 0 && n < DETAIL_SIZE; i++)
        n += snprintf(report->table.detail + n, DETAIL_SIZE - (size_t)n, "%s %s", i ? "," : "",
                      list->models[i].name);
}

static bool prove_models(kit_report *report, const listing *list, const char *only, kit_draws draws,
                         finding *shared)
{
    report->models = calloc(list->n + 1, sizeof *report->models);
    if (!report->models) return false;
    for (size_t i = 0; i < list->n; i++) {
        if (only && strcmp(only, list->models[i].name)) continue;
        kit_model *model = &report->models[report->n++];
        *model = list->models[i];
        if (!prove_model(report, model, draws, shared)) return false;
    }
    if (only && !report->n) no_such_model(report, list, only);
    return true;
}

kit_report *kit_prove(const char *path, const char *model, kit_draws draws)
{
    kit_report *report = calloc(1, sizeof *report);
    finding *shared = child_share(sizeof *shared);
    listing *list = child_share(sizeof *list);
    bool good = report && shared && list;
    if (good) {
        loading what = {path, list};
        snprintf(report->path, sizeof report->path, "%s", path);
        child_run(list_models, &what, shared);
        report->table = *shared;
        if (report->table.verdict == VERDICT_PASS) good = prove_models(report, list, model, draws, shared);
        count(report, &report->table);
    }
    child_unshare(shared, sizeof *shared);
    child_unshare(list, sizeof *list);
    if (good) return report;
    kit_report_destroy(report);
    return NULL;
}

void kit_report_destroy(kit_report *report)
{
    if (!report) return;
    for (size_t i = 0; i < report->n; i++)
        for (size_t k = 0; k < report->models[i].n; k++) free(report->models[i].checks[k].found);
    free(report->models);
    free(report);
}
