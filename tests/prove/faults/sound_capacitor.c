/* Nothing wrong: this one passes. */
#define FAMILY HL_FAMILY_CAPACITOR
#include "sound_switch.h"
