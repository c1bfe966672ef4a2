#include "stage_bench.h"

#include <dlfcn.h>
#include <math.h>
#include <string.h>

#include "story.h"

/* ------------------------------------------------------------ ideal parts -- */

static size_t ideal_size(const hl_value *values)
{
    (void)values;
    return sizeof(hl_terminal);
}

static bool ideal_prepare(void *state, const hl_value *values, hl_reason *reason)
{
    (void)state, (void)values, (void)reason;
    return true;
}

static void ideal_present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)temperature, (void)voltage;
    *terminal = *(const hl_terminal *)state;
}

static void ideal_loss(const void *state, const hl_stress *stress, double temperature, hl_loss *loss)
{
    (void)state, (void)stress, (void)temperature, (void)loss;
}

static size_t ideal_limits(const void *state, const hl_stress *stress, double temperature, hl_limit limits[])
{
    (void)state, (void)stress, (void)temperature, (void)limits;
    return 0;
}

static void ideal_impedance(const void *state, double temperature, double voltage, double frequency,
                            double *real, double *imaginary)
{
    (void)temperature, (void)voltage;
    const hl_terminal *part = state;
    double w = 6.283185307179586 * frequency;
    *real = part->resistance;
    *imaginary = w * part->series_inductance - 1.0 / (w * part->capacitance);
}

#define IDEAL(kind)                                                                                          \
    .struct_size = sizeof(hl_device), .family = kind, .state_size = ideal_size, .prepare = ideal_prepare,    \
    .present = ideal_present, .loss = ideal_loss, .limits = ideal_limits
static const hl_device ideal[HL_FAMILIES] = {
    {IDEAL(HL_FAMILY_SWITCH)},
    {IDEAL(HL_FAMILY_DIODE)},
    {IDEAL(HL_FAMILY_CAPACITOR), .impedance = ideal_impedance},
    {IDEAL(HL_FAMILY_MAGNETIC)},
    {IDEAL(HL_FAMILY_RESISTOR)},
};

/* ----------------------------------------------------------------- set-up -- */

static const hl_model *stage_model(const hl_plugin *plugin, const char *name)
{
    for (size_t i = 0; i < plugin->n_models; i++) {
        const hl_model *model = plugin->models[i];
        if (model->stage && (!name || !strcmp(model->name, name))) return model;
    }
    return NULL;
}

static void set_defaults(stage_bench *bench)
{
    for (size_t i = 0; i < bench->model->n_parameters; i++) {
        const hl_parameter *parameter = &bench->model->parameters[i];
        hl_value *value = &bench->values[i];
        if (!(parameter->flags & HL_DEFAULT)) continue;
        value->number = value->minimum = value->maximum = parameter->fallback;
        value->origin = HL_ORIGIN_ESTIMATE;
        value->given = true;
    }
}

stage_bench *stage_bench_create(const char *plugin, const char *model)
{
    stage_bench *bench = calloc(1, sizeof *bench);
    char path[1024];
    snprintf(path, sizeof path, "%s/%s.so", HL_TEST_PLUGINS, plugin);
    bench->library = dlopen(path, RTLD_LAZY | RTLD_LOCAL);
    if (!bench->library) ck_abort_msg("cannot load %s: %s", path, dlerror());
    const hl_plugin *table = dlsym(bench->library, HL_PLUGIN_SYMBOL);
    if (!table) ck_abort_msg("%s has no plugin table", path);
    bench->model = stage_model(table, model);
    if (!bench->model) ck_abort_msg("%s has no stage model %s", path, model ? model : "at all");
    bench->values = calloc(bench->model->n_parameters + 1, sizeof *bench->values);
    set_defaults(bench);
    const hl_stage *stage = bench->model->stage;
    bench->scratch.size = stage->scratch_size;
    bench->scratch.base = malloc(stage->scratch_size + 1);
    bench->in.struct_size = sizeof bench->in;
    bench->in.values = bench->values;
    bench->in.scratch = &bench->scratch;
    bench->in.memory = calloc(1, stage->memory_size + 1);
    for (size_t s = 0; s < HL_SLOTS_MAX; s++) bench->in.slot[s].temperature = 298.15;
    return bench;
}

void stage_bench_destroy(stage_bench *bench)
{
    if (!bench) return;
    free(bench->in.memory);
    free(bench->scratch.base);
    free(bench->values);
    dlclose(bench->library);
    free(bench);
}

static size_t parameter_index(const stage_bench *bench, const char *name)
{
    for (size_t i = 0; i < bench->model->n_parameters; i++)
        if (!strcmp(bench->model->parameters[i].name, name)) return i;
    ck_abort_msg("%s has no parameter %s", bench->model->name, name);
    return 0;
}

static size_t slot_index(const stage_bench *bench, const char *name)
{
    for (size_t i = 0; i < bench->model->stage->n_slots; i++)
        if (!strcmp(bench->model->stage->slots[i].name, name)) return i;
    ck_abort_msg("%s has no slot %s", bench->model->name, name);
    return 0;
}

void stage_bench_set(stage_bench *bench, const char *parameter, double number)
{
    hl_value *value = &bench->values[parameter_index(bench, parameter)];
    value->number = value->minimum = value->maximum = number;
    value->origin = HL_ORIGIN_BENCH;
    value->given = true;
}

void stage_bench_unset(stage_bench *bench, const char *parameter)
{
    memset(&bench->values[parameter_index(bench, parameter)], 0, sizeof(hl_value));
}

