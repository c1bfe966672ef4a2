/* check_starter.c - the starter catalogue: every part loads, bears a plausible stress with a sane loss, and
 * its figures stand in the relations that hold for such parts (docs/catalogue.md says where they come from).
 */
#include <math.h>
#include <string.h>

#include "heatledger/heatledger.h"
#include "story.h"

static const char *const files[] = {"switches", "diodes", "capacitors", "magnetics", "resistors"};
enum { FILES = sizeof files / sizeof *files };

static hl_host *host;
static hl_catalogue *starter;

static void open_starter(void)
{
    hl_diagnostics *diagnostics = hl_diagnostics_create();
    host = hl_host_create();
    ck_assert_int_eq(hl_host_load_folder(host, HL_TEST_PLUGINS, diagnostics), HL_OK);
    starter = hl_catalogue_create(host);
    for (int f = 0; f < FILES; f++) {
        char path[600];
        snprintf(path, sizeof path, HL_PROJECT_SOURCE "/scripts/heatledger/catalogue/%s.yaml", files[f]);
        hl_status status = hl_catalogue_read_file(starter, path, diagnostics);
        for (size_t i = 0; i < hl_diagnostics_count(diagnostics); i++)
            fprintf(stderr, "%s\n", hl_diagnostics_text(diagnostics, i));
        ck_assert_msg(status == HL_OK && hl_diagnostics_count(diagnostics) == 0, "%s", path);
    }
    hl_diagnostics_destroy(diagnostics);
}

static void close_starter(void)
{
    hl_catalogue_destroy(starter);
    hl_host_destroy(host);
}

static hl_family family_of(const hl_part *part)
{
    return hl_part_model(part)->device->family;
}

static bool is(const hl_part *part, const char *model)
{
    return !strcmp(hl_part_model(part)->name, model);
}

static const hl_value *value_of(const hl_part *part, const char *name)
{
    const hl_model *model = hl_part_model(part);
    for (size_t i = 0; i < model->n_parameters; i++)
        if (!strcmp(hl_model_parameter(model, i)->name, name)) return &hl_part_values(part)[i];
    return NULL;
}

/* NaN when it is not stated. */
static double figure(const hl_part *part, const char *name)
{
    const hl_value *value = value_of(part, name);
    return value && value->given ? value->number : NAN;
}

static double first_of(const hl_part *part, const char *a, const char *b, double otherwise)
{
    double x = figure(part, a);
    if (!isfinite(x)) x = figure(part, b);
    return isfinite(x) ? x : otherwise;
}

/* ---------------------------------------------------------------- stress -- */

typedef struct plausible {
    double one, frequency, average, rms, peak, on, off, v_on, v_off, reverse, slope, duty, line_f, line_i2;
    hl_segment flux[2], current[2];
    hl_wave flux_wave, current_wave;
    hl_stress stress;
} plausible;

/* Half of what the part is made for, at the frequencies such parts see. */
static void stress_transistor(plausible *s, const hl_part *part)
{
    double v = figure(part, "rated_voltage"),
           i = 0.2 * first_of(part, "rated_current", "rated_current", 10.0);
    bool slow = is(part, "bridge") || figure(part, "recovery_charge") > 200e-9;
    s->frequency = slow && family_of(part) == HL_FAMILY_DIODE ? 1e3 : 100e3;
    s->average = 0.4 * i, s->rms = 0.65 * i, s->peak = s->on = s->off = i;
    s->v_on = s->v_off = 0.55 * v;
    s->reverse = 0.02 * i, s->duty = 0.4;
    s->slope = family_of(part) == HL_FAMILY_DIODE ? 1e8 : 0.0; /* no switch takes over from its body diode */
}

static void stress_capacitor(plausible *s, const hl_part *part)
{
    double v = first_of(part, "rated_voltage", "rated_ac_voltage", 50.0), c = figure(part, "capacitance");
    bool mains = is(part, "safety_film_capacitor");
    double i =
        mains ? 314.0 * c * 230.0 : 0.5 * first_of(part, "rated_ripple_current", "rated_ripple_current", 0.5);
    if (is(part, "ceramic_capacitor")) i = fmin(1.0, 6.28 * 1e5 * c * 0.05 * v);
    s->line_f = mains ? 50.0 : 100e3;
    s->line_i2 = i * i;
    s->stress.lines = 1;
    s->stress.voltage_dc = mains ? 0.0 : 0.7 * v;
    s->stress.voltage_peak = mains ? 325.0 : 0.75 * v;
}

