/* check_rule_examples.c - the examples by rule against the field of their box: how far the parts are off,
 * above all how much too cold. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "command_json.h"
#include "story.h"

/* Coldest part against the field and root mean square over parts, as shares of the hottest part's rise over
 * the room by field, so that losses that are mended move neither: as measured when the rules were written,
 * rounded up.  With one temperature for the whole board they were in K: 15.7 and 10.0, 7.7 and 4.9, 3.3 and
 * 1.2, 13.6 and 8.7. */
static const struct {
    const char *script;
    double coldest, mean;
} examples[] = {
    {"wall_adapter/adapter.lua", 0.086, 0.047},
    {"desk_charger/charger.lua", 0.116, 0.066},
    {"tool_charger/charger.lua", 0.098, 0.036},
    {"small_adapter/adapter.lua", 0.077, 0.051},
};

static json_t *solved(const char *script, const char *network)
{
    char path[400];
    snprintf(path, sizeof path, "%s/examples/%s", HL_PROJECT_SOURCE, script);
    const char *arguments[] = {"solve", path, "--json", "--network", network, NULL};
    return command_json(arguments);
}

static double celsius_of(const json_t *part)
{
    return json_number_value(json_object_get(part, "temperature_c"));
}

START_TEST(parts_by_rule_are_near_those_by_field)
{
    json_t *rule = solved(examples[_i].script, "rule"), *field = solved(examples[_i].script, "field");
    const json_t *by_rule = json_object_get(rule, "parts"), *by_field = json_object_get(field, "parts");
    double room =
        json_number_value(json_object_get(json_object_get(field, "settings"), "ambient.temperature_c"));
    double coldest = 0, hottest = 0, squares = 0, rise = 0;
    size_t n = json_array_size(by_field);
    ck_assert_uint_gt(n, 10);
    ck_assert_uint_eq(json_array_size(by_rule), n);
    for (size_t i = 0; i < n; i++) {
        double off = celsius_of(json_array_get(by_rule, i)) - celsius_of(json_array_get(by_field, i));
        coldest = fmax(coldest, -off);
        hottest = fmax(hottest, off);
        squares += off * off;
        rise = fmax(rise, celsius_of(json_array_get(by_field, i)) - room);
    }
    double mean = sqrt(squares / (double)n);
    printf("%s: %.2f K too cold, %.2f K too hot, %.2f K in the mean; hottest %.2f K over the room\n",
           examples[_i].script, coldest, hottest, mean, rise);
    ck_assert_msg(coldest < examples[_i].coldest * rise && mean < examples[_i].mean * rise,
                  "%s: %.2f K too cold, mean %.2f K; the hottest part stands %.2f K over the room",
                  examples[_i].script, coldest, mean, rise);
    json_decref(rule);
    json_decref(field);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, parts_by_rule_are_near_those_by_field, 0,
                        (int)(sizeof examples / sizeof examples[0]));
}

int main(void)
{
    return story_main("examples by rule", fill);
}
