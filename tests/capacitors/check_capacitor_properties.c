/* check_capacitor_properties.c - every capacitor model on random parts and stresses. */
#include "device_properties.h"
#include "story.h"

static const char *const models[] = {"electrolytic_capacitor", "polymer_capacitor", "film_capacitor",
                                     "safety_film_capacitor", "ceramic_capacitor"};
enum { MODELS = sizeof models / sizeof *models };

START_TEST(random_parts_keep_the_laws)
{
    device_properties(models[_i], 400);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, random_parts_keep_the_laws, 0, MODELS);
}

int main(void)
{
    return story_main("capacitor_properties", fill);
}
