/* gap.h - inductance of turns on a gapped core.
 *
 *   L = mu0 N^2 A / (gap / F + path / mu_r)
 * with F the widening of the gap by its fringing field: F = 1 + gap / sqrt(A) ln(2 G / gap), G the window
 * width (C. W. T. McLyman, Transformer and Inductor Design Handbook, 4th ed. 2011, ch. 8); where that is not
 * known F = (1 + gap / D)^2, D the diameter of a round leg of area A (L. H. Dixon, Magnetics Design Handbook,
 * 2001, section 5). Both for one gap of up to a fifth of the leg: 4 % against a field solution. */
#ifndef GAP_H
#define GAP_H

#include <math.h>
#include <stdbool.h>

#include "copper.h"
#include "core_loss.h"

static inline double gap_widening(double gap, double area, double window)
{
    const double pi = 3.14159265358979324;
    if (!(gap > 0.0)) return 1.0;
    if (2.0 * window > gap) return 1.0 + gap / sqrt(area) * log(2.0 * window / gap);
    double widened = 1.0 + gap / sqrt(4.0 * area / pi);
    return widened * widened;
}

/* H; infinite or NaN when neither gap nor path is known. */
static inline double gapped_inductance(double turns, double area, double path, double gap, double mu,
                                       double window)
{
    double length = gap / gap_widening(gap, area, window) + path / mu;
    return vacuum_permeability * turns * turns * area / length;
}

/* m: the gap that leaves this inductance, by the laws above; 0 where the core alone has no more, NaN where
 * area or inductance is not known. Of the root below half of the leg's width, beyond which no law holds. */
static inline double gap_behind(double turns, double area, double path, double inductance, double mu,
                                double window)
{
    if (!(area > 0.0 && inductance > 0.0 && turns > 0.0)) return NAN;
    double low = 0.0, high = 0.5 * sqrt(area);
    if (!(gapped_inductance(turns, area, path, 0.0, mu, window) > inductance)) return 0.0;
    for (int step = 0; step < 60; step++) {
        double middle = 0.5 * (low + high);
        if (gapped_inductance(turns, area, path, middle, mu, window) > inductance)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* A core of `turns`, as its rows tell; `path` from volume and area when not stated, 0 where not known. */
typedef struct gapped_core {
    double turns, area, path, mu, window;
} gapped_core;

static inline gapped_core gapped_core_of(const hl_value *core, const hl_value *mu, const hl_value *window,
                                         double turns)
{
    gapped_core c = {turns, core_number(&core[CORE_AREA], 0.0), core_number(&core[CORE_PATH], 0.0),
                     core_number(mu, 2000.0), core_number(window, 0.0)};
    if (!(c.path > 0.0) && c.area > 0.0) c.path = core_number(&core[CORE_VOLUME], 0.0) / c.area;
    return c;
}

/* m, as stated, or as the inductance tells; 0: none, or not known. */
static inline double gap_known(const gapped_core *c, const hl_value *gap, const hl_value *inductance)
{
    if (gap->given || !inductance->given) return core_number(gap, 0.0);
    double behind = gap_behind(c->turns, c->area, c->path, inductance->number, c->mu, c->window);
    return behind > 0.0 ? behind : 0.0;
}

/* A gap that holds most of the core's magnetic voltage; a smaller one may be a joint or the permeability's
 * band. */
static inline bool gap_matters(const gapped_core *c, double gap)
{
    return gap > 2.0 * c->path / c->mu;
}

#endif
