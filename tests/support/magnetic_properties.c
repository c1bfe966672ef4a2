#include "magnetic_properties.h"

#include <math.h>
#include <string.h>
#include <time.h>

#include "story.h"

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

/* ------------------------------------------------------------------ parts -- */

static void draw_curve(lottery *luck, magnetic_bench *bench, const hl_parameter *p)
{
    double x[MAGNETIC_LIST], y[MAGNETIC_LIST];
    size_t n = 1 + lottery_below(luck, 9);
    for (size_t k = 0; k < n; k++) {
        double low = strcmp(p->x_dimension, "degC") == 0 ? 230.0 : 1.0;
        x[k] = low == 1.0 ? lottery_scale(luck, low, 1e7) : lottery_between(luck, low, 480.0);
        y[k] = within(luck, p->low, p->high);
        for (size_t i = k; i > 0 && x[i - 1] > x[i]; i--) {
            double kept = x[i];
            x[i] = x[i - 1];
            x[i - 1] = kept;
        }
    }
    magnetic_bench_curve(bench, p->name, n, x, y);
}

static void draw_entries(lottery *luck, magnetic_bench *bench, const hl_parameter *p, size_t windings)
{
    double entry[MAGNETIC_LIST];
    char words[256] = "";
    bool plan = strcmp(p->name, "build") == 0;
    size_t n = plan ? 2 * windings : now_and_then(luck, 0.3) ? 1 : windings, choices = 0;
    if (p->flags & HL_REQUIRED) n = windings;
    while (p->kind == HL_CHOICES && p->choices[choices]) choices++;
    for (size_t k = 0; k < n; k++) {
        entry[k] = plan ? (double)(k % windings + 1) : within(luck, p->low, p->high);
        if (choices) {
            strcat(words, p->choices[lottery_below(luck, choices)]);
            strcat(words, " ");
        }
    }
    if (choices)
        magnetic_bench_choose(bench, p->name, words);
    else
        magnetic_bench_list(bench, p->name, n, entry);
}

void random_magnetic_draw(lottery *luck, magnetic_bench *bench, size_t windings)
{
    for (size_t i = 0; i < bench->model->n_parameters; i++) {
        const hl_parameter *p = &bench->model->parameters[i];
        magnetic_bench_unset(bench, p->name);
        if (!(p->flags & HL_REQUIRED) && now_and_then(luck, 0.25)) continue;
        if (p->kind == HL_LIST || p->kind == HL_CHOICES) {
            draw_entries(luck, bench, p, windings);
        } else if (p->kind == HL_CURVE) {
            draw_curve(luck, bench, p);
        } else if (p->kind == HL_CHOICE) {
            size_t n = 0;
            while (p->choices[n]) n++;
            magnetic_bench_set(bench, p->name, (double)lottery_below(luck, n));
        } else {
            magnetic_bench_set(bench, p->name, within(luck, p->low, p->high));
        }
    }
}

/* ------------------------------------------------------------------ waves -- */

static hl_wave draw_wave(lottery *luck, magnetic_bench *bench, double frequency, double size)
{
    if (now_and_then(luck, 0.1)) return (hl_wave){0, NULL};
    size_t n = 1 + lottery_below(luck, 6);
    hl_segment *s = magnetic_bench_segments(bench, n);
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        s[i] = (hl_segment){.duration = lottery_between(luck, 0.0, 1.0),
                            .offset = lottery_between(luck, -size, size)};
        if (now_and_then(luck, 0.5)) s[i].slope = lottery_between(luck, -size, size) * frequency;
        if (now_and_then(luck, 0.3)) {
            s[i].cosine = lottery_between(luck, -size, size);
            s[i].omega = lottery_between(luck, 0.0, 20.0) * frequency;
            if (now_and_then(luck, 0.3)) s[i].decay = lottery_between(luck, 0.0, 20.0) * frequency;
        }
        sum += s[i].duration;
    }
    for (size_t i = 0; i < n; i++) s[i].duration /= sum * frequency;
    return (hl_wave){n, s};
}

