/* check_pulse_moments.c - the closed integrals of a charging pulse against sums over its course. */
#include "../../plugins/stages/pulse_moments.h"

#include <stdbool.h>

#include "lottery.h"
#include "story.h"

enum { RUNS = 300 };

/* Pulses from a hundredth of a radian to two thirds of the mains' half period, their decay from hardly any to
 * thirty times. */
static pulse_form any_form(lottery *l, double *length)
{
    double omega = 2.0 * 3.14159265358979324 * lottery_between(l, 45, 65);
    *length = lottery_scale(l, 0.01, 2.0) / omega;
    return (pulse_form){.constant = lottery_between(l, -1, 1),
                        .exponential = lottery_between(l, -1, 1),
                        .rate = lottery_scale(l, 1e-3, 30.0) / *length,
                        .cosine = lottery_between(l, -1, 1),
                        .sine = lottery_between(l, -1, 1),
                        .omega = omega};
}

/* Integral of f g cos, or sin, (turn s): five-point Gauss on 200 panels, exact to rounding here.
 * source: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 25.4.30 */
static double summed(const pulse_form *f, const pulse_form *g, double length, double turn, bool sine)
{
    enum { PANELS = 200 };
    static const double node[3] = {0.0, 0.538469310105683091, 0.906179845938663993};
    static const double weight[3] = {0.568888888888888889, 0.478628670499366468, 0.236926885056189088};
    double sum = 0.0, half = 0.5 * length / PANELS;
    for (int k = 0; k < PANELS; k++)
        for (int j = -2; j <= 2; j++) {
            double s = half * (2 * k + 1 + (j < 0 ? -node[-j] : node[j]));
            double wave = sine ? sin(turn * s) : cos(turn * s);
            sum += half * weight[j < 0 ? -j : j] * pulse_at(f, s) * (g ? pulse_at(g, s) : 1.0) * wave;
        }
    return sum;
}

START_TEST(integrals_are_sums_over_the_pulse)
{
    lottery l = lottery_open("pulse moments");
    for (int run = 0; run < RUNS; run++) {
        double length;
        pulse_form f = any_form(&l, &length), g = any_form(&l, &(double){0});
        g.rate = f.rate, g.omega = f.omega;
        pulse_instant end = pulse_instant_at(&f, length);
        pulse_moments m = pulse_moments_of(&f, length, &end);
        ck_near(pulse_integral(&f, &m), summed(&f, NULL, length, 0.0, false), 0, 1e-13 * length);
        ck_near(pulse_product(&f, &g, &m), summed(&f, &g, length, 0.0, false), 0, 3e-13 * length);
        ck_near(pulse_product(&g, &f, &m), pulse_product(&f, &g, &m), 0, 1e-14 * length);
    }
}
END_TEST

/* Each moment alone, so that none hides behind a greater one. */
START_TEST(each_moment_is_a_sum_of_its_own)
{
    lottery l = lottery_open("single pulse moments");
    for (int run = 0; run < RUNS; run++) {
        double length;
        pulse_form f = any_form(&l, &length), fade = {.exponential = 1.0, .rate = f.rate, .omega = f.omega};
        pulse_form c = {.cosine = 1.0, .rate = f.rate, .omega = f.omega};
        pulse_form s = {.sine = 1.0, .rate = f.rate, .omega = f.omega};
        pulse_instant end = pulse_instant_at(&f, length);
        pulse_moments m = pulse_moments_of(&f, length, &end);
        ck_near(m.fade, summed(&fade, NULL, length, 0.0, false), 1e-12, 0);
        ck_near(m.fade_square, summed(&fade, &fade, length, 0.0, false), 1e-12, 0);
        ck_near(m.c, summed(&c, NULL, length, 0.0, false), 1e-12, 1e-14 * length);
        ck_near(m.s, summed(&s, NULL, length, 0.0, false), 1e-12, 0);
        ck_near(m.c_square, summed(&c, &c, length, 0.0, false), 1e-12, 0);
        ck_near(m.s_square, summed(&s, &s, length, 0.0, false), 1e-12, 0);
        ck_near(m.c_s, summed(&c, &s, length, 0.0, false), 1e-12, 1e-14 * length);
        ck_near(m.fade_c, summed(&fade, &c, length, 0.0, false), 1e-12, 1e-14 * length);
        ck_near(m.fade_s, summed(&fade, &s, length, 0.0, false), 1e-12, 1e-14 * length);
    }
}
END_TEST

START_TEST(slopes_and_bends_are_those_of_chords)
{
    lottery l = lottery_open("pulse slopes");
    for (int run = 0; run < RUNS; run++) {
        double length;
        pulse_form f = any_form(&l, &length);
        double s = length * lottery_between(&l, 0, 1), fast = f.rate + f.omega, h = 1e-4 / fast;
        pulse_instant now = pulse_instant_at(&f, s);
        double chord = (pulse_at(&f, s + h) - pulse_at(&f, s - h)) / (2 * h);
        double turn = (pulse_slope(&f, s + h) - pulse_slope(&f, s - h)) / (2 * h);
        ck_near(pulse_rise(&f, &now), chord, 0, 1e-7 * fast);
        ck_near(pulse_slope(&f, s), pulse_rise(&f, &now), 1e-15, 0);
        ck_near(pulse_bend(&f, &now), turn, 0, 1e-7 * fast * fast);
    }
}
END_TEST

START_TEST(harmonics_are_sums_over_the_pulse)
{
    lottery l = lottery_open("pulse harmonics");
    for (int run = 0; run < RUNS; run++) {
        double length;
        pulse_form f = any_form(&l, &length);
        int n = 1 + (int)lottery_below(&l, 20);
        double complex step = cos(f.omega * length) + I * sin(f.omega * length);
        double complex end = cos(n * f.omega * length) + I * sin(n * f.omega * length);
        double complex told = pulse_fourier(&f, n, length, exp(-f.rate * length), end, step);
        ck_near(creal(told), summed(&f, NULL, length, n * f.omega, false), 0, 1e-13 * length);
        ck_near(cimag(told), summed(&f, NULL, length, n * f.omega, true), 0, 1e-13 * length);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, integrals_are_sums_over_the_pulse);
    tcase_add_test(tests, each_moment_is_a_sum_of_its_own);
    tcase_add_test(tests, slopes_and_bends_are_those_of_chords);
    tcase_add_test(tests, harmonics_are_sums_over_the_pulse);
}

int main(void)
{
    return story_main("moments of a charging pulse", fill);
}
