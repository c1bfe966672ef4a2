/* field_solve.c - the steady state of a condensed field.
 *
 * Unknown are the departures w of faces and groups from the linear network: w = departure(Z (P, w)).  The
 * network was made linear where the box is meant to work, so that this map is nearly flat; it is iterated
 * with Anderson's acceleration (field_settle.c). Where heat follows temperature the bodies' own balance is
 * solved inside each round.  What does not settle so goes to Newton's method with a dense matrix. */
#include "thermal/field_core.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { NEWTON_MAX = 60 };

static const double hottest = 2000.0;  /* K */
static const double longest_step = 60; /* K of any row in one step of Newton's method */

/* ------------------------------------------------------------------ work -- */

hl_field_work *hl_field_work_create(const hl_field *field)
{
    if (!field) return NULL;
    hl_field_work *work = calloc(1, sizeof *work);
    if (!work) return NULL;
    size_t ports = (size_t)field->n_ports + 1, rows = (size_t)field->n_rows + 1;
    size_t bodies = (size_t)field->ports.bodies + 1;
    work->field = field;
    work->port = calloc(ports, sizeof(double));
    work->rise = calloc(rows, sizeof(double));
    work->base = calloc(rows, sizeof(double));
    work->trial = calloc(ports, sizeof(double));
    work->history = calloc(FIELD_SETTLE_SPACE * ports, sizeof(double));
    work->body_matrix = calloc(2 * bodies * bodies, sizeof(double));
    work->dense = calloc(ports * ports, sizeof(double));
    work->column = calloc(ports, sizeof(double));
    work->slope = calloc(2 * ports, sizeof(double));
    work->pivot = calloc(ports, sizeof(int));
    work->face_heat = calloc(HL_FACES, sizeof(double));
    work->scratch = calloc((size_t)field->n_spots + rows, sizeof(double));
    if (work->port && work->rise && work->base && work->trial && work->history && work->body_matrix &&
        work->dense && work->column && work->slope && work->pivot && work->face_heat && work->scratch)
        return work;
    hl_field_work_destroy(work);
    return NULL;
}

void hl_field_work_destroy(hl_field_work *work)
{
    if (!work) return;
    void *blocks[] = {work->port,  work->rise,   work->base,  work->trial, work->history,   work->body_matrix,
                      work->dense, work->column, work->slope, work->pivot, work->face_heat, work->scratch};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++) free(blocks[i]);
    free(work);
}

/* --------------------------------------------------------------- balance -- */

/* One call: heat of a body is constant[i] + slope[i] x its rise. */
typedef struct balance {
    hl_field_work *work;
    const hl_field *field;
    int bodies, departures;
    double *constant; /* bodies */
    double total;     /* W, of |heat| */
    bool sloped;
} balance;

static double impedance(const hl_field *field, int row, int port)
{
    return field->impedance[(size_t)port * (size_t)field->n_rows + (size_t)row];
}

/* I - Z S over the bodies, factorised. */
static bool factor_bodies(balance *b)
{
    double *m = b->work->body_matrix;
    for (int i = 0; i < b->bodies; i++)
        for (int j = 0; j < b->bodies; j++)
            m[i * b->bodies + j] = (i == j) - impedance(b->field, i, j) * b->work->slope[j];
    return dense_factor(b->bodies, m, b->work->pivot);
}

/* The heat of the bodies, given the rise all else causes; then the rise of every row. */
static void balance_bodies(balance *b)
{
    hl_field_work *work = b->work;
    const hl_field *field = b->field;
    memcpy(work->rise, work->base, (size_t)field->n_rows * sizeof(double));
    const double *departing = field->impedance + (size_t)b->bodies * (size_t)field->n_rows;
    field_multiply(field->n_rows, b->departures, departing, work->port + b->bodies, work->rise);
    if (!b->sloped) return;
    memcpy(work->column, work->rise, (size_t)b->bodies * sizeof(double));
    dense_solve(b->bodies, work->body_matrix, work->pivot, work->column);
    for (int i = 0; i < b->bodies; i++) {
        double more = work->slope[i] * work->column[i];
        work->port[i] = b->constant[i] + more;
        const double *z = field->impedance + (size_t)i * (size_t)field->n_rows;
        for (int r = 0; r < field->n_rows; r++) work->rise[r] += more * z[r];
    }
}

