/* check_synchronous_buck.c - the buck stage against time-domain solutions, published designs and itself. */
#include <jansson.h>
#include <math.h>
#include <string.h>
#include <time.h>

#include "stage_bench.h"
#include "story.h"

/* ------------------------------------------------------------- reference -- */

static const struct {
    const char *reference, *quantity;
} names[] = {
    {"ton", "on_time"},
    {"duty", "duty_ratio"},
    {"Ihs_rms", "high_switch_current_rms"},
    {"Ihs_avg", "high_switch_current_average"},
    {"Ils_rms", "low_switch_current_rms"},
    {"Ibody_ls_avg", "low_body_current_average"},
    {"Ibody_ls_rms", "low_body_current_rms"},
    {"Ibody_hs_avg", "high_body_current_average"},
    {"IL_rms", "inductor_current_rms"},
    {"IL_peak", "inductor_current_peak"},
    {"IL_valley", "inductor_current_valley"},
    {"IL_pp", "inductor_current_ripple"},
    {"IL_ac_rms", "inductor_current_ac_rms"},
    {"Icin_rms", "input_capacitor_current_rms"},
    {"Iin_avg", "input_current_average"},
    {"Icout_rms", "output_capacitor_current_rms"},
    {"Vout_pp", "output_voltage_ripple"},
    {"P_hs", "high_switch_conduction_loss"},
    {"P_ls", "low_switch_conduction_loss"},
    {"P_body", "body_conduction_loss"},
    {"P_dcr", "inductor_winding_loss"},
    {"P_esr", "output_capacitor_loss"},
    {"efficiency_conduction", "conduction_efficiency"},
    {"I_at_hs_turn_on", "turn_on_current"},
    {"I_at_hs_turn_off", "turn_off_current"},
};

static double input_of(const json_t *inputs, const char *name)
{
    const json_t *value = json_object_get(inputs, name);
    ck_assert_msg(json_is_number(value), "the case states no %s", name);
    return json_number_value(value);
}

static void lay_out(stage_bench *bench, const json_t *in)
{
    stage_bench_set(bench, "switching_frequency", input_of(in, "fs"));
    stage_bench_set(bench, "dead_time_fall", input_of(in, "td1"));
    stage_bench_set(bench, "dead_time_rise", input_of(in, "td2"));
    const char *mode = json_string_value(json_object_get(in, "mode"));
    stage_bench_choose(bench, "light_load", strcmp(mode, "dem") ? "forced_continuous" : "diode_emulation");
    hl_terminal *high = stage_bench_fill(bench, "high_switch", HL_FAMILY_SWITCH, 1);
    hl_terminal *low = stage_bench_fill(bench, "low_switch", HL_FAMILY_SWITCH, 1);
    hl_terminal *choke = stage_bench_fill(bench, "inductor", HL_FAMILY_MAGNETIC, 1);
    high->resistance = input_of(in, "Rhs");
    low->resistance = input_of(in, "Rls");
    high->reverse_voltage = low->reverse_voltage = input_of(in, "Vf");
    choke->inductance = input_of(in, "L");
    choke->winding_resistance[0] = choke->resistance = input_of(in, "DCR");
    bench->in.input_voltage = input_of(in, "Vin");
    bench->in.output_capacitance = input_of(in, "Cout");
    bench->in.output_esr = input_of(in, "esr");
    stage_bench_load(bench, input_of(in, "Vout"), input_of(in, "Iout"));
}

static double wave_rms_without_mean(const hl_wave *wave)
{
    double rms = hl_wave_rms(wave), mean = hl_wave_average(wave);
    return sqrt(fmax(rms * rms - mean * mean, 0.0));
}

/* What the waves say must be what the figures say. */
static void check_waves(const stage_bench *bench)
{
    const hl_stage_output *out = &bench->out;
    ck_near(hl_wave_average(out->output.wave), bench->in.load.current, 1e-9, 1e-9);
    ck_near(hl_wave_average(out->input.wave), stage_bench_quantity(bench, "input_current_average"), 1e-8,
            1e-9);
    ck_near(wave_rms_without_mean(out->output.wave),
            stage_bench_quantity(bench, "output_capacitor_current_rms"), 1e-6, 1e-9);
    ck_near(wave_rms_without_mean(out->input.wave),
            stage_bench_quantity(bench, "input_capacitor_current_rms"), 1e-6, 1e-9);
    const hl_stress *choke = stage_bench_stress(bench, "inductor");
    ck_near(hl_wave_period(choke->flux_voltage), 1.0 / stage_bench_quantity(bench, "switching_frequency"),
            1e-12, 0);
    double swing = hl_wave_integral_swing(choke->flux_voltage) / bench->part[2].inductance;
    ck_near(swing, stage_bench_quantity(bench, "inductor_current_ripple"), 1e-7, 0);
}

/* Time-domain solutions of seven synchronous bucks, each output stated to about 1e-10.  The brief allows 0.5
 * %. */
START_TEST(every_output_of_the_reference_cases_is_met)
{
    json_t *file = json_load_file(HL_TEST_SOURCE "/reference/C_buck_open.json", 0, NULL);
    ck_assert_ptr_nonnull(file);
    size_t index, checked = 0;
    json_t *one;
    double worst = 0.0;
    json_array_foreach(json_object_get(file, "cases"), index, one)
    {
        stage_bench *bench = stage_bench_create("synchronous_buck", NULL);
        lay_out(bench, json_object_get(one, "inputs"));
        stage_bench_expect_solved(bench);
        stage_bench_check_contract(bench, 1e-9);
        check_waves(bench);
        const json_t *outputs = json_object_get(one, "outputs");
        ck_assert_uint_eq(json_object_size(outputs), sizeof names / sizeof *names);
        for (size_t k = 0; k < sizeof names / sizeof *names; k++) {
            double expected =
                json_number_value(json_object_get(json_object_get(outputs, names[k].reference), "value"));
            double found = stage_bench_quantity(bench, names[k].quantity);
            double off = fabs(found - expected) / fmax(fabs(expected), 1e-6);
            if (off > worst) worst = off;
            if (off > 1e-8)
                ck_abort_msg("%s %s: %.13g, reference %.13g (off %.2g)",
                             json_string_value(json_object_get(one, "id")), names[k].reference, found,
                             expected, off);
            checked++;
        }
        stage_bench_destroy(bench);
    }
    json_decref(file);
    printf("buck: %zu reference figures, worst off by %.2g\n", checked, worst);
    ck_assert_uint_ge(checked, 7 * 25);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_output_of_the_reference_cases_is_met);
}

int main(void)
{
    return story_main("synchronous_buck", fill);
}
