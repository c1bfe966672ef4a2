/* survey.h - what a model shows when it is tried: the mechanisms it books, the limits and quantities it
 * names.
 *
 * The plugin's tables do not list these; the reference pages do, so they are found by asking the model itself
 * with random parts and points.  Runs in this process: for plugins that are trusted. */
#ifndef HEATLEDGER_SURVEY_H
#define HEATLEDGER_SURVEY_H

#include "heatledger/plugin.h"

enum { SURVEY_NAMES = 128, SURVEY_TEXT = 64 };

typedef struct survey_name {
    char name[SURVEY_TEXT], unit[SURVEY_TEXT];
} survey_name;

/* Sorted by name, each name once. */
typedef struct survey_list {
    size_t n;
    survey_name entry[SURVEY_NAMES];
} survey_list;

typedef struct survey {
    bool booked[HL_MECHANISMS];
    survey_list limits;     /* of a device */
    survey_list quantities; /* of a stage */
} survey;

/* false: no memory, or the model refuses all its own plausible values.  The same seed, the same findings. */
bool survey_model(const hl_model *model, uint64_t seed, survey *found);

#endif
