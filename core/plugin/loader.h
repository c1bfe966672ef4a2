/* loader.h - one shared object in, its table out. */
#ifndef HEATLEDGER_LOADER_H
#define HEATLEDGER_LOADER_H

#include "heatledger/plugin.h"
#include "plugin/report.h"

typedef struct module module; /* an open shared object */

/* The system's loader is made ready and given back; each true start needs one stop. */
bool loader_start(void);
void loader_stop(void);

/* Open the file at `path` (absolute) and find its table; HL_NO_PLUGIN or HL_NO_MEMORY, *opened NULL, with the
 * system's own reason in the report. */
hl_status loader_open(const char *path, module **opened, const hl_plugin **table, report *r);
void loader_close(module *opened); /* NULL is allowed */

#endif
