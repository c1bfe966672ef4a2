/* check_pulse_moments.c - the closed integrals of a charging pulse against sums over its course. */
#include "../../plugins/stages/pulse_moments.h"

#include <stdbool.h>

#include "gauss_panels.h"
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

typedef struct product {
    const pulse_form *f, *g; /* g NULL: 1 */
    double turn;
    bool sine;
} product;

static double product_at(const void *of, double s)
{
    const product *p = of;
    double wave = p->sine ? sin(p->turn * s) : cos(p->turn * s);
    return pulse_at(p->f, s) * (p->g ? pulse_at(p->g, s) : 1.0) * wave;
}

/* Integral of f g cos, or sin, (turn s), exact to rounding here. */
static double summed(const pulse_form *f, const pulse_form *g, double length, double turn, bool sine)
{
    return gauss_panels(product_at, &(product){f, g, turn, sine}, length, 200);
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