void random_waves_draw(lottery *luck, magnetic_bench *bench, size_t windings)
{
    double f = lottery_scale(luck, 50.0, 2e6), amperes = lottery_scale(luck, 0.01, 50.0),
           volts = lottery_scale(luck, 1.0, 500.0);
    magnetic_bench_stress(bench, 1 + lottery_below(luck, 5), windings, f);
    for (size_t k = 0; k < bench->stress.n; k++) {
        bench->frequency[k] = f * lottery_between(luck, 0.5, 1.0);
        bench->flux[k] = draw_wave(luck, bench, bench->frequency[k], volts);
        for (size_t w = 0; w < windings; w++)
            bench->current[w][k] = draw_wave(luck, bench, bench->frequency[k], amperes);
    }
    if (now_and_then(luck, 0.1)) bench->stress.flux_voltage = NULL;
    if (windings && now_and_then(luck, 0.1)) bench->stress.winding_current[0] = NULL;
    bench->stress.total_rms = lottery_between(luck, 0.0, amperes);
    bench->stress.total_peak = 2.0 * bench->stress.total_rms;
    bench->stress.flux_bias = lottery_between(luck, 0.0, volts) / f;
}

/* ----------------------------------------------------------------- checks -- */

static double sum_of(const hl_loss *loss)
{
    double sum = 0.0;
    for (int m = 0; m < HL_MECHANISMS; m++) sum += loss->watts[m];
    return sum;
}

/* Fourth-order difference at two step sizes; false near a corner of a curve. */
static bool difference(const magnetic_bench *bench, double t, double *slope)
{
    double p[6], at[6] = {-0.1, -0.05, 0.05, 0.1, -0.025, 0.025};
    for (int i = 0; i < 6; i++) p[i] = magnetic_bench_watts(bench, t + at[i]);
    double here = magnetic_bench_watts(bench, t);
    /* right less left slope: of a smooth function it halves with the step, at a corner of a curve it stays */
    double bend = (p[2] - 2.0 * here + p[1]) / 0.05, bend_near = (p[5] - 2.0 * here + p[4]) / 0.025;
    double wide = (p[2] - p[1]) / 0.1, far = (p[3] - p[0]) / 0.2, near = (p[5] - p[4]) / 0.05;
    *slope = (4.0 * wide - far) / 3.0;
    double other = (4.0 * near - wide) / 3.0;
    if (fabs(2.0 * bend_near - bend) > 2e-7 * fabs(*slope) + 1e-12 * fabs(here)) return false;
    return fabs(other - *slope) <= 2e-8 * (fabs(*slope) + fabs(other)) + 1e-10 * fabs(p[2]);
}

static size_t check_stress(const magnetic_bench *bench, double t, unsigned long long seed)
{
    const char *name = bench->model->name;
    hl_loss loss = magnetic_bench_loss(bench, t), again = magnetic_bench_loss(bench, t);
    for (int m = 0; m < HL_MECHANISMS; m++)
        ck_assert_msg(isfinite(loss.watts[m]) && loss.watts[m] >= 0.0,
                      "%s: mechanism %d loses %g W (seed %llu)", name, m, loss.watts[m], seed);
    ck_assert_msg(memcmp(&loss, &again, sizeof loss) == 0, "%s: twice the same gave two answers (seed %llu)",
                  name, seed);
    hl_limit limit[HL_LIMITS_MAX];
    size_t n = bench->model->device->limits(bench->state, &bench->stress, t, limit);
    ck_assert_uint_le(n, HL_LIMITS_MAX);
    for (size_t i = 0; i < n; i++)
        ck_assert_msg(isfinite(limit[i].value) && isfinite(limit[i].rated) && limit[i].name && limit[i].unit,
                      "%s: limit %zu is %g of %g (seed %llu)", name, i, limit[i].value, limit[i].rated, seed);
    double wanted;
    if (!difference(bench, t, &wanted)) return 0;
    ck_assert_msg(fabs(loss.slope - wanted) <= 1e-6 * fabs(wanted) + 1e-9 * sum_of(&loss),
                  "%s: slope %.12g W/K, by difference %.12g, loss %g W at %g K (seed %llu)", name, loss.slope,
                  wanted, sum_of(&loss), t, seed);
    return 1;
}

