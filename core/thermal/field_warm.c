/* field_warm.c - a condensed field in time.
 *
 * Each mode follows x' = -rate x + g'w, w the heat of the bodies and the departures of patches and groups.
 * Within a step w is a straight line in time and each mode is integrated exactly (exponential integrators:
 * Hochbruck & Ostermann 2010, Acta Numerica 19, section 2), so that stiff modes cost nothing and the step
 * follows how curved w is.  w at the end of a step follows from the temperatures there, as in the steady
 * state: the same fixed point with less impedance.
 * What the steady impedance has beyond the modes comes in by lags: field_rest.c. */
#include "thermal/field_warming.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { HEAT_ROUNDS = 12 };

static const double hottest = 2000;       /* K */
static const double error_aimed = 5e-3;   /* K that one step may be off */
static const double first_step = 0.02;    /* s, after each jump of heat */
static const double shortest_step = 1e-7; /* s: what does not settle then runs away */
static const double most_growth = 2.5;
static const double just_inside = 1e-9; /* of the time asked for */

/* ---------------------------------------------------------------- memory -- */

void hl_field_warming_destroy(hl_field_warming *w)
{
    if (!w) return;
    hl_field_work_destroy(w->work);
    rest_release(&w->rest);
    void *blocks[] = {w->x,       w->lag,       w->x_before,      w->lag_before,  w->rest_column,
                      w->leaving, w->mode_step, w->rest_step,     w->body_column, w->base,
                      w->begun,   w->slow,      w->amount,        w->spot_rise,   w->power,
                      w->slope,   w->mean,      w->departed_rows, w->then_rise,   w->then_port,
                      w->then_x,  w->then_lag};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(w);
}

static bool allocate(hl_field_warming *w)
{
    size_t m = (size_t)w->modes + 1, p = (size_t)w->ports + 1, r = (size_t)w->rows + 1;
    size_t b = (size_t)w->bodies + 1, s = (size_t)w->field->n_spots + 1, l = (size_t)w->rest.columns + 1;
    struct {
        double **at;
        size_t n;
    } list[] = {{&w->x, m},
                {&w->lag, l},
                {&w->x_before, m},
                {&w->lag_before, l},
                {&w->then_rise, r},
                {&w->then_port, p},
                {&w->then_x, m},
                {&w->then_lag, l},
                {&w->rest_column, r * p},
                {&w->leaving, m},
                {&w->body_column, r * b},
                {&w->base, r},
                {&w->begun, p},
                {&w->slow, p},
                {&w->amount, m},
                {&w->spot_rise, s},
                {&w->power, b},
                {&w->slope, b},
                {&w->mean, b},
                {&w->departed_rows, r}};
    for (size_t i = 0; i < sizeof list / sizeof list[0]; i++)
        if (!(*list[i].at = calloc(list[i].n, sizeof(double)))) return false;
    w->mode_step = calloc(m, sizeof *w->mode_step);
    w->rest_step = calloc(l, sizeof *w->rest_step);
    w->work = hl_field_work_create(w->field);
    return w->mode_step && w->rest_step && w->work;
}

void warming_take(const hl_field_warming *w, const double port[], int first, double amount[])
{
    for (int m = 0; m < w->modes; m++) {
        const double *in = w->field->modes.in + (size_t)m * (size_t)w->ports;
        double sum = 0;
        for (int k = first; k < w->ports; k++) sum += in[k] * port[k];
        amount[m] = sum;
    }
}

static double outward(const hl_field *field, int patch)
{
    return field->ports.patches[patch].area * field->linear.outward[patch];
}

static void find_leaving(hl_field_warming *w)
{
    const hl_field *f = w->field;
    for (int k = 0; k < f->ports.n_patches; k++) {
        size_t row = (size_t)w->bodies + (size_t)k, rows = (size_t)w->rows;
        for (int m = 0; m < w->modes; m++)
            w->leaving[m] += outward(f, k) * f->modes.row[(size_t)m * rows + row];
    }
}

