/* trial.c - at each allocation the process is copied; the copy is refused it and must end in order, and the
 * process goes on as if nothing had been.  One run thus tries every allocation.  Or it tries itself and comes
 * back to where it was (rewind.c), which takes a fraction of the time.
 *
 * - SCARCE_RECORD: file to which the verdict goes.
 * - SCARCE_FROM, SCARCE_STEP, SCARCE_UNTIL: which allocations, the FROM-th (from 1) and every STEP-th after
 * it, up to the UNTIL-th (0: all).
 * - SCARCE_ALIKE: so many at most that are come to by the same chain of calls (0: any number).
 * - SCARCE_ONCE=1: only this allocation fails, twice in a row, since Lua tries again after a collection; else
 * all later ones fail too.
 * - SCARCE_FREE=1: copies give memory back as usual.
 * - SCARCE_REWIND=1: no copy, but the process itself, which comes back.
 * - SCARCE_SHOW: file to which goes what the copies print, to look at.
 * - SCARCE_OUTPUT: file that holds what the command prints when nothing fails.
 * - SCARCE_FOLDER: folder that the command writes into.
 * - SCARCE_AFTER: program to run (with FOLDER) after a copy that failed, once for each content that is left.
 *
 * A copy is bad that ends by a signal, does not end, prints another result with a good status, says nothing
 * with a bad one or changes its files (a store may change that goes on), or keeps memory of this project's
 * own. */
#define _GNU_SOURCE /* dladdr, memfd_create, on_exit */
#include "trial.h"

#include <dlfcn.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "call_path.h"
#include "held_folder.h"
#include "rewind.h"

enum {
    WORDS = 4096,
    KINDS_OF_WORDS = 400,
    OPEN = 24,
    PROCESSOR_SECONDS = 20,
    SECONDS = 600,
    MOST = 1 << 22,
    LEFT_KINDS = 2000
};

extern char **environ;

static struct {
    bool on, inside, copy, once, frees, rewinds;
    long asked, next, step, until, alike;
    size_t size; /* of the refused one, which is refused once more */
    int again;
    const void *caller;
    int out, error; /* of copies */
    const char *record, *output, *folder, *after;
    long tried, refused, same, bad, after_runs;
} t;

static struct shared {
    bool ended;
    int status; /* as waitpid gives it; where the process comes back */
    long kept, asked;
} * shared;

static const int faults[] = {SIGSEGV, SIGBUS, SIGFPE, SIGILL, SIGABRT, SIGVTALRM};
enum { FAULTS = sizeof faults / sizeof *faults };

static struct {
    char text[120];
    long times, first;
} said[KINDS_OF_WORDS];

static long number(const char *name, long usual)
{
    const char *text = getenv(name);
    return text ? atol(text) : usual;
}

/* A copy's end, before some hundred libraries' own, and before what counts coverage writes its files. */
static void end_early(int status, void *unused)
{
    (void)unused;
    if (!t.copy) return;
    fflush(NULL);
    shared->kept = front_kept();
    shared->ended = true;
    shared->status = (status & 255) << 8;
    if (t.rewinds) rewind_back();
    _exit(status);
}

static void end_by_signal(int signal)
{
    shared->status = signal;
    rewind_back();
}

