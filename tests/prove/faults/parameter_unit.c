/* A parameter's unit that is none. */
#define RESISTANCE_UNIT "Ohms per square"
#include "sound_switch.h"
