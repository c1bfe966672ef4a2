/* anchor.c - solved points of a design, between which its other points begin.
 *
 * The design as it stands is solved at steps of source voltage and of power, each when a point near it is
 * first asked for, with the derivative of a round and slopes along voltage, ambient and the ports' currents.
 * A point begins where the four around it lead: along the edges of their cell by cubics that share values and
 * slopes with both ends (Hermite), inside by what straight lines between opposite edges give together, less
 * what they count twice. It leaves fourth differences. source: S. A. Coons, MIT Project MAC report TR-41,
 * 1967, bilinear blending; from memory. Along ambient each bends as two points more beside it say, a cubic;
 * along the split of power among ports it is first order.
 * An anchor follows from the design alone, so a point's bits do not depend on what came before. */
#include "solve/anchor_book.h"

#include <math.h>
#include <string.h>

#include "solve/workspace.h"

/* Voltages 1.15 ^ k of that described, and these shares of its power.  Behind them the design as it stands,
 * solved and no more: the one among the others has learnt besides. */
enum {
    VOLTAGES_EACH_WAY = 8,
    POWERS = 10,
    USUAL_POWER = 7,
    USUAL = VOLTAGES_EACH_WAY * POWERS + USUAL_POWER,
    ANCHORS = (2 * VOLTAGES_EACH_WAY + 1) * POWERS,
    AMBIENT_KNOB = 1,
    DESCRIBED = ANCHORS
};
static const double voltage_step = 1.15;
static const double power_at[POWERS] = {0.1, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1, 1.25, 1.5};
/* K below and above it at which an anchor looks how it bends along ambient; and how far that is followed. */
static const double ambient_step = 15, ambient_most = 60;
/* Bytes beyond which responses of all anchors are not kept: then there is but the design as it stands. */
static const double room_most = 80e6;

struct anchors {
    anchor_book *book;
    hl_start *between;                 /* NULL: points begin from the design as it stands */
    hl_start *aside[2];                /* colder and warmer than an anchor that learns */
    double *settings, *usual_settings; /* of an anchor; of the design as it stands */
    double voltage, power;
};

static size_t index_of(int voltage, int power)
{
    return (size_t)(voltage + VOLTAGES_EACH_WAY) * POWERS + (size_t)power;
}

/* Voltage, ambient and the ports' currents, along which anchors know slopes.  NULL: no memory. */
static size_t *knobs_of(const hl_design *design, arena *memory, size_t *n)
{
    size_t *knob = arena_array(memory, design->n_ports + 2, sizeof *knob);
    *n = 0;
    if (!knob) return NULL;
    knob[(*n)++] = SETTING_VOLTAGE;
    knob[(*n)++] = SETTING_AMBIENT; /* AMBIENT_KNOB */
    for (size_t p = 0; p < design->n_ports; p++) knob[(*n)++] = design->ports[p].current_setting;
    return knob;
}

/* Room for the anchors there are to be: those of all steps, the usual one alone, or, where no network answers
 * to rounds, none that learns. */
static bool make_room(anchor_book *book, bool all, bool usual)
{
    const hl_design *design = book->design;
    size_t room = response_size(design), knobs, *knob = knobs_of(design, book->memory, &knobs);
    float *gain = arena_array(book->memory, room * (all ? ANCHORS : usual) + 1, sizeof *gain);
    if (!knob || !gain) return false;
    for (size_t i = 0; i <= DESCRIBED; i++) {
        if (!all && i != DESCRIBED && !(usual && i == USUAL)) continue;
        book->start[i] = hl_start_create(design);
        if (!book->start[i]) return false;
        if (i == DESCRIBED) continue;
        if (!start_make_room(book->start[i], &book->told, gain, knob, knobs)) return false;
        gain += room;
    }
    return true;
}

static bool has_all(const hl_workspace *work)
{
    return work->network && (double)response_size(work->described) * sizeof(float) * ANCHORS <= room_most;
}

bool anchors_create(hl_workspace *work, const hl_workspace *beside)
{
    const hl_design *design = work->described;
    size_t n = hl_design_settings(design);
    struct anchors *a = work->anchors = arena_take(work->memory, sizeof *a);
    if (!a) return false;
    a->settings = arena_array(work->memory, n + 1, sizeof *a->settings);
    a->usual_settings = arena_array(work->memory, n + 1, sizeof *a->usual_settings);
    if (!a->settings || !a->usual_settings) return false;
    hl_design_defaults(design, a->usual_settings);
    a->voltage = a->usual_settings[SETTING_VOLTAGE];
    a->power = start_power(design, a->usual_settings);
    a->book = beside ? anchor_book_join(beside->anchors->book) : anchor_book_create(design, DESCRIBED + 1);
    if (!a->book || (!beside && !make_room(a->book, has_all(work), work->network != NULL))) return false;
    for (int k = 0; work->network && k < 2; k++)
        if (!(a->aside[k] = hl_start_create(design))) return false;
    if (!has_all(work) || design->n_ports + 2 > KNOBS_BETWEEN_MAX) return true;
    a->between = hl_start_create(design);
    return a->between != NULL;
}

