/* transient.c - warm-up, load steps and duty profiles: C dT/dt = heat in - heat along the links.
 *
 * A stiff system, solved by the backward differentiation formulas of SUNDIALS CVODE with the sparse analytic
 * Jacobian (Hindmarsh et al. 2005, ACM TOMS 31).  Two more unknowns count the energy put in
 * and handed out, under the same error control, so the books of energy can be compared. */
#include "thermal/transient.h"

#include "quantity/float_state.h"
#include "thermal/network.h"
#include "thermal/work.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdlib.h>
#include <string.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_sparse.h>

/* A node given no capacity follows its neighbours within this time, s: its own time constant is
 * raised to it, so that one integrator serves all networks.  What it stores is in the energy book. */
static const double least_time = 1e-3;
static const double least_step = 1e-11;      /* s */
static const double least_difference = 1e-4; /* K, see law_power */
static const double hottest = 2000.0;        /* K */
static const double finest = 1e-9;           /* relative tolerance of a whole network's transient */

struct transient {
    hl_network_work *work;
    hl_heat heat;
    void *context;
    double limit;     /* for the root: hottest node less limit */
    double *capacity; /* J/K */
    void *solver;
    SUNContext sun;
    N_Vector state, tolerance;
    SUNMatrix matrix;
    SUNLinearSolver linear;
    N_Vector between; /* state at a time within the last step */
};

/* ------------------------------------------------------------- equations -- */

static bool load_state(transient *run, double time, N_Vector state)
{
    hl_network_work *work = run->work;
    memcpy(work->temperature, N_VGetArrayPointer(state), (size_t)work->n * sizeof(double));
    for (int i = 0; i < work->n; i++)
        if (!(work->temperature[i] > 0 && work->temperature[i] < 2 * hottest)) return false;
    return work_assemble(work, run->heat, run->context, time, least_difference);
}

/* Positive: a failure the integrator may recover from with a shorter step. */
static int rates(realtype time, N_Vector state, N_Vector rate, void *context)
{
    transient *run = context;
    const hl_network_work *work = run->work;
    if (!load_state(run, time, state)) return 1;
    double *out = N_VGetArrayPointer(rate), put_in = 0;
    for (int i = 0; i < work->n; i++) {
        out[i] = -work->residual[i] / run->capacity[i];
        put_in += work->heat[i];
    }
    out[work->n] = put_in;
    out[work->n + 1] = -work->residual[work->n]; /* what the surroundings receive */
    return 0;
}

/* Columns of the network's matrix, each with the two energy rows and the diagonal of these at the end. */
static int jacobian(realtype time, N_Vector state, N_Vector rate, SUNMatrix matrix, void *context,
                    N_Vector t1, N_Vector t2, N_Vector t3)
{
    transient *run = context;
    const hl_network_work *work = run->work;
    (void)rate, (void)t1, (void)t2, (void)t3;
    if (!load_state(run, time, state)) return 1;
    sunindextype *start = SM_INDEXPTRS_S(matrix), *row = SM_INDEXVALS_S(matrix), at = 0;
    double *value = SM_DATA_S(matrix);
    int n = work->n;
    for (int j = 0; j < n; j++) {
        double out = work->slope[j]; /* d(heat to the surroundings)/dTj: what no other node receives */
        start[j] = at;
        for (int p = work->column[j]; p < work->column[j + 1]; p++) {
            row[at] = work->row[p];
            value[at++] = -work->value[p] / run->capacity[work->row[p]];
            out += work->value[p];
        }
        row[at] = n;
        value[at++] = work->slope[j];
        row[at] = n + 1;
        value[at++] = out;
    }
    for (int j = n; j < n + 2; j++) {
        start[j] = at;
        row[at] = j;
        value[at++] = 0;
    }
    start[n + 2] = at;
    return 0;
}

static int above_limit(realtype time, N_Vector state, realtype *root, void *context)
{
    const transient *run = context;
    const double *t = N_VGetArrayPointer(state);
    (void)time;
    double most = -INFINITY;
    for (int i = 0; i < run->work->n; i++) most = fmax(most, t[i]);
    root[0] = most - run->limit;
    return 0;
}

/* ----------------------------------------------------------------- setup -- */

/* Capacities, none below what least_time asks for at 10 K of difference. */
static void set_capacities(transient *run)
{
    hl_network_work *work = run->work;
    for (int i = 0; i < work->n; i++) work->temperature[i] = work->ambient;
    work_assemble_links(work, 10.0);
    for (int i = 0; i < work->n; i++) {
        double least = fmax(least_time * work->value[work->diagonal[i]], 1e-12);
        run->capacity[i] = fmax(work->network->nodes[i].capacity, least);
    }
}

