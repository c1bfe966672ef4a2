/* field_warm_read.c - what a condensed field in time tells of now, and of any time within its last step. */
#include "thermal/field_warming.h"

#include <string.h>

/* Of states of this size and the heat of now in work: the figures asked for. */
static void read_state(hl_field_warming *w, const double x[], const double lag[], double mean[],
                       hl_field_spot spots[], hl_field_face faces[])
{
    const hl_field *f = w->field;
    double ambient = w->work->surroundings.temperature;
    for (int b = 0; mean && b < w->bodies; b++) mean[b] = ambient + w->work->rise[b];
    if (!spots && !faces) return;
    memset(w->spot_rise, 0, (size_t)f->n_spots * sizeof(double));
    field_multiply(f->n_spots, w->modes, f->modes.spot, x, w->spot_rise);
    field_multiply(f->n_spots, w->rest.columns, w->rest.spot, lag, w->spot_rise);
    field_pick_spots(w->work, w->spot_rise, spots, faces);
}

void hl_field_warm_read(hl_field_warming *w, double mean[], hl_field_spot spots[], hl_field_face faces[])
{
    read_state(w, w->x, w->lag, mean, spots, faces);
}

/* The states at `time`, out of the last step's beginning: heat is a straight line over the step. */
static void find_state(hl_field_warming *w, double time, double x[], double lag[])
{
    double h = time - w->time_before, share = h / (w->time - w->time_before);
    for (int p = 0; p < w->ports; p++) w->then_port[p] = w->slow[p] + share * (w->begun[p] - w->slow[p]);
    warming_take(w, w->slow, 0, w->amount);
    for (int m = 0; m < w->modes; m++) {
        stepping s = warming_mode_step(w->field->modes.rate[m], h);
        x[m] = s.fade * w->x_before[m] + s.early * w->amount[m];
    }
    warming_take(w, w->then_port, 0, w->amount);
    for (int m = 0; m < w->modes; m++)
        x[m] += warming_mode_step(w->field->modes.rate[m], h).late * w->amount[m];
    for (int k = 0; k < w->rest.columns; k++) {
        stepping s = warming_lag_step(w->rest.time[k], h);
        int p = k / REST_TIMES;
        lag[k] = s.fade * w->lag_before[k] + s.early * w->slow[p] + s.late * w->then_port[p];
    }
}

static void find_rises(hl_field_warming *w, const double x[], const double lag[])
{
    const hl_field *f = w->field;
    memset(w->then_rise, 0, (size_t)w->rows * sizeof(double));
    field_multiply(w->rows, w->modes, f->modes.row, x, w->then_rise);
    field_multiply(w->rows, w->rest.columns, w->rest.row, lag, w->then_rise);
    for (int k = 0; k < f->ports.n_patches; k++)
        w->then_rise[w->bodies + k] += f->modes.own[k] * w->then_port[w->bodies + k];
}

void warming_read_at(hl_field_warming *w, double time, double mean[], hl_field_spot spots[],
                     hl_field_face faces[])
{
    if (!(time < w->time) || !(time >= w->time_before)) {
        hl_field_warm_read(w, mean, spots, faces);
        return;
    }
    hl_field_work *work = w->work;
    double *rise = work->rise, *port = work->port;
    find_state(w, time, w->then_x, w->then_lag);
    find_rises(w, w->then_x, w->then_lag);
    work->rise = w->then_rise;
    work->port = w->then_port;
    read_state(w, w->then_x, w->then_lag, mean, spots, faces);
    work->rise = rise;
    work->port = port;
}
