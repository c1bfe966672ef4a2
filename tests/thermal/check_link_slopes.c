/* check_link_slopes.c - heat along every kind of link, and its slopes at both ends, over the whole range of
 * its law.
 *
 * The laws are written out here once more from their published forms, as heat alone and in long double, and
 * differentiated by differences of the sixth order: of a step of a thousandth these leave some 1e-16 of a
 * slope. Compared are both ways that the network has: links one by one (law.c) and side by side (air_rows.c).
 * A slope that is wrong moves no temperature, since Newton's method only gets slower; but the feedback gain,
 * and with it what counts as a run-away, rests on it. */
#include "thermal/law.h"
#include "thermal/links.h"
#include "thermal/pattern.h"

#include <math.h>
#include <stdio.h>

#include "heatledger/thermal.h"
#include "story.h"

typedef long double real;

static const double of_heat = 1e-12, of_slope = 1e-11; /* relative: some hundred roundings of double */

/* -------------------------------------------------------------------- air -- */

typedef struct plain_air {
    real conductivity, prandtl, kinematic, buoyancy; /* of 1 K on 1 m */
} plain_air;

/* U.S. Standard Atmosphere 1976, eqs. 51 and 53, ideal gas, and the specific heat that dry_air.h states; as
 * at the nearer end outside of 150 to 1500 K. */
static plain_air air_at(real temperature, real pressure)
{
    real t = fminl(fmaxl(temperature, 150), 1500), warm = fminl(t, 700), three_halves = t * sqrtl(t);
    real capacity = 1030.5L - 0.19975L * warm + 3.9734e-4L * warm * warm;
    real viscosity = 1.458e-6L * three_halves / (t + 110.4L);
    real conductivity = 2.64638e-3L * three_halves / (t + 245.4L * powl(10, -12 / t));
    real density = pressure / (287.053L * t), kinematic = viscosity / density;
    real diffusivity = conductivity / (density * capacity);
    return (plain_air){conductivity, kinematic / diffusivity, kinematic,
                       9.80665L / (t * kinematic * diffusivity)};
}

/* ---------------------------------------------------------- Nusselt numbers -- */

/* Churchill & Chu 1975, eq. 9. */
static real along_a_plate(real ra, real prandtl)
{
    real root = 0.825L + 0.387L * powl(ra, 1 / 6.0L) / powl(1 + powl(0.492L / prandtl, 9 / 16.0L), 8 / 27.0L);
    return root * root;
}

/* McAdams 1954: 0.54 Ra^(1/4) to 1e7, 0.15 Ra^(1/3) from 2e7, between them led over by t^2 (3 - 2 t), t =
 * log2 (Ra / 1e7). */
static real above_a_plate(real ra)
{
    real laminar = 0.54L * powl(ra, 0.25L), turbulent = 0.15L * powl(ra, 1 / 3.0L);
    real t = fminl(fmaxl(log2l(ra / 1e7L), 0), 1);
    return ra > 0 ? laminar + t * t * (3 - 2 * t) * (turbulent - laminar) : 0;
}

static real below_a_plate(real ra)
{
    return 0.27L * powl(ra, 0.25L);
}

/* Hollands, Unny, Raithby & Konicek 1976, eq. 7. */
static real heated_from_below(real ra)
{
    return 1 + (ra > 1708 ? 1.44L * (1 - 1708 / ra) : 0) + (ra > 5830 ? powl(ra / 5830, 1 / 3.0L) - 1 : 0);
}

/* ElSherbiny, Raithby & Hollands 1982, eqs. 11 to 13. */
static real tall(real ra, real aspect)
{
    if (!(ra > 0)) return 1;
    real inner = 0.104L * powl(ra, 0.293L) / (1 + powl(6310 / ra, 1.36L));
    real transition = cbrtl(1 + inner * inner * inner), turbulent = 0.0605L * cbrtl(ra);
    return fmaxl(fmaxl(transition, turbulent), 0.242L * powl(ra / aspect, 0.272L));
}

