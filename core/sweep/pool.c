/* pool.c - threads that take chunks of indices in order. */
#define _GNU_SOURCE /* sched_getaffinity */
#include "sweep/pool.h"

#include <errno.h>
#include <pthread.h>
#include <sched.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <time.h>

enum { CHUNK_MOST = 64, WORKERS_MOST = 1024 };

typedef struct pool {
    const pool_job *job;
    size_t chunk, chunks;   /* indices in a chunk; chunks of the whole job */
    size_t taken, finished; /* chunks handed out; leading chunks that are finished */
    size_t seen;            /* indices that progress() knows to be done */
    size_t alive, waiting;  /* threads not ended; threads that wait for the window */
    bool stop;
    unsigned char *is_done; /* [chunks] */
    pthread_mutex_t lock;
    pthread_cond_t room; /* the window has moved, or the end has come */
    pthread_cond_t news; /* a thread has ended, or waits for the window */
} pool;

typedef struct member {
    pool *of;
    size_t number;
    pthread_t thread;
} member;

size_t hl_pool_processors(void)
{
    cpu_set_t set;
    if (sched_getaffinity(0, sizeof set, &set) != 0) return 1;
    int n = CPU_COUNT(&set);
    return n > 0 ? (size_t)n : 1;
}

static size_t end_of(const pool *p, size_t chunk)
{
    size_t end = (chunk + 1) * p->chunk;
    return end < p->job->n ? end : p->job->n;
}

static bool fits_window(const pool *p, size_t chunk)
{
    return !p->job->window || end_of(p, chunk) <= p->seen + p->job->window;
}

/* Next chunk, or SIZE_MAX at the end.  Holds the lock. */
static size_t take(pool *p)
{
    while (!p->stop && p->taken < p->chunks && !fits_window(p, p->taken)) {
        p->waiting++;
        pthread_cond_signal(&p->news);
        pthread_cond_wait(&p->room, &p->lock);
        p->waiting--;
    }
    return p->stop || p->taken >= p->chunks ? SIZE_MAX : p->taken++;
}

static void hand_in(pool *p, size_t chunk, bool go_on)
{
    p->is_done[chunk] = 1;
    while (p->finished < p->taken && p->is_done[p->finished]) p->finished++;
    if (go_on || p->stop) return;
    p->stop = true;
    pthread_cond_broadcast(&p->room);
}

static void *work(void *argument)
{
    member *self = argument;
    pool *p = self->of;
    pthread_mutex_lock(&p->lock);
    for (size_t chunk; (chunk = take(p)) != SIZE_MAX;) {
        pthread_mutex_unlock(&p->lock);
        bool go_on = true;
        for (size_t i = chunk * p->chunk; i < end_of(p, chunk); i++)
            if (!p->job->run(p->job->context, self->number, i)) go_on = false;
        pthread_mutex_lock(&p->lock);
        hand_in(p, chunk, go_on);
    }
    p->alive--;
    pthread_cond_signal(&p->news);
    pthread_mutex_unlock(&p->lock);
    return NULL;
}

static struct timespec moment_after(double seconds)
{
    struct timespec at;
    clock_gettime(CLOCK_MONOTONIC, &at);
    long whole = (long)seconds;
    at.tv_sec += whole;
    at.tv_nsec += (long)(1e9 * (seconds - (double)whole));
    if (at.tv_nsec >= 1000000000L) {
        at.tv_nsec -= 1000000000L;
        at.tv_sec++;
    }
    return at;
}

static size_t done_so_far(const pool *p)
{
    return p->finished ? end_of(p, p->finished - 1) : 0;
}

/* Tell progress() what is done, with the lock released meanwhile. */
static void report(pool *p)
{
    size_t done = done_so_far(p);
    pthread_mutex_unlock(&p->lock);
    bool go_on = !p->job->progress || p->job->progress(p->job->context, done);
    pthread_mutex_lock(&p->lock);
    p->seen = done;
    if (!go_on) p->stop = true;
    pthread_cond_broadcast(&p->room);
}

