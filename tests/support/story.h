/* story.h - what every test program starts with: one suite, one case, a main that fails when
 * nothing ran (a loop over no cases would otherwise print 100 %). */
#ifndef STORY_H
#define STORY_H

#include <check.h>
#include <stdio.h>
#include <stdlib.h>

/* Sanitizers, and memcheck (scripts/dev/valgrind defines STORY_PART), look at how memory is used and take ten
 * times as long: of what is alike they are shown a part.  Without them all of it is tried. */
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__) || defined(STORY_PART)
enum { STORY_SANITIZED = 1 };
#else
enum { STORY_SANITIZED = 0 };
#endif

/* So many draws of what is alike. */
#define STORY_DRAWS(whole) (STORY_SANITIZED ? (whole) / 10 : (whole))

/* No build to measure seconds with. */
#if defined(__OPTIMIZE__)
enum { STORY_SLOW = STORY_SANITIZED };
#else
enum { STORY_SLOW = 1 };
#endif

/* Run the suite built by `fill`; returns EXIT_SUCCESS only if at least one check ran and none failed. */
int story_main(const char *name, void (*fill)(TCase *tests));

/* Fail unless |actual - expected| <= relative * |expected| + absolute; says which and by how much. */
#define ck_near(actual, expected, relative, absolute)                                                        \
    story_near(__FILE__, __LINE__, #actual, (actual), (expected), (relative), (absolute))
void story_near(const char *file, int line, const char *what, double actual, double expected, double relative,
                double absolute);

#endif