/* Berkovsky & Polevikov, in Catton 1978. */
static real squat(real ra, real prandtl, real aspect)
{
    real x = prandtl * ra / (0.2L + prandtl);
    return fmaxl(1, aspect > 2 ? 0.22L * powl(x, 0.28L) * powl(aspect, -0.25L) : 0.18L * powl(x, 0.29L));
}

/* Pohlhausen 1921 up to Re 5e5; then the mixed layer of Incropera & DeWitt eq. 7.38. */
static real blown(real re, real prandtl)
{
    return (re < 5e5L ? 0.664L * sqrtl(re) : 0.037L * powl(re, 0.8L) - 871) * cbrtl(prandtl);
}

/* ------------------------------------------------------------------- heat -- */

static real open_coefficient(const hl_link *link, bool surface_is_hot, real size, plain_air air)
{
    real length = link->p[1], speed = link->p[2], ra = air.buoyancy * size * length * length * length;
    bool lies = link->kind != HL_VERTICAL, hot_up = surface_is_hot == (link->kind == HL_FACING_UP);
    real nusselt = !lies ? along_a_plate(ra, air.prandtl) : hot_up ? above_a_plate(ra) : below_a_plate(ra);
    real still = nusselt * air.conductivity / length;
    if (!(speed > 0)) return still;
    real along = link->p[3] > 0 ? link->p[3] : length;
    real moving = blown(speed * along / air.kinematic, air.prandtl) * air.conductivity / along;
    return cbrtl(still * still * still + moving * moving * moving);
}

static real layer_coefficient(const hl_link *link, bool a_is_hot, real size, plain_air air)
{
    real gap = link->p[1], aspect = (double)(link->p[2] / link->p[1]);
    real ra = air.buoyancy * size * gap * gap * gap, nusselt = 1;
    if (link->kind == HL_VERTICAL)
        nusselt = aspect < 5 ? squat(ra, air.prandtl, aspect) : tall(ra, aspect);
    else if (a_is_hot == (link->kind == HL_FACING_UP))
        nusselt = heated_from_below(ra);
    return nusselt * air.conductivity / gap;
}

/* W from a to b, by a difference and a film temperature. */
static real heat_by(const hl_link *link, real difference, real film, real pressure)
{
    const double *p = link->p;
    real size = fabsl(difference), a = film + 0.5L * difference, b = film - 0.5L * difference;
    bool ahead = difference >= 0;
    plain_air air = air_at(film, pressure);
    switch (link->law) {
    case HL_LAW_FIXED:
        return p[0] * difference;
    case HL_LAW_POWER:
        return (real)p[0] * p[1] * powl(size, p[2]) * difference;
    case HL_LAW_RADIATION: /* sigma: CODATA 2018, W/(m^2 K^4) */
        return 5.670374419e-8L * p[0] * p[1] * (a * a + b * b) * (a + b) * difference;
    case HL_LAW_NATURAL: /* the surface is end a, unless that is the surroundings */
        return p[0] * open_coefficient(link, ahead == (link->a != HL_AMBIENT), size, air) * difference;
    case HL_LAW_GAP:
        return p[0] * layer_coefficient(link, ahead, size, air) * difference;
    case HL_LAW_FORCED:
        return p[0] * blown((real)p[2] * p[1] / air.kinematic, air.prandtl) * air.conductivity / p[1] *
               difference;
    }
    return 0;
}

/* Slope by the difference, the film kept (film = 0), or by the film. */
static real slope_by(const hl_link *link, real difference, real film, real pressure, bool by_film)
{
    static const real weight[] = {0.75L, -0.15L, 1 / 60.0L};
    real step = by_film ? 1e-5L * film : 1e-3L * fabsl(difference), sum = 0;
    for (int k = 1; k <= 3; k++) {
        real d = by_film ? 0 : k * step, f = by_film ? k * step : 0;
        sum += weight[k - 1] * (heat_by(link, difference + d, film + f, pressure) -
                                heat_by(link, difference - d, film - f, pressure));
    }
    return sum / step;
}

