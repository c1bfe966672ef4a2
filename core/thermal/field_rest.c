/* field_rest.c - the steady impedance is extrapolated from grids, the modes are those of one grid; what is
 * between both must come in at its time.
 *
 * What grids get wrong is the spreading next to a heated body.  The body itself shows that as soon as it
 * follows its own heat above the place that follows it most; every other place as late as heat gets there,
 * which is the mean time of its response by the modes, sum(g r / rate^2) / sum(g r / rate).  Each port has
 * three lags between the first and the last of these times, and a place takes from the two around its own, so
 * that their mean is its own.  Patches share one time per port, that of the heat that leaves: what the rest
 * adds to one it takes from the others, and the book closes at every moment. */
#include "thermal/field_rest.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double middle_without_first = 0.1; /* of the last time, where the first is nothing */

static double outward(const hl_field *field, int patch)
{
    return field->ports.patches[patch].area * field->linear.outward[patch];
}

/* ----------------------------------------------------------------- times -- */

/* The row that follows a body's or patch's heat most, after its own; -1: the port is a group. */
static int nearest_row(const hl_field *f, int port)
{
    const double *column = f->impedance + (size_t)port * (size_t)f->n_rows;
    int plain = f->ports.bodies + f->ports.n_patches, near = -1;
    for (int r = 0; r < plain && port < plain; r++)
        if (r != port && (near < 0 || column[r] > column[near])) near = r;
    return near;
}

/* How long a port's own temperature takes above that row: the mean time of its response; at least the time in
 * which it would get there as fast as it begins, or the rest would outrun it.  Beside a wide body a small one
 * may be no warmer in the end; then the same of its whole rise. */
static double first_time(const hl_field *f, int port, int near)
{
    double size = 0, moment = 0, slope = 0, whole = 0, whole_slope = 0;
    for (int m = 0; m < f->modes.n; m++) {
        const double *row = f->modes.row + (size_t)m * (size_t)f->n_rows;
        double g = mode_in(f, m, port), own = near < 0 ? g : g - row[near];
        slope += g * own;
        whole += g * g / f->modes.rate[m];
        whole_slope += g * g;
        size += g * own / f->modes.rate[m];
        moment += g * own / (f->modes.rate[m] * f->modes.rate[m]);
    }
    if (size > 0 && slope > 0) return fmax(moment / size, size / slope);
    return whole_slope > 0 ? whole / whole_slope : 0;
}

/* Of one port: the responses by the modes in the end, their rows' mean times, and what the modes lack. */
typedef struct response {
    const hl_field *field;
    double *rest, *spot; /* rows, spots */
    double *size, *time; /* rows: K/W, s */
    double patches;      /* s, all of them */
    int near;            /* nearest_row */
} response;

static void find_response(response *r, int port)
{
    const hl_field *f = r->field;
    size_t rows = (size_t)f->n_rows, spots = (size_t)f->n_spots;
    memset(r->size, 0, rows * sizeof(double));
    memset(r->time, 0, rows * sizeof(double));
    memcpy(r->rest, f->impedance + (size_t)port * rows, rows * sizeof(double));
    memcpy(r->spot, f->spot_row + (size_t)port * spots, spots * sizeof(double));
    for (int m = 0; m < f->modes.n; m++) {
        double share = mode_in(f, m, port) / f->modes.rate[m], moment = share / f->modes.rate[m];
        const double *row = f->modes.row + (size_t)m * rows, *at = f->modes.spot + (size_t)m * spots;
        for (size_t i = 0; i < rows; i++) {
            r->size[i] += share * row[i];
            r->time[i] += moment * row[i];
        }
        for (size_t s = 0; s < spots; s++) r->spot[s] -= share * at[s];
    }
    for (size_t i = 0; i < rows; i++) {
        r->rest[i] -= r->size[i];
        r->time[i] = r->size[i] * r->time[i] > 0 ? r->time[i] / r->size[i] : 0;
    }
    int patch = port - f->ports.bodies;
    if (patch >= 0 && patch < f->ports.n_patches) r->rest[port] -= f->modes.own[patch];
}

/* The mean time of all heat that leaves by patches, each counted by its size. */
static void find_patches_time(response *r)
{
    const field_ports *p = &r->field->ports;
    double size = 0, moment = 0;
    for (int k = 0; k < p->n_patches; k++) {
        double share = outward(r->field, k) * fabs(r->size[p->bodies + k]);
        size += share;
        moment += share * r->time[p->bodies + k];
    }
    r->patches = size > 0 ? moment / size : 0;
}

