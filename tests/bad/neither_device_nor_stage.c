/* A model that is neither. */
#define DEVICE NULL
#include "sound.h"
