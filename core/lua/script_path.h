/* script_path.h - which files a script may name, and where they are. */
#ifndef HEATLEDGER_SCRIPT_PATH_H
#define HEATLEDGER_SCRIPT_PATH_H

#include <limits.h>

#include "lua/binding.h"

/* The file at `path` as the running script means it: a relative path counts from the folder of the script
 * that names it, and one file has one name ("./" is left out).  Raises when it lies outside the folder that
 * the script may read from (binding_root), links followed, or when the path is too long; what is not there is
 * left to the reader, which says so. what  "part file", for the message */
void script_path(lua_State *L, const char *what, const char *path, char full[PATH_MAX]);

#endif
