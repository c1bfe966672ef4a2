/* check_manners.c - rules of plugin.h that hold for every function: same answer twice, no allocation, no
 * static data, no writes outside what was handed over. */
#include <stdlib.h>
#include <string.h>

#include "prove/allocations.h"
#include "prove/checks.h"
#include "prove/older_host.h"
#include "prove/static_data.h"
#include "prove/subject.h"

typedef bool (*visit)(trial *t, subject *one, subject *other, void *argument);

/* Pairs of different subjects. */
static bool with_pairs(trial *t, int pairs, visit look, void *argument)
{
    subject *two = calloc(2, sizeof *two);
    if (!two) return trial_fail(t, "memory ran out");
    bool good = subject_create(t, &two[0]), both = good && subject_create(t, &two[1]);
    for (int i = 0; both && i < pairs; i++)
        both = subject_draw(t, &two[0]) && subject_draw(t, &two[1]) && look(t, &two[0], &two[1], argument);
    if (good) subject_destroy(&two[0]);
    if (good && two[1].is_device == two[0].is_device) subject_destroy(&two[1]);
    free(two);
    return both;
}

static bool same_bits(trial *t, const answer *first, const answer *again, const char *when)
{
    if (answers_equal(first, again)) return true;
    return trial_fail(
        t,
        "the same input gives another answer %s: %s %.17g W, then %.17g W (or another figure of "
        "the answer); the same bits are wanted",
        when, first->name, first->watts, again->watts);
}

static bool ask_again(trial *t, subject *one, subject *other, void *argument)
{
    (void)argument;
    answer first = subject_ask(t, one), second = subject_ask(t, one);
    if (!same_bits(t, &first, &second, "at once")) return false;
    subject_ask(t, other);
    second = subject_ask(t, one);
    return same_bits(t, &first, &second, "after a call with other input");
}

bool check_repeatable(trial *t)
{
    const int pairs = trial_count(t, 60);
    if (!with_pairs(t, pairs, ask_again, NULL)) return false;
    return trial_pass(t, "%d pairs: same bits twice and after another call", pairs);
}

static bool load_untouched(trial *t, const subject *s)
{
    load now;
    if (!s->is_device) return true;
    load_copy(&now, &s->load);
    /* pointers of the copy of a copy lead elsewhere: compare what they point to */
    if (memcmp(now.array, s->kept.array, sizeof now.array) ||
        memcmp(now.line_frequency, s->kept.line_frequency, sizeof now.line_frequency) ||
        memcmp(now.line_rms_squared, s->kept.line_rms_squared, sizeof now.line_rms_squared) ||
        memcmp(now.segment, s->kept.segment, sizeof now.segment))
        return trial_fail(t, "the arrays of the stress were written to; they are read only");
    return true;
}

/* The members that older hosts lack are neither written nor read: of the others a stage's answer is the same.
 */
static bool older_host_spared(trial *t, subject *s, size_t host)
{
    answer now = subject_ask(t, s);
    t->host = host;
    answer then = subject_ask(t, s);
    t->host = 0;
    if (t->overrun[0]) return trial_fail(t, "%s", t->overrun);
    return s->is_device || same_bits(t, &now, &then, "to a host with shorter structures");
}

static bool stays_inside(trial *t, subject *one, subject *other, void *argument)
{
    size_t *host = argument;
    subject_ask(t, other);
    *host = *host % OLDER_HOSTS + 1;
    return older_host_spared(t, one, 1) && (one->is_device || older_host_spared(t, other, *host)) &&
           load_untouched(t, one) && load_untouched(t, other);
}

bool check_own_memory(trial *t)
{
    const int pairs = trial_count(t, 60);
    size_t host = 0;
    if (!with_pairs(t, pairs, stays_inside, &host)) return false;
    return trial_pass(t, "%d pairs: nothing written outside", pairs);
}

static bool takes_nothing(trial *t, subject *one, subject *other, void *argument)
{
    (void)argument, (void)other;
    t->allocated = 0;
    subject_ask(t, one);
    if (!t->allocated) return true;
    return trial_fail(t,
                      "%zu allocation%s in one round of %s; hot functions allocate nothing, their memory is "
                      "the %s",
                      t->allocated, t->allocated == 1 ? "" : "s",
                      one->is_device ? "present, loss, limits and impedance" : "solve",
                      one->is_device ? "state that prepare fills" : "scratch");
}

bool check_allocation(trial *t)
{
    const int pairs = trial_count(t, 40);
    allocations_watch();
    if (!with_pairs(t, pairs, takes_nothing, NULL)) return false;
    return trial_pass(t, "%d points: none", pairs);
}

static bool leaves_data(trial *t, subject *one, subject *other, void *argument)
{
    char name[128];
    subject_ask(t, one);
    subject_ask(t, other);
    if (!static_data_changed(argument, name, sizeof name)) return true;
    return trial_fail(t,
                      "static data '%s' of the plugin changes while it runs; any function may run in any "
                      "thread, so what a part needs belongs into its state",
                      name);
}

bool check_static_data(trial *t)
{
    const int pairs = trial_count(t, 30);
    static_data data;
    if (!static_data_copy(&data, t->model)) return trial_fail(t, "its writable data cannot be looked at");
    bool good = with_pairs(t, pairs, leaves_data, &data);
    if (good) trial_pass(t, "%zu writable bytes, none of which changes", data.bytes);
    static_data_free(&data);
    return good;
}
