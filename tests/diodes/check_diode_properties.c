/* check_diode_properties.c - every diode model on random parts and stresses. */
#include "device_properties.h"
#include "story.h"

static const char *const models[] = {"junction_diode", "schottky_diode", "silicon_carbide_schottky",
                                     "bridge"};
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
    return story_main("diode_properties", fill);
}
