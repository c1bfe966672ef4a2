/* air_rows.c - the same formulas as in law.h, surface.c and gap.c, column by column.
 *
 * Most links of a network are plates in still air, and layers too thin for their air to turn over. These are
 * worked out in loops without branches; a row that such a loop does not hold for is then done again by
 * itself. */
#include "thermal/air_rows.h"

#include <stdlib.h>
#include <string.h>

#include "thermal/dry_air.h"
#include "thermal/law.h"
#include "thermal/prandtl.h"
#include "thermal/squat.h"
#include "thermal/surface.h"
#include "wave/lanes.h"

/* ------------------------------------------------------------------- rows -- */

bool air_rows_create(air_rows *rows, size_t most)
{
    double **column[] = {&rows->conductance,   &rows->radiance,      &rows->heat,
                         &rows->by_a,          &rows->by_b,          &rows->reach,
                         &rows->cube,          &rows->calm,          &rows->ahead,
                         &rows->behind,        &rows->factor,        &rows->power,
                         &rows->difference,    &rows->film,

                         &rows->rayleigh,      &rows->root,          &rows->conductivity,
                         &rows->prandtl,       &rows->buoyancy,      &rows->conductivity_slope,
                         &rows->prandtl_slope, &rows->buoyancy_slope};
    size_t columns = sizeof column / sizeof column[0], room = most + LANES;
    memset(rows, 0, sizeof *rows);
    rows->most = most;
    rows->end = calloc(2 * room + 1, sizeof *rows->end);
    rows->link = malloc((most + 1) * sizeof *rows->link);
    rows->columns = calloc(columns * room, sizeof *rows->columns);
    rows->guess = calloc(most + 1, sizeof *rows->guess);
    rows->bits = calloc(most + 1, sizeof *rows->bits);
    rows->doubtful = malloc(room * sizeof *rows->doubtful);
    rows->a = calloc(room, sizeof *rows->a);
    rows->b = calloc(room, sizeof *rows->b);
    if (!rows->doubtful || !rows->link || !rows->columns || !rows->guess || !rows->bits || !rows->a ||
        !rows->b || !rows->end)
        return false;
    for (size_t i = 0; i < columns; i++) *column[i] = rows->columns + i * room;
    return true;
}

void air_rows_destroy(air_rows *rows)
{
    free(rows->link);
    free(rows->columns);
    free(rows->guess);
    free(rows->bits);
    free(rows->doubtful);
    free(rows->a);
    free(rows->b);
    free(rows->end);
}

void air_rows_clear(air_rows *rows)
{
    rows->n = rows->of_air = rows->plates = rows->flats = rows->layers = 0;
}

int air_rows_kind(const hl_link *link)
{
    if (link->law == HL_LAW_NATURAL && !(link->p[2] > 0))
        return link->kind == HL_VERTICAL ? AIR_PLATE : AIR_FLAT;
    if (link->law == HL_LAW_GAP) return AIR_LAYER;
    return link->law == HL_LAW_NATURAL || link->law == HL_LAW_FORCED ? AIR_OTHER : AIR_NONE;
}

static bool is_squat(const hl_link *link)
{
    return link->law == HL_LAW_GAP && link->kind == HL_VERTICAL && link->p[2] / link->p[1] < squat_most;
}

/* Up to which Rayleigh number Nu = 1, to fourteen digits, whichever side is hot: see gap.c.  Squat layers
 * begin where Ra Pr / (0.2 + Pr) brings their power to 1; usual air has that factor below 0.7872. */
static double calm_up_to(const hl_link *link)
{
    double aspect = link->p[2] / link->p[1];
    if (link->kind != HL_VERTICAL) return 1708;
    if (!is_squat(link)) return 10;
    squat_law law = squat_law_of(aspect);
    return pow(1 / law.factor, 1 / law.power) / 0.7873;
}

/* Plates that lie, hot side up or down: see surface.c. */
static const double facing_up = 0.54, facing_down = 0.27, laminar_most = 1e7;

