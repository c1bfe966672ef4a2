/* check_stage_figures.c - what every shipped stage answers, over designs drawn for it and eight operating
 * points of each, is what it answered before.
 *
 * A line is eight designs: both sides, losses and headroom; every named quantity; the stress of each slot,
 * its currents, voltages, rates, spectrum and waves each as one figure.  Of a point that cannot be the
 * numbers in the sentence.  The first six points of a design are the same shares for all, the seventh is
 * drawn, and at the eighth something is amiss: a part, a value or what is asked. */
#include <ctype.h>
#include <math.h>
#include <string.h>

#include "figure_stage.h"
#include "heatledger/catalogue.h"
#include "story.h"

enum { LINES = 6, MATES = 8, POINTS = 8 };

typedef struct trial {
    const char *plugin, *model;
    size_t first;
} trial;

/* ------------------------------------------------------------------- sides -- */

static void put(figure_sheet *sheet, const char *of, const char *what, double figure, double scale)
{
    char name[64];
    snprintf(name, sizeof name, "%s.%s", of, what);
    figure_sheet_put_of(sheet, name, figure, scale);
}

/* Of a cycle in a mean in which each counts for itself. */
static double share_of(const double *weight, size_t k)
{
    return (weight ? weight[k] : 1.0) * (1.0 + 0.05 * (double)k);
}

/* Means of waves, each by its share; the first harmonic tells what comes when. */
static void say_waves(figure_sheet *sheet, const char *of, const char *what, const double *weight,
                      const hl_wave *wave, size_t n)
{
    double rms = 0.0, average = 0.0, highest = 0.0, lowest = 0.0, cosine = 0.0, sine = 0.0;
    size_t written = 0;
    for (size_t k = 0; wave && k < n; k++) {
        double share = share_of(weight, k), high, low, c, s;
        if (!wave[k].n) continue;
        written++;
        hl_wave_peaks(&wave[k], &high, &low);
        hl_wave_fourier(&wave[k], 1, &c, &s);
        rms += share * hl_wave_rms(&wave[k]);
        average += share * hl_wave_average(&wave[k]);
        highest += share * high, lowest += share * low;
        cosine += share * c, sine += share * s;
    }
    if (!written) return;
    put(sheet, of, what, rms, 0.0);
    put(sheet, of, what, average, rms);
    put(sheet, of, what, highest, rms);
    put(sheet, of, what, lowest, rms);
    put(sheet, of, what, cosine, rms);
    put(sheet, of, what, sine, rms);
}

static void say_side(figure_sheet *sheet, const char *of, const hl_side *side)
{
    double hertz = 0.0;
    put(sheet, of, "voltage", side->voltage, 0.0);
    put(sheet, of, "current", side->current, 1e-3 * side->current_peak);
    put(sheet, of, "power", side->power, 1e-3 * side->voltage * side->current_peak);
    put(sheet, of, "current_peak", side->current_peak, 0.0);
    put(sheet, of, "voltage_peak", side->voltage_peak, 0.0);
    say_waves(sheet, of, "line", NULL, &side->line, 1);
    say_waves(sheet, of, "wave", side->weight, side->wave, side->cycles);
    for (size_t k = 0; side->frequency && k < side->cycles; k++)
        hertz += share_of(side->weight, k) * side->frequency[k];
    put(sheet, of, "frequency", hertz, 0.0);
    put(sheet, of, "frequency", side->line_frequency, 0.0);
}

/* ------------------------------------------------------------------ stress -- */

static void say_array(figure_sheet *sheet, const char *slot, const char *what, const hl_stress *s,
                      const double *array)
{
    double sum = 0.0, size = 0.0;
    for (size_t k = 0; array && k < s->n; k++) {
        double share = share_of(s->weight, k);
        sum += share * array[k];
        size += share * fabs(array[k]);
    }
    put(sheet, slot, what, sum, size);
}

