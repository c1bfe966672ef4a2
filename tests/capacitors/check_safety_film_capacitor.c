/* check_safety_film_capacitor.c - an X capacitor at the mains. */
#include <math.h>

#include "device_bench.h"
#include "device_properties.h"
#include "story.h"

static const double pi = 3.14159265358979323846;

/* Circuit theory: 0.33 uF at 230 V, 50 Hz draws 23.8 mA; with tan delta 0.001 it loses V I tan delta = 5.5
 * mW, and its voltage comes back from the spectrum. */
START_TEST(mains_current_and_loss)
{
    device_bench *b = device_bench_create("safety_film_capacitor");
    device_bench_set(b, "capacitance", 0.33e-6);
    device_bench_set(b, "rated_ac_voltage", 310);
    device_bench_set(b, "loss_factor", 1e-3);
    device_bench_set(b, "dielectric_loss_factor", 1e-3);
    device_bench_expect_prepared(b);
    double f[] = {50}, amperes = 230 * 2 * pi * 50 * 0.33e-6, square[] = {amperes * amperes};
    hl_stress stress = {.struct_size = sizeof stress,
                        .lines = 1,
                        .line_frequency = f,
                        .line_rms_squared = square,
                        .voltage_peak = 325};
    hl_loss loss = device_bench_loss(b, &stress, 298.15);
    ck_near(device_bench_watts(&loss), 230 * amperes * 1e-3, 1e-9, 0);
    hl_limit voltage = device_bench_limit(b, &stress, 298.15, "alternating voltage");
    ck_near(voltage.value, 230, 1e-9, 0);
    ck_near(voltage.rated, 310, 1e-9, 0);
    device_bench_destroy(b);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, mains_current_and_loss);
}

int main(void)
{
    return story_main("safety_film_capacitor", fill);
}
