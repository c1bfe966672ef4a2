/* check_polymer_capacitor.c - low ESR that hardly moves, life by decades of 20 K. */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "story.h"

static device_bench *polymer(void)
{
    device_bench *b = device_bench_create("polymer_capacitor");
    device_bench_set(b, "capacitance", 330e-6);
    device_bench_set(b, "rated_voltage", 35);
    device_bench_set(b, "esr", 14e-3);
    device_bench_set(b, "rated_ripple_current", 4.6);
    device_bench_set(b, "rated_life", 2000 * 3600.0);
    device_bench_set(b, "life_ripple_rise", 0);
    device_bench_expect_prepared(b);
    return b;
}

/* Usual rule of data sheets (common practice): ten times the life per 20 K. */
START_TEST(life_by_decades)
{
    device_bench *b = polymer();
    hl_stress none = {.struct_size = sizeof none};
    hl_limit hot = device_bench_limit(b, &none, 378.15, "needed life"),
             mild = device_bench_limit(b, &none, 358.15, "needed life");
    ck_near(hot.rated, 2000, 1e-9, 0);
    ck_near(mild.rated, 20000, 5e-3, 0);
    device_bench_destroy(b);
}
END_TEST

/* Lines are added as heat, and nothing is made of one lumped rms: half the heat at each of two frequencies.
 */
START_TEST(lines_add_as_heat)
{
    device_bench *b = polymer();
    double f[] = {1e5, 3e5}, split[] = {4.5, 4.5}, first[] = {9, 0}, second[] = {0, 9};
    hl_stress s = {.struct_size = sizeof s, .lines = 2, .line_frequency = f, .line_rms_squared = split};
    hl_loss both = device_bench_loss(b, &s, 293.15);
    s.line_rms_squared = first;
    hl_loss low = device_bench_loss(b, &s, 293.15);
    s.line_rms_squared = second;
    hl_loss high = device_bench_loss(b, &s, 293.15);
    ck_near(device_bench_watts(&low), 9 * 14e-3, 1e-9, 0);
    ck_near(device_bench_watts(&both), 0.5 * (device_bench_watts(&low) + device_bench_watts(&high)), 1e-12,
            0);
    ck_assert_double_lt(device_bench_watts(&high), device_bench_watts(&low));
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, life_by_decades);
    tcase_add_test(tests, lines_add_as_heat);
}

int main(void)
{
    return story_main("polymer_capacitor", fill);
}
