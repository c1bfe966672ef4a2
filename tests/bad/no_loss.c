/* A device without losses. */
#define LOSS NULL
#include "sound.h"
