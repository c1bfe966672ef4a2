/* catalogue.h - loaded plugins and the parts described in YAML files.
 * Part of the host interface: include heatledger.h. */
#ifndef HEATLEDGER_CATALOGUE_H
#define HEATLEDGER_CATALOGUE_H

#include "heatledger/plugin.h"
#include "heatledger/status.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ------------------------------------------------------------------ host -- */

/* All plugins of one process part; models stay valid until the host is destroyed. Not thread-safe while
 * loading; read-only and shareable afterwards. */
typedef struct hl_host hl_host;

HL_EXPORT hl_host *hl_host_create(void);
HL_EXPORT void hl_host_destroy(hl_host *host);
/* Load one plugin file.  Refused (with the reason in diagnostics): not a plugin, another ABI, a broken
 * table, a model name already taken, a file or folder that others may write. */
HL_EXPORT hl_status hl_host_load(hl_host *host, const char *path, hl_diagnostics *diagnostics);
/* Load every *.so of a folder in name order; a plugin that fails is a warning, the rest go on. */
HL_EXPORT hl_status hl_host_load_folder(hl_host *host, const char *folder, hl_diagnostics *diagnostics);
/* Load the shipped models: the folder heatledger/plugins beside the shared library, or HEATLEDGER_PLUGINS (folders separated by ':') when set. */
HL_EXPORT hl_status hl_host_load_shipped(hl_host *host, hl_diagnostics *diagnostics);
HL_EXPORT size_t hl_host_models(const hl_host *host);
HL_EXPORT const hl_model *hl_host_model(const hl_host *host, size_t index);      /* name order */
HL_EXPORT const char *hl_host_model_file(const hl_host *host, size_t index);     /* its plugin's path */
HL_EXPORT const hl_model *hl_host_find(const hl_host *host, const char *name);   /* NULL: unknown */
HL_EXPORT const char *hl_host_nearest(const hl_host *host, const char *name);    /* NULL: none near */
/* Parameter i of a model, honouring parameter_size of older plugins. */
HL_EXPORT const hl_parameter *hl_model_parameter(const hl_model *model, size_t index);
HL_EXPORT const hl_slot *hl_stage_slot(const hl_stage *stage, size_t index);
HL_EXPORT const char *hl_family_name(hl_family family);
HL_EXPORT const char *hl_mechanism_name(hl_mechanism mechanism);
HL_EXPORT const char *hl_origin_name(hl_origin origin);

/* ----------------------------------------------------------------- parts -- */

/* What every part may state, whatever its model: read from the same mapping in the part file. */
enum hl_common {
    HL_COMMON_SIZE,                 /* list of 3, m: length, width, height of the body */
    HL_COMMON_MAXIMUM_TEMPERATURE,  /* K, junction or hottest inner spot */
    HL_COMMON_RESISTANCE_CASE,      /* K/W, hot spot to outer surface */
    HL_COMMON_RESISTANCE_BOARD,     /* K/W, hot spot to solder points */
    HL_COMMON_HEAT_CAPACITY,        /* J/K */
    HL_COMMON_EMISSIVITY,           /* 1 */
    HL_COMMON_CONDUCTIVITY,         /* W/(m K), mean of the body */
    HL_COMMONS
};
HL_EXPORT const hl_parameter *hl_common_parameter(size_t index); /* table of the above, with defaults */

/* One part: immutable, owned by its catalogue. */
typedef struct hl_part hl_part;
HL_EXPORT const char *hl_part_name(const hl_part *part);
HL_EXPORT const char *hl_part_description(const hl_part *part); /* "" when none */
HL_EXPORT const hl_model *hl_part_model(const hl_part *part);
HL_EXPORT const hl_value *hl_part_values(const hl_part *part);  /* in table order */
HL_EXPORT const hl_value *hl_part_commons(const hl_part *part); /* [HL_COMMONS] */
HL_EXPORT hl_place hl_part_place(const hl_part *part);
/* Place of parameter i's value in its file; line 0 when it was not stated. */
HL_EXPORT hl_place hl_part_value_place(const hl_part *part, size_t index);

typedef struct hl_catalogue hl_catalogue;
/* The host must outlive the catalogue. */
HL_EXPORT hl_catalogue *hl_catalogue_create(const hl_host *host);
HL_EXPORT void hl_catalogue_destroy(hl_catalogue *catalogue);
/* Read a part file; all its problems are reported at once, good parts of it are kept.
 * HL_BAD_INPUT when any part was refused, HL_NO_FILE when it cannot be read. */
HL_EXPORT hl_status hl_catalogue_read_file(hl_catalogue *catalogue, const char *path,
                                           hl_diagnostics *diagnostics);
/* The same for text in memory; `name` stands for the file in messages. */
HL_EXPORT hl_status hl_catalogue_read_text(hl_catalogue *catalogue, const char *name, const char *text,
                                           size_t length, hl_diagnostics *diagnostics);
HL_EXPORT size_t hl_catalogue_parts(const hl_catalogue *catalogue);
HL_EXPORT const hl_part *hl_catalogue_part(const hl_catalogue *catalogue, size_t index); /* name order */
HL_EXPORT const hl_part *hl_catalogue_find(const hl_catalogue *catalogue, const char *name);
HL_EXPORT const char *hl_catalogue_nearest(const hl_catalogue *catalogue, const char *name);

/* Read one value for a parameter from text, as a part file would ("150 mohm", "valley"): used for stage
 * parameters and --set.  `place` for messages, may be NULL. */
HL_EXPORT hl_status hl_value_read(const hl_parameter *parameter, const char *text, const hl_place *place,
                                  hl_value *value, hl_diagnostics *diagnostics);
/* A number already in SI: checked for kind and plausible range in the same way. */
HL_EXPORT hl_status hl_value_from_number(const hl_parameter *parameter, double number,
                                         const hl_place *place, hl_value *value,
                                         hl_diagnostics *diagnostics);

#ifdef __cplusplus
}
#endif
#endif
