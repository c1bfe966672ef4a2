#include "magnetic_bench.h"

#include <dlfcn.h>
#include <math.h>
#include <string.h>

#include "story.h"

static const double pi = 3.14159265358979324;

magnetic_bench *magnetic_bench_create(const char *name)
{
    char path[512];
    magnetic_bench *bench = calloc(1, sizeof *bench);
    ck_assert_ptr_nonnull(bench);
    snprintf(path, sizeof path, "%s/%s.so", HL_TEST_PLUGINS, name);
    bench->library = dlopen(path, RTLD_LAZY | RTLD_LOCAL);
    if (!bench->library) ck_abort_msg("cannot load %s: %s", path, dlerror());
    const hl_plugin *plugin = dlsym(bench->library, HL_PLUGIN_SYMBOL);
    ck_assert_ptr_nonnull(plugin);
    bench->model = plugin->models[0];
    size_t n = bench->model->n_parameters;
    bench->values = calloc(n, sizeof *bench->values);
    bench->lists = calloc(n * 2 * MAGNETIC_LIST, sizeof *bench->lists);
    bench->segments = calloc(MAGNETIC_SEGMENTS, sizeof *bench->segments);
    ck_assert(bench->values && bench->lists && bench->segments);
    for (size_t i = 0; i < n; i++)
        if (bench->model->parameters[i].flags & HL_DEFAULT)
            magnetic_bench_set(bench, bench->model->parameters[i].name, bench->model->parameters[i].fallback);
    return bench;
}

void magnetic_bench_destroy(magnetic_bench *bench)
{
    dlclose(bench->library);
    free(bench->values);
    free(bench->lists);
    free(bench->segments);
    free(bench->state);
    free(bench);
}

static size_t find(const magnetic_bench *bench, const char *parameter)
{
    for (size_t i = 0; i < bench->model->n_parameters; i++)
        if (strcmp(bench->model->parameters[i].name, parameter) == 0) return i;
    ck_abort_msg("model %s has no parameter %s", bench->model->name, parameter);
    return 0;
}

static void put(magnetic_bench *bench, size_t i, size_t n, const double x[], const double y[])
{
    double *own = bench->lists + i * 2 * MAGNETIC_LIST;
    ck_assert_uint_le(n, MAGNETIC_LIST);
    for (size_t k = 0; k < n; k++) {
        own[k] = x ? x[k] : 0.0;
        own[MAGNETIC_LIST + k] = y[k];
    }
    hl_parameter_kind kind = bench->model->parameters[i].kind;
    bench->values[i] = (hl_value){
        .number = y[0], .minimum = y[0], .maximum = y[0], .origin = HL_ORIGIN_BENCH, .given = true};
    if (kind != HL_NUMBER && kind != HL_CHOICE)
        bench->values[i].curve = (hl_curve){n, kind == HL_CURVE ? own : NULL, own + MAGNETIC_LIST, false};
}

void magnetic_bench_set(magnetic_bench *bench, const char *parameter, double number)
{
    put(bench, find(bench, parameter), 1, NULL, &number);
}

void magnetic_bench_list(magnetic_bench *bench, const char *parameter, size_t n, const double entry[])
{
    size_t i = find(bench, parameter);
    ck_assert_int_eq(bench->model->parameters[i].kind, HL_LIST);
    put(bench, i, n, NULL, entry);
}

size_t magnetic_bench_curve(magnetic_bench *bench, const char *parameter, size_t n, const double x[],
                            const double y[])
{
    size_t i = find(bench, parameter);
    ck_assert_int_eq(bench->model->parameters[i].kind, HL_CURVE);
    put(bench, i, n, x, y);
    return i;
}

void magnetic_bench_choose(magnetic_bench *bench, const char *parameter, const char *words)
{
    size_t i = find(bench, parameter), n = 0;
    double index[MAGNETIC_LIST];
    const char *const *choices = bench->model->parameters[i].choices;
    ck_assert_ptr_nonnull(choices);
    while (*words) {
        size_t length = strcspn(words, " "), c = 0;
        while (choices[c] && (strlen(choices[c]) != length || strncmp(choices[c], words, length) != 0)) c++;
        if (!choices[c]) ck_abort_msg("%s has no choice %s", parameter, words);
        index[n++] = (double)c;
        words += length + strspn(words + length, " ");
    }
    put(bench, i, n, NULL, index);
}

void magnetic_bench_unset(magnetic_bench *bench, const char *parameter)
{
    bench->values[find(bench, parameter)] = (hl_value){.given = false};
}

const char *magnetic_bench_refusal(magnetic_bench *bench)
{
    static hl_reason reason;
    const hl_device *device = bench->model->device;
    free(bench->state);
    bench->state = calloc(1, device->state_size(bench->values));
    ck_assert_ptr_nonnull(bench->state);
    memset(&reason, 0, sizeof reason);
    if (device->prepare(bench->state, bench->values, &reason)) return NULL;
    ck_assert_msg(reason.text[0], "%s refused its values without a reason", bench->model->name);
    return reason.text;
}

