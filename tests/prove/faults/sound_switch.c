/* Nothing wrong: this one passes. */
#include "sound_switch.h"
