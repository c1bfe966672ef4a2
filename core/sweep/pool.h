/* pool.h - run one function over the indices 0 .. n-1 on several threads.
 *
 * Indices are handed out in order, in chunks.  A chunk once taken is always finished, so what is done when a
 * run stops early is again a range that begins at 0.  Results belong into slots chosen by index: then they
 * are the same for any number of workers. */
#ifndef HEATLEDGER_POOL_H
#define HEATLEDGER_POOL_H

#include <stdbool.h>
#include <stddef.h>

#include "heatledger/status.h"

typedef struct pool_job {
    size_t n;       /* indices 0 .. n-1 */
    size_t workers; /* threads; 0: one for each processor */
    size_t chunk;   /* indices taken at once; 0: a share of n */
    size_t window;  /* an index is begun only when progress() has seen all that lie this far before it;
                     * 0: no bound.  So results may live in a ring of `window` slots. */
    /* One index, in thread `worker` of 0 .. workers-1.  false: finish the chunks in hand, then stop. */
    bool (*run)(void *context, size_t worker, size_t index);
    /* In the calling thread, about every `every` seconds and when the window is full: all indices below
     * `done` are finished.  Called a last time when all threads have ended.  false: stop.  May be NULL. */
    bool (*progress)(void *context, size_t done);
    void *context;
    double every; /* s; 0: a quarter */
} pool_job;

/* *done (may be NULL): how many indices were finished, from 0 on.
 *   HL_OK         all done, or stopped by run() or progress(): compare *done with n
 *   HL_NO_MEMORY  nothing was run: no memory, or no thread could be started */
HL_EXPORT hl_status hl_pool_run(const pool_job *job, size_t *done);

/* Processors this process may use, at least 1. */
HL_EXPORT size_t hl_pool_processors(void);

#endif