void magnetic_bench_prepare(magnetic_bench *bench)
{
    const char *refusal = magnetic_bench_refusal(bench);
    if (refusal) ck_abort_msg("%s: %s", bench->model->name, refusal);
}

void magnetic_bench_stress(magnetic_bench *bench, size_t cycles, size_t windings, double frequency)
{
    ck_assert_uint_le(cycles, MAGNETIC_CYCLES);
    bench->used = 0;
    memset(bench->flux, 0, sizeof bench->flux);
    memset(bench->current, 0, sizeof bench->current);
    bench->stress = (hl_stress){.struct_size = sizeof bench->stress,
                                .n = cycles,
                                .weight = bench->weight,
                                .frequency = bench->frequency,
                                .flux_voltage = bench->flux,
                                .windings = windings};
    for (size_t w = 0; w < windings; w++) bench->stress.winding_current[w] = bench->current[w];
    for (size_t k = 0; k < cycles; k++) {
        bench->weight[k] = 1.0 / (double)cycles;
        bench->frequency[k] = frequency;
    }
}

hl_segment *magnetic_bench_segments(magnetic_bench *bench, size_t n)
{
    ck_assert_uint_le(bench->used + n, MAGNETIC_SEGMENTS);
    hl_segment *s = bench->segments + bench->used;
    bench->used += n;
    return s;
}

hl_wave magnetic_bench_corners(magnetic_bench *bench, double frequency, size_t n, const double corner[][2])
{
    hl_segment *s = magnetic_bench_segments(bench, n);
    size_t m = 0;
    for (size_t i = 0; i + 1 < n; i++) {
        double share = corner[i + 1][0] - corner[i][0];
        if (!(share > 0.0)) continue;
        s[m++] = (hl_segment){.duration = share / frequency,
                              .offset = corner[i][1],
                              .slope = (corner[i + 1][1] - corner[i][1]) * frequency / share};
    }
    return (hl_wave){m, s};
}

hl_wave magnetic_bench_steps(magnetic_bench *bench, double frequency, size_t n, const double share[],
                             const double value[])
{
    hl_segment *s = magnetic_bench_segments(bench, n);
    for (size_t i = 0; i < n; i++) s[i] = (hl_segment){.duration = share[i] / frequency, .offset = value[i]};
    return (hl_wave){n, s};
}

hl_wave magnetic_bench_sine(magnetic_bench *bench, double frequency, double rms)
{
    hl_segment *s = magnetic_bench_segments(bench, 1);
    *s = (hl_segment){.duration = 1.0 / frequency, .omega = 2.0 * pi * frequency, .sine = sqrt(2.0) * rms};
    return (hl_wave){1, s};
}

hl_loss magnetic_bench_loss(const magnetic_bench *bench, double temperature)
{
    hl_loss loss = {.struct_size = sizeof loss};
    bench->model->device->loss(bench->state, &bench->stress, temperature, &loss);
    return loss;
}

static double sum_of(const hl_loss *loss)
{
    double sum = 0.0;
    for (int m = 0; m < HL_MECHANISMS; m++) sum += loss->watts[m];
    return sum;
}

double magnetic_bench_watts(const magnetic_bench *bench, double temperature)
{
    hl_loss loss = magnetic_bench_loss(bench, temperature);
    return sum_of(&loss);
}

hl_terminal magnetic_bench_terminal(const magnetic_bench *bench, double temperature)
{
    hl_terminal terminal = {.struct_size = sizeof terminal};
    bench->model->device->present(bench->state, temperature, 0.0, &terminal);
    return terminal;
}

hl_limit magnetic_bench_limit(const magnetic_bench *bench, const char *name, double temperature)
{
    hl_limit limit[HL_LIMITS_MAX];
    size_t n = bench->model->device->limits(bench->state, &bench->stress, temperature, limit);
    for (size_t i = 0; i < n; i++)
        if (strcmp(limit[i].name, name) == 0) return limit[i];
    ck_abort_msg("%s checks no %s", bench->model->name, name);
    return limit[0];
}

void magnetic_bench_check_slope(const magnetic_bench *bench, double relative)
{
    for (double t = 250.0; t < 430.0; t += 12.5) {
        double step = 0.05;
        hl_loss loss = magnetic_bench_loss(bench, t);
        /* fourth order, so that its own error is below 1e-9 */
        double far = magnetic_bench_watts(bench, t + 2 * step) - magnetic_bench_watts(bench, t - 2 * step);
        double near = magnetic_bench_watts(bench, t + step) - magnetic_bench_watts(bench, t - step);
        double difference = (8.0 * near - far) / (12.0 * step);
        ck_near(loss.slope, difference, relative, relative * sum_of(&loss) / 1000.0);
    }
}

void magnetic_bench_check_rest(magnetic_bench *bench)
{
    hl_stress kept = bench->stress;
    bench->stress = (hl_stress){.struct_size = sizeof kept};
    ck_assert_double_eq(magnetic_bench_watts(bench, 350.0), 0.0);
    magnetic_bench_stress(bench, 3, 2, 1e5);
    ck_assert_double_eq(magnetic_bench_watts(bench, 350.0), 0.0);
    bench->stress = kept;
}
