/* figure_winding.c - wound parts whose pieces fit together. */
#include "figure_winding.h"

#include <math.h>
#include <string.h>

enum { SHAPES = 4, ROUND = 0, LITZ, FOIL, FLAT, SECTIONS = 12, POINTS = 6 };

typedef struct winder {
    figure_part *part;
    lottery *luck;
    size_t windings;
    double width, breadth, depth; /* m, of the window; of the layers; across all layers */
    double turns, path;           /* of the first winding; m */
    double entry[16][SECTIONS];   /* what is stated of each winding, in the order of `stated` */
} winder;

enum stated { TURNS, SHAPE, DIAMETER, STRANDS, STRAND, THICKNESS, WIDTH, PARALLEL, LAYERS, PITCH, STATED };
static const char *const stated_name[STATED] = {
    "turns",          "conductor",       "conductor_diameter", "strands", "strand_diameter",
    "foil_thickness", "conductor_width", "parallel_wires",     "layers",  "layer_pitch"};

/* ------------------------------------------------------------------ state -- */

static bool often(winder *w, double share)
{
    return lottery_between(w->luck, 0.0, 1.0) < share;
}

static double between(winder *w, double low, double high)
{
    return lottery_between(w->luck, low, high);
}

static double scale(winder *w, double low, double high)
{
    return lottery_scale(w->luck, low, high);
}

static size_t place_of(const hl_model *model, const char *name)
{
    size_t i = 0;
    while (i < model->n_parameters && strcmp(hl_model_parameter(model, i)->name, name) != 0) i++;
    return i;
}

/* n values beside x, or in a list (x NULL); a model without that parameter goes without. */
static void state_row(winder *w, const char *name, const double *x, const double *y, size_t n, bool cubic)
{
    size_t i = place_of(w->part->model, name);
    if (i == w->part->model->n_parameters) return;
    hl_value *v = &w->part->values[i];
    int kind = (int)hl_model_parameter(w->part->model, i)->kind;
    double(*row)[FIGURE_ROW] = w->part->row[i];
    *v = (hl_value){.number = y[0], .minimum = y[0], .maximum = y[0], .origin = HL_ORIGIN_DATASHEET};
    v->given = true;
    if (kind == HL_NUMBER || kind == HL_CHOICE) return;
    for (size_t k = 0; k < n; k++) {
        row[0][k] = x ? x[k] : 0.0;
        row[1][k] = y[k];
    }
    v->curve = (hl_curve){n, x ? row[0] : NULL, row[1], cubic};
}

static void state(winder *w, const char *name, double number)
{
    state_row(w, name, NULL, &number, 1, false);
}

static void state_often(winder *w, double share, const char *name, double number)
{
    if (often(w, share)) state(w, name, number);
}

/* --------------------------------------------------------------- windings -- */

/* Bare size of the wire: what is left of its place by enamel and air. */
static void draw_wire(winder *w, size_t i, double place)
{
    double size = place * between(w, 0.55, 0.95);
    double(*entry)[SECTIONS] = w->entry;
    int shape = (int)entry[SHAPE][i];
    entry[STRANDS][i] = floor(scale(w, 7.0, 200.0));
    entry[DIAMETER][i] = fmin(size, 1.2e-3);
    entry[STRAND][i] = fmin(fmin(size, 3e-3) / sqrt(2.0 * entry[STRANDS][i]), 0.4e-3);
    entry[THICKNESS][i] = scale(w, 0.03e-3, 0.5e-3);
    entry[WIDTH][i] = size;
    double across = shape == ROUND  ? entry[DIAMETER][i]
                    : shape == LITZ ? entry[STRAND][i] * sqrt(2.0 * entry[STRANDS][i])
                                    : entry[THICKNESS][i];
    entry[PITCH][i] = across * between(w, 1.05, 1.6);
}

