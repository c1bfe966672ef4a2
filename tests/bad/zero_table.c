/* struct_size forgotten. */
#define PLUGIN_SIZE 0
#include "sound.h"