void stage_bench_choose(stage_bench *bench, const char *parameter, const char *word)
{
    const char *const *choice = bench->model->parameters[parameter_index(bench, parameter)].choices;
    if (!choice) ck_abort_msg("%s is not a choice", parameter);
    for (size_t i = 0; choice[i]; i++) {
        if (strcmp(choice[i], word)) continue;
        stage_bench_set(bench, parameter, (double)i);
        return;
    }
    ck_abort_msg("%s has no choice %s", parameter, word);
}

hl_terminal *stage_bench_fill(stage_bench *bench, const char *slot, hl_family family, unsigned count)
{
    size_t s = slot_index(bench, slot);
    hl_terminal *part = &bench->part[s];
    memset(part, 0, sizeof *part);
    part->struct_size = sizeof *part;
    bench->in.slot[s].count = count;
    bench->in.slot[s].device = count ? &ideal[family] : NULL;
    bench->in.slot[s].state = count ? part : NULL;
    return part;
}

void stage_bench_load(stage_bench *bench, double voltage, double current)
{
    bench->in.output_voltage = voltage;
    bench->in.load.voltage = voltage;
    bench->in.load.current = current;
    bench->in.load.power = voltage * current;
}

/* ------------------------------------------------------------------ solve -- */

hl_stage_status stage_bench_solve(stage_bench *bench)
{
    bench->scratch.used = 0;
    memset(&bench->out, 0, sizeof bench->out);
    bench->out.struct_size = sizeof bench->out;
    hl_stage_status status = bench->model->stage->solve(&bench->in, &bench->out);
    if (status == HL_STAGE_NO_MEMORY) ck_abort_msg("%s outgrew its scratch", bench->model->name);
    return status;
}

void stage_bench_expect_solved(stage_bench *bench)
{
    if (stage_bench_solve(bench) != HL_STAGE_SOLVED)
        ck_abort_msg("%s: %s", bench->model->name, bench->out.reason.text);
}

void stage_bench_forget(stage_bench *bench)
{
    memset(bench->in.memory, 0, bench->model->stage->memory_size);
}

/* -------------------------------------------------------------- questions -- */

static const hl_quantity *find_quantity(const stage_bench *bench, const char *name)
{
    for (size_t i = 0; i < bench->out.quantities; i++)
        if (!strcmp(bench->out.quantity[i].name, name)) return &bench->out.quantity[i];
    return NULL;
}

bool stage_bench_has(const stage_bench *bench, const char *name)
{
    return find_quantity(bench, name) != NULL;
}

double stage_bench_quantity(const stage_bench *bench, const char *name)
{
    const hl_quantity *quantity = find_quantity(bench, name);
    if (!quantity) ck_abort_msg("%s gives no quantity %s", bench->model->name, name);
    return quantity->value;
}

const hl_stress *stage_bench_stress(const stage_bench *bench, const char *slot)
{
    return &bench->out.stress[slot_index(bench, slot)];
}

double stage_bench_imbalance(const stage_bench *bench)
{
    const hl_stage_output *out = &bench->out;
    double off = out->input.power - out->output.power - out->circuit_loss - bench->in.extra_loss;
    double scale = fabs(out->input.power);
    return scale > 0 ? fabs(off) / scale : fabs(off);
}

static bool finite_side(const hl_side *side)
{
    return isfinite(side->voltage) && isfinite(side->current) && isfinite(side->power) &&
           isfinite(side->current_peak) && isfinite(side->voltage_peak);
}

static const char *stress_fault(const hl_stress *stress)
{
    const double *const array[] = {
        stress->weight,          stress->frequency,    stress->current_average,
        stress->current_rms,     stress->current_peak, stress->current_on,
        stress->current_off,     stress->voltage_on,   stress->voltage_off,
        stress->reverse_average, stress->reverse_rms,  stress->slope_off,
        stress->charge_on,       stress->duty,
    };
    double weights = 0;
    for (size_t k = 0; k < stress->n; k++) {
        weights += hl_stress_at(stress->weight, k);
        for (size_t a = 0; a < sizeof array / sizeof array[0]; a++)
            if (!isfinite(hl_stress_at(array[a], k))) return "a figure of a stress is not finite";
    }
    if (stress->n && !(fabs(weights - 1.0) < 1e-12)) return "the weights of a stress do not sum to one";
    for (size_t k = 0; k < stress->lines; k++)
        if (!isfinite(stress->line_rms_squared[k]) || !(stress->line_frequency[k] >= 0))
            return "a spectral line is not finite";
    if (!isfinite(stress->voltage_dc) || !isfinite(stress->voltage_peak) || !isfinite(stress->flux_bias) ||
        !isfinite(stress->total_rms) || !isfinite(stress->total_average) || !isfinite(stress->total_peak))
        return "a total of a stress is not finite";
    return NULL;
}

const char *stage_bench_fault(const stage_bench *bench, double relative)
{
    const hl_stage_output *out = &bench->out;
    if (out->quantities > HL_QUANTITIES_MAX) return "more quantities than there is room for";
    for (size_t i = 0; i < out->quantities; i++)
        if (!isfinite(out->quantity[i].value)) return out->quantity[i].name;
    if (!finite_side(&out->input) || !finite_side(&out->output)) return "a figure of a side is not finite";
    for (size_t s = 0; s < HL_SLOTS_MAX; s++) {
        const char *fault = stress_fault(&out->stress[s]);
        if (fault) return fault;
    }
    if (!(stage_bench_imbalance(bench) <= relative)) return "input, output and losses do not balance";
    return NULL;
}

void stage_bench_check_contract(const stage_bench *bench, double relative)
{
    const char *fault = stage_bench_fault(bench, relative);
    if (fault)
        ck_abort_msg("%s: %s (imbalance %.3g of the input)", bench->model->name, fault,
                     stage_bench_imbalance(bench));
}
