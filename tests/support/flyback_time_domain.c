#include "flyback_time_domain.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <string.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

enum {
    LEAK,
    CORE,
    DRAIN,
    ON,
    ON_SQUARE,
    WINDING_SQUARE,
    CORE_SQUARE,
    SECOND,
    SECOND_SQUARE,
    CLAMPED,
    STATES
};
enum { COMMUTATION, RISE, RESET, FALL, RING, BODY, IDLE };

typedef struct stepping {
    const flyback_bench_circuit *c;
    int phase;
    void *cvode;
    N_Vector state;
} stepping;

static int rates(sunrealtype t, N_Vector state, N_Vector rate, void *user)
{
    (void)t;
    const stepping *s = user;
    const flyback_bench_circuit *c = s->c;
    const double *y = N_VGetArrayPointer(state);
    double *f = N_VGetArrayPointer(rate);
    memset(f, 0, STATES * sizeof *f);
    double both = c->magnetizing + c->leakage, second = 0;
    bool conducting = s->phase == COMMUTATION || s->phase == RESET || s->phase == FALL;
    if (conducting) second = c->ratio * (y[CORE] - y[LEAK]);
    double across =
        -c->ratio * (c->output + c->drop + c->secondary_resistance * second); /* primary winding */
    bool on = s->phase == COMMUTATION || s->phase == RISE;
    if (conducting) f[CORE] = across / c->magnetizing;
    switch (s->phase) {
    case COMMUTATION:
        f[LEAK] = (c->input - c->on_resistance * y[LEAK] - across) / c->leakage;
        break;
    case RISE:
        f[LEAK] = f[CORE] = (c->input - c->on_resistance * y[LEAK]) / both;
        break;
    case RESET:
        f[LEAK] = (-c->clamp - (c->winding + c->clamp_resistance) * y[LEAK] - across) / c->leakage;
        break;
    case RING:
        f[LEAK] = f[CORE] = (c->input - y[DRAIN] - c->winding * y[LEAK]) / both;
        f[DRAIN] = y[LEAK] / c->capacitance;
        break;
    case BODY:
        f[LEAK] = f[CORE] = (c->input + c->body_drop - (c->winding + c->body_resistance) * y[LEAK]) / both;
        break;
    default:
        break;
    }
    f[ON] = on ? y[LEAK] : 0;
    f[ON_SQUARE] = on ? y[LEAK] * y[LEAK] : 0;
    f[WINDING_SQUARE] = y[LEAK] * y[LEAK];
    f[CORE_SQUARE] = y[CORE] * y[CORE];
    f[SECOND] = second;
    f[SECOND_SQUARE] = second * second;
    f[CLAMPED] = s->phase == RESET ? y[LEAK] : 0;
    return 0;
}

static int borders(sunrealtype t, N_Vector state, sunrealtype *g, void *user)
{
    (void)t;
    const stepping *s = user;
    const double *y = N_VGetArrayPointer(state);
    g[0] = g[1] = 1;
    if (s->phase == COMMUTATION) g[0] = y[CORE] - y[LEAK];
    if (s->phase == RESET || s->phase == BODY) g[0] = y[LEAK];
    if (s->phase == FALL) g[0] = y[CORE];
    if (s->phase == RING) g[0] = y[LEAK], g[1] = y[DRAIN];
    return 0;
}

/* Run one phase from t; true in *ended when its border came before `until`.  Returns the time reached. */
static double run(stepping *s, int phase, double t, double until, int *ended)
{
    double reached = t;
    int found[2] = {0, 0};
    s->phase = phase;
    *ended = 0;
    if (!(until > t)) return t;
    if (CVodeReInit(s->cvode, t, s->state) || CVodeSetStopTime(s->cvode, until)) return NAN;
    int flag = CVode(s->cvode, until, s->state, &reached, CV_NORMAL);
    if (flag < 0) return NAN;
    if (flag == CV_ROOT_RETURN) {
        CVodeGetRootInfo(s->cvode, found);
        *ended = found[1] ? 2 : 1;
    }
    return reached;
}

/* The ring: border 1 is a zero of the current (every second one a valley), 2 the drain at zero. */
static double ring(stepping *s, double t)
{
    const flyback_bench_circuit *c = s->c;
    double *y = N_VGetArrayPointer(s->state), long_ago = t + 1.0;
    int zeros = 0, ended;
    y[LEAK] = y[CORE] = 0;
    y[DRAIN] = c->input + c->ratio * (c->output + c->drop);
    while (zeros < 2 * c->valley - 1) {
        t = run(s, RING, t, long_ago, &ended);
        if (!ended) return NAN;
        if (ended == 2) {
            y[DRAIN] = 0;
            if (!c->wait || c->valley == 1) return t;
            t = run(s, BODY, t, long_ago, &ended);
            y[LEAK] = y[CORE] = y[DRAIN] = 0;
            if (!ended) return NAN;
        }
        zeros++;
    }
    return t;
}

