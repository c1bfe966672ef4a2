/* check_slope.c - dP/dT against differences.
 *
 * A difference of fourth order from steps of 10 and 20 mK (Richardson's extrapolation of the central
 * difference, L. F. Richardson, Phil. Trans. Royal Society A 210, 1911) has an error far below 1e-6 where the
 * law is smooth, which a second one from half the steps tells.  Where the two do not agree there is a kink
 * within reach (the end of a table, a clamp): then steps of a hundredth are tried, and last the slope from
 * the left and from the right, of which the model's must be one.  What is left undecided is counted, and may
 * not be more than a twentieth of the points. */
#include <math.h>

#include "heatledger/catalogue.h"
#include "prove/checks.h"
#include "prove/part.h"

typedef struct place {
    trial *t;
    const part *p;
    const hl_stress *stress;
    double temperature;
} place;

static double watts_at(const place *at, double off)
{
    hl_loss loss;
    part_loss(at->t, at->p, at->stress, at->temperature + off, &loss);
    return part_watts(&loss);
}

static double central(const place *at, double step)
{
    return (watts_at(at, step) - watts_at(at, -step)) / (2.0 * step);
}

/* Fourth order; `apart` is how far the estimate from half the steps lies. */
static double fourth_order(const place *at, double step, double *apart)
{
    double wide = central(at, 2.0 * step), middle = central(at, step), narrow = central(at, 0.5 * step);
    double first = (4.0 * middle - wide) / 3.0, second = (4.0 * narrow - middle) / 3.0;
    *apart = fabs(first - second);
    return second;
}

/* Three-point slope to one side, error of second order. */
static double one_sided(const place *at, double step)
{
    return (4.0 * watts_at(at, step) - watts_at(at, 2.0 * step) - 3.0 * watts_at(at, 0.0)) / (2.0 * step);
}

/* Rounding of the watts over the step of the difference. */
static double rounding(double watts, double step)
{
    return 1e-14 * fabs(watts) / step;
}

typedef enum agreement { AGREES, DISAGREES, UNDECIDED } agreement;

static agreement compare(const place *at, double slope, double watts, double *wanted)
{
    static const double steps[] = {0.01, 1e-4};
    for (int i = 0; i < 2; i++) {
        double apart, by_difference = fourth_order(at, steps[i], &apart);
        double noise = rounding(watts, steps[i]), most = 1e-7 * fabs(by_difference) + 4.0 * noise;
        if (!(apart <= most)) continue;
        *wanted = by_difference;
        return fabs(slope - by_difference) <= 1e-6 * fabs(by_difference) + 8.0 * noise ? AGREES : DISAGREES;
    }
    double step = 1e-3, right = one_sided(at, step), left = one_sided(at, -step);
    double room = 1e-4 * fmax(fabs(left), fabs(right)) + 32.0 * rounding(watts, step);
    if (fabs(slope - left) <= room || fabs(slope - right) <= room) return AGREES;
    *wanted = left;
    return UNDECIDED;
}

/* Points of one part; counts them and those undecided. */
static bool slopes_agree(trial *t, const part *p, size_t *points, size_t *undecided)
{
    enum { LOADS = 10 };
    load l;
    for (int k = 0; k < LOADS; k++) {
        hl_loss loss;
        double wanted = 0.0;
        trial_beat(t);
        load_draw(&l, &t->luck, t->model->device->family, k % 2 ? LOAD_CYCLES : 1,
                  (load_kind)(k % LOAD_KINDS));
        place at = {t, p, &l.stress, chance_between(&t->luck, 240.0, 470.0)};
        part_loss(t, p, &l.stress, at.temperature, &loss);
        double watts = part_watts(&loss);
        agreement how = compare(&at, loss.slope, watts, &wanted);
        *points += 1;
        *undecided += how == UNDECIDED;
        if (how != DISAGREES) continue;
        part_loss(t, p, &l.stress, at.temperature, &loss); /* so that the words give this temperature */
        return trial_fail(t,
                          "dP/dT is %.12g W/K, a central difference gives %.12g W/K, at a loss of %.6g W; a "
                          "term is missing or has the wrong sign",
                          loss.slope, wanted, watts);
    }
    return true;
}

bool check_slope(trial *t)
{
    const int parts = trial_count(t, 60);
    size_t points = 0, undecided = 0;
    part p;
    if (!part_create(t, &p)) return false;
    bool good = true;
    for (int i = 0; good && i < parts; i++)
        good = part_draw(t, &p, i % 2 ? DRAW_SOME : (draw_mode)(i / 2 % 2)) &&
               slopes_agree(t, &p, &points, &undecided);
    if (good && 20 * undecided > points)
        good =
            trial_fail(t,
                       "at %zu of %zu points the loss jumps or bends, so dP/dT cannot be compared and fits "
                       "neither side; at most 1 in 20 may",
                       undecided, points);
    if (good)
        trial_pass(t, "%zu points within 1e-6, %zu left undecided at kinks", points - undecided, undecided);
    part_destroy(&p);
    return good;
}