/* A square voltage that swings the core by 2 x 60 mT at 100 kHz, and a triangular current. */
static void stress_magnetic(plausible *s, const hl_part *part)
{
    double f = 100e3, turns = first_of(part, "turns", "turns_ratio", 10.0);
    double area = first_of(part, "core_area", "core_area", 50e-6), v = 4.0 * f * turns * area * 0.06;
    double i = first_of(part, "rated_current", "saturation_current", 2.0) * 0.5;
    bool choke = is(part, "common_mode_choke");
    s->frequency = choke ? 50.0 : f;
    double half = 0.5 / s->frequency;
    for (int h = 0; h < 2; h++) {
        s->flux[h] = (hl_segment){.duration = half, .offset = h ? -v : v};
        s->current[h] = (hl_segment){.duration = half, .offset = h ? 1.2 * i : 0.8 * i};
        s->current[h].slope = (h ? -0.4 : 0.4) * i / half;
    }
    s->flux_wave = (hl_wave){choke ? 0 : 2, s->flux};
    s->current_wave = (hl_wave){2, s->current};
    s->stress.windings = 1;
    s->stress.total_rms = s->stress.total_average = i;
    s->stress.total_peak = 1.2 * i;
}

static void stress_resistor(plausible *s, const hl_part *part)
{
    double r = figure(part, "resistance"), p = figure(part, "rated_power");
    double i = 0.5 * first_of(part, "rated_current", "rated_current", 2.0);
    double v = first_of(part, "rated_voltage", "rated_voltage", INFINITY);
    if (isfinite(r) && isfinite(p)) i = fmin(sqrt(0.4 * p / r), 0.6 * v / r);
    if (is(part, "varistor")) i = 0.0;
    s->stress.total_rms = i;
    s->stress.total_peak = 1.5 * i;
    s->stress.voltage_peak = is(part, "varistor") ? 325.0 : 0.0;
}

static void make_stress(plausible *s, const hl_part *part)
{
    memset(s, 0, sizeof *s);
    s->one = 1.0;
    hl_stress *t = &s->stress;
    t->struct_size = sizeof *t;
    t->n = 1;
    switch (family_of(part)) {
    case HL_FAMILY_SWITCH:
    case HL_FAMILY_DIODE:
        stress_transistor(s, part);
        break;
    case HL_FAMILY_CAPACITOR:
        stress_capacitor(s, part);
        break;
    case HL_FAMILY_MAGNETIC:
        stress_magnetic(s, part);
        break;
    default:
        stress_resistor(s, part);
    }
    t->weight = &s->one, t->frequency = &s->frequency;
    t->current_average = &s->average, t->current_rms = &s->rms, t->current_peak = &s->peak;
    t->current_on = &s->on, t->current_off = &s->off, t->voltage_on = &s->v_on, t->voltage_off = &s->v_off;
    t->reverse_average = t->reverse_rms = &s->reverse;
    t->slope_off = &s->slope, t->duty = &s->duty;
    t->line_frequency = &s->line_f, t->line_rms_squared = &s->line_i2;
    t->flux_voltage = s->flux_wave.n ? &s->flux_wave : NULL;
    t->winding_current[0] = s->current_wave.n ? &s->current_wave : NULL;
}

static double watts_of(const hl_part *part, double temperature)
{
    static plausible s;
    const hl_device *device = hl_part_model(part)->device;
    hl_reason reason = {""};
    void *state = calloc(1, device->state_size(hl_part_values(part)) + 1);
    ck_assert_msg(device->prepare(state, hl_part_values(part), &reason), "%s: %s", hl_part_name(part),
                  reason.text);
    make_stress(&s, part);
    hl_loss loss = {.struct_size = sizeof loss};
    device->loss(state, &s.stress, temperature, &loss);
    hl_terminal seen = {.struct_size = sizeof seen};
    device->present(state, temperature, s.stress.voltage_dc, &seen);
    ck_assert_msg(isfinite(seen.resistance) && seen.resistance >= 0.0, "%s: resistance", hl_part_name(part));
    double sum = 0.0;
    for (int m = 0; m < HL_MECHANISMS; m++) {
        ck_assert_msg(isfinite(loss.watts[m]) && loss.watts[m] >= 0.0, "%s: %s %g W", hl_part_name(part),
                      hl_mechanism_name((hl_mechanism)m), loss.watts[m]);
        sum += loss.watts[m];
    }
    hl_limit limits[HL_LIMITS_MAX];
    size_t n = device->limits(state, &s.stress, temperature, limits);
    for (size_t i = 0; i < n; i++)
        ck_assert_msg(isfinite(limits[i].value) && limits[i].value <= limits[i].rated,
                      "%s: %s %g above %g %s", hl_part_name(part), limits[i].name, limits[i].value,
                      limits[i].rated, limits[i].unit);
    free(state);
    return sum;
}

