/* check_environment.c - what the caller's process is set to does not change a bit of what comes out: a locale
 * with a decimal comma, another time zone, another umask, another rounding mode, flush to zero, traps. */
#define _GNU_SOURCE /* feenableexcept */
#include <fenv.h>
#include <locale.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#if defined(__SSE2__)
#include <xmmintrin.h>
#endif

#include "command_run.h"
#include "heatledger/fit.h"
#include "heatledger/spread.h"
#include "scratch_folder.h"
#include "story.h"
#include "uncertain_buck.h"

/* ---------------------------------------------------- what the library says -- */

enum { SAID_MAX = 1 << 16 };

typedef struct account {
    char text[SAID_MAX];
    size_t n;
} account;

/* Bits as hexadecimal digits: neither rounding nor locale can hide in them. */
static void note(account *a, const char *what, double value)
{
    unsigned long long bits;
    memcpy(&bits, &value, sizeof bits);
    ck_assert_uint_lt(a->n + 200, SAID_MAX);
    a->n += (size_t)snprintf(a->text + a->n, 200, "%s %016llx\n", what, bits);
}

static void note_quantities(account *a)
{
    static const char *const texts[] = {"1.5 V",
                                        "0.1 V",
                                        "3.3e-2 V",
                                        "1/3 V",
                                        "4.7 mV",
                                        "230 kV",
                                        "0.30000000000000004 V",
                                        "1e-310 V",
                                        "2,5 V",
                                        "1.000 V",
                                        "123456789.123456789 uV",
                                        "5e-324 V"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        double value = -1;
        char why[300] = "", text[120];
        bool good = hl_quantity_read(texts[i], strlen(texts[i]), "V", &value, why, sizeof why);
        note(a, texts[i], good ? value : NAN);
        ck_assert_uint_lt(a->n + 1000, SAID_MAX);
        a->n += (size_t)snprintf(a->text + a->n, 400, "%s\n", why);
        if (!good) continue;
        hl_quantity_print_exact(value, "V", text, sizeof text);
        a->n += (size_t)snprintf(a->text + a->n, 200, "%s\n", text);
        hl_quantity_print(value, "V", 5, text, sizeof text);
        a->n += (size_t)snprintf(a->text + a->n, 200, "%s\n", text);
    }
}

static void note_points(account *a, uncertain_buck *buck)
{
    double settings[512];
    ck_assert_uint_le(hl_design_settings(buck->design), 512);
    hl_design_defaults(buck->design, settings);
    hl_workspace *work = hl_workspace_create(buck->design);
    ck_assert_ptr_nonnull(work);
    size_t load = drafted_setting(buck, "load");
    static const double loads[] = {0.2, 0.4, 0.6, 0.8, 1.0}; /* not made here: this thread rounds otherwise */
    for (size_t i = 0; i < 5; i++) {
        settings[load] = loads[i];
        ck_assert_int_eq(hl_solve(work, settings), HL_OK);
        note(a, "loss", hl_result_power(work)->loss);
        for (size_t k = 0; k < hl_design_items(buck->design); k++) {
            hl_headroom room[32];
            note(a, "kelvin", hl_result_item_temperature(work, k));
            size_t n = hl_result_headroom(work, k, room, 32);
            for (size_t r = 0; r < n; r++) note(a, room[r].limit.name, room[r].used);
        }
    }
    hl_reliance items[16], total;
    ck_assert_uint_le(hl_design_items(buck->design), 16);
    ck_assert_int_eq(hl_result_reliance(work, items, &total), HL_OK);
    note(a, "reliance", total.loss);
    hl_workspace_destroy(work);
}

static void note_spread(account *a, uncertain_buck *buck)
{
    double settings[512];
    hl_design_defaults(buck->design, settings);
    hl_spread_options options = {.base = settings, .samples = 32, .seed = 1, .workers = 2};
    hl_spread *spread = NULL;
    hl_status status = hl_spread_design(buck->design, &options, &spread, buck->said);
    ck_assert_int_eq(status, HL_OK);
    size_t n, figures = hl_figures_count(hl_spread_figures(spread));
    for (size_t f = 0; f < figures && f < 8; f++) {
        const double *sorted = hl_spread_sorted(spread, f, &n);
        if (n) note(a, "middle", sorted[n / 2]);
    }
    hl_spread_destroy(spread);
}

/* From the text of a part file to samples in two threads. */
static void tell(account *a)
{
    uncertain_buck buck;
    a->n = 0;
    note_quantities(a);
    uncertain_buck_open(&buck);
    note_points(a, &buck);
    note_spread(a, &buck);
    drafted_end(&buck);
}

static void same(const account *wanted, const account *got, const char *where)
{
    if (wanted->n == got->n && !memcmp(wanted->text, got->text, wanted->n)) return;
    size_t i = 0;
    while (i < wanted->n && i < got->n && wanted->text[i] == got->text[i]) i++;
    size_t from = i > 60 ? i - 60 : 0;
    ck_abort_msg("%s: '%.120s' is not '%.120s'", where, got->text + from, wanted->text + from);
}

static account plain, other;

static void nearest(void)
{
    fesetenv(FE_DFL_ENV);
}
static void upward(void)
{
    fesetround(FE_UPWARD);
}
static void downward(void)
{
    fesetround(FE_DOWNWARD);
}
static void toward_zero(void)
{
    fesetround(FE_TOWARDZERO);
}
static void trapping(void)
{
    feenableexcept(FE_DIVBYZERO | FE_OVERFLOW | FE_INVALID);
}
#if defined(__SSE2__)
static void flushing(void)
{
    _mm_setcsr(_mm_getcsr() | 0x8040u); /* results and operands below 2^-1022 are zero */
}
static unsigned state(void)
{
    return _mm_getcsr() & 0xffc0u; /* without the flags of what happened */
}
#else
static unsigned state(void)
{
    return (unsigned)fegetround();
}
#endif

