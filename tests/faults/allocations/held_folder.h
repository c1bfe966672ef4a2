/* held_folder.h - a folder's files as they were, put back in place: a copy of the process shares its open
 * files with the one it came from. */
#ifndef HELD_FOLDER_H
#define HELD_FOLDER_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

void held_folder_take(const char *folder);
/* As when it was taken. */
void held_folder_restore(const char *folder);
/* Another content, or another list of names, than when it was taken. */
bool held_folder_changed(const char *folder);
/* A number that tells a folder's names and contents from others; NULL: an empty one. */
uint64_t held_folder_mark(const char *folder);
/* Memory to read files into: shared, so that neither a copy nor a return touches it. */
char *held_folder_room(size_t size);

#endif
