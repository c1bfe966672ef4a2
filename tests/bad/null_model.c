/* A hole in the list of models. */
#define MODELS &device_model, NULL, &stage_model
#include "sound.h"