static void evaluate(void *context, double image[])
{
    balance *b = context;
    balance_bodies(b);
    field_departures(b->field, &b->work->surroundings, b->work->rise, image, b->work->face_heat);
}

static double tolerance(const balance *b)
{
    return 2e-11 * b->total + 1e-12;
}

/* True: w = departure(w) to tolerance. */
static bool accelerate(balance *b)
{
    return field_settle(&(field_settling){b->departures, b->work->port + b->bodies, b->work->history,
                                          tolerance(b), evaluate, b});
}

/* ---------------------------------------------------------------- Newton -- */

/* Row of d(source)/d(rise) times Z, less the identity; source: heat of a body or departure of a port. */
static void fill_newton(balance *b, double *dense)
{
    const hl_field *field = b->field;
    const field_ports *p = &field->ports;
    int n = field->n_ports;
    departure_slopes slopes = {b->work->slope + b->bodies, b->work->history};
    field_departure_slopes(field, &b->work->surroundings, b->work->rise, &slopes);
    for (int i = 0; i < b->bodies; i++)
        for (int j = 0; j < n; j++) dense[i * n + j] = b->work->slope[i] * impedance(field, i, j) - (i == j);
    for (int face = 0; face < HL_FACES; face++) {
        int first = p->first_patch[face], end = p->first_patch[face + 1];
        double area = 0;
        for (int k = first; k < end; k++) area += p->patches[k].area;
        for (int j = 0; j < n; j++) {
            double mean = 0;
            for (int k = first; k < end; k++)
                mean += p->patches[k].area / area * impedance(field, b->bodies + k, j);
            for (int k = first; k < end; k++) {
                int row = b->bodies + k;
                dense[row * n + j] =
                    slopes.own[k] * impedance(field, row, j) + slopes.other[k] * mean - (row == j);
            }
        }
    }
    for (int k = 0; k < p->n_groups; k++) {
        int row = b->bodies + p->n_patches + k;
        for (int j = 0; j < n; j++)
            dense[row * n + j] = slopes.own[p->n_patches + k] * impedance(field, row, j) +
                                 slopes.other[p->n_patches + k] * impedance(field, row + p->n_groups, j) -
                                 (row == j);
    }
}

/* Source less port value, everything; returns the sum of sizes. */
static double imbalance(balance *b, double out[])
{
    hl_field_work *work = b->work;
    double size = 0;
    memset(work->rise, 0, (size_t)b->field->n_rows * sizeof(double));
    field_multiply(b->field->n_rows, b->field->n_ports, b->field->impedance, work->port, work->rise);
    field_departures(b->field, &work->surroundings, work->rise, out + b->bodies, work->face_heat);
    for (int i = 0; i < b->bodies; i++) out[i] = b->constant[i] + work->slope[i] * work->rise[i];
    for (int i = 0; i < b->field->n_ports; i++) {
        out[i] -= work->port[i];
        size += fabs(out[i]);
    }
    return size;
}

static double greatest_rise(const balance *b)
{
    double most = 0;
    for (int r = 0; r < b->field->n_rows; r++)
        if (!(fabs(b->work->rise[r]) <= most)) most = fabs(b->work->rise[r]);
    return most;
}

static bool newton(balance *b)
{
    hl_field_work *work = b->work;
    int n = b->field->n_ports;
    double size = imbalance(b, work->column);
    for (int k = 0; k < NEWTON_MAX && isfinite(size); k++) {
        if (size <= tolerance(b)) return greatest_rise(b) < hottest;
        fill_newton(b, work->dense);
        if (!dense_factor(n, work->dense, work->pivot)) return false;
        for (int i = 0; i < n; i++) work->trial[i] = -work->column[i];
        dense_solve(n, work->dense, work->pivot, work->trial);
        memset(work->base, 0, (size_t)b->field->n_rows * sizeof(double));
        field_multiply(b->field->n_rows, n, b->field->impedance, work->trial, work->base);
        double most = 0;
        for (int r = 0; r < b->field->n_rows; r++) most = fmax(most, fabs(work->base[r]));
        double share = most > longest_step ? longest_step / most : 1;
        for (int i = 0; i < n; i++) work->port[i] += share * work->trial[i];
        size = imbalance(b, work->column);
        if (greatest_rise(b) > 2 * hottest) return false;
    }
    return false;
}

