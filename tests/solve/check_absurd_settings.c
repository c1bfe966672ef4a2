/* check_absurd_settings.c - settings and values of parts drawn from 1e-300 to 1e300 in any unit, a few at a
 * time, over all shipped models: a point is refused or infeasible with a reason, or every figure of its
 * result is a number.  HEATLEDGER_ABSURD=N draws N points a design. */
#include <math.h>
#include <string.h>

#include "cli/session.h"
#include "heatledger/limits.h"
#include "lottery.h"
#include "story.h"

#define EXAMPLE(name) HL_PROJECT_SOURCE "/examples/" name
#define OWN(name)     HL_TEST_SOURCE "/solve/absurd/" name

static const char *const scripts[] = {EXAMPLE("desk_charger/charger.lua"),
                                      EXAMPLE("tool_charger/charger.lua"),
                                      EXAMPLE("wall_adapter/adapter.lua"),
                                      EXAMPLE("small_adapter/adapter.lua"),
                                      OWN("direct.lua"),
                                      OWN("totem_pole.lua")};
enum { SCRIPTS = sizeof scripts / sizeof *scripts, DRAWN_MOST = 3, HEADROOM = 24 };

typedef struct trial {
    session opened;
    const hl_design *design;
    hl_workspace *work;
    double *settings;
    size_t n;
    lottery luck;
    char drawn[400]; /* what was set, to be told */
    long refused, infeasible, ran_away, solved;
} trial;

static void begin(trial *t, const char *script)
{
    const session_options options = {.script = script, .quiet = true};
    *t = (trial){.luck = lottery_open(script)};
    ck_assert_msg(session_open(&t->opened, &options), "%s cannot be opened", script);
    t->design = t->opened.bound->design;
    t->work = t->opened.bound->workspace;
    t->settings = t->opened.bound->settings;
    t->n = hl_design_settings(t->design);
}

/* A size of any order, or one that a double can still reckon with: a misread prefix away from usual, or as
 * far beyond the range as is taken at all; now and then nothing, or a sign. */
static double absurd(lottery *luck, const hl_parameter *of, double usual)
{
    double most = of->low < of->high ? 1e6 * fmax(fabs(of->low), fabs(of->high)) : 1e30;
    double sign = lottery_below(luck, 6) ? 1 : -1;
    switch (lottery_below(luck, 6)) {
    case 0:
        return 0;
    case 1:
    case 2:
        return sign * lottery_scale(luck, 1e-300, 1e300);
    case 3:
        return usual * lottery_scale(luck, 1e-30, 1e30);
    default:
        return sign * most * lottery_scale(luck, 1e-18, 1);
    }
}

static void draw(trial *t)
{
    size_t times = 1 + lottery_below(&t->luck, DRAWN_MOST), used = 0;
    hl_design_defaults(t->design, t->settings);
    for (size_t i = 0; i < times; i++) {
        size_t at = lottery_below(&t->luck, t->n);
        if (hl_design_setting(t->design, at)->kind != HL_NUMBER) continue;
        t->settings[at] = absurd(&t->luck, hl_design_setting(t->design, at), t->settings[at]);
        if (used < sizeof t->drawn)
            used += (size_t)snprintf(t->drawn + used, sizeof t->drawn - used, " %s=%.17g",
                                     hl_design_setting_name(t->design, at), t->settings[at]);
    }
}

static void number(const trial *t, double value, const char *of, const char *what)
{
    ck_assert_msg(isfinite(value), "seed %llu:%s: %s, %s is %g", t->luck.seed, t->drawn, of, what, value);
}

static void look_at_items(const trial *t)
{
    for (size_t i = 0; i < hl_design_items(t->design); i++) {
        const char *name = hl_result_item(t->work, i)->name;
        hl_headroom limits[HEADROOM];
        number(t, hl_result_item_temperature(t->work, i), name, "temperature");
        for (int m = 0; m < HL_MECHANISMS; m++)
            number(t, hl_result_loss(t->work, i, (hl_mechanism)m), name, hl_mechanism_name((hl_mechanism)m));
        size_t n = hl_result_headroom(t->work, i, limits, HEADROOM);
        for (size_t k = 0; k < n; k++) {
            number(t, limits[k].limit.value, name, limits[k].limit.name);
            number(t, limits[k].limit.rated, name, limits[k].limit.name);
            ck_assert_msg(!isnan(limits[k].used), "seed %llu:%s: %s, use of %s", t->luck.seed, t->drawn, name,
                          limits[k].limit.name);
        }
    }
}