void anchors_destroy(hl_workspace *work)
{
    if (!work->anchors) return;
    anchor_book_leave(work->anchors->book);
    hl_start_destroy(work->anchors->between);
    for (int k = 0; k < 2; k++) hl_start_destroy(work->anchors->aside[k]);
}

/* ----------------------------------------------------------------- solve -- */

static void put_at(const hl_workspace *work, size_t index)
{
    struct anchors *a = work->anchors;
    int v = (int)(index / POWERS) - VOLTAGES_EACH_WAY, p = (int)(index % POWERS);
    memcpy(a->settings, a->usual_settings, hl_design_settings(work->described) * sizeof *a->settings);
    if (index == DESCRIBED || index == USUAL) return;
    a->settings[SETTING_VOLTAGE] *= pow(voltage_step, v);
    a->settings[SETTING_LOAD] *= power_at[p];
}

static bool solve_anchor(hl_workspace *work, size_t index, const hl_start *from)
{
    struct anchors *a = work->anchors;
    hl_start *start = a->book->start[index];
    put_at(work, index);
    if (solve_begun(work, a->settings, from, start_response(from)) != HL_OK || !hl_start_take(start, work))
        return false;
    start_take_mode(start, work);
    return true;
}

/* How the answer bends along ambient there: two points more, begun at the anchor. */
static void bend_along_ambient(hl_workspace *work, size_t index)
{
    struct anchors *a = work->anchors;
    hl_start *start = a->book->start[index];
    for (int k = 0; k < 2; k++) {
        put_at(work, index);
        a->settings[SETTING_AMBIENT] += k ? ambient_step : -ambient_step;
        if (solve_begun(work, a->settings, start, start_response(start)) != HL_OK ||
            !hl_start_take(a->aside[k], work))
            return;
    }
    start_bend(start, AMBIENT_KNOB, a->aside[0], a->aside[1], ambient_step);
}

/* Solve one and let it learn.  The design as it stands is asked for before any other, and chooses what is
 * told; a design that has no solution as it stands has none that learns there. */
static void make_anchor(hl_workspace *work, size_t index)
{
    anchor_book *book = work->anchors->book;
    if (index == DESCRIBED) {
        solve_anchor(work, index, NULL);
    } else if (index != USUAL) {
        if (solve_anchor(work, index, book->start[USUAL]) && start_learn(book->start[index], work, NULL))
            bend_along_ambient(work, index);
    } else if (start_is_taken(book->start[DESCRIBED]) && solve_anchor(work, index, NULL)) {
        told_choose(&book->told, work);
        if (start_learn(book->start[index], work, NULL)) bend_along_ambient(work, index);
    }
}

/* One anchor, made by whoever needs it first; NULL: it is not kept, or has no solution. */
static const hl_start *fetch(hl_workspace *work, size_t index)
{
    anchor_book *book = work->anchors->book;
    if (!book->start[index]) return NULL;
    if (anchor_book_claim(book, index)) {
        make_anchor(work, index);
        anchor_book_publish(book, index);
    }
    return start_is_taken(book->start[index]) ? book->start[index] : NULL;
}

static bool is_usual(const hl_workspace *work, const double settings[])
{
    return !memcmp(settings, work->anchors->usual_settings,
                   hl_design_settings(work->described) * sizeof *settings);
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
    double warmer = settings[SETTING_AMBIENT] - start_knob(share->start, AMBIENT_KNOB);
    double followed = fmin(fmax(warmer, -ambient_most), ambient_most);
    share->off[AMBIENT_KNOB] = share->linear * warmer;
    share->square = share->linear * followed * followed;
    share->cube = share->square * followed;
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
    *answers = NULL;
    work->foretold = NULL; /* anchors are solved for their own sake */
    fetch(work, DESCRIBED);
    if (is_usual(work, settings)) return a->book->start[DESCRIBED]; /* asks for nothing more */
    const hl_start *usual = fetch(work, USUAL), *found = a->between ? between(work, settings) : NULL;
    if (!found) found = usual ? usual : a->book->start[DESCRIBED];
    *answers = start_response(found);
    return found;
}
