/* A model structure that is too short. */
#define MODEL_SIZE offsetof(hl_model, device)
#include "sound.h"
