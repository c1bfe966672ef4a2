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

/* The plugins that were loaded into it; their models stay valid until the host is destroyed.  Loading is for
 * one thread at a time; afterwards it is only read, and threads may share it. */
typedef struct hl_host hl_host;

HL_EXPORT hl_host *hl_host_create(void);
HL_EXPORT void hl_host_destroy(hl_host *host);
/* Load one plugin file.  Refused (with the reason in diagnostics): not a plugin, another ABI, a broken
 * table, a model name already taken, a file or folder that others may write. */
HL_EXPORT hl_status hl_host_load(hl_host *host, const char *path, hl_diagnostics *diagnostics);
/* Load every *.so of a folder in name order; a plugin that fails is a warning, the rest go on. */
HL_EXPORT hl_status hl_host_load_folder(hl_host *host, const char *folder, hl_diagnostics *diagnostics);
/* Load the shipped models: the folder heatledger/plugins beside the shared library, or HEATLEDGER_PLUGINS
 * (folders separated by ':') when set. */
HL_EXPORT hl_status hl_host_load_shipped(hl_host *host, hl_diagnostics *diagnostics);
HL_EXPORT size_t hl_host_models(const hl_host *host);
HL_EXPORT const hl_model *hl_host_model(const hl_host *host, size_t index);    /* name order */
HL_EXPORT const char *hl_host_model_file(const hl_host *host, size_t index);   /* its plugin's path */
HL_EXPORT const hl_model *hl_host_find(const hl_host *host, const char *name); /* NULL: unknown */
HL_EXPORT const char *hl_host_nearest(const hl_host *host, const char *name);  /* NULL: none near */
/* Parameter i of a model, honouring parameter_size of older plugins. */
HL_EXPORT const hl_parameter *hl_model_parameter(const hl_model *model, size_t index);
HL_EXPORT const hl_slot *hl_stage_slot(const hl_stage *stage, size_t index);
/* Kinds: word i, NULL beyond the last.  A slot without any takes every part of its families; a device always
 * has one, its family's name where it claims none. */
HL_EXPORT const char *hl_slot_kind(const hl_stage *stage, size_t slot, size_t i);
HL_EXPORT const char *hl_device_kind(const hl_device *device, size_t i);
/* Is a part of this device model with these values (in table order) of that kind?  values NULL: may one be?
 */
HL_EXPORT bool hl_device_of_kind(const hl_model *model, const hl_value *values, const char *kind);
/* Does the slot take it: by family, and by kind where it asks for one? */
HL_EXPORT bool hl_slot_takes(const hl_stage *stage, size_t slot, const hl_model *model,
                             const hl_value *values);
HL_EXPORT const char *hl_family_name(hl_family family);
HL_EXPORT const char *hl_mechanism_name(hl_mechanism mechanism);
HL_EXPORT const char *hl_origin_name(hl_origin origin);

/* What the calling thread is asking of a plugin at this moment, for a handler of a fault that must say whose
 * it is: async-signal-safe.  function NULL: nothing. */
typedef struct hl_call {
    const hl_model *model; /* NULL: none is known yet, the file is being loaded */
    const char *file;      /* while loading; otherwise NULL: it is the object that holds *model */
    const char *function;  /* "prepare", "present", "loss", "limits", "solve", ... */
    const char *subject;   /* name of the part or stage; "" when there is none */
    unsigned long serial;  /* counts the calls of this thread: the same number is the same call */
} hl_call;
HL_EXPORT hl_call hl_call_under_way(void);

/* ----------------------------------------------------------------- bands -- */

/* How far from `central` a value may lie, beside hl_value (whose layout plugins rely on). */
typedef enum hl_band_kind {
    HL_BAND_NONE = 0,   /* no band is stated: taken as exact */
    HL_BAND_UNIFORM,    /* anything from low to high, and nothing beyond: a tolerance, an interval */
    HL_BAND_TRIANGULAR, /* peak at central, nothing beyond low and high: minimum, typical, maximum */
    HL_BAND_NORMAL,     /* low and high are its 5 % and 95 % quantiles */
    HL_BAND_LOG_NORMAL, /* the same, of ln x: central times or by a factor */
} hl_band_kind;

typedef struct hl_band {
    hl_band_kind kind;
    double low, central, high; /* SI; low <= central <= high; equal for HL_BAND_NONE */
    double sigma;              /* normal: standard deviation, SI; log-normal: that of ln x; 0 otherwise */
    double floor, ceiling;     /* SI, plausible range: quantiles are held within; equal: not held */
    const char *group;         /* values of one group move together (the same quantile); NULL: on its own */
    bool opposed;              /* moves against its group: quantile 1 - p */
    hl_origin origin;          /* where the value comes from */
} hl_band;

