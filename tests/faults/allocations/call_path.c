/* call_path.c - the chain of return addresses as one number, and how often it was seen. */
#include "call_path.h"

#include "held_folder.h"

#include <stdint.h>
#include <unwind.h>

enum { PLACES = 1 << 17, DEEPEST = 200 };

typedef struct chain {
    uint64_t hash;
    int depth;
} chain;

static _Unwind_Reason_Code add(struct _Unwind_Context *frame, void *context)
{
    chain *c = context;
    c->hash = (c->hash ^ (uint64_t)_Unwind_GetIP(frame)) * 0x100000001b3u; /* FNV-1a, word by word */
    c->hash ^= c->hash >> 29;
    return ++c->depth < DEEPEST ? _URC_NO_REASON : _URC_END_OF_STACK;
}

long call_path_times(void)
{
    static struct seen_chain {
        uint64_t hash;
        long times;
    } * seen;
    if (!seen) seen = (struct seen_chain *)(void *)held_folder_room(PLACES * sizeof *seen);
    chain c = {0xcbf29ce484222325u, 0};
    _Unwind_Backtrace(add, &c);
    uint64_t at = c.hash % PLACES;
    for (int i = 0; i < 64 && seen[at].times && seen[at].hash != c.hash; i++) at = (at + 1) % PLACES;
    seen[at].hash = c.hash;
    return ++seen[at].times;
}
