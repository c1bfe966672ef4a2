/* bus.c - the capacitors on a bus: what the circuit sees of them, and how they share its ripple.
 *
 * Sources of different frequency are incoherent, so their mean squares add; at each
 * line the current divides as the admittances: |I_c|^2 = |I|^2 |Y_c|^2 / |sum Y|^2
 * (Kirchhoff's current law at one frequency). */
#include "solve/workspace.h"

#include <math.h>
#include <string.h>

#include "plugin/calling.h"
#include "plugin/table.h"
#include "solve/ripple.h"
#include "solve/vectors.h"
#include "wave/lanes.h"

enum { SHARED_MAX = HL_BUS_CAPACITORS_MAX };

/* Of waves with the same frequency setting: what rounding leaves in the sum of their pieces. */
static const double same_frequency = 1e-12;

/* Mean over rms of a rectified sine, 2 sqrt(2) / pi. */
static const double rectified_mean = 0.9003163161571061;

/* Its device, about to be asked for `function`. */
static const hl_device *ask(const hl_workspace *work, int item, const char *function)
{
    const design_item *described = &work->design->items[item];
    calling(described->set.model, function, described->shown.name);
    return described->set.model->device;
}

void bus_present(hl_workspace *work, size_t index, double *capacitance, double *esr)
{
    const design_stage *stage = &work->design->stages[index];
    double total = 0, conductance = 0;
    for (size_t c = 0; c < stage->n_capacitors; c++) {
        int item = stage->capacitors[c];
        hl_terminal terminal;
        memset(&terminal, 0, sizeof terminal);
        terminal.struct_size = sizeof terminal;
        ask(work, item, "present")
            ->present(work->items[item].state, work->items[item].temperature, work->stages[index].voltage,
                      &terminal);
        called();
        double n = work->design->items[item].parallel;
        total += n * terminal.capacitance;
        if (terminal.resistance > 0) conductance += n / terminal.resistance;
    }
    *capacitance = total;
    *esr = conductance > 0 ? 1.0 / conductance : 0.0;
}

/* Of one part of a capacitor at each line, into work->line_resistance and work->line_reactance. */
static void find_impedances(const hl_workspace *work, int item, double voltage, size_t n)
{
    const hl_device *device = ask(work, item, "impedance");
    const item_state *state = &work->items[item];
    const double *frequency = work->line_frequency;
    double *resistance = work->line_resistance, *reactance = work->line_reactance;
    if (device_has_impedances(device))
        device->impedances(state->state, state->temperature, voltage, frequency, n, resistance, reactance);
    else
        for (size_t k = 0; k < n; k++)
            device->impedance(state->state, state->temperature, voltage, frequency[k], &resistance[k],
                              &reactance[k]);
    called();
}

/* With those of one part: |Y|^2 at each line, and the share of all parts of the item in the sums of Y. */
FOUR_LANES static void add_admittance(const hl_workspace *work, double parallel, size_t n,
                                      double *restrict square_of_one)
{
    const double *resistance = work->line_resistance, *reactance = work->line_reactance;
    double *real = work->line_real, *imaginary = work->line_imaginary;
    for (size_t k = 0; k < n; k++) {
        double r = resistance[k], x = reactance[k], square = r * r + x * x;
        square = square > 1e-30 ? square : 1e-30;
        square_of_one[k] = 1.0 / square;
        real[k] += parallel * r / square;
        imaginary[k] -= parallel * x / square;
    }
}

/* Stages at one frequency share their lines: those appended at n, `more`, go to such as are there already.
 * Returns how many lines there are then. */
static size_t join_lines(double f[], double i2[], size_t n, size_t more)
{
    if (more != RIPPLE_WAVE_LINES) return n + more;
    for (size_t k = 0; k < n; k += RIPPLE_WAVE_LINES) {
        if (!(fabs(f[n] - f[k]) <= same_frequency * f[k])) continue;
        for (size_t i = 0; i < RIPPLE_WAVE_LINES; i++) i2[k + i] += i2[n + i];
        return n;
    }
    return n + more;
}

