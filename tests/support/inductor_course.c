#include "inductor_course.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <string.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include "story.h"

enum { CURRENT, VOLTAGE, AREA, BALANCE, CHARGE, SQUARE, RIPPLE, TAGGED, SIZE = TAGGED + 2 * COURSE_TAGS };

typedef struct scene {
    const course_circuit *circuit;
    const course_path *path; /* NULL: the current rests */
} scene;

static double drive(const course_circuit *c, const course_path *path, double i, double v)
{
    double output = path->feeds ? v + c->esr * (i - c->load) : 0.0;
    return path->source - path->resistance * i - output;
}

static int slope(sunrealtype t, N_Vector at, N_Vector rate, void *context)
{
    (void)t;
    const scene *s = context;
    const course_circuit *c = s->circuit;
    const double *y = N_VGetArrayPointer(at);
    double *d = N_VGetArrayPointer(rate), i = s->path ? y[CURRENT] : 0.0;
    double fed = s->path && s->path->feeds ? i : 0.0;
    memset(d, 0, SIZE * sizeof *d);
    if (s->path) d[CURRENT] = drive(c, s->path, i, y[VOLTAGE]) / c->inductance;
    d[VOLTAGE] = (fed - c->load) / c->capacitance;
    d[AREA] = y[VOLTAGE];
    d[BALANCE] = fed - c->load;
    d[CHARGE] = i;
    d[SQUARE] = i * i;
    d[RIPPLE] = (fed - c->load) * (fed - c->load);
    if (s->path && s->path->tag >= 0) {
        d[TAGGED + 2 * s->path->tag] = i;
        d[TAGGED + 2 * s->path->tag + 1] = i * i;
    }
    return 0;
}

static int zero(sunrealtype t, N_Vector at, sunrealtype *out, void *context)
{
    (void)t, (void)context;
    out[0] = N_VGetArrayPointer(at)[CURRENT];
    return 0;
}

/* Follow one path for at most `left`; returns the time it took. */
static double follow(scene *s, N_Vector y, double left, bool until_zero)
{
    SUNContext context;
    SUNContext_Create(NULL, &context);
    N_Vector state = N_VMake_Serial(SIZE, N_VGetArrayPointer(y), context),
             tolerance = N_VNew_Serial(SIZE, context);
    double *tol = N_VGetArrayPointer(tolerance);
    for (int k = 0; k < SIZE; k++) tol[k] = k <= VOLTAGE ? 1e-13 : 1e-19;
    SUNMatrix matrix = SUNDenseMatrix(SIZE, SIZE, context);
    SUNLinearSolver solver = SUNLinSol_Dense(state, matrix, context);
    void *integrator = CVodeCreate(CV_BDF, context);
    int failed = CVodeInit(integrator, slope, 0.0, state) | CVodeSVtolerances(integrator, 1e-12, tolerance) |
                 CVodeSetUserData(integrator, s) | CVodeSetLinearSolver(integrator, solver, matrix) |
                 CVodeSetMaxNumSteps(integrator, 200000) | CVodeSetStopTime(integrator, left) |
                 CVodeSetInitStep(integrator, 1e-6 * left);
    if (until_zero) failed |= CVodeRootInit(integrator, 1, zero);
    double t = 0.0;
    int flag = failed ? failed : CVode(integrator, left, state, &t, CV_NORMAL);
    if (flag < 0) ck_abort_msg("the integrator gave up with %d", flag);
    CVodeFree(&integrator);
    SUNLinSolFree(solver);
    SUNMatDestroy(matrix);
    N_VDestroy(state);
    N_VDestroy(tolerance);
    SUNContext_Free(&context);
    return flag == CV_ROOT_RETURN ? t : left;
}

