/* trace.c - copper trace: R = rho(T) l / (w t).  Dc spread over the whole section: no skin effect, right
 * while the copper is thinner than two skin depths (70 um below 3 MHz), and no crowding at corners. */
#include "copper.h"
#include "ohmic.h"

enum { LENGTH, WIDTH, THICKNESS, LAYERS, RATED_CURRENT, PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    ROW("length", "m", HL_REQUIRED, 0, 1e-4, 5, "length along the current", "board"),
    ROW("width", "m", HL_REQUIRED, 0, 5e-5, 0.5, "width across the current", "board"),
    ROW("thickness", "m", HL_DEFAULT, 3.5e-5, 5e-6, 1e-3, "copper thickness", "board maker: 35 um is one ounce"),
    ROW("layers", "1", HL_DEFAULT, 1, 1, 32, "equal traces in parallel", "board"),
    ROW("rated_current", "A", 0, 0, 0.01, 500, "largest current the user allows", "design rule"),
};
/* clang-format on */

typedef struct trace {
    double resistance, rated_current; /* ohm at 20 degC */
} trace;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(trace);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    trace *t = state;
    double section = v[WIDTH].number * v[THICKNESS].number * v[LAYERS].number;
    t->rated_current = given_or(&v[RATED_CURRENT], 0.0);
    if (!(section > 0.0) || !(v[LENGTH].number > 0.0)) {
        snprintf(reason->text, sizeof reason->text, "length %.3g m and section %.3g m2 must be positive",
                 v[LENGTH].number, section);
        return false;
    }
    t->resistance = copper_resistivity * v[LENGTH].number / section;
    return true;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    const trace *t = state;
    double slope;
    terminal->resistance = t->resistance * copper_factor(temperature, &slope);
    terminal->rated_current = t->rated_current;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const trace *t = state;
    double slope, factor = copper_factor(temperature, &slope);
    joule_loss(t->resistance * factor, t->resistance * slope, stress, out);
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    const trace *t = state;
    if (!(t->rated_current > 0.0)) return 0;
    list[0] = (hl_limit){"current", "A", fabs(stress->total_rms), t->rated_current};
    return 1;
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_RESISTOR,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
    .kinds = HL_KINDS("trace"),
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "trace",
    .title = "copper trace of a board",
    .source = "IEC 60028",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("trace", "0.1.0", "heatledger", "MIT", &model);