hl_field_warming *hl_field_warming_create(const hl_field *field)
{
    if (!field || field->modes.n == 0) return NULL;
    hl_field_warming *w = calloc(1, sizeof *w);
    if (!w) return NULL;
    w->field = field;
    w->bodies = field->ports.bodies;
    w->ports = field->n_ports;
    w->rows = field->n_rows;
    w->modes = field->modes.n;
    if (!rest_create(&w->rest, field) || !allocate(w)) {
        hl_field_warming_destroy(w);
        return NULL;
    }
    find_leaving(w);
    hl_field_warm_even(w, &field->surroundings, field->surroundings.temperature);
    return w;
}

/* ------------------------------------------------------------------ step -- */

static void set_step(hl_field_warming *w, double h)
{
    size_t rows = (size_t)w->rows;
    for (int m = 0; m < w->modes; m++) w->mode_step[m] = warming_mode_step(w->field->modes.rate[m], h);
    for (int k = 0; k < w->rest.columns; k++) w->rest_step[k] = warming_lag_step(w->rest.time[k], h);
    memset(w->rest_column, 0, rows * (size_t)w->ports * sizeof(double));
    for (int k = 0; k < w->rest.columns; k++) {
        double *to = w->rest_column + (size_t)(k / REST_TIMES) * rows;
        const double *from = w->rest.row + (size_t)k * rows;
        for (size_t r = 0; r < rows; r++) to[r] += w->rest_step[k].late * from[r];
    }
}

/* rise += what modes of these sizes make of the rows. */
static void add_modes(const hl_field_warming *w, const double size[], double rise[])
{
    for (int m = 0; m < w->modes; m++) {
        const double *row = w->field->modes.row + (size_t)m * (size_t)w->rows;
        for (int r = 0; r < w->rows; r++) rise[r] += size[m] * row[r];
    }
}

/* What is known of the end of a step: what was there and what the heat at its beginning did. */
static void lay_base(hl_field_warming *w)
{
    warming_take(w, w->begun, 0, w->amount);
    for (int m = 0; m < w->modes; m++)
        w->amount[m] = w->mode_step[m].fade * w->x[m] + w->mode_step[m].early * w->amount[m];
    memset(w->base, 0, (size_t)w->rows * sizeof(double));
    add_modes(w, w->amount, w->base);
    for (int k = 0; k < w->rest.columns; k++) {
        const stepping *s = &w->rest_step[k];
        double lag = s->fade * w->lag[k] + s->early * w->begun[k / REST_TIMES];
        const double *column = w->rest.row + (size_t)k * (size_t)w->rows;
        for (int r = 0; r < w->rows; r++) w->base[r] += lag * column[r];
    }
}

/* Rise of all rows at the end of the step per watt in a body there. */
static void lay_body_columns(hl_field_warming *w)
{
    for (int b = 0; b < w->bodies; b++) {
        double *column = w->body_column + (size_t)b * (size_t)w->rows;
        for (int m = 0; m < w->modes; m++) w->amount[m] = w->mode_step[m].late * mode_in(w->field, m, b);
        memcpy(column, w->rest_column + (size_t)b * (size_t)w->rows, (size_t)w->rows * sizeof *column);
        add_modes(w, w->amount, column);
    }
}

/* rise += what departures at the end of the step do there. */
static void add_departures(hl_field_warming *w, const double port[], double rise[])
{
    warming_take(w, port, w->bodies, w->amount);
    for (int m = 0; m < w->modes; m++) w->amount[m] *= w->mode_step[m].late;
    add_modes(w, w->amount, rise);
    for (int p = w->bodies; p < w->ports; p++) {
        const double *column = w->rest_column + (size_t)p * (size_t)w->rows;
        for (int r = 0; r < w->rows; r++) rise[r] += port[p] * column[r];
    }
    for (int k = 0; k < w->field->ports.n_patches; k++)
        rise[w->bodies + k] += w->field->modes.own[k] * port[w->bodies + k];
}

/* Heat of body i: power[i] + slope[i] x (its rise - mean[i]). */
static bool factor_bodies(hl_field_warming *w)
{
    double *m = w->work->body_matrix;
    for (int i = 0; i < w->bodies; i++)
        for (int j = 0; j < w->bodies; j++)
            m[i * w->bodies + j] =
                (i == j) - w->body_column[(size_t)j * (size_t)w->rows + (size_t)i] * w->slope[j];
    return dense_factor(w->bodies, m, w->work->pivot);
}

