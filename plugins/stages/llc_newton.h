/* llc_newton.h - the periodic half wave at a frequency, or at a load.
 *
 * Unknowns: the state at turn-on and the half period.  Equations: i_r, i_m and the capacitor voltage come
 * back with opposite sign; the output voltage is the one wanted (stiff) or comes back itself (capacitor);
 * the mean rectified current is the load.  At a fixed frequency the half-period map cannot spread two
 * solutions apart (passive tank, monotone rectifier), so a damped Newton with an averaged map step as the
 * last resort always has somewhere to go.  docs/theory/llc.md eq. 6 to 8 */
#ifndef LLC_NEWTON_H
#define LLC_NEWTON_H

#include "llc_half.h"

/* Scaled residual of the half wave, and what Newton makes of it. */
typedef struct llc_step {
    double size;               /* largest scaled residual of the half wave */
    double excess;             /* mean current less the target, A */
    double fixed[LLC_STATES];  /* correction of the state at fixed half period */
    double moving[LLC_STATES]; /* d state / d half of the periodic solution */
    double current_slope;      /* d mean current / d half of the periodic solution, A/s */
    double charge_fixed;       /* change of the charge by `fixed` */
} llc_step;

static inline double llc_scale(const llc_circuits *all, int i)
{
    return i < 2 ? all->current_scale : all->voltage_scale;
}

/* What a miss is measured by: the state itself, but at a capacitor output the charge of the tank's current.
 */
static inline double llc_row_scale(const llc_circuits *all, const llc_half *half, int i)
{
    double capacitance = all->tank.output_capacitance;
    if (i != LLC_VO || !(capacitance > 0)) return llc_scale(all, i);
    return fmin(all->voltage_scale, all->tank.ratio * all->current_scale * half->half / capacitance);
}

static void llc_residual(const llc_circuits *all, const llc_half *half, double r[LLC_STATES])
{
    for (int i = 0; i < 3; i++) r[i] = half->end[i] + half->start[i];
    r[LLC_VO] = all->tank.output_capacitance > 0 ? half->end[LLC_VO] - half->start[LLC_VO] : 0.0;
}

static double llc_residual_size(const llc_circuits *all, const llc_half *half)
{
    double r[LLC_STATES], size = 0;
    llc_residual(all, half, r);
    for (int i = 0; i < 4; i++) size = fmax(size, fabs(r[i]) / llc_row_scale(all, half, i));
    return isfinite(size) ? size : INFINITY;
}

/* Gauss elimination with row exchange; right sides in columns 4 and 5. */
enum { LLC_COLUMNS = 6 };

static bool llc_eliminate(double a[4][LLC_COLUMNS])
{
    for (int k = 0; k < 4; k++) {
        int best = k;
        for (int i = k + 1; i < 4; i++)
            if (fabs(a[i][k]) > fabs(a[best][k])) best = i;
        if (!(fabs(a[best][k]) > 1e-13)) return false;
        for (int j = k; j < LLC_COLUMNS; j++) {
            double keep = a[k][j];
            a[k][j] = a[best][j], a[best][j] = keep;
        }
        for (int i = k + 1; i < 4; i++) {
            double factor = a[i][k] / a[k][k];
            for (int j = k; j < LLC_COLUMNS; j++) a[i][j] -= factor * a[k][j];
        }
    }
    for (int c = 4; c < LLC_COLUMNS; c++)
        for (int i = 3; i >= 0; i--) {
            for (int j = i + 1; j < 4; j++) a[i][c] -= a[i][j] * a[j][c];
            a[i][c] /= a[i][i];
        }
    return true;
}

/* Newton's step at a half wave walked with slopes. */
static bool llc_newton_step(const llc_circuits *all, const llc_half *half, double target, llc_step *step)
{
    bool stiff = !(all->tank.output_capacitance > 0);
    double r[LLC_STATES], a[4][LLC_COLUMNS];
    llc_residual(all, half, r);
    for (int i = 0; i < 4; i++) {
        double si = llc_row_scale(all, half, i), own = i < 3 ? 1.0 : -1.0;
        for (int j = 0; j < 4; j++)
            a[i][j] = (half->slope[j][i] + (i == j ? own : 0.0)) * llc_scale(all, j) / si;
        a[i][4] = -r[i] / si;
        a[i][5] = -half->slope[LLC_HALF][i] / si;
    }
    for (int j = 0; j < LLC_COLUMNS && stiff; j++) a[3][j] = j == 3 ? 1.0 : 0.0;
    if (!llc_eliminate(a)) return false;
    step->size = llc_residual_size(all, half);
    step->excess = half->charge / half->half - target;
    double charge = half->charge_slope[LLC_HALF];
    step->charge_fixed = 0;
    for (int i = 0; i < 4; i++) {
        step->fixed[i] = a[i][4] * llc_scale(all, i);
        step->moving[i] = a[i][5] * llc_scale(all, i);
        step->charge_fixed += half->charge_slope[i] * step->fixed[i];
        charge += half->charge_slope[i] * step->moving[i];
    }
    step->current_slope = (charge - half->charge / half->half) / half->half;
    return isfinite(step->current_slope) && isfinite(step->charge_fixed);
}

