/* check_stage_straits.c - stages short of scratch, and with one input at a time that is absurd: the first is
 * told as such and writes nothing beyond, the second is refused with a reason or answered in numbers. */
#include <math.h>
#include <string.h>

#include "boost_pfc_design.h"
#include "flyback_design.h"
#include "llc_design.h"
#include "story.h"

static const double pi = 3.14159265358979324;
static hl_segment sine; /* line current of a load on the mains, at unity power factor */

/* Every slot with a plausible part of the first family it takes. */
static void fill_slots(stage_bench *bench, double inductance, double capacitance)
{
    const hl_stage *stage = bench->model->stage;
    for (size_t s = 0; s < stage->n_slots; s++) {
        unsigned family = 0;
        while (!(stage->slots[s].families & HL_FITS(family))) family++;
        *stage_bench_fill(bench, stage->slots[s].name, (hl_family)family, 1) =
            (hl_terminal){.struct_size = sizeof(hl_terminal),
                          .resistance = 0.01,
                          .voltage = family == HL_FAMILY_DIODE ? 0.7 : 0,
                          .reverse_voltage = family == HL_FAMILY_SWITCH ? 0.8 : 0,
                          .inductance = family == HL_FAMILY_MAGNETIC ? inductance : 0,
                          .leakage = family == HL_FAMILY_MAGNETIC ? 1e-3 * inductance : 0,
                          .capacitance = family == HL_FAMILY_CAPACITOR ? capacitance : 0,
                          .output_charge = family == HL_FAMILY_SWITCH ? 1e-9 : 0,
                          .turns_ratio = 1,
                          .winding_resistance = {0.01, 0.01},
                          .windings = family == HL_FAMILY_MAGNETIC ? 2 : 0};
    }
}

static void on_mains(stage_bench *bench, double duration)
{
    double current = 65.0 / 230.0;
    sine = (hl_segment){.duration = duration, .omega = 2 * pi * 50, .sine = sqrt(2) * current};
    bench->in.input_voltage = 230;
    bench->in.input_frequency = 50;
    bench->in.load =
        (hl_side){.voltage = 230, .current = current, .power = 65, .line_frequency = 50, .line = {1, &sine}};
}

static stage_bench *make_llc(void)
{
    stage_bench *bench = llc_bench();
    lottery luck = lottery_open("llc in straits");
    for (int i = 0; i < 100; i++) {
        llc_point p = llc_draw(&luck);
        llc_lay_out_point(bench, &p);
        stage_bench_forget(bench);
        if (stage_bench_solve(bench) == HL_STAGE_SOLVED) break;
    }
    return bench;
}

static stage_bench *make_flyback(double frequency)
{
    stage_bench *bench = stage_bench_create("flyback", NULL);
    flyback_design d = flyback_adapter(325, 2, frequency);
    flyback_lay_out(bench, &d);
    return bench;
}

static stage_bench *make_resonant_flyback(void)
{
    return make_flyback(0);
}

static stage_bench *make_fixed_flyback(void)
{
    return make_flyback(65e3);
}

static stage_bench *make_boost_pfc(void)
{
    stage_bench *bench = stage_bench_create("boost_pfc", "boost_pfc");
    boost_pfc_lay_out_ideal(bench, 300e-6);
    stage_bench_set(bench, "switching_frequency", 100e3);
    boost_pfc_mains(bench, 230, 50);
    stage_bench_load(bench, 400, 0.25);
    return bench;
}

static stage_bench *make_filter(void)
{
    stage_bench *bench = stage_bench_create("mains_input_filter", NULL);
    fill_slots(bench, 5e-3, 0.33e-6);
    on_mains(bench, 1.0 / 50);
    return bench;
}

static stage_bench *make_bridge(void)
{
    stage_bench *bench = stage_bench_create("bridge_rectifier", NULL);
    fill_slots(bench, 1e-3, 0.1e-6);
    on_mains(bench, 0.5 / 50);
    return bench;
}

static stage_bench *make_capacitor_input(void)
{
    stage_bench *bench = stage_bench_create("capacitor_input_rectifier", NULL);
    fill_slots(bench, 1e-3, 0.1e-6);
    stage_bench_set(bench, "source_resistance", 1);
    on_mains(bench, 0.5 / 50);
    bench->in.output_capacitance = 100e-6;
    bench->in.load = (hl_side){.power = 65, .current = 65 / 300.0};
    return bench;
}

static stage_bench *make_dc(const char *model, double output)
{
    stage_bench *bench = stage_bench_create(model, NULL);
    fill_slots(bench, 22e-6, 10e-6);
    for (size_t p = 0; p < bench->model->n_parameters; p++)
        if (!strcmp(bench->model->parameters[p].name, "switching_frequency"))
            stage_bench_set(bench, "switching_frequency", 200e3);
    bench->in.input_voltage = 20;
    bench->in.output_capacitance = 100e-6;
    bench->in.output_esr = 5e-3;
    stage_bench_load(bench, output, 2);
    return bench;
}

static stage_bench *make_buck(void)
{
    return make_dc("synchronous_buck", 9);
}

static stage_bench *make_boost(void)
{
    return make_dc("boost", 30);
}

static stage_bench *make_four_switch(void)
{
    return make_dc("four_switch_buck_boost", 20);
}

static stage_bench *make_output_filter(void)
{
    return make_dc("lc_output_filter", 0);
}

static stage_bench *make_output_switch(void)
{
    return make_dc("output_switch", 0);
}

