/* A device structure that is too short. */
#define DEVICE_SIZE offsetof(hl_device, limits)
#include "sound.h"
