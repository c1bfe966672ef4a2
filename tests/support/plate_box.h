/* plate_box.h - the box of field/plate.lua, whose one part leads its heat to the floor by a pad, solved by
 * the command in the scratch folder.  Whatever is missing fails the running test. */
#ifndef PLATE_BOX_H
#define PLATE_BOX_H

#include <jansson.h>
#include <stdbool.h>

/* A file whole; the caller frees it. */
char *plate_text(const char *path);
/* The box with more statements in it, as `name`, and its parts beside it. */
void plate_script(const char *name, const char *extra);
/* A script of the folder, with its fields kept in the folder `kept` there; *said (may be NULL): what the
 * command says beside the document, the caller's. */
json_t *plate_solve(const char *script, const char *kept, char **said);
/* The case's face of a name. */
const json_t *plate_face(const json_t *document, const char *name);
/* Are the words among what was said or the document's warnings? */
bool plate_told(const json_t *document, const char *said, const char *words);

#endif