/* The slopes at both ends; a difference of less than `least` has the slope by the difference of `least`. */
static law_flow expected(const hl_link *link, double a, double b, double pressure, double least)
{
    real difference = (real)a - b, film = 0.5L * ((real)a + b);
    real at = fabsl(difference) < least ? (difference < 0 ? -least : least) : difference;
    real apart = slope_by(link, at, film, pressure, false);
    real film_slope = 0.5L * slope_by(link, difference, film, pressure, true);
    return (law_flow){(double)heat_by(link, difference, film, pressure), (double)(apart + film_slope),
                      (double)(apart - film_slope)};
}

/* ------------------------------------------------------------------- trials -- */

enum { MOST = 2048 }; /* nodes of one network */

typedef struct trials {
    const char *name;
    hl_network *network;
    size_t nodes;
    double temperature[MOST];
    hl_surroundings room;
} trials;

static void begin(trials *t, const char *name, double room, double pressure)
{
    t->name = name;
    t->network = hl_network_create();
    t->nodes = 0;
    t->room = (hl_surroundings){room, pressure};
}

static int add_node(trials *t, double temperature)
{
    ck_assert_uint_lt(t->nodes, MOST);
    t->temperature[t->nodes++] = temperature;
    return hl_network_add_node(t->network, "node", 1);
}

/* Which ends are nodes. */
typedef enum ends { BOTH_NODES, NODE_TO_ROOM, ROOM_TO_NODE, ENDS } ends;

/* Film temperature of a link that add_link adds. */
static double film_of(double room, ends between, double difference)
{
    return between == BOTH_NODES ? room : room + (between == NODE_TO_ROOM ? 0.5 : -0.5) * difference;
}

/* Nodes of its own for a link, end a by `difference` the warmer. */
static void add_link(trials *t, hl_link link, ends between, double difference)
{
    double room = t->room.temperature, share = between == BOTH_NODES ? 0.5 : 1;
    link.a = between == ROOM_TO_NODE ? HL_AMBIENT : add_node(t, room + share * difference);
    link.b = between == NODE_TO_ROOM ? HL_AMBIENT : add_node(t, room - share * difference);
    ck_assert_int_ge(hl_network_add_link(t->network, &link), 0);
}

static double temperature_of(const trials *t, int node)
{
    return node < 0 ? t->room.temperature : t->temperature[node];
}

/* What went wrong, where. */
static void compare(const trials *t, const hl_link *link, const char *what, double is, double should_be,
                    double room)
{
    ck_assert_msg(fabs(is - should_be) <= room,
                  "%s of %s: %.17g instead of %.17g, off by %.2g; law %d, kind %d, {%g, %g, %g, %g}, %.17g K "
                  "to %.17g K, ends %d and %d",
                  what, t->name, is, should_be, (is - should_be) / should_be, (int)link->law, link->kind,
                  link->p[0], link->p[1], link->p[2], link->p[3], temperature_of(t, link->a),
                  temperature_of(t, link->b), link->a, link->b);
}

static void compare_flow(const trials *t, const hl_link *link, const char *way, law_flow is, law_flow right)
{
    char what[64];
    double steep = fabs(right.by_a) + fabs(right.by_b);
    compare(t, link, way, is.heat, right.heat, of_heat * fabs(right.heat));
    snprintf(what, sizeof what, "%s: slope at a", way);
    compare(t, link, what, is.by_a, right.by_a, of_slope * steep);
    snprintf(what, sizeof what, "%s: slope at b", way);
    compare(t, link, what, is.by_b, right.by_b, of_slope * steep);
}

