/* check_scaling.c - laws that hold whatever the part: ohmic losses go as the square of the current, gate
 * drive goes as the frequency, and more current or flux never means less loss by the same mechanism. */
#include <math.h>

#include "heatledger/catalogue.h"
#include "prove/checks.h"
#include "prove/part.h"

static const double exact = 1e-9, nearly = 1e-6; /* rounding of sums over harmonics; what heats itself */

/* Ohmic mechanisms of a family (Joule's law at a fixed temperature), -1 at the end.  A diode's drop is not
 * ohmic, and output charge, switching and core losses are no simple power. */
static const int *squares(hl_family family)
{
    static const int ohmic[] = {HL_CONDUCTION, -1}, esr[] = {HL_ESR, -1}, none[] = {-1};
    static const int windings[] = {HL_WINDING_DC, HL_WINDING_AC, HL_FRINGING, -1};
    switch (family) {
    case HL_FAMILY_SWITCH:
    case HL_FAMILY_RESISTOR:
        return ohmic;
    case HL_FAMILY_CAPACITOR:
        return esr;
    case HL_FAMILY_MAGNETIC:
        return windings;
    default:
        return none;
    }
}

static bool is_among(int mechanism, const int *list)
{
    for (; *list >= 0; list++)
        if (*list == mechanism) return true;
    return false;
}

static bool grows(trial *t, const hl_loss *before, const hl_loss *after, const int *list, double factor,
                  const char *what)
{
    for (; *list >= 0; list++) {
        double old = before->watts[*list], now = after->watts[*list];
        if (now >= old * (1.0 - exact)) continue;
        return trial_fail(t, "%s loss falls from %.9g to %.9g W as %s grow%s %g times; it must not",
                          hl_mechanism_name((hl_mechanism)*list), old, now, what, what[0] == 'a' ? "" : "s",
                          factor);
    }
    return true;
}

static bool squares_hold(trial *t, const hl_loss *before, const hl_loss *after, double factor)
{
    const int *ohmic = squares(t->model->device->family);
    double within = t->model->device->family == HL_FAMILY_RESISTOR ? nearly : exact;
    for (int m = 0; m < HL_MECHANISMS; m++) {
        double wanted = before->watts[m] * factor * factor;
        if (!is_among(m, ohmic)) continue;
        if (fabs(after->watts[m] - wanted) <= within * fabs(wanted)) continue;
        return trial_fail(t,
                          "%s loss goes from %.9g to %.9g W as all currents grow %g times; %.9g W is wanted "
                          "(the square of the current)",
                          hl_mechanism_name((hl_mechanism)m), before->watts[m], after->watts[m], factor,
                          wanted);
    }
    return true;
}

typedef bool (*law)(trial *t, const part *p, const load *l, const hl_loss *before, double temperature);

/* Parts without tables: a table may bend a law, a lone number may not. */
static bool try_law(trial *t, law holds, load_kind kind, const char *tried)
{
    enum { LOADS = 8 };
    const int parts = trial_count(t, 60);
    load l;
    size_t points = 0;
    part p;
    if (!part_create(t, &p)) return false;
    p.drawn.flat = true;
    bool good = true;
    for (int i = 0; good && i < parts; i++) {
        good = part_draw(t, &p, i % 3 ? DRAW_SOME : DRAW_REQUIRED);
        for (int k = 0; good && k < LOADS; k++) {
            hl_loss before;
            double temperature = chance_between(&t->luck, 240.0, 440.0);
            trial_beat(t);
            load_draw(&l, &t->luck, t->model->device->family, k % 2 ? LOAD_CYCLES : 1,
                      k < LOADS / 2 ? kind : LOAD_SPARSE);
            part_loss(t, &p, &l.stress, temperature, &before);
            good = holds(t, &p, &l, &before, temperature);
            points++;
        }
    }
    if (good) trial_pass(t, "%zu points: %s", points, tried);
    part_destroy(&p);
    return good;
}

