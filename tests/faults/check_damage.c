/* check_damage.c - stores, part files and kept fields cut off anywhere or with bits turned: read, refused or
 * gone on with, but never a crash, a hang or silence; each in a child process.
 * HEATLEDGER_LONG=1: 2000 stores and part files, not 120. */
#include <glob.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "command_run.h"
#include "lottery.h"
#include "scratch_folder.h"
#include "story.h"
#include "uncertain_buck.h"

enum { USUAL = 120, LONG = 2000, SECONDS_EACH = 60 };

static const char *path, *joined;

typedef struct bytes {
    unsigned char *data;
    size_t n;
} bytes;

static bytes slurp(const char *name)
{
    bytes b = {malloc(1 << 22), 0};
    FILE *file = fopen(name, "rb");
    ck_assert(b.data && file);
    b.n = fread(b.data, 1, 1 << 22, file);
    fclose(file);
    ck_assert_uint_gt(b.n, 100);
    return b;
}

/* Cut off, or one to eight bits turned, or both. */
static bytes damaged(const bytes *whole, lottery *luck)
{
    bytes b = {malloc(whole->n), whole->n};
    ck_assert_ptr_nonnull(b.data);
    memcpy(b.data, whole->data, whole->n);
    uint64_t kind = lottery_below(luck, 4);
    if (kind == 0 || kind == 3) b.n = lottery_below(luck, whole->n);
    for (uint64_t bits = kind == 0 ? 0 : 1 + lottery_below(luck, 8); bits > 0 && b.n > 0; bits--)
        b.data[lottery_below(luck, b.n)] ^= (unsigned char)(1u << lottery_below(luck, 8));
    return b;
}

static void put(const char *name, const bytes *b)
{
    FILE *file = fopen(name, "wb");
    ck_assert(file && fwrite(b->data, 1, b->n, file) == b->n && fclose(file) == 0);
}

/* ------------------------------------------------------------------- stores -- */

static uncertain_buck buck;
static double base[512];
static hl_sweep *plan;

static void make_plan(void)
{
    uncertain_buck_open(&buck);
    ck_assert_uint_le(hl_design_settings(buck.design), 512);
    hl_design_defaults(buck.design, base);
    plan = hl_sweep_create(buck.design, base);
    size_t load = drafted_setting(&buck, "load");
    double loads[24];
    for (int i = 0; i < 24; i++) loads[i] = (i + 1) / 24.0;
    ck_assert_int_eq(hl_sweep_axis(plan, "load", 1, &load, 24, loads, NULL, buck.said), HL_OK);
    ck_assert_int_eq(hl_sweep_figure(plan, "efficiency", buck.said), HL_OK);
    ck_assert_int_eq(hl_sweep_figure(plan, "loss_w", buck.said), HL_OK);
    ck_assert_int_eq(hl_sweep_finish(plan, buck.said), HL_OK);
}

static bool look_at_row(void *context, size_t columns, const char *const names[], const char *const values[],
                        const bool is_text[])
{
    size_t *rows = context, length = 0;
    for (size_t i = 0; i < columns; i++) length += strlen(names[i]) + (values[i] ? strlen(values[i]) : 0);
    (void)is_text;
    return ++*rows < 1000 && length < (1u << 26);
}

static void look(hl_store *store, hl_diagnostics *said)
{
    hl_store_counts counts;
    size_t rows = 0;
    hl_store_count(store, &counts, said);
    hl_store_rows(store, 1000, look_at_row, &rows, said);
}

/* What the commands do with a store: list it, join it, go on with it. */
static void use_store(void)
{
    hl_diagnostics *said = hl_diagnostics_create();
    const char *parts[] = {path};
    hl_store *store = hl_store_read(path, said);
    if (!store && hl_diagnostics_errors(said) == 0) _exit(3); /* refused without a word */
    if (store) look(store, said);
    hl_store_close(store);
    hl_store_merge(joined, 1, parts, true, said);
    unlink(joined);
    store = hl_store_open(path, plan, (hl_shard){1, 1}, said);
    if (store) {
        hl_sweep_run_options options = {.workers = 1};
        hl_sweep_run(plan, store, &options, said);
        look(store, said);
    }
    hl_store_close(store);
    hl_diagnostics_destroy(said);
}

