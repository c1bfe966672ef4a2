/* kit.h - the conformance kit: every check over every model of one plugin, each in a child process.
 *
 * docs/prove.md explains each verdict to the author of a plugin. */
#ifndef HEATLEDGER_KIT_H
#define HEATLEDGER_KIT_H

#include "prove/trial.h"

enum { KIT_MODELS = 256, KIT_CHECKS = 24 };

/* What is known of a model without the plugin being loaded here. */
typedef struct kit_model {
    char name[64];
    char kind[32]; /* "stage", or a device's family */
    bool device;
    size_t n;
    struct {
        const char *name; /* of the check */
        finding *found;
    } checks[KIT_CHECKS];
} kit_model;

typedef struct kit_report {
    char path[1024];
    finding table; /* loading it and its tables */
    size_t n;
    kit_model *models;
    size_t checks, passed; /* of all models, the table's among them */
} kit_report;

/* The same draws give the same report. */
typedef struct kit_draws {
    uint64_t seed;
    double times; /* as many as usual */
} kit_draws;

/* Prove all models of the plugin at `path`, or only the one named. NULL: no memory.  The plugin is never
 * loaded into the calling process. */
kit_report *kit_prove(const char *path, const char *model, kit_draws draws);
void kit_report_destroy(kit_report *report);
const char *verdict_name(verdict v);

#endif
