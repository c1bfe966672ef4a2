/* part.h - a device part under trial: drawn values, its state on guarded ground, every call watched. */
#ifndef HEATLEDGER_PART_H
#define HEATLEDGER_PART_H

#include "prove/draw.h"
#include "prove/guard.h"
#include "prove/load.h"
#include "prove/trial.h"

typedef struct part {
    drawn_values drawn;
    hl_value *asked; /* copy of the values, to see whether they are written to */
    guarded state;
    unsigned char *kept; /* copy of the prepared state */
    hl_reason reason;    /* of the last refusal */
} part;

/* false after trial_fail (no memory). */
bool part_create(trial *t, part *p);
void part_destroy(part *p);

typedef enum prepared { PREPARED, REFUSED, BROKEN /* trial_fail was called */ } prepared;
/* Call state_size and prepare with the values as they are now. */
prepared part_prepare(trial *t, part *p);
/* Draw until prepare accepts; false after trial_fail when it never does. */
bool part_draw(trial *t, part *p, draw_mode mode);

/* Hot calls: outputs zeroed first as the host does, allocations and overruns noted in the trial. */
void part_loss(trial *t, const part *p, const hl_stress *stress, double temperature, hl_loss *out);
double part_watts(const hl_loss *loss);
void part_present(trial *t, const part *p, double temperature, double voltage, hl_terminal *out);
/* Room for HL_LIMITS_MAX limits; returns what the model says, which may be more. */
size_t part_limits(trial *t, const part *p, const hl_stress *stress, double temperature, hl_limit limits[]);
void part_impedance(trial *t, const part *p, double temperature, double voltage, double frequency,
                    double *real, double *imaginary);
enum { PART_FREQUENCIES = 16 };
/* At n of them at once, at most PART_FREQUENCIES; the device has it. */
void part_impedances(trial *t, const part *p, double temperature, double voltage, const double frequency[],
                     size_t n, double real[], double imaginary[]);

#endif
