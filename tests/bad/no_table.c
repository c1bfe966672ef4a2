/* A shared object that is no plugin. */
#include "heatledger/plugin.h"

HL_EXPORT const int something_else = 1;
