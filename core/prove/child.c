#define _DEFAULT_SOURCE /* MAP_ANONYMOUS */
#include "prove/child.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <unistd.h>

#include "prove/words.h"

enum {
    PROCESSOR_SECONDS = 5, /* between two beats; a beat is some hundred calls of microseconds */
    IDLE_SECONDS = 60,     /* without a beat, for a plugin that waits instead of working */
};

/* The trial of this child process, for its signal handler, which has no other way to know. */
static trial *observed;

void child_observe(trial *t)
{
    observed = t;
}

void child_rearm(void)
{
    struct itimerval limit = {{0, 0}, {PROCESSOR_SECONDS, 0}};
    setitimer(ITIMER_PROF, &limit, NULL);
}

/* Putting the inputs into words is more than a handler may rely on; but the process is lost anyway, the words
 * touch none of the plugin's memory but its table, and a second fault ends it at once (SA_RESETHAND). */
static void last_words(int number)
{
    trial *t = observed;
    if (t) {
        t->found->signal = number;
        t->found->verdict = number == SIGPROF ? VERDICT_HANG : VERDICT_CRASH;
        snprintf(t->found->doing, sizeof t->found->doing, "%s", t->now.function ? t->now.function : "");
        words_of(t->model, &t->now, t->found->inputs, INPUTS_SIZE);
    }
    signal(number, SIG_DFL);
    raise(number);
}

static void prepare_signals(void *stack, size_t size)
{
    static const int fatal[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGPROF, SIGTRAP, SIGSYS};
    stack_t own = {.ss_sp = stack, .ss_size = size};
    struct sigaction action;
    sigaltstack(&own, NULL);
    memset(&action, 0, sizeof action);
    action.sa_handler = last_words;
    action.sa_flags = SA_ONSTACK | (int)SA_RESETHAND;
    sigemptyset(&action.sa_mask);
    for (size_t i = 0; i < sizeof fatal / sizeof *fatal; i++) sigaction(fatal[i], &action, NULL);
}

/* Coverage counters are written at exit, which a child does not reach. */
extern void __gcov_dump(void) __attribute__((weak));

static void live(void (*work)(void *argument, finding *found), void *argument, finding *found)
{
    enum { STACK = 1 << 18 };
    struct rlimit none = {0, 0};
    void *stack = child_share(STACK);
    if (stack) prepare_signals(stack, STACK);
    setrlimit(RLIMIT_CORE, &none);
    int nowhere = open("/dev/null", O_WRONLY); /* what a plugin prints is not our answer */
    if (nowhere >= 0) dup2(nowhere, STDOUT_FILENO);
    child_rearm();
    work(argument, found);
    if (__gcov_dump) __gcov_dump();
    _exit(0);
}

/* Waits for the end of the pipe that only the child holds; false: it stands still. */
static bool await(int end, const finding *found)
{
    unsigned long beats = found->beats;
    int idle = 0;
    for (;;) {
        struct pollfd one = {.fd = end, .events = POLLIN};
        int ready = poll(&one, 1, 1000);
        if (ready > 0) return true;
        if (ready < 0 && errno != EINTR) return true;
        idle = found->beats == beats ? idle + 1 : 0;
        beats = found->beats;
        if (idle >= IDLE_SECONDS) return false;
    }
}

static void conclude(int status, bool moving, finding *found)
{
    if (!moving) {
        found->verdict = VERDICT_HANG;
        snprintf(found->detail, DETAIL_SIZE, "no progress for %d s", (int)IDLE_SECONDS);
    } else if (found->verdict == VERDICT_HANG) {
        snprintf(found->detail, DETAIL_SIZE, "does not come back from %s(): more than %d s of processor time",
                 found->doing[0] ? found->doing : "a call", (int)PROCESSOR_SECONDS);
    } else if (WIFSIGNALED(status)) {
        found->verdict = VERDICT_CRASH;
        found->signal = WTERMSIG(status);
        snprintf(found->detail, DETAIL_SIZE, "killed by signal %d (%s)%s%s%s", found->signal,
                 strsignal(found->signal), found->doing[0] ? " in " : "", found->doing,
                 found->doing[0] ? "()" : "");
    } else if (found->verdict == VERDICT_NONE) {
        found->verdict = VERDICT_CRASH;
        found->code = WIFEXITED(status) ? WEXITSTATUS(status) : 0;
        snprintf(found->detail, DETAIL_SIZE, "ended the process with exit code %d; a plugin must return",
                 found->code);
    }
}

void child_run(void (*work)(void *argument, finding *found), void *argument, finding *found)
{
    int ends[2];
    fflush(NULL);
    if (pipe(ends) != 0) goto cannot;
    pid_t child = fork();
    if (child < 0) {
        close(ends[0]);
        close(ends[1]);
        goto cannot;
    }
    if (child == 0) {
        close(ends[0]);
        live(work, argument, found);
    }
    close(ends[1]);
    bool moving = await(ends[0], found);
    close(ends[0]);
    if (!moving) kill(child, SIGKILL);
    int status = 0;
    while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
    }
    conclude(status, moving, found);
    return;
cannot:
    found->verdict = VERDICT_FAIL;
    snprintf(found->detail, DETAIL_SIZE, "no child process can be started: %s", strerror(errno));
}

void *child_share(size_t size)
{
    void *memory = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    return memory == MAP_FAILED ? NULL : memory;
}

void child_unshare(void *memory, size_t size)
{
    if (memory) munmap(memory, size);
}
