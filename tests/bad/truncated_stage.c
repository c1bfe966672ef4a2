/* A stage structure that is too short. */
#define STAGE_SIZE offsetof(hl_stage, solve)
#include "sound.h"
