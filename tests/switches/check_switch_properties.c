/* check_switch_properties.c - every switch model on random parts and stresses. */
#include "device_properties.h"
#include "story.h"

static const char *const models[] = {"silicon_mosfet", "gan_transistor", "silicon_carbide_mosfet",
                                     "measured_switch"};
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
    return story_main("switch_properties", fill);
}
