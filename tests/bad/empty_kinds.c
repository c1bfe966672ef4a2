/* A device that claims to be of no kind at all. */
#define KINDS                                                                                                \
    (const char *const[])                                                                                    \
    {                                                                                                        \
        NULL                                                                                                 \
    }
#include "sound.h"
