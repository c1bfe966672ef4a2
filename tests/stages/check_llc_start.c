/* check_llc_start.c - the derivatives that lead Newton's steps to a periodic half wave, and where from.
 *
 * With wrong ones the search arrives later, at the same half wave: no figure of the stage tells. */
#pragma GCC diagnostic ignored "-Wunused-function" /* the stage has use for all of them */
#include "../../plugins/stages/llc_memory.h"
#include "../../plugins/stages/llc_search.h"

#include "llc_design.h"
#include "story.h"

enum { DRAWS = 300 };

/* A converter as drawn for the stage, its load and the voltage behind its rectifier. */
typedef struct converter {
    llc_circuits all;
    double behind, load;
    unsigned long long seed;
    int draw;
} converter;

static bool draw(lottery *luck, int number, converter *c)
{
    llc_point p = llc_draw(luck);
    llc_tank tank = {.input = p.d.input,
                     .series = p.d.series,
                     .magnetizing = p.d.magnetizing,
                     .capacitance = p.d.capacitance,
                     .ratio = p.d.ratio,
                     .primary_resistance = p.d.primary,
                     .secondary_resistance = p.d.secondary,
                     .drop = p.d.drop,
                     .body_drop = p.d.body_drop};
    if (!p.d.instant) {
        tank.dead_time = p.d.dead_time;
        tank.node_capacitance = 2.0 * p.d.charge / p.d.input;
    }
    if (lottery_below(luck, 2)) {
        double period = 6.28 * sqrt(p.d.series * p.d.capacitance);
        tank.output_capacitance = p.load * period / (lottery_scale(luck, 0.003, 0.1) * p.output);
        tank.output_esr = lottery_between(luck, 0.0, 0.03) * p.output / p.load;
        tank.load_conductance = p.load / p.output;
    }
    *c = (converter){.load = p.load, .seed = luck->seed, .draw = number};
    c->behind = p.output + (tank.output_capacitance > 0 ? 0.0 : p.d.drop);
    return llc_prepare(&tank, &c->all);
}

static bool solved(const converter *c, llc_half *half, llc_step *step)
{
    llc_peak peak = {0};
    return llc_find(&c->all, c->behind, c->load, false, half, step, &peak) == LLC_FOUND;
}

/* Walked again with one unknown moved; false where that takes it through other states. */
static bool walk_beside(const converter *c, const llc_half *at, int unknown, double move, llc_half *there)
{
    there->start = at->start;
    there->half = at->half;
    if (unknown == LLC_HALF)
        there->half += move;
    else
        there->start[unknown] += move;
    if (!llc_walk_half(&c->all, there, NULL, LLC_PLAIN) || there->n != at->n) return false;
    for (int k = 0; k < at->n; k++) {
        const llc_stretch *a = &at->stretch[k], *b = &there->stretch[k];
        if (a->sign != b->sign || a->node != b->node) return false;
    }
    return true;
}

static double scale_of(const converter *c, const llc_half *half, int unknown)
{
    return unknown == LLC_HALF ? half->half : llc_scale(&c->all, unknown);
}

static void expect_slope(const converter *c, const char *of, int unknown, double slope, double chord,
                         double scale)
{
    ck_assert_msg(fabs(slope - chord) <= 1e-4 * fmax(fabs(slope), scale),
                  "seed %llu, draw %d: slope %s by unknown %d is %g, a chord %g", c->seed, c->draw, of,
                  unknown, slope / scale, chord / scale);
}

/* Central differences: those of the end and of the charge. */
static int compare_slopes(const converter *c, const llc_half *half, int unknown)
{
    llc_half low, high;
    double size = scale_of(c, half, unknown), move = 1e-6 * size;
    if (!walk_beside(c, half, unknown, -move, &low) || !walk_beside(c, half, unknown, move, &high)) return 0;
    double amperes = c->all.tank.ratio * c->all.current_scale;
    for (int i = 0; i < 4; i++)
        expect_slope(c, "of the end", unknown, half->slope[unknown][i] * size,
                     (high.end[i] - low.end[i]) / (2.0 * move) * size, llc_scale(&c->all, i));
    expect_slope(c, "of the charge", unknown, half->charge_slope[unknown] * size,
                 (high.charge - low.charge) / (2.0 * move) * size, amperes * half->half);
    return 1;
}

START_TEST(slopes_of_a_half_wave_are_those_of_chords)
{
    lottery luck = lottery_open("llc slopes");
    int compared = 0;
    for (int k = 0; k < DRAWS; k++) {
        converter c;
        llc_half half;
        llc_step step;
        if (!draw(&luck, k, &c) || !solved(&c, &half, &step)) continue;
        for (int u = 0; u < LLC_UNKNOWNS; u++) compared += compare_slopes(&c, &half, u);
    }
    printf("llc start: %d slopes compared\n", compared);
    ck_assert_int_ge(compared, 2 * DRAWS);
}
END_TEST

