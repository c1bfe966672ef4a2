#define _DEFAULT_SOURCE /* wait4 */
/* check_sandbox.c - scripts that want out, or never to end.
 *
 * escapes/NAME.lua begins with what becomes of it: `-- ends with: TEXT` (an error whose message has TEXT) or
 * `-- holds` (its own assertions do, and it returns true).  Each runs in a child process that may take no
 * more than its share of time and memory, whatever the script does. */
#include <dirent.h>
#include <limits.h>
#include <lua.h>
#include <signal.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "lua/sandbox.h"
#include "story.h"

#define ESCAPES HL_TEST_SOURCE "/sandbox/escapes"
#define LIBRARY HL_TEST_BUILD "/lib/heatledger/lua"

/* Five million steps are a fraction of a second; a sanitizer makes that ten times as long, and the system's
 * own time for a stack that grows counts too. */
enum { SECONDS = STORY_SANITIZED ? 4 : 1 };
static const sandbox_limits small = {(size_t)128 << 20, 5000000, SECONDS};
enum { SECONDS_MOST = 60 };

static int is_script(const struct dirent *entry)
{
    size_t n = strlen(entry->d_name);
    return n > 4 && !strcmp(entry->d_name + n - 4, ".lua");
}

/* The first line, without its end. */
static void read_fate(const char *path, char line[], size_t size)
{
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    ck_assert_ptr_nonnull(fgets(line, (int)size, file));
    line[strcspn(line, "\n")] = '\0';
    fclose(file);
}

/* In the child: exit code 0 when the fate is met. */
static int meet(const char *path, const char *fate)
{
    char message[1 << 16] = "";
    signal(SIGALRM, SIG_DFL); /* not the test runner's, which ends everything */
    alarm(SECONDS_MOST);
    sandbox *box = sandbox_create(&small, false, LIBRARY);
    if (!box) return 2;
    bool ran = sandbox_run(box, path, message, sizeof message);
    bool said_yes = ran && lua_toboolean(sandbox_state(box), -1);
    sandbox_destroy(box);
    if (!strcmp(fate, "-- holds")) {
        if (!said_yes) fprintf(stderr, "%s: did not hold: %s\n", path, message);
        return said_yes ? 0 : 1;
    }
    static const char ends[] = "-- ends with: ";
    if (strncmp(fate, ends, sizeof ends - 1)) return 3;
    if (!ran && message[0] && strstr(message, fate + sizeof ends - 1)) return 0;
    fprintf(stderr, "%s: %s: %.300s\n", path, ran ? "ran to its end" : "another message", message);
    return 1;
}

static void silence(void)
{
    if (!freopen("/dev/null", "w", stdout)) _exit(4);
}

START_TEST(every_escape_is_refused_or_stopped)
{
    struct dirent **entries;
    int n = scandir(ESCAPES, &entries, is_script, alphasort), failed = 0;
    ck_assert_int_ge(n, 80);
    for (int i = 0; i < n; i++) {
        char path[PATH_MAX], fate[200];
        snprintf(path, sizeof path, ESCAPES "/%s", entries[i]->d_name);
        read_fate(path, fate, sizeof fate);
        fflush(NULL);
        pid_t child = fork();
        ck_assert_int_ge(child, 0);
        if (child == 0) {
            silence();
            _exit(meet(path, fate));
        }
        int status;
        struct rusage used;
        ck_assert_int_eq(wait4(child, &status, 0, &used), child);
        if (!WIFEXITED(status) || WEXITSTATUS(status)) {
            fprintf(stderr, "%s: status %#x after %ld s, %ld MB\n", entries[i]->d_name, (unsigned)status,
                    (long)used.ru_utime.tv_sec, used.ru_maxrss / 1024);
            failed++;
        }
        if (getenv("HEATLEDGER_LONG"))
            fprintf(stderr, "%-28s %5.2f s\n", entries[i]->d_name,
                    (double)used.ru_utime.tv_sec + 1e-6 * (double)used.ru_utime.tv_usec);
        if (!STORY_SANITIZED && used.ru_maxrss / 1024 > 300) { /* a sanitizer's own memory counts too */
            fprintf(stderr, "%s: held %ld MB\n", entries[i]->d_name, used.ru_maxrss / 1024);
            failed++;
        }
        free(entries[i]);
    }
    free(entries);
    ck_assert_int_eq(failed, 0);
}
END_TEST

/* Without limits each of the tricks works, so the tests above can fail. */
START_TEST(trust_opens_what_is_closed)
{
    static const char text[] = "assert(io and os and debug and package and string.dump)\n"
                               "assert(load(string.dump(function() return 7 end))() == 7)\n"
                               "return true\n";
    char message[400] = "";
    sandbox *box = sandbox_create(&small, true, LIBRARY);
    ck_assert_ptr_nonnull(box);
    ck_assert_msg(sandbox_run_text(box, text, sizeof text - 1, "=trusted", message, sizeof message), "%s",
                  message);
    sandbox_destroy(box);
}
END_TEST

/* A function that is called again and again gets its steps anew each time. */
START_TEST(steps_are_counted_anew_after_a_refresh)
{
    static const char loop[] = "for i = 1, 4000000 do end return true";
    char message[400] = "";
    sandbox *box = sandbox_create(&small, false, LIBRARY);
    ck_assert_ptr_nonnull(box);
    for (int i = 0; i < 3; i++) {
        sandbox_refresh(box);
        ck_assert_msg(sandbox_run_text(box, loop, sizeof loop - 1, "=loop", message, sizeof message), "%s",
                      message);
    }
    ck_assert(!sandbox_run_text(box, loop, sizeof loop - 1, "=loop", message, sizeof message));
    ck_assert_ptr_nonnull(strstr(message, "steps"));
    sandbox_refresh(box);
    ck_assert(sandbox_run_text(box, loop, sizeof loop - 1, "=loop", message, sizeof message));
    sandbox_destroy(box);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_escape_is_refused_or_stopped);
    tcase_add_test(tests, trust_opens_what_is_closed);
    tcase_add_test(tests, steps_are_counted_anew_after_a_refresh);
}

int main(void)
{
    return story_main("sandbox", fill);
}
