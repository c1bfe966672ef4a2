/* What an arena hands out is clean, aligned and apart, in small blocks and in large pages. */
#include "story.h"

#include <limits.h>
#include <malloc.h>
#include <stdalign.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "diagnostic/arena.h"

enum { PIECES = 600, LARGEST = 9000 };

static arena *arena_of(int paged)
{
    return paged ? arena_create_paged() : arena_create();
}

static size_t size_of(size_t k)
{
    return k * 7919 % LARGEST;
}

static bool is_all(const unsigned char *bytes, size_t n, unsigned char value)
{
    for (size_t i = 0; i < n; i++)
        if (bytes[i] != value) return false;
    return true;
}

/* Some 2.7 MB: more than one large page, and far more than one small block. */
static void fill_and_look(arena *memory)
{
    unsigned char *piece[PIECES];
    for (size_t k = 0; k < PIECES; k++) {
        piece[k] = arena_take(memory, size_of(k));
        ck_assert_ptr_nonnull(piece[k]);
        ck_assert_uint_eq((uintptr_t)piece[k] % alignof(max_align_t), 0);
        ck_assert(is_all(piece[k], size_of(k), 0));
        memset(piece[k], (int)(k % 251 + 1), size_of(k));
    }
    for (size_t k = 0; k < PIECES; k++) ck_assert(is_all(piece[k], size_of(k), (unsigned char)(k % 251 + 1)));
}

/* Memory that was given back with something in it comes first. */
static void leave_dirt(void)
{
    enum { DIRT = 16777216 };
    mallopt(M_MMAP_MAX, 0); /* else it is the system's again, which cleans it */
    mallopt(M_TRIM_THRESHOLD, INT_MAX);
    unsigned char *dirt = malloc(DIRT);
    ck_assert_ptr_nonnull(dirt);
    for (volatile unsigned char *at = dirt; at < dirt + DIRT; at++) *at = 0xa5;
    free(dirt);
}

START_TEST(pieces_are_clean_aligned_and_apart)
{
    leave_dirt();
    arena *memory = arena_of(_i);
    fill_and_look(memory);
    arena_destroy(memory);
}
END_TEST

START_TEST(a_piece_may_be_larger_than_a_page)
{
    enum { SIZE = 5000001 };
    arena *memory = arena_of(_i);
    unsigned char *small = arena_take(memory, 1), *large = arena_array(memory, SIZE, 1);
    ck_assert_ptr_nonnull(large);
    ck_assert(is_all(large, SIZE, 0));
    memset(large, 7, SIZE);
    ck_assert_uint_eq(*small, 0);
    unsigned char *after = arena_take(memory, 64);
    ck_assert(is_all(after, 64, 0));
    ck_assert(is_all(large, SIZE, 7));
    arena_destroy(memory);
}
END_TEST

START_TEST(what_cannot_be_had_is_refused_and_the_rest_stays)
{
    arena *memory = arena_of(_i);
    char *text = arena_copy(memory, "kept");
    ck_assert_ptr_null(arena_take(memory, SIZE_MAX));
    ck_assert_ptr_null(arena_array(memory, SIZE_MAX / 4, 8));
    ck_assert_str_eq(text, "kept");
    ck_assert_ptr_nonnull(arena_take(memory, 16));
    arena_destroy(memory);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, pieces_are_clean_aligned_and_apart, 0, 2);
    tcase_add_loop_test(tests, a_piece_may_be_larger_than_a_page, 0, 2);
    tcase_add_loop_test(tests, what_cannot_be_had_is_refused_and_the_rest_stays, 0, 2);
}

int main(void)
{
    return story_main("arena", fill);
}
