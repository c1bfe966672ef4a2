/* check_curve.c - table lookup: straight lines, the monotone cubic, holding outside, exact integrals. */
#include <gsl/gsl_integration.h>
#include <math.h>
#include <stdint.h>

#include "heatledger/plugin.h"
#include "story.h"

/* source: H. Akima, J. ACM 17(4), 1970, table 3, used by Fritsch and Carlson (1980) as "RPN 14"-like test
 * data for monotone interpolation; quoted from memory, so only monotony and the knots are checked with it. */
static const double akima_x[] = {0, 2, 3, 5, 6, 8, 9, 11, 12, 14, 15};
static const double akima_y[] = {10, 10, 10, 10, 10, 10, 10.5, 15, 50, 60, 85};
static const hl_curve akima = {11, akima_x, akima_y, true};

START_TEST(monotone_data_give_a_monotone_curve_through_the_knots)
{
    for (size_t i = 0; i < akima.n; i++)
        ck_near(hl_curve_at(&akima, akima_x[i], NULL, NULL), akima_y[i], 0.0, 0.0);
    double before = 10.0;
    for (int i = 0; i <= 15000; i++) {
        double slope, y = hl_curve_at(&akima, i / 1000.0, &slope, NULL);
        ck_assert_msg(y >= before - 1e-13, "falls at %g: %.17g after %.17g", i / 1000.0, y, before);
        ck_assert_msg(slope >= -1e-12, "slope %g at %g", slope, i / 1000.0);
        before = y;
    }
    ck_near(hl_curve_at(&akima, 4.0, NULL, NULL), 10.0, 0.0, 0.0); /* flat stays flat */
}
END_TEST

/* Where nothing has to be limited the slopes are those of a parabola, so a parabola is met exactly. */
START_TEST(cubic_meets_a_parabola_and_its_integral)
{
    static const double x[] = {1, 1.5, 2.5, 3, 4.5}, y[] = {1, 2.25, 6.25, 9, 20.25};
    hl_curve curve = {5, x, y, true};
    for (double t = 1.0; t <= 4.5; t += 0.01) {
        double slope;
        ck_near(hl_curve_at(&curve, t, &slope, NULL), t * t, 1e-14, 0.0);
        ck_near(slope, 2.0 * t, 1e-13, 0.0);
    }
    ck_near(hl_curve_integral(&curve, 1.2, 4.4), (4.4 * 4.4 * 4.4 - 1.2 * 1.2 * 1.2) / 3.0, 1e-14, 0.0);
}
END_TEST

static const double hat_x[] = {1, 2, 4}, hat_y[] = {0, 3, 1};

START_TEST(straight_lines_and_their_slopes)
{
    hl_curve curve = {3, hat_x, hat_y, false};
    static const double cases[][3] = {{1, 0, 3}, {1.5, 1.5, 3}, {2, 3, -1}, {3, 2, -1}, {4, 1, -1}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        bool outside = false;
        double slope, y = hl_curve_at(&curve, cases[i][0], &slope, &outside);
        ck_near(y, cases[i][1], 1e-15, 0.0);
        ck_near(slope, cases[i][2], 1e-15, 0.0);
        ck_assert(!outside);
    }
    ck_near(hl_curve_integral(&curve, 1, 4), 5.5, 1e-15, 0.0);
}
END_TEST

START_TEST(ends_are_held_and_reported)
{
    for (int cubic = 0; cubic < 2; cubic++) {
        hl_curve curve = {3, hat_x, hat_y, cubic == 1};
        static const double x[] = {0.999, -1e300, -INFINITY, NAN, 4.001, 1e300, INFINITY};
        for (size_t i = 0; i < sizeof x / sizeof *x; i++) {
            bool outside = false;
            double slope = 7.0, y = hl_curve_at(&curve, x[i], &slope, &outside);
            ck_assert_msg(outside, "x = %g passed as inside", x[i]);
            ck_near(y, x[i] > 4.0 ? 1.0 : 0.0, 0.0, 0.0);
            ck_near(slope, 0.0, 0.0, 0.0);
        }
        bool outside = true;
        hl_curve_at(&curve, 2.0, NULL, &outside);
        ck_assert(outside); /* only ever set: one flag gathers many reads */
        double inside = hl_curve_integral(&curve, 1, 4);
        ck_near(hl_curve_integral(&curve, -1, 6), inside + 2.0 * 0.0 + 2.0 * 1.0, 1e-15, 0.0);
        ck_near(hl_curve_integral(&curve, 5, 7), 2.0, 1e-15, 0.0);
        ck_near(hl_curve_integral(&curve, -3, -1), 0.0, 0.0, 0.0);
    }
}
END_TEST

