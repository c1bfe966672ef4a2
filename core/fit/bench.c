/* bench.c - a bench as a model for the fit: points, what was read, what the design says. */
#include "fit/bench.h"
#include "diagnostic/joined.h"
#include "fit/fit.h"
#include "heatledger/quantity.h"
#include "quantity/float_state.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void hl_bench_destroy(hl_bench *bench)
{
    if (!bench) return;
    hl_workspace_destroy(bench->workspace);
    hl_figures_destroy(bench->figures);
    arena_destroy(bench->memory);
    free(bench);
}

size_t hl_bench_points(const hl_bench *bench)
{
    return bench->n_points;
}

const char *hl_bench_point_name(const hl_bench *bench, size_t point)
{
    return point < bench->n_points ? bench->points[point].name : NULL;
}

size_t hl_bench_values(const hl_bench *bench)
{
    return bench->n_values;
}

const hl_fit_value *hl_bench_value(const hl_bench *bench, size_t index)
{
    return index < bench->n_values ? &bench->values[index].fit : NULL;
}

const char *hl_bench_value_unit(const hl_bench *bench, size_t index)
{
    return index < bench->n_values ? bench->values[index].unit : NULL;
}

size_t hl_bench_readings(const hl_bench *bench)
{
    return bench->n_readings;
}

const hl_fit_reading *hl_bench_reading(const hl_bench *bench, size_t index, const char **unit, size_t *point,
                                       hl_place *place)
{
    if (index >= bench->n_readings) return NULL;
    const bench_reading *reading = &bench->readings[index];
    if (unit) *unit = reading->unit;
    if (point) *point = reading->point;
    if (place) *place = reading->place;
    return &reading->fit;
}

void hl_bench_set_reading(hl_bench *bench, size_t index, double value)
{
    if (index < bench->n_readings) bench->readings[index].fit.value = value;
}

const char *hl_bench_reason(const hl_bench *bench)
{
    return bench->reason;
}

static bool solve_point(hl_bench *bench, size_t point, const double values[])
{
    const bench_point *at = &bench->points[point];
    memcpy(bench->settings, bench->base, hl_design_settings(bench->design) * sizeof *bench->settings);
    for (size_t i = 0; i < at->n_set; i++) bench->settings[at->set[i]] = at->to[i];
    for (size_t k = 0; k < bench->n_values; k++)
        for (size_t i = 0; i < bench->values[k].n; i++)
            bench->settings[bench->values[k].settings[i]] = values[k];
    hl_status status = hl_solve(bench->workspace, bench->settings);
    if (status == HL_OK && hl_result_outcome(bench->workspace) == HL_SOLVED) return true;
    snprintf(bench->reason, sizeof bench->reason, "point '%.100s': %s", at->name,
             hl_result_reason(bench->workspace));
    return false;
}

/* "ntc.hot_resistance = 312 ohm, sr.on_resistance = 5 mohm": with what a point had no answer. */
static void keep_trial(hl_bench *bench, const double values[])
{
    size_t size = sizeof bench->trial;
    bench->trial[0] = '\0';
    for (size_t k = 0; k < bench->n_values; k++) {
        char text[40];
        hl_quantity_print(values[k], bench->values[k].unit, 4, text, sizeof text);
        join_word(bench->trial, size, ", ", bench->values[k].fit.name);
        join_word(bench->trial, size, " = ", text);
    }
}

bool hl_bench_predict(hl_bench *bench, const double values[], double predicted[])
{
    PLAIN_FLOAT_STATE;
    bench->reason[0] = '\0';
    for (size_t point = 0; point < bench->n_points; point++) {
        if (!solve_point(bench, point, values)) {
            keep_trial(bench, values);
            return false;
        }
        hl_figures_read(bench->figures, bench->workspace, bench->read);
        for (size_t i = 0; i < bench->n_readings; i++)
            if (bench->readings[i].point == point) predicted[i] = bench->read[bench->readings[i].figure];
    }
    return true;
}

static bool model(void *context, const double values[], double predicted[])
{
    return hl_bench_predict(context, values, predicted);
}

static void say_no_fit(const hl_bench *bench, hl_diagnostics *diagnostics)
{
    char open[300] = "";
    for (size_t k = 0; k < bench->n_values; k++)
        if (bench->values[k].open) join_word(open, sizeof open, ", ", bench->values[k].fit.name);
    if (!*bench->reason)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL,
                           "no fit: a figure that was read does not exist at this point");
    else
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "no fit: with %s: %s; %s%s", bench->trial,
                           bench->reason,
                           *open ? "give low: and high: near what is likely for "
                                 : "narrow low: and high:, or state another start:",
                           open);
}

/* Where the readings leave more open than the value's own band does, they tell nothing that was not known. */
static void compare_with_bands(const hl_bench *bench, hl_fit_result *result)
{
    for (size_t k = 0; k < bench->n_values; k++) {
        hl_band band;
        hl_design_band(bench->design, bench->values[k].settings[0], &band);
        double before = band.kind == HL_BAND_NONE ? 0 : hl_band_deviation(&band);
        if (before > 0 && !(result->estimate[k].u <= before)) result->estimate[k].told = false;
    }
}

hl_status hl_bench_fit(hl_bench *bench, const double base[], hl_fit_result **result,
                       hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    *result = NULL;
    hl_fit_value *values = calloc(bench->n_values + 1, sizeof *values);
    hl_fit_reading *readings = calloc(bench->n_readings + 1, sizeof *readings);
    hl_status status = HL_NO_MEMORY;
    if (values && readings) {
        if (base)
            memcpy(bench->base, base, hl_design_settings(bench->design) * sizeof *base);
        else
            hl_design_defaults(bench->design, bench->base);
        for (size_t k = 0; k < bench->n_values; k++) values[k] = bench->values[k].fit;
        for (size_t i = 0; i < bench->n_readings; i++) readings[i] = bench->readings[i].fit;
        hl_fit_problem problem = {.n_values = bench->n_values,
                                  .n_readings = bench->n_readings,
                                  .values = values,
                                  .readings = readings,
                                  .model = model,
                                  .context = bench};
        status = hl_fit(&problem, result);
        if (status == HL_OK) compare_with_bands(bench, *result);
    }
    free(values);
    free(readings);
    if (status == HL_NO_SOLUTION)
        say_no_fit(bench, diagnostics);
    else if (status != HL_OK)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "no fit: %s", hl_status_text(status));
    return status;
}
