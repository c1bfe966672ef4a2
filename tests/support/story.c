#include "story.h"

#include <math.h>

int story_main(const char *name, void (*fill)(TCase *tests))
{
    Suite *suite = suite_create(name);
    TCase *tests = tcase_create(name);
    tcase_set_timeout(tests, 300);
    fill(tests);
    suite_add_tcase(suite, tests);
    SRunner *runner = srunner_create(suite);
    srunner_run_all(runner, CK_NORMAL);
    int ran = srunner_ntests_run(runner), failed = srunner_ntests_failed(runner);
    srunner_free(runner);
    if (ran == 0) fprintf(stderr, "%s: no test ran\n", name);
    return ran > 0 && failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

void story_near(const char *file, int line, const char *what, double actual, double expected, double relative,
                double absolute)
{
    double room = relative * fabs(expected) + absolute, off = fabs(actual - expected);
    if (off <= room) {
        mark_point();
        return;
    }
    ck_abort_msg("%s:%d: %s = %.12g, expected %.12g; off by %.3g, allowed %.3g", file, line, what, actual,
                 expected, off, room);
}
