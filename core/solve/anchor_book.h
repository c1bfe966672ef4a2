/* anchor_book.h - anchors of one design, each made once for all workspaces that solve it side by side.
 *
 * A workspace that needs an anchor makes it, unless another has: then it takes that one, or waits for it.
 * Anchors follow from the design alone, so it does not matter who makes them.  All memory is taken at the
 * beginning; what is made is never changed. */
#ifndef HEATLEDGER_ANCHOR_BOOK_H
#define HEATLEDGER_ANCHOR_BOOK_H

#include <pthread.h>
#include <stdatomic.h>

#include "diagnostic/arena.h"
#include "heatledger/design.h"
#include "solve/told.h"

typedef struct anchor_book {
    const hl_design *design;
    arena *memory;
    size_t n;
    hl_start **start;  /* [n] NULL: that one is not kept */
    atomic_int *state; /* [n] */
    told told;         /* of all of them: chosen by who makes the first */
    pthread_mutex_t lock;
    pthread_cond_t news; /* one more is made */
    size_t users;        /* under the lock */
} anchor_book;

/* A book of n anchors, none of them kept yet, with one user.  NULL: no memory. */
anchor_book *anchor_book_create(const hl_design *design, size_t n);
/* One more user. */
anchor_book *anchor_book_join(anchor_book *book);
/* One less; the last one frees it.  NULL is allowed. */
void anchor_book_leave(anchor_book *book);

/* true: the caller is to make this one, and to say so by anchor_book_publish.  false: it is made. */
bool anchor_book_claim(anchor_book *book, size_t index);
void anchor_book_publish(anchor_book *book, size_t index);

#endif