/* The links of the network one by one, and side by side. Each pair of ends has one link. */
static void check(trials *t, double least)
{
    hl_network_work *work = hl_network_work_create(t->network);
    ck_assert_ptr_nonnull(work);
    work_surround(work, &t->room);
    for (size_t i = 0; i < t->nodes; i++) work->temperature[i] = t->temperature[i];
    work->temperature[t->nodes] = t->room.temperature;
    links_add(work, least);
    for (size_t k = 0; k < hl_network_links(t->network); k++) {
        const hl_link *link = hl_network_link(t->network, (int)k);
        int a = link->a, b = link->b;
        double hot = temperature_of(t, a), cold = temperature_of(t, b), pressure = t->room.pressure;
        law_flow right = expected(link, hot, cold, pressure, least);
        compare_flow(t, link, "one by one", law_of(link, hot, cold, pressure, least), right);
        law_flow side = right; /* where an end is the surroundings the matrix has nothing of it */
        if (a >= 0) side.heat = work->residual[a], side.by_a = work->value[work->diagonal[a]];
        if (b >= 0) side.heat = -work->residual[b], side.by_b = work->value[work->diagonal[b]];
        compare_flow(t, link, "side by side", side, right);
        if (a < 0 || b < 0) continue;
        side.heat = work->residual[a];
        side.by_a = -work->value[pattern_place(work, b, a)];
        side.by_b = -work->value[pattern_place(work, a, b)];
        compare_flow(t, link, "off the diagonal", side, right);
    }
    hl_network_work_destroy(work);
    hl_network_destroy(t->network);
}

/* ---------------------------------------------------------------- air links -- */

/* Of a plate, or a layer of so many times its gap in height; or blown at, by m/s and a length of that flow.
 */
typedef struct air_case {
    const char *name;
    hl_law law;
    int kind;
    double aspect, speed, along;
} air_case;

static const air_case air_cases[] = {
    {"a vertical plate", HL_LAW_NATURAL, HL_VERTICAL, 0, 0, 0},
    {"a plate that looks up", HL_LAW_NATURAL, HL_FACING_UP, 0, 0, 0},
    {"a plate that looks down", HL_LAW_NATURAL, HL_FACING_DOWN, 0, 0, 0},
    {"a vertical plate in a draught", HL_LAW_NATURAL, HL_VERTICAL, 0, 0.4, 0},
    {"a plate that looks up in a draught", HL_LAW_NATURAL, HL_FACING_UP, 0, 0.4, 0.07},
    {"a plate that looks down in a draught", HL_LAW_NATURAL, HL_FACING_DOWN, 0, 1.3, 0},
    {"a layer whose side a looks up", HL_LAW_GAP, HL_FACING_UP, 12, 0, 0},
    {"a layer whose side a looks down", HL_LAW_GAP, HL_FACING_DOWN, 12, 0, 0},
    {"a layer wider than high", HL_LAW_GAP, HL_VERTICAL, 0.6, 0, 0},
    {"a layer as high as wide", HL_LAW_GAP, HL_VERTICAL, 1.5, 0, 0},
    {"a squat layer", HL_LAW_GAP, HL_VERTICAL, 2.1, 0, 0},
    {"a less squat layer", HL_LAW_GAP, HL_VERTICAL, 4.9, 0, 0},
    {"a layer just tall", HL_LAW_GAP, HL_VERTICAL, 5.1, 0, 0},
    {"a tall layer", HL_LAW_GAP, HL_VERTICAL, 35, 0, 0},
    {"a very tall layer", HL_LAW_GAP, HL_VERTICAL, 400, 0, 0},
    {"a plate in forced flow", HL_LAW_FORCED, 0, 0, 2.5, 0},
};

/* Rayleigh numbers, or Reynolds numbers of forced flow, from far below every branch to far above; and a
 * hundredth to either side of where one begins. */
