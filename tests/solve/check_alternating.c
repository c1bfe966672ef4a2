/* check_alternating.c - a point at which two valleys of a flyback call for each other: within thousandths of
 * the frequency clamp the losses of either valley lead to the other, so that no point agrees with itself. */
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include <jansson.h>

#include "command_json.h"
#include "story.h"

static const char warned[] = "two valleys call for each other";

/* The wall adapter at 136 V; the caller drops the document. */
static json_t *at_load(const char *load, bool expect_warning)
{
    char setting[32];
    snprintf(setting, sizeof setting, "load=%s", load);
    const char *arguments[] = {"solve",
                               HL_PROJECT_SOURCE "/examples/wall_adapter/adapter.lua",
                               "--json",
                               "--set",
                               "mains.voltage=136 V",
                               "--set",
                               setting,
                               NULL};
    command_output said = command_run(arguments);
    json_t *document = output_json(&said, 0);
    ck_assert_msg((strstr(said.out, warned) != NULL) == expect_warning, "load %s", load);
    ck_assert_str_eq(json_string_value(json_object_get(document, "status")), "solved");
    command_free(&said);
    return document;
}

static double number(const json_t *document, const char *object, const char *key)
{
    const json_t *value = json_object_get(json_object_get(document, object), key);
    ck_assert_msg(json_is_number(value), "no %s.%s", object, key);
    return json_number_value(value);
}

/* Solved, with closed books; the loss lies where the neighbours, each in a valley of its own, leave room. */
START_TEST(a_point_between_two_valleys_is_solved_and_said)
{
    json_t *below = at_load("0.915", false), *between = at_load("0.91735", true),
           *above = at_load("0.925", false);
    double loss = number(between, "power", "loss_w");
    double least = fmin(number(below, "power", "loss_w"), number(above, "power", "loss_w"));
    double most = fmax(number(below, "power", "loss_w"), number(above, "power", "loss_w"));
    ck_assert_msg(loss > 0.98 * least && loss < 1.02 * most, "%.4f W, neighbours %.4f and %.4f W", loss,
                  least, most);
    ck_near(number(between, "power", "input_w"), number(between, "power", "output_w") + loss, 0, 1e-8);
    json_decref(below);
    json_decref(between);
    json_decref(above);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, a_point_between_two_valleys_is_solved_and_said);
}

int main(void)
{
    return story_main("alternating", fill);
}
