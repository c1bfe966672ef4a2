/* A constructor that fails. */
#include "sound_switch.h"

__attribute__((constructor)) static void begin(void)
{
    abort();
}
