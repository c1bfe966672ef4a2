/* sound.c - a point's settings are of a size that models can compute with, and every figure of its result is
 * a number: else it is refused, or infeasible, with the setting that is to blame. */
#include "solve/feedback.h"

#include <float.h>
#include <math.h>
#include <stdio.h>

#include "heatledger/quantity.h"

/* How far beyond its plausible range a value may lie: farther than any misread prefix but one, and squares
 * and cubes of it stay far from what a double holds.  Without a range, in SI.  Common practice, no source. */
static const double beyond_range = 1e6, without_range = 1e30;

static double most_of(const hl_parameter *parameter)
{
    if (!(parameter->low < parameter->high)) return without_range;
    return beyond_range * fmax(fabs(parameter->low), fabs(parameter->high));
}

static void print_value(const hl_parameter *parameter, double value, char *text, size_t size)
{
    if (parameter->kind == HL_NUMBER && isfinite(value))
        hl_quantity_print(value, parameter->dimension, 4, text, size);
    else
        snprintf(text, size, "%g", value);
}

bool sound_create(hl_workspace *work)
{
    const hl_design *design = work->design;
    work->most = arena_array(work->memory, design->n_settings + 1, sizeof *work->most);
    if (!work->most) return false;
    for (size_t i = 0; i < design->n_settings; i++) work->most[i] = most_of(design->settings[i].parameter);
    return true;
}

/* "NAME = VALUE, usually LOW … HIGH". */
static void name_setting(const setting *of, double value, char *text, size_t size)
{
    char now[80], low[80], high[80];
    print_value(of->parameter, value, now, sizeof now);
    if (!(of->parameter->low < of->parameter->high)) {
        snprintf(text, size, "%s = %s", of->name, now);
        return;
    }
    print_value(of->parameter, of->parameter->low, low, sizeof low);
    print_value(of->parameter, of->parameter->high, high, sizeof high);
    snprintf(text, size, "%s = %s, usually %s … %s", of->name, now, low, high);
}

bool sound_setting(hl_workspace *work, const double settings[], size_t index)
{
    if (!(fabs(settings[index]) > work->most[index])) return true; /* NaN: not stated */
    char named[300];
    name_setting(&work->design->settings[index], settings[index], named, sizeof named);
    snprintf(work->reason, sizeof work->reason,
             "setting %s: that is beyond what a model can compute with; check figure and unit", named);
    return false;
}

/* ---------------------------------------------------------------------- results -- */

/* How far a value lies outside its plausible range, in powers of e; nought at nought or inside. */
static double astray(const hl_parameter *parameter, double value)
{
    if (!(parameter->low < parameter->high) || !(value < parameter->low || value > parameter->high)) return 0;
    double nearest = value < parameter->low ? parameter->low : parameter->high;
    if (nearest == 0 || value == 0) return DBL_MAX;
    return nearest * value < 0 ? DBL_MAX : fabs(log(value / nearest));
}

bool sound_blame(const hl_workspace *work, char *text, size_t size)
{
    const hl_design *design = work->design;
    size_t worst = SIZE_MAX;
    double most = 0;
    for (size_t i = 0; i < design->n_settings; i++) {
        double far = astray(design->settings[i].parameter, work->settings[i]);
        if (!(far > most)) continue;
        most = far;
        worst = i;
    }
    char named[300];
    if (worst == SIZE_MAX) {
        snprintf(text, size,
                 "some value of a part or setting is too far from usual; check figures and units");
        return false;
    }
    name_setting(&design->settings[worst], work->settings[worst], named, sizeof named);
    snprintf(text, size, "look at %s", named);
    return true;
}

static bool figures_are_numbers(const hl_workspace *work)
{
    const hl_power_figures *f = &work->figures;
    return isfinite(f->input) && isfinite(f->output) && isfinite(f->loss) && isfinite(f->efficiency) &&
           isfinite(f->power_factor) && isfinite(f->input_current) && isfinite(f->power_imbalance) &&
           isfinite(f->heat_imbalance) && isfinite(work->feedback->gain); /* nought: it can be had later */
}

/* What stays open of a book whose rounds have settled is below 1e-9 of it as a rule. */
static bool closes(double open, double whole)
{
    return fabs(open) <= 1e-6 * whole + 1e-9;
}

/* Nor is a loss as a whole a gain. */
static bool books_close(const hl_power_figures *f)
{
    double whole = fabs(f->input) + fabs(f->loss);
    return closes(f->power_imbalance, whole) && closes(f->heat_imbalance, whole) && f->loss >= -1e-6 * whole;
}

/* The first quantity of a stage that comes to none; NULL: all do. */
static const hl_quantity *no_number(const hl_workspace *work, size_t stage)
{
    const hl_quantity *quantity = work->stages[stage].out.quantity;
    size_t n = hl_result_quantities(work, stage);
    double noughts = 0; /* as long as all are numbers */
    for (size_t q = 0; q < n; q++) noughts += 0 * quantity[q].value;
    for (size_t q = 0; noughts != 0 && q < n; q++)
        if (!isfinite(quantity[q].value)) return &quantity[q];
    return NULL;
}

/* The books sum up all losses, temperatures and powers, so one of those that is none leaves none there. */
bool sound_result(hl_workspace *work)
{
    char blame[360];
    const hl_power_figures *f = &work->figures;
    if (!figures_are_numbers(work) || !books_close(f)) {
        sound_blame(work, blame, sizeof blame);
        snprintf(work->reason, sizeof work->reason,
                 "the books do not close: of %.4g W drawn and %.4g W lost %.3g W go nowhere, and %.3g W of "
                 "heat; %s",
                 f->input, f->loss, f->power_imbalance, f->heat_imbalance, blame);
        return false;
    }
    for (size_t s = 0; s < work->design->n_stages; s++) {
        const hl_quantity *of = no_number(work, s);
        if (!of) continue;
        sound_blame(work, blame, sizeof blame);
        snprintf(work->reason, sizeof work->reason, "%s: its %s comes to no number; %s",
                 work->design->stages[s].name, of->name, blame);
        return false;
    }
    return true;
}
