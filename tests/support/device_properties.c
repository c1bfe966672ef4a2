#include "device_properties.h"

#include <math.h>
#include <string.h>
#include <time.h>

#include "story.h"

/* ------------------------------------------------------------------ draw -- */

static bool now_and_then(lottery *luck, double share)
{
    return lottery_between(luck, 0.0, 1.0) < share;
}

static double within(lottery *luck, double low, double high)
{
    if (low == high) return low;
    if (low > 0.0 && high / low > 10.0) return lottery_scale(luck, low, high);
    return lottery_between(luck, low, high);
}

static double abscissa(lottery *luck, const char *unit)
{
    if (!strcmp(unit, "degC")) return lottery_between(luck, 230.0, 480.0);
    if (!strcmp(unit, "Hz")) return lottery_scale(luck, 10.0, 1e7);
    if (!strcmp(unit, "V")) return lottery_between(luck, 0.0, 900.0);
    return lottery_between(luck, 0.0, 60.0);
}

static void draw_curve(lottery *luck, device_bench *bench, size_t i)
{
    const hl_parameter *p = &bench->model->parameters[i];
    size_t n = 1 + lottery_below(luck, DEVICE_BENCH_CURVE - 1);
    double *x = bench->x[i], *y = bench->y[i];
    for (size_t k = 0; k < n; k++) {
        double at = abscissa(luck, p->x_dimension);
        size_t place = k;
        while (place > 0 && x[place - 1] > at) x[place] = x[place - 1], place--;
        x[place] = at;
        y[k] = within(luck, p->low, p->high);
    }
    bench->values[i] = (hl_value){.number = y[0],
                                  .curve = {n, x, y, now_and_then(luck, 0.5)},
                                  .origin = HL_ORIGIN_BENCH,
                                  .given = true};
}

void random_part_draw(lottery *luck, device_bench *bench)
{
    device_bench_reset(bench);
    for (size_t i = 0; i < bench->model->n_parameters; i++) {
        const hl_parameter *p = &bench->model->parameters[i];
        if (!(p->flags & HL_REQUIRED) && now_and_then(luck, 0.35)) continue;
        if (p->kind == HL_CURVE) {
            if (now_and_then(luck, 0.4)) draw_curve(luck, bench, i);
            continue;
        }
        double number = 0.0;
        if (p->kind == HL_CHOICE) {
            size_t n = 0;
            while (p->choices[n]) n++;
            number = (double)lottery_below(luck, n);
        } else {
            number = within(luck, p->low, p->high);
        }
        bench->values[i] = (hl_value){.number = number,
                                      .minimum = number,
                                      .maximum = number,
                                      .origin = HL_ORIGIN_DATASHEET,
                                      .given = true};
    }
}

static const double *draw_array(lottery *luck, double *room, size_t n, double low, double high)
{
    if (now_and_then(luck, 0.15)) return NULL;
    bool same = now_and_then(luck, 0.3), none = now_and_then(luck, 0.1);
    for (size_t k = 0; k < n; k++)
        room[k] = none ? 0.0 : (same && k ? room[0] : lottery_between(luck, low, high));
    return room;
}

