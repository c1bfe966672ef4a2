/* check_bridge.c - the package of four. */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "published.h"
#include "story.h"

/* S. Abdel-Rahman, F. Stueckler, K. Siu (Infineon), "PFC boost converter design guide, 1200 W design
 * example", Rev 1.1, 2016, eq. 14-15: 1200 W at 85 V, 1 V per diode without slope: 12.71 A, 25.4 W; at 230 V
 * (Fig. 20) 37 % of 25.3 W, which is 9.23 to 9.49 W by the rounding of the percentage. */
START_TEST(boost_bridge)
{
    const struct {
        double mains, printed, room;
    } row[] = {{85, 25.4, 0.05}, {230, 0.37 * 25.3, 0.005 * 25.3}};
    device_bench *b = device_bench_create("bridge");
    device_bench_set(b, "rated_voltage", 600);
    device_bench_set(b, "threshold_voltage", 1.0);
    device_bench_set(b, "slope_resistance", 0);
    device_bench_expect_prepared(b);
    for (int k = 0; k < 2; k++) {
        double mean = 1200 / row[k].mains * 2 * sqrt(2) / 3.14159265358979;
        one_cycle_store store;
        hl_stress stress = one_cycle_stress(
            &store, (one_cycle){.frequency = 60, .average = mean, .rms = 1200 / row[k].mains});
        hl_loss loss = device_bench_loss(b, &stress, 298.15);
        if (k == 0)
            ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W "
                         "example, 2016, eq. 14: mean current, A",
                         mean, 12.71, 0, 0.005);
        ck_published("S. Abdel-Rahman, F. Stueckler, K. Siu, PFC boost converter design guide, 1200 W "
                     "example, 2016, eq. 15 and fig. 20: bridge, W",
                     device_bench_watts(&loss), row[k].printed, 0, row[k].room);
    }
    device_bench_destroy(b);
}
END_TEST

/* Two diodes lose what the package loses; two block and leak, at the mean of a rectified sine. */
START_TEST(two_conduct_and_two_leak)
{
    device_bench *b = device_bench_create("bridge");
    device_bench_set(b, "rated_voltage", 600);
    device_bench_set(b, "threshold_voltage", 0.75);
    device_bench_set(b, "slope_resistance", 0.03);
    device_bench_set(b, "leakage_current", 5e-6);
    device_bench_set(b, "leakage_voltage", 325);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress =
        one_cycle_stress(&store, (one_cycle){.average = 1.8, .rms = 2, .voltage_off = 325, .duty = 0.5});
    hl_loss loss = device_bench_loss(b, &stress, 298.15);
    ck_near(loss.watts[HL_CONDUCTION], 2 * (0.75 * 1.8 + 0.03 * 4), 1e-12, 0);
    ck_near(loss.watts[HL_LEAKAGE], 2 * 5e-6 * 325 * 2 / 3.14159265358979, 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

/* Known by its marking alone: 1.0 V at half its rating, and says that this is a guess. */
START_TEST(bridge_known_by_marking)
{
    device_bench *b = device_bench_create("bridge");
    device_bench_set(b, "rated_voltage", 800);
    device_bench_set(b, "rated_current", 4);
    device_bench_expect_prepared(b);
    one_cycle_store store;
    hl_stress stress = one_cycle_stress(&store, (one_cycle){.average = 2, .rms = 2});
    hl_loss loss = device_bench_loss(b, &stress, 298.15);
    ck_near(loss.watts[HL_CONDUCTION], 2 * 1.0 * 2, 1e-12, 0);
    ck_assert(loss.flags & HL_FALLBACK);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, boost_bridge);
    tcase_add_test(tests, two_conduct_and_two_leak);
    tcase_add_test(tests, bridge_known_by_marking);
}

int main(void)
{
    return story_main("bridge", fill);
}