static const struct {
    const char *name;
    stage_bench *(*make)(void);
} stages[] = {{"llc", make_llc},
              {"resonant flyback", make_resonant_flyback},
              {"fixed flyback", make_fixed_flyback},
              {"boost_pfc", make_boost_pfc},
              {"filter", make_filter},
              {"bridge", make_bridge},
              {"capacitor input", make_capacitor_input},
              {"buck", make_buck},
              {"boost", make_boost},
              {"four switch", make_four_switch},
              {"output filter", make_output_filter},
              {"output switch", make_output_switch}};
enum { STAGES = sizeof stages / sizeof *stages };

/* Solve without the bench's own care for a scratch that is too small. */
static hl_stage_status solve_with(stage_bench *bench, size_t scratch)
{
    stage_bench_forget(bench);
    memset(&bench->out, 0, sizeof bench->out);
    bench->out.struct_size = sizeof bench->out;
    bench->scratch.used = 0;
    bench->scratch.size = scratch;
    return bench->model->stage->solve(&bench->in, &bench->out);
}

START_TEST(a_scratch_too_small_is_told)
{
    stage_bench *bench = stages[_i].make();
    size_t room = bench->scratch.size;
    ck_assert_msg(solve_with(bench, room) == HL_STAGE_SOLVED, "%s: %s", stages[_i].name,
                  bench->out.reason.text);
    size_t needed = bench->scratch.used, step = 16 * (1 + needed / (16 * 60));
    unsigned char *base = bench->scratch.base;
    for (size_t size = 0; size < needed; size += step) {
        size_t end = size + 4096 < room ? size + 4096 : room, at = size;
        memset(base + size, 0x5A, end - size);
        hl_stage_status status = solve_with(bench, size);
        ck_assert_msg(status == HL_STAGE_NO_MEMORY, "%s: %zu of %zu bytes: status %d", stages[_i].name, size,
                      needed, (int)status);
        while (at < end && base[at] == 0x5A) at++;
        ck_assert_msg(at == end, "%s: of %zu bytes it wrote byte %zu", stages[_i].name, size, at);
    }
    ck_assert_int_eq(solve_with(bench, room), HL_STAGE_SOLVED);
    ck_assert_uint_eq(bench->scratch.used, needed);
    stage_bench_destroy(bench);
}
END_TEST

/* ---------------------------------------------------------------------- absurd -- */

static void try_one(stage_bench *bench, const char *stage, double *figure, const char *what, size_t *refusals)
{
    static const double absurd[] = {0, -1, 1e12, NAN, INFINITY, -INFINITY};
    double kept = *figure;
    for (size_t i = 0; i < sizeof absurd / sizeof *absurd; i++) {
        *figure = absurd[i];
        hl_stage_status status = solve_with(bench, bench->model->stage->scratch_size);
        *figure = kept;
        ck_assert_msg(status != HL_STAGE_NO_MEMORY, "%s: %s = %g: out of scratch", stage, what, absurd[i]);
        if (status == HL_STAGE_INFEASIBLE) {
            ck_assert_msg(strlen(bench->out.reason.text) > 20, "%s: %s = %g: no reason", stage, what,
                          absurd[i]);
            ++*refusals;
            continue;
        }
        const char *fault = stage_bench_fault(bench, INFINITY);
        ck_assert_msg(!fault, "%s: %s = %g: %s", stage, what, absurd[i], fault);
    }
}

START_TEST(an_absurd_input_is_answered_or_refused)
{
    stage_bench *bench = stages[_i].make();
    hl_stage_input *in = &bench->in;
    const char *name = stages[_i].name;
    size_t refusals = 0;
    const struct {
        double *figure;
        const char *what;
    } own[] = {{&in->input_voltage, "input_voltage"},   {&in->input_frequency, "input_frequency"},
               {&in->output_voltage, "output_voltage"}, {&in->output_capacitance, "output_capacitance"},
               {&in->output_esr, "output_esr"},         {&in->input_capacitance, "input_capacitance"},
               {&in->extra_loss, "extra_loss"},         {&in->load.current, "load current"},
               {&in->load.power, "load power"},         {&in->load.voltage, "load voltage"}};
    for (size_t i = 0; i < sizeof own / sizeof *own; i++)
        try_one(bench, name, own[i].figure, own[i].what, &refusals);
    for (size_t s = 0; s < bench->model->stage->n_slots; s++) {
        hl_terminal *part = &bench->part[s];
        const struct {
            double *figure;
            const char *what;
        } shown[] = {
            {&part->resistance, "resistance"},        {&part->voltage, "drop"},
            {&part->reverse_voltage, "reverse drop"}, {&part->reverse_resistance, "reverse resistance"},
            {&part->inductance, "inductance"},        {&part->leakage, "leakage"},
            {&part->capacitance, "capacitance"},      {&part->output_charge, "output charge"},
            {&part->turns_ratio, "turns ratio"},      {&part->winding_resistance[0], "winding resistance"}};
        for (size_t i = 0; bench->in.slot[s].count && i < sizeof shown / sizeof *shown; i++)
            try_one(bench, name, shown[i].figure, shown[i].what, &refusals);
    }
    ck_assert_msg(refusals > 5, "%s: only %zu refused", name, refusals);
    ck_assert_int_eq(solve_with(bench, bench->model->stage->scratch_size), HL_STAGE_SOLVED);
    stage_bench_destroy(bench);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, a_scratch_too_small_is_told, 0, STAGES);
    tcase_add_loop_test(tests, an_absurd_input_is_answered_or_refused, 0, STAGES);
}

int main(void)
{
    return story_main("stage straits", fill);
}
