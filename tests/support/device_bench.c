#include "device_bench.h"

#include <dlfcn.h>
#include <string.h>

#include "story.h"

void device_bench_reset(device_bench *bench)
{
    memset(bench->values, 0, sizeof bench->values);
    for (size_t i = 0; i < bench->model->n_parameters; i++) {
        const hl_parameter *p = &bench->model->parameters[i];
        hl_value *v = &bench->values[i];
        if (!(p->flags & HL_DEFAULT)) continue;
        v->number = v->minimum = v->maximum = p->fallback;
        v->origin = HL_ORIGIN_ESTIMATE;
        v->given = true;
    }
}

device_bench *device_bench_create(const char *name)
{
    char path[1024];
    device_bench *bench = calloc(1, sizeof *bench);
    ck_assert_ptr_nonnull(bench);
    snprintf(path, sizeof path, "%s/%s.so", HL_TEST_PLUGINS, name);
    bench->library = dlopen(path, RTLD_LAZY | RTLD_LOCAL);
    ck_assert_msg(bench->library != NULL, "%s", dlerror());
    const hl_plugin *plugin = dlsym(bench->library, HL_PLUGIN_SYMBOL);
    ck_assert_msg(plugin && plugin->n_models == 1, "%s: not a plugin of one model", path);
    bench->model = plugin->models[0];
    ck_assert_msg(bench->model->device != NULL, "%s: no device", name);
    ck_assert(bench->model->n_parameters <= DEVICE_BENCH_PARAMETERS);
    device_bench_reset(bench);
    return bench;
}

void device_bench_destroy(device_bench *bench)
{
    free(bench->state);
    dlclose(bench->library);
    free(bench);
}

static size_t index_of(const device_bench *bench, const char *name)
{
    for (size_t i = 0; i < bench->model->n_parameters; i++)
        if (!strcmp(bench->model->parameters[i].name, name)) return i;
    ck_abort_msg("%s: no parameter '%s'", bench->model->name, name);
    return 0;
}

void device_bench_set(device_bench *bench, const char *parameter, double number)
{
    hl_value *v = &bench->values[index_of(bench, parameter)];
    v->number = v->minimum = v->maximum = number;
    v->origin = HL_ORIGIN_DATASHEET;
    v->given = true;
}

void device_bench_choose(device_bench *bench, const char *parameter, const char *word)
{
    const char *const *choices = bench->model->parameters[index_of(bench, parameter)].choices;
    for (size_t i = 0; choices && choices[i]; i++)
        if (!strcmp(choices[i], word)) {
            device_bench_set(bench, parameter, (double)i);
            return;
        }
    ck_abort_msg("%s.%s: no choice '%s'", bench->model->name, parameter, word);
}

void device_bench_curve(device_bench *bench, const char *parameter, size_t n, const double x[],
                        const double y[])
{
    size_t i = index_of(bench, parameter);
    ck_assert(n <= DEVICE_BENCH_CURVE && bench->model->parameters[i].kind == HL_CURVE);
    memcpy(bench->x[i], x, n * sizeof *x);
    memcpy(bench->y[i], y, n * sizeof *y);
    bench->values[i] = (hl_value){.number = y[0],
                                  .minimum = y[0],
                                  .maximum = y[0],
                                  .curve = {n, bench->x[i], bench->y[i], false},
                                  .origin = HL_ORIGIN_DATASHEET,
                                  .given = true};
}

bool device_bench_prepare(device_bench *bench)
{
    const hl_device *d = bench->model->device;
    free(bench->state);
    size_t size = d->state_size(bench->values);
    bench->state = calloc(1, size ? size : 1);
    ck_assert_ptr_nonnull(bench->state);
    memset(&bench->reason, 0, sizeof bench->reason);
    return d->prepare(bench->state, bench->values, &bench->reason);
}

void device_bench_expect_prepared(device_bench *bench)
{
    if (!device_bench_prepare(bench)) ck_abort_msg("%s: %s", bench->model->name, bench->reason.text);
}

hl_terminal device_bench_terminal(const device_bench *bench, double temperature, double voltage)
{
    hl_terminal t;
    memset(&t, 0, sizeof t);
    t.struct_size = sizeof t;
    bench->model->device->present(bench->state, temperature, voltage, &t);
    return t;
}

hl_loss device_bench_loss(const device_bench *bench, const hl_stress *stress, double temperature)
{
    hl_loss loss;
    memset(&loss, 0, sizeof loss);
    loss.struct_size = sizeof loss;
    bench->model->device->loss(bench->state, stress, temperature, &loss);
    return loss;
}

double device_bench_watts(const hl_loss *loss)
{
    double sum = 0.0;
    for (int m = 0; m < HL_MECHANISMS; m++) sum += loss->watts[m];
    return sum;
}

hl_limit device_bench_limit(const device_bench *bench, const hl_stress *stress, double temperature,
                            const char *name)
{
    hl_limit list[HL_LIMITS_MAX];
    size_t n = bench->model->device->limits(bench->state, stress, temperature, list);
    ck_assert(n <= HL_LIMITS_MAX);
    for (size_t i = 0; i < n; i++)
        if (!strcmp(list[i].name, name)) return list[i];
    ck_abort_msg("%s: no limit '%s'", bench->model->name, name);
    return list[0];
}

hl_stress one_cycle_stress(one_cycle_store *store, one_cycle figures)
{
    store->weight = 1.0;
    store->figures = figures;
    const one_cycle *f = &store->figures;
    return (hl_stress){.struct_size = sizeof(hl_stress),
                       .n = 1,
                       .weight = &store->weight,
                       .frequency = &f->frequency,
                       .current_average = &f->average,
                       .current_rms = &f->rms,
                       .current_peak = &f->peak,
                       .current_on = &f->on,
                       .current_off = &f->off,
                       .voltage_on = &f->voltage_on,
                       .voltage_off = &f->voltage_off,
                       .reverse_average = &f->reverse,
                       .reverse_rms = &f->reverse_rms,
                       .slope_off = &f->slope,
                       .charge_on = &f->swing,
                       .duty = &f->duty,
                       .total_average = f->average,
                       .total_rms = f->rms,
                       .total_peak = f->peak};
}
