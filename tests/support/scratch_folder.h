/* scratch_folder.h - a folder of its own for a test that writes files; whatever is in it goes with it. */
#ifndef SCRATCH_FOLDER_H
#define SCRATCH_FOLDER_H

/* The folder of the running test, without a closing slash; empty before scratch_folder_make. At most 63
 * bytes. */
extern char scratch_folder[64];

/* Fixtures for tcase_add_checked_fixture or tcase_add_unchecked_fixture; each ends the program when it
 * cannot. */
void scratch_folder_make(void);
void scratch_folder_remove(void);

/* "folder/name", kept until the folder is removed: the same text for the same name, at most 64 names. */
const char *scratch_file(const char *name);
/* Makes or replaces that file with the text and returns its path. */
const char *scratch_write(const char *name, const char *text);

#endif
