/* older_host.h - structures as short as those of hosts before this one, which a plugin must not write or read
 * beyond (docs/abi.md). */
#ifndef HEATLEDGER_OLDER_HOST_H
#define HEATLEDGER_OLDER_HOST_H

#include "prove/trial.h"

enum { OLDER_HOSTS = 6, OLDER_MARK = 0x5A };

/* Bytes of hl_stage_output that a host had; 1: that of the first header, up to OLDER_HOSTS; 0: today's. */
size_t older_output_size(size_t host);
/* What others the host hands over, as short as the first header has them unless it is today's. */
size_t older_input_size(size_t host);
size_t older_terminal_size(size_t host);

/* Notes a write by `function` past the first `reach` of the `size` bytes, marked before, and zeroes the rest,
 * as what is not there counts. */
void older_host_inspect(trial *t, void *structure, size_t reach, size_t size, const char *function);

#endif
