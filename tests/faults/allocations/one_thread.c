/* one_thread.c - a worker thread becomes a coroutine of the only thread there is, so that a copy of the
 * process holds all of it.  The pool (core/sweep/pool.c) takes fewer workers where a thread cannot be had: it
 * gets one. */
#define _GNU_SOURCE /* MAP_ANONYMOUS */
#include <errno.h>
#include <pthread.h>
#include <stdbool.h>
#include <stddef.h>
#include <sys/mman.h>
#include <ucontext.h>

#define SEEN __attribute__((visibility("default")))

enum { STACK = 4 << 20 };

static ucontext_t first, worker;
static void *stack;
static void *(*routine)(void *);
static void *argument;
static bool alive, in_worker;

static void run(void)
{
    routine(argument);
    alive = false;
    in_worker = false;
    swapcontext(&worker, &first);
}

static void change(void)
{
    in_worker = !in_worker;
    if (in_worker)
        swapcontext(&first, &worker);
    else
        swapcontext(&worker, &first);
}

SEEN int pthread_create(pthread_t *thread, const pthread_attr_t *attributes, void *(*start)(void *),
                        void *given)
{
    (void)attributes;
    if (alive) return EAGAIN;
    if (!stack) stack = mmap(NULL, STACK, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (stack == MAP_FAILED || getcontext(&worker)) return EAGAIN;
    worker.uc_stack.ss_sp = stack;
    worker.uc_stack.ss_size = STACK;
    makecontext(&worker, run, 0);
    routine = start;
    argument = given;
    alive = true;
    *thread = pthread_self();
    return 0;
}

SEEN int pthread_join(pthread_t thread, void **result)
{
    (void)thread;
    while (alive) change();
    if (result) *result = NULL;
    return 0;
}

static int wait_for_the_other(pthread_mutex_t *lock)
{
    if (!alive) return ETIMEDOUT;
    pthread_mutex_unlock(lock);
    change();
    pthread_mutex_lock(lock);
    return 0;
}

SEEN int pthread_cond_wait(pthread_cond_t *news, pthread_mutex_t *lock)
{
    (void)news;
    return wait_for_the_other(lock);
}

SEEN int pthread_cond_timedwait(pthread_cond_t *news, pthread_mutex_t *lock, const struct timespec *until)
{
    (void)news, (void)until;
    return wait_for_the_other(lock);
}
