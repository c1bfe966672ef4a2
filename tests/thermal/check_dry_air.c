/* check_dry_air.c - the series in the law of dry air against the functions it stands for. */
#include "../../core/thermal/dry_air.h"

#include "story.h"

/* Over the range of temperatures that is promised, to rounding. */
START_TEST(the_series_is_a_power_of_ten)
{
    for (double t = 150; t <= 1500; t *= 1.01) ck_near(decay_at(1 / t), pow(10, -12 / t), 2e-15, 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_series_is_a_power_of_ten);
}

int main(void)
{
    return story_main("dry air", fill);
}