void random_stress_draw(lottery *luck, random_stress *r)
{
    size_t n = lottery_below(luck, RANDOM_CYCLES);
    double volts = lottery_scale(luck, 1.0, 1000.0), amperes = lottery_scale(luck, 0.01, 100.0), sum = 0.0;
    memset(&r->stress, 0, sizeof r->stress);
    hl_stress *s = &r->stress;
    s->struct_size = sizeof *s;
    s->n = n;
    for (size_t k = 0; k < n; k++) sum += r->array[0][k] = lottery_between(luck, 0.1, 1.0);
    for (size_t k = 0; k < n; k++) r->array[0][k] /= sum;
    s->weight = r->array[0];
    s->frequency = draw_array(luck, r->array[1], n, 0.0, lottery_scale(luck, 50.0, 2e6));
    s->current_average = draw_array(luck, r->array[2], n, 0.0, 0.6 * amperes);
    s->current_rms = draw_array(luck, r->array[3], n, 0.0, amperes);
    s->current_peak = draw_array(luck, r->array[4], n, 0.0, 2.0 * amperes);
    s->current_on = draw_array(luck, r->array[5], n, -amperes, amperes);
    s->current_off = draw_array(luck, r->array[6], n, -amperes, amperes);
    s->voltage_on = draw_array(luck, r->array[7], n, 0.0, volts);
    s->voltage_off = draw_array(luck, r->array[8], n, 0.0, volts);
    s->reverse_average = draw_array(luck, r->array[9], n, 0.0, 0.5 * amperes);
    s->reverse_rms = draw_array(luck, r->array[10], n, 0.0, amperes);
    s->slope_off = draw_array(luck, r->array[11], n, 0.0, lottery_scale(luck, 1e5, 1e10));
    s->charge_on = draw_array(luck, r->array[12], n, 0.0, volts);
    s->lines = lottery_below(luck, RANDOM_LINES);
    for (size_t k = 0; k < s->lines; k++) {
        r->line_frequency[k] = now_and_then(luck, 0.05) ? 0.0 : lottery_scale(luck, 50.0, 5e6);
        r->line_rms_squared[k] = lottery_between(luck, 0.0, amperes);
    }
    s->line_frequency = r->line_frequency;
    s->line_rms_squared = r->line_rms_squared;
    s->voltage_dc = lottery_between(luck, -0.1 * volts, volts);
    s->voltage_peak = lottery_between(luck, 0.0, 1.2 * volts);
    s->total_rms = lottery_between(luck, 0.0, amperes);
    s->total_average = lottery_between(luck, 0.0, s->total_rms);
    s->total_peak = 2.0 * s->total_rms;
}

/* ---------------------------------------------------------------- checks -- */

static void check_figures(const device_bench *bench, const hl_loss *loss, unsigned long long seed)
{
    for (int m = 0; m < HL_MECHANISMS; m++)
        ck_assert_msg(isfinite(loss->watts[m]) && loss->watts[m] >= 0.0,
                      "%s: mechanism %d loses %g W (seed %llu)", bench->model->name, m, loss->watts[m], seed);
    ck_assert_msg(isfinite(loss->slope), "%s: slope %g (seed %llu)", bench->model->name, loss->slope, seed);
}

/* Central difference of fourth order; false where the law has a kink within reach. */
static bool difference(const device_bench *bench, const hl_stress *s, double t, double *slope)
{
    double h = 0.02, p[6], at[6] = {-2 * h, -h, h, 2 * h, -h / 2, h / 2};
    for (int i = 0; i < 6; i++) {
        hl_loss loss = device_bench_loss(bench, s, t + at[i]);
        p[i] = device_bench_watts(&loss);
    }
    double wide = (p[2] - p[1]) / (2 * h), far = (p[3] - p[0]) / (4 * h), near = (p[5] - p[4]) / h;
    *slope = (4.0 * wide - far) / 3.0;
    double other = (4.0 * near - wide) / 3.0;
    return fabs(other - *slope) <= 1e-8 * (fabs(*slope) + fabs(other)) + 1e-10 * fabs(p[2]);
}

static size_t check_slope(const device_bench *bench, const hl_stress *s, double t, unsigned long long seed)
{
    double wanted;
    hl_loss loss = device_bench_loss(bench, s, t);
    if (!difference(bench, s, t, &wanted)) return 1;
    double watts = device_bench_watts(&loss), room = 1e-6 * fabs(wanted) + 2e-10 * watts;
    ck_assert_msg(fabs(loss.slope - wanted) <= room,
                  "%s: slope %.12g W/K, by difference %.12g, loss %g W, %g K (seed %llu)", bench->model->name,
                  loss.slope, wanted, watts, t, seed);
    return 0;
}

