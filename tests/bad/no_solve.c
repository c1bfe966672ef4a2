/* A stage that cannot be solved. */
#define SOLVE NULL
#include "sound.h"
