/* calling.h - what this thread is asking of a plugin, so that whoever handles a fault can name it.
 *
 * The one state of the process that is not in a handle: a signal handler is given no argument. Each thread
 * has its own, and it costs a few stores a call. */
#ifndef HEATLEDGER_CALLING_H
#define HEATLEDGER_CALLING_H

#include "heatledger/catalogue.h"

/* initial-exec: found without a call of the loader, so that a handler may read it too */
extern _Thread_local hl_call calling_now __attribute__((tls_model("initial-exec")));

/* Just before: `function` of the model for a part or stage; texts that outlive the call. */
static inline void calling(const hl_model *model, const char *function, const char *subject)
{
    calling_now = (hl_call){model, NULL, function, subject, calling_now.serial + 1};
}

/* A file is being loaded: its own start-up code runs. */
static inline void calling_file(const char *file)
{
    calling_now = (hl_call){NULL, file, "loading", "", calling_now.serial + 1};
}

static inline void called(void)
{
    calling_now.function = NULL;
}

#endif
