/* A model name that is not lower case. */
#define MODEL_NAME "PlainResistor"
#include "sound.h"
