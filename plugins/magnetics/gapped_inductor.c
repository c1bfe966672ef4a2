/* gapped_inductor.c - a ferrite core with an air gap and one winding.
 *
 * Inductance as stated, or from turns, gap and core (gap.h); core loss by steinmetz.h, winding by winding.h.
 */
#include <string.h>

#include "core_loss.h"
#include "gap.h"
#include "permeability_check.h"
#include "value_check.h"
#include "winding_loss.h"

enum {
    INDUCTANCE,
    GAP,
    PERMEABILITY,
    WINDOW_DEPTH,
    OFFSET,
    WINDING,
    CORE = WINDING + WINDING_ROWS,
    PARAMETERS = CORE + CORE_ROWS
};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"inductance", "H", HL_NUMBER, 0, 0, 10e-9, 1, NULL, NULL, "at no bias; from turns, core and gap when not stated", "data sheet, or a bridge at 10 kHz"},
    {"gap", "m", HL_NUMBER, 0, 0, 0, 20e-3, NULL, NULL, "total length of the air gap; from inductance, turns and core when not stated", "feeler gauge"},
    {"relative_permeability", "1", HL_NUMBER, 0, 0, 5, 200e3, NULL, NULL, "of the core material; 2000 when not stated", "material data sheet"},
    {"window_depth", "m", HL_NUMBER, 0, 0, 0.5e-3, 0.5, NULL, NULL, "of the winding window, across the layers, from the inner leg to the outer; with it the field of the gap at the wires is found", "core drawing"},
    {"winding_offset", "m", HL_NUMBER, 0, 0, 0.1e-3, 50e-3, NULL, NULL, "from the inner leg to the middle of the first layer; 1 mm and half a layer when not stated", "bobbin drawing"},
    WINDING_TABLE(HL_NUMBER, HL_CHOICE),
    CORE_TABLE(HL_REQUIRED),
};
/* clang-format on */

typedef struct inductor {
    double inductance;
    double window_area;
    harmonic_series series;
    magnetic_core core;
    coil winding;
} inductor;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(inductor);
}

/* The layers in the window with their gap; false where the window is not known, the wire is not round, or
 * the layers do not fit: then the field rises evenly from layer to layer. */
static bool gap_field_of(const inductor *l, const hl_value *v, double gap, const conductor *wire,
                         gap_field *field)
{
    winding_window *w = &field->window;
    const coil *c = &l->winding;
    bool round = wire->shape == CONDUCTOR_ROUND || wire->shape == CONDUCTOR_LITZ;
    if (!v[WINDOW_DEPTH].given || !round || !(wire->size > 0.0) || !(c->breadth > 0.0)) return false;
    w->size = (window_size){v[WINDING + ROW_WINDOW_WIDTH].number, v[WINDOW_DEPTH].number};
    w->gap = gap;
    double x = core_number(&v[OFFSET], 1e-3 + 0.5 * c->layer_pitch);
    int layers = (int)fmin(1e6, fmax(1.0, floor(c->layers + 0.5)));
    if (!window_put(w, 0, layers, c->turns / layers, c->breadth, c->layer_pitch, &x)) return false;
    window_close(w, core_number(&v[WINDING + ROW_TURN_LENGTH], 0.0), c->layer_pitch);
    window_share(w, l->core.area, l->core.path, core_number(&v[PERMEABILITY], 2000.0));
    field->turns = c->turns;
    field->pitch = c->breadth / c->turns_per_layer;
    field->copper_share = fmin(c->copper_area / (layers * c->breadth * c->layer_pitch), 0.9);
    gap_field_prepare(field);
    return true;
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    inductor *l = state;
    memset(l, 0, sizeof *l);
    if (!values_finite(v, parameters, PARAMETERS, reason)) return false;
    winding_spec spec = winding_spec_of(&v[WINDING], 0);
    conductor wire;
    if (!winding_prepare(&l->winding, &spec, 0, &wire, reason)) return false;
    if (!core_read(&l->core, &v[CORE], spec.turns, reason)) return false;
    gap_field field = {.turns = 0.0};
    wire.along = winding_mean_square(&wire, l->winding.layers / l->winding.portions);
    gapped_core gapped =
        gapped_core_of(&v[CORE], &v[PERMEABILITY], &v[WINDING + ROW_WINDOW_WIDTH], spec.turns);
    double gap = gap_known(&gapped, &v[GAP], &v[INDUCTANCE]);
    if (gap_field_of(l, v, gap, &wire, &field)) wire.gap = &field;
    if (!wire.gap && gap_matters(&gapped, gap)) l->winding.rough = true;
    winding_tabulate(&l->winding, &wire);
    harmonic_series_prepare(&l->series, core_number(&v[WINDING + ROW_HARMONICS], 40.0), false);
    l->window_area = core_number(&v[WINDING + ROW_WINDOW_AREA], 0.0);
    l->inductance = core_number(&v[INDUCTANCE], 0.0);
    if (!v[INDUCTANCE].given)
        l->inductance = gapped_inductance(l->core.turns, l->core.area, l->core.path,
                                          core_number(&v[GAP], 0.0), core_number(&v[PERMEABILITY], 2000.0),
                                          core_number(&v[WINDING + ROW_WINDOW_WIDTH], 0.0));
    double most = permeability_limit(&l->core, core_number(&v[PERMEABILITY], 0.0));
    if (v[INDUCTANCE].given && !permeability_fits(&l->core, "inductance", l->inductance, most, reason))
        return false;
    if (l->inductance > 0.0 && isfinite(l->inductance)) return true;
    snprintf(reason->text, sizeof reason->text,
             "state inductance, or gap (or core_path_length) to find it from turns and core_area");
    return false;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    const inductor *l = state;
    (void)voltage;
    terminal->inductance = l->inductance;
    terminal->windings = 1.0;
    terminal->winding_resistance[0] =
        l->winding.resistance * copper_ratio(l->winding.coefficient, temperature);
    terminal->resistance = terminal->winding_resistance[0];
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const inductor *l = state;
    core_loss(&l->core, stress, temperature, out);
    windings_loss(&l->winding, 1, NULL, &l->series, false, stress, temperature, out);
    if (!l->core.has_loss && stress->flux_voltage) out->flags |= HL_FALLBACK;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit limit[])
{
    const inductor *l = state;
    double linkage = l->inductance * fabs(stress->total_peak);
    if (!(linkage > 0.0)) linkage = core_peak_linkage(stress);
    size_t n = core_limit(&l->core, linkage, temperature, limit);
    return n + window_limit(l->winding.copper_area, l->window_area, limit + n);
}

static const hl_device device = {
    .struct_size = sizeof device,
    .family = HL_FAMILY_MAGNETIC,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
};

static const hl_model model = {
    .struct_size = sizeof model,
    .name = "gapped_inductor",
    .title = "inductor on a gapped core",
    .source = "P. L. Dowell, Proc. IEE 113(8), 1966 (winding); K. Venkatachalam et al., COMPEL 2002 (core); "
              "C. W. T. McLyman, Transformer and Inductor Design Handbook, 2011 (gap)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("gapped_inductor", "0.1.0", "heatledger", "MIT", &model);
