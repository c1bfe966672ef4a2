/* figure_part.c - parts drawn from a model's table of parameters, and the starter parts varied. */
#include "figure_part.h"

#include <math.h>
#include <string.h>

#include "story.h"

figure_part *figure_part_create(const hl_model *model)
{
    figure_part *part = calloc(1, sizeof *part);
    ck_assert_ptr_nonnull(part);
    part->model = model;
    part->values = calloc(model->n_parameters + 1, sizeof *part->values);
    part->row = calloc(model->n_parameters + 1, sizeof *part->row);
    ck_assert(part->values && part->row);
    return part;
}

void figure_part_destroy(figure_part *part)
{
    free(part->state);
    free(part->values);
    free(part->row);
    free(part);
}

bool figure_part_prepare(figure_part *part)
{
    const hl_device *device = part->model->device;
    free(part->state);
    size_t size = device->state_size(part->values);
    part->state = calloc(1, size ? size : 1);
    ck_assert_ptr_nonnull(part->state);
    part->reason = (hl_reason){0};
    return device->prepare(part->state, part->values, &part->reason);
}

/* ------------------------------------------------------------------- draw -- */

static bool now_and_then(lottery *luck, double share)
{
    return lottery_between(luck, 0.0, 1.0) < share;
}

static bool whole(double x)
{
    return x == floor(x) && fabs(x) < 1e9;
}

/* Turns, strands, layers, windings. */
static bool counts(const hl_parameter *p)
{
    return !strcmp(p->dimension, "1") && p->low < p->high && whole(p->low) && whole(p->high) &&
           p->high - p->low >= 3.0;
}

static double number_of(lottery *luck, const hl_parameter *p)
{
    if (p->low == p->high) return p->flags & HL_DEFAULT ? p->fallback : lottery_scale(luck, 1e-3, 1e3);
    double number = p->low > 0.0 && p->high / p->low > 10.0 ? lottery_scale(luck, p->low, p->high)
                                                            : lottery_between(luck, p->low, p->high);
    return counts(p) ? floor(number) : number;
}

static double word_of(lottery *luck, const hl_parameter *p)
{
    size_t n = 0;
    while (p->choices[n]) n++;
    return (double)lottery_below(luck, n);
}

static double abscissa(lottery *luck, const char *unit)
{
    if (!strcmp(unit, "degC") || !strcmp(unit, "K")) return lottery_between(luck, 230.0, 480.0);
    if (!strcmp(unit, "Hz")) return lottery_scale(luck, 10.0, 1e7);
    if (!strcmp(unit, "T")) return lottery_scale(luck, 3e-3, 1.0);
    if (!strcmp(unit, "A/m")) return lottery_between(luck, 0.0, 2e4);
    if (!strcmp(unit, "V")) return lottery_between(luck, 0.0, 900.0);
    return lottery_between(luck, 0.0, 60.0);
}

static void draw_curve(lottery *luck, const hl_parameter *p, hl_value *v, double row[2][FIGURE_ROW])
{
    size_t n = now_and_then(luck, 0.4) ? 1 : 2 + lottery_below(luck, 6);
    for (size_t k = 0; k < n; k++) {
        double at = abscissa(luck, p->x_dimension ? p->x_dimension : "1");
        size_t place = k;
        for (; place > 0 && row[0][place - 1] > at; place--) row[0][place] = row[0][place - 1];
        row[0][place] = at;
        row[1][k] = number_of(luck, p);
    }
    if (n == 1) row[0][0] = 0.0; /* a lone number, as the host hands it over */
    v->number = row[1][0];
    v->curve = (hl_curve){n, row[0], row[1], n > 1 && now_and_then(luck, 0.5)};
}

/* An entry for each winding; of a winding plan, each winding once or twice in turn. */
static void draw_list(lottery *luck, const hl_parameter *p, hl_value *v, double row[2][FIGURE_ROW],
                      size_t windings)
{
    bool plan = counts(p) && p->low == 1.0 && p->high == HL_WINDINGS_MAX;
    size_t n = plan ? windings * (1 + lottery_below(luck, 2)) : windings;
    if (!plan && !(p->flags & HL_REQUIRED) && now_and_then(luck, 0.3)) n = 1;
    for (size_t k = 0; k < n; k++) {
        if (plan)
            row[1][k] = (double)(k % windings + 1);
        else
            row[1][k] = p->kind == HL_CHOICES ? word_of(luck, p) : number_of(luck, p);
    }
    v->number = row[1][0];
    v->curve = (hl_curve){n, NULL, row[1], false};
}

static void take_default(const hl_parameter *p, hl_value *v, double row[2][FIGURE_ROW])
{
    if (!(p->flags & HL_DEFAULT) || p->kind == HL_LIST || p->kind == HL_CHOICES) return;
    row[0][0] = 0.0;
    row[1][0] = p->fallback;
    *v = (hl_value){.number = p->fallback, .origin = HL_ORIGIN_ESTIMATE, .given = true};
    if (p->kind == HL_CURVE) v->curve = (hl_curve){1, row[0], row[1], false};
}

