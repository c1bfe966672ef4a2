/* Messages keep their order, place and severity, past the cap and without memory. */
#include "story.h"

#include <stdint.h>
#include <string.h>
#include <sys/resource.h>

#include "diagnostic/joined.h"
#include "heatledger/status.h"

START_TEST(messages_read_in_the_order_they_were_found)
{
    hl_diagnostics *list = hl_diagnostics_create();
    hl_place place = {"parts/pfc.yaml", 14, 18};
    hl_diagnostics_add(list, HL_ERROR, &place, "on_resistance: %s is outside", "150 Mohm");
    hl_diagnostics_add(list, HL_WARNING, NULL, "no box");
    hl_diagnostics_add(list, HL_NOTE, &(hl_place){"a.lua", 3, 0}, "read");
    ck_assert_uint_eq(hl_diagnostics_count(list), 3);
    ck_assert_uint_eq(hl_diagnostics_errors(list), 1);
    ck_assert_str_eq(hl_diagnostics_text(list, 0),
                     "parts/pfc.yaml:14:18: on_resistance: 150 Mohm is outside");
    ck_assert_str_eq(hl_diagnostics_text(list, 1), "no box");
    ck_assert_str_eq(hl_diagnostics_text(list, 2), "a.lua:3: read");
    ck_assert_int_eq(hl_diagnostics_severity(list, 0), HL_ERROR);
    ck_assert_int_eq(hl_diagnostics_severity(list, 1), HL_WARNING);
    ck_assert_str_eq(hl_diagnostics_text(list, 3), "");
    hl_diagnostics_destroy(list);
}
END_TEST

static const struct {
    hl_place place;
    const char *text;
} places[] = {
    {{NULL, 0, 0}, "x"},       {{"f", 0, 0}, "f: x"},    {{"f", 0, 7}, "f: x"},  {{"f", 2, 0}, "f:2: x"},
    {{"f", 2, 7}, "f:2:7: x"}, {{NULL, 2, 7}, "2:7: x"}, {{NULL, 2, 0}, "2: x"}, {{"", 0, 0}, ": x"},
};

START_TEST(a_place_shows_what_is_known_of_it)
{
    hl_diagnostics *list = hl_diagnostics_create();
    hl_diagnostics_add(list, HL_ERROR, &places[_i].place, "x");
    ck_assert_str_eq(hl_diagnostics_text(list, 0), places[_i].text);
    hl_diagnostics_destroy(list);
}
END_TEST

START_TEST(the_file_text_is_copied)
{
    char file[] = "first.yaml";
    hl_diagnostics *list = hl_diagnostics_create();
    hl_diagnostics_add(list, HL_ERROR, &(hl_place){file, 1, 1}, "x");
    memset(file, 'z', sizeof file - 1);
    ck_assert_str_eq(hl_diagnostics_text(list, 0), "first.yaml:1:1: x");
    hl_diagnostics_destroy(list);
}
END_TEST

START_TEST(past_the_cap_messages_are_counted)
{
    hl_diagnostics *list = hl_diagnostics_create();
    for (int i = 0; i < 200; i++) hl_diagnostics_add(list, HL_NOTE, NULL, "note %d", i);
    ck_assert_uint_eq(hl_diagnostics_count(list), 200);
    for (int i = 0; i < 55; i++) hl_diagnostics_add(list, i == 30 ? HL_ERROR : HL_NOTE, NULL, "more");
    ck_assert_uint_eq(hl_diagnostics_count(list), 201);
    ck_assert_uint_eq(hl_diagnostics_errors(list), 1);
    ck_assert_str_eq(hl_diagnostics_text(list, 199), "note 199");
    ck_assert_ptr_nonnull(strstr(hl_diagnostics_text(list, 200), "55 more not shown"));
    ck_assert_int_eq(hl_diagnostics_severity(list, 200), HL_ERROR);
    hl_diagnostics_destroy(list);
}
END_TEST

START_TEST(no_list_drops_the_message)
{
    hl_diagnostics_add(NULL, HL_ERROR, NULL, "x %d", 1);
    ck_assert_uint_eq(hl_diagnostics_count(NULL), 0);
    ck_assert_uint_eq(hl_diagnostics_errors(NULL), 0);
    ck_assert_str_eq(hl_diagnostics_text(NULL, 0), "");
    hl_diagnostics_destroy(NULL);
}
END_TEST

/* A message longer than the address space that is left: its text is lost, it is not. */
START_TEST(a_message_without_memory_is_still_counted)
{
    if (STORY_SANITIZED) return; /* the sanitizer's own shadow does not fit under the limit */
    enum { LONG = 256 << 20 };
    hl_diagnostics *list = hl_diagnostics_create();
    struct rlimit limit = {(rlim_t)128 << 20, (rlim_t)128 << 20};
    ck_assert_int_eq(setrlimit(RLIMIT_AS, &limit), 0);
    hl_diagnostics_add(list, HL_ERROR, NULL, "%*d", LONG, 1);
    hl_diagnostics_add(list, HL_WARNING, NULL, "short");
    ck_assert_uint_eq(hl_diagnostics_count(list), 2);
    ck_assert_uint_eq(hl_diagnostics_errors(list), 1);
    ck_assert_ptr_nonnull(strstr(hl_diagnostics_text(list, 0), "memory ran out"));
    ck_assert_str_eq(hl_diagnostics_text(list, 1), "short");
    hl_diagnostics_destroy(list);
}
END_TEST

START_TEST(every_status_has_a_sentence)
{
    for (int i = HL_OK; i <= HL_INTERNAL; i++) ck_assert_uint_gt(strlen(hl_status_text((hl_status)i)), 5);
    ck_assert_str_eq(hl_status_text((hl_status)99), "unknown status");
}
END_TEST

START_TEST(words_stand_in_a_row_as_far_as_there_is_room)
{
    char text[12] = "";
    join_word(text, sizeof text, ", ", "one");
    ck_assert_str_eq(text, "one");
    join_word(text, sizeof text, " or ", "two");
    ck_assert_str_eq(text, "one or two");
    join_word(text, sizeof text, ", ", "three");
    ck_assert_str_eq(text, "one or two,");
    join_word(text, sizeof text, ", ", "four");
    ck_assert_str_eq(text, "one or two,");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, messages_read_in_the_order_they_were_found);
    tcase_add_loop_test(tests, a_place_shows_what_is_known_of_it, 0, sizeof places / sizeof *places);
    tcase_add_test(tests, the_file_text_is_copied);
    tcase_add_test(tests, past_the_cap_messages_are_counted);
    tcase_add_test(tests, no_list_drops_the_message);
    tcase_add_test(tests, a_message_without_memory_is_still_counted);
    tcase_add_test(tests, every_status_has_a_sentence);
    tcase_add_test(tests, words_stand_in_a_row_as_far_as_there_is_room);
}

int main(void)
{
    return story_main("diagnostics", fill);
}
