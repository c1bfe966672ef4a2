/* A slot that stands twice. */
#define SLOTS RESISTOR_SLOT, RESISTOR_SLOT
#include "sound.h"
