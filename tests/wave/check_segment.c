/* check_segment.c - the slope of one piece of a wave against its values. */
#include <complex.h>
#include <float.h>
#include <math.h>
#include <stdbool.h>

#include "lottery.h"
#include "story.h"
#include "wave/exponential.h"
#include "wave/segment.h"

/* Central differences at h and h / 2, extrapolated: the error left falls with h^4.
 * source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, 25.3.24 and 25.3.25 */
static double slope_by_values(const hl_segment *s, double t, double h)
{
    double wide = (segment_value(s, t + h, NULL) - segment_value(s, t - h, NULL)) / (2 * h);
    double close = (segment_value(s, t + h / 2, NULL) - segment_value(s, t - h / 2, NULL)) / h;
    return (4 * close - wide) / 3;
}

START_TEST(slope_is_that_of_the_values)
{
    lottery luck = lottery_open("slope_is_that_of_the_values");
    for (int k = 0; k < 500; k++) {
        double slope;
        hl_segment s = {.duration = 1,
                        .offset = lottery_between(&luck, -2, 2),
                        .slope = lottery_between(&luck, -3, 3),
                        .decay = k % 4 ? lottery_between(&luck, -2, 3) : 0,
                        .omega = k % 5 ? lottery_between(&luck, 0, 30) : 0,
                        .cosine = lottery_between(&luck, -2, 2),
                        .sine = lottery_between(&luck, -2, 2)};
        double t = lottery_between(&luck, 0, 1), value = segment_value(&s, t, &slope);
        double size = fabs(s.slope) + (fabs(s.decay) + s.omega) * (fabs(s.cosine) + fabs(s.sine)) * exp(2);
        ck_near(value, segment_value(&s, t, NULL), 0, 0);
        ck_near(slope, slope_by_values(&s, t, 1e-3), 0, 1e-7 * size);
        hl_segment rate = segment_derivative(&s);
        ck_near(slope, segment_value(&rate, t, NULL), 0, 1e-14 * size);
    }
}
END_TEST

/* Whether long double tells more than double here: memcheck works both out alike. */
static bool wide_is_wider(void)
{
    volatile long double one = 1, least = 2 * LDBL_EPSILON;
    return one + least > one;
}

/* Taylor's series of the integral of u^order e^(z u), u from 0 to 1, in wider numbers and with all its terms;
 * z up to the size where the closed form takes over. */
START_TEST(moments_near_zero_are_their_series)
{
    double room = wide_is_wider() ? 4e-16 : 1e-15; /* the latter with the rounding of the series here */
    lottery luck = lottery_open("moments_near_zero_are_their_series");
    for (int k = 0; k < 2000; k++) {
        double size = k % 2 ? lottery_between(&luck, 0.3, 0.4999) : lottery_scale(&luck, 1e-6, 0.4999);
        double turn = lottery_between(&luck, 0, 6.2831853);
        complex_number z = {size * cos(turn), size * sin(turn)};
        long double complex wide = (long double)z.re + I * (long double)z.im;
        for (int order = 0; order < 2; order++) {
            long double complex sum = 0, power = 1;
            for (int n = 0; n < 40; n++) {
                sum += power / (n + 1 + order);
                power *= wide / (n + 1);
            }
            complex_number said = exponential_series(z, order);
            long double off = cabsl(sum - ((long double)said.re + I * (long double)said.im));
            ck_assert_msg((double)off <= room, "E%d at %.17g + j %.17g is off by %.2g", order, z.re, z.im,
                          (double)off);
        }
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, moments_near_zero_are_their_series);
    tcase_add_test(tests, slope_is_that_of_the_values);
}

int main(void)
{
    return story_main("segment", fill);
}
