#include "llc_time_domain.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <string.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

enum { IR, IM, VC, VN, IR_SQUARE, IM_SQUARE, SEC, SEC_SQUARE, ON_SQUARE, STATES };
enum { HELD, FLOATING, CLAMPED_LOW, CLAMPED_HIGH };

typedef struct stepping {
    const llc_bench_circuit *c;
    int rectifier, node;
    double peak[2];
} stepping;

/* Voltage the magnetizing inductance would see with the rectifier open. */
static double open_voltage(const llc_bench_circuit *c, const double *y)
{
    return c->magnetizing / (c->series + c->magnetizing) * (y[VN] - y[VC] - c->primary_resistance * y[IR]);
}

static double reflected(const llc_bench_circuit *c)
{
    return c->ratio * (c->output + c->drop);
}

static int rates(sunrealtype t, N_Vector state, N_Vector rate, void *user)
{
    (void)t;
    const stepping *s = user;
    const llc_bench_circuit *c = s->c;
    const double *y = N_VGetArrayPointer(state);
    double *f = N_VGetArrayPointer(rate);
    double secondary = c->ratio * (y[IR] - y[IM]);
    double vm = open_voltage(c, y);
    if (s->rectifier) vm = s->rectifier * reflected(c) + c->ratio * c->secondary_resistance * secondary;
    double across = y[VN] - y[VC] - c->primary_resistance * y[IR] - vm;
    f[IR] = across / c->series;
    f[IM] = s->rectifier ? vm / c->magnetizing : f[IR];
    f[VC] = y[IR] / c->capacitance;
    f[VN] = s->node == FLOATING ? -y[IR] / c->node_capacitance : 0.0;
    f[IR_SQUARE] = y[IR] * y[IR];
    f[IM_SQUARE] = y[IM] * y[IM];
    f[SEC] = fabs(secondary);
    f[SEC_SQUARE] = secondary * secondary;
    f[ON_SQUARE] = s->node == HELD ? y[IR] * y[IR] : 0.0;
    return 0;
}

/* [0] rectifier stops, or starts with; [1] starts against; [2], [3] node meets a rail, or leaves it. */
static int borders(sunrealtype t, N_Vector state, sunrealtype *g, void *user)
{
    (void)t;
    const stepping *s = user;
    const double *y = N_VGetArrayPointer(state);
    double rail = 0.5 * s->c->input + s->c->body_drop;
    g[0] = s->rectifier ? y[IR] - y[IM] : reflected(s->c) - open_voltage(s->c, y);
    g[1] = s->rectifier ? 1.0 : reflected(s->c) + open_voltage(s->c, y);
    g[2] = s->node == FLOATING ? y[VN] + rail : s->node == HELD ? 1.0 : y[IR];
    g[3] = s->node == FLOATING ? rail - y[VN] : 1.0;
    return 0;
}

static int choose(const stepping *s, double *y)
{
    double d = y[IR] - y[IM], open = open_voltage(s->c, y);
    if (fabs(d) > 1e-9) return d > 0 ? 1 : -1;
    y[IR] = y[IM] = 0.5 * (y[IR] + y[IM]);
    return open > reflected(s->c) ? 1 : open < -reflected(s->c) ? -1 : 0;
}

static void change(stepping *s, const int found[4], double *y)
{
    if (found[0] && s->rectifier) {
        y[IR] = y[IM] = 0.5 * (y[IR] + y[IM]);
        s->rectifier = choose(s, y);
    } else if (found[0] || found[1]) {
        s->rectifier = found[0] ? 1 : -1;
    }
    double rail = 0.5 * s->c->input + s->c->body_drop;
    if ((found[2] || found[3]) && s->node == FLOATING) {
        s->node = found[2] ? CLAMPED_LOW : CLAMPED_HIGH;
        y[VN] = found[2] ? -rail : rail;
    } else if (found[2]) {
        s->node = FLOATING;
    }
}

static void note_peaks(stepping *s, const double *y)
{
    s->peak[0] = fmax(s->peak[0], fabs(y[IR]));
    s->peak[1] = fmax(s->peak[1], fabs(y[VC]));
}

/* Step from `from` to `to`, through whatever borders come. */
static bool run(void *cvode, N_Vector state, stepping *s, double from, double to)
{
    double t = from, *y = N_VGetArrayPointer(state);
    if (CVodeReInit(cvode, from, state) || CVodeSetStopTime(cvode, to)) return false;
    for (int k = 0; k < 200000 && t < to; k++) {
        int flag = CVode(cvode, to, state, &t, CV_ONE_STEP);
        if (flag < 0) return false;
        note_peaks(s, y);
        if (flag != CV_ROOT_RETURN) continue;
        int found[4];
        CVodeGetRootInfo(cvode, found);
        change(s, found, y);
        if (to - t < 1e-15) break;
        if (CVodeReInit(cvode, t, state) || CVodeSetStopTime(cvode, to)) return false;
    }
    return true;
}

