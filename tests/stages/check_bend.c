/* check_bend.c - nothing jumps where a wave's chord hands over to its exponential. */
#include <math.h>

#include "../../plugins/stages/boost_waves.h"
#include "../../plugins/stages/flyback_waves.h"

#include "story.h"

/* A wave that decays over x time constants within one second, from 3 to 0.4. */
typedef hl_segment (*drawer)(double x);

static const double first = 3.0, last = 0.4;

/* The drive that brings i' = u - x i from `first` to `last` in one second. */
static double drive_for(double x)
{
    return x * (first * exp(-x) - last) / expm1(-x);
}

static hl_segment boost_current(double x)
{
    hl_segment current, flux;
    boost_phase_segments(first, last, drive_for(x), x, 1.0, 1.0, &current, &flux);
    return current;
}

static hl_segment boost_flux(double x)
{
    hl_segment current, flux;
    boost_phase_segments(first, last, drive_for(x), x, 1.0, 1.0, &current, &flux);
    return flux;
}

static flyback_leg leg_of(double x)
{
    return (flyback_leg){.drive = drive_for(x), .resistance = x, .inductance = 1.0};
}

static hl_segment flyback_current(double x)
{
    flyback_leg leg = leg_of(x);
    return flyback_leg_segment(&leg, first, 1.0);
}

static hl_segment flyback_flux(double x)
{
    flyback_leg leg = leg_of(x);
    return flyback_leg_flux(&leg, 1.0, first, 1.0);
}

static hl_segment flyback_voltage(double x)
{
    return flyback_curve(1.0, first, last, drive_for(x) - x * first, x);
}

static double end_of(hl_segment s)
{
    return s.offset + s.slope * s.duration + s.cosine * exp(-s.decay * s.duration);
}

static double mean_square(hl_segment s)
{
    hl_wave wave = {1, &s};
    return hl_wave_mean_square(&wave);
}

/* Over a quarter of the border to four times it. A chord's mean square is off by up to x / 4 of itself, so
 * that it moves by no more than the steps of x; and both ends stay where they are. */
static void walk(drawer draw, double few, bool current)
{
    enum { STEPS = 4000 };
    double before = mean_square(draw(few / 4));
    for (int k = 1; k <= STEPS; k++) {
        double step = 3.75 * few / STEPS, now = mean_square(draw(few / 4 + k * step));
        ck_assert_msg(fabs(now - before) < 3 * step * now, "x %g: %.9g after %.9g", few / 4 + k * step, now,
                      before);
        before = now;
    }
    for (double x = few / 4; current && x < 4 * few; x *= 1.01) {
        hl_segment s = draw(x);
        ck_near(s.offset + s.cosine, first, 1e-11 / x, 0);
        ck_near(end_of(s), last, 1e-11 / x, 0);
    }
}

START_TEST(no_square_jumps)
{
    walk(boost_current, chord_enough, true);
    walk(boost_flux, chord_enough, false);
    walk(flyback_current, flyback_leg_short, true);
    walk(flyback_flux, flyback_leg_short, false);
    walk(flyback_voltage, flyback_curve_short, true);
}
END_TEST

/* Chord and exponential themselves on either side of the border. */
START_TEST(a_bend_is_drawn_by_degrees)
{
    ck_assert(bend_drawn(0, 0.02) == 0 && bend_drawn(0.02, 0.02) == 0);
    ck_near(bend_drawn(0.03, 0.02), 0.5, 1e-14, 0);
    ck_assert(bend_drawn(0.04, 0.02) == 1 && bend_drawn(9, 0.02) == 1);
    ck_assert(boost_current(0.9 * chord_enough).cosine == 0);
    hl_segment whole = boost_current(4 * chord_enough);
    ck_assert(whole.slope == 0 && whole.decay == 4 * chord_enough);
    ck_near(whole.cosine, first - drive_for(4 * chord_enough) / (4 * chord_enough), 1e-13, 0);
    ck_assert(flyback_current(4 * flyback_leg_short).slope == 0);
    ck_assert(flyback_voltage(0.9 * flyback_curve_short).cosine == 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, no_square_jumps);
    tcase_add_test(tests, a_bend_is_drawn_by_degrees);
}

int main(void)
{
    return story_main("bend", fill);
}
