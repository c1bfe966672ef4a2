/* A parameter that stands twice. */
#define PARAMETERS RESISTANCE, RESISTANCE
#include "sound.h"