static void say_magnetics(figure_sheet *sheet, const char *slot, const hl_stress *s)
{
    double swing = 0.0;
    for (size_t k = 0; s->flux_voltage && k < s->n; k++)
        swing += share_of(s->weight, k) * hl_wave_integral_swing(&s->flux_voltage[k]);
    put(sheet, slot, "swing", swing, 0.0);
    put(sheet, slot, "swing", s->flux_bias, 1e-3 * swing);
    say_waves(sheet, slot, "flux", s->weight, s->flux_voltage, s->n);
    for (size_t w = 0; w < s->windings; w++) {
        char winding[32];
        snprintf(winding, sizeof winding, "winding%zu", w);
        say_waves(sheet, slot, winding, s->weight, s->winding_current[w], s->n);
    }
}

static void say_stress(figure_sheet *sheet, const char *slot, const hl_stress *s)
{
    double squares = 0.0, hertz = 0.0;
    say_array(sheet, slot, "currents", s, s->current_average);
    say_array(sheet, slot, "currents", s, s->current_rms);
    say_array(sheet, slot, "currents", s, s->current_peak);
    say_array(sheet, slot, "switched", s, s->current_on);
    say_array(sheet, slot, "switched", s, s->current_off);
    say_array(sheet, slot, "reverse", s, s->reverse_average);
    say_array(sheet, slot, "reverse", s, s->reverse_rms);
    say_array(sheet, slot, "voltages", s, s->voltage_on);
    say_array(sheet, slot, "voltages", s, s->voltage_off);
    say_array(sheet, slot, "voltages", s, s->charge_on);
    say_array(sheet, slot, "rates", s, s->frequency);
    say_array(sheet, slot, "rates", s, s->slope_off);
    say_array(sheet, slot, "rates", s, s->duty);
    put(sheet, slot, "totals", s->total_rms, 0.0);
    put(sheet, slot, "totals", s->total_average, s->total_rms);
    put(sheet, slot, "totals", s->total_peak, 0.0);
    put(sheet, slot, "held", s->voltage_dc, 1e-3 * s->voltage_peak);
    put(sheet, slot, "held", s->voltage_peak, 0.0);
    for (size_t i = 0; i < s->lines; i++) {
        squares += s->line_rms_squared[i];
        hertz += s->line_rms_squared[i] * s->line_frequency[i];
    }
    put(sheet, slot, "spectrum", squares, 0.0);
    put(sheet, slot, "spectrum", hertz, 0.0);
    say_magnetics(sheet, slot, s);
}

/* ------------------------------------------------------------------ points -- */

static void say_numbers(figure_sheet *sheet, const char *name, const char *text)
{
    while (*text) {
        char *end;
        double number = isdigit((unsigned char)*text) ? strtod(text, &end) : 0.0;
        if (isdigit((unsigned char)*text))
            figure_sheet_put(sheet, name, number), text = end;
        else
            text++;
    }
}

static void say_point(figure_sheet *sheet, const stage_bench *bench, hl_stage_status status)
{
    const hl_stage_output *out = &bench->out;
    figure_sheet_put(sheet, "refused", (double)(status != HL_STAGE_SOLVED));
    say_numbers(sheet, "said", status != HL_STAGE_SOLVED ? out->reason.text : out->note.text);
    if (status != HL_STAGE_SOLVED) return;
    double power = out->input.power;
    say_side(sheet, "input", &out->input);
    say_side(sheet, "output", &out->output);
    figure_sheet_put_of(sheet, "circuit_loss", out->circuit_loss, 1e-4 * power);
    figure_sheet_put_of(sheet, "own_loss", out->own_loss, 1e-4 * power);
    figure_sheet_put_of(sheet, "bus_circuit_loss", out->bus_circuit_loss, 1e-6 * power);
    figure_sheet_put(sheet, "headroom_value", out->headroom_value);
    figure_sheet_put(sheet, "headroom_limit", out->headroom_limit);
    for (size_t i = 0; i < out->quantities; i++)
        figure_sheet_put(sheet, out->quantity[i].name, out->quantity[i].value);
    for (size_t s = 0; s < bench->model->stage->n_slots; s++) {
        put(sheet, bench->model->stage->slots[s].name, "crest", out->crest_share[s], 0.0);
        say_stress(sheet, bench->model->stage->slots[s].name, &out->stress[s]);
    }
}