static void take_air(air_rows *rows, size_t i, const hl_link *link, int kind)
{
    rows->link[i] = *link;
    rows->reach[i] = link->p[0] / link->p[1];
    rows->cube[i] = link->p[1] * link->p[1] * link->p[1];
    rows->calm[i] = kind == AIR_LAYER ? calm_up_to(link) : kind == AIR_FLAT ? laminar_most : 1e30;
    squat_law squat = is_squat(link) ? squat_law_of(link->p[2] / link->p[1]) : (squat_law){0, 0};
    rows->factor[i] = squat.factor;
    rows->power[i] = squat.power;
    if (kind == AIR_FLAT) { /* its surface is its end a, unless that is the surroundings: see law.c */
        bool up_when_ahead = (link->a != HL_AMBIENT) == (link->kind == HL_FACING_UP);
        rows->ahead[i] = up_when_ahead ? facing_up : facing_down;
        rows->behind[i] = up_when_ahead ? facing_down : facing_up;
    }
}

size_t air_rows_add(air_rows *rows, int a, int b, const hl_link *link)
{
    size_t i = rows->n++;
    int kind = air_rows_kind(link);
    rows->a[i] = a;
    rows->b[i] = b;
    rows->conductance[i] = rows->radiance[i] = rows->heat[i] = rows->by_a[i] = rows->by_b[i] = 0;
    if (kind != AIR_NONE) take_air(rows, i, link, kind);
    rows->of_air += kind != AIR_NONE;
    rows->plates += kind == AIR_PLATE;
    rows->flats += kind == AIR_FLAT;
    rows->layers += kind == AIR_LAYER;
    return i;
}

/* ---------------------------------------------------------------- columns -- */

/* Of an array, at four places. */
#define lanes_at(array, places)                                                                              \
    ((lanes){(array)[(places)[0]], (array)[(places)[1]], (array)[(places)[2]], (array)[(places)[3]]})

/* Of whole lanes, as are the loops over all rows: there is room behind the last. */
FOUR_LANES
static void gather(const air_rows *rows, const double temperature[])
{
    const int *a = rows->a, *b = rows->b;
    double *difference = rows->difference, *film = rows->film;
    for (size_t i = 0, n = rows->n; i < n; i += LANES) {
        lanes ahead = lanes_at(temperature, a + i), behind = lanes_at(temperature, b + i);
        lanes_store(difference + i, ahead - behind);
        lanes_store(film + i, 0.5 * (ahead + behind));
    }
}

FOUR_LANES
static void fill_air(const air_rows *rows, size_t n, double pressure)
{
    const double *film = rows->film;
    double *conductivity = rows->conductivity, *conductivity_slope = rows->conductivity_slope,
           *prandtl = rows->prandtl, *prandtl_slope = rows->prandtl_slope, *buoyancy = rows->buoyancy,
           *buoyancy_slope = rows->buoyancy_slope;
    SIDE_BY_SIDE
    for (size_t i = 0; i < n; i++) {
        still_air air;
        still_air_within(film[i], pressure, &air);
        conductivity[i] = air.conductivity;
        conductivity_slope[i] = air.conductivity_slope;
        prandtl[i] = air.prandtl;
        prandtl_slope[i] = air.prandtl_slope;
        buoyancy[i] = air.buoyancy;
        buoyancy_slope[i] = air.buoyancy_slope;
    }
}

FOUR_LANES
static void fill_rayleigh(const air_rows *rows, size_t n)
{
    const double *difference = rows->difference, *buoyancy = rows->buoyancy, *cube = rows->cube;
    double *rayleigh = rows->rayleigh;
    SIDE_BY_SIDE
    for (size_t i = 0; i < n; i++) rayleigh[i] = buoyancy[i] * fabs(difference[i]) * cube[i];
}

/* Sixth roots of Rayleigh numbers from 1e-30 to 1e30.  A sixth of the bits of a float is the float of a sixth
 * of the logarithm to within 4 %; three steps of Halley's method for y^3 = sqrt(Ra), each of which cubes what
 * is left, end at rounding. */