START_TEST(every_part_bears_half_its_rating)
{
    size_t count[HL_FAMILIES] = {0};
    open_starter();
    for (size_t i = 0; i < hl_catalogue_parts(starter); i++) {
        const hl_part *part = hl_catalogue_part(starter, i);
        count[family_of(part)]++;
        double cool = watts_of(part, 298.15), warm = watts_of(part, 353.15);
        double rise = warm * hl_part_commons(part)[HL_COMMON_RESISTANCE_BOARD].number;
        ck_assert_msg(cool >= 0.0 && rise < 100.0, "%s: %g W, %g K above its solder points",
                      hl_part_name(part), warm, rise);
        ck_assert_msg(hl_part_commons(part)[HL_COMMON_SIZE].given, "%s has no size", hl_part_name(part));
        ck_assert_msg(hl_part_commons(part)[HL_COMMON_MAXIMUM_TEMPERATURE].given, "%s", hl_part_name(part));
    }
    size_t least[HL_FAMILIES] = {40, 20, 40, 25, 25};
    for (int f = 0; f < HL_FAMILIES; f++) {
        printf("starter catalogue: %-10s %3zu parts\n", hl_family_name((hl_family)f), count[f]);
        ck_assert_uint_ge(count[f], least[f]);
    }
    close_starter();
}
END_TEST

START_TEST(every_device_model_has_a_part_and_every_value_is_an_estimate)
{
    open_starter();
    for (size_t m = 0; m < hl_host_models(host); m++) {
        const hl_model *model = hl_host_model(host, m);
        size_t n = 0;
        for (size_t i = 0; model->device && i < hl_catalogue_parts(starter); i++)
            n += hl_part_model(hl_catalogue_part(starter, i)) == model;
        ck_assert_msg(n > 0 || !model->device, "no part of the model %s", model->name);
    }
    for (size_t i = 0; i < hl_catalogue_parts(starter); i++) {
        const hl_part *part = hl_catalogue_part(starter, i);
        for (size_t k = 0; k < hl_part_model(part)->n_parameters; k++)
            if (hl_part_values(part)[k].given)
                ck_assert_int_eq(hl_part_values(part)[k].origin, HL_ORIGIN_ESTIMATE);
    }
    close_starter();
}
END_TEST

/* ------------------------------------------------------- figures of merit -- */

/* Parts of one model between two voltages. */
typedef struct class_of {
    const char *model;
    double low, high;
} class_of;

static bool belongs(const hl_part *part, const class_of *class)
{
    double v = figure(part, "rated_voltage");
    return is(part, class->model) && v >= class->low && v <= class->high;
}

/* Geometric mean of a product of two figures over a class, and its widest ratio to that mean. */
static double merit(const class_of *class, const char *a, const char *b, double *spread, size_t *n)
{
    double sum = 0.0, low = INFINITY, high = 0.0;
    *n = 0;
    for (size_t i = 0; i < hl_catalogue_parts(starter); i++) {
        const hl_part *part = hl_catalogue_part(starter, i);
        double product = figure(part, a) * figure(part, b);
        if (!belongs(part, class) || !isfinite(product)) continue;
        sum += log(product);
        low = fmin(low, product), high = fmax(high, product);
        (*n)++;
    }
    double mean = *n ? exp(sum / (double)*n) : NAN;
    *spread = fmax(high / mean, mean / low);
    return mean;
}

static const class_of classes[] = {
    {"silicon_mosfet", 25, 35},           {"silicon_mosfet", 36, 45},  {"silicon_mosfet", 55, 65},
    {"silicon_mosfet", 75, 85},           {"silicon_mosfet", 95, 105}, {"silicon_mosfet", 145, 155},
    {"silicon_mosfet", 600, 700},         {"gan_transistor", 95, 105}, {"gan_transistor", 600, 700},
    {"silicon_carbide_mosfet", 600, 800},
};
enum { CLASSES = sizeof classes / sizeof *classes, SUPERJUNCTION = 6, GAN_LOW, GAN_HIGH, CARBIDE };

