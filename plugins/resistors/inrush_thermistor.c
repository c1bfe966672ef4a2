/* inrush_thermistor.c - NTC in the line: large when cold, some hundredths of that when hot.
 *
 * law current:      R = R_hot (I / I_rated)^-n, at most R_25: the body's temperature follows the current by
 * itself, as its data sheet was measured in still air.  Loss ~ I^(2-n). law temperature:  R = R_25 exp(B (1/T
 * - 1/298.15 K)): the body's temperature is what the thermal network says.  source: IEC 60539-1, definition
 * of the B value. source of the power law: fits in data sheets; n near 1 (a nearly constant voltage drop),
 * common practice. The temperature the network gives such a part is an average over its body and lead end:
 * 100 to 200 degC is usual. */
#include "ohmic.h"

enum {
    COLD_RESISTANCE,
    LAW,
    HOT_RESISTANCE,
    RATED_CURRENT,
    CURRENT_EXPONENT,
    RESISTANCE_CURVE,
    B_VALUE,
    RATED_ENERGY,
    INRUSH_ENERGY,
    PARAMETERS
};

enum { BY_CURRENT, BY_TEMPERATURE };
static const char *const laws[] = {"current", "temperature", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    ROW("cold_resistance", "ohm", HL_REQUIRED, 0, 0.1, 1000, "resistance at 25 degC", "marking"),
    {"law", "1", HL_CHOICE, HL_DEFAULT, BY_CURRENT, 0, 0, NULL, laws, "what sets the hot resistance: the current alone, or the temperature the network gives", "judgement"},
    ROW("hot_resistance", "ohm", 0, 0, 0.001, 100, "resistance at rated current; otherwise 3 percent of the cold one", "data sheet"),
    ROW("rated_current", "A", HL_DEFAULT, 3, 0.1, 50, "largest steady current", "marking, diameter"),
    ROW("current_exponent", "1", HL_DEFAULT, 1, 0.3, 1.7, "n of R ~ I^-n", "fit to the data sheet's table"),
    {"resistance_curve", "ohm", HL_CURVE, 0, 0, 0.001, 1000, "A", NULL, "hot resistance over steady current; replaces the power law; a lone number for a fixed resistor in its place", "data sheet"},
    ROW("b_value", "K", HL_DEFAULT, 3000, 1500, 6000, "B of the temperature law", "data sheet"),
    ROW("rated_energy", "J", 0, 0, 0.5, 2000, "largest energy of one inrush", "data sheet: capacitor that may be charged"),
    ROW("inrush_energy", "J", 0, 0, 0.01, 2000, "energy of one inrush, half C V^2 of the bulk capacitor", "circuit"),
};
/* clang-format on */

typedef struct thermistor {
    double cold, hot, rated_current, exponent, b, rated_energy, energy;
    hl_curve curve;
    bool by_temperature, estimated;
} thermistor;

static const double reference_temperature = 298.15; /* K */

static size_t state_size(const hl_value *values)
{
    (void)values;
    return sizeof(thermistor);
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    thermistor *t = state;
    t->cold = v[COLD_RESISTANCE].number;
    t->hot = given_or(&v[HOT_RESISTANCE], 0.03 * t->cold);
    t->rated_current = v[RATED_CURRENT].number;
    t->exponent = v[CURRENT_EXPONENT].number;
    t->curve = v[RESISTANCE_CURVE].curve;
    t->b = v[B_VALUE].number;
    t->by_temperature = v[LAW].number == BY_TEMPERATURE;
    t->rated_energy = given_or(&v[RATED_ENERGY], 0.0);
    t->energy = given_or(&v[INRUSH_ENERGY], 0.0);
    t->estimated = !v[HOT_RESISTANCE].given && !t->curve.n && !t->by_temperature;
    if (t->cold > t->hot && t->hot > 0.0) return true;
    snprintf(reason->text, sizeof reason->text,
             "hot_resistance %.3g ohm must lie between nothing and the cold_resistance of %.3g ohm", t->hot,
             t->cold);
    return false;
}

/* ohm; slope: derivative over temperature at fixed current. */
static double resistance_at(const thermistor *t, double current, double temperature, double *slope,
                            bool *outside)
{
    *slope = 0.0;
    if (t->by_temperature) {
        double exponent = t->b * (1.0 / temperature - 1.0 / reference_temperature);
        double r = t->cold * exp(fmin(exponent, 12.0));
        *slope = exponent < 12.0 ? -r * t->b / (temperature * temperature) : 0.0;
        return r;
    }
    if (t->curve.n) return hl_curve_at(&t->curve, current, NULL, outside);
    if (!(current > 0.0)) return t->cold;
    return fmin(t->cold, t->hot * pow(current / t->rated_current, -t->exponent));
}

/* The circuit cannot say its current here, so it sees the resistance at rated current; what the real current
 * changes of it is a loss the stage draws besides. */
static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    (void)voltage;
    const thermistor *t = state;
    double slope;
    terminal->resistance = resistance_at(t, t->rated_current, temperature, &slope, NULL);
    terminal->rated_current = t->rated_current;
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const thermistor *t = state;
    double slope;
    bool outside = false;
    double ohms = resistance_at(t, fabs(stress->total_rms), temperature, &slope, &outside);
    joule_loss(ohms, slope, stress, out);
    if (mean_square_current(stress) > 0.0 && outside) out->flags |= HL_OUTSIDE_CURVE;
    if (mean_square_current(stress) > 0.0 && t->estimated) out->flags |= HL_FALLBACK;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit list[])
{
    (void)temperature;
    const thermistor *t = state;
    size_t n = 0;
    list[n++] = (hl_limit){"current", "A", fabs(stress->total_rms), t->rated_current};
    if (t->rated_energy > 0.0 && t->energy > 0.0)
        list[n++] = (hl_limit){"inrush energy", "J", t->energy, t->rated_energy};
    return n;
}

static const hl_device device = {
    .struct_size = sizeof(hl_device),
    .family = HL_FAMILY_RESISTOR,
    .state_size = state_size,
    .prepare = prepare,
    .present = present,
    .loss = loss,
    .limits = limits,
    .kinds = HL_KINDS("thermistor"),
};

static const hl_model model = {
    .struct_size = sizeof(hl_model),
    .name = "inrush_thermistor",
    .title = "inrush thermistor (NTC)",
    .source = "definition of the power law; IEC 60539-1 (B value)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("inrush_thermistor", "0.1.0", "heatledger", "MIT", &model);
