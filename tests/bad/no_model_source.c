/* Equations from nowhere. */
#define MODEL_SOURCE ""
#include "sound.h"
