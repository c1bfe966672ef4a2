#include "prove/draw.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool drawn_values_create(drawn_values *drawn, const hl_model *model)
{
    *drawn = (drawn_values){.model = model};
    drawn->values = calloc(model->n_parameters + 1, sizeof *drawn->values);
    drawn->rows = calloc(model->n_parameters + 1, 2 * DRAW_POINTS * sizeof *drawn->rows);
    if (drawn->values && drawn->rows) return true;
    drawn_values_destroy(drawn);
    return false;
}

void drawn_values_destroy(drawn_values *drawn)
{
    free(drawn->values);
    free(drawn->rows);
    *drawn = (drawn_values){0};
}

double draw_within(chance *luck, double low, double high)
{
    if (!(low < high)) return low;
    if (chance_of(luck, 0.05)) return chance_of(luck, 0.5) ? low : high;
    if (low > 0.0 && high / low > 10.0) return chance_scale(luck, low, high);
    if (low == 0.0 && chance_of(luck, 0.5)) return chance_scale(luck, 1e-6 * high, high);
    return chance_between(luck, low, high);
}

static bool whole(double x)
{
    return x == floor(x) && fabs(x) < 1e9;
}

/* Counts (turns, phases, windings) are mostly meant whole where their bounds are. */
static bool counts(const hl_parameter *p)
{
    return !strcmp(p->dimension, "1") && p->low < p->high && whole(p->low) && whole(p->high) &&
           p->high - p->low >= 3.0;
}

static double number_of(chance *luck, const hl_parameter *p, draw_mode mode)
{
    double low = p->low, high = p->high;
    if (low == high) { /* not checked by the host: stay near what the table itself says */
        if (p->flags & HL_DEFAULT) return p->fallback;
        return chance_scale(luck, 1e-3, 1e3);
    }
    if (mode == DRAW_LOW) return low;
    if (mode == DRAW_HIGH) return high;
    if (mode == DRAW_CORNER) return chance_of(luck, 0.5) ? low : high;
    double number = draw_within(luck, low, high);
    return counts(p) && chance_of(luck, 0.7) ? floor(number) : number;
}

static double word_of(chance *luck, const hl_parameter *p, draw_mode mode)
{
    size_t n = 0;
    while (p->choices && p->choices[n]) n++;
    if (mode == DRAW_LOW || !n) return 0.0;
    return mode == DRAW_HIGH ? (double)(n - 1) : (double)chance_below(luck, n);
}

static double abscissa(chance *luck, const char *unit)
{
    if (!strcmp(unit, "degC") || !strcmp(unit, "K")) return chance_between(luck, 230.0, 480.0);
    if (!strcmp(unit, "Hz")) return chance_scale(luck, 10.0, 1e7);
    if (!strcmp(unit, "V")) return chance_between(luck, 0.0, 900.0);
    if (!strcmp(unit, "A")) return chance_between(luck, 0.0, 60.0);
    return chance_between(luck, 0.0, 100.0);
}

static void sort(double *row, size_t n)
{
    for (size_t i = 1; i < n; i++)
        for (size_t k = i; k > 0 && row[k - 1] > row[k]; k--) {
            double held = row[k];
            row[k] = row[k - 1];
            row[k - 1] = held;
        }
}

static void draw_curve(drawn_values *drawn, size_t index, const hl_parameter *p, chance *luck, draw_mode mode)
{
    double *x = drawn->rows + index * 2 * DRAW_POINTS, *y = x + DRAW_POINTS;
    hl_value *v = &drawn->values[index];
    size_t n = drawn->flat || chance_of(luck, 0.3) ? 1 : 2 + chance_below(luck, DRAW_POINTS - 1);
    for (size_t k = 0; k < n; k++) {
        x[k] = abscissa(luck, p->x_dimension ? p->x_dimension : "1");
        y[k] = number_of(luck, p, mode);
    }
    sort(x, n);
    for (size_t k = 1; k < n; k++)
        if (!(x[k] > x[k - 1])) n = k; /* strictly rising is promised */
    if (chance_of(luck, 0.5)) sort(y, n);
    if (n == 1) x[0] = 0.0; /* a lone number, as the host hands it over */
    v->number = y[0];
    v->curve = (hl_curve){n, x, y, n > 1 && chance_of(luck, 0.5)};
}