static bool half_period(void *cvode, N_Vector state, stepping *s, const double start[3],
                        llc_bench_figures *figures)
{
    const llc_bench_circuit *c = s->c;
    double *y = N_VGetArrayPointer(state), half = 0.5 / c->frequency;
    double dead = c->node_capacitance > 0 ? c->dead_time : 0.0;
    memset(y, 0, STATES * sizeof *y);
    memcpy(y, start, 3 * sizeof *y);
    y[VN] = 0.5 * c->input;
    s->node = HELD;
    s->rectifier = choose(s, y);
    s->peak[0] = s->peak[1] = 0;
    if (!run(cvode, state, s, 0.0, half - dead)) return false;
    figures->turn_off = y[IR];
    if (dead > 0) {
        s->node = FLOATING;
        if (!run(cvode, state, s, half - dead, half)) return false;
    }
    figures->residual = dead > 0 ? fmax(y[VN] + 0.5 * c->input, 0.0) : 0.0;
    figures->resonant_rms = sqrt(y[IR_SQUARE] / half);
    figures->magnetizing_rms = sqrt(y[IM_SQUARE] / half);
    figures->switch_rms = sqrt(0.5 * y[ON_SQUARE] / half);
    figures->output_mean = y[SEC] / half;
    figures->secondary_rms = sqrt(y[SEC_SQUARE] / half);
    figures->resonant_peak = s->peak[0];
    figures->capacitor_peak = s->peak[1];
    return true;
}

static bool solve3(double a[3][4])
{
    for (int k = 0; k < 3; k++) {
        int best = k;
        for (int i = k + 1; i < 3; i++)
            if (fabs(a[i][k]) > fabs(a[best][k])) best = i;
        for (int j = 0; j < 4; j++) {
            double keep = a[k][j];
            a[k][j] = a[best][j], a[best][j] = keep;
        }
        if (!(fabs(a[k][k]) > 1e-12)) return false;
        for (int i = 0; i < 3; i++) {
            double factor = i == k ? 0.0 : a[i][k] / a[k][k];
            for (int j = 0; j < 4; j++) a[i][j] -= factor * a[k][j];
        }
    }
    for (int i = 0; i < 3; i++) a[i][3] /= a[i][i];
    return true;
}

/* Shooting: x(half) + x(0) = 0. */
static bool settle(void *cvode, N_Vector state, stepping *s, llc_bench_figures *figures)
{
    const llc_bench_circuit *c = s->c;
    double scale[3] = {0.5 * c->input * sqrt(c->capacitance / c->series), 0, 0.5 * c->input},
           x[3] = {0, 0, 0};
    scale[1] = scale[0];
    double *y = N_VGetArrayPointer(state);
    for (int k = 0; k < 60; k++) { /* settle roughly: the map with a sign change, averaged */
        if (!half_period(cvode, state, s, x, figures)) return false;
        for (int i = 0; i < 3; i++) x[i] = 0.5 * (x[i] - y[i]);
    }
    for (int k = 0; k < 30; k++) {
        double r[3], a[3][4], worst = 0;
        if (!half_period(cvode, state, s, x, figures)) return false;
        for (int i = 0; i < 3; i++) r[i] = (y[i] + x[i]) / scale[i], worst = fmax(worst, fabs(r[i]));
        figures->periodicity = worst;
        if (worst < 1e-8) return true;
        llc_bench_figures unused;
        for (int j = 0; j < 3; j++) {
            double moved[3] = {x[0], x[1], x[2]}, step = (x[0] > x[1] ? -1e-5 : 1e-5) * scale[j];
            if (j == 0) step = -step; /* do not open a gap the rectifier would see as reverse */
            moved[j] += step;
            if (!half_period(cvode, state, s, moved, &unused)) return false;
            for (int i = 0; i < 3; i++) a[i][j] = ((y[i] + moved[i]) / scale[i] - r[i]) / (step / scale[j]);
        }
        for (int i = 0; i < 3; i++) a[i][3] = -r[i];
        if (!solve3(a)) return false;
        double damping = k < 20 ? 1.0 : 0.5;
        for (int i = 0; i < 3; i++) x[i] += damping * a[i][3] * scale[i];
    }
    return figures->periodicity < 1e-5;
}

bool llc_time_domain(const llc_bench_circuit *circuit, llc_bench_figures *figures)
{
    SUNContext context;
    if (SUNContext_Create(NULL, &context)) return false;
    stepping s = {.c = circuit};
    N_Vector state = N_VNew_Serial(STATES, context), tolerance = N_VNew_Serial(STATES, context);
    SUNMatrix matrix = SUNDenseMatrix(STATES, STATES, context);
    SUNLinearSolver solver = SUNLinSol_Dense(state, matrix, context);
    void *cvode = CVodeCreate(CV_BDF, context);
    double current = 0.5 * circuit->input * sqrt(circuit->capacitance / circuit->series);
    double half = 0.5 / circuit->frequency, n = circuit->ratio, *atol = N_VGetArrayPointer(tolerance);
    atol[IR] = atol[IM] = 1e-11 * current;
    atol[VC] = atol[VN] = 1e-11 * circuit->input;
    atol[IR_SQUARE] = atol[IM_SQUARE] = atol[ON_SQUARE] = 1e-9 * current * current * half;
    atol[SEC] = 1e-10 * n * current * half;
    atol[SEC_SQUARE] = 1e-9 * n * n * current * current * half;
    N_VConst(0.0, state);
    bool good = !CVodeInit(cvode, rates, 0.0, state) && !CVodeSVtolerances(cvode, 1e-9, tolerance) &&
                !CVodeSetUserData(cvode, &s) && !CVodeSetLinearSolver(cvode, solver, matrix) &&
                !CVodeSetMaxStep(cvode, half / 400) && !CVodeRootInit(cvode, 4, borders) &&
                !CVodeSetNoInactiveRootWarn(cvode) && settle(cvode, state, &s, figures);
    CVodeFree(&cvode);
    SUNLinSolFree(solver);
    SUNMatDestroy(matrix);
    N_VDestroy(tolerance);
    N_VDestroy(state);
    SUNContext_Free(&context);
    return good;
}
