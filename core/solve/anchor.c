/* anchor.c - solved points of a design, between which its other points begin.
 *
 * The design as it stands is solved at steps of source voltage and of power, each when a point near it is
 * first asked for, with the derivative of a round and slopes along voltage, ambient and the ports' currents.
 * A point begins where the four around it lead: along the edges of their cell by cubics that share values and
 * slopes with both ends (Hermite), inside by what straight lines between opposite edges give together, less
 * what they count twice. It leaves fourth differences. source: S. A. Coons, MIT Project MAC report TR-41,
 * 1967, bilinear blending; from memory. Along ambient and the split of power among ports it is first order.
 * An anchor follows from the design alone, so a point's bits do not depend on what came before. */
#include "solve/workspace.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Voltages 1.15 ^ k of that described, and these shares of its power. */
enum { VOLTAGES_EACH_WAY = 8, POWERS = 10, USUAL_POWER = 7, ANCHORS = (2 * VOLTAGES_EACH_WAY + 1) * POWERS };
static const double voltage_step = 1.15;
static const double power_at[POWERS] = {0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1, 1.25, 1.5};
/* Bytes beyond which responses of all anchors are not kept: then there is but the design as it stands. */
static const double room_most = 80e6;

struct anchors {
    hl_start *start[ANCHORS];
    hl_start *between;
    bool known[ANCHORS];
    bool all;                          /* there are others than the design as it stands */
    bool learnt;                       /* how rounds answer at the design as it stands */
    double *settings, *usual_settings; /* of an anchor; of the design as it stands */
    double voltage, power;
    size_t usual; /* the design as it stands */
};

static size_t index_of(int voltage, int power)
{
    return (size_t)((voltage + VOLTAGES_EACH_WAY) * POWERS + power);
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
    a->usual = index_of(0, USUAL_POWER);
    size_t room = response_size(design);
    a->all = (double)room * sizeof(double) * ANCHORS <= room_most && work->network;
    double *gain = NULL;
    if (work->network) gain = arena_array(work->memory, room * (a->all ? ANCHORS : 1) + 1, sizeof *gain);
    if (work->network && !gain) return false;
    size_t *knob = arena_array(work->memory, design->n_ports + 2, sizeof *knob), knobs = 0;
    if (!knob) return false;
    knob[knobs++] = SETTING_VOLTAGE;
    knob[knobs++] = SETTING_AMBIENT;
    for (size_t p = 0; p < design->n_ports; p++) knob[knobs++] = design->ports[p].current_setting;
    for (size_t i = 0; i < ANCHORS; i++) {
        if (!a->all && i != a->usual) continue;
        a->start[i] = hl_start_create(design);
        if (!a->start[i]) return false;
        if (gain && !start_make_room(a->start[i], gain + (a->all ? i : 0) * room, knob, knobs)) return false;
    }
    if (!a->all || knobs > KNOBS_BETWEEN_MAX) return true;
    a->between = hl_start_create(design);
    return a->between != NULL;
}

void anchors_destroy(hl_workspace *work)
{
    if (!work->anchors) return;
    for (size_t i = 0; i < ANCHORS; i++) hl_start_destroy(work->anchors->start[i]);
    hl_start_destroy(work->anchors->between);
}

/* ----------------------------------------------------------------- solve -- */

static void put_at(hl_workspace *work, size_t index)
{
    struct anchors *a = work->anchors;
    int v = (int)(index / POWERS) - VOLTAGES_EACH_WAY, p = (int)(index % POWERS);
    hl_design_defaults(work->described, a->settings);
    if (index == a->usual) return;
    a->settings[SETTING_VOLTAGE] *= pow(voltage_step, v);
    a->settings[SETTING_LOAD] *= power_at[p];
}

static bool solve_anchor(hl_workspace *work, size_t index, const hl_start *from)
{
    struct anchors *a = work->anchors;
    a->known[index] = true;
    put_at(work, index);
    if (solve_begun(work, a->settings, from, start_response(from)) != HL_OK ||
        !hl_start_take(a->start[index], work))
        return false;
    start_take_mode(a->start[index], work);
    return true;
}

/* Its response is learnt when a point other than itself is asked for. */
static void learn_usual(hl_workspace *work)
{
    struct anchors *a = work->anchors;
    hl_start *usual = a->start[a->usual];
    a->learnt = true;
    if (!work->network) return;
    if (!start_is_taken(usual) || !solve_anchor(work, a->usual, NULL)) return;
    told_choose(work);
    start_learn(usual, work, NULL);
}

static bool is_usual(const hl_workspace *work, const double settings[])
{
    return !memcmp(settings, work->anchors->usual_settings,
                   hl_design_settings(work->described) * sizeof *settings);
}

/* One anchor, solved and learnt if it can be; NULL: it has no solution. */
static const hl_start *fetch(hl_workspace *work, size_t index)
{
    struct anchors *a = work->anchors;
    const hl_start *usual = a->start[a->usual];
    if (a->start[index] && !a->known[index] && solve_anchor(work, index, usual))
        start_learn(a->start[index], work, NULL);
    return a->start[index] && start_is_taken(a->start[index]) ? a->start[index] : NULL;
}

/* --------------------------------------------------------------- between -- */

/* Weights of the end e (0, 1) of a unit interval at t: of its value on a straight line, and of value and
 * slope on Hermite's cubic. */
typedef struct end_weight {
    double straight, value, slope;
} end_weight;

