/* check_shown.c - what a part shows to the circuit and to the list of limits. */
#include <ctype.h>
#include <math.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "plugin/table.h"
#include "prove/checks.h"
#include "prove/part.h"

typedef bool (*look)(trial *t, const part *p);

/* At many parts of all kinds. */
static bool look_at_parts(trial *t, look fine, const char *tried)
{
    const int parts = trial_count(t, 100);
    part p;
    if (!part_create(t, &p)) return false;
    bool good = true;
    for (int i = 0; good && i < parts; i++) {
        trial_beat(t);
        good = part_draw(t, &p, (draw_mode)(i % 3)) && fine(t, &p);
    }
    if (good) trial_pass(t, "%d parts: %s", parts, tried);
    part_destroy(&p);
    return good;
}

static bool terminal_fine(trial *t, const part *p)
{
    hl_terminal a;
    double temperature = chance_between(&t->luck, 233.15, 473.15);
    double voltage = chance_of(&t->luck, 0.2) ? 0.0 : chance_scale(&t->luck, 0.1, 1000.0);
    part_present(t, p, temperature, voltage, &a);
    const struct {
        const char *name;
        double value;
    } figures[] = {{"resistance", a.resistance},
                   {"voltage", a.voltage},
                   {"reverse_voltage", a.reverse_voltage},
                   {"reverse_resistance", a.reverse_resistance},
                   {"inductance", a.inductance},
                   {"leakage", a.leakage},
                   {"capacitance", a.capacitance},
                   {"output_charge", a.output_charge},
                   {"output_energy", a.output_energy},
                   {"turns_ratio", a.turns_ratio},
                   {"rated_voltage", a.rated_voltage},
                   {"rated_current", a.rated_current},
                   {"series_inductance", a.series_inductance},
                   {"turn_on_table", a.turn_on_table},
                   {"turn_on_first", a.turn_on_first}};
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        if (!(isfinite(figures[i].value) && figures[i].value >= 0.0))
            return trial_fail(t, "present() shows a %s of %.9g; finite and not negative is wanted",
                              figures[i].name, figures[i].value);
    if (!(a.windings >= 0.0 && a.windings <= HL_WINDINGS_MAX && a.windings == floor(a.windings)))
        return trial_fail(t, "present() shows %g windings; a whole number from 0 to %d is wanted", a.windings,
                          (int)HL_WINDINGS_MAX);
    for (int w = 0; w < HL_WINDINGS_MAX; w++)
        if (!(isfinite(a.winding_resistance[w]) && a.winding_resistance[w] >= 0.0))
            return trial_fail(t, "present() shows %g ohm for winding %d; finite and not negative is wanted",
                              a.winding_resistance[w], w);
    if (t->model->device->family == HL_FAMILY_CAPACITOR && !(a.capacitance > 0.0))
        return trial_fail(t, "present() shows a capacitance of %g F; a capacitor has some", a.capacitance);
    return true;
}

bool check_terminal(trial *t)
{
    return look_at_parts(t, terminal_fine, "all figures of present() finite and not negative");
}

static const double hertz[] = {0.0, 50.0, 100.0, 1e3, 1e5, 1e6, 1e8};
enum { HERTZ = sizeof hertz / sizeof *hertz };

/* What impedances() gives at some of them together, beside what impedance() gives at each. */
static bool impedances_fine(trial *t, const part *p, double temperature, double voltage, const double real[],
                            const double imaginary[])
{
    double together[HERTZ], across[HERTZ];
    size_t first = chance_below(&t->luck, HERTZ), n = 1 + chance_below(&t->luck, HERTZ - first);
    part_impedances(t, p, temperature, voltage, hertz + first, n, together, across);
    for (size_t i = 0; i < n; i++) {
        double r = real[first + i], x = imaginary[first + i], near = 1e-12 * hypot(r, x);
        if (!(fabs(together[i] - r) <= near && fabs(across[i] - x) <= near))
            return trial_fail(t,
                              "impedances() gives %.15g + j %.15g ohm at %g Hz, number %zu of %zu; "
                              "impedance() gives %.15g + j %.15g there",
                              together[i], across[i], hertz[first + i], i + 1, n, r, x);
    }
    return true;
}

