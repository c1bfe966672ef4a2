/* check_phase_sum.c - the added currents of interleaved phases against the phases themselves. */
#include "../../plugins/stages/phase_sum.h"

#include <stdio.h>

#include "lottery.h"
#include "story.h"

enum { RUNS = 200 };

/* Two to four spans of a converter's current: straight, or bent by a small decay or a slow ringing. */
static hl_wave any_wave(lottery *l, double period, bool straight, hl_segment segment[])
{
    size_t n = 2 + lottery_below(l, 3);
    double cut[5] = {0.0, 1.0, 1.0, 1.0, 1.0};
    for (size_t k = 1; k < n; k++) cut[k] = ((double)k + lottery_between(l, -0.4, 0.4)) / (double)n;
    for (size_t k = 0; k < n; k++) {
        double t = period * (cut[k + 1] - cut[k]);
        segment[k] = (hl_segment){
            .duration = t, .offset = lottery_between(l, -2, 5), .slope = lottery_between(l, -2, 2) / t};
        if (straight) continue;
        segment[k].decay = lottery_scale(l, 1e-3, 0.1) / t;
        segment[k].omega = lottery_below(l, 2) ? lottery_scale(l, 1e-3, 0.1) / t : 0.0;
        segment[k].cosine = lottery_between(l, -3, 3);
        segment[k].sine = segment[k].omega > 0.0 ? lottery_between(l, -3, 3) : 0.0;
    }
    return (hl_wave){n, segment};
}

static double phases_at(const hl_wave *wave, double period, unsigned phases, double t)
{
    double sum = 0.0;
    for (unsigned p = 0; p < phases; p++)
        sum += hl_wave_at(wave, fmod(t + period - period * p / phases, period));
    return sum;
}

/* The sum begins at its first edge, which is that of the first phase, at 0. */
static double worst_off(const hl_wave *wave, double period, unsigned phases)
{
    hl_segment out[PHASE_SUM_MAX];
    hl_wave sum = {phase_sum(wave, period, phases, out), out};
    double worst = 0.0, at = 0.0;
    ck_near(hl_wave_period(&sum), period, 1e-12, 0);
    for (size_t k = 0; k < sum.n; k++) {
        for (double share = 0.05; share < 1.0; share += 0.15) {
            double t = share * out[k].duration;
            if (out[k].duration < 1e-6 * period) continue;
            worst = fmax(worst, fabs(hl_segment_at(&out[k], t) - phases_at(wave, period, phases, at + t)));
        }
        at += out[k].duration;
    }
    return worst;
}

START_TEST(a_sum_is_what_the_phases_carry)
{
    lottery l = lottery_open("phase sum");
    double straightest = 0.0, worst = 0.0;
    for (int run = 0; run < RUNS; run++) {
        hl_segment segment[4];
        double period = lottery_scale(&l, 1e-7, 1e-4);
        unsigned phases = 2 + (unsigned)lottery_below(&l, WAVE_PHASES_MAX - 1);
        hl_wave straight = any_wave(&l, period, true, segment);
        straightest = fmax(straightest, worst_off(&straight, period, phases));
        hl_wave bent = any_wave(&l, period, false, segment);
        worst = fmax(worst, worst_off(&bent, period, phases));
    }
    printf("phases: straight ones added to %.2g A, bent ones to %.2g A\n", straightest, worst);
    ck_assert_double_lt(straightest, 1e-10);
    ck_assert_double_lt(worst, 2e-6);
}
END_TEST

/* Against the charge summed over 20000 steps. */
START_TEST(a_ripple_is_that_of_the_charge)
{
    enum { STEPS = 20000 };
    lottery l = lottery_open("phase ripple");
    for (int run = 0; run < RUNS; run++) {
        hl_segment segment[4];
        double period = 1e-5, farads = 1e-5, esr = run % 2 ? lottery_scale(&l, 1e-3, 1.0) : 0.0;
        hl_wave wave = any_wave(&l, period, run % 3 == 0, segment);
        for (size_t k = 0; k < wave.n; k++) { /* no jumps: it goes on where it was */
            double start = k ? hl_segment_at(&segment[k - 1], segment[k - 1].duration) : 1.0;
            segment[k].offset += start - hl_segment_at(&segment[k], 0.0);
        }
        double load = hl_wave_average(&wave), charge = 0.0, high = -INFINITY, low = INFINITY;
        for (size_t k = 0; k < wave.n; k++) {
            double h = segment[k].duration / STEPS;
            for (int j = 0; j < STEPS; j++) {
                double i = hl_segment_at(&segment[k], h * j) - load,
                       next = hl_segment_at(&segment[k], h * (j + 1)) - load;
                double u = charge / farads + esr * i;
                high = fmax(high, u), low = fmin(low, u);
                charge += 0.5 * h * (i + next);
            }
            double u = charge / farads + esr * (hl_segment_at(&segment[k], segment[k].duration) - load);
            high = fmax(high, u), low = fmin(low, u);
        }
        ck_near(phase_ripple(&wave, load, farads, esr), high - low, 1e-4, 0);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_sum_is_what_the_phases_carry);
    tcase_add_test(tests, a_ripple_is_that_of_the_charge);
}

int main(void)
{
    return story_main("interleaved phases", fill);
}
