/* figure_line.c - currents of the mains, piece by piece. */
#include "figure_line.h"

#include <math.h>
#include <string.h>

static const double pi = 3.14159265358979324;

/* Of no particular size; returns the number of pieces. */
static size_t shape_half(figure_line_kind kind, double half, bool alternates, hl_segment s[])
{
    double w = pi / half,
           lead = alternates ? 0.28 : 1.0 / 3.0; /* off the crest where it may lead the voltage */
    switch (kind) {
    case FIGURE_PULSE:
        s[0].duration = lead * half;
        s[1] = (hl_segment){.duration = half / 3.0, .omega = 3.0 * w, .sine = 1.0};
        s[2].duration = half - s[0].duration - s[1].duration;
        return 3;
    case FIGURE_PIECES:
    case FIGURE_LOPSIDED:
        s[0].duration = 0.18 * half;
        s[1] = (hl_segment){.duration = 0.22 * half, .slope = 4.0 / half, .omega = w, .sine = 0.3};
        s[2] = (hl_segment){
            .duration = 0.35 * half, .offset = 0.9, .slope = -2.5 / half, .omega = w, .cosine = 0.25};
        s[2].sine = -0.1;
        s[3].duration = 0.25 * half;
        return 4;
    default:
        s[0] = (hl_segment){.duration = half, .omega = w, .sine = 1.0};
        return 1;
    }
}

static void scale(hl_segment *s, size_t n, double by)
{
    for (size_t i = 0; i < n; i++) {
        s[i].offset *= by;
        s[i].slope *= by;
        s[i].cosine *= by;
        s[i].sine *= by;
    }
}

void figure_line_draw(hl_side *load, figure_line_kind kind, double half, bool alternates,
                      hl_segment piece[FIGURE_LINE_PIECES])
{
    double cosine, sine, highest, lowest;
    load->current_peak = sqrt(2.0) * load->current;
    load->power = 0.8 * load->voltage * load->current;
    if (kind == FIGURE_UNTOLD) return;
    memset(piece, 0, FIGURE_LINE_PIECES * sizeof *piece);
    size_t n = shape_half(kind, half, alternates, piece);
    memcpy(piece + n, piece, n * sizeof *piece);
    scale(piece + n, n, alternates && kind == FIGURE_LOPSIDED ? -0.8 : -1.0);
    hl_wave whole = {2 * n, piece};
    double rms = hl_wave_rms(&whole);
    scale(piece, 2 * n, rms > 0.0 ? load->current / rms : 0.0);
    hl_wave_fourier(&whole, 1, &cosine, &sine);
    hl_wave_peaks(&whole, &highest, &lowest);
    load->power = load->voltage * sine / sqrt(2.0);
    load->current_peak = fmax(highest, -lowest);
    load->line = (hl_wave){alternates ? 2 * n : n, piece};
    if (!alternates || kind != FIGURE_SINE) return;
    piece->duration = 2.0 * half; /* one piece */
    load->line.n = 1;
}