enum { EVENLY = 90, BRANCHES = 8, NUMBERS = EVENLY + 2 * BRANCHES };
static double number_at(int k)
{
    static const double branch[BRANCHES] = {10, 1708, 4500, 5830, 6310, 5e5, 1e7, 2e7};
    if (k < EVENLY) return 1e-7 * pow(10, 20.0 * k / (EVENLY - 1));
    return branch[(k - EVENLY) / 2] * (k % 2 ? 1.01 : 0.99);
}

static hl_link air_link(const air_case *one, double number, double size, double film, double pressure)
{
    plain_air air = air_at(film, pressure);
    double length = cbrt(number / ((double)air.buoyancy * size));
    if (one->law == HL_LAW_FORCED)
        return (hl_link){
            0, 0, one->law, 0, {0.01, number * (double)air.kinematic / one->speed, one->speed, 0}};
    double third = one->law == HL_LAW_GAP ? one->aspect * length : one->speed;
    return (hl_link){0, 0, one->law, one->kind, {0.01, length, third, one->along}};
}

/* The room, K, and how far away the other end is: usual air; cold and hot air, whose properties are worked
 * out another way; air beyond the formulas. */
static const double surroundings_at[][2] = {
    {300, 20}, {300, 1e-3}, {250, 130}, {330, 0.5}, {192, 6},   {160, 3},
    {120, 15}, {690, 4},    {720, 30},  {1090, 8},  {1150, 40}, {1560, 25},
};

START_TEST(links_of_air_carry_and_lean_as_their_laws_do)
{
    const air_case *one = &air_cases[_i];
    for (size_t k = 0; k < sizeof surroundings_at / sizeof *surroundings_at; k++) {
        double room = surroundings_at[k][0], size = surroundings_at[k][1], pressure = k % 2 ? 101325 : 6e4;
        trials t;
        begin(&t, one->name, room, pressure);
        for (int n = 0; n < NUMBERS; n += STORY_SANITIZED ? 7 : 1)
            for (int way = 0; way < 2 * ENDS; way++) { /* a the warmer, or b */
                double difference = way % 2 ? -size : size;
                ends between = (ends)(way / 2);
                double film = film_of(room, between, difference);
                add_link(&t, air_link(one, number_at(n), size, film, pressure), between, difference);
            }
        check(&t, 0);
    }
}
END_TEST

/* Where neither end is the warmer, or next to it: heat is exact, and the slope that of a difference of
 * `least`, to the side that it leans to. */
START_TEST(a_difference_of_next_to_nothing_leans_like_the_least)
{
    static const double least = 1e-4,
                        differences[] = {0, -0.0, 1e-9, -1e-9, 0.9e-4, -0.9e-4, 1.1e-4, -1.1e-4};
    const air_case *one = &air_cases[_i];
    for (int k = 0; k < 3; k++) {
        double room = k == 0 ? 310 : k == 1 ? 170 : 1300;
        trials t;
        begin(&t, one->name, room, 9e4);
        for (int n = 0; n < NUMBERS; n += STORY_SANITIZED ? 21 : 3)
            for (int way = 0; way < 8 * ENDS; way++)
                add_link(&t, air_link(one, number_at(n), least, room, 9e4), (ends)(way / 8),
                         differences[way % 8]);
        check(&t, least);
    }
}
END_TEST

/* -------------------------------------------------------------- other links -- */

static const struct {
    const char *name;
    hl_link link;
} plain[] = {
    {"a fixed link", {0, 0, HL_LAW_FIXED, 0, {0.37, 0, 0, 0}}},
    {"a fourth power", {0, 0, HL_LAW_POWER, 0, {1.4, 0.02, 0.25, 0}}},
    {"another power", {0, 0, HL_LAW_POWER, 0, {1.1, 0.05, 0.31, 0}}},
    {"power nought", {0, 0, HL_LAW_POWER, 0, {2.5, 0.05, 0, 0}}},
    {"radiation", {0, 0, HL_LAW_RADIATION, 0, {0.85, 0.01, 0, 0}}},
};
enum { PLAIN = sizeof plain / sizeof *plain };

