/* A family that does not exist. */
#define FAMILY (hl_family)77
#include "sound.h"
