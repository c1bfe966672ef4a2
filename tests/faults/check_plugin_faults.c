/* check_plugin_faults.c - a plugin that crashes or never comes back takes the command along, but stderr says
 * which one, in which function and for which part; the signal stays what it was. */
#include <signal.h>
#include <stdbool.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "command_run.h"
#include "scratch_folder.h"
#include "story.h"

#define PLUGIN HL_TEST_BUILD "/tests/broken/broken_switch.so"

/* A converter whose upper switch is of the broken model; the resistance says how it fails. */
static void write_scenario(int resistance)
{
    char parts[400];
    snprintf(parts, sizeof parts,
             "heatledger: parts/1\nparts:\n"
             "  odd: { model: plain_switch, on_resistance: %d ohm }\n"
             "  even: { model: plain_switch, on_resistance: 10 mohm }\n"
             "  coil: { model: measured_inductor, inductance: 22 uH, dc_resistance: 20 mohm }\n",
             resistance);
    scratch_write("parts.yaml", parts);
    scratch_write(
        "module.lua",
        "local hl = require 'heatledger'\nlocal part = hl.parts 'parts.yaml'\n"
        "local a = hl.adapter 'module'\na:supply { voltage = '48 V' }\n"
        "a:stage 'buck' { model = 'synchronous_buck', fed_by = 'source', switching_frequency = '200 kHz',\n"
        "  high_switch = part.odd, low_switch = part.even, inductor = part.coil }\n"
        "a:port 'out' { fed_by = 'buck', voltage = '12 V', current = '1 A' }\nreturn a\n");
    scratch_write("plan.lua",
                  "local hl = require 'heatledger'\nreturn hl.sweep { adapter = 'module.lua', axes = { "
                  "{ 'load', from = 0.1, to = 1, steps = 100 } }, figures = { 'efficiency' } }\n");
}

typedef struct fault {
    int resistance, signal;
    const char *words;
} fault;

static const fault faults[] = {
    {1, SIGSEGV,
     "broken_switch.so crashed in loss() of 'buck.high_switch' (model plain_switch): segmentation"},
    {2, SIGABRT, "broken_switch.so crashed in prepare() of 'odd' (model plain_switch): abort"},
    {3, SIGSEGV, "crashed in "}, /* the stack's end: asked by the stage, the instruction lies in the part */
    {5, SIGFPE,
     "broken_switch.so crashed in limits() of 'buck.high_switch' (model plain_switch): arithmetic"},
};

static command_output run(const char *command, const char *script)
{
    const char *path = scratch_file(script), *store = scratch_file("plan.store");
    const char *solve[] = {command, path, "--plugins", PLUGIN, NULL};
    const char *sweep[] = {command, path, "--plugins", PLUGIN, "--store", store, NULL};
    return command_run(strcmp(command, "sweep") ? solve : sweep);
}

static void expect(const command_output *out, const fault *f, const char *command)
{
    ck_assert_msg(strstr(out->error, f->words) != NULL, "%s, %d ohm: exit %d, not '%s' but: %s", command,
                  f->resistance, out->code, f->words, out->error);
    ck_assert_ptr_nonnull(strstr(out->error, "broken_switch.so"));
    ck_assert_ptr_nonnull(strstr(out->error, "heatledger prove "));
    if (!STORY_SANITIZED) /* else the fault goes on to the sanitizer, which ends the program in its own way */
        ck_assert_msg(out->code == 128 + f->signal, "%s, %d ohm: exit %d", command, f->resistance, out->code);
    else
        ck_assert_int_ne(out->code, 0);
}

START_TEST(a_crash_names_plugin_function_and_part)
{
    const fault *f = &faults[_i];
    write_scenario(f->resistance);
    command_output out = run("solve", "module.lua");
    expect(&out, f, "solve");
    command_free(&out);
}
END_TEST

START_TEST(a_crash_in_a_worker_of_a_sweep_is_named_too)
{
    write_scenario(faults[0].resistance);
    command_output out = run("sweep", "plan.lua");
    expect(&out, &faults[0], "sweep");
    command_free(&out);
}
END_TEST

/* Waits for the words on the other side of a pipe; false at its end. */
static bool said(int end, const char *words)
{
    char text[4000];
    size_t n = 0;
    for (ssize_t got; n < sizeof text - 1 && (got = read(end, text + n, sizeof text - 1 - n)) > 0;) {
        n += (size_t)got;
        text[n] = '\0';
        if (strstr(text, words)) return true;
    }
    return false;
}

START_TEST(a_call_that_never_ends_is_named)
{
    write_scenario(4);
    const char *path = scratch_file("module.lua");
    int ends[2], status;
    ck_assert_int_eq(pipe(ends), 0);
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        dup2(ends[1], STDERR_FILENO);
        close(ends[0]);
        close(ends[1]);
        alarm(120);
        execl(HL_TEST_BUILD "/bin/heatledger", "heatledger", "solve", path, "--plugins", PLUGIN,
              (char *)NULL);
        _exit(127);
    }
    close(ends[1]);
    bool named = said(ends[0], "broken_switch.so does not come back from loss() of 'buck.high_switch'");
    kill(child, SIGINT);
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    close(ends[0]);
    ck_assert(named);
    ck_assert(WIFSIGNALED(status) && WTERMSIG(status) == SIGINT);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_checked_fixture(tests, scratch_folder_make, scratch_folder_remove);
    tcase_add_loop_test(tests, a_crash_names_plugin_function_and_part, 0, sizeof faults / sizeof *faults);
    tcase_add_test(tests, a_crash_in_a_worker_of_a_sweep_is_named_too);
    /* The thread sanitizer keeps a signal back until the program calls something; this one never does. */
#if !defined(__SANITIZE_THREAD__)
    tcase_add_test(tests, a_call_that_never_ends_is_named);
#else
    (void)a_call_that_never_ends_is_named;
#endif
}

int main(void)
{
    return story_main("plugin faults", fill);
}