START_TEST(other_links_carry_and_lean_as_their_laws_do)
{
    static const double sizes[] = {1e-9, 1e-6, 1e-4, 1.1e-3, 0.3, 7, 45, 240};
    for (int k = 0; k < 2; k++) {
        trials t;
        begin(&t, plain[_i].name, 305, 1e5);
        for (size_t n = 0; n < sizeof sizes / sizeof *sizes; n++)
            for (int way = 0; way < 2 * ENDS; way++)
                add_link(&t, plain[_i].link, (ends)(way / 2), way % 2 ? -sizes[n] : sizes[n]);
        if (k) add_link(&t, plain[_i].link, NODE_TO_ROOM, 0);
        check(&t, k ? 1e-3 : 0);
    }
}
END_TEST

/* Links of all kinds between the same two ends, each as drawn and turned round: their heats and slopes add
 * up. */
START_TEST(links_of_the_same_ends_add_up)
{
    static const double temperature[][3] = {{350, 300, 300}, {290, 341, 300}, {312, 311, 315}};
    for (size_t k = 0; k < sizeof temperature / sizeof *temperature; k++)
        for (int b = -1; b <= 1; b += 2) {
            const double *at = temperature[k];
            double whole[3] = {0, 0, 0}, far = b < 0 ? at[2] : at[1], steep = 0;
            trials t;
            begin(&t, "all links", at[2], 8e4);
            for (int node = 0; node < 2; node++) add_node(&t, at[node]);
            for (int n = 0; n < 2 * (PLAIN + (int)(sizeof air_cases / sizeof *air_cases)); n++) {
                hl_link link = n / 2 < PLAIN ? plain[n / 2].link
                                             : air_link(&air_cases[n / 2 - PLAIN], 1e4, 20, 310, 8e4);
                bool turned = n % 2;
                link.a = turned ? b : 0;
                link.b = turned ? 0 : b;
                ck_assert_int_ge(hl_network_add_link(t.network, &link), 0);
                law_flow one = expected(&link, turned ? far : at[0], turned ? at[0] : far, 8e4, 0);
                whole[0] += turned ? -one.heat : one.heat;
                whole[1] += turned ? one.by_b : one.by_a;
                whole[2] += turned ? one.by_a : one.by_b;
                steep += fabs(one.by_a) + fabs(one.by_b);
            }
            hl_network_work *work = hl_network_work_create(t.network);
            ck_assert_ptr_nonnull(work);
            work_surround(work, &t.room);
            for (int i = 0; i < 3; i++) work->temperature[i] = at[i];
            links_add(work, 0);
            ck_near(work->residual[0], whole[0], of_heat, 0);
            ck_near(work->residual[b < 0 ? 2 : 1], -whole[0], of_heat, 0);
            ck_near(work->value[work->diagonal[0]], whole[1], 0, of_slope * steep);
            if (b > 0) {
                ck_near(work->value[work->diagonal[1]], whole[2], 0, of_slope * steep);
                ck_near(work->value[pattern_place(work, 1, 0)], -whole[1], 0, of_slope * steep);
                ck_near(work->value[pattern_place(work, 0, 1)], -whole[2], 0, of_slope * steep);
            }
            hl_network_work_destroy(work);
            hl_network_destroy(t.network);
        }
}
END_TEST

static void fill(TCase *tests)
{
    int cases = (int)(sizeof air_cases / sizeof *air_cases);
    tcase_add_loop_test(tests, links_of_air_carry_and_lean_as_their_laws_do, 0, cases);
    tcase_add_loop_test(tests, a_difference_of_next_to_nothing_leans_like_the_least, 0, cases);
    tcase_add_loop_test(tests, other_links_carry_and_lean_as_their_laws_do, 0, PLAIN);
    tcase_add_test(tests, links_of_the_same_ends_add_up);
}

int main(void)
{
    return story_main("slopes of links", fill);
}