static void look_at_stages(const trial *t)
{
    for (size_t s = 0; s < hl_design_stages(t->design); s++) {
        const char *name = hl_design_stage_name(t->design, s);
        number(t, hl_result_stage_input(t->work, s), name, "input");
        number(t, hl_result_stage_output(t->work, s), name, "output");
        number(t, hl_result_own(t->work, s, NULL), name, "own loss");
        for (size_t q = 0; q < hl_result_quantities(t->work, s); q++) {
            const hl_quantity *of = hl_result_quantity(t->work, s, q);
            number(t, of->value, name, of->name);
        }
    }
}

static void look_at_whole(const trial *t)
{
    const hl_power_figures *f = hl_result_power(t->work);
    const double all[] = {f->input,           f->output,         f->loss,
                          f->efficiency,      f->power_factor,   f->input_current,
                          f->power_imbalance, f->heat_imbalance, hl_result_feedback_gain(t->work, NULL)};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) number(t, all[i], "power", "a figure");
    for (size_t i = 0; i < hl_design_nodes(t->design); i++) {
        number(t, hl_result_node_temperature(t->work, i), hl_design_node_name(t->design, i), "temperature");
        number(t, hl_result_node_heat(t->work, i), hl_design_node_name(t->design, i), "heat");
    }
    ck_assert_msg(fabs(f->power_imbalance) <= 1e-6 * fabs(f->input) + 1e-9, "seed %llu:%s: %g W of %g W open",
                  t->luck.seed, t->drawn, f->power_imbalance, f->input);
    ck_assert_msg(f->loss >= -1e-6 * fabs(f->input), "seed %llu:%s: a loss of %g W", t->luck.seed, t->drawn,
                  f->loss);
}

/* Where, what and why take more than a few words. */
static void reason_is_told(const trial *t)
{
    ck_assert_msg(strlen(hl_result_reason(t->work)) > 25, "seed %llu:%s: '%s'", t->luck.seed, t->drawn,
                  hl_result_reason(t->work));
}

static void try_one(trial *t)
{
    hl_status status = hl_solve(t->work, t->settings);
    ck_assert_msg(status == HL_OK || status == HL_BAD_INPUT, "seed %llu:%s: %s: %s", t->luck.seed, t->drawn,
                  hl_status_text(status), hl_result_reason(t->work));
    hl_outcome outcome = hl_result_outcome(t->work);
    if (status == HL_OK && outcome == HL_SOLVED) {
        t->solved++;
        look_at_whole(t);
        look_at_stages(t);
        look_at_items(t);
        return;
    }
    reason_is_told(t);
    t->refused += status == HL_BAD_INPUT;
    t->infeasible += status == HL_OK && outcome == HL_INFEASIBLE;
    t->ran_away += status == HL_OK && outcome == HL_RAN_AWAY;
}

START_TEST(an_absurd_setting_gives_numbers_or_a_reason)
{
    trial t;
    begin(&t, scripts[_i]);
    for (int i = 0, n = lottery_count("HEATLEDGER_ABSURD", 200); i < n; i++) {
        draw(&t);
        try_one(&t);
    }
    fprintf(stderr, "%s: %ld refused, %ld infeasible, %ld ran away, %ld solved\n", scripts[_i], t.refused,
            t.infeasible, t.ran_away, t.solved);
    ck_assert_int_gt(t.solved, 0);
    ck_assert_int_gt(t.infeasible + t.refused, 0);
    session_close(&t.opened);
}
END_TEST

START_TEST(a_value_beyond_all_is_named)
{
    static const char *const names[] = {"mains.voltage", "rectifier.bulk.capacitance",
                                        "flyback.output_voltage", "filter.x_capacitor.capacitance"};
    trial t;
    begin(&t, EXAMPLE("wall_adapter/adapter.lua"));
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        size_t at = hl_design_find_setting(t.design, names[i], NULL);
        ck_assert_msg(at < t.n, "no setting %s", names[i]);
        hl_design_defaults(t.design, t.settings);
        t.settings[at] = 1e300;
        ck_assert_int_eq(hl_solve(t.work, t.settings), HL_BAD_INPUT);
        const char *reason = hl_result_reason(t.work);
        ck_assert_msg(strstr(reason, names[i]) && strstr(reason, "check figure and unit"), "%s", reason);
    }
    session_close(&t.opened);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, an_absurd_setting_gives_numbers_or_a_reason, 0, SCRIPTS);
    tcase_add_test(tests, a_value_beyond_all_is_named);
}

int main(void)
{
    return story_main("absurd settings", fill);
}
