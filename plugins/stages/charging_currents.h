/* charging_currents.h - what is told of a charging pulse, however it was solved. */
#ifndef CHARGING_CURRENTS_H
#define CHARGING_CURRENTS_H

#include <complex.h>
#include <math.h>

enum { HARMONICS = 20 };

typedef struct currents {
    double mean, rms, peak;      /* A of the pulses over the half line */
    double harmonic[HARMONICS];  /* A rms, odd orders */
    double active, displacement; /* A rms in phase with the mains; displacement factor */
    double mean_voltage, top;    /* V */
    double input_power, loss, capacitor_rms;
    double conduction; /* s of it in all */
} currents;

/* A product without C's checks for infinities. */
static inline double complex turned(double complex a, double complex b)
{
    return (creal(a) * creal(b) - cimag(a) * cimag(b)) + I * (creal(a) * cimag(b) + cimag(a) * creal(b));
}

/* Order 2 k + 1 from the integral of i e^(j n w t) over half a line. */
static inline void put_harmonic(currents *c, int k, double half, double complex integral)
{
    double re = creal(integral) * (2.0 / half), im = cimag(integral) * (2.0 / half),
           size = sqrt(re * re + im * im);
    c->harmonic[k] = size / sqrt(2.0);
    if (k > 0) return;
    c->active = im / sqrt(2.0);
    c->displacement = size > 0.0 ? im / size : 1.0;
}

#endif
