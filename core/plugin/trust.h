/* trust.h - who could have put code into a file. */
#ifndef HEATLEDGER_TRUST_H
#define HEATLEDGER_TRUST_H

#include <stdbool.h>

#include "plugin/report.h"

/* True when only root or the current user can have written the plugin at `path` (absolute, links resolved):
 * the file and its folder belong to one of them, nobody else may write either, and no folder above can be
 * renamed by everybody. */
bool trusted_plugin(const char *path, report *r);

#endif
