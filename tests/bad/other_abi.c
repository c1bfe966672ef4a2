/* Built for an interface of another number. */
#define PLUGIN_ABI (HL_PLUGIN_ABI + 1u)
#include "sound.h"
