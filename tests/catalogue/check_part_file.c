/* Wrong part files, one folder per case: the exact text of every message, with file, line and column. */
#include "story.h"

#include <dirent.h>
#include <string.h>

#include "heatledger/heatledger.h"

enum { CASES_MAX = 400, TEXT_MAX_BYTES = 1 << 20 };

static char *cases[CASES_MAX];
static int n_cases;

static int order(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void find_cases(void)
{
    DIR *folder = opendir(HL_TEST_SOURCE "/input");
    for (struct dirent *entry; folder && (entry = readdir(folder)) && n_cases < CASES_MAX;)
        if (entry->d_name[0] != '.') cases[n_cases++] = strdup(entry->d_name);
    if (folder) closedir(folder);
    qsort(cases, (size_t)n_cases, sizeof *cases, order);
}

static char *read_text(const char *name, const char *file, size_t *length)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/input/%s/%s", HL_TEST_SOURCE, name, file);
    FILE *stream = fopen(path, "rb");
    ck_assert_msg(stream != NULL, "%s is missing", path);
    char *text = malloc(TEXT_MAX_BYTES + 1);
    *length = fread(text, 1, TEXT_MAX_BYTES, stream);
    text[*length] = '\0';
    fclose(stream);
    return text;
}

/* Every message on a line of its own. */
static char *all_messages(const hl_diagnostics *diagnostics)
{
    char *text = calloc(1, TEXT_MAX_BYTES + 1);
    size_t used = 0;
    for (size_t i = 0; i < hl_diagnostics_count(diagnostics); i++)
        used +=
            (size_t)snprintf(text + used, TEXT_MAX_BYTES - used, "%s\n", hl_diagnostics_text(diagnostics, i));
    return text;
}

START_TEST(a_wrong_part_file_is_answered_word_for_word)
{
    size_t length, expected_length;
    char *input = read_text(cases[_i], "input.yaml", &length);
    hl_host *host = hl_host_create();
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    ck_assert_int_eq(hl_host_load(host, HL_SAMPLE_MODELS, diagnostics), HL_OK);
    hl_catalogue *catalogue = hl_catalogue_create(host);
    hl_status status = hl_catalogue_read_text(catalogue, "input.yaml", input, length, diagnostics);
    char *got = all_messages(diagnostics);
    if (getenv("HL_TEST_SHOW")) fprintf(stderr, "---- %s\n%s", cases[_i], got);
    char *expected = read_text(cases[_i], "expected", &expected_length);
    ck_assert_msg(strcmp(got, expected) == 0, "%s: got\n%sexpected\n%s", cases[_i], got, expected);
    ck_assert_int_eq(status, HL_BAD_INPUT);
    hl_catalogue_destroy(catalogue);
    hl_diagnostics_destroy(diagnostics);
    hl_host_destroy(host);
    free(input);
    free(got);
    free(expected);
}
END_TEST

START_TEST(there_are_cases_to_check)
{
    ck_assert_int_ge(n_cases, 30);
    ck_assert_int_lt(n_cases, CASES_MAX);
}
END_TEST

static void fill(TCase *tests)
{
    find_cases();
    tcase_add_test(tests, there_are_cases_to_check);
    tcase_add_loop_test(tests, a_wrong_part_file_is_answered_word_for_word, 0, n_cases);
}

int main(void)
{
    return story_main("part file", fill);
}
