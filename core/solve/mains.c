/* mains.c - what the mains have to supply besides watts: harmonics of their current. */
#include <math.h>
#include <stdlib.h>

#include "quantity/float_state.h"
#include "solve/workspace.h"

/* A wave over a whole line period from one over its half, which the other half mirrors. */
static hl_wave whole_line(const hl_wave *half, hl_segment *room)
{
    for (size_t k = 0; k < half->n; k++) {
        hl_segment *mirror = &room[half->n + k];
        room[k] = *mirror = half->segment[k];
        mirror->offset = -mirror->offset;
        mirror->slope = -mirror->slope;
        mirror->cosine = -mirror->cosine;
        mirror->sine = -mirror->sine;
    }
    return (hl_wave){2 * half->n, room};
}

/* Peak amplitudes 1..n of one stage's line current are added.  A stage that tells no wave draws a sine in
 * phase with the voltage.  Losses booked after the wave was solved are drawn in its shape, as elsewhere. */
static hl_status add_stage(const stage_state *state, double frequency, size_t n, double cosine[],
                           double sine[])
{
    const hl_wave *line = &state->out.input.line;
    double period = line->n ? hl_wave_period(line) : 0, current = state->out.input.current;
    if (line->n == 0 || !(period > 0) || !(current > 0)) {
        sine[0] += sqrt(2.0) * state->input_current;
        return HL_OK;
    }
    hl_segment *room = calloc(2 * line->n, sizeof *room);
    double *a = calloc(2 * n, sizeof *a);
    if (room && a) {
        hl_wave whole = period * frequency < 0.75 ? whole_line(line, room) : *line;
        hl_wave_fourier(&whole, n, a, a + n);
        for (size_t k = 0; k < n; k++) {
            cosine[k] += a[k] * (state->input_current / current);
            sine[k] += a[n + k] * (state->input_current / current);
        }
    }
    hl_status status = room && a ? HL_OK : HL_NO_MEMORY;
    free(room);
    free(a);
    return status;
}

/* Every stage at the mains counts its time from the rising zero of the voltage, so their currents add with
 * their phases. */
hl_status hl_result_mains_harmonics(const hl_workspace *workspace, size_t n, double rms[])
{
    PLAIN_FLOAT_STATE;
    const hl_design *design = workspace->design;
    double frequency = workspace->settings[SETTING_FREQUENCY];
    for (size_t k = 0; k < n; k++) rms[k] = 0;
    if (workspace->outcome != HL_SOLVED || !(frequency > 0) || n == 0) return HL_OK;
    double *sum = calloc(2 * n, sizeof *sum);
    hl_status status = sum ? HL_OK : HL_NO_MEMORY;
    for (size_t s = 0; s < design->n_stages && status == HL_OK; s++)
        if (design->stages[s].parent < 0)
            status = add_stage(&workspace->stages[s], frequency, n, sum, sum + n);
    for (size_t k = 0; k < n && status == HL_OK; k++) rms[k] = hypot(sum[k], sum[n + k]) / sqrt(2.0);
    free(sum);
    return status;
}