START_TEST(one_point_is_flat_and_none_is_zero)
{
    double y = 4.0, slope = 1.0;
    bool outside = false;
    hl_curve one = {1, NULL, &y, true}, none = {0, NULL, NULL, false};
    ck_near(hl_curve_at(&one, 123.0, &slope, &outside), 4.0, 0.0, 0.0);
    ck_assert(!outside && slope == 0.0);
    ck_near(hl_curve_integral(&one, 1.0, 3.0), 8.0, 0.0, 0.0);
    ck_near(hl_curve_at(&none, 1.0, &slope, &outside), 0.0, 0.0, 0.0);
    ck_near(hl_curve_integral(&none, 0.0, 1.0), 0.0, 0.0, 0.0);
}
END_TEST

static double looked_up(double x, void *curve)
{
    return hl_curve_at(curve, x, NULL, NULL);
}

/* Random tables: slope against differences, integral against quadrature, values inside their neighbours. */
START_TEST(random_tables_hold_together)
{
    gsl_integration_cquad_workspace *workspace = gsl_integration_cquad_workspace_alloc(200);
    for (uint64_t seed = 1; seed <= 200; seed++) {
        uint64_t state = seed * 0x9e3779b97f4a7c15ull;
        double x[12], y[12], at = 0.0;
        for (int i = 0; i < 12; i++) {
            state = state * 6364136223846793005ull + 1442695040888963407ull; /* Knuth, MMIX */
            at += 0.01 + (double)(state >> 40) / 16777216.0;
            state = state * 6364136223846793005ull + 1442695040888963407ull;
            x[i] = at;
            y[i] = (double)(state >> 40) / 16777216.0 - 0.3;
        }
        hl_curve curve = {2 + seed % 11, x, y, seed % 3 != 0};
        size_t n = curve.n;
        gsl_function call = {looked_up, &curve};
        double total = 0.0;
        for (size_t i = 0; i + 1 < n; i++) {
            double part, middle = 0.5 * (x[i] + x[i + 1]), h = 1e-4 * (x[i + 1] - x[i]), slope;
            double v = hl_curve_at(&curve, middle, &slope, NULL);
            double rise =
                hl_curve_at(&curve, middle + h, NULL, NULL) - hl_curve_at(&curve, middle - h, NULL, NULL);
            ck_assert_msg(fabs(slope - rise / (2.0 * h)) < 1e-6 * (1.0 + fabs(slope)),
                          "slope, seed %llu piece %zu", (unsigned long long)seed, i);
            ck_assert_msg(v >= fmin(y[i], y[i + 1]) && v <= fmax(y[i], y[i + 1]),
                          "overshoot, seed %llu piece %zu", (unsigned long long)seed, i);
            gsl_integration_cquad(&call, x[i], x[i + 1], 0.0, 1e-12, workspace, &part, NULL, NULL);
            total += part;
        }
        double whole = hl_curve_integral(&curve, x[0], x[n - 1]);
        ck_assert_msg(fabs(whole - total) < 1e-11, "integral, seed %llu: %.15g, expected %.15g",
                      (unsigned long long)seed, whole, total);
        double split = 0.3 * x[0] + 0.7 * x[n - 1];
        double parts = hl_curve_integral(&curve, x[0], split) + hl_curve_integral(&curve, split, x[n - 1]);
        ck_assert_msg(fabs(whole - parts) < 1e-13, "split integral, seed %llu", (unsigned long long)seed);
        ck_assert(hl_curve_integral(&curve, x[n - 1], x[0]) == -whole);
    }
    gsl_integration_cquad_workspace_free(workspace);
}
END_TEST

/* A knot's slope is at most threefold that of the flatter piece beside it (S1 of the source in curve.c),
 * inside and at an end; to the bit, for 3.15 would be drawn. */
START_TEST(slopes_are_at_most_threefold)
{
    const double x[] = {0, 1, 2}, inside[] = {0, 1, 6.3}, end[] = {0, 1, -2.3};
    double slope;
    const hl_curve steep = {3, x, inside, true}, bent = {3, x, end, true};
    hl_curve_at(&steep, 1, &slope, NULL);
    ck_assert_msg(slope == 3, "%.17g", slope);
    hl_curve_at(&bent, 0, &slope, NULL);
    ck_assert_msg(slope == 3, "%.17g", slope);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, slopes_are_at_most_threefold);
    tcase_add_test(tests, monotone_data_give_a_monotone_curve_through_the_knots);
    tcase_add_test(tests, cubic_meets_a_parabola_and_its_integral);
    tcase_add_test(tests, straight_lines_and_their_slopes);
    tcase_add_test(tests, ends_are_held_and_reported);
    tcase_add_test(tests, one_point_is_flat_and_none_is_zero);
    tcase_add_test(tests, random_tables_hold_together);
}

int main(void)
{
    return story_main("curve", fill);
}