/* ---------------------------------------------------------------- part files -- */

static void use_parts(void)
{
    bytes text = slurp(path);
    hl_diagnostics *said = hl_diagnostics_create();
    hl_catalogue *catalogue = hl_catalogue_create(buck.host);
    hl_status status = hl_catalogue_read_text(catalogue, "parts", (const char *)text.data, text.n, said);
    if ((status == HL_OK) != (hl_diagnostics_errors(said) == 0)) _exit(3);
    hl_catalogue_destroy(catalogue);
    hl_diagnostics_destroy(said);
    free(text.data);
}

/* ------------------------------------------------------------------- stories -- */

static void in_child(void (*use)(void), const char *what, int i, const lottery *luck)
{
    fflush(NULL);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        alarm(SECONDS_EACH);
        use();
        _exit(0);
    }
    int status = 0;
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 0, "%s %d of seed %llu: status %x", what, i,
                  luck->seed, (unsigned)status);
}

static void damage(const char *what, const char *source, void (*use)(void))
{
    lottery luck = lottery_open(what);
    bytes whole = slurp(source);
    int times = getenv("HEATLEDGER_LONG") ? LONG : USUAL;
    for (int i = 0; i < times; i++) {
        bytes b = damaged(&whole, &luck);
        if (b.n > 100 || use == use_store) {
            put(path, &b);
            in_child(use, what, i, &luck);
        }
        free(b.data);
    }
    free(whole.data);
    fprintf(stderr, "%d damaged %s\n", times, what);
}

START_TEST(damaged_stores_are_survived)
{
    const char *good = scratch_file("good.store");
    hl_store *store = hl_store_open(good, plan, (hl_shard){1, 1}, buck.said);
    ck_assert_ptr_nonnull(store);
    hl_sweep_run_options options = {.workers = 1};
    ck_assert_int_eq(hl_sweep_run(plan, store, &options, buck.said), HL_OK);
    hl_store_close(store);
    damage("stores", good, use_store);
}
END_TEST

START_TEST(damaged_part_files_are_survived)
{
    damage("part files", HL_PROJECT_SOURCE "/examples/desk_charger/parts.yaml", use_parts);
}
END_TEST

/* A field that was kept between runs: made anew, and the answer is the same. */
START_TEST(damaged_kept_fields_are_made_anew)
{
    const char *solve[] = {"solve", HL_TEST_SOURCE "/field/plate.lua", "--csv", NULL};
    const char *cache = scratch_file("kept");
    char list[128];
    setenv("HEATLEDGER_CACHE", cache, 1);
    command_output first = command_run(solve);
    ck_assert_msg(first.code == 0, "%s", first.error);
    glob_t found;
    snprintf(list, sizeof list, "%s/*.field", cache);
    ck_assert_int_eq(glob(list, 0, NULL, &found), 0);
    ck_assert_uint_eq(found.gl_pathc, 1);
    bytes whole = slurp(found.gl_pathv[0]);
    lottery luck = lottery_open("kept fields");
    int times = getenv("HEATLEDGER_LONG") ? LONG / 10 : USUAL / 20;
    for (int i = 0; i < times; i++) {
        bytes b = damaged(&whole, &luck);
        put(found.gl_pathv[0], &b);
        free(b.data);
        command_output again = command_run(solve);
        ck_assert_msg(again.code == 0, "kept field %d of seed %llu: exit %d: %s", i, luck.seed, again.code,
                      again.error);
        ck_assert_str_eq(again.out, first.out);
        command_free(&again);
    }
    fprintf(stderr, "%d damaged kept fields\n", times);
    command_free(&first);
    globfree(&found);
    free(whole.data);
}
END_TEST

static void begin(void)
{
    scratch_folder_make();
    path = scratch_file("damaged");
    joined = scratch_file("joined");
    make_plan();
}

static void end(void)
{
    hl_sweep_destroy(plan);
    drafted_end(&buck);
    scratch_folder_remove();
}

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, begin, end);
    tcase_set_timeout(tests, 3600);
    tcase_add_test(tests, damaged_stores_are_survived);
    tcase_add_test(tests, damaged_part_files_are_survived);
    tcase_add_test(tests, damaged_kept_fields_are_made_anew);
}

int main(void)
{
    return story_main("damage", fill);
}
