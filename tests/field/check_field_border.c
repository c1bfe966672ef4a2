/* check_field_border.c - the load and the ambient at which a design with a heat field runs away, against
 * plain solutions on both sides. */
#include <jansson.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "command_json.h"
#include "scratch_folder.h"
#include "story.h"

static const char leaky[] = HL_TEST_SOURCE "/field/leaky.lua";
static const char leaky_linked[] = HL_TEST_SOURCE "/field/leaky_linked.lua";

static json_t *solve(const char *script, const char *option, const char *setting)
{
    setenv("HEATLEDGER_CACHE", scratch_folder, 1);
    const char *arguments[] = {"solve", script, "--json", option, setting, NULL};
    command_output output = command_run(arguments);
    json_t *document = output_json(&output, output.code == 3 ? 3 : 0); /* 3: it runs away */
    command_free(&output);
    return document;
}

/* Does it settle there?  The rectifier's feedback gain then. */
static bool settles(const char *name, double value, const char *unit, double *gain)
{
    char setting[80];
    snprintf(setting, sizeof setting, "%s=%.9g%s", name, value, unit);
    json_t *document = solve(leaky, "--set", setting);
    const char *status = json_string_value(json_object_get(document, "status"));
    bool solved = strcmp(status, "solved") == 0;
    ck_assert_msg(solved || strcmp(status, "runaway") == 0, "%s: %s", setting, status);
    if (solved) *gain = json_number_value(json_object_get(document, "feedback_gain"));
    json_decref(document);
    return solved;
}

/* By halving alone, from a point that settles and one that does not. */
static double halved(const char *name, double low, double high, const char *unit, double fine)
{
    double gain = 0;
    ck_assert(settles(name, low, unit, &gain));
    ck_assert(!settles(name, high, unit, &gain));
    while (high - low > fine) {
        double middle = 0.5 * (low + high), last = gain;
        if (settles(name, middle, unit, &gain)) {
            ck_assert_msg(gain > last && gain < 1, "gain %.4f after %.4f", gain, last);
            low = middle;
        } else {
            high = middle;
        }
    }
    ck_assert_msg(gain > 0.85, "the border was met at a gain of %.3f", gain);
    return 0.5 * (low + high);
}

/* 0.5 % of the load, and of what the rectifier rises above the room. */
START_TEST(the_border_is_where_plain_solutions_end)
{
    json_t *document = solve(leaky, "--border", NULL);
    const json_t *load = json_object_get(json_object_get(document, "critical"), "load");
    const json_t *ambient = json_object_get(json_object_get(document, "critical"), "ambient");
    ck_assert_str_eq(json_string_value(json_object_get(load, "border")), "fold");
    ck_assert_str_eq(json_string_value(json_object_get(load, "leader")), "buck.low_switch");
    ck_assert_str_eq(json_string_value(json_object_get(ambient, "leader")), "buck.low_switch");
    double most = json_number_value(json_object_get(load, "value"));
    double warmest = json_number_value(json_object_get(ambient, "value_c"));
    double rise = json_number_value(json_object_get(ambient, "leader_c")) - warmest;
    ck_assert_double_gt(rise, 10);
    double load_halved = halved("load", 1, 2, "", 2e-3), ambient_halved = warmest;
    if (!STORY_SANITIZED) ambient_halved = halved("ambient.temperature", 20, 45, " degC", 0.05);
    printf("runs away above load %.4f, by halving %.4f; ambient %.2f degC, by halving %.2f\n", most,
           load_halved, warmest, ambient_halved);
    ck_near(most, load_halved, 5e-3, 0);
    ck_near(warmest, ambient_halved, 0, 5e-3 * rise);
    json_decref(document);
}
END_TEST

/* A rectifier that a link by hand cools, nearly idle in a warm room, where all it loses is leakage. */
static double leaking(const char *network, json_t **document)
{
    const char *arguments[] = {"solve",
                               HL_TEST_SOURCE "/figures/boxed_on_a_table.lua",
                               "--json",
                               "--set",
                               "load=0.01",
                               "--set",
                               "ambient.temperature=42 degC",
                               "--network",
                               network,
                               NULL};
    setenv("HEATLEDGER_CACHE", scratch_folder, 1);
    *document = command_json(arguments);
    ck_assert_str_eq(json_string_value(json_object_get(*document, "feedback_leader")), "buck.low_switch");
    return json_number_value(json_object_get(*document, "feedback_gain"));
}

/* Two ways to reckon the same box: they differ by 1 % here. */
START_TEST(a_link_by_hand_weighs_the_same_with_a_field_as_by_rule)
{
    json_t *field, *rule;
    double by_field = leaking("field", &field), by_rule = leaking("rule", &rule);
    printf("gain of a rectifier with a link: %.4f by field, %.4f by rule\n", by_field, by_rule);
    ck_near(by_field, by_rule, 0.05, 0);
    json_decref(field);
    json_decref(rule);
}
END_TEST

static const char *leader(const json_t *document, const char *border)
{
    return json_string_value(
        json_object_get(json_object_get(json_object_get(document, "critical"), border), "leader"));
}

/* A link by hand steadies: less gain, a higher border, and never the part that it cools in the lead. */
START_TEST(a_link_by_hand_leads_no_run_away)
{
    json_t *plain = solve(leaky, "--border", NULL), *linked = solve(leaky_linked, "--border", NULL);
    ck_assert_str_eq(leader(linked, "load"), "buck.low_switch");
    ck_assert_str_eq(leader(linked, "ambient"), "buck.low_switch");
    double gain = json_number_value(json_object_get(linked, "feedback_gain"));
    ck_assert_double_gt(gain, 0);
    ck_assert_double_lt(gain, 0.8 * json_number_value(json_object_get(plain, "feedback_gain")));
    json_decref(plain);
    json_decref(linked);
}
END_TEST

/* The switch is the hottest and its loss does not move with temperature: the rectifier leads. */
START_TEST(the_hottest_part_leads_nothing_unless_its_loss_grows)
{
    json_t *document = solve(leaky, "--set", "buck.high_switch.resistance=1.5 ohm");
    const char *reason = json_string_value(json_object_get(document, "reason"));
    ck_assert_str_eq(json_string_value(json_object_get(document, "status")), "runaway");
    ck_assert_msg(strstr(reason, "run-away led by buck.low_switch") != NULL, "it says: %s", reason);
    ck_assert_str_eq(json_string_value(json_object_get(document, "feedback_leader")), "buck.low_switch");
    json_decref(document);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_test(tests, the_border_is_where_plain_solutions_end);
    tcase_add_test(tests, a_link_by_hand_weighs_the_same_with_a_field_as_by_rule);
    tcase_add_test(tests, a_link_by_hand_leads_no_run_away);
    tcase_add_test(tests, the_hottest_part_leads_nothing_unless_its_loss_grows);
}

int main(void)
{
    return story_main("field_border", fill);
}
