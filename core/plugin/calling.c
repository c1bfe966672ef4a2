/* calling.c - the call under way in each thread. */
#include "plugin/calling.h"

_Thread_local hl_call calling_now;

hl_call hl_call_under_way(void)
{
    return calling_now;
}