static void check_terminal(const device_bench *bench, double t, double v, unsigned long long seed)
{
    hl_terminal a = device_bench_terminal(bench, t, v);
    double figures[] = {a.resistance,    a.voltage,          a.reverse_voltage, a.reverse_resistance,
                        a.capacitance,   a.output_charge,    a.output_energy,   a.rated_voltage,
                        a.rated_current, a.series_inductance};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        ck_assert_msg(isfinite(figures[i]) && figures[i] >= 0.0, "%s: terminal figure %zu is %g (seed %llu)",
                      bench->model->name, i, figures[i], seed);
    if (bench->model->device->family != HL_FAMILY_CAPACITOR) return;
    double real, imaginary, f[] = {0.0, 50.0, 1e5, 1e8};
    for (int i = 0; i < 4; i++) {
        bench->model->device->impedance(bench->state, t, v, f[i], &real, &imaginary);
        ck_assert_msg(isfinite(real) && isfinite(imaginary) && real >= 0.0,
                      "%s: %g + j %g ohm at %g Hz (seed %llu)", bench->model->name, real, imaginary, f[i],
                      seed);
    }
}

static void check_limits(const device_bench *bench, const hl_stress *s, double t, unsigned long long seed)
{
    hl_limit list[HL_LIMITS_MAX];
    size_t n = bench->model->device->limits(bench->state, s, t, list);
    ck_assert(n <= HL_LIMITS_MAX);
    for (size_t i = 0; i < n; i++)
        ck_assert_msg(list[i].name && list[i].unit && isfinite(list[i].value) && list[i].rated > 0.0,
                      "%s: limit '%s' %g of %g (seed %llu)", bench->model->name, list[i].name, list[i].value,
                      list[i].rated, seed);
}

static void set_array(hl_stress *s, size_t offset, const double *to)
{
    memcpy((char *)s + offset, &to, sizeof to);
}

static const double *array_of(const hl_stress *s, size_t offset)
{
    const double *array;
    memcpy(&array, (const char *)s + offset, sizeof array);
    return array;
}

/* Arrays of a stress: those over its cycles, then those over its lines. */
enum { CYCLE_ARRAYS = 13 };
static const struct {
    size_t offset;
    bool is_zeros; /* where absent */
} arrays[] = {{offsetof(hl_stress, weight), false},          {offsetof(hl_stress, frequency), false},
              {offsetof(hl_stress, current_average), false}, {offsetof(hl_stress, current_rms), false},
              {offsetof(hl_stress, current_peak), false},    {offsetof(hl_stress, current_on), true},
              {offsetof(hl_stress, current_off), true},      {offsetof(hl_stress, voltage_on), true},
              {offsetof(hl_stress, voltage_off), false},     {offsetof(hl_stress, reverse_average), true},
              {offsetof(hl_stress, reverse_rms), true},      {offsetof(hl_stress, slope_off), true},
              {offsetof(hl_stress, charge_on), true},        {offsetof(hl_stress, line_rms_squared), true},
              {offsetof(hl_stress, line_frequency), false}};

/* Any array may be absent.  One of what happens in a cycle counts as zeros then (plugin.h, hl_stress_at);
 * without the weights or the currents themselves a model may fall back on the totals, so the loss need only
 * be sound. */
static void check_absent(const device_bench *bench, const hl_stress *s, double t, unsigned long long seed)
{
    static const double zeros[RANDOM_CYCLES];
    for (size_t i = 0; i < sizeof arrays / sizeof *arrays; i++) {
        hl_stress absent = *s, none = *s;
        set_array(&absent, arrays[i].offset, NULL);
        set_array(&none, arrays[i].offset, zeros);
        hl_loss a = device_bench_loss(bench, &absent, t), b = device_bench_loss(bench, &none, t);
        check_figures(bench, &a, seed);
        check_limits(bench, &absent, t, seed);
        for (int m = 0; arrays[i].is_zeros && m < HL_MECHANISMS; m++)
            ck_assert_msg(fabs(a.watts[m] - b.watts[m]) <= 1e-12 * b.watts[m],
                          "%s: without array %zu mechanism %d loses %.12g W, with zeros %.12g W (seed %llu)",
                          bench->model->name, i, m, a.watts[m], b.watts[m], seed);
    }
}

static double *reversed(const double *row, double *room, size_t n)
{
    for (size_t k = 0; row && k < n; k++) room[k] = row[n - 1 - k];
    return row ? room : NULL;
}