static void set_start(transient *run, const double start[])
{
    int n = run->work->n;
    double *state = N_VGetArrayPointer(run->state), *tolerance = N_VGetArrayPointer(run->tolerance);
    double stored = 0;
    for (int i = 0; i < n; i++) {
        state[i] = start[i];
        tolerance[i] = 1e-7; /* K */
        stored += run->capacity[i];
    }
    state[n] = state[n + 1] = 0;
    tolerance[n] = tolerance[n + 1] = 1e-7 * fmax(stored, 1e-6); /* J: as much as 1e-7 K in every node */
}

static bool make_vectors(transient *run)
{
    sunindextype size = run->work->n + 2;
    if (SUNContext_Create(NULL, &run->sun) != 0) return false;
    run->state = N_VNew_Serial(size, run->sun);
    run->tolerance = N_VNew_Serial(size, run->sun);
    run->between = N_VNew_Serial(size, run->sun);
    run->matrix = SUNSparseMatrix(size, size, run->work->entries + 2 * run->work->n + 2, CSC_MAT, run->sun);
    return run->state && run->tolerance && run->between && run->matrix;
}

static void stay_silent(int code, const char *module, const char *function, char *message, void *context)
{
    (void)code, (void)module, (void)function, (void)message, (void)context;
}

static bool make_solver(transient *run, double relative)
{
    run->linear = SUNLinSol_KLU(run->state, run->matrix, run->sun);
    run->solver = CVodeCreate(CV_BDF, run->sun);
    if (!run->linear || !run->solver) return false;
    bool good = CVodeSetErrHandlerFn(run->solver, stay_silent, NULL) == 0;
    good = good && CVodeInit(run->solver, rates, 0.0, run->state) == 0;
    good = good && CVodeSVtolerances(run->solver, relative, run->tolerance) == 0;
    good = good && CVodeSetUserData(run->solver, run) == 0;
    good = good && CVodeSetLinearSolver(run->solver, run->linear, run->matrix) == 0;
    good = good && CVodeSetJacFn(run->solver, jacobian) == 0;
    good = good && CVodeRootInit(run->solver, 1, above_limit) == 0;
    good = good && CVodeSetMinStep(run->solver, least_step) == 0; /* ends the climb of a blow-up */
    return good && CVodeSetMaxNumSteps(run->solver, 200000) == 0;
}

void transient_destroy(transient *run)
{
    if (!run) return;
    if (run->solver) CVodeFree(&run->solver);
    if (run->linear) SUNLinSolFree(run->linear);
    if (run->matrix) SUNMatDestroy(run->matrix);
    if (run->state) N_VDestroy(run->state);
    if (run->tolerance) N_VDestroy(run->tolerance);
    if (run->between) N_VDestroy(run->between);
    if (run->sun) SUNContext_Free(&run->sun);
    hl_network_work_destroy(run->work);
    free(run->capacity);
    free(run);
}

transient *transient_create(const hl_network *network, const hl_surroundings *surroundings, hl_heat heat,
                            void *context, const double start[], double relative)
{
    transient *run = calloc(1, sizeof *run);
    if (!run) return NULL;
    run->heat = heat;
    run->limit = hottest;
    run->context = context;
    run->work = hl_network_work_create(network);
    run->capacity = calloc(hl_network_nodes(network) + 1, sizeof *run->capacity);
    bool good = run->work && run->capacity;
    if (good) {
        work_surround(run->work, surroundings);
        set_capacities(run);
        good = make_vectors(run);
    }
    if (good) {
        set_start(run, start);
        good = make_solver(run, relative);
    }
    if (good) return run;
    transient_destroy(run);
    return NULL;
}

/* ------------------------------------------------------------------- run -- */

/* Where the integrator gave up: is feedback there stronger than the links? */
static bool runs_away(transient *run, double time)
{
    return load_state(run, time, run->state) && !work_factor(run->work);
}

/* To `end` exactly, so that heat may jump there.  HL_RUNAWAY: the hottest node passed run->limit, or the
 * temperatures blew up, at *reached. */