/* The branch of periodic half waves, against its neighbours half a millionth of the time away. */
START_TEST(the_way_along_the_branch_is_that_of_its_neighbours)
{
    lottery luck = lottery_open("llc branch");
    int compared = 0;
    for (int k = 0; k < DRAWS; k++) {
        converter c;
        llc_half half, low, high;
        llc_step step, at;
        if (!draw(&luck, k, &c) || !solved(&c, &half, &step)) continue;
        double move = 1e-6 * half.half, amperes = c.all.tank.ratio * c.all.current_scale;
        low = high = half;
        low.half -= move, high.half += move;
        if (!llc_periodic(&c.all, &low, &at) || !llc_periodic(&c.all, &high, &at)) continue;
        if (low.n != half.n || high.n != half.n) continue;
        for (int i = 0; i < 4; i++)
            expect_slope(&c, "of the branch", LLC_HALF, step.moving[i] * half.half,
                         (high.start[i] - low.start[i]) / (2.0 * move) * half.half, llc_scale(&c.all, i));
        expect_slope(&c, "of the current", LLC_HALF, step.current_slope * half.half,
                     (llc_mean(&high) - llc_mean(&low)) / (2.0 * move) * half.half, amperes);
        compared++;
    }
    printf("llc start: %d branches compared\n", compared);
    ck_assert_int_ge(compared, DRAWS / 2);
}
END_TEST

static void expect_same(const converter *c, const llc_half *is, const llc_half *expected, const char *way)
{
    double off = fabs(is->half / expected->half - 1.0);
    for (int i = 0; i < 4; i++)
        off = fmax(off, fabs(is->start[i] - expected->start[i]) / llc_scale(&c->all, i));
    ck_assert_msg(off <= 1e-8, "seed %llu, draw %d: %s leads to another half wave, off by %g", c->seed,
                  c->draw, way, off);
}

/* From a start that says next to nothing, and by the scan that is the last resort. */
START_TEST(every_start_leads_to_the_same_half_wave)
{
    lottery luck = lottery_open("llc starts");
    int found = 0, warm = 0;
    for (int k = 0; k < DRAWS; k++) {
        converter c;
        llc_half half, other;
        llc_step step;
        llc_peak peak = {0};
        if (!draw(&luck, k, &c) || !solved(&c, &half, &step)) continue;
        found++;
        bool within = half.half >= llc_shortest(&c.all);
        ck_assert_int_eq(llc_scan(&c.all, c.behind, c.load, &other, &step, &peak),
                         within ? LLC_FOUND : LLC_ABOVE);
        if (!within) continue;
        expect_same(&c, &other, &half, "the scan");
        other.half = half.half * lottery_scale(&luck, 0.7, 1.4);
        for (int i = 0; i < 4; i++)
            other.start[i] = half.start[i] + lottery_between(&luck, -0.5, 0.5) * llc_scale(&c.all, i);
        if (!(c.all.tank.output_capacitance > 0)) other.start[LLC_VO] = c.behind;
        llc_half from = other;
        warm += llc_at_load(&c.all, &from, c.load, LLC_TRUSTING, 25, &step) &&
                llc_inductive(&c.all, &from, &step);
        ck_assert_int_eq(llc_find(&c.all, c.behind, c.load, true, &other, &step, &peak), LLC_FOUND);
        expect_same(&c, &other, &half, "a poor start");
    }
    printf("llc start: %d half waves, %d from a poor start at once\n", found, warm);
    ck_assert_int_ge(found, DRAWS / 2);
}
END_TEST

/* One that overruns a border by a hundredth of the stretch there, as a walk on trust may, does not stand;
 * most of those that were looked along do. */
START_TEST(a_half_wave_that_overruns_a_border_does_not_stand)
{
    lottery luck = lottery_open("llc stands");
    int found = 0, stands = 0, overruns = 0;
    for (int k = 0; k < DRAWS; k++) {
        converter c;
        llc_half half, over;
        llc_step step;
        if (!draw(&luck, k, &c) || !solved(&c, &half, &step)) continue;
        found++;
        stands += llc_stands(&c.all, &half);
        for (int i = 0; i < half.n; i++) {
            llc_copy_half(&half, &over);
            llc_stretch *there = &over.stretch[i];
            if (there->border < 0 || !(there->duration > 0)) continue;
            there->duration *= 1.01;
            there->end = llc_instant_at(there->circuit, there->duration);
            there->border = -1;
            overruns++;
            ck_assert_msg(!llc_stands(&c.all, &over), "seed %llu, draw %d: stretch %d stands overrun", c.seed,
                          c.draw, i);
        }
    }
    printf("llc start: %d of %d stand, %d overrun\n", stands, found, overruns);
    ck_assert(4 * stands >= 3 * found && overruns > found);
}
END_TEST