/* Converged when Newton has nothing left to give at working precision. */
static const double llc_close = 2e-14, llc_good_enough = 1e-11;

/* Bring the half wave at its given half period to periodicity.  Walked with slopes on return. */
static bool llc_periodic(const llc_circuits *all, llc_half *half, llc_step *step)
{
    if (!llc_walk_half(all, half, NULL, LLC_SLOPES)) return false;
    double size = llc_residual_size(all, half);
    for (int k = 0; k < 60; k++) {
        bool solved = llc_newton_step(all, half, 0.0, step);
        if (solved && size < llc_close) return true;
        llc_half trial;
        double before = size, damping = 1.0;
        for (int cut = 0; cut < 6 && solved; cut++, damping *= 0.4) {
            trial.half = half->half;
            for (int i = 0; i < 4; i++) trial.start[i] = half->start[i] + damping * step->fixed[i];
            if (!llc_walk_half(all, &trial, half, LLC_SLOPES)) continue;
            size = llc_residual_size(all, &trial);
            if (size < before * (1.0 - 0.1 * damping)) break;
        }
        if (!solved || !(size < before)) {
            if (solved && before < llc_good_enough) return true; /* rounding is all that is left */
            trial.half = half->half;                             /* half way to where the map leads */
            trial.start[LLC_VO] = half->start[LLC_VO];
            for (int i = 0; i < 3; i++) trial.start[i] = 0.5 * (half->start[i] - half->end[i]);
            if (!llc_walk_half(all, &trial, half, LLC_SLOPES)) return false;
            size = llc_residual_size(all, &trial);
        }
        llc_copy_half(&trial, half);
    }
    return false;
}

/* Residual of the half wave and of the load together. */
static double llc_merit(const llc_circuits *all, const llc_half *half, double target)
{
    double load = fabs(half->charge / half->half - target) / (all->tank.ratio * all->current_scale);
    double merit = fmax(llc_residual_size(all, half), load);
    return isfinite(merit) ? merit : INFINITY;
}

/* How far the half period should move for the load, at most `most`; towards the inductive side where the
 * current falls with the half period, and towards conduction where none flows. */
static double llc_move(const llc_half *half, const llc_step *step, double most)
{
    if (!(step->current_slope > 0)) return half->charge > 0 ? -0.5 * most : 0.5 * most;
    double move = -(step->excess + step->charge_fixed / half->half) / step->current_slope;
    return fmax(-most, fmin(most, move));
}

enum { LLC_CUTS = 5 };

/* Below this merit the next step leaves less than llc_close: each is about as the square of the one before.
 */
static const double llc_one_more = 1e-7;

/* Walks what may be the last: without slopes, which only a further step would need. */
static bool llc_walk_trial(const llc_circuits *all, double target, bool last, const llc_half *like,
                           llc_half *trial, double *merit)
{
    if (!llc_walk_half(all, trial, like, last ? LLC_PLAIN : LLC_SLOPES)) return false;
    *merit = llc_merit(all, trial, target);
    return !last || *merit < llc_close || llc_walk_half(all, trial, like, LLC_SLOPES);
}

/* Newton on state and half period at once, from a guess in *half, whose stretches of before, half->n of them,
 * tell where to look first; its own walk may trust them, those that follow do not.  While the load is further
 * than one step the residual may grow a little (it follows the solution from afar); then it must fall.
 * *step: of the last step but one, or where no step was needed. */
static bool llc_at_load(const llc_circuits *all, llc_half *half, double target, llc_pace first, int steps,
                        llc_step *step)
{
    if (!llc_walk_half(all, half, half, first)) return false;
    double merit = llc_merit(all, half, target);
    for (int k = 0; k < steps; k++) {
        if (k > 0 && merit < llc_close) return true;
        if (!llc_newton_step(all, half, target, step)) return false;
        if (merit < llc_close && (first != LLC_TRUSTING || llc_stands(all, half))) return true;
        double most = 0.2 * half->half, move = llc_move(half, step, most);
        bool far = fabs(move) >= 0.5 * most, last = merit < llc_one_more;
        llc_half trial;
        double damping = 1.0, next = INFINITY;
        for (int cut = 0; cut < LLC_CUTS; cut++, damping *= 0.4) {
            trial.half = half->half + damping * move;
            for (int i = 0; i < 4; i++)
                trial.start[i] = half->start[i] + damping * (step->fixed[i] + step->moving[i] * move);
            if (!llc_walk_trial(all, target, last, half, &trial, &next)) continue;
            if (next < merit * (1.0 - 0.1 * damping) || next < llc_close) break;
            if (far && llc_residual_size(all, &trial) < fmax(0.3, 2.0 * step->size)) break;
            if (merit < llc_good_enough) /* rounding is all that is left */
                return k > 0 || first != LLC_TRUSTING || llc_stands(all, half);
        }
        if (!(next < INFINITY)) return false;
        llc_copy_half(&trial, half);
        merit = next;
    }
    return false;
}

#endif
