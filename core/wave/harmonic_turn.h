/* harmonic_turn.h - e^(j k angle) of the corners of a wave, four harmonics at a time. */
#ifndef HEATLEDGER_HARMONIC_TURN_H
#define HEATLEDGER_HARMONIC_TURN_H

#include "wave/lanes_turn.h"

/* Of one corner at four harmonics, and by how much those of the next four go on. */
typedef struct harmonic_turn {
    lanes re, im;
    double step_re, step_im;
} harmonic_turn;

/* Of four corners at the first four harmonics, every one of them or, step 2, every odd one: from a corner in
 * each lane to a harmonic in each. */
WITHIN_LANES void corner_turns(const lanes *angle, size_t step, harmonic_turn turn[LANES])
{
    lanes re[LANES], im[LANES];
    lanes_cos_sin(angle, &re[0], &im[0]);
    lanes by_re = re[0], by_im = im[0];
    if (step == 2) {
        by_re = re[0] * re[0] - im[0] * im[0];
        by_im = 2.0 * re[0] * im[0];
    }
    for (int k = 1; k < LANES; k++) {
        re[k] = re[k - 1] * by_re - im[k - 1] * by_im;
        im[k] = re[k - 1] * by_im + im[k - 1] * by_re;
    }
    for (int i = 0; i < 2; i++) { /* its fourth power goes on to the next four */
        lanes was = by_re;
        by_re = was * was - by_im * by_im;
        by_im = 2.0 * was * by_im;
    }
    for (int i = 0; i < LANES; i++) {
        turn[i].step_re = by_re[i];
        turn[i].step_im = by_im[i];
    }
    lanes_turned(re);
    lanes_turned(im);
    for (int i = 0; i < LANES; i++) {
        turn[i].re = re[i];
        turn[i].im = im[i];
    }
}

/* On to the next four. */
WITHIN_LANES void turn_on(harmonic_turn *turn)
{
    lanes re = turn->re;
    turn->re = turn->step_re * re - turn->step_im * turn->im;
    turn->im = turn->step_re * turn->im + turn->step_im * re;
}

#endif