static void evaluate(void *context, double image[])
{
    hl_field_warming *w = context;
    hl_field_work *work = w->work;
    memcpy(work->rise, w->base, (size_t)w->rows * sizeof(double));
    add_departures(w, work->port, work->rise);
    for (int b = 0; b < w->bodies; b++) {
        const double *column = w->body_column + (size_t)b * (size_t)w->rows;
        double heat = w->power[b] - w->slope[b] * w->mean[b];
        for (int r = 0; r < w->rows; r++) work->rise[r] += heat * column[r];
    }
    memcpy(work->column, work->rise, (size_t)w->bodies * sizeof(double));
    dense_solve(w->bodies, work->body_matrix, work->pivot, work->column);
    for (int b = 0; b < w->bodies; b++) {
        const double *column = w->body_column + (size_t)b * (size_t)w->rows;
        double more = w->slope[b] * work->column[b];
        work->port[b] = w->power[b] - w->slope[b] * w->mean[b] + more;
        for (int r = 0; r < w->rows; r++) work->rise[r] += more * column[r];
    }
    field_departures(w->field, &work->surroundings, work->rise, image, work->face_heat);
}

typedef struct asking {
    hl_heat heat;
    void *context;
    double begin, end;
} asking;

/* The bodies' heat at the present rises, made linear about them; how far it is from what was used, W. */
static double ask(hl_field_warming *w, const asking *q, double time)
{
    double ambient = w->work->surroundings.temperature, off = 0;
    double inside = just_inside * (q->end - q->begin), temperature;
    for (int b = 0; b < w->bodies; b++) {
        temperature = ambient + w->work->rise[b];
        w->mean[b] = temperature;
    }
    memset(w->slope, 0, (size_t)w->bodies * sizeof(double));
    time = fmin(fmax(time, q->begin + inside), q->end - inside);
    q->heat(q->context, time, w->mean, w->power, w->slope);
    w->total = 0;
    for (int b = 0; b < w->bodies; b++) {
        w->mean[b] -= ambient;
        w->total += fabs(w->power[b]);
        if (!(fabs(w->power[b] - w->work->port[b]) <= off)) off = fabs(w->power[b] - w->work->port[b]);
    }
    return off;
}

/* Heat and departures at the end of the step that is set; false: they do not settle. */
static bool settle(hl_field_warming *w, const asking *q, double time)
{
    lay_base(w);
    lay_body_columns(w);
    ask(w, q, time);
    for (int round = 0; round < HEAT_ROUNDS; round++) {
        if (!isfinite(w->total) || !factor_bodies(w)) return false;
        double tolerance = 1e-10 * w->total + 1e-11;
        if (!field_settle(&(field_settling){w->ports - w->bodies, w->work->port + w->bodies, w->work->history,
                                            tolerance, evaluate, w}))
            return false;
        if (ask(w, q, time) <= 1e-9 * w->total + 1e-11) return true;
    }
    return false;
}

/* K at the end of the step by which the straight line through the heat may be wrong: what it is beyond the
 * line through the two times before, by the remainders of both lines. */
static double error_of(hl_field_warming *w, double h, double before)
{
    double *bent = w->work->trial, most = 0, share = before > 0 ? h / before : 0;
    double weight = before > 0 ? h / (6 * (h + before)) : 0.25;
    memset(w->departed_rows, 0, (size_t)w->rows * sizeof(double));
    for (int p = 0; p < w->ports; p++) {
        double foretold = w->begun[p] + share * (w->begun[p] - w->slow[p]);
        bent[p] = w->work->port[p] - foretold;
    }
    add_departures(w, bent, w->departed_rows);
    for (int b = 0; b < w->bodies; b++) {
        const double *column = w->body_column + (size_t)b * (size_t)w->rows;
        for (int r = 0; r < w->rows; r++) w->departed_rows[r] += bent[b] * column[r];
    }
    for (int r = 0; r < w->rows; r++) most = fmax(most, fabs(w->departed_rows[r]));
    return weight * most;
}

