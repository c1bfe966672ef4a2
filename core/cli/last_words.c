/* last_words.c - handlers of faults and of time: what is asked of a plugin when it crashes or does not
 * return.
 *
 * Only write, raise, sigaction and _dl_find_object (glibc 2.35: async-signal-safe) are used. A fault is then
 * left to whoever would have had it, so that exit status, core dump and a sanitizer's report stay as they
 * are. */
#define _GNU_SOURCE /* _dl_find_object, REG_RIP */
#include "cli/last_words.h"

#include <dlfcn.h>
#include <link.h>
#include <signal.h>
#include <stdatomic.h>
#include <string.h>
#include <sys/time.h>
#include <ucontext.h>
#include <unistd.h>

#include "heatledger/catalogue.h"

enum { FAULTS = 6, SECONDS = 1, STACK = 1 << 16 };

static const struct {
    int number;
    const char *name;
} faults[FAULTS] = {{SIGSEGV, "segmentation fault"}, {SIGBUS, "bus error"}, {SIGFPE, "arithmetic fault"},
                    {SIGILL, "illegal instruction"}, {SIGABRT, "abort"},    {SIGSYS, "bad system call"}};

/* What a handler has no other way to know. */
static struct sigaction before[FAULTS];
static char own_stack[STACK];
static _Thread_local unsigned long seen_serial; /* of the call that was under way at the last tick */
static atomic_flag told = ATOMIC_FLAG_INIT;     /* by whichever thread has the tick */

typedef struct line {
    char text[1200];
    size_t n;
} line;

static void put(line *l, const char *text)
{
    for (; text && *text && l->n < sizeof l->text - 1; text++) l->text[l->n++] = *text;
}

static void say(line *l)
{
    l->text[l->n++] = '\n';
    for (size_t at = 0; at < l->n;) {
        ssize_t written = write(STDERR_FILENO, l->text + at, l->n - at);
        if (written <= 0) return;
        at += (size_t)written;
    }
}

/* The shared object that holds an address; NULL: not known. */
static const char *object_of(const void *address)
{
#ifdef DLFO_EH_SEGMENT_TYPE
    struct dl_find_object found;
    union {
        const void *in;
        void *out;
    } same = {address};
    if (address && _dl_find_object(same.out, &found) == 0 && found.dlfo_link_map->l_name[0])
        return found.dlfo_link_map->l_name;
#endif
    (void)address;
    return NULL;
}

static const void *instruction_of(const void *context)
{
#if defined(__x86_64__)
    // NOLINTNEXTLINE(performance-no-int-to-ptr): the register is a number there
    return (const void *)((const ucontext_t *)context)->uc_mcontext.gregs[REG_RIP];
#elif defined(__aarch64__)
    // NOLINTNEXTLINE(performance-no-int-to-ptr): the register is a number there
    return (const void *)((const ucontext_t *)context)->uc_mcontext.pc;
#else
    (void)context;
    return NULL;
#endif
}

/* "loss() of 'buck.high_switch' (model broken_switch)" */
static void put_call(line *l, const hl_call *call)
{
    put(l, call->function);
    if (call->model) put(l, "()");
    if (call->subject[0]) {
        put(l, " of '");
        put(l, call->subject);
        put(l, "'");
    }
    if (call->model) {
        put(l, " (model ");
        put(l, call->model->name);
        put(l, ")");
    }
}

/* A stage asks its parts itself: the instruction may lie in another plugin than the call. */
static void put_fault(line *l, const hl_call *call, const char *fault, const void *instruction)
{
    const char *file = call->file ? call->file : object_of(call->model);
    const char *at = object_of(instruction);
    put(l, "heatledger: the plugin ");
    put(l, file ? file : "that holds it");
    put(l, " crashed in ");
    put_call(l, call);
    put(l, ": ");
    put(l, fault);
    if (at && file && strcmp(at, file) != 0) {
        put(l, " in ");
        put(l, at);
    }
    put(l, "; to see with what inputs: heatledger prove ");
    put(l, file ? file : "FILE");
}

static void on_fault(int number, siginfo_t *information, void *context)
{
    size_t which = 0;
    while (which < FAULTS - 1 && faults[which].number != number) which++;
    hl_call call = hl_call_under_way();
    line l = {.n = 0};
    if (call.function) {
        put_fault(&l, &call, faults[which].name, instruction_of(context));
    } else {
        put(&l, "heatledger: it crashed by itself, no plugin was asked: ");
        put(&l, faults[which].name);
        put(&l, "; please report it with the files");
    }
    say(&l);
    sigaction(number, &before[which], NULL);
    if (information->si_code <= 0 || number == SIGABRT)
        raise(number); /* sent, not met: it would not return */
}

/* Every SECONDS of processor time: the same call as at the last tick has had at least that long. */
static void on_tick(int number)
{
    (void)number;
    hl_call call = hl_call_under_way();
    if (call.function && call.serial == seen_serial && !atomic_flag_test_and_set(&told)) {
        const char *file = call.file ? call.file : object_of(call.model);
        line l = {.n = 0};
        put(&l, "heatledger: the plugin ");
        put(&l, file ? file : "that holds it");
        put(&l, " does not come back from ");
        put_call(&l, &call);
        put(&l, "; Ctrl-C ends the program");
        say(&l);
    }
    seen_serial = call.function ? call.serial : 0;
}

void last_words_prepare(void)
{
    stack_t stack = {.ss_sp = own_stack, .ss_size = sizeof own_stack};
    struct sigaction action = {.sa_sigaction = on_fault};
    action.sa_flags = SA_SIGINFO | SA_ONSTACK;
    sigemptyset(&action.sa_mask);
    sigaltstack(&stack, NULL); /* of this thread; another's fault that is no overflow needs none */
    for (size_t i = 0; i < FAULTS; i++) sigaction(faults[i].number, &action, &before[i]);
    struct sigaction tick = {.sa_handler = on_tick};
    tick.sa_flags = (int)SA_RESTART;
    sigemptyset(&tick.sa_mask);
    sigaction(SIGPROF, &tick, NULL);
    const struct itimerval every = {{SECONDS, 0}, {SECONDS, 0}};
    setitimer(ITIMER_PROF, &every, NULL);
}
