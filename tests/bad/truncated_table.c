/* A table shorter than the first one ever published. */
#define PLUGIN_SIZE offsetof(hl_plugin, models)
#include "sound.h"