static void keep_book(hl_field_warming *w, double h)
{
    const double *now = w->work->port;
    warming_take(w, w->begun, 0, w->amount);
    for (int m = 0; m < w->modes; m++)
        w->handed_out +=
            w->leaving[m] * (w->mode_step[m].sum_fade * w->x[m] + w->mode_step[m].sum_early * w->amount[m]);
    warming_take(w, now, 0, w->amount);
    for (int m = 0; m < w->modes; m++)
        w->handed_out += w->leaving[m] * w->mode_step[m].sum_late * w->amount[m];
    for (int k = 0; k < w->rest.columns; k++) {
        const stepping *s = &w->rest_step[k];
        int p = k / REST_TIMES;
        w->handed_out += w->rest.leaving[k] *
                         (s->sum_fade * w->lag[k] + s->sum_early * w->begun[p] + s->sum_late * now[p]);
    }
    for (int p = 0; p < w->ports; p++) {
        double mean = 0.5 * h * (w->begun[p] + now[p]);
        int patch = p - w->bodies;
        if (patch < 0)
            w->put_in += mean;
        else if (patch < w->field->ports.n_patches)
            w->handed_out += (outward(w->field, patch) * w->field->modes.own[patch] - 1) * mean;
    }
}

static void take_step(hl_field_warming *w, double h)
{
    keep_book(w, h);
    memcpy(w->x_before, w->x, (size_t)w->modes * sizeof(double));
    memcpy(w->lag_before, w->lag, (size_t)w->rest.columns * sizeof(double));
    warming_take(w, w->begun, 0, w->amount);
    for (int m = 0; m < w->modes; m++)
        w->x[m] = w->mode_step[m].fade * w->x[m] + w->mode_step[m].early * w->amount[m];
    warming_take(w, w->work->port, 0, w->amount);
    for (int m = 0; m < w->modes; m++) w->x[m] += w->mode_step[m].late * w->amount[m];
    for (int k = 0; k < w->rest.columns; k++) {
        const stepping *s = &w->rest_step[k];
        int p = k / REST_TIMES;
        w->lag[k] = s->fade * w->lag[k] + s->early * w->begun[p] + s->late * w->work->port[p];
    }
    memcpy(w->slow, w->begun, (size_t)w->ports * sizeof(double));
    memcpy(w->begun, w->work->port, (size_t)w->ports * sizeof(double));
    w->steps++;
}

/* ------------------------------------------------------------------- run -- */

static double stored_now(const hl_field_warming *w)
{
    double sum = 0;
    for (int m = 0; m < w->modes; m++) sum += w->field->modes.stored[m] * w->x[m];
    return sum;
}

static bool sane(const hl_surroundings *s)
{
    return s->temperature > 0 && s->temperature <= hottest && s->pressure >= 0 && s->pressure <= 1e8;
}

static void begin(hl_field_warming *w)
{
    w->time = w->time_before = w->put_in = w->handed_out = 0;
    w->next = w->last_step = 0;
    w->steps = 0;
    w->stored_first = stored_now(w);
}

hl_status hl_field_warm_even(hl_field_warming *w, const hl_surroundings *surroundings, double temperature)
{
    if (!sane(surroundings) || !(temperature > 0 && temperature <= hottest)) return HL_BAD_INPUT;
    hl_field_work *work = w->work;
    double rise = temperature - surroundings->temperature;
    work->surroundings = *surroundings;
    /* an even rise lies among the shapes, and its size in a mode is what the mode stores */
    for (int m = 0; m < w->modes; m++) w->x[m] = rise * w->field->modes.stored[m];
    memset(w->lag, 0, (size_t)w->rest.columns * sizeof(double));
    memset(work->port, 0, (size_t)w->ports * sizeof(double));
    for (int r = 0; r < w->rows; r++) work->rise[r] = rise;
    begin(w);
    return HL_OK;
}

hl_status hl_field_warm_steady(hl_field_warming *w, const hl_surroundings *surroundings, const double power[],
                               const double slope[], const double at[])
{
    hl_status status = hl_field_solve(w->work, surroundings, power, slope, at, w->mean);
    if (status != HL_OK) return status;
    warming_take(w, w->work->port, 0, w->x);
    for (int m = 0; m < w->modes; m++) w->x[m] /= w->field->modes.rate[m];
    for (int k = 0; k < w->rest.columns; k++) w->lag[k] = w->work->port[k / REST_TIMES];
    begin(w);
    return HL_OK;
}

