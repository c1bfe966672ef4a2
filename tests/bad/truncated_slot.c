/* Rows of the slot table too short. */
#define SLOT_SIZE 4
#include "sound.h"
