/* wire.c - round copper wire by diameter or American gauge, with skin effect.
 *
 *   R_dc = rho(T) l / (n pi d^2 / 4)
 *   gauge: d = 0.127 mm 92^((36 - g) / 39)                                      source: ASTM B258
 *   skin effect, x^2 = w mu0 d^2 / (4 rho):  y = R_ac / R_dc - 1
 *     x <= 2.8        x^4 / (192 + 0.8 x^4)
 *     2.8 < x <= 3.8  -0.136 - 0.0177 x + 0.0563 x^2
 *     3.8 < x         0.354 x - 0.733                                    source: IEC 60287-1-1, 2.1.2 (from
 * memory) For one wire alone: neighbours add proximity loss.  The spectrum of the stress is used when it has
 * one (mean square of the lines against the whole gives the dc part), otherwise everything counts as dc. */
#include "copper.h"
#include "ohmic.h"

enum { LENGTH, DIAMETER, GAUGE, STRANDS, RATED_CURRENT, PARAMETERS };

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    ROW("length", "m", HL_REQUIRED, 0, 1e-3, 100, "length along the current, both ways if both are meant", "measured"),
    ROW("diameter", "m", 0, 0, 1e-5, 0.02, "diameter of the copper of one strand", "measured"),
    ROW("gauge", "1", 0, 0, 0, 50, "American wire gauge of one strand, where the diameter is not stated", "marking"),
    ROW("strands", "1", HL_DEFAULT, 1, 1, 2000, "insulated or loose strands in parallel", "counted"),
    ROW("rated_current", "A", 0, 0, 0.01, 500, "largest current the user allows", "design rule"),
};
/* clang-format on */

typedef struct wire {
    double resistance, diameter, rated_current; /* ohm at 20 degC, m */
} wire;

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(wire);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    wire *w = state;
    w->rated_current = given_or(&v[RATED_CURRENT], 0.0);
    if (!v[DIAMETER].given && !v[GAUGE].given) {
        snprintf(reason->text, sizeof reason->text, "state diameter, or gauge");
        return false;
    }
    w->diameter = given_or(&v[DIAMETER], 127e-6 * pow(92.0, (36.0 - v[GAUGE].number) / 39.0));
    double section = v[STRANDS].number * 0.78539816339744831 * w->diameter * w->diameter;
    if (!(section > 0.0) || !(v[LENGTH].number > 0.0)) {
        snprintf(reason->text, sizeof reason->text, "length %.3g m and section %.3g m2 must be positive",
                 v[LENGTH].number, section);
        return false;
    }
    w->resistance = copper_resistivity * v[LENGTH].number / section;
    return true;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    const wire *w = state;
    double slope;
    terminal->resistance = w->resistance * copper_factor(temperature, &slope);
    terminal->rated_current = w->rated_current;
}

/* y(x) and dy/dx */
static double skin_excess(double x, double *slope)
{
    if (x <= 2.8) {
        double x4 = x * x * x * x, below = 192.0 + 0.8 * x4;
        *slope = 4.0 * x * x * x * 192.0 / (below * below);
        return x4 / below;
    }
    if (x <= 3.8) {
        *slope = -0.0177 + 0.1126 * x;
        return -0.136 - 0.0177 * x + 0.0563 * x * x;
    }
    *slope = 0.354;
    return 0.354 * x - 0.733;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const wire *w = state;
    double slope, factor = copper_factor(temperature, &slope);
    joule_loss(w->resistance * factor, w->resistance * slope, stress, out);
    /* x at 1 Hz; x ~ rho^-1/2, so d(factor y)/dT = slope (y - x/2 dy/dx) */
    double unit =
        w->diameter * sqrt(6.283185307179586 * 1.25663706212e-6 / (4.0 * copper_resistivity * factor));
    double excess = 0.0, rate = 0.0, y1;
    for (size_t k = 0; stress->line_frequency && stress->line_rms_squared && k < stress->lines; k++) {
        double x = unit * sqrt(fmax(stress->line_frequency[k], 0.0)), y = skin_excess(x, &y1);
        excess += stress->line_rms_squared[k] * y;
        rate += stress->line_rms_squared[k] * (y - 0.5 * x * y1);
    }
    out->watts[HL_WINDING_AC] += w->resistance * factor * excess;
    out->slope += w->resistance * slope * rate;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    const wire *w = state;
    if (!(w->rated_current > 0.0)) return 0;
    list[0] = (hl_limit){"current", "A", fabs(stress->total_rms), w->rated_current};
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
    .kinds = HL_KINDS("wire"),
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "wire",
    .title = "round copper wire",
    .source = "IEC 60028; IEC 60287-1-1 (skin effect); ASTM B258 (gauges)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("wire", "0.1.0", "heatledger", "MIT", &model);