/* Value that lies above a share `probability` (0..1) of the band; `central` for HL_BAND_NONE.
 * Monotone; normal quantiles after M. J. Wichura, Applied Statistics 37(3), 1988, AS 241. */
HL_EXPORT double hl_band_quantile(const hl_band *band, double probability);
/* Standard deviation of the band, SI, before the plausible range is held; 0 for HL_BAND_NONE. */
HL_EXPORT double hl_band_deviation(const hl_band *band);
/* "uniform", "triangular", "normal", "log_normal", "none". */
HL_EXPORT const char *hl_band_name(hl_band_kind kind);

/* ----------------------------------------------------------------- parts -- */

/* What every part may state, whatever its model: read from the same mapping in the part file. */
enum hl_common {
    HL_COMMON_SIZE,                /* list of 3, m: length, width, height of the body */
    HL_COMMON_MAXIMUM_TEMPERATURE, /* K, junction or hottest inner spot */
    HL_COMMON_RESISTANCE_CASE,     /* K/W, hot spot to outer surface */
    HL_COMMON_RESISTANCE_BOARD,    /* K/W, hot spot to solder points */
    HL_COMMON_HEAT_CAPACITY,       /* J/K */
    HL_COMMON_EMISSIVITY,          /* 1 */
    HL_COMMON_CONDUCTIVITY,        /* W/(m K), mean of the body */
    HL_COMMON_TRANSIENT_IMPEDANCE, /* K/W over s of pulse, hot spot to outer surface */
    HL_COMMON_INSULATION_CLASS,    /* choice: thermal class of the windings */
    HL_COMMON_RESISTANCE_INSIDE,   /* K/W, windings to core, element to can */
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
/* Bands of the same values, in the same order. A curve's or list's band is one of a factor around 1. */
HL_EXPORT const hl_band *hl_part_bands(const hl_part *part);
HL_EXPORT const hl_band *hl_part_common_bands(const hl_part *part); /* [HL_COMMONS] */
HL_EXPORT hl_place hl_part_place(const hl_part *part);
/* Place of parameter i's value in its file; line 0 when it was not stated. */
HL_EXPORT hl_place hl_part_value_place(const hl_part *part, size_t index);

/* Source of the estimate rule that filled a value (parameters first, then commons: n_parameters +
 * HL_COMMON_...) and, where place is not NULL, where the rule stands; NULL: stated, a model's default, or not
 * known. */
HL_EXPORT const char *hl_part_value_rule(const hl_part *part, size_t index, hl_place *place);

typedef struct hl_catalogue hl_catalogue;
/* The host must outlive the catalogue. */
HL_EXPORT hl_catalogue *hl_catalogue_create(const hl_host *host);
HL_EXPORT void hl_catalogue_destroy(hl_catalogue *catalogue);
/* Read a file of estimate rules (docs/estimates.md) before the part files it shall serve: parts read
 * afterwards are completed by it.  Nothing of a file is kept when any of it is wrong. */
HL_EXPORT hl_status hl_catalogue_read_rules(hl_catalogue *catalogue, const char *path,
                                            hl_diagnostics *diagnostics);
HL_EXPORT hl_status hl_catalogue_read_rules_text(hl_catalogue *catalogue, const char *name, const char *text,
                                                 size_t length, hl_diagnostics *diagnostics);
/* Every *.yaml of a folder, in name order. */
HL_EXPORT hl_status hl_catalogue_read_rules_folder(hl_catalogue *catalogue, const char *folder,
                                                   hl_diagnostics *diagnostics);
/* Facts that may be stated beside the values of a model, as rows like its own; NULL past the last. */
HL_EXPORT const hl_parameter *hl_catalogue_fact(const hl_catalogue *catalogue, const hl_model *model,
                                                size_t index);
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
/* The same with the value's band: "{ typical: 4.7 uH, tolerance: 20 % }" or "4.7 uH +- 20 %" states one.
 * Text of a group is copied into `group` (size bytes) and band->group points there; both may be NULL, 0. */
HL_EXPORT hl_status hl_value_read_band(const hl_parameter *parameter, const char *text, const hl_place *place,
                                       hl_value *value, hl_band *band, char *group, size_t size,
                                       hl_diagnostics *diagnostics);
/* A number already in SI: checked for kind and plausible range in the same way. */
HL_EXPORT hl_status hl_value_from_number(const hl_parameter *parameter, double number, const hl_place *place,
                                         hl_value *value, hl_diagnostics *diagnostics);

#ifdef __cplusplus
}
#endif
#endif