FOUR_LANES
static void fill_roots(const air_rows *rows, size_t n)
{
    const double *rayleigh = rows->rayleigh;
    double *root = rows->root;
    float *guess = rows->guess;
    int *bits = rows->bits;
    SIDE_BY_SIDE
    for (size_t i = 0; i < n; i++) guess[i] = (float)rayleigh[i];
    memcpy(bits, guess, n * sizeof *bits);
    SIDE_BY_SIDE
    for (size_t i = 0; i < n; i++) bits[i] = (int)((float)bits[i] * (1 / 6.0f) + 887450000.0f);
    memcpy(guess, bits, n * sizeof *bits);
    SIDE_BY_SIDE
    for (size_t i = 0; i < n; i++) {
        double y = guess[i], z = sqrt(rayleigh[i]);
        for (int k = 0; k < 3; k++) {
            double cubed = y * y * y;
            y *= (cubed + 2 * z) / (2 * cubed + z);
        }
        root[i] = y;
    }
}

/* Heat of a row and its slopes, from the Nusselt number and its slopes by ln Ra and ln Pr. */
WITHIN_LANES void take_row(const air_rows *rows, size_t i, double nusselt, double by_log, double by_prandtl)
{
    double scale = rows->reach[i] * rows->conductivity[i], difference = rows->difference[i];
    double by_film = nusselt * rows->conductivity_slope[i] + by_log * rows->buoyancy_slope[i] +
                     by_prandtl * rows->prandtl_slope[i];
    double both = scale * (nusselt + by_log), apart = 0.5 * scale * difference * by_film;
    rows->heat[i] = scale * nusselt * difference;
    rows->by_a[i] = both + apart;
    rows->by_b[i] = both - apart;
}

/* Vertical plates: Churchill & Chu, see surface.c. */
FOUR_LANES
static void flow_along_plates(const air_rows *of, size_t n)
{
    const air_rows rows = *of;
    SIDE_BY_SIDE
    for (size_t i = 0; i < n; i++) {
        double psi_slope, psi = usual_prandtl_factor(rows.prandtl[i], &psi_slope);
        double part = 0.387 * rows.root[i] / psi, root = 0.825 + part;
        take_row(&rows, i, root * root, root * part * (1 / 3.0), -2 * root * part * psi_slope);
    }
}

/* Plates that lie: Nu goes with Ra^(1/4). */
FOUR_LANES
static void flow_over_flats(const air_rows *of, size_t from, size_t to)
{
    const air_rows rows = *of;
    SIDE_BY_SIDE
    for (size_t i = from; i < to; i++) {
        double factor = rows.difference[i] >= 0 ? rows.ahead[i] : rows.behind[i];
        double nusselt = factor * sqrt(sqrt(rows.rayleigh[i]));
        take_row(&rows, i, nusselt, 0.25 * nusselt, 0);
    }
}

/* Layers that just conduct. */
FOUR_LANES
static void flow_through_layers(const air_rows *of, size_t from, size_t to)
{
    const air_rows rows = *of;
    SIDE_BY_SIDE
    for (size_t i = from; i < to; i++) take_row(&rows, i, 1, 0, 0);
}

/* ------------------------------------------------------------------- rest -- */

static void alone(air_rows *rows, size_t i, const double temperature[], double pressure, double least)
{
    double a = temperature[rows->a[i]], b = temperature[rows->b[i]];
    law_flow q = law_of_air(&rows->link[i], a, b, pressure, least);
    rows->heat[i] = q.heat;
    rows->by_a[i] = q.by_a;
    rows->by_b[i] = q.by_b;
}

/* A layer whose air turns over, usual air otherwise: with the properties that its row has of it. */
static void turn_over(const air_rows *rows, size_t i)
{
    const hl_link *link = &rows->link[i];
    hl_orientation side = (hl_orientation)link->kind;
    hl_orientation hot = rows->difference[i] >= 0 ? side : orientation_turned(side);
    nusselt_number nu = gap_nusselt(hot, rows->rayleigh[i], rows->prandtl[i], link->p[2] / link->p[1]);
    take_row(rows, i, nu.value, nu.by_log, nu.by_prandtl);
}

