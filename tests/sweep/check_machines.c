/* check_machines.c - the recipes of docs/sweeps.md for many machines, run as they stand there: GNU parallel,
 * and a Slurm job array on two node daemons with a shard killed and requeued.  What they need missing is a
 * failure: `scripts/dev/packages test` installs it. */
#include <string.h>
#include <unistd.h>

#include "command_run.h"
#include "story.h"

static void run_shell(const char *script, const char *expected)
{
    const char *arguments[] = {"-c", script, NULL};
    command_output out = program_run("/bin/sh", arguments);
    ck_assert_msg(out.code == 0, "exit %d: %s%s", out.code, out.out, out.error);
    ck_assert_msg(strstr(out.out, expected), "not '%s' but: %s", expected, out.out);
    command_free(&out);
}

START_TEST(shards_by_parallel_are_the_whole)
{
    static const char script[] =
        "set -e; export PATH=" HL_TEST_BUILD "/bin:$PATH; plan=" HL_TEST_SOURCE "/sweep/plan.lua;"
        "folder=$(mktemp -d); trap 'rm -rf $folder' EXIT; cd $folder; export HOME=$folder;"
        "parallel --will-cite heatledger sweep $plan --workers 1 --quiet --store part{}.store --shard {}/5 "
        "::: $(seq 5)"
        " >/dev/null;"
        "heatledger merge --store joined.store --csv part*.store >joined.csv;"
        "heatledger sweep $plan --store whole.store --quiet --csv >whole.csv;"
        "cmp whole.csv joined.csv; echo same";
    run_shell(script, "same");
}
END_TEST

START_TEST(a_job_array_with_a_requeued_shard_is_the_whole)
{
    run_shell(HL_PROJECT_SOURCE "/scripts/dev/cluster " HL_TEST_BUILD, "the same 8640 rows");
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, shards_by_parallel_are_the_whole);
    tcase_add_test(tests, a_job_array_with_a_requeued_shard_is_the_whole);
}

int main(void)
{
    return story_main("many machines", fill);
}
