/* models.h - the shipped models, loaded once for all inputs of one process. */
#ifndef FUZZ_MODELS_H
#define FUZZ_MODELS_H

#include "heatledger/heatledger.h"

const hl_host *models(void);
/* Read every value, band and place of all parts, so that a sanitizer sees what is not there. */
void walk_parts(const hl_catalogue *catalogue);

#endif