/* Squat layers that turn over, four at a time: the last of the list stands in for those that are missing. */
FOUR_LANES
static void flow_through_squat(const air_rows *of, size_t list[], size_t n)
{
    const air_rows rows = *of;
    for (size_t k = n; k % LANES != 0; k++) list[k] = list[n - 1];
    for (const size_t *at = list; at < list + n; at += LANES) {
        lanes rayleigh = lanes_at(rows.rayleigh, at), prandtl = lanes_at(rows.prandtl, at);
        lanes factor = lanes_at(rows.factor, at), power = lanes_at(rows.power, at);
        squat_lanes nu;
        squat_nusselt(&rayleigh, &prandtl, &factor, &power, &nu);
        for (size_t k = 0; k < LANES; k++)
            take_row(&rows, at[k], nu.value[k], nu.by_log[k], nu.by_prandtl[k]);
    }
}

/* Those of the first n rows, whole lanes, that their loop does not hold for; how many. */
FOUR_LANES
static size_t list_doubtful(const air_rows *of, size_t n, double least)
{
    const air_rows rows = *of;
    size_t count = 0;
    for (size_t from = 0; from < n; from += LANES) {
        lanes film = lanes_load(rows.film + from), rayleigh = lanes_load(rows.rayleigh + from);
        lanes difference = lanes_load(rows.difference + from), size;
        lanes_size(&difference, &size);
        lanes_mask holds = (film >= usual_coldest) & (film <= usual_hottest) & (size >= least) &
                           (rayleigh >= 1e-30) & (rayleigh <= lanes_load(rows.calm + from));
        lanes_mask doubt = ~holds;
        if (!lanes_any(&doubt)) continue;
        for (size_t k = 0; k < LANES; k++)
            if (doubt[k]) rows.doubtful[count++] = from + k;
    }
    return count;
}

/* A layer of which only the Rayleigh number is past what its loop holds for. */
static bool just_turns_over(const air_rows *rows, size_t i, double least)
{
    double film = rows->film[i];
    return i >= rows->plates + rows->flats && film >= usual_coldest && film <= usual_hottest &&
           fabs(rows->difference[i]) >= least && rows->rayleigh[i] > rows->calm[i];
}

/* With what the fixed and the radiating links of a row do.  Of a film temperature f and a difference d, Ta^4
 * - Tb^4 = f d (4 f^2 + d^2): equal ends give exactly nothing. */
FOUR_LANES
static void end_rows(const air_rows *of)
{
    const air_rows rows = *of;
    for (size_t i = 0; i < rows.n; i += LANES) {
        lanes d = lanes_load(rows.difference + i), f = lanes_load(rows.film + i);
        lanes fixed = lanes_load(rows.conductance + i), shine = lanes_load(rows.radiance + i);
        lanes a = f + 0.5 * d, b = f - 0.5 * d, cubed = 4.0 * shine;
        lanes heat = lanes_load(rows.heat + i) + d * (fixed + shine * f * (4.0 * f * f + d * d));
        lanes by_a = lanes_load(rows.by_a + i) + (fixed + cubed * (a * a * a));
        lanes by_b = lanes_load(rows.by_b + i) + (fixed + cubed * (b * b * b));
        lanes row[LANES] = {heat, -by_a, -heat, -by_b};
        lanes_turned(row);
        for (size_t k = 0; k < LANES; k++) lanes_store(rows.end + 2 * (i + k), row[k]);
    }
}

void air_rows_flow(air_rows *rows, const double temperature[], double pressure, double least)
{
    size_t plates = rows->plates, open = plates + rows->flats, still = open + rows->layers;
    size_t whole = (still + LANES - 1) / LANES * LANES;
    gather(rows, temperature);
    fill_air(rows, whole, pressure);
    fill_rayleigh(rows, whole);
    fill_roots(rows, plates);
    flow_along_plates(rows, plates);
    flow_over_flats(rows, plates, open);
    flow_through_layers(rows, open, still);
    size_t squat = 0;
    for (size_t k = 0, doubtful = list_doubtful(rows, whole, least); k < doubtful; k++) {
        size_t i = rows->doubtful[k];
        if (i >= still) break;
        if (!just_turns_over(rows, i, least))
            alone(rows, i, temperature, pressure, least);
        else if (rows->factor[i] > 0)
            rows->doubtful[squat++] = i;
        else
            turn_over(rows, i);
    }
    flow_through_squat(rows, rows->doubtful, squat);
    for (size_t i = still; i < rows->of_air; i++) alone(rows, i, temperature, pressure, least);
    end_rows(rows);
}
