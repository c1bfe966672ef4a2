/* check_wave_textbook.c - averages, rms values and harmonics of textbook waves. */
#include <math.h>

#include "heatledger/plugin.h"
#include "story.h"

static const double pi = 3.14159265358979323846;

typedef struct textbook {
    const char *name;
    hl_segment s[4];
    size_t n;
    double average, rms;
} textbook;

/* source: R. W. Erickson, D. Maksimovic, Fundamentals of Power Electronics, 2nd ed. 2001, appendix A, "RMS
 * values of commonly observed converter waveforms": the formulas are quoted from memory and each is the
 * integral of its definition.  D = 0.4, I = 5, peak values as written. */
static const textbook textbooks[] = {
    {"dc", {{.duration = 1, .offset = 5}}, 1, 5.0, 5.0},
    /* I sqrt(D) */
    {"pulsating", {{.duration = 0.4, .offset = 5}, {.duration = 0.6}}, 2, 2.0, 3.1622776601683795},
    /* I sqrt(1 + (di/I)^2 / 3), di = 1 half the ripple */
    {"dc with linear ripple",
     {{.duration = 0.4, .offset = 4, .slope = 5}, {.duration = 0.6, .offset = 6, .slope = -2.0 / 0.6}},
     2,
     5.0,
     5.0332229568471663},
    /* I sqrt(D) sqrt(1 + (di/I)^2 / 3) */
    {"pulsating with linear ripple",
     {{.duration = 0.4, .offset = 4, .slope = 5}, {.duration = 0.6}},
     2,
     2.0,
     3.1832897030168859},
    /* I sqrt(D/3), D the share of time the triangle takes */
    {"triangular, discontinuous",
     {{.duration = 0.4, .slope = 12.5}, {.duration = 0.6}},
     2,
     1.0,
     1.8257418583505538},
    /* di / sqrt(3) */
    {"triangular, no dc",
     {{.duration = 0.3, .offset = -5, .slope = 10 / 0.3}, {.duration = 0.7, .offset = 5, .slope = -10 / 0.7}},
     2,
     0.0,
     2.8867513459481287},
    /* I1 sqrt(D) sqrt((1 + r + r^2)/3), r = I2/I1 = 1/2: trapezoid */
    {"trapezoid",
     {{.duration = 0.4, .offset = 5, .slope = -6.25}, {.duration = 0.6}},
     2,
     1.5,
     2.4152294576982398},
    /* I / sqrt(2) and 2 I / pi */
    {"half sine, whole period",
     {{.duration = 1, .sine = 5, .omega = 3.14159265358979323846}},
     1,
     3.1830988618379067,
     3.5355339059327376},
    /* I sqrt(D/2) and 2 I D / pi */
    {"half sine pulse",
     {{.duration = 0.4, .sine = 5, .omega = 7.853981633974483}, {.duration = 0.6}},
     2,
     1.2732395447351628,
     2.2360679774997896},
};

START_TEST(textbook_averages_and_rms_values)
{
    const textbook *b = &textbooks[_i];
    hl_wave wave = {b->n, b->s};
    ck_assert_msg(fabs(hl_wave_rms(&wave) - b->rms) < 1e-14 * 5.0, "%s: rms %.17g, book %.17g", b->name,
                  hl_wave_rms(&wave), b->rms);
    ck_assert_msg(fabs(hl_wave_average(&wave) - b->average) < 1e-14 * 5.0, "%s: average %.17g, book %.17g",
                  b->name, hl_wave_average(&wave), b->average);
}
END_TEST

/* Square wave: 4/(pi k) for odd k.  Triangle: 8/(pi k)^2 for odd k.  Rectified sine: -4/pi / (4 k^2 - 1).
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, section 4.3 and elementary
 * integrals; derived. */
START_TEST(textbook_harmonics)
{
    enum { N = 200 };
    static double cosine[N], sine[N];
    hl_segment square[] = {{.duration = 1, .offset = 1}, {.duration = 1, .offset = -1}};
    hl_wave_fourier(&(hl_wave){2, square}, N, cosine, sine);
    for (int k = 1; k <= N; k++) {
        ck_near(sine[k - 1], k % 2 ? 4.0 / (pi * k) : 0.0, 1e-12, 1e-14);
        ck_near(cosine[k - 1], 0.0, 0.0, 1e-14);
    }
    hl_segment triangle[] = {{.duration = 1, .offset = 1, .slope = -2},
                             {.duration = 1, .offset = -1, .slope = 2}};
    hl_wave_fourier(&(hl_wave){2, triangle}, N, cosine, sine);
    for (int k = 1; k <= N; k++) {
        ck_near(cosine[k - 1], k % 2 ? 8.0 / (pi * pi * k * k) : 0.0, 1e-11, 1e-15);
        ck_near(sine[k - 1], 0.0, 0.0, 1e-15);
    }
    hl_segment rectified[] = {{.duration = 1, .sine = 1, .omega = pi}};
    hl_wave_fourier(&(hl_wave){1, rectified}, N, cosine, sine);
    for (int k = 1; k <= N; k++) ck_near(cosine[k - 1], -4.0 / pi / (4.0 * k * k - 1.0), 1e-10, 1e-15);
}
END_TEST

/* sum of squares of harmonics + average^2 -> mean square.  A wave without jumps has terms falling as 1/k^2,
 * so what is left after N terms falls as 1/N^3.  (Parseval) */
START_TEST(harmonics_add_up_to_the_rms)
{
    enum { N = 3000 };
    static double cosine[N], sine[N];
    hl_segment s[] = {{.duration = 0.3, .sine = 2, .omega = pi / 0.3},
                      {.duration = 0.5, .slope = 4},
                      {.duration = 0.2, .offset = 2, .slope = -10}};
    hl_wave wave = {3, s};
    hl_wave_fourier(&wave, N, cosine, sine);
    double sum = hl_wave_average(&wave) * hl_wave_average(&wave);
    for (int k = 0; k < N; k++) sum += 0.5 * (cosine[k] * cosine[k] + sine[k] * sine[k]);
    ck_near(sum, hl_wave_mean_square(&wave), 1e-9, 0.0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, textbook_averages_and_rms_values, 0,
                        (int)(sizeof textbooks / sizeof *textbooks));
    tcase_add_test(tests, textbook_harmonics);
    tcase_add_test(tests, harmonics_add_up_to_the_rms);
}

int main(void)
{
    return story_main("textbook waves", fill);
}