__attribute__((constructor)) static void prepare(void)
{
    t.record = getenv("SCARCE_RECORD");
    if (!t.record) return;
    t.next = number("SCARCE_FROM", 1);
    t.step = number("SCARCE_STEP", 1);
    t.until = number("SCARCE_UNTIL", 0);
    t.alike = number("SCARCE_ALIKE", 0);
    t.once = number("SCARCE_ONCE", 0) != 0;
    t.frees = number("SCARCE_FREE", 0) != 0;
    t.rewinds = number("SCARCE_REWIND", 0) != 0;
    if (t.rewinds) rewind_prepare();
    t.output = getenv("SCARCE_OUTPUT");
    t.folder = getenv("SCARCE_FOLDER");
    t.after = getenv("SCARCE_AFTER");
    t.out = memfd_create("out", MFD_CLOEXEC);
    t.error = memfd_create("error", MFD_CLOEXEC);
    shared = mmap(NULL, sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (t.out < 0 || t.error < 0 || shared == MAP_FAILED) abort();
    on_exit(end_early, NULL);
    t.on = true;
}

/* ------------------------------------------------------------------- judging -- */

static size_t read_all(int file, char *text, size_t size)
{
    ssize_t n = pread(file, text, size - 1, 0);
    text[n > 0 ? n : 0] = '\0';
    return n > 0 ? (size_t)n : 0;
}

static void complain(const char *what, const char *words)
{
    t.bad++;
    FILE *record = fopen(t.record, "a");
    if (!record) abort();
    fprintf(record, "bad: allocation %ld: %s%s%.*s\n", t.asked, what, *words ? ": " : "",
            (int)strcspn(words, "\n"), words);
    fclose(record);
}

/* What this process has printed, and then the copy, is what is printed when nothing fails. */
static bool prints_the_same(void)
{
    static char *wanted, *copied;
    if (!t.output) return true;
    int file = open(t.output, O_RDONLY | O_CLOEXEC);
    if (file < 0) return false;
    if (!wanted) wanted = held_folder_room(MOST), copied = held_folder_room(MOST);
    size_t n = read_all(file, wanted, MOST), more = read_all(t.out, copied, MOST);
    close(file);
    off_t before = lseek(STDOUT_FILENO, 0, SEEK_CUR);
    return before >= 0 && (size_t)before + more == n && !memcmp(wanted + before, copied, more);
}

static void note(const char *words)
{
    size_t i = 0, length = strcspn(words, "\n");
    if (length >= sizeof said->text) length = sizeof said->text - 1;
    while (i < KINDS_OF_WORDS - 1 && said[i].times &&
           (strncmp(said[i].text, words, length) != 0 || said[i].text[length]))
        i++;
    if (!said[i].times) {
        memcpy(said[i].text, words, length);
        said[i].first = t.asked;
    }
    said[i].times++;
}

/* What is left was left before, and went on. */
static bool has_gone_on(uint64_t *known, uint64_t left)
{
    size_t i = 0;
    while (i < LEFT_KINDS && known[i] && known[i] != left) i++;
    return i < LEFT_KINDS && known[i] == left;
}

static void note_gone_on(uint64_t *known, uint64_t left)
{
    size_t i = 0;
    while (i < LEFT_KINDS && known[i]) i++;
    if (i < LEFT_KINDS) known[i] = left;
}

static bool goes_on(void)
{
    static uint64_t known[LEFT_KINDS];
    char program[300], folder[300];
    snprintf(program, sizeof program, "%s", t.after);
    snprintf(folder, sizeof folder, "%s", t.folder);
    char *const argv[] = {program, folder, NULL};
    pid_t child;
    int status = 1;
    uint64_t left = held_folder_mark(t.folder);
    if (left == held_folder_mark(NULL) || has_gone_on(known, left)) return true;
    t.after_runs++;
    if (posix_spawn(&child, program, NULL, NULL, argv, environ)) return false;
    while (waitpid(child, &status, 0) != child) continue;
    bool good = WIFEXITED(status) && WEXITSTATUS(status) == 0;
    if (good) note_gone_on(known, left);
    return good;
}

/* To look at: what the copies put out, with SCARCE_SHOW=FILE. */
static void show(const char *words)
{
    static char *copied;
    const char *path = getenv("SCARCE_SHOW");
    FILE *file = path ? fopen(path, "a") : NULL;
    if (!file) return;
    if (!copied) copied = held_folder_room(MOST);
    read_all(t.out, copied, MOST);
    fprintf(file, "---- allocation %ld\n%s---- error\n%s", t.asked, copied, words);
    fclose(file);
}

static void judge(int status)
{
    static char words[WORDS];
    char what[80];
    read_all(t.error, words, sizeof words);
    show(words);
    t.tried++;
    if (WIFSIGNALED(status)) {
        snprintf(what, sizeof what, "signal %d", WTERMSIG(status));
        complain(what, words);
    } else if (!shared->ended) {
        complain("left without an end", words);
    } else if (shared->kept) {
        snprintf(what, sizeof what, "%ld own blocks kept", shared->kept);
        complain(what, words);
    } else if (WEXITSTATUS(status) == 0) {
        t.same++;
        if (!prints_the_same()) complain("another result", words);
    } else {
        t.refused++;
        if (words[0])
            note(words);
        else
            complain("no word", "");
    }
    if (t.folder && !t.after && status != 0 && held_folder_changed(t.folder))
        complain("its files are not as before", words);
    if (t.after && WEXITSTATUS(status) != 0 && !goes_on()) complain("what is left does not go on", words);
}

/* -------------------------------------------------------------------- trying -- */

static void empty(int file)
{
    if (ftruncate(file, 0) || lseek(file, 0, SEEK_SET)) abort();
}

static void become_copy(bool rewinds, size_t size, const void *caller)
{
    t.copy = true;
    t.rewinds = rewinds;
    t.size = size;
    t.caller = caller;
    t.again = 1;
    dup2(t.out, STDOUT_FILENO);
    dup2(t.error, STDERR_FILENO);
    t.inside = false;
}

static void limit_copy(void)
{
    setrlimit(RLIMIT_CPU, &(struct rlimit){PROCESSOR_SECONDS, PROCESSOR_SECONDS});
    setrlimit(RLIMIT_CORE, &(struct rlimit){0, 0});
    alarm(SECONDS);
}

/* Open files are shared with a copy, and so are the places where they stand. */
static void hold_places(bool back)
{
    static off_t at[OPEN];
    for (int i = 0; i < OPEN; i++)
        if (!back)
            at[i] = lseek(i, 0, SEEK_CUR);
        else if (at[i] >= 0)
            lseek(i, at[i], SEEK_SET);
}

/* true in the copy, which is refused; *status: how it ended. */
static bool copy_process(int *status, size_t size, const void *caller)
{
    /* Not fork(): nothing may differ between the two but what is refused. */
    long child = syscall(SYS_clone, SIGCHLD, 0L, 0L, 0L, 0L);
    if (child < 0) abort();
    if (child == 0) {
        become_copy(false, size, caller);
        limit_copy();
        return true;
    }
    while (waitpid((pid_t)child, status, 0) != (pid_t)child) continue;
    return false;
}

/* The same without a copy. */
static bool try_itself(int *status, size_t size, const void *caller)
{
    struct sigaction before[FAULTS], own = {.sa_handler = end_by_signal};
    const struct itimerval limit = {{0, 0}, {PROCESSOR_SECONDS, 0}}, none = {{0, 0}, {0, 0}};
    for (int i = 0; i < FAULTS; i++) sigaction(faults[i], &own, &before[i]);
    setitimer(ITIMER_VIRTUAL, &limit, NULL);
    if (!rewind_set()) {
        become_copy(true, size, caller);
        return true;
    }
    setitimer(ITIMER_VIRTUAL, &none, NULL);
    for (int i = 0; i < FAULTS; i++) sigaction(faults[i], &before[i], NULL);
    *status = shared->status;
    return false;
}

/* What the loader of libraries unmaps or protects when it fails cannot be brought back. */
static bool can_come_back(const void *caller)
{
    Dl_info from;
    return t.rewinds && !(dladdr(caller, &from) && from.dli_fname && strstr(from.dli_fname, "/ld-linux"));
}

/* true in the copy, which is refused. */
static bool try_a_copy(size_t size, const void *caller)
{
    int status = 0;
    t.inside = true;
    empty(t.out);
    empty(t.error);
    shared->ended = false;
    shared->asked = t.asked;
    hold_places(false);
    if (t.folder) held_folder_take(t.folder);
    if ((can_come_back(caller) ? try_itself : copy_process)(&status, size, caller)) return true;
    judge(status);
    if (t.folder) held_folder_restore(t.folder);
    hold_places(true);
    t.inside = false;
    return false;
}

static bool has_enough_alike(void)
{
    if (!t.alike) return false;
    t.inside = true;
    bool enough = call_path_times() > t.alike;
    t.inside = false;
    return enough;
}

bool trial_grants(bool spared, size_t size, const void *caller)
{
    if (!t.on || t.inside) return true;
    if (t.copy) {
        if (spared || !t.once) return spared;
        if (t.again && size == t.size && caller == t.caller) {
            t.again--;
            return false;
        }
        return true;
    }
    if (++t.asked < t.next || (t.until && t.asked > t.until)) return true;
    t.next += t.step;
    if (spared || has_enough_alike()) return true;
    return !try_a_copy(size, caller);
}

long trial_asked(void)
{
    return t.asked;
}

bool trial_is_judging(void)
{
    return t.inside;
}

bool trial_keeps_freed(void)
{
    return t.copy && !t.frees;
}

bool trial_keeps_libraries(void)
{
    return t.copy && (t.rewinds || !t.frees);
}

/* What trials take is not the script's time. */
__attribute__((visibility("default"))) int clock_gettime(clockid_t clock, struct timespec *now)
{
    if (t.rewinds && clock == CLOCK_THREAD_CPUTIME_ID) {
        *now = (struct timespec){0, 0};
        return 0;
    }
    return (int)syscall(SYS_clock_gettime, clock, now);
}

__attribute__((destructor)) static void tell(void)
{
    if (!t.on || t.copy) return;
    t.inside = true;
    FILE *record = fopen(t.record, "a");
    if (!record) abort();
    for (size_t i = 0; i < KINDS_OF_WORDS && said[i].times; i++)
        fprintf(record, "said: %ld times, first %ld: %s\n", said[i].times, said[i].first, said[i].text);
    fprintf(record, "allocations %ld tried %ld refused %ld same %ld bad %ld after %ld kept %ld\n", t.asked,
            t.tried, t.refused, t.same, t.bad, t.after_runs, front_kept());
    fclose(record);
}
