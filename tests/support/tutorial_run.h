/* tutorial_run.h - do what a page of docs/ says, word by word, in an empty folder.
 *
 * A fenced block marked "LANGUAGE NAME" is put into the file NAME, or added to it after a blank line.  A block
 * marked "sh" is run there; every line of a block marked "text" must then stand in what it printed. */
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

#endif
