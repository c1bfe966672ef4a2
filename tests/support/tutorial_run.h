/* tutorial_run.h - do what a page of docs/ says, word by word, in an empty folder.
 *
 * A fenced block marked "LANGUAGE NAME" is put into the file NAME, or added to it after a blank line.  A
 * block marked "sh" is run there and must exit with 0, "sh exit=N" with N; every line of a block marked
 * "text" must then stand in what it printed, in that order, numbers near (said_lines.h); "..." stands for
 * lines left out.  A block marked "LANGUAGE illustration" is left alone; the text before it must say "Not run
 * by the tests".
 *
 * With HEATLEDGER_REMAKE_DOCS set, the figures in the "text" blocks are written anew into the page itself. */
#ifndef TUTORIAL_RUN_H
#define TUTORIAL_RUN_H

#include <stddef.h>

typedef struct tutorial_count {
    size_t files, commands, expected;
} tutorial_count;

/* page    path of the page
 * folder  made anew
 * before  shell text run before each block of commands, such as exports
 * Fails the running test, with the line of the page, at the first thing that does not hold. */
tutorial_count tutorial_run(const char *page, const char *folder, const char *before);
/* The same in a folder that an earlier page filled. */
tutorial_count tutorial_follow(const char *page, const char *folder, const char *before);

#endif
