/* check_marked_charger.c - the main example known by its markings beside the same one known in full: how far
 * apart, and how much of it is said to rest on estimates. */
#include "command_json.h"
#include "example_run.h"
#include "json_entry.h"
#include "story.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

static json_t *full, *marked;

static void begin(void)
{
    full = example_solve("examples/desk_charger/charger.lua", "230 V", "1", "25 degC");
    marked = example_solve("examples/desk_charger/marked.lua", "230 V", "1", "25 degC");
}

static void end(void)
{
    json_decref(full);
    json_decref(marked);
}

/* The part in the same slot of the other charger. */
static const json_t *twin_of(const json_t *part)
{
    size_t k;
    const json_t *other;
    json_array_foreach(json_object_get(full, "parts"), k, other)
    {
        if (json_equal(json_object_get(part, "stage"), json_object_get(other, "stage")) &&
            json_equal(json_object_get(part, "slot"), json_object_get(other, "slot")))
            return other;
    }
    ck_abort_msg("no such part in full");
}

START_TEST(both_chargers_have_the_same_parts_and_closed_books)
{
    begin();
    example_books_close(marked);
    ck_assert_uint_eq(json_array_size(json_object_get(full, "parts")),
                      json_array_size(json_object_get(marked, "parts")));
    end();
}
END_TEST

/* Central values: none was chosen for this charger, so they may differ, within what such guesses are good
 * for. The losses together within 15 %, each rise within a third: factors of 1.5 to 2 on one loss in three or
 * four, and a part's rise half its own and half its neighbours'. */
START_TEST(central_values_come_near_the_data)
{
    begin();
    size_t k, far = 0;
    const json_t *part;
    ck_near(example_figure(marked, "power", "loss_w"), example_figure(full, "power", "loss_w"), 0.15, 0);
    json_array_foreach(json_object_get(marked, "parts"), k, part)
    {
        double rise = json_figure(part, "temperature_c") - 25,
               other = json_figure(twin_of(part), "temperature_c") - 25;
        ck_assert_msg(rise > other / 1.35 && rise < other * 1.35, "%s.%s: rise %.1f K, in full %.1f K",
                      json_string_value(json_object_get(part, "stage")),
                      json_string_value(json_object_get(part, "slot")), rise, other);
        far += !(rise > other / 1.1 && rise < other * 1.1);
    }
    ck_assert_uint_le(far, 6);
    end();
}
END_TEST

START_TEST(the_result_says_how_much_rests_on_estimates)
{
    begin();
    const json_t *of_full = json_object_get(full, "estimates"),
                 *of_marked = json_object_get(marked, "estimates");
    ck_assert_double_gt(json_figure(of_marked, "loss_share"), 0.9);
    ck_assert_double_gt(json_figure(of_marked, "temperature_share"), 0.9);
    ck_assert_double_lt(json_figure(of_full, "loss_share"), 0.2);
    ck_assert_double_gt(json_figure(of_marked, "loss_w"), 3 * json_figure(of_full, "loss_w"));
    ck_assert_double_gt(json_figure(of_marked, "temperature_k"), 1);
    size_t k;
    const json_t *part;
    json_array_foreach(json_object_get(marked, "parts"), k, part)
    {
        double share = json_figure(part, "estimated_share");
        ck_assert_msg(share >= 0 && share <= 1, "share %g", share);
        ck_assert(json_figure(part, "estimated_loss_w") >= 0 &&
                  json_figure(part, "estimated_temperature_k") >= 0);
        ck_assert_double_lt(json_figure(part, "estimated_loss_w"), 1.5 * json_figure(part, "loss_w"));
    }
    end();
}
END_TEST

/* Lowest and highest of nine cases in ten of a figure of the spread; false: it is not among the figures. */
static bool band_of(const json_t *spread, const char *name, double *low, double *high)
{
    size_t k;
    const json_t *entry;
    json_array_foreach(json_object_get(spread, "figures"), k, entry)
    {
        if (strcmp(json_string_value(json_object_get(entry, "figure")), name)) continue;
        const json_t *quantiles = json_object_get(entry, "quantiles");
        *low = json_number_value(json_array_get(quantiles, 0));
        *high = json_number_value(json_array_get(quantiles, json_array_size(quantiles) - 1));
        return true;
    }
    return false;
}

static double hottest_face(const json_t *result)
{
    size_t k;
    const json_t *node;
    double most = 0;
    json_array_foreach(json_object_get(result, "nodes"), k, node)
    {
        const char *name = json_string_value(json_object_get(node, "node"));
        if (!strncmp(name, "face ", 5) && !strstr(name, " inside"))
            most = fmax(most, json_figure(node, "temperature_c"));
    }
    return most;
}

/* The bands of the marked charger hold what the full data give: nine parts in ten, the case, the whole loss.
 */
START_TEST(the_bands_cover_the_full_data)
{
    begin();
    const char *arguments[] = {"spread",    HL_PROJECT_SOURCE "/examples/desk_charger/marked.lua",
                               "--samples", "300",
                               "--totals",  "0",
                               "--json",    NULL};
    json_t *spread = command_json(arguments);
    size_t k, parts = 0, covered = 0;
    const json_t *part;
    double low, high;
    json_array_foreach(json_object_get(full, "parts"), k, part)
    {
        char name[160];
        snprintf(name, sizeof name, "temperature %s.%s", json_string_value(json_object_get(part, "stage")),
                 json_string_value(json_object_get(part, "slot")));
        ck_assert_msg(band_of(spread, name, &low, &high), "no band of %s", name);
        double known = json_figure(part, "temperature_c");
        parts++;
        covered += known >= low && known <= high;
    }
    ck_assert_msg(10 * covered >= 9 * parts, "bands cover %zu of %zu parts", covered, parts);
    ck_assert(band_of(spread, "case hottest", &low, &high));
    double known = hottest_face(full);
    ck_assert_msg(known >= low && known <= high, "case %.1f degC, band %.1f to %.1f", known, low, high);
    ck_assert(band_of(spread, "loss", &low, &high));
    known = example_figure(full, "power", "loss_w");
    ck_assert_msg(known >= low && known <= high, "loss %.2f W, band %.2f to %.2f", known, low, high);
    json_decref(spread);
    end();
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, the_bands_cover_the_full_data);
    tcase_add_test(tests, both_chargers_have_the_same_parts_and_closed_books);
    tcase_add_test(tests, central_values_come_near_the_data);
    tcase_add_test(tests, the_result_says_how_much_rests_on_estimates);
}

int main(void)
{
    return story_main("marked charger", fill);
}
