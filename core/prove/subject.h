/* subject.h - a device part with a load, or a stage at a point: one thing to ask, one answer to compare. */
#ifndef HEATLEDGER_SUBJECT_H
#define HEATLEDGER_SUBJECT_H

#include "prove/part.h"
#include "prove/point.h"

typedef struct subject {
    bool is_device;
    part part;
    load load, kept; /* `kept` is a copy of the load, to see whether it is written to */
    double temperature, voltage, frequency;
    point point;
} subject;

/* Every bit of an answer in a figure, and one of its numbers for the words. */
typedef struct answer {
    uint64_t bits;
    const char *name; /* "loss" or "input power" */
    double watts;
} answer;

/* false after trial_fail.  Large: on the heap, please. */
bool subject_create(trial *t, subject *s);
void subject_destroy(subject *s);
bool subject_draw(trial *t, subject *s);
/* All hot functions once; a stage cold. */
answer subject_ask(trial *t, subject *s);
bool answers_equal(const answer *a, const answer *b);

#endif
