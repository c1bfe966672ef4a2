/* check_field_kept.c - fields kept in files: the same bits again, never a damaged or a foreign one. */
#include "solved_field.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "story.h"

/* Kept, read back to the same bits; damaged anywhere, warned of and made anew. */
START_TEST(kept_field_is_read_back_and_a_damaged_file_made_anew)
{
    hl_field_board board;
    hl_field_block block;
    hl_field_box box = plain_field_box(&board, &block);
    char folder[] = "/tmp/check_field_XXXXXX", name[128] = "";
    ck_assert_ptr_nonnull(mkdtemp(folder));
    double power[2] = {1.5, 0}, mean[2], again[2];
    for (int round = 0; round < 4; round++) {
        hl_diagnostics *messages = hl_diagnostics_create();
        hl_field *field = hl_field_create_kept(&box, folder, messages);
        ck_assert_ptr_nonnull(field);
        hl_field_facts facts;
        hl_field_facts_of(field, &facts);
        bool damaged = round >= 2;
        ck_assert_uint_eq(hl_diagnostics_count(messages), damaged ? 1 : 0);
        ck_assert(facts.seconds == 0 ? round == 1 : round != 1);
        hl_field_work *work = hl_field_work_create(field);
        ck_assert_int_eq(hl_field_solve(work, &box.surroundings, power, NULL, NULL, again), HL_OK);
        if (round == 0) memcpy(mean, again, sizeof mean);
        ck_assert_mem_eq(mean, again, sizeof mean);
        hl_field_work_destroy(work);
        hl_field_destroy(field);
        hl_diagnostics_destroy(messages);
        DIR *list = opendir(folder);
        for (struct dirent *entry; (entry = readdir(list)) != NULL;)
            if (strstr(entry->d_name, ".field"))
                snprintf(name, sizeof name, "%s/%.60s", folder, entry->d_name);
        closedir(list);
        FILE *file = fopen(name, "r+b");
        ck_assert_ptr_nonnull(file);
        if (round == 1) { /* one byte in the middle */
            fseek(file, 30000, SEEK_SET);
            int byte = fgetc(file);
            fseek(file, 30000, SEEK_SET);
            fputc(byte ^ 1, file);
        }
        if (round == 2) ck_assert_int_eq(ftruncate(fileno(file), 5000), 0);
        fclose(file);
    }
    unlink(name);
    rmdir(folder);
}
END_TEST

/* A file is of one cover only. */
START_TEST(another_cover_is_another_file)
{
    hl_field_board board;
    hl_field_block block;
    hl_field_box box = plain_field_box(&board, &block);
    char folder[] = "/tmp/check_field_XXXXXX", line[64];
    ck_assert_ptr_nonnull(mkdtemp(folder));
    for (int round = 0; round < 6; round++) {
        if (round == 2) box.sides[HL_FACE_X0].covered = 0.3;
        if (round == 4) box.sides[HL_FACE_X0].cover = 5;
        hl_field *field = hl_field_create_kept(&box, folder, NULL);
        ck_assert_ptr_nonnull(field);
        hl_field_facts facts;
        hl_field_facts_of(field, &facts);
        ck_assert(facts.seconds == 0 ? round % 2 == 1 : round % 2 == 0);
        hl_field_destroy(field);
    }
    snprintf(line, sizeof line, "rm -r %s", folder);
    ck_assert_int_eq(system(line), 0);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, kept_field_is_read_back_and_a_damaged_file_made_anew);
    tcase_add_test(tests, another_cover_is_another_file);
}

int main(void)
{
    return story_main("kept fields", fill);
}
