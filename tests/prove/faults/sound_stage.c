/* Nothing wrong: this one passes. */
#include "sound_stage.h"
