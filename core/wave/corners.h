/* corners.h - what the pieces of several waves do to harmonics, gathered at the corners between them.
 *
 * As in fourier.c every piece of a wave adds to pi c_k what stands at its two ends,
 *   (N(start) e - N(end) f) / D,  N = bent + j k y                  docs/theory/waveforms.md eq. 12, 13
 * of its ringing with bent = y' + 2 d y and D = (nu - k)(nu + k) + d^2 + 2 j d k, and of its straight part
 * with bent = slope and D = -k^2, which is a ringing of nu = d = 0. So the sum over pieces is one over
 * corners for each kind of ringing:
 *   pi c_k = sum over kinds 1/D sum over corners (bent + j k y) e^(-j k angle).
 * Windings of one transformer switch together: kinds, corners and the ends of equal stretches are worked out
 * once for all. Corners half a period apart share their turns too, since e^(-j k pi) is -1 for odd k and +1
 * for even; and a mirrored wave has odd harmonics alone. */
#ifndef HEATLEDGER_CORNERS_H
#define HEATLEDGER_CORNERS_H

#include <stdint.h>

#include "heatledger/plugin.h"

/* More than this, and the waves go one by one to wave_fourier_alone. */
enum { ANGLES = 64, KINDS = 8, STRETCHES = 64, PIECES = 72 };

/* A ringing, in radians of the period; number 0 is the straight part. */
typedef struct kind {
    double decay, omega; /* 1/s, as the segments say it */
    double d, nu;
    double met; /* the harmonic it meets, left to moments; 0: none */
} kind;

/* A ringing that lasts for a time: e^((-decay + j omega) duration). Arrays for the lanes. */
typedef struct stretches {
    double duration[STRETCHES], decay[STRETCHES], omega[STRETCHES];
    double growth[STRETCHES], turn[STRETCHES]; /* exponents, then */
    double envelope[STRETCHES], cosine[STRETCHES], sine[STRETCHES];
    unsigned char kind[STRETCHES];
    int n;
} stretches;

/* Angles below pi; number 0 is 0. */
typedef struct angles {
    double angle[ANGLES], highest;
    int n;
} angles;

/* For odd and for even harmonics. */
typedef double odd_even __attribute__((vector_size(2 * sizeof(double))));

/* What a corner adds to one kind, times 1/pi. */
typedef struct weight {
    odd_even bent, y;
} weight;

/* Of one wave. */
typedef struct corners {
    uint64_t used[KINDS];     /* angles that have a weight */
    bool steps;               /* some y of the straight part is not nil */
    bool odd_only;            /* mirrored: the other half adds as much again */
    unsigned char of[PIECES]; /* stretch of each piece; STRETCHES: straight */
    weight at[KINDS][ANGLES];
} corners;

typedef struct spectra {
    double radian;   /* 1/s, 2 pi / period */
    double second;   /* its inverse */
    double meeting;  /* |lambda - j k| from which on the quotient serves */
    double steepest; /* slope of a straight part, a radian, over the values of its piece: at most */
    bool moments;    /* a kind that meets a harmonic is no hindrance: corners_met adds that one */
    kind kind[KINDS];
    int kinds;
    angles angles;
    stretches stretches;
    corners *corners; /* of each wave */
} spectra;

/* Corners of those waves whose source is themselves, for n harmonics; radian, meeting, steepest,
 * moments and the place for corners are set. false: some wave is not for these laws. */
bool corners_gather(spectra *all, const hl_wave *const wave[], const int source[], size_t waves, size_t n);

/* Add to the amplitudes of one wave what the harmonics its kinds meet have from them, by moments. */
void corners_met(const spectra *all, const hl_wave *wave, double cosine[], double sine[]);

#endif
