/* plotter.c - one gnuplot process a picture, fed and read at the same time so that neither side waits for
 * ever. */
#define _GNU_SOURCE /* pipe2 */
#include "cli/plotter.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

enum { LONGEST_MS = 20000, PIECE = 1 << 16, MOST = 8 << 20 };

/* Of a child that could not become gnuplot, where posix_spawn had returned before that was known.
 * source: POSIX.1-2017, posix_spawn, "ERRORS" */
enum { NEVER_STARTED = 127 };

typedef struct plot {
    int in, out; /* our ends: gnuplot's input and output */
    pid_t child;
    char *svg;
    size_t length;
} plot;

static void close_end(int *end)
{
    if (*end >= 0) close(*end);
    *end = -1;
}

/* A folder of the PATH that this user may not enter answers "permission denied" where nothing is missing but
 * gnuplot itself, so both are one case. */
static void say_unstarted(int failed, char *why, size_t size)
{
    if (failed == ENOENT || failed == EACCES)
        snprintf(why, size,
                 "no gnuplot on the PATH that this user may run; `apt-get install gnuplot-nox`, as root, "
                 "installs it");
    else
        snprintf(why, size, "gnuplot does not start: %s", strerror(failed));
}

/* gnuplot reads no start-up files (-d) and its complaints are not shown: the exit code tells. */
static bool start(plot *p, char *why, size_t size)
{
    int to[2], from[2];
    if (pipe2(to, O_CLOEXEC)) {
        snprintf(why, size, "no pipe: %s", strerror(errno));
        return false;
    }
    if (pipe2(from, O_CLOEXEC)) {
        snprintf(why, size, "no pipe: %s", strerror(errno));
        close(to[0]);
        close(to[1]);
        return false;
    }
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, to[0], 0);
    posix_spawn_file_actions_adddup2(&actions, from[1], 1);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    char name[] = "gnuplot", no_start_up[] = "-d", standard_input[] = "-";
    char *argv[] = {name, no_start_up, standard_input, NULL};
    int failed = posix_spawnp(&p->child, "gnuplot", &actions, NULL, argv, environ);
    posix_spawn_file_actions_destroy(&actions);
    close(to[0]);
    close(from[1]);
    p->in = to[1];
    p->out = from[0];
    if (!failed) return true;
    say_unstarted(failed, why, size);
    close_end(&p->in);
    close_end(&p->out);
    return false;
}

static bool take_piece(plot *p)
{
    char *more = realloc(p->svg, p->length + PIECE);
    if (!more) return false;
    p->svg = more;
    ssize_t got = read(p->out, p->svg + p->length, PIECE);
    if (got < 0) return errno == EINTR;
    if (got == 0) close_end(&p->out);
    p->length += (size_t)got;
    return p->length < MOST;
}

static bool exchange(plot *p, const char *commands, size_t left)
{
    while (p->out >= 0) {
        struct pollfd ends[2] = {{p->out, POLLIN, 0}, {p->in, POLLOUT, 0}};
        int ready = poll(ends, p->in >= 0 ? 2 : 1, LONGEST_MS);
        if (ready < 0 && errno == EINTR) continue;
        if (ready <= 0) return false;
        if (p->in >= 0 && ends[1].revents) {
            ssize_t written = write(p->in, commands, left);
            if (written > 0) {
                commands += written;
                left -= (size_t)written;
            }
            if (left == 0 || (written < 0 && errno != EINTR && errno != EAGAIN)) close_end(&p->in);
        }
        if (ends[0].revents && !take_piece(p)) return false;
    }
    return true;
}

bool plotter_draw(const char *commands, size_t commands_length, char **svg, size_t *length, char *why,
                  size_t size)
{
    plot p = {-1, -1, -1, NULL, 0};
    if (!start(&p, why, size)) return false;
    (void)fcntl(p.in, F_SETFL, O_NONBLOCK); /* a picture larger than the pipe must be read while feeding */
    struct sigaction ignore = {.sa_handler = SIG_IGN}, before;
    sigaction(SIGPIPE, &ignore, &before);
    bool good = exchange(&p, commands, commands_length);
    sigaction(SIGPIPE, &before, NULL);
    close_end(&p.in);
    close_end(&p.out);
    if (!good) kill(p.child, SIGKILL);
    int status = 0;
    while (waitpid(p.child, &status, 0) < 0 && errno == EINTR) continue;
    if (good && WIFEXITED(status) && WEXITSTATUS(status) == 0) {
        *svg = p.svg;
        *length = p.length;
        return true;
    }
    free(p.svg);
    if (WIFEXITED(status) && WEXITSTATUS(status) == NEVER_STARTED)
        say_unstarted(ENOENT, why, size);
    else
        snprintf(why, size, "gnuplot did not draw a picture (status %d)", status);
    return false;
}
