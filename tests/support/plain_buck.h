/* plain_buck.h - a buck of 24 V to 5 V at 420 kHz with 4.4 uH, for tests of how it behaves. */
#ifndef PLAIN_BUCK_H
#define PLAIN_BUCK_H

#include "stage_bench.h"

/* mode: its light_load; load: A */
stage_bench *plain_buck(const char *mode, double load);

#endif
