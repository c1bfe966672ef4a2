/* Rows of the parameter table too short. */
#define PARAMETER_SIZE 8
#include "sound.h"