/* ------------------------------------------------------------------ gain -- */

/* d(balance)/d(ports) with the slopes at hand of the bodies' heat, factorised. */
static bool factor_tangent(balance *b)
{
    fill_newton(b, b->work->dense);
    return dense_factor(b->field->n_ports, b->work->dense, b->work->pivot);
}

/* What one more watt in body j brings to every port. */
static const double *answer_of(balance *b, int j)
{
    double *port = b->work->trial;
    memset(port, 0, (size_t)b->field->n_ports * sizeof *port);
    port[j] = -1;
    dense_solve(b->field->n_ports, b->work->dense, b->work->pivot, port);
    return port;
}

/* Response of the bodies to their own heat, all else following: bodies x bodies, row-major. */
static bool tangent(balance *b, double *response)
{
    const hl_field *field = b->field;
    int n = field->n_ports;
    if (!factor_tangent(b)) return false;
    for (int j = 0; j < b->bodies; j++) {
        const double *port = answer_of(b, j);
        for (int i = 0; i < b->bodies; i++) {
            double sum = 0;
            for (int k = 0; k < n; k++) sum += impedance(field, i, k) * port[k];
            response[i * b->bodies + j] = sum;
        }
    }
    return true;
}

/* Share of a body in the eigenvalue: slope x^2, exact where the response is symmetric; as in gain.c. */
static size_t greatest_share(int n, const double slope[], const double x[])
{
    size_t leader = SIZE_MAX;
    double most = 0;
    for (int i = 0; i < n; i++) {
        double share = slope[i] * x[i] * x[i];
        if (!(share > most)) continue;
        most = share;
        leader = (size_t)i;
    }
    return leader;
}

/* Power iteration on response x diag(slope) for heat that rises with temperature: no entry is negative, and
 * the largest eigenvalue has a vector of one sign (Perron & Frobenius). */
static double largest_eigenvalue(const balance *b, const double *response, const double slope[],
                                 size_t *leader)
{
    int n = b->bodies;
    double *x = b->work->trial, *y = b->work->column, value = 0;
    for (int i = 0; i < n; i++) x[i] = 1;
    for (int round = 0; round < 500; round++) {
        double size = 0, before = value;
        for (int i = 0; i < n; i++) {
            y[i] = 0;
            for (int j = 0; j < n; j++) y[i] += response[i * n + j] * fmax(slope[j], 0) * x[j];
            size = fmax(size, fabs(y[i]));
        }
        value = size;
        if (!(size > 0)) return 0;
        for (int i = 0; i < n; i++) x[i] = y[i] / size;
        if (fabs(value - before) <= 1e-12 * value) break;
    }
    *leader = greatest_share(n, slope, x);
    return value;
}

/* What leaks, and heat that falls with temperature, steadies the bodies and counts with the ways out, as in
 * gain.c; whether the gain is below one is the same either way. */
double hl_field_gain(hl_field_work *work, const double slope[], const double leak[], size_t *leader)
{
    balance b = {.work = work, .field = work->field, .bodies = work->field->ports.bodies};
    double *response = work->body_matrix;
    size_t first = SIZE_MAX;
    for (int i = 0; i < b.bodies; i++) work->slope[i] = fmin(slope[i], 0) - (leak ? leak[i] : 0);
    double gain = tangent(&b, response) ? largest_eigenvalue(&b, response, slope, &first) : INFINITY;
    if (leader) *leader = first;
    return gain;
}

/* Heat of the faces, W, with every row's rise moved by `step` times `along`. */
static void faces_beside(balance *b, const double along[], double step, double heat[])
{
    double *moved = b->work->scratch;
    for (int r = 0; r < b->field->n_rows; r++) moved[r] = b->work->rise[r] + step * along[r];
    field_departures(b->field, &b->work->surroundings, moved, b->work->column, heat);
}