/* A list as a model might want it: numbers in the range, or each of 1 .. n once, in any order. */
static void draw_list(drawn_values *drawn, size_t index, const hl_parameter *p, chance *luck, draw_mode mode,
                      size_t entries)
{
    double *y = drawn->rows + index * 2 * DRAW_POINTS;
    hl_value *v = &drawn->values[index];
    bool order = counts(p) && p->low == 1.0 && p->high <= HL_WINDINGS_MAX && chance_of(luck, 0.7);
    size_t n = chance_of(luck, 0.85) ? entries : 1 + chance_below(luck, DRAW_POINTS);
    for (size_t k = 0; k < n; k++) {
        if (p->kind == HL_CHOICES)
            y[k] = word_of(luck, p, mode);
        else
            y[k] = order ? (double)(k + 1) : number_of(luck, p, mode);
    }
    for (size_t k = n; order && k > 1; k--) { /* shuffle */
        size_t other = chance_below(luck, k);
        double held = y[k - 1];
        y[k - 1] = y[other];
        y[other] = held;
    }
    v->number = y[0];
    v->curve = (hl_curve){n, NULL, y, false};
}

static void draw_one(drawn_values *drawn, size_t index, const hl_parameter *p, chance *luck, draw_mode mode,
                     size_t entries)
{
    hl_value *v = &drawn->values[index];
    if (p->kind == HL_CURVE)
        draw_curve(drawn, index, p, luck, mode);
    else if (p->kind == HL_LIST || p->kind == HL_CHOICES)
        draw_list(drawn, index, p, luck, mode, entries);
    else
        v->number = p->kind == HL_CHOICE ? word_of(luck, p, mode) : number_of(luck, p, mode);
    v->minimum = v->maximum = v->number;
    v->origin = HL_ORIGIN_DATASHEET;
    v->given = true;
}

static void take_default(drawn_values *drawn, size_t index, const hl_parameter *p)
{
    hl_value *v = &drawn->values[index];
    double *row = drawn->rows + index * 2 * DRAW_POINTS;
    if (!(p->flags & HL_DEFAULT) || p->kind == HL_LIST || p->kind == HL_CHOICES) return;
    v->number = v->minimum = v->maximum = row[1] = p->fallback;
    row[0] = 0.0;
    if (p->kind == HL_CURVE) v->curve = (hl_curve){1, row, row + 1, false};
    v->origin = HL_ORIGIN_ESTIMATE;
    v->given = true;
}

void drawn_values_draw(drawn_values *drawn, chance *luck, draw_mode mode)
{
    const hl_model *model = drawn->model;
    size_t entries = chance_of(luck, 0.8) ? 2 + chance_below(luck, 3) : 1 + chance_below(luck, DRAW_POINTS);
    memset(drawn->values, 0, model->n_parameters * sizeof *drawn->values);
    for (size_t i = 0; i < model->n_parameters; i++) {
        const hl_parameter *p = hl_model_parameter(model, i);
        bool draws = p->flags & HL_REQUIRED || mode != DRAW_REQUIRED;
        if (mode == DRAW_SOME && !(p->flags & HL_REQUIRED)) draws = chance_of(luck, 0.5);
        if (draws)
            draw_one(drawn, i, p, luck, mode, entries);
        else
            take_default(drawn, i, p);
    }
}

void drawn_values_put(drawn_values *drawn, size_t index, double number)
{
    hl_value *v = &drawn->values[index];
    double *row = drawn->rows + index * 2 * DRAW_POINTS;
    v->number = v->minimum = v->maximum = number;
    if (v->curve.n) {
        double *y = row + (v->curve.y - row); /* its memory is ours */
        y[v->curve.n - 1] = number;
        y[0] = number;
    }
    v->origin = HL_ORIGIN_DATASHEET;
    v->given = true;
}
