/* Nothing wrong: this one loads. */
#include "sound.h"
