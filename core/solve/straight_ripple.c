/* straight_ripple.c - the cycles of a stage that rides the mains half-wave are alike: each a few straight
 * pieces.  Four of them go through the same operations side by side.
 *
 * By parts, twice, with the step A and the bend B (per radian) at each corner's angle a:
 *   pi c_k = sum over corners (-j A / k - B / k^2) e^(-j k a)         docs/theory/waveforms.md eq. 12
 * A bend is a small difference over an angle, so pieces that slope must last a while; others go one by one.
 */
#include "solve/straight_ripple.h"

#include "wave/lanes_turn.h"
#include "wave/segment.h"

enum { CORNERS = 4 };
static const double pi = 3.14159265358979323846, two_pi = 6.28318530717958647693;
static const double briefest = 0.002; /* of the period; a bend then keeps 13 digits */

/* Of four waves; corners that a wave has not weigh nothing. */
typedef struct cornered {
    double angle[CORNERS][LANES], step[CORNERS][LANES], bend[CORNERS][LANES];
    double whole[LANES]; /* mean square about the mean */
} cornered;

/* One wave into lane w. */
static bool gather(const hl_wave *wave, cornered *all, int w)
{
    double period = hl_wave_period(wave), time = 0, mean = 0, square = 0;
    double end = 0, slope = 0; /* of the piece before, per radian */
    size_t n = 0;
    if (wave->n > CORNERS || !(period > 0)) return false;
    for (size_t i = 0; i < wave->n; i++) {
        const hl_segment *s = &wave->segment[i];
        double start, rate;
        if (!segment_lasts(s)) continue;
        double share = s->duration / period;
        if (!segment_straight(s, &start, &rate) || (rate != 0 && share < briefest)) return false;
        double rise = rate * s->duration, bent = rate * period / two_pi;
        all->angle[n][w] = two_pi * (time / period);
        all->step[n][w] = start - end;
        all->bend[n++][w] = bent - slope;
        mean += share * (start + 0.5 * rise);
        square += share * straight_mean_square(start, rise);
        time += s->duration;
        end = start + rise;
        slope = bent;
    }
    if (n == 0) return false;
    all->step[0][w] -= end; /* the first follows the last */
    all->bend[0][w] -= slope;
    for (; n < CORNERS; n++) all->angle[n][w] = all->step[n][w] = all->bend[n][w] = 0;
    all->whole[w] = square - mean * mean;
    return true;
}

FOUR_LANES static void add_corner(const double angle[LANES], const double step[LANES],
                                  const double bend[LANES], double re[][LANES], double im[][LANES])
{
    lanes turn = lanes_load(angle), a = lanes_load(step), b = lanes_load(bend), c1, s1;
    lanes_cos_sin(&turn, &c1, &s1);
    lanes c = c1, s = s1;
    for (int k = 0; k < RIPPLE_HARMONICS; k++) {
        double inverse = 1.0 / (k + 1);
        lanes stepped = a * inverse, bent = b * (inverse * inverse), before = c;
        lanes_store(re[k], lanes_load(re[k]) - (bent * c + stepped * s));
        lanes_store(im[k], lanes_load(im[k]) + (bent * s - stepped * c));
        c = c * c1 - s * s1;
        s = s * c1 + before * s1;
    }
}

bool straight_ripple(const hl_wave wave[LANES], double square[LANES][RIPPLE_HARMONICS])
{
    cornered all;
    double re[RIPPLE_HARMONICS][LANES] = {{0}}, im[RIPPLE_HARMONICS][LANES] = {{0}};
    for (int w = 0; w < LANES; w++)
        if (!gather(&wave[w], &all, w)) return false;
    for (int i = 0; i < CORNERS; i++) add_corner(all.angle[i], all.step[i], all.bend[i], re, im);
    for (int w = 0; w < LANES; w++) {
        double rest = all.whole[w];
        for (int k = 0; k < RIPPLE_HARMONICS; k++) {
            square[w][k] = (re[k][w] * re[k][w] + im[k][w] * im[k][w]) * (0.5 / (pi * pi));
            rest -= square[w][k];
        }
        if (rest > 0) square[w][RIPPLE_HARMONICS - 1] += rest;
    }
    return true;
}