static void draw_one(figure_part *part, size_t i, unsigned long long seed, double present, size_t windings)
{
    const hl_parameter *p = hl_model_parameter(part->model, i);
    hl_value *v = &part->values[i];
    lottery luck = {.state = figure_seed(p->name, seed)};
    *v = (hl_value){0};
    if (!(p->flags & HL_REQUIRED) && !now_and_then(&luck, present)) {
        take_default(p, v, part->row[i]);
    } else {
        v->origin = HL_ORIGIN_DATASHEET;
        v->given = true;
        if (p->kind == HL_CURVE)
            draw_curve(&luck, p, v, part->row[i]);
        else if (p->kind == HL_LIST || p->kind == HL_CHOICES)
            draw_list(&luck, p, v, part->row[i], windings);
        else
            v->number = p->kind == HL_CHOICE ? word_of(&luck, p) : number_of(&luck, p);
    }
    v->minimum = v->maximum = v->number;
}

bool figure_part_draw(figure_part *part, size_t number)
{
    static const double present[8] = {1.0, 0.6, 0.8, 0.3,
                                      0.5, 0.5, 0.7, 0.4}; /* share of what may be left out */
    for (part->refused = 0; part->refused < 3000; part->refused++) {
        unsigned long long seed = figure_seed(part->model->name, 10000 * number + part->refused);
        for (size_t i = 0; i < part->model->n_parameters; i++)
            draw_one(part, i, seed, present[number % 8], 2 + number % 4);
        if (figure_part_prepare(part)) return true;
    }
    return false;
}

/* ------------------------------------------------------------------- vary -- */

static void copy_one(figure_part *part, size_t i, const hl_value *from)
{
    double(*row)[FIGURE_ROW] = part->row[i];
    hl_value *v = &part->values[i];
    *v = *from;
    ck_assert_uint_le(from->curve.n, FIGURE_ROW);
    for (size_t k = 0; k < from->curve.n; k++) {
        row[0][k] = from->curve.x ? from->curve.x[k] : 0.0;
        row[1][k] = from->curve.y[k];
    }
    if (from->curve.n) v->curve.y = row[1];
    if (from->curve.x) v->curve.x = row[0];
}

static double varied(lottery *luck, const hl_parameter *p, double number)
{
    double to = number * lottery_scale(luck, 1.0 / 1.2, 1.2);
    if (p->kind == HL_CHOICE || p->kind == HL_CHOICES || counts(p)) return number;
    return p->low == p->high || (to >= p->low && to <= p->high) ? to : number;
}

static void vary_one(figure_part *part, size_t i, unsigned long long seed)
{
    const hl_parameter *p = hl_model_parameter(part->model, i);
    hl_value *v = &part->values[i];
    lottery luck = {.state = figure_seed(p->name, seed)};
    if (!v->given) return;
    if (!(p->flags & HL_REQUIRED) && now_and_then(&luck, 0.25)) {
        *v = (hl_value){0};
        take_default(p, v, part->row[i]);
        return;
    }
    v->number = varied(&luck, p, v->number);
    for (size_t k = 0; k < v->curve.n; k++) part->row[i][1][k] = varied(&luck, p, part->row[i][1][k]);
    v->minimum = v->maximum = v->number;
}

bool figure_part_vary(figure_part *part, const hl_part *like, size_t number)
{
    for (part->refused = 0; part->refused < 100; part->refused++) {
        unsigned long long seed = figure_seed(hl_part_name(like), 1000 * number + part->refused);
        for (size_t i = 0; i < part->model->n_parameters; i++) {
            copy_one(part, i, &hl_part_values(like)[i]);
            if (number) vary_one(part, i, seed);
        }
        if (figure_part_prepare(part)) return true;
    }
    return false;
}

/* ------------------------------------------------------------------- hair -- */

/* Counts, words and zeros have nothing beside them. */
static double beside(figure_hair *hair, const hl_parameter *p, double number)
{
    bool fixed =
        p->kind == HL_CHOICE || p->kind == HL_CHOICES || (!strcmp(p->dimension, "1") && whole(number));
    return fixed ? number : figure_hair_beside(hair, number);
}

void figure_part_beside(figure_part *part, const figure_part *of, figure_hair *hair)
{
    for (size_t i = 0; i < of->model->n_parameters; i++) {
        const hl_parameter *p = hl_model_parameter(of->model, i);
        hl_value *v = &part->values[i];
        copy_one(part, i, &of->values[i]);
        v->number = v->minimum = v->maximum = beside(hair, p, v->number);
        for (size_t k = 0; k < v->curve.n; k++) {
            part->row[i][1][k] = beside(hair, p, part->row[i][1][k]);
            if (v->curve.x) part->row[i][0][k] = figure_hair_beside(hair, part->row[i][0][k]);
        }
    }
    ck_assert_msg(figure_part_prepare(part), "%s: a part a hair beside an accepted one is refused: %s",
                  part->model->name, part->reason.text);
}
