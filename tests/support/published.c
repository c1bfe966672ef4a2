#include "published.h"

#include <fcntl.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

/* One write, so that test programs that run at once do not mix their lines. */
static void note(const char *file, const char *source, double actual, double printed, double room)
{
    const char *name = strrchr(file, '/');
    char text[1024];
    int n = snprintf(text, sizeof text, "%s\t%s\t%.6g\t%.6g\t%.2g\n", name ? name + 1 : file, source, printed,
                     actual, room);
    int out = open(HL_TEST_BUILD "/published.tsv", O_WRONLY | O_CREAT | O_APPEND, 0644);
    if (out < 0) return;
    if (n > 0 && n < (int)sizeof text && write(out, text, (size_t)n) != n)
        fprintf(stderr, "%s: the list of published checks is short of a line\n", file);
    close(out);
}

void published_near(const char *file, int line, const char *source, const char *what, double actual,
                    double printed, double relative, double absolute)
{
    note(file, source, actual, printed, relative * fabs(printed) + absolute);
    story_near(file, line, what, actual, printed, relative, absolute);
}