static void walk_state(const course_circuit *c, const course_state *g, double duration, N_Vector y)
{
    double *at = N_VGetArrayPointer(y), left = duration;
    for (int part = 0; part < 4 && left > 0.0; part++) {
        scene s = {c, NULL};
        double i = at[CURRENT];
        if (g->channel)
            s.path = &g->positive;
        else if (i > 0.0)
            s.path = &g->positive;
        else if (i < 0.0)
            s.path = &g->negative;
        else if (drive(c, &g->positive, 0.0, at[VOLTAGE]) > 0.0)
            s.path = &g->positive;
        else if (drive(c, &g->negative, 0.0, at[VOLTAGE]) < 0.0)
            s.path = &g->negative;
        bool watch = !g->channel && s.path && i != 0.0;
        double took = follow(&s, y, left, watch);
        left -= took;
        if (watch && left > 0.0) at[CURRENT] = 0.0;
    }
}

static double walk(const course_circuit *c, const double x[3], double f[3], double figures[SIZE])
{
    SUNContext context;
    SUNContext_Create(NULL, &context);
    N_Vector y = N_VNew_Serial(SIZE, context);
    double *at = N_VGetArrayPointer(y), period = 0.0;
    memset(at, 0, SIZE * sizeof *at);
    at[CURRENT] = x[1];
    at[VOLTAGE] = x[2];
    for (size_t k = 0; k < c->states; k++) {
        double t = c->state[k].base + c->state[k].rate * x[0];
        walk_state(c, &c->state[k], t, y);
        period += t;
    }
    f[0] = at[CURRENT] - x[1];
    f[1] = at[BALANCE] / period;
    f[2] = at[AREA] / period - c->voltage;
    memcpy(figures, at, SIZE * sizeof *at);
    N_VDestroy(y);
    SUNContext_Free(&context);
    return period;
}

static void eliminate(double m[3][4], double x[3])
{
    for (int k = 0; k < 3; k++) {
        int best = k;
        for (int r = k + 1; r < 3; r++)
            if (fabs(m[r][k]) > fabs(m[best][k])) best = r;
        for (int j = 0; j < 4; j++) {
            double swap = m[k][j];
            m[k][j] = m[best][j];
            m[best][j] = swap;
        }
        if (m[k][k] == 0.0) ck_abort_msg("the shooting matrix is singular");
        for (int r = 0; r < 3; r++) {
            double factor = r == k ? 0.0 : m[r][k] / m[k][k];
            for (int j = k; j < 4; j++) m[r][j] -= factor * m[k][j];
        }
    }
    for (int k = 0; k < 3; k++) x[k] = m[k][3] / m[k][k];
}

double course_settle(const course_circuit *c, double control, double current, double capacitor,
                     course_result *result)
{
    double x[3] = {control, current, capacitor}, f[3], g[3], figures[SIZE], other[SIZE], left = 1.0,
           period = 0.0;
    const double nudge[3] = {1e-5 * control, 1e-5 * (fabs(current) + c->load + 1e-3), 1e-6 * c->voltage};
    for (int step = 0; step < 6; step++) {
        period = walk(c, x, f, figures);
        left = fmax(fabs(f[0]) / (fabs(x[1]) + c->load + 1e-3),
                    fmax(fabs(f[1]) / (c->load + 1e-3), fabs(f[2]) / c->voltage));
        if (left < 1e-10) break;
        double m[3][4], move[3];
        for (int k = 0; k < 3; k++) {
            double y[3] = {x[0], x[1], x[2]};
            y[k] += nudge[k];
            walk(c, y, g, other);
            for (int r = 0; r < 3; r++) m[r][k] = (g[r] - f[r]) / nudge[k];
        }
        for (int r = 0; r < 3; r++) m[r][3] = f[r];
        eliminate(m, move);
        for (int k = 0; k < 3; k++) x[k] -= move[k];
    }
    *result = (course_result){.control = x[0],
                              .current = x[1],
                              .capacitor = x[2],
                              .period = period,
                              .mean = figures[CHARGE] / period,
                              .rms = sqrt(figures[SQUARE] / period),
                              .ripple_rms = sqrt(figures[RIPPLE] / period)};
    for (int k = 0; k < COURSE_TAGS; k++) {
        result->average[k] = figures[TAGGED + 2 * k] / period;
        result->tag_rms[k] = sqrt(figures[TAGGED + 2 * k + 1] / period);
    }
    return left;
}