static const struct {
    const char *name;
    void (*set)(void);
} states[] = {
    {"rounding upward", upward},           {"rounding downward", downward},
    {"rounding toward zero", toward_zero}, {"traps", trapping},
#if defined(__SSE2__)
    {"flush to zero", flushing},
#endif
};
enum { STATES = sizeof states / sizeof *states };

START_TEST(the_callers_floating_point_state_changes_nothing_and_is_left_alone)
{
    nearest();
    tell(&plain);
    states[_i].set();
    unsigned before = state();
    tell(&other);
    unsigned after = state();
    nearest();
    same(&plain, &other, states[_i].name);
    ck_assert_msg(before == after, "%s: the state %x came back as %x", states[_i].name, before, after);
}
END_TEST

/* ------------------------------------------------------------------ locale -- */

/* One with a decimal comma, made for this test where none is installed; NULL: no means to make one. */
static const char *comma_locale(void)
{
    static const char *const installed[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "it_IT.UTF-8"};
    for (size_t i = 0; i < sizeof installed / sizeof *installed; i++)
        if (setlocale(LC_ALL, installed[i])) return installed[i];
    char line[300], made[100];
    snprintf(made, sizeof made, "%s/de_DE.UTF-8", scratch_folder);
    snprintf(line, sizeof line, "localedef -i de_DE -f UTF-8 '%s' >'%s/said' 2>&1", made, scratch_folder);
    if (access(made, R_OK) != 0 && system(line) != 0) return NULL;
    setenv("LOCPATH", scratch_folder, 1);
    return setlocale(LC_ALL, "de_DE.UTF-8") ? "de_DE.UTF-8" : NULL;
}

START_TEST(a_locale_with_a_decimal_comma_changes_nothing)
{
    setlocale(LC_ALL, "C");
    tell(&plain);
    if (!comma_locale()) {
        fprintf(stderr, "no locale with a decimal comma can be had; nothing was checked\n");
        return;
    }
    ck_assert_str_eq(localeconv()->decimal_point, ",");
    tell(&other);
    setlocale(LC_ALL, "C");
    same(&plain, &other, "decimal comma");
}
END_TEST

/* ----------------------------------------------------------------- command -- */

#define ADAPTER HL_PROJECT_SOURCE "/examples/small_adapter/adapter.lua"

static char *output_of(const char *const arguments[])
{
    command_output out = command_run(arguments);
    ck_assert_msg(out.code == 0, "%s: exit %d: %s", arguments[0], out.code, out.error);
    free(out.error);
    return out.out;
}

static const char *const commands[][9] = {
    {"solve", ADAPTER, NULL},
    {"solve", ADAPTER, "--json", NULL},
    {"solve", ADAPTER, "--set", "mains.voltage=115.5 V", "--set", "load=0.75", "--csv", NULL},
    {"spread", ADAPTER, "--samples", "8", "--json", NULL},
};
enum { COMMANDS = sizeof commands / sizeof *commands };

START_TEST(the_command_says_the_same_anywhere)
{
    setlocale(LC_ALL, "C");
    unsetenv("LC_ALL");
    setenv("TZ", "UTC", 1);
    char *wanted = output_of(commands[_i]);
    const char *comma = comma_locale();
    setlocale(LC_ALL, "C");
    if (comma) setenv("LC_ALL", comma, 1);
    setenv("TZ", "Pacific/Kiritimati", 1);
    mode_t before = umask(0777);
    umask(before);
    umask(0077);
    char *got = output_of(commands[_i]);
    umask(before);
    char *from = strstr(got, "\"seconds\""), *at = strstr(wanted, "\"seconds\""); /* the time it took */
    if (from && at) {
        memset(from, ' ', strcspn(from, "\n"));
        memset(at, ' ', strcspn(at, "\n"));
    }
    ck_assert_str_eq(got, wanted);
    free(got);
    free(wanted);
}
END_TEST

/* A file's content is not the umask's business; who may read it is. */
START_TEST(files_obey_the_umask_and_nothing_else)
{
    static const mode_t masks[] = {0000, 0077};
    char *first = NULL, *search = strdup(getenv("PATH"));
    setenv("PATH", scratch_folder, 1); /* without pictures it is quicker */
    const char *path = scratch_file("page.html");
    const char *report[] = {"report", ADAPTER, "--samples", "0", "--quiet", "--to", path, NULL};
    for (size_t i = 0; i < 2; i++) {
        mode_t before = umask(masks[i]);
        free(output_of(report));
        umask(before);
        struct stat s;
        ck_assert_int_eq(stat(path, &s), 0);
        ck_assert_uint_eq(s.st_mode & 0777, 0666 & ~masks[i]);
        char *text = calloc(1, (size_t)s.st_size + 1);
        FILE *file = fopen(path, "rb");
        ck_assert(text && file && fread(text, 1, (size_t)s.st_size, file) == (size_t)s.st_size);
        fclose(file);
        if (first)
            ck_assert_msg(!strcmp(first, text), "umask %o changes the page", (unsigned)masks[i]);
        else
            first = text;
        if (first != text) free(text);
    }
    free(first);
    setenv("PATH", search, 1);
    free(search);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_unchecked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_loop_test(tests, the_callers_floating_point_state_changes_nothing_and_is_left_alone, 0, STATES);
    tcase_add_test(tests, a_locale_with_a_decimal_comma_changes_nothing);
    tcase_add_loop_test(tests, the_command_says_the_same_anywhere, 0, COMMANDS);
    tcase_add_test(tests, files_obey_the_umask_and_nothing_else);
}

int main(void)
{
    return story_main("environment", fill);
}