/* Lines of the whole bus current; there is room for all in f and i2. */
static size_t bus_lines(const hl_workspace *work, size_t index, double f[], double i2[])
{
    const design_stage *stage = &work->design->stages[index];
    size_t n = ripple_lines(&work->stages[index].out.output, f, i2);
    for (size_t c = 0; c < stage->n_children; c++) {
        const hl_side *drawn = &work->stages[stage->children[c]].out.input;
        /* the slow line current of a rectified bus comes from the mains */
        n = join_lines(f, i2, n, ripple_of_cycles(drawn, f + n, i2 + n));
    }
    return n;
}

/* A capacitor without others beside it, or several alike: each takes its even share. */
static size_t take_alone(hl_workspace *work, size_t index)
{
    int only = work->design->stages[index].capacitors[0];
    item_state *item = &work->items[only];
    size_t n = bus_lines(work, index, item->line_frequency, item->line_rms_squared);
    double parallel = work->design->items[only].parallel, share = 1.0 / (parallel * parallel);
    if (parallel != 1) vector_scale(item->line_rms_squared, share, n);
    return n;
}

/* The current squared over the sum of Y squared, in place of its real part. */
FOUR_LANES static void share_out(const hl_workspace *work, size_t n)
{
    const double *current = work->line_rms_squared, *imaginary = work->line_imaginary;
    double *restrict real = work->line_real;
    for (size_t k = 0; k < n; k++) {
        double total = real[k] * real[k] + imaginary[k] * imaginary[k];
        real[k] = total > 0 ? current[k] / total : 0;
    }
}

/* Among several of different kinds, line by line. */
static size_t take_shares(hl_workspace *work, size_t index)
{
    const design_stage *stage = &work->design->stages[index];
    size_t n = bus_lines(work, index, work->line_frequency, work->line_rms_squared);
    size_t capacitors = stage->n_capacitors < SHARED_MAX ? stage->n_capacitors : SHARED_MAX;
    double *real = work->line_real, *imaginary = work->line_imaginary;
    memset(real, 0, n * sizeof *real);
    memset(imaginary, 0, n * sizeof *imaginary);
    for (size_t c = 0; c < capacitors; c++) {
        int item = stage->capacitors[c];
        find_impedances(work, item, work->stages[index].voltage, n);
        add_admittance(work, work->design->items[item].parallel, n, work->items[item].line_rms_squared);
    }
    share_out(work, n);
    for (size_t c = 0; c < capacitors; c++) {
        item_state *item = &work->items[stage->capacitors[c]];
        memcpy(item->line_frequency, work->line_frequency, n * sizeof *item->line_frequency);
        vector_multiply(item->line_rms_squared, real, n);
    }
    return n;
}

static double dc_limit(double voltage, double peak)
{
    return peak > voltage ? peak : voltage;
}

void bus_share(hl_workspace *work, size_t index)
{
    const design_stage *stage = &work->design->stages[index];
    stage_state *state = &work->stages[index];
    if (!stage->n_capacitors) return;
    size_t n = stage->n_capacitors == 1 ? take_alone(work, index) : take_shares(work, index);
    for (size_t c = 0; c < stage->n_capacitors && c < SHARED_MAX; c++) {
        item_state *item = &work->items[stage->capacitors[c]]; /* the rest of whose stress stays nought */
        item->bus.struct_size = sizeof item->bus;
        item->bus.lines = n;
        item->bus.line_frequency = item->line_frequency;
        item->bus.line_rms_squared = item->line_rms_squared;
        item->bus.voltage_dc =
            stage->model->stage->output == HL_DC ? state->voltage : rectified_mean * state->voltage;
        item->bus.voltage_peak = dc_limit(state->voltage, state->out.output.voltage_peak);
        item->bus.total_rms = sqrt(vector_sum(item->line_rms_squared, n));
        item->stress = &item->bus;
    }
}