/* The calling thread's part: report now and then until all threads have ended. */
static void watch(pool *p)
{
    double every = p->job->every > 0 ? p->job->every : 0.25;
    struct timespec next = moment_after(every);
    pthread_mutex_lock(&p->lock);
    while (p->alive) {
        bool due = pthread_cond_timedwait(&p->news, &p->lock, &next) == ETIMEDOUT;
        bool stuck = p->waiting && done_so_far(p) > p->seen;
        if (!p->alive || !(due || stuck)) continue;
        report(p);
        if (due) next = moment_after(every);
    }
    report(p);
    pthread_mutex_unlock(&p->lock);
}

/* Chunks small enough to share the work evenly and to fit the window several times. */
static size_t chunk_of(const pool_job *job, size_t workers)
{
    if (job->chunk) return job->window && job->chunk > job->window ? job->window : job->chunk;
    size_t chunk = job->n / (workers * 64) + 1;
    if (job->window && chunk > job->window / (workers * 4) + 1) chunk = job->window / (workers * 4) + 1;
    return chunk < CHUNK_MOST ? chunk : CHUNK_MOST;
}

static bool prepare(pool *p, const pool_job *job, size_t workers)
{
    p->job = job;
    p->chunk = chunk_of(job, workers);
    p->chunks = job->n / p->chunk + (job->n % p->chunk != 0);
    p->is_done = calloc(p->chunks + 1, 1);
    pthread_condattr_t steady;
    if (!p->is_done || pthread_condattr_init(&steady)) return false;
    pthread_condattr_setclock(&steady, CLOCK_MONOTONIC);
    pthread_mutex_init(&p->lock, NULL);
    pthread_cond_init(&p->room, NULL);
    pthread_cond_init(&p->news, &steady);
    pthread_condattr_destroy(&steady);
    return true;
}

static void clear(pool *p)
{
    pthread_cond_destroy(&p->news);
    pthread_cond_destroy(&p->room);
    pthread_mutex_destroy(&p->lock);
    free(p->is_done);
}

/* Start them, with all signals but their own faults and the clock of their own time left to the calling
 * thread: what a handler writes there that thread may read as a volatile sig_atomic_t, another one may not.
 * Returns how many; they wait for the lock. */
static size_t start(pool *p, member members[], size_t workers)
{
    static const int own[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGSYS, SIGTRAP, SIGPROF};
    sigset_t others, before;
    size_t started = 0;
    sigfillset(&others);
    for (size_t i = 0; i < sizeof own / sizeof *own; i++) sigdelset(&others, own[i]);
    pthread_sigmask(SIG_BLOCK, &others, &before); /* a thread begins with its maker's */
    for (; started < workers; started++) {
        members[started] = (member){.of = p, .number = started};
        if (pthread_create(&members[started].thread, NULL, work, &members[started]) != 0) break;
    }
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return started;
}

hl_status hl_pool_run(const pool_job *job, size_t *done)
{
    pool p = {0};
    size_t workers = job->workers ? job->workers : hl_pool_processors(), started = 0;
    if (workers > WORKERS_MOST) workers = WORKERS_MOST;
    if (done) *done = 0;
    member *members = calloc(workers, sizeof *members);
    if (!members || !prepare(&p, job, workers)) {
        free(p.is_done);
        free(members);
        return HL_NO_MEMORY;
    }
    pthread_mutex_lock(&p.lock); /* nobody ends before all are counted */
    p.alive = started = start(&p, members, workers);
    pthread_mutex_unlock(&p.lock);
    if (started) watch(&p);
    for (size_t i = 0; i < started; i++) pthread_join(members[i].thread, NULL);
    if (done) *done = done_so_far(&p);
    clear(&p);
    free(members);
    return started ? HL_OK : HL_NO_MEMORY;
}
