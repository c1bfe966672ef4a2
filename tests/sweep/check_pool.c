/* check_pool.c - threads that share indices: each once, in order where it matters, stopped cleanly. */
#include <signal.h>
#include <stdatomic.h>
#include <string.h>

#include "../../core/sweep/pool.h"
#include "story.h"

enum { N = 2003 };

typedef struct tally {
    double result[N];
    atomic_int times[N];
    atomic_size_t begun;
    size_t seen, reports, stop_after, window;
    bool too_far;
} tally;

static tally t;

static bool square(void *context, size_t worker, size_t index)
{
    tally *sums = context;
    (void)worker;
    sums->result[index] = (double)index * (double)index;
    atomic_fetch_add(&sums->times[index], 1);
    atomic_fetch_add(&sums->begun, 1);
    return index != sums->stop_after;
}

static bool see(void *context, size_t done)
{
    tally *sums = context;
    for (size_t i = sums->seen; i < done; i++)
        if (atomic_load(&sums->times[i]) != 1) sums->too_far = true;
    if (sums->window && atomic_load(&sums->begun) > sums->seen + sums->window) sums->too_far = true;
    sums->seen = done;
    sums->reports++;
    return true;
}

static size_t run(size_t workers, size_t chunk, size_t window, size_t stop_after)
{
    memset(&t, 0, sizeof t);
    t.stop_after = stop_after;
    t.window = window;
    pool_job job = {.n = N,
                    .workers = workers,
                    .chunk = chunk,
                    .window = window,
                    .run = square,
                    .progress = see,
                    .context = &t,
                    .every = 0.001};
    size_t done;
    ck_assert_int_eq(hl_pool_run(&job, &done), HL_OK);
    ck_assert_uint_eq(t.seen, done);
    ck_assert(!t.too_far);
    ck_assert_uint_ge(t.reports, 1);
    return done;
}

START_TEST(every_index_runs_once_for_any_number_of_workers)
{
    static const size_t workers[] = {1, 2, 3, 7, 16};
    static const size_t chunks[] = {0, 1, 5, 64, 4000};
    static const size_t windows[] = {0, 7, 100, 1024};
    for (size_t w = 0; w < 5; w++)
        for (size_t c = 0; c < 5; c++)
            for (size_t k = 0; k < 4; k++) {
                ck_assert_uint_eq(run(workers[w], chunks[c], windows[k], SIZE_MAX), N);
                for (size_t i = 0; i < N; i++) {
                    ck_assert_int_eq(atomic_load(&t.times[i]), 1);
                    ck_assert(t.result[i] == (double)i * (double)i);
                }
            }
}
END_TEST

START_TEST(a_stopped_run_has_done_a_leading_range_and_nothing_else)
{
    for (size_t workers = 1; workers <= 7; workers += 2)
        for (size_t stop = 0; stop < 900; stop += 131) {
            size_t done = run(workers, 16, 200, stop);
            ck_assert_uint_gt(done, stop);
            ck_assert_uint_lt(done, N);
            for (size_t i = 0; i < N; i++) ck_assert_int_eq(atomic_load(&t.times[i]), i < done);
        }
}
END_TEST

static bool refuse(void *context, size_t done)
{
    (void)context;
    return done < 100;
}

START_TEST(progress_can_stop_a_run)
{
    memset(&t, 0, sizeof t);
    t.stop_after = SIZE_MAX;
    pool_job job = {.n = N,
                    .workers = 2,
                    .chunk = 4,
                    .window = 120,
                    .run = square,
                    .progress = refuse,
                    .context = &t,
                    .every = 10};
    size_t done;
    ck_assert_int_eq(hl_pool_run(&job, &done), HL_OK);
    ck_assert_uint_ge(done, 100);
    ck_assert_uint_lt(done, 500);
}
END_TEST

START_TEST(no_index_is_no_work)
{
    pool_job job = {.n = 0, .workers = 3, .run = square, .context = &t};
    size_t done = 9;
    ck_assert_int_eq(hl_pool_run(&job, &done), HL_OK);
    ck_assert_uint_eq(done, 0);
    ck_assert_uint_ge(hl_pool_processors(), 1);
}
END_TEST

static bool takes_only_its_own(void *context, size_t worker, size_t index)
{
    (void)worker, (void)index;
    sigset_t left;
    if (pthread_sigmask(SIG_BLOCK, NULL, &left)) return false;
    if (sigismember(&left, SIGINT) && sigismember(&left, SIGTERM) && sigismember(&left, SIGHUP) &&
        !sigismember(&left, SIGSEGV) && !sigismember(&left, SIGPROF))
        atomic_fetch_add((atomic_int *)context, 1);
    return true;
}

/* A handler that runs in a worker would write what the calling thread reads: a race. */
START_TEST(signals_are_left_to_the_calling_thread)
{
    atomic_int sound = 0;
    sigset_t before, after;
    pthread_sigmask(SIG_BLOCK, NULL, &before);
    pool_job job = {.n = 40, .workers = 3, .run = takes_only_its_own, .context = &sound};
    ck_assert_int_eq(hl_pool_run(&job, NULL), HL_OK);
    ck_assert_int_eq(atomic_load(&sound), 40);
    pthread_sigmask(SIG_BLOCK, NULL, &after);
    for (int number = 1; number < 32; number++)
        ck_assert_int_eq(sigismember(&before, number), sigismember(&after, number));
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_index_runs_once_for_any_number_of_workers);
    tcase_add_test(tests, a_stopped_run_has_done_a_leading_range_and_nothing_else);
    tcase_add_test(tests, progress_can_stop_a_run);
    tcase_add_test(tests, no_index_is_no_work);
    tcase_add_test(tests, signals_are_left_to_the_calling_thread);
}

int main(void)
{
    return story_main("pool", fill);
}
