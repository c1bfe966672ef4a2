/* call_path.h - tells allocations apart by how they were come to. */
#ifndef CALL_PATH_H
#define CALL_PATH_H

/* How often the caller has been come to by this very chain of calls, this time included. */
long call_path_times(void);

#endif