static bool impedance_fine(trial *t, const part *p)
{
    double temperature = chance_between(&t->luck, 233.15, 473.15);
    double voltage = chance_of(&t->luck, 0.3) ? 0.0 : chance_scale(&t->luck, 0.1, 1000.0);
    double real[HERTZ], imaginary[HERTZ];
    for (size_t i = 0; i < HERTZ; i++) {
        part_impedance(t, p, temperature, voltage, hertz[i], &real[i], &imaginary[i]);
        if (!isfinite(real[i]) || !isfinite(imaginary[i]))
            return trial_fail(t, "impedance() gives %g + j %g ohm; finite figures are wanted", real[i],
                              imaginary[i]);
        if (real[i] < 0.0)
            return trial_fail(t,
                              "impedance() has a real part of %.9g ohm; a capacitor gives no power, so it "
                              "must not be negative",
                              real[i]);
    }
    return !device_has_impedances(t->model->device) ||
           impedances_fine(t, p, temperature, voltage, real, imaginary);
}

bool check_impedance(trial *t)
{
    if (t->model->device->family != HL_FAMILY_CAPACITOR)
        return trial_pass(t, "not a capacitor: nothing to look at");
    return look_at_parts(t, impedance_fine, "real part not negative from 0 Hz to 100 MHz");
}

static bool name_fine(const char *name)
{
    size_t n = name ? strlen(name) : 0;
    if (n == 0 || n > 60) return false;
    for (size_t i = 0; i < n; i++)
        if (!isprint((unsigned char)name[i])) return false;
    return true;
}

static bool limit_fine(trial *t, const hl_limit list[], size_t i)
{
    hl_dimension dimension;
    const hl_limit *limit = &list[i];
    if (!name_fine(limit->name))
        return trial_fail(t, "limit %zu has no printable name of at most 60 characters", i + 1);
    for (size_t k = 0; k < i; k++)
        if (!strcmp(list[k].name, limit->name))
            return trial_fail(t, "limit '%s' is listed twice", limit->name);
    if (!limit->unit || !hl_dimension_of(limit->unit, &dimension))
        return trial_fail(t, "limit '%s': '%.40s' is not a unit; \"1\" stands for none", limit->name,
                          limit->unit ? limit->unit : "");
    if (!isfinite(limit->value))
        return trial_fail(t, "limit '%s': its value is %g; a finite figure is wanted", limit->name,
                          limit->value);
    if (!(isfinite(limit->rated) && limit->rated > 0.0))
        return trial_fail(t, "limit '%s': rated %g; leave a limit without a rating out", limit->name,
                          limit->rated);
    return true;
}

static bool limits_fine(trial *t, const part *p)
{
    enum { LOADS = 6 };
    load l;
    for (int k = 0; k < LOADS; k++) {
        hl_limit list[HL_LIMITS_MAX];
        size_t cycles = k % 3 == 0 ? LOAD_CYCLES : k % 3 == 1 ? 1 : 0;
        load_draw(&l, &t->luck, t->model->device->family, cycles, (load_kind)(k % LOAD_KINDS));
        size_t n = part_limits(t, p, &l.stress, chance_between(&t->luck, 233.15, 473.15), list);
        if (n > HL_LIMITS_MAX)
            return trial_fail(t, "limits() returns %zu; there is room for %d", n, (int)HL_LIMITS_MAX);
        for (size_t i = 0; i < n; i++)
            if (!limit_fine(t, list, i)) return false;
    }
    return true;
}

bool check_limits(trial *t)
{
    return look_at_parts(t, limits_fine, "limits named, with units, values finite, ratings positive");
}