static void draw_winding(winder *w, size_t i)
{
    double(*entry)[SECTIONS] = w->entry;
    int shape = (int)(lottery_below(w->luck, SHAPES + 2) % SHAPES); /* round and litz twice as often */
    double turns = floor(shape == FOIL ? between(w, 2.0, 7.0) : scale(w, 3.0, 70.0));
    double layers = shape == FOIL ? turns : 1.0 + (double)lottery_below(w->luck, 4);
    entry[SHAPE][i] = shape;
    entry[TURNS][i] = turns;
    entry[LAYERS][i] = layers;
    entry[PARALLEL][i] = floor(scale(w, 1.0, 4.0));
    draw_wire(w, i, w->breadth / ceil(turns / layers) / entry[PARALLEL][i]);
    w->depth += layers * entry[PITCH][i];
}

static void state_windings(winder *w)
{
    double resistance[SECTIONS], portions[SECTIONS], length[SECTIONS];
    bool layers = often(w, 0.85), pitch = often(w, 0.7);
    for (size_t i = 0; i < w->windings; i++) draw_winding(w, i);
    for (int s = 0; s < STATED; s++)
        if ((s != LAYERS || layers) && (s != PITCH || pitch))
            state_row(w, stated_name[s], NULL, w->entry[s], w->windings, false);
    for (size_t i = 0; i < w->windings; i++) {
        resistance[i] = scale(w, 1e-3, 1.0);
        portions[i] = 1.0 + (double)lottery_below(w->luck, 3);
        length[i] = between(w, 30e-3, 120e-3);
    }
    w->turns = w->entry[TURNS][0];
    if (often(w, 0.3)) state_row(w, "dc_resistance", NULL, resistance, w->windings, false);
    if (often(w, 0.4)) state_row(w, "portions", NULL, portions, w->windings, false);
    if (often(w, 0.9)) state_row(w, "mean_turn_length", NULL, length, often(w, 0.5) ? w->windings : 1, false);
    state_often(w, 0.2, "resistivity", scale(w, 1.6e-8, 3e-8));
    state_often(w, 0.2, "temperature_coefficient", scale(w, 3e-3, 5e-3));
    state_often(w, 0.7, "harmonics", floor(scale(w, 1.0, 200.0)));
}

/* Each winding once, in any order, and some again. */
static void state_plan(winder *w)
{
    double plan[SECTIONS];
    size_t n = w->windings + lottery_below(w->luck, w->windings + 2);
    for (size_t i = 0; i < n; i++) {
        size_t other = i < w->windings ? lottery_below(w->luck, i + 1) : i;
        if (i < w->windings) plan[i] = plan[other];
        plan[other] = (double)(i < w->windings ? i : lottery_below(w->luck, w->windings)) + 1.0;
    }
    if (often(w, 0.85)) state_row(w, "build", NULL, plan, n, false);
}

static void state_window(winder *w)
{
    double margin = often(w, 0.3) ? w->width * between(w, 0.02, 0.2) : 0.0, offset = between(w, 0.8e-3, 3e-3);
    w->breadth = w->width - 2.0 * margin;
    if (margin > 0.0) state(w, "winding_margin", margin);
    state_windings(w);
    w->depth = (w->depth + offset + 1e-3) * (often(w, 0.9) ? between(w, 1.1, 1.8) : 0.6);
    state_often(w, 0.95, "window_width", w->width);
    state_often(w, 0.85, "window_depth", w->depth);
    state_often(w, 0.6, "window_area", w->width * w->depth);
    state_often(w, 0.5, "winding_offset", offset);
    state_often(w, 0.5, "insulation_distance", scale(w, 0.05e-3, 0.4e-3));
}

/* ------------------------------------------------------------------- core -- */

/* A rising or falling row of points, in x by ratio where it begins above zero. */
static void state_curve(winder *w, const char *name, const double x[2], const double y[2])
{
    double at[POINTS], value[POINTS];
    size_t n = 2 + lottery_below(w->luck, POINTS - 1);
    for (size_t k = 0; k < n; k++) {
        double share = (double)k / (double)(n - 1), jitter = between(w, 0.95, 1.05);
        at[k] = x[0] > 0.0 ? x[0] * pow(x[1] / x[0], share) : x[1] * share;
        value[k] = y[0] * pow(y[1] / y[0], share) * (k ? jitter : 1.0);
    }
    state_row(w, name, at, value, n, often(w, 0.5));
}

