/* check_distributions.c - worked examples of JCGM 101:2008, clause 9, by sampling through the public
 * interface. Models and printed figures from memory of the standard's tables; tolerance: the last printed
 * digit, plus what the sample's own chance allows where said. */
#include <math.h>
#include <stdlib.h>

#include "heatledger/spread.h"
#include "story.h"

enum { SAMPLES = 200000, INPUTS_MOST = 9 };

typedef double (*model)(const double x[]);

typedef struct found {
    double mean, deviation, low, high;
} found;

static found sampled(const hl_distribution inputs[], size_t n, const double r[], model f, double coverage,
                     bool shortest)
{
    double *p = calloc(SAMPLES * n, sizeof *p), *y = calloc(SAMPLES, sizeof *y), x[INPUTS_MOST];
    ck_assert(p && y);
    ck_assert_int_eq(hl_latin_hypercube(20260, SAMPLES, n, p), HL_OK);
    if (r) ck_assert_int_eq(hl_sample_correlate(SAMPLES, n, r, p), HL_OK);
    for (size_t s = 0; s < SAMPLES; s++) {
        for (size_t i = 0; i < n; i++) x[i] = hl_distribution_quantile(&inputs[i], p[s * n + i]);
        y[s] = f(x);
    }
    found out = {.mean = hl_mean(SAMPLES, y), .deviation = hl_deviation(SAMPLES, y)};
    hl_sort(SAMPLES, y);
    if (shortest)
        hl_interval_shortest(SAMPLES, y, coverage, &out.low, &out.high);
    else
        hl_interval_symmetric(SAMPLES, y, coverage, &out.low, &out.high);
    free(p);
    free(y);
    return out;
}

static double sum_of_four(const double x[])
{
    return x[0] + x[1] + x[2] + x[3];
}

/* 9.2: four standard normal, four rectangular of deviation 1, and one of them ten times wider. */
START_TEST(additive_models_of_clause_9_2)
{
    double w = sqrt(3);
    hl_distribution normal[4], even[4];
    for (int i = 0; i < 4; i++) {
        normal[i] = (hl_distribution){HL_SHAPE_NORMAL, {0, 1, 0}};
        even[i] = (hl_distribution){HL_SHAPE_UNIFORM, {-w, w, 0}};
    }
    found a = sampled(normal, 4, NULL, sum_of_four, 0.95, false);
    ck_near(a.mean, 0, 0, 0.005);
    ck_near(a.deviation, 2.0, 0, 0.005);
    ck_near(a.low, -3.92, 0, 0.02); /* +- 4 standard errors of the end at this count: 0.02 */
    ck_near(a.high, 3.92, 0, 0.02);
    found b = sampled(even, 4, NULL, sum_of_four, 0.95, false);
    ck_near(b.deviation, 2.0, 0, 0.005);
    ck_near(b.low, -3.88, 0, 0.02);
    ck_near(b.high, 3.88, 0, 0.02);
    even[3] = (hl_distribution){HL_SHAPE_UNIFORM, {-10 * w, 10 * w, 0}};
    found c = sampled(even, 4, NULL, sum_of_four, 0.95, false);
    ck_near(c.deviation, 10.1, 0, 0.05);
    ck_near(c.low, -17.0, 0, 0.05);
    ck_near(c.high, 17.0, 0, 0.05);
}
END_TEST

/* 9.3 mass calibration, deviation from 100 g in mg; inputs: reference, added mass, densities of air, weight,
 * reference. */
static double mass(const double x[])
{
    double added = x[0] + x[1];
    return added * (1 + (x[2] - 1.2) * (1 / x[3] - 1 / x[4])) - 100000;
}

START_TEST(mass_calibration_of_clause_9_3)
{
    static const hl_distribution inputs[5] = {{HL_SHAPE_NORMAL, {100000, 0.050, 0}},
                                              {HL_SHAPE_NORMAL, {1.234, 0.020, 0}},
                                              {HL_SHAPE_UNIFORM, {1.10, 1.30, 0}},
                                              {HL_SHAPE_UNIFORM, {7000, 9000, 0}},
                                              {HL_SHAPE_UNIFORM, {7950, 8050, 0}}};
    found a = sampled(inputs, 5, NULL, mass, 0.95, true), b = sampled(inputs, 5, NULL, mass, 0.95, false);
    ck_near(a.mean, 1.2340, 0, 0.0003);
    ck_near(a.deviation, 0.0754, 0, 0.0003);
    ck_near(a.high - a.low, 1.3825 - 1.0834, 0, 0.002);
    /* Printed for the shortest; where it lies scatters by about 0.004 at this count, since the distribution
     * is symmetric and flat at its ends: the symmetric interval is the same in the limit and is steadier. */
    ck_near(b.low, 1.0834, 0, 0.002);
    ck_near(b.high, 1.3825, 0, 0.003);
}
END_TEST