/* What is said of values that do not fit each other, and how many positions a slot stands for. */
static bool say_values(figure_sheet *sheet, const stage_bench *bench)
{
    const hl_stage *stage = bench->model->stage;
    hl_reason reason = {""};
    bool sound = !stage->prepare || stage->prepare(bench->values, &reason);
    figure_sheet_put(sheet, "refused", sound ? 0.0 : 2.0);
    if (!sound) say_numbers(sheet, "said", reason.text);
    for (size_t s = 0; stage->positions && s < stage->n_slots; s++)
        put(sheet, stage->slots[s].name, "crest", stage->positions(bench->values, s), 0.0);
    return sound;
}

static void say_designs(void *context, figure_hair *hair, figure_sheet *sheet)
{
    static const double load[POINTS] = {1.0, 0.45, 0.12, 0.015, 2.5, 0.0};
    static const double input[POINTS] = {1.0, 0.9, 1.1, 1.0, 0.95, 1.05};
    const trial *t = context;
    for (size_t k = 0; k < MATES * POINTS; k++) {
        figure_stage stage;
        size_t point = k % POINTS;
        stage_bench *bench = stage_bench_create(t->plugin, t->model);
        figure_stage_deal(&stage, bench, t->first + k / POINTS);
        if (point < 6)
            figure_stage_point(&stage, load[point], input[point], hair);
        else
            figure_stage_draw_point(&stage, point == 7, hair);
        if (say_values(sheet, bench)) say_point(sheet, bench, stage_bench_solve(bench));
        stage_bench_destroy(bench);
    }
}

/* --------------------------------------------------------------- programs -- */

static void keep_model(const char *plugin, const char *model)
{
    char what[128], file[96];
    snprintf(what, sizeof what, "The stage %s over drawn designs, eight operating points each.", model);
    snprintf(file, sizeof file, "stage_%s", model);
    kept_figures *kept = kept_figures_open(file, what);
    for (size_t line = 0; line < LINES; line++) {
        char name[96];
        trial t = {plugin, model, line * MATES};
        snprintf(name, sizeof name, "%s.%zu-%zu", model, t.first, t.first + MATES - 1);
        kept_figures_line(kept, name, say_designs, &t);
    }
    kept_figures_close(kept);
}

static hl_host *host;

START_TEST(no_figure_of_a_stage_moves_unasked)
{
    const hl_model *model = hl_host_model(host, (size_t)_i);
    const char *only = getenv("HL_TEST_MODEL");
    if (!model->stage || (only && *only && strcmp(only, model->name) != 0)) return;
    char plugin[256];
    const char *file = strrchr(hl_host_model_file(host, (size_t)_i), '/');
    ck_assert_ptr_nonnull(file);
    snprintf(plugin, sizeof plugin, "%s", file + 1);
    plugin[strcspn(plugin, ".")] = '\0';
    keep_model(plugin, model->name);
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_loop_test(tests, no_figure_of_a_stage_moves_unasked, 0, (int)hl_host_models(host));
}

int main(void)
{
    hl_diagnostics *said = hl_diagnostics_create();
    host = hl_host_create();
    bool good = hl_host_load_folder(host, HL_TEST_PLUGINS, said) == HL_OK;
    int result = good ? story_main("stage figures", fill) : EXIT_FAILURE;
    hl_host_destroy(host);
    hl_diagnostics_destroy(said);
    return result;
}