bool hl_field_shares(hl_field_work *work, double share[])
{
    const hl_field *field = work->field;
    balance b = {.work = work, .field = field, .bodies = field->ports.bodies};
    memset(work->slope, 0, (size_t)b.bodies * sizeof *work->slope);
    if (!factor_tangent(&b)) return false;
    for (int j = 0; j < b.bodies; j++, share += HL_FACES) {
        double *along = work->base, most = 0, above[HL_FACES], below[HL_FACES];
        memset(along, 0, (size_t)field->n_rows * sizeof *along);
        field_multiply(field->n_rows, field->n_ports, field->impedance, answer_of(&b, j), along);
        for (int r = 0; r < field->n_rows; r++) most = fmax(most, fabs(along[r]));
        double step = 1e-3 / fmax(most, 1e-9); /* W that move no place by more than 1 mK */
        faces_beside(&b, along, step, above);
        faces_beside(&b, along, -step, below);
        for (int face = 0; face < HL_FACES; face++) share[face] = (above[face] - below[face]) / (2 * step);
    }
    return true;
}

/* A bound on the gain that costs nothing: the greatest row sum. */
static bool surely_stable(const balance *b)
{
    for (int i = 0; i < b->bodies; i++) {
        double sum = 0;
        for (int j = 0; j < b->bodies; j++) sum += impedance(b->field, i, j) * fmax(b->work->slope[j], 0);
        if (!(sum < 0.5)) return false;
    }
    return true;
}

/* ----------------------------------------------------------------- solve -- */

static bool sane(const hl_surroundings *s)
{
    return s->temperature > 0 && s->temperature <= hottest && s->pressure >= 0 && s->pressure <= 1e8;
}

static bool begin(balance *b, const double power[], const double slope[], const double at[])
{
    hl_field_work *work = b->work;
    const hl_field *field = b->field;
    b->constant = work->slope + field->n_ports; /* second half of that block */
    b->total = 0;
    b->sloped = false;
    memcpy(work->port, field->nominal, (size_t)field->n_ports * sizeof(double));
    for (int i = 0; i < b->bodies; i++) {
        double s = slope ? slope[i] : 0, p = power[i];
        if (slope && at && s != 0) p += s * (work->surroundings.temperature - at[i]);
        if (!isfinite(p) || !isfinite(s)) return false;
        b->sloped = b->sloped || s != 0;
        b->total += fabs(power[i]);
        b->constant[i] = work->port[i] = p;
        work->slope[i] = s;
    }
    memset(work->base, 0, (size_t)field->n_rows * sizeof(double));
    field_multiply(field->n_rows, b->bodies, field->impedance, b->constant, work->base);
    return true;
}

static void close_book(balance *b)
{
    hl_field_work *work = b->work;
    work->in = work->out = 0;
    for (int i = 0; i < b->bodies; i++) work->in += work->port[i];
    for (int face = 0; face < HL_FACES; face++) work->out += work->face_heat[face];
}

hl_status hl_field_solve(hl_field_work *work, const hl_surroundings *surroundings, const double power[],
                         const double slope[], const double at[], double mean[])
{
    const hl_field *field = work->field;
    balance b = {.work = work, .field = field, .bodies = field->ports.bodies};
    b.departures = field->n_ports - b.bodies;
    if (!sane(surroundings)) return HL_BAD_INPUT;
    work->surroundings = *surroundings;
    if (!begin(&b, power, slope, at)) return HL_BAD_INPUT;
    bool good = (!b.sloped || factor_bodies(&b)) && accelerate(&b) && greatest_rise(&b) < hottest;
    if (!good) {
        begin(&b, power, slope, at);
        if (!newton(&b)) return HL_RUNAWAY;
    }
    close_book(&b);
    for (int i = 0; i < b.bodies; i++) mean[i] = surroundings->temperature + work->rise[i];
    if (b.sloped && !surely_stable(&b) && !(hl_field_gain(work, slope, NULL, NULL) < 1)) return HL_RUNAWAY;
    return HL_OK;
}
