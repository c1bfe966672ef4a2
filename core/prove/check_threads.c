/* check_threads.c - two threads at once, each with parts of its own, must get the bits they got alone. */
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "prove/checks.h"
#include "prove/subject.h"

enum { SUBJECTS = 4, THREADS = 2 };

typedef struct runner {
    trial
        own; /* its luck, inputs and notes; the finding is shared but written after the threads have ended */
    subject *subjects;
    answer *alone;
    pthread_barrier_t *start;
    double seconds;
    size_t rounds;
    bool differs;
    answer found, wanted;
} runner;

static double now(void)
{
    struct timespec at;
    clock_gettime(CLOCK_MONOTONIC, &at);
    return (double)at.tv_sec + 1e-9 * (double)at.tv_nsec;
}

static void *run(void *argument)
{
    runner *r = argument;
    pthread_barrier_wait(r->start);
    double end = now() + r->seconds;
    do {
        for (size_t i = 0; i < SUBJECTS; i++) {
            answer a = subject_ask(&r->own, &r->subjects[i]);
            if (answers_equal(&a, &r->alone[i])) continue;
            r->differs = true;
            r->found = a;
            r->wanted = r->alone[i];
            return NULL;
        }
        r->rounds++;
    } while (now() < end);
    return NULL;
}

static bool prepare_runner(trial *t, runner *r, size_t *made)
{
    for (size_t i = 0; i < SUBJECTS; i++) {
        if (!subject_create(t, &r->subjects[i])) return false;
        *made += 1;
        if (!subject_draw(t, &r->subjects[i])) return false;
        r->alone[i] = subject_ask(t, &r->subjects[i]);
    }
    return true;
}

static bool judge(trial *t, const runner *r)
{
    if (!r->differs) return true;
    t->now = r->own.now;
    return trial_fail(
        t,
        "beside another thread the same input gives another answer: %s %.17g W, alone %.17g W (or "
        "another figure of the answer)",
        r->found.name, r->found.watts, r->wanted.watts);
}

static bool race(trial *t, runner runners[THREADS], size_t *rounds)
{
    pthread_t threads[THREADS];
    pthread_barrier_t start;
    if (pthread_barrier_init(&start, NULL, THREADS)) return trial_fail(t, "no barrier for the threads");
    for (int i = 0; i < THREADS; i++) {
        runners[i].own = *t;
        runners[i].start = &start;
        if (pthread_create(&threads[i], NULL, run, &runners[i])) {
            /* the others wait at the barrier for good; the child ends with this check */
            return trial_fail(t, "a thread cannot be started");
        }
    }
    for (int i = 0; i < THREADS; i++) pthread_join(threads[i], NULL);
    pthread_barrier_destroy(&start);
    for (int i = 0; i < THREADS; i++) *rounds += runners[i].rounds;
    return judge(t, &runners[0]) && judge(t, &runners[1]);
}

bool check_threads(trial *t)
{
    const int repeats = trial_count(t, 6);
    subject *subjects = calloc(THREADS * SUBJECTS, sizeof *subjects);
    answer alone[THREADS * SUBJECTS];
    size_t rounds = 0;
    bool good = subjects || trial_fail(t, "memory ran out");
    for (int repeat = 0; good && repeat < repeats; repeat++) {
        size_t made = 0;
        runner runners[THREADS] = {
            {.subjects = subjects, .alone = alone, .seconds = 0.04},
            {.subjects = subjects + SUBJECTS, .alone = alone + SUBJECTS, .seconds = 0.04}};
        for (int i = 0; good && i < THREADS; i++) good = prepare_runner(t, &runners[i], &made);
        trial_beat(t);
        good = good && race(t, runners, &rounds);
        for (size_t i = 0; i < made; i++) subject_destroy(&subjects[i]);
    }
    free(subjects);
    if (good)
        trial_pass(t, "%zu rounds of %d parts or points in each of %d threads", rounds, (int)SUBJECTS,
                   (int)THREADS);
    return good;
}