/* Two quadratics l^2 + 2 a l + beta, one fast, multiplied out and parted again. */
START_TEST(a_quartic_is_parted_into_what_it_is_made_of)
{
    lottery luck = lottery_open("llc quartic");
    for (int k = 0; k < 100000; k++) {
        double w = lottery_scale(&luck, 1e5, 1e7), apart = lottery_scale(&luck, 1e-5, 0.1);
        double q1 = w * w, s1 = w * lottery_scale(&luck, 1e-6, 0.5);
        double q2 = q1 * apart * apart, s2 = w * apart * lottery_scale(&luck, 1e-3, 3.0);
        if (lottery_below(&luck, 8) == 0) q2 = 0.0;
        if (lottery_below(&luck, 8) == 0) s2 = q2 = 0.0;
        const double p[4] = {q1 * q2, s1 * q2 + s2 * q1, q1 + q2 + s1 * s2, s1 + s2};
        llc_group fast, slow;
        ck_assert_msg(llc_split(p, &fast, &slow), "seed %llu, draw %d is not parted",
                      (unsigned long long)luck.seed, k);
        ck_near(fast.a, 0.5 * s1, 1e-9, 1e-14 * w);
        ck_near(fast.beta, q1, 1e-12, 0);
        ck_near(slow.a, 0.5 * s2, 1e-9, 1e-14 * w);
        ck_near(slow.beta, q2, 1e-9, 1e-14 * q1);
    }
}
END_TEST

/* A half wave that follows the load along a cubic. */
static void lay_out(double load, llc_half *half)
{
    double x = load - 1.0;
    half->half = 1e-5 * (1.0 + 0.3 * x - 0.2 * x * x + 0.4 * x * x * x);
    for (int i = 0; i < 4; i++) half->start[i] = i + x - 0.5 * i * x * x + x * x * x;
    half->n = 0;
}

/* Keeps those loads in turn and asks for the next. */
static void recall_after(const double load[], int n, double next, llc_half *half)
{
    const llc_circuits all = {.tank = {.input = 400.0, .output_capacitance = 1e-3}};
    llc_memory kept = {0};
    ck_assert(!llc_recall(&kept, &all, 24.0, next, half));
    for (int k = 0; k < n; k++) {
        lay_out(load[k], half);
        llc_keep(&kept, &all, 24.0, load[k], half);
    }
    ck_assert(llc_recall(&kept, &all, 24.0, next, half));
}

static void expect_start(const llc_half *half, const llc_half *exact)
{
    ck_near(half->half, exact->half, 1e-12, 0);
    for (int i = 0; i < 4; i++) ck_near(half->start[i], exact->start[i], 1e-12, 1e-12);
}

/* Four points of a cubic lead on to the fifth; two to the line through them; the same point, asked again, to
 * itself, and an uneven row to the line through its last two. */
START_TEST(points_solved_before_lead_on)
{
    llc_half half, exact, last, before;
    recall_after((const double[]){1.0, 1.02, 1.04, 1.06}, 4, 1.08, &half);
    lay_out(1.08, &exact);
    expect_start(&half, &exact);
    recall_after((const double[]){0.5, 1.0, 1.02, 1.04, 1.06}, 5, 1.07, &half);
    lay_out(1.07, &exact);
    expect_start(&half, &exact);
    recall_after((const double[]){1.0, 1.02, 1.04, 1.06, 1.06}, 5, 1.06, &half);
    lay_out(1.06, &exact);
    expect_start(&half, &exact);
    for (int uneven = 0; uneven < 2; uneven++) {
        if (uneven)
            recall_after((const double[]){0.5, 1.0, 1.02}, 3, 1.04, &half);
        else
            recall_after((const double[]){1.0, 1.02}, 2, 1.04, &half);
        lay_out(1.0, &before);
        lay_out(1.02, &last);
        exact.half = 2.0 * last.half - before.half;
        for (int i = 0; i < 4; i++) exact.start[i] = 2.0 * last.start[i] - before.start[i];
        expect_start(&half, &exact);
    }
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, points_solved_before_lead_on);
    tcase_add_test(tests, a_quartic_is_parted_into_what_it_is_made_of);
    tcase_add_test(tests, slopes_of_a_half_wave_are_those_of_chords);
    tcase_add_test(tests, the_way_along_the_branch_is_that_of_its_neighbours);
    tcase_add_test(tests, every_start_leads_to_the_same_half_wave);
    tcase_add_test(tests, a_half_wave_that_overruns_a_border_does_not_stand);
}

int main(void)
{
    return story_main("start of a resonant half wave", fill);
}