static hl_status advance(transient *run, double end, double *reached)
{
    CVodeSetStopTime(run->solver, end);
    int flag = CVode(run->solver, end, run->state, reached, CV_NORMAL);
    if (flag == CV_ROOT_RETURN) return HL_RUNAWAY;
    if (flag == CV_MEM_NULL || flag == CV_LINIT_FAIL) return HL_NO_MEMORY;
    if (flag >= 0) return HL_OK;
    return runs_away(run, *reached) ? HL_RUNAWAY : HL_NO_SOLUTION;
}

hl_status transient_step(transient *run, double stop, double *reached)
{
    CVodeSetStopTime(run->solver, stop);
    int flag = CVode(run->solver, stop, run->state, reached, CV_ONE_STEP);
    if (flag == CV_ROOT_RETURN) return HL_RUNAWAY;
    if (flag == CV_MEM_NULL || flag == CV_LINIT_FAIL) return HL_NO_MEMORY;
    if (flag >= 0) return HL_OK;
    return runs_away(run, *reached) ? HL_RUNAWAY : HL_NO_SOLUTION;
}

hl_status transient_restart(transient *run, double now, const hl_surroundings *surroundings)
{
    work_surround(run->work, surroundings);
    return CVodeReInit(run->solver, now, run->state) == 0 ? HL_OK : HL_INTERNAL;
}

const double *transient_state(const transient *run)
{
    return N_VGetArrayPointer(run->state);
}

bool transient_at(transient *run, double time, double state[])
{
    if (CVodeGetDky(run->solver, time, 0, run->between) != 0) return false;
    memcpy(state, N_VGetArrayPointer(run->between), (size_t)(run->work->n + 2) * sizeof *state);
    return true;
}

void transient_energy(const transient *run, const double start[], double energy[3])
{
    const double *t = N_VGetArrayPointer(run->state);
    int n = run->work->n;
    energy[0] = t[n];
    energy[1] = t[n + 1];
    energy[2] = 0;
    for (int i = 0; i < n; i++) energy[2] += run->capacity[i] * (t[i] - start[i]);
}

static bool inputs_are_sane(const hl_network *network, const hl_surroundings *s, const double start[])
{
    if (!network || !(s->temperature > 0 && s->temperature <= hottest)) return false;
    if (!(s->pressure >= 0 && s->pressure <= 1e8)) return false;
    for (size_t i = 0; i < network->n_nodes; i++)
        if (!(start[i] > 0 && start[i] <= hottest)) return false;
    return true;
}

static bool times_rise(size_t n, const double times[])
{
    double last = 0;
    for (size_t k = 0; k < n; k++) {
        if (!(times[k] >= last && times[k] <= 1e12)) return false;
        last = times[k];
    }
    return true;
}

hl_status hl_network_transient(const hl_network *network, const hl_surroundings *surroundings, hl_heat heat,
                               void *context, const double start[], size_t n_times, const double times[],
                               double temperature[], double energy[3])
{
    PLAIN_FLOAT_STATE;
    if (!inputs_are_sane(network, surroundings, start) || !times_rise(n_times, times)) return HL_BAD_INPUT;
    transient *run = transient_create(network, surroundings, heat, context, start, finest);
    if (!run) return HL_NO_MEMORY;
    size_t n = network->n_nodes;
    const double *state = N_VGetArrayPointer(run->state);
    hl_status status = HL_OK;
    double reached = 0;
    for (size_t k = 0; k < n_times && status == HL_OK; k++) {
        if (times[k] > reached) status = advance(run, times[k], &reached);
        if (status == HL_OK) memcpy(temperature + k * n, state, n * sizeof *temperature);
    }
    if (status == HL_OK && energy) transient_energy(run, start, energy);
    transient_destroy(run);
    return status;
}

hl_status hl_network_time_to(const hl_network *network, const hl_surroundings *surroundings, hl_heat heat,
                             void *context, const double start[], double limit, double end, double *time)
{
    *time = INFINITY;
    if (!inputs_are_sane(network, surroundings, start) || !(end >= 0) || !(limit > 0 && limit <= hottest))
        return HL_BAD_INPUT;
    for (size_t i = 0; i < network->n_nodes; i++)
        if (start[i] >= limit) {
            *time = 0;
            return HL_OK;
        }
    if (end == 0) return HL_OK;
    transient *run = transient_create(network, surroundings, heat, context, start, finest);
    if (!run) return HL_NO_MEMORY;
    double reached = 0;
    run->limit = limit;
    hl_status status = advance(run, fmin(end, 1e12), &reached);
    if (status == HL_RUNAWAY) {
        *time = reached;
        status = HL_OK;
    }
    transient_destroy(run);
    return status;
}