/* A loss is a sum over cycles: in whichever order and in whichever blocks they are gone through. */
static void check_order(const device_bench *bench, const hl_stress *s, double t, unsigned long long seed)
{
    static double room[CYCLE_ARRAYS][RANDOM_CYCLES];
    hl_stress back = *s;
    for (size_t i = 0; i < CYCLE_ARRAYS; i++)
        set_array(&back, arrays[i].offset, reversed(array_of(s, arrays[i].offset), room[i], s->n));
    hl_loss a = device_bench_loss(bench, s, t), b = device_bench_loss(bench, &back, t);
    for (int m = 0; m < HL_MECHANISMS; m++)
        ck_assert_msg(fabs(a.watts[m] - b.watts[m]) <= 1e-11 * a.watts[m],
                      "%s: mechanism %d loses %.14g W, in reverse order %.14g W (seed %llu)",
                      bench->model->name, m, a.watts[m], b.watts[m], seed);
    ck_assert_uint_eq(a.flags, b.flags);
}

void device_properties(const char *model, size_t parts)
{
    lottery luck = lottery_open(model);
    device_bench *bench = device_bench_create(model);
    static random_stress room;
    size_t done = 0, refused = 0, kinks = 0, slopes = 0;
    parts = STORY_DRAWS(parts);
    while (done < parts && refused < 100 * parts) {
        random_part_draw(&luck, bench);
        if (!device_bench_prepare(bench)) {
            refused++;
            ck_assert_msg(bench->reason.text[0], "%s: refused without a reason (seed %llu)", model,
                          luck.seed);
            continue;
        }
        done++;
        for (int trial = 0; trial < 6; trial++) {
            double t = lottery_between(&luck, 240.0, 470.0);
            random_stress_draw(&luck, &room);
            hl_loss loss = device_bench_loss(bench, &room.stress, t);
            hl_loss again = device_bench_loss(bench, &room.stress, t);
            check_figures(bench, &loss, luck.seed);
            ck_assert_msg(!memcmp(&loss, &again, sizeof loss), "%s: not the same twice (seed %llu)", model,
                          luck.seed);
            kinks += check_slope(bench, &room.stress, t, luck.seed);
            slopes++;
            check_terminal(bench, t, room.stress.voltage_dc, luck.seed);
            check_limits(bench, &room.stress, t, luck.seed);
            check_order(bench, &room.stress, t, luck.seed);
            if (trial == 0) check_absent(bench, &room.stress, t, luck.seed);
        }
        const double odd[] = {-50.0, 0.0, 1.0, 900.0,
                              1e5}; /* a search for temperatures may pass by anywhere */
        for (int k = 0; k < 5; k++) {
            hl_loss loss = device_bench_loss(bench, &room.stress, odd[k]);
            check_figures(bench, &loss, luck.seed);
        }
        hl_stress nothing = {.struct_size = sizeof nothing};
        hl_loss none = device_bench_loss(bench, &nothing, 300.0);
        ck_assert_msg(device_bench_watts(&none) == 0.0 && none.slope == 0.0,
                      "%s: loses %g W at no stress (seed %llu)", model, device_bench_watts(&none), luck.seed);
    }
    ck_assert_msg(done == parts, "%s: only %zu of %zu random parts were accepted (seed %llu)", model, done,
                  parts, luck.seed);
    ck_assert_msg(20 * kinks < slopes + 20, "%s: %zu of %zu slopes fell on a kink (seed %llu)", model, kinks,
                  slopes, luck.seed);
    device_bench_destroy(bench);
}

static double cpu_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Best of several rounds: other programs only ever add. */
void device_cost(device_bench *bench, const hl_stress *stress, size_t cycles)
{
    enum { CALLS = 4000, ROUNDS = 12 };
    double sum = 0.0, best = 1.0;
    for (int round = 0; round < ROUNDS; round++) {
        double from = cpu_seconds();
        for (int i = 0; i < CALLS; i++) {
            hl_loss loss = device_bench_loss(bench, stress, 300.0 + i * 1e-3);
            sum += loss.watts[HL_CONDUCTION] + loss.watts[HL_ESR];
        }
        best = fmin(best, (cpu_seconds() - from) / CALLS);
    }
    fprintf(stderr, "%s: %.0f ns per call, %.2f ns per cycle or line of %zu (%g)\n", bench->model->name,
            1e9 * best, 1e9 * best / (double)cycles, cycles, sum);
}
