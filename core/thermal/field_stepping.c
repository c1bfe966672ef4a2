/* field_stepping.c - one step of a state that follows its heat with a rate, the heat being a straight line in
 * time (Hochbruck & Ostermann 2010, Acta Numerica 19, section 2). */
#include "thermal/field_warming.h"

#include <math.h>
#include <stddef.h>

/* phi functions of -q (Hochbruck & Ostermann 2010, eq. 2.10), by their series where differences cancel. */
stepping warming_mode_step(double rate, double h)
{
    double q = rate * h, phi[4] = {exp(-q), 0, 0, 0};
    if (q < 0.5) {
        double term = 1.0 / 6;
        for (int j = 4; j < 18; j++) {
            phi[3] += term;
            term *= -q / j;
        }
        phi[2] = 0.5 - q * phi[3];
        phi[1] = 1 - q * phi[2];
    } else {
        phi[1] = (1 - phi[0]) / q;
        phi[2] = (1 - phi[1]) / q;
        phi[3] = (0.5 - phi[2]) / q;
    }
    return (stepping){phi[0],     h * (phi[1] - phi[2]),     h * phi[2],
                      h * phi[1], h * h * (phi[2] - phi[3]), h * h * phi[3]};
}

/* The same for lag' = (heat - lag) / time. */
stepping warming_lag_step(double time, double h)
{
    if (!(time > 0)) return (stepping){0, 0, 1, 0, 0.5 * h, 0.5 * h};
    stepping s = warming_mode_step(1 / time, h);
    double *part[] = {&s.early, &s.late, &s.sum_early, &s.sum_late};
    for (size_t i = 0; i < sizeof part / sizeof part[0]; i++) *part[i] /= time;
    return s;
}
