/* A model that wants to be both. */
#define DEVICE_STAGE &stage
#include "sound.h"