START_TEST(a_class_of_switches_has_one_figure_of_merit)
{
    double gate[CLASSES], output[CLASSES];
    open_starter();
    for (int c = 0; c < CLASSES; c++) {
        double spread, wide;
        size_t n, m;
        gate[c] = merit(&classes[c], "on_resistance", "gate_charge", &spread, &n);
        output[c] = merit(&classes[c], "on_resistance", "output_charge", &wide, &m);
        printf("%-24s %4.0f V: R Qg %6.3g, R Qoss %6.3g ohm nC (%zu parts, within %.2f)\n", classes[c].model,
               classes[c].high, 1e9 * gate[c], 1e9 * output[c], n, fmax(spread, wide));
        ck_assert_uint_ge(n, 2);
        ck_assert_msg(spread < 1.6 && wide < 1.6, "%s: %g %g", classes[c].model, spread, wide);
    }
    for (int c = 1; c <= SUPERJUNCTION; c++) /* more voltage costs charge for the same resistance */
        ck_assert(gate[c] > gate[c - 1] && output[c] > output[c - 1]);
    ck_assert(gate[GAN_HIGH] < 0.2 * gate[SUPERJUNCTION] && output[GAN_HIGH] < 0.35 * output[SUPERJUNCTION]);
    ck_assert(gate[GAN_LOW] < 0.2 * gate[4] && output[GAN_LOW] < 0.5 * output[4]);
    ck_assert(gate[CARBIDE] < gate[SUPERJUNCTION] && gate[CARBIDE] > gate[GAN_HIGH]);
    ck_assert(output[CARBIDE] < 0.5 * output[SUPERJUNCTION]);
    close_starter();
}
END_TEST

START_TEST(diodes_pay_for_current_with_charge_and_for_voltage_with_drop)
{
    open_starter();
    double last_drop = 0.0;
    for (size_t i = 0; i < hl_catalogue_parts(starter); i++) {
        const hl_part *part = hl_catalogue_part(starter, i);
        if (is(part, "silicon_carbide_schottky")) {
            ck_near(figure(part, "capacitive_charge") / figure(part, "rated_current"), 2.4e-9, 0.05, 0);
            ck_near(figure(part, "slope_resistance") * figure(part, "rated_current"), 0.44, 0.05, 0);
        }
    }
    static const char *const rising[] = {"schottky_45v_10a", "schottky_60v_10a", "schottky_100v_10a",
                                         "schottky_200v_20a"};
    for (size_t i = 0; i < sizeof rising / sizeof *rising; i++) {
        const hl_part *part = hl_catalogue_find(starter, rising[i]);
        double drop = figure(part, "threshold_voltage") + 8.0 * figure(part, "slope_resistance");
        ck_assert_msg(drop > last_drop, "%s", rising[i]);
        last_drop = drop;
    }
    close_starter();
}
END_TEST

static double side(const hl_part *part, size_t k)
{
    return hl_part_commons(part)[HL_COMMON_SIZE].curve.y[k];
}

START_TEST(a_can_holds_charge_by_its_volume_and_sheds_heat_by_its_surface)
{
    const double pi = 3.14159265358979324;
    open_starter();
    size_t n = 0;
    for (size_t i = 0; i < hl_catalogue_parts(starter); i++) {
        const hl_part *part = hl_catalogue_part(starter, i);
        bool wet = is(part, "electrolytic_capacitor"), polymer = is(part, "polymer_capacitor");
        if (!wet && !polymer) continue;
        double d = side(part, 0), h = side(part, 2), volume = pi / 4 * d * d * h,
               area = pi * d * h + pi / 2 * d * d;
        double v = figure(part, "rated_voltage"), c = figure(part, "capacitance");
        double density = volume / (c * v); /* m^3/C */
        double low = polymer   ? 20e-6
                     : v > 100 ? 190e-6
                               : 60e-6,
               high = polymer   ? 180e-6
                      : v > 100 ? 420e-6
                                : 130e-6;
        ck_assert_msg(density > low && density < high, "%s: %g mm^3/mC", hl_part_name(part), 1e6 * density);
        double esr = figure(part, "esr");
        if (!isfinite(esr))
            esr = 0.35 * figure(part, "loss_factor") / (2 * pi * 120 * c); /* far above 120 Hz */
        double ripple = figure(part, "rated_ripple_current"), flux = ripple * ripple * esr / area;
        ck_assert_msg(flux > 80 && flux < 1200, "%s: %g W/m^2 at its rated ripple", hl_part_name(part), flux);
        n++;
    }
    ck_assert_uint_ge(n, 25);
    close_starter();
}
END_TEST