static end_weight weigh_end(int e, double t)
{
    double far = 1 - t;
    if (e == 0) return (end_weight){far, (1 + 2 * t) * far * far, t * far * far};
    return (end_weight){t, t * t * (3 - 2 * t), -t * t * far};
}

/* Where a point lies among the anchors: the cell, how far into it, and what is left beyond them. */
typedef struct place {
    int voltage, power;              /* the lower corner */
    double into_voltage, into_power; /* 0 to 1 */
    double share;                    /* of the usual power, there */
    double beyond;                   /* V */
    bool inside;                     /* the point is in the cell */
} place;

static place place_of(const hl_workspace *work, const double settings[])
{
    const struct anchors *a = work->anchors;
    double voltage = settings[SETTING_VOLTAGE] / a->voltage;
    double steps = voltage > 0 ? log(voltage) / log(voltage_step) : 0;
    double power = a->power > 0 ? start_power(work->described, settings) / a->power : 1;
    if (!isfinite(power)) power = 1;
    steps = fmin(fmax(steps, -VOLTAGES_EACH_WAY), VOLTAGES_EACH_WAY);
    place at = {.voltage = (int)fmin(floor(steps), VOLTAGES_EACH_WAY - 1)};
    at.into_voltage = steps - at.voltage;
    at.share = fmin(fmax(power, power_at[0]), power_at[POWERS - 1]);
    while (at.power < POWERS - 2 && at.share >= power_at[at.power + 1]) at.power++;
    at.into_power = (at.share - power_at[at.power]) / (power_at[at.power + 1] - power_at[at.power]);
    at.beyond = settings[SETTING_VOLTAGE] - a->voltage * pow(voltage_step, steps);
    at.inside = at.share == power && fabs(at.beyond) <= 1e-9 * a->voltage;
    return at;
}

/* The same with voltage, and power as well, put on the nearest step: the rest is first order. */
static place snapped(const hl_workspace *work, place at, const double settings[], bool both)
{
    at.into_voltage = at.into_voltage >= 0.5;
    at.beyond =
        settings[SETTING_VOLTAGE] - work->anchors->voltage * pow(voltage_step, at.voltage + at.into_voltage);
    if (!both) return at;
    at.into_power = at.into_power >= 0.5;
    at.share = power_at[at.power + (at.into_power > 0)];
    return at;
}

/* What one corner of the cell gives. */
static void weigh_corner(const hl_workspace *work, const double settings[], const place *at, end_weight v,
                         end_weight p, start_share *share)
{
    const hl_design *design = work->described;
    const double *usual = work->anchors->usual_settings;
    double width = power_at[at->power + 1] - power_at[at->power];
    share->linear = v.straight * p.straight;
    share->weight = v.value * p.straight + v.straight * p.value - share->linear;
    share->off[0] =
        v.slope * p.straight * log(voltage_step) * start_knob(share->start, 0) + share->linear * at->beyond;
    share->off[1] = share->linear * (settings[SETTING_AMBIENT] - start_knob(share->start, 1));
    for (size_t i = 0; i < design->n_ports; i++) {
        size_t current = design->ports[i].current_setting;
        double whole = usual[current] * usual[SETTING_LOAD]; /* A at the usual power */
        double aside = settings[current] * settings[SETTING_LOAD] - at->share * whole;
        share->off[2 + i] = v.straight * p.slope * width * whole + share->linear * aside;
    }
}

/* The corners around a place that count; 0: one of them has not learnt. */
static size_t surround(hl_workspace *work, const double settings[], const place *at, start_share share[])
{
    size_t n = 0;
    for (int k = 0; k < STARTS_BETWEEN_MAX; k++) {
        int dv = k & 1, dp = k >> 1;
        end_weight v = weigh_end(dv, at->into_voltage), p = weigh_end(dp, at->into_power);
        if (v.straight * p.straight == 0) continue; /* on an edge only its ends count */
        share[n].start = fetch(work, index_of(at->voltage + dv, at->power + dp));
        if (!share[n].start || !start_response(share[n].start)) return 0;
        weigh_corner(work, settings, at, v, p, &share[n++]);
    }
    return n;
}

/* The start at these settings by the anchors about it; NULL: none of use. */
static const hl_start *between(hl_workspace *work, const double settings[])
{
    struct anchors *a = work->anchors;
    start_share share[STARTS_BETWEEN_MAX];
    place at = place_of(work, settings);
    size_t n = surround(work, settings, &at, share);
    bool inside = n && at.inside;
    for (int both = 0; !n && both < 2; both++) {
        at = snapped(work, at, settings, both);
        n = surround(work, settings, &at, share);
    }
    return n && start_between(a->between, share, n, inside, settings) ? a->between : NULL;
}

const hl_start *anchor_near(hl_workspace *work, const double settings[], const response_mean **answers)
{
    struct anchors *a = work->anchors;
    const hl_start *usual = a->start[a->usual];
    *answers = NULL;
    work->foretold = NULL; /* anchors are solved for their own sake */
    if (!a->known[a->usual]) solve_anchor(work, a->usual, NULL);
    if (is_usual(work, settings)) return usual; /* asks for nothing, whether it has learnt or not */
    if (!a->learnt) learn_usual(work);
    const hl_start *found = a->between ? between(work, settings) : NULL;
    if (!found) found = usual;
    *answers = start_response(found);
    return found;
}