static void check_square_law(magnetic_bench *bench, double t, unsigned long long seed)
{
    hl_loss once = magnetic_bench_loss(bench, t), twice;
    for (size_t i = 0; i < bench->used; i++) {
        hl_segment *s = &bench->segments[i];
        s->offset *= 2.0;
        s->slope *= 2.0;
        s->cosine *= 2.0;
    }
    twice = magnetic_bench_loss(bench, t);
    const hl_mechanism squares[] = {HL_WINDING_DC, HL_WINDING_AC};
    if (bench->stress.windings == 0) return; /* total_rms was not doubled */
    for (size_t i = 0; i < 2; i++) {
        double a = 4.0 * once.watts[squares[i]], b = twice.watts[squares[i]];
        ck_assert_msg(fabs(a - b) <= 1e-12 * a, "%s: four times %g W is not %g W (seed %llu)",
                      bench->model->name, a / 4.0, b, seed);
    }
}

void magnetic_properties(const char *model, size_t parts, size_t windings)
{
    lottery luck = lottery_open(model);
    magnetic_bench *bench = magnetic_bench_create(model);
    size_t accepted = 0, slopes = 0;
    for (size_t drawn = 0; accepted < parts; drawn++) {
        ck_assert_msg(drawn < 200 * parts, "%s accepts next to nothing: %zu of %zu", model, accepted, drawn);
        random_magnetic_draw(&luck, bench, windings);
        if (magnetic_bench_refusal(bench)) continue;
        accepted++;
        hl_terminal a = magnetic_bench_terminal(bench, lottery_between(&luck, 230.0, 450.0));
        const double shown[] = {a.inductance,
                                a.leakage,
                                a.turns_ratio,
                                a.resistance,
                                a.windings,
                                a.winding_resistance[0],
                                a.winding_resistance[1],
                                a.rated_current};
        for (size_t i = 0; i < sizeof shown / sizeof *shown; i++)
            ck_assert_msg(isfinite(shown[i]) && shown[i] >= 0.0, "%s: terminal figure %zu is %g (seed %llu)",
                          model, i, shown[i], luck.seed);
        ck_assert_msg(a.inductance > 0.0 && a.windings >= 1.0, "%s: no inductance (seed %llu)", model,
                      luck.seed);
        magnetic_bench_check_rest(bench);
        for (int i = 0; i < 3; i++) {
            random_waves_draw(&luck, bench, lottery_below(&luck, windings + 1));
            double t = lottery_between(&luck, 240.0, 440.0);
            slopes += check_stress(bench, t, luck.seed);
            check_square_law(bench, t, luck.seed);
        }
    }
    ck_assert_msg(slopes > parts, "%s: only %zu slopes could be checked", model, slopes);
    magnetic_bench_destroy(bench);
}

double magnetic_cost(const magnetic_bench *bench, const char *what)
{
    double best = INFINITY, sink = 0.0;
    for (int round = 0; round < 20; round++) {
        struct timespec a, b;
        int calls = 300;
        clock_gettime(CLOCK_THREAD_CPUTIME_ID, &a);
        for (int i = 0; i < calls; i++) sink += magnetic_bench_loss(bench, 300.0 + 0.01 * i).slope;
        clock_gettime(CLOCK_THREAD_CPUTIME_ID, &b);
        double seconds = (double)(b.tv_sec - a.tv_sec) + 1e-9 * (double)(b.tv_nsec - a.tv_nsec);
        best = fmin(best, seconds / calls / (double)bench->stress.n);
    }
    ck_assert(isfinite(sink));
    fprintf(stderr, "%s: %.0f ns per cycle and call\n", what, best * 1e9);
    return best * 1e9;
}