static void set_times(const response *r, double first, double time[REST_TIMES])
{
    const field_ports *p = &r->field->ports;
    double last = fmax(first, r->patches);
    for (int i = 0; i < p->bodies; i++) last = fmax(last, r->time[i]);
    time[0] = first;
    time[1] = first > 0 ? sqrt(first * last) : middle_without_first * last;
    time[2] = last;
}

/* Shares of a place that follows after `wanted`: of the two times around it. */
static void share_out(const double time[REST_TIMES], double wanted, double share[REST_TIMES])
{
    share[0] = share[1] = share[2] = 0;
    int low = wanted > time[1] ? 1 : 0;
    double width = time[low + 1] - time[low], at = width > 0 ? (wanted - time[low]) / width : 0;
    share[low + 1] = fmin(fmax(at, 0), 1);
    share[low] = 1 - share[low + 1];
}

/* ---------------------------------------------------------------- create -- */

/* What a row or place that is not the port's own lacks comes after its time; what the port's own lacks beyond
 * the nearest row comes first, and the nearest row's share with that. */
static void share_rest(const response *r, const double time[REST_TIMES], int row, int port, double lacks,
                       double part[REST_TIMES])
{
    bool own = row == port && r->near >= 0;
    double share[REST_TIMES], late = own ? r->rest[r->near] : lacks;
    share_out(time, r->time[own ? r->near : row], share);
    for (int k = 0; k < REST_TIMES; k++) part[k] = share[k] * late;
    part[0] += lacks - late;
}

static void fill_columns(field_rest *rest, response *r, int port)
{
    const hl_field *f = r->field;
    int bodies = f->ports.bodies, patches_end = bodies + f->ports.n_patches;
    size_t rows = (size_t)f->n_rows, spots = (size_t)f->n_spots, at = (size_t)port * REST_TIMES;
    double part[REST_TIMES], *time = rest->time + at;
    r->near = nearest_row(f, port);
    set_times(r, first_time(f, port, r->near), time);
    for (int s = 0; s < f->n_spots; s++) {
        const field_spot *spot = &f->spots[s];
        int row = spot->owner < bodies ? spot->owner : bodies + spot->patch;
        share_rest(r, time, row, port, r->spot[s], part);
        for (size_t k = 0; k < REST_TIMES; k++) rest->spot[(at + k) * spots + (size_t)s] = part[k];
    }
    for (int i = bodies; i < patches_end; i++) r->time[i] = r->patches;
    if (port >= bodies) r->near = -1;
    for (int i = 0; i < f->n_rows; i++) {
        share_rest(r, time, i, port, r->rest[i], part);
        for (size_t k = 0; k < REST_TIMES; k++) rest->row[(at + k) * rows + (size_t)i] = part[k];
    }
    for (size_t k = 0; k < REST_TIMES; k++)
        for (int patch = 0; patch < f->ports.n_patches; patch++)
            rest->leaving[at + k] +=
                outward(f, patch) * rest->row[(at + k) * rows + (size_t)(f->ports.bodies + patch)];
}

bool rest_create(field_rest *rest, const hl_field *field)
{
    size_t rows = (size_t)field->n_rows, spots = (size_t)field->n_spots + 1;
    size_t columns = (size_t)field->n_ports * REST_TIMES;
    response r = {.field = field};
    rest->columns = (int)columns;
    rest->time = calloc(columns + 1, sizeof(double));
    rest->row = calloc(columns * rows + 1, sizeof(double));
    rest->spot = calloc(columns * spots + 1, sizeof(double));
    rest->leaving = calloc(columns + 1, sizeof(double));
    double *space = calloc(3 * rows + spots, sizeof(double));
    bool good = rest->time && rest->row && rest->spot && rest->leaving && space;
    if (good) {
        r.rest = space;
        r.size = space + rows;
        r.time = space + 2 * rows;
        r.spot = space + 3 * rows;
        for (int port = 0; port < field->n_ports; port++) {
            find_response(&r, port);
            find_patches_time(&r);
            fill_columns(rest, &r, port);
        }
    }
    free(space);
    return good;
}

void rest_release(field_rest *rest)
{
    free(rest->time);
    free(rest->row);
    free(rest->spot);
    free(rest->leaving);
    memset(rest, 0, sizeof *rest);
}
