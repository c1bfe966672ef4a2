/* trial.h - one check of one model while it runs: what is tried, what was found.
 *
 * A trial runs in a child process.  Its finding lies in memory shared with the parent, so that a plugin that
 * takes the child down is still reported with what it was given. */
#ifndef HEATLEDGER_TRIAL_H
#define HEATLEDGER_TRIAL_H

#include "heatledger/plugin.h"
#include "prove/chance.h"

typedef enum verdict {
    VERDICT_NONE, /* the check never ended */
    VERDICT_PASS,
    VERDICT_FAIL,
    VERDICT_CRASH, /* killed by a signal, or the process was ended */
    VERDICT_HANG,
    VERDICT_SKIP, /* not run: the model hung before */
} verdict;

enum { DETAIL_SIZE = 1024, INPUTS_SIZE = 8192 };

typedef struct finding {
    verdict verdict;
    int signal; /* with VERDICT_CRASH; 0: the process was ended, code in `code` */
    int code;
    unsigned long beats;      /* grows while the check gets on */
    char doing[32];           /* the plugin's function that was running when it ended */
    char detail[DETAIL_SIZE]; /* what was found and what is wanted; of a pass, what was tried */
    char inputs[INPUTS_SIZE]; /* in words with units; empty when there are none */
} finding;

/* What the plugin is being given, for the words of a finding; pointers may be NULL. */
enum { AT_TEMPERATURE = 1u << 0, AT_VOLTAGE = 1u << 1, AT_FREQUENCY = 1u << 2 };
typedef struct given {
    const char *function;
    const hl_value *values;
    const hl_stress *stress;
    const hl_stage_input *in;
    unsigned figures; /* which of these are given: a sum of AT_... */
    double temperature, voltage, frequency;
} given;

typedef struct trial {
    const hl_model *model;
    chance luck;
    double times;   /* as many draws as usual */
    finding *found; /* shared */
    given now;
    size_t host;       /* which the structures handed over are of (older_host.h); 0: today's */
    size_t allocated;  /* by hot functions of the plugin so far */
    char overrun[256]; /* first write to memory that is not the plugin's; "" = none */
} trial;

/* How many draws, where there are `usual` at times = 1; one at least. */
int trial_count(const trial *t, int usual);
/* The trial is alive and starts on something new: its time limit counts from here. */
void trial_beat(trial *t);
/* The first failure is kept, with the words for what is given now.  Always false. */
bool trial_fail(trial *t, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* What a check that passed has tried; ignored after a failure.  Always true. */
bool trial_pass(trial *t, const char *format, ...) __attribute__((format(printf, 2, 3)));
/* A write outside; the first is kept. */
void trial_overrun(trial *t, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Checks: false after trial_fail. */
typedef bool (*check_run)(trial *t);

typedef struct check {
    const char *name;
    bool device, stage; /* which kinds it is for */
    check_run run;
} check;

/* NULL-named end. */
extern const check prove_checks[];

#endif