/* 9.4 comparison loss of a power meter calibration: y = x1^2 + x2^2, u = 0.005. */
static double comparison_loss(const double x[])
{
    return 1e6 * (x[0] * x[0] + x[1] * x[1]);
}

/* Mean: x1^2 + 2 u^2, deviation: sqrt(4 x1^2 u^2 + 4 u^4 (1 + r^2)), exact moments of the same model; so the
 * printed figures are known to be right where they come from memory. */
START_TEST(comparison_loss_of_clause_9_4)
{
    static const struct {
        double x1, r, mean, deviation, low, high;
    } row[] = {
        {0.000, 0.0, 50, 50, 0, 150}, {0.010, 0.0, 150, 112, 0, 367},  {0.050, 0.0, 2551, 502, 1590, 3543},
        {0.000, 0.9, 50, 67, 0, 185}, {0.010, 0.9, 150, 120, 13, 398}, {0.050, 0.9, 2551, 505, 1628, 3555},
    };
    const double u = 0.005, *none = NULL;
    const hl_distribution inputs[2] = {{HL_SHAPE_NORMAL, {row[_i].x1, u, 0}}, {HL_SHAPE_NORMAL, {0, u, 0}}};
    double r[4] = {1, row[_i].r, row[_i].r, 1}, x1 = row[_i].x1 * 1e3, v = u * 1e3;
    found a = sampled(inputs, 2, row[_i].r != 0 ? r : none, comparison_loss, 0.95, true);
    double exact = sqrt(4 * x1 * x1 * v * v + 4 * v * v * v * v * (1 + row[_i].r * row[_i].r));
    ck_near(a.mean, x1 * x1 + 2 * v * v, 0, 1);
    ck_near(a.deviation, exact, 0.01, 0);
    ck_near(a.mean, row[_i].mean, 0, 1.5);
    ck_near(a.deviation, row[_i].deviation, 0.01, 1);
    /* ends of the shortest interval: 2 % of the width, their own scatter at this count */
    double room = 0.02 * (row[_i].high - row[_i].low);
    ck_near(a.high - a.low, row[_i].high - row[_i].low, 0, room);
    ck_near(a.low, row[_i].low, 0, room + 0.5);
    ck_near(a.high, row[_i].high, 0, room + 0.5);
}
END_TEST

/* 9.5 gauge block, deviation from 50 mm in nm; shapes of table 10. */
static double gauge(const double x[])
{
    double length = 50e6 + x[0];
    return x[0] + x[1] + x[2] + x[3] - length * (x[7] * (x[5] + x[6]) + x[4] * x[8]);
}

START_TEST(gauge_block_of_clause_9_5)
{
    static const hl_distribution inputs[9] = {
        {HL_SHAPE_STUDENT, {623, 25, 18}},
        {HL_SHAPE_STUDENT, {215, 6, 24}},
        {HL_SHAPE_STUDENT, {0, 4, 5}},
        {HL_SHAPE_STUDENT, {0, 7, 8}},
        {HL_SHAPE_UNIFORM, {9.5e-6, 13.5e-6, 0}},
        {HL_SHAPE_NORMAL, {-0.1, 0.2, 0}},
        {HL_SHAPE_ARC_SINE, {-0.5, 0.5, 0}},
        {HL_SHAPE_INEXACT_UNIFORM, {-1e-6, 1e-6, 0.1e-6}},
        {HL_SHAPE_INEXACT_UNIFORM, {-0.050, 0.050, 0.025}},
    };
    found a = sampled(inputs, 9, NULL, gauge, 0.99, true);
    ck_near(a.mean, 838, 0, 0.5);
    ck_near(a.deviation, 36, 0, 0.5);
    ck_near(a.low, 745, 0, 2); /* 745 .. 932; the ends scatter by about 1 at this count */
    ck_near(a.high, 932, 0, 2);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, additive_models_of_clause_9_2);
    tcase_add_test(tests, mass_calibration_of_clause_9_3);
    tcase_add_loop_test(tests, comparison_loss_of_clause_9_4, 0, 6);
    tcase_add_test(tests, gauge_block_of_clause_9_5);
}

int main(void)
{
    return story_main("distributions", fill);
}
