/* host.h - loading with a say in how bad a failure is. */
#ifndef HEATLEDGER_HOST_H
#define HEATLEDGER_HOST_H

#include "heatledger/catalogue.h"

/* hl_host_load with the complaints as errors (named by the user) or warnings (met in a folder). */
hl_status host_load(hl_host *host, const char *path, hl_severity severity, hl_diagnostics *diagnostics);

#endif
