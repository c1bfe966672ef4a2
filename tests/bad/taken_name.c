/* Sound by itself, but both names are taken once sound.c is loaded. */
#include "sound.h"