static void state_loss(winder *w)
{
    double beta = between(w, 2.1, 2.9), low = scale(w, 5e-3, 0.05), high = low * scale(w, 5.0, 40.0);
    double least = scale(w, 1e3, 1e4), most = least * pow(high / low, beta);
    size_t way = lottery_below(w->luck, 4); /* the last: nothing of it is known */
    if (way < 3) state(w, "steinmetz_alpha", between(w, 1.1, 1.9));
    if (way < 2) state(w, "steinmetz_beta", beta);
    if (way == 0) state(w, "steinmetz_k", scale(w, 0.1, 20.0));
    if (way == 1) state(w, "loss_density", scale(w, 50e3, 800e3));
    if (way == 1) state(w, "loss_flux", scale(w, 0.03, 0.3));
    if (way == 1 || way == 2) state(w, "loss_frequency", scale(w, 20e3, 1e6));
    if (way == 2) state_curve(w, "loss_over_flux", (double[]){low, high}, (double[]){least, most});
}

static void state_core(winder *w)
{
    double area = scale(w, 20e-6, 400e-6);
    w->path = 2.0 * (w->width + w->depth) * between(w, 1.1, 1.8);
    state(w, "core_area", area);
    state_often(w, 0.8, "core_path_length", w->path);
    state_often(w, 0.7, "core_volume", area * w->path * between(w, 0.8, 1.1));
    state_loss(w);
    if (often(w, 0.6)) {
        state(w, "steinmetz_ct0", between(w, 1.7, 2.2));
        state(w, "steinmetz_ct1", between(w, 0.018, 0.024));
        state(w, "steinmetz_ct2", between(w, 1e-4, 1.4e-4));
    }
    state_often(w, 0.5, "fit_temperature", between(w, 298.0, 400.0));
    state_often(w, 0.5, "fit_frequency_low", scale(w, 1e3, 1e5));
    state_often(w, 0.5, "fit_frequency_high", scale(w, 1e5, 1e6));
    state_often(w, 0.5, "fit_flux_high", scale(w, 0.05, 0.5));
    if (often(w, 0.8)) state_curve(w, "saturation_flux", (double[]){250.0, 420.0}, (double[]){0.5, 0.3});
}

static void state_rest(winder *w)
{
    bool powder = place_of(w->part->model, "permeability_over_bias") < w->part->model->n_parameters;
    state_often(w, 0.75, "gap", scale(w, 0.05e-3, 2e-3));
    state_often(w, 0.4, "gap_place", (double)lottery_below(w->luck, 3));
    state_often(w, 0.6, "relative_permeability", powder ? scale(w, 14.0, 200.0) : scale(w, 300.0, 1e4));
    state_often(w, powder ? 0.3 : 0.5, "inductance", scale(w, 1e-6, 1e-2));
    state_often(w, 0.3, "inductance_factor", scale(w, 2e-8, 3e-7));
    state_often(w, 0.4, "leakage_inductance", scale(w, 1e-7, 1e-4));
    state_often(w, 0.6, "rated_current", scale(w, 0.3, 20.0));
    state_often(w, 0.7, "bias_current", between(w, 0.0, 8e3 * w->path / w->turns));
    if (often(w, 0.8))
        state_curve(w, "permeability_over_bias", (double[]){0.0, 2e4}, (double[]){1.0, between(w, 0.1, 0.6)});
}

/* --------------------------------------------------------------- programs -- */

bool figure_winding_of(const hl_model *model)
{
    return place_of(model, "mean_turn_length") < model->n_parameters;
}

bool figure_winding_draw(figure_part *part, size_t number)
{
    bool several = place_of(part->model, "build") < part->model->n_parameters;
    for (part->refused = 0; part->refused < 100; part->refused++) {
        lottery luck = {.state = figure_seed("wound", 1000 * number + part->refused)};
        winder w = {.part = part, .luck = &luck, .windings = several ? 2 + number % 4 : 1};
        for (size_t i = 0; i < part->model->n_parameters; i++) part->values[i] = (hl_value){0};
        w.width = scale(&w, 8e-3, 40e-3);
        state_window(&w);
        if (several) state_plan(&w);
        state_core(&w);
        state_rest(&w);
        if (figure_part_prepare(part)) return true;
    }
    return false;
}
