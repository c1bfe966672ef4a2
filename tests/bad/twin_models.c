/* The same model listed twice. */
#define MODELS &device_model, &stage_model, &device_model
#include "sound.h"
