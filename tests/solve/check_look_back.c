/* check_look_back.c - how far back a line tells where it goes: polynomials by as many points as they need, a
 * corner by those beyond it, whatever the order of unknowns. */
#include <math.h>

#include "lottery.h"
#include "solve/look_back.h"
#include "story.h"

enum { UNKNOWNS = 7, PADDED = 8 };

/* Rows of unknowns as points have them; the newest first. */
typedef struct line {
    double value[LOOKED_BACK_MOST][PADDED], scale[PADDED];
    const double *point[LOOKED_BACK_MOST];
} line;

static double quartic(double x)
{
    return 2 + 0.3 * x - 0.05 * x * x + 0.01 * x * x * x + 0.002 * x * x * x * x;
}

static double corner_at(double x, double place)
{
    return x > place ? 3 * (x - place) : 0;
}

/* One unknown moves, that at `which`; the others rest. */
static void draw(line *l, double (*way)(double x, double shape), double shape, size_t which)
{
    *l = (line){.scale = {1, 1, 1, 1, 1, 1, 1}};
    for (int k = 0; k < LOOKED_BACK_MOST; k++) {
        l->value[k][which] = way(-k, shape);
        l->point[k] = l->value[k];
    }
}

static double power_of(double x, double degree)
{
    return pow(10 + x, degree);
}

static double smooth(double x, double corner)
{
    return quartic(x) * 1e-4 + (isfinite(corner) ? corner_at(x, corner) : 0);
}

static size_t reach(const line *l, size_t points)
{
    look_back back;
    look_back_over(&back, l->point, NULL, points, l->scale, UNKNOWNS);
    return look_back_reach(&back);
}

/* A polynomial of degree d through d + 1 points misses nothing.  source: Abramowitz and Stegun, 25.1.6, from
 * memory; and one of a lower degree misses the next difference, by definition. */
START_TEST(misses_are_backward_differences)
{
    line l;
    look_back back;
    for (size_t which = 0; which < UNKNOWNS; which++)
        for (int degree = 0; degree < LEADING_MOST; degree++) {
            double factorial = 1;
            for (int k = 2; k <= degree; k++) factorial *= k;
            draw(&l, power_of, degree, which);
            l.scale[which] = 2;
            look_back_over(&back, l.point, NULL, LOOKED_BACK_MOST, l.scale, UNKNOWNS);
            for (int m = degree; m < LEADING_MOST; m++) ck_assert_double_eq(back.miss[m], 0);
            /* the d-th difference of x^d is d! */
            if (degree) ck_assert_double_eq(back.miss[degree - 1], 2 * factorial);
            ck_assert_uint_eq(back.best, (size_t)degree);
            ck_assert_uint_eq(look_back_reach(&back), degree < 3 ? (size_t)degree + 2 : LEADING_MOST);
        }
}
END_TEST

/* Whatever way the line takes that stands beside. */
START_TEST(lines_beside_each_other_are_looked_at_together)
{
    line l, other;
    look_back back, alone;
    for (int degree = 0; degree < LEADING_MOST; degree++) {
        draw(&l, power_of, degree, 3);
        draw(&other, smooth, -2.5, 3);
        look_back_over(&alone, l.point, NULL, LOOKED_BACK_MOST, l.scale, UNKNOWNS);
        for (int k = 0; k < LOOKED_BACK_MOST; k++) l.value[k][3] += 64 * other.value[k][3];
        for (int k = 0; k < LOOKED_BACK_MOST; k++) other.value[k][3] *= 64;
        look_back_over(&back, l.point, other.point, LOOKED_BACK_MOST, l.scale, UNKNOWNS);
        for (int m = 0; m < LEADING_MOST; m++) ck_near(back.miss[m], alone.miss[m], 1e-11, 1e-9);
    }
}
END_TEST

START_TEST(as_few_points_as_there_are_are_looked_at)
{
    line l;
    draw(&l, power_of, 4, 2);
    for (size_t points = 2; points <= LOOKED_BACK_MOST; points++) {
        ck_assert_uint_le(reach(&l, points), points);
        ck_assert_uint_ge(reach(&l, points), points - 1);
    }
}
END_TEST

/* Beyond a corner the two points past it lead; before it, and once it is well behind, as many as ever. */
START_TEST(a_corner_is_not_led_on)
{
    line l;
    double away = 1e-3;
    for (size_t which = 0; which < UNKNOWNS; which++) {
        draw(&l, smooth, NAN, which);
        ck_assert_uint_eq(reach(&l, LOOKED_BACK_MOST), LEADING_MOST);
        for (double share = 0.05; share < 1; share += 0.1) {
            draw(&l, smooth, -1 - share, which); /* two points beyond */
            ck_assert_uint_eq(reach(&l, LOOKED_BACK_MOST), 2);
            draw(&l, smooth, -share, which); /* one */
            ck_assert_uint_eq(reach(&l, LOOKED_BACK_MOST), 2);
        }
        draw(&l, smooth, -5 - away, which); /* behind all of them */
        ck_assert_uint_eq(reach(&l, LOOKED_BACK_MOST), LEADING_MOST);
    }
}
END_TEST

/* What it is for: the point after next of a corner is foretold by the straight beyond it. */
START_TEST(beyond_a_corner_the_straight_leads)
{
    line l;
    for (double share = 0.05; share < 1; share += 0.1) {
        draw(&l, smooth, -1 - share, 3);
        ck_assert_uint_eq(reach(&l, LOOKED_BACK_MOST), 2);
        double led = 2 * l.value[0][3] - l.value[1][3], there = smooth(1, -1 - share);
        ck_assert_double_le(fabs(led - there), 1e-4); /* its own bend; five points would be off by 3 to 9 */
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, misses_are_backward_differences);
    tcase_add_test(tests, lines_beside_each_other_are_looked_at_together);
    tcase_add_test(tests, as_few_points_as_there_are_are_looked_at);
    tcase_add_test(tests, a_corner_is_not_led_on);
    tcase_add_test(tests, beyond_a_corner_the_straight_leads);
}

int main(void)
{
    return story_main("look back", fill);
}
