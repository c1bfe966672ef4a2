/* A table without a licence. */
#define LICENCE NULL
#include "sound.h"