static bool one_cycle(stepping *s, double leak, double core, flyback_bench_figures *f)
{
    const flyback_bench_circuit *c = s->c;
    double *y = N_VGetArrayPointer(s->state), t = 0, off = c->on_time, long_ago = 1.0;
    int ended = 0;
    memset(y, 0, STATES * sizeof *y);
    y[LEAK] = leak;
    y[CORE] = core;
    f->commutation_time = 0;
    if (c->leakage > 0 && core > leak) {
        t = run(s, COMMUTATION, 0, off, &ended);
        y[LEAK] = y[CORE];
        f->commutation_time = t;
    }
    f->start = y[LEAK];
    t = run(s, RISE, t, off, &ended);
    f->peak = y[LEAK];
    double end = c->period > 0 ? c->period : long_ago;
    if (c->leakage > 0) {
        t = run(s, RESET, t, end, &ended);
        f->reset_time = t - off;
        if (ended) y[LEAK] = 0;
    } else {
        y[LEAK] = 0;
        ended = 1;
    }
    double began = t;
    if (ended) {
        t = run(s, FALL, t, end, &ended);
        if (ended) y[CORE] = 0;
    }
    f->secondary_time = f->commutation_time + (t - began) + f->reset_time;
    if (c->period > 0) {
        f->period = c->period;
    } else if (c->capacitance > 0) {
        t = ring(s, t);
        f->period = t;
    } else {
        f->period = t;
    }
    f->turn_on_voltage = y[DRAIN];
    f->switch_mean = y[ON] / f->period;
    f->switch_rms = sqrt(y[ON_SQUARE] / f->period);
    f->winding_rms = sqrt(y[WINDING_SQUARE] / f->period);
    f->magnetizing_rms = sqrt(y[CORE_SQUARE] / f->period);
    f->secondary_mean = y[SECOND] / f->period;
    f->secondary_rms = sqrt(y[SECOND_SQUARE] / f->period);
    f->clamp_mean = y[CLAMPED] / f->period;
    return isfinite(t);
}

/* x(period) = x(0). The leakage current forgets its start at once; the magnetizing current by secants. */
static bool settle(stepping *s, flyback_bench_figures *f)
{
    double *y = N_VGetArrayPointer(s->state), leak = 0, core = 0, last_core = 0, last_gap = 0;
    for (int k = 0; k < 60; k++) {
        if (!one_cycle(s, leak, core, f)) return false;
        double gap = y[CORE] - core, scale = f->peak;
        f->periodicity = fmax(fabs(gap), fabs(y[LEAK] - leak));
        if (f->periodicity <= 1e-9 * scale) return true;
        double next = k > 1 && gap != last_gap ? core - gap * (core - last_core) / (gap - last_gap) : y[CORE];
        last_core = core;
        last_gap = gap;
        leak = y[LEAK];
        core = s->c->period > 0 ? fmax(next, leak) : y[CORE];
    }
    return f->periodicity < 1e-7 * f->peak;
}

bool flyback_time_domain(const flyback_bench_circuit *circuit, flyback_bench_figures *figures)
{
    SUNContext context;
    if (SUNContext_Create(NULL, &context)) return false;
    memset(figures, 0, sizeof *figures);
    stepping s = {
        .c = circuit, .cvode = CVodeCreate(CV_ADAMS, context), .state = N_VNew_Serial(STATES, context)};
    N_Vector tolerance = N_VNew_Serial(STATES, context);
    SUNMatrix matrix = SUNDenseMatrix(STATES, STATES, context);
    SUNLinearSolver solver = SUNLinSol_Dense(s.state, matrix, context);
    double current = circuit->input * circuit->on_time / circuit->magnetizing, n = circuit->ratio;
    double t = circuit->on_time, *atol = N_VGetArrayPointer(tolerance);
    N_VConst(1e-13 * current, tolerance);
    atol[DRAIN] = 1e-13 * circuit->input;
    atol[ON] = atol[CLAMPED] = 1e-13 * current * t;
    atol[ON_SQUARE] = atol[WINDING_SQUARE] = atol[CORE_SQUARE] = 1e-13 * current * current * t;
    atol[SECOND] = n * atol[ON];
    atol[SECOND_SQUARE] = n * n * atol[ON_SQUARE];
    N_VConst(0.0, s.state);
    bool good = !CVodeInit(s.cvode, rates, 0.0, s.state) && !CVodeSVtolerances(s.cvode, 1e-12, tolerance) &&
                !CVodeSetUserData(s.cvode, &s) && !CVodeSetMaxNumSteps(s.cvode, 200000) &&
                !CVodeSetLinearSolver(s.cvode, solver, matrix) && !CVodeRootInit(s.cvode, 2, borders) &&
                !CVodeSetNoInactiveRootWarn(s.cvode) && settle(&s, figures);
    CVodeFree(&s.cvode);
    SUNLinSolFree(solver);
    SUNMatDestroy(matrix);
    N_VDestroy(tolerance);
    N_VDestroy(s.state);
    SUNContext_Free(&context);
    return good;
}