/* Some resistors heat themselves inside the model (fuse, thermistor), so that their resistance follows the
 * current; a billionth of it cannot heat anything. */
static const double faint = 1e-9;

static bool current_law(trial *t, const part *p, const load *l, const hl_loss *before, double temperature)
{
    static const int rising[] = {HL_CONDUCTION, HL_REVERSE_CONDUCTION, HL_ESR,
                                 HL_WINDING_DC, HL_WINDING_AC,         -1};
    load more;
    hl_loss first = *before, after;
    double factor = chance_of(&t->luck, 0.5) ? 2.0 : 1.25;
    load_copy(&more, l);
    load_scale_currents(&more, factor);
    part_loss(t, p, &more.stress, temperature, &after);
    if (!grows(t, before, &after, rising, factor, "all currents")) return false;
    if (t->model->device->family == HL_FAMILY_RESISTOR) {
        load_copy(&more, l);
        load_scale_currents(&more, faint);
        part_loss(t, p, &more.stress, temperature, &first);
        load_scale_currents(&more, factor);
        part_loss(t, p, &more.stress, temperature, &after);
    }
    /* a resistor may stand across a voltage that the currents do not change */
    bool across = t->model->device->family == HL_FAMILY_RESISTOR && l->stress.voltage_dc != 0.0;
    return across || squares_hold(t, &first, &after, factor);
}

bool check_current_scaling(trial *t)
{
    static const char *const tried[HL_FAMILIES] = {
        [HL_FAMILY_SWITCH] = "conduction goes as the square of the current",
        [HL_FAMILY_DIODE] = "conduction does not fall with current",
        [HL_FAMILY_CAPACITOR] = "ESR loss goes as the square of the current",
        [HL_FAMILY_MAGNETIC] = "winding loss goes as the square of the current",
        [HL_FAMILY_RESISTOR] = "conduction goes as the square of the current",
    };
    return try_law(t, current_law, LOAD_CURRENTS, tried[t->model->device->family]);
}

static bool frequency_law(trial *t, const part *p, const load *l, const hl_loss *before, double temperature)
{
    static const int rising[] = {HL_TURN_ON, HL_TURN_OFF, HL_OUTPUT_CHARGE, HL_REVERSE_RECOVERY, -1};
    load more;
    hl_loss after;
    double factor = chance_of(&t->luck, 0.5) ? 2.0 : 1.25, wanted = before->watts[HL_GATE_DRIVE] * factor;
    load_copy(&more, l);
    load_scale_frequency(&more, factor);
    part_loss(t, p, &more.stress, temperature, &after);
    if (!(fabs(after.watts[HL_GATE_DRIVE] - wanted) <= exact * fabs(wanted)))
        return trial_fail(
            t,
            "gate drive loss goes from %.9g to %.9g W as the frequency grows %g times; %.9g W is "
            "wanted (proportional to frequency)",
            before->watts[HL_GATE_DRIVE], after.watts[HL_GATE_DRIVE], factor, wanted);
    if (!grows(t, before, &after, rising, factor, "the frequency")) return false;
    static const int core[] = {HL_CORE, -1};
    load_copy(&more, l);
    load_scale_flux(&more, factor);
    part_loss(t, p, &more.stress, temperature, &after);
    return grows(t, before, &after, core, factor, "the flux");
}

bool check_frequency_scaling(trial *t)
{
    static const char *const tried[HL_FAMILIES] = {
        [HL_FAMILY_SWITCH] = "gate drive goes as the frequency, switching losses do not fall with it",
        [HL_FAMILY_DIODE] = "recovery does not fall with frequency",
        [HL_FAMILY_CAPACITOR] = "nothing falls with frequency",
        [HL_FAMILY_MAGNETIC] = "core loss does not fall with flux",
        [HL_FAMILY_RESISTOR] = "nothing falls with frequency",
    };
    return try_law(t, frequency_law, LOAD_FULL, tried[t->model->device->family]);
}
