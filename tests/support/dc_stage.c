#include "dc_stage.h"

#include <math.h>
#include <string.h>
#include <time.h>

#include "story.h"

size_t dc_stage_points(void)
{
    return (size_t)lottery_count("HL_TEST_POINTS", 5000);
}

static const char *book_fault(const dc_stage *stage, const stage_bench *bench)
{
    double circulating = stage->voltage(bench) * stage_bench_quantity(bench, "inductor_current_rms");
    double off = stage_bench_imbalance(bench) * fabs(bench->out.input.power);
    if (!(off <= 1e-9 * fabs(bench->out.input.power) + 1e-13 * circulating))
        return "the books do not balance";
    return stage_bench_fault(bench, INFINITY);
}

static double ripple_of(const hl_wave *wave)
{
    double mean = hl_wave_average(wave);
    return sqrt(fmax(hl_wave_mean_square(wave) - mean * mean, 0.0));
}

/* What the waves say against what the figures say, over the peak current. */
static double wave_error(const stage_bench *bench)
{
    const hl_wave *in = bench->out.input.wave, *to = bench->out.output.wave;
    if (!in || !to) return 0.0; /* at rest */
    double scale = bench->out.output.current_peak + bench->out.input.current_peak + 1e-12;
    const double off[] = {hl_wave_average(in) - stage_bench_quantity(bench, "input_current_average"),
                          hl_wave_average(to) - bench->in.load.current,
                          ripple_of(in) - stage_bench_quantity(bench, "input_capacitor_current_rms"),
                          ripple_of(to) - stage_bench_quantity(bench, "output_capacitor_current_rms")};
    double worst = 0.0;
    for (size_t k = 0; k < sizeof off / sizeof *off; k++) worst = fmax(worst, fabs(off[k]));
    return worst / scale;
}

void dc_stage_try(const dc_stage *stage)
{
    lottery luck = lottery_open(stage->plugin);
    stage_bench *bench = stage_bench_create(stage->plugin, NULL);
    size_t solved = 0, lost = 0, n = dc_stage_points();
    double worst = 0.0;
    for (size_t k = 0; k < n; k++) {
        stage->deal(bench, &luck);
        if (stage_bench_solve(bench) != HL_STAGE_SOLVED) {
            ck_assert_uint_gt(strlen(bench->out.reason.text), 20);
            if (strstr(bench->out.reason.text, "no steady cycle")) lost++;
            continue;
        }
        solved++;
        worst = fmax(worst, wave_error(bench));
        const char *fault = book_fault(stage, bench);
        if (fault)
            ck_abort_msg("seed %llu, point %zu: %s (%.3g)", luck.seed, k, fault,
                         stage_bench_imbalance(bench));
    }
    printf("%s: %zu of %zu random settings solved, %zu not settled; waves off by at most %.2g of the peak\n",
           stage->plugin, solved, n, lost, worst);
    ck_assert_uint_gt(solved, n / 2);
    ck_assert_uint_eq(lost, 0);
    ck_assert_double_lt(worst, 1e-4);
    stage_bench_destroy(bench);
}

void dc_stage_compare(const stage_bench *bench, const dc_figure figure[], size_t n, double least,
                      const char *what)
{
    for (size_t k = 0; k < n; k++) {
        double found = stage_bench_quantity(bench, figure[k].name), expected = figure[k].expected;
        if (!(fabs(found - expected) <= 1e-6 * fmax(fabs(expected), 1e-6 * least)))
            ck_abort_msg("%s: %s %.10g, in time %.10g", what, figure[k].name, found, expected);
    }
}

node_ring dc_stage_ring(const stage_bench *bench, const char *resting, double whole, double swing,
                        double inductance, double charge)
{
    const hl_stress *stress = stage_bench_stress(bench, resting);
    double idle = stress->n > 1 ? stress->weight[1] / stage_bench_quantity(bench, "switching_frequency") : 0;
    return node_ring_after(whole, swing, inductance, charge, idle);
}

void dc_stage_time(stage_bench *bench, const char *what)
{
    enum { TURNS = STORY_DRAWS(20000) };
    struct timespec a, b;
    stage_bench_expect_solved(bench);
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &a);
    for (int n = 0; n < TURNS; n++) stage_bench_solve(bench);
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &b);
    double us = 1e6 / TURNS * ((double)(b.tv_sec - a.tv_sec) + 1e-9 * (double)(b.tv_nsec - a.tv_nsec));
    printf("%s: %.2f us per solution\n", what, us);
    if (!STORY_SLOW) ck_assert_double_lt(us, 200.0);
}
