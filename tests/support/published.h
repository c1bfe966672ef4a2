/* published.h - a check against a number somebody printed: the same as ck_near, and noted in a list.
 *
 * Each adds one line to HL_TEST_BUILD/published.tsv: program, test source, printed figure, ours, allowed.
 * scripts/dev/checks makes docs/checks.md of that list. */
#ifndef PUBLISHED_H
#define PUBLISHED_H

#include "story.h"

/* source: author, title, year, equation or example, and what was printed, in one line */
#define ck_published(source, actual, printed, relative, absolute)                                            \
    published_near(__FILE__, __LINE__, (source), #actual, (actual), (printed), (relative), (absolute))
void published_near(const char *file, int line, const char *source, const char *what, double actual,
                    double printed, double relative, double absolute);

#endif
