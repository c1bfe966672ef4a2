/* A default beyond the list of choices. */
#define WORDS                                                                                                \
    (const char *const[])                                                                                    \
    {                                                                                                        \
        "thick", "thin", NULL                                                                                \
    }
#define PARAMETERS                                                                                           \
    {                                                                                                        \
        "kind", NULL, HL_CHOICE, HL_DEFAULT, 2, 0, 0, NULL, WORDS, "Kind.", "marking"                        \
    }
#include "sound.h"