static double greatest_rise(const hl_field_warming *w)
{
    double most = 0;
    for (int r = 0; r < w->rows; r++)
        if (!(fabs(w->work->rise[r]) <= most)) most = fabs(w->work->rise[r]);
    return most;
}

/* From where the last step ended: the heat may have jumped. */
static bool begin_stretch(hl_field_warming *w, const asking *q)
{
    set_step(w, 0);
    memcpy(w->begun, w->work->port, (size_t)w->ports * sizeof(double));
    if (!settle(w, q, q->begin)) return false;
    memcpy(w->begun, w->work->port, (size_t)w->ports * sizeof(double));
    return true;
}

bool warming_enter_room(hl_field_warming *w, const hl_surroundings *surroundings)
{
    if (!sane(surroundings)) return false;
    double more = w->work->surroundings.temperature - surroundings->temperature;
    w->work->surroundings = *surroundings;
    if (more == 0) return true;
    /* rises over the new surroundings: an even one is added, which nobody put in */
    double before = stored_now(w);
    for (int m = 0; m < w->modes; m++) w->x[m] += more * w->field->modes.stored[m];
    for (int r = 0; r < w->rows; r++) w->work->rise[r] += more;
    w->stored_first += stored_now(w) - before;
    return true;
}

hl_status warming_jump(hl_field_warming *w, hl_heat heat, void *context, double end)
{
    asking q = {heat, context, w->time, end};
    w->next = first_step;
    w->last_step = 0;
    return begin_stretch(w, &q) ? HL_OK : HL_RUNAWAY;
}

/* s: the step to try after one that was off by too much, or did not settle. */
static double shorter(double h, double error, bool settled)
{
    return h * (settled ? fmax(0.2, 0.8 * sqrt(error_aimed / error)) : 0.2);
}

/* s: the step to try after one that was good enough; its error goes with the square of its length. */
static double longer(double h, double error)
{
    return h * fmin(most_growth, 0.8 * sqrt(error_aimed / fmax(error, 1e-12)));
}

static hl_status one_step(hl_field_warming *w, const asking *q, double stop)
{
    for (;;) {
        double left = stop - w->time, h = w->next;
        bool last = h >= left * (1 - 1e-12);
        if (!last && h > left / 2) h = left / 2; /* no crumb at the end */
        if (last) h = left;
        set_step(w, h);
        bool good = settle(w, q, w->time + h) && isfinite(greatest_rise(w));
        double error = good ? error_of(w, h, w->last_step) : INFINITY;
        if (error > error_aimed && h > shortest_step) {
            w->next = shorter(h, error, good);
            memcpy(w->work->port, w->begun, (size_t)w->ports * sizeof(double));
            continue;
        }
        if (!good || greatest_rise(w) > hottest) return HL_RUNAWAY;
        take_step(w, h);
        w->time_before = w->time;
        w->time = last ? stop : w->time + h;
        w->last_step = h;
        w->next = longer(h, error);
        return HL_OK;
    }
}

hl_status warming_step(hl_field_warming *w, hl_heat heat, void *context, double stop)
{
    return one_step(w, &(asking){heat, context, w->time, stop}, stop);
}

hl_status hl_field_warm(hl_field_warming *w, hl_heat heat, void *context, double until)
{
    if (!(until >= w->time) || !isfinite(until)) return HL_BAD_INPUT;
    if (until == w->time) return HL_OK;
    asking q = {heat, context, w->time, until};
    hl_status status = warming_jump(w, heat, context, until);
    while (status == HL_OK && w->time < until) status = one_step(w, &q, until);
    return status;
}

void hl_field_warm_book(const hl_field_warming *w, double energy[3], size_t *steps)
{
    energy[0] = w->put_in;
    energy[1] = w->handed_out;
    energy[2] = stored_now(w) - w->stored_first;
    if (steps) *steps = w->steps;
}