/* Power ferrites lose some 30 to 120 kW/m^3 at 100 kHz, 100 mT and 100 degC, powders some ten times that; the
 * ranges are those of the materials' data sheets as a class, from memory. */
START_TEST(cores_lose_what_their_material_does)
{
    open_starter();
    size_t n = 0;
    for (size_t i = 0; i < hl_catalogue_parts(starter); i++) {
        const hl_part *part = hl_catalogue_part(starter, i);
        double k = figure(part, "steinmetz_k"), alpha = figure(part, "steinmetz_alpha");
        double density = figure(part, "loss_density");
        if (isfinite(k)) density = k * pow(1e5, alpha) * pow(0.1, figure(part, "steinmetz_beta"));
        if (!isfinite(density)) continue;
        bool powder = is(part, "powder_inductor");
        ck_assert_msg(density > (powder ? 300e3 : 30e3) && density < (powder ? 1500e3 : 120e3),
                      "%s: %g W/m^3", hl_part_name(part), density);
        n++;
    }
    ck_assert_uint_ge(n, 15);
    close_starter();
}
END_TEST

/* At least five to choose from for every slot that the examples fill. */
START_TEST(there_is_a_choice_for_every_slot_of_the_examples)
{
    static const struct {
        const char *what, *model, *model_too, *value;
        double low, high;
    } slots[] = {
        {"power-factor and flyback switch", "gan_transistor", "silicon_mosfet", "rated_voltage", 600, 800},
        {"power-factor diode", "silicon_carbide_schottky", "junction_diode", "rated_voltage", 600, 700},
        {"synchronous rectifier", "silicon_mosfet", "gan_transistor", "rated_voltage", 75, 155},
        {"output diode", "schottky_diode", NULL, "rated_voltage", 60, 200},
        {"buck switch", "silicon_mosfet", NULL, "rated_voltage", 30, 40},
        {"bridge", "bridge", NULL, "rated_voltage", 600, 1000},
        {"boost inductor", "gapped_inductor", "powder_inductor", "inductance", 150e-6, 500e-6},
        {"buck inductor", "measured_inductor", NULL, "inductance", 2e-6, 25e-6},
        {"transformer", "transformer", NULL, "inductance", 100e-6, 1e-3},
        {"common-mode choke", "common_mode_choke", NULL, "inductance", 1e-3, 20e-3},
        {"bulk capacitor", "electrolytic_capacitor", NULL, "rated_voltage", 400, 450},
        {"output electrolytic", "electrolytic_capacitor", NULL, "rated_voltage", 16, 63},
        {"bus polymer", "polymer_capacitor", NULL, "rated_voltage", 16, 35},
        {"ceramic", "ceramic_capacitor", NULL, "rated_voltage", 10, 50},
        {"resonant capacitor", "film_capacitor", NULL, "rated_voltage", 600, 1000},
        {"x capacitor", "safety_film_capacitor", NULL, "rated_ac_voltage", 275, 310},
        {"inrush thermistor", "inrush_thermistor", NULL, "cold_resistance", 2, 20},
        {"fuse", "fuse", NULL, "rated_current", 1, 10},
        {"shunt", "resistor", NULL, "resistance", 5e-3, 1.0},
    };
    open_starter();
    for (size_t s = 0; s < sizeof slots / sizeof *slots; s++) {
        size_t n = 0;
        for (size_t i = 0; i < hl_catalogue_parts(starter); i++) {
            const hl_part *part = hl_catalogue_part(starter, i);
            double x = figure(part, slots[s].value);
            bool fits = is(part, slots[s].model) || (slots[s].model_too && is(part, slots[s].model_too));
            n += fits && x >= slots[s].low * 0.999 && x <= slots[s].high * 1.001;
        }
        ck_assert_msg(n >= 5, "%zu parts for %s", n, slots[s].what);
    }
    close_starter();
}
END_TEST

static void fill(TCase *tests)
{
    tcase_add_test(tests, every_part_bears_half_its_rating);
    tcase_add_test(tests, every_device_model_has_a_part_and_every_value_is_an_estimate);
    tcase_add_test(tests, a_class_of_switches_has_one_figure_of_merit);
    tcase_add_test(tests, diodes_pay_for_current_with_charge_and_for_voltage_with_drop);
    tcase_add_test(tests, a_can_holds_charge_by_its_volume_and_sheds_heat_by_its_surface);
    tcase_add_test(tests, cores_lose_what_their_material_does);
    tcase_add_test(tests, there_is_a_choice_for_every_slot_of_the_examples);
}

int main(void)
{
    return story_main("starter catalogue", fill);
}
