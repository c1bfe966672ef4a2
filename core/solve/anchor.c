/* anchor.c - solved points of a design, about which its other points begin.
 *
 * The design as it stands is solved at steps of source voltage and of power, each when a point near it is
 * first asked for.  An anchor follows from the design alone, so a point's bits do not depend on what came
 * before. */
#include "solve/workspace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Voltages 1.35 ^ k of that described, powers k / 4 of that described. */
enum { VOLTAGES_EACH_WAY = 4, POWERS = 6, ANCHORS = (2 * VOLTAGES_EACH_WAY + 1) * POWERS };
static const double voltage_step = 1.35, power_steps = 4;
/* Bytes beyond which responses of all anchors are not kept: then there is but the design as it stands. */
static const double room_most = 64e6;

struct anchors {
    hl_start *start[ANCHORS];
    bool known[ANCHORS];
    bool learnt;                       /* how rounds answer at the design as it stands */
    double *settings, *usual_settings; /* of an anchor; of the design as it stands */
    double voltage, power;
    size_t usual; /* the design as it stands */
};

static size_t index_of(int voltage, int power)
{
    return (size_t)((voltage + VOLTAGES_EACH_WAY) * POWERS + power - 1);
}

static int within(double x, int low, int high)
{
    return x >= low ? x <= high ? (int)lround(x) : high : low;
}

static size_t nearest(const hl_workspace *work, const double settings[])
{
    const struct anchors *a = work->anchors;
    double voltage = settings[SETTING_VOLTAGE] / a->voltage;
    double power = start_power(work->described, settings) / a->power;
    int v = voltage > 0 ? within(log(voltage) / log(voltage_step), -VOLTAGES_EACH_WAY, VOLTAGES_EACH_WAY) : 0;
    int p = isfinite(power) ? within(power * power_steps, 1, POWERS) : (int)power_steps;
    return index_of(v, p);
}

bool anchors_create(hl_workspace *work)
{
    const hl_design *design = work->described;
    size_t n = hl_design_settings(design);
    struct anchors *a = work->anchors = arena_take(work->memory, sizeof *a);
    if (!a) return false;
    a->settings = arena_array(work->memory, n + 1, sizeof *a->settings);
    a->usual_settings = arena_array(work->memory, n + 1, sizeof *a->usual_settings);
    if (!a->settings || !a->usual_settings) return false;
    hl_design_defaults(design, a->settings);
    hl_design_defaults(design, a->usual_settings);
    a->voltage = a->settings[SETTING_VOLTAGE];
    a->power = start_power(design, a->settings);
    a->usual = index_of(0, (int)power_steps);
    size_t room = response_rows(design) * response_columns(design);
    bool all = (double)room * sizeof(double) * ANCHORS <= room_most && work->network;
    double *gain =
        work->network ? arena_array(work->memory, room * (all ? ANCHORS : 1) + 1, sizeof *gain) : NULL;
    if (work->network && !gain) return false;
    size_t *knob = arena_array(work->memory, design->n_ports + 2, sizeof *knob), knobs = 0;
    if (!knob) return false;
    knob[knobs++] = SETTING_VOLTAGE;
    knob[knobs++] = SETTING_AMBIENT;
    for (size_t p = 0; p < design->n_ports; p++) knob[knobs++] = design->ports[p].current_setting;
    for (size_t i = 0; i < ANCHORS; i++) {
        if (!all && i != a->usual) continue;
        a->start[i] = hl_start_create(design);
        if (!a->start[i]) return false;
        if (gain && !start_make_room(a->start[i], gain + (all ? i : 0) * room, knob, knobs)) return false;
    }
    return true;
}

void anchors_destroy(hl_workspace *work)
{
    for (size_t i = 0; work->anchors && i < ANCHORS; i++) hl_start_destroy(work->anchors->start[i]);
}

static void place(hl_workspace *work, size_t index)
{
    struct anchors *a = work->anchors;
    int v = (int)(index / POWERS) - VOLTAGES_EACH_WAY, p = (int)(index % POWERS) + 1;
    hl_design_defaults(work->described, a->settings);
    if (index == a->usual) return;
    a->settings[SETTING_VOLTAGE] *= pow(voltage_step, v);
    a->settings[SETTING_LOAD] *= p / power_steps;
}

static bool solve_anchor(hl_workspace *work, size_t index, const hl_start *from)
{
    struct anchors *a = work->anchors;
    a->known[index] = true;
    place(work, index);
    return solve_begun(work, a->settings, from, start_response(from)) == HL_OK &&
           hl_start_take(a->start[index], work);
}

/* Its response is learnt when a point other than itself is asked for. */
static void learn_usual(hl_workspace *work)
{
    struct anchors *a = work->anchors;
    hl_start *usual = a->start[a->usual];
    a->learnt = true;
    if (!work->network) return;
    if (start_is_taken(usual) && solve_anchor(work, a->usual, NULL)) start_learn(usual, work, NULL, NULL);
}

static bool is_usual(const hl_workspace *work, const double settings[])
{
    return !memcmp(settings, work->anchors->usual_settings,
                   hl_design_settings(work->described) * sizeof *settings);
}

const hl_start *anchor_near(hl_workspace *work, const double settings[], const response **answers)
{
    struct anchors *a = work->anchors;
    const hl_start *usual = a->start[a->usual], *found = usual;
    *answers = NULL;
    if (!a->known[a->usual]) solve_anchor(work, a->usual, NULL);
    if (is_usual(work, settings)) return usual; /* asks for nothing, whether it has learnt or not */
    if (!a->learnt) learn_usual(work);
    size_t index = nearest(work, settings);
    if (a->start[index] && !a->known[index] && solve_anchor(work, index, usual))
        start_learn(a->start[index], work, usual, NULL);
    if (a->start[index] && start_is_taken(a->start[index])) found = a->start[index];
    *answers = start_response(found);
    return found;
}
