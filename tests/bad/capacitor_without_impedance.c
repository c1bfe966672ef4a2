/* A capacitor that cannot say its impedance. */
#define FAMILY HL_FAMILY_CAPACITOR
#include "sound.h"
