/* transformer.c - up to eight windings on one core, with or without gap; so also a flyback transformer.
 *
 * Windings by winding.h. Without a winding plan each has its own portions, starting at zero field. With
 * `build`, the order of sections from the inner leg outwards, the field at every layer follows from the
 * currents of all windings, harmonic by harmonic with their phases (winding_loss.h): right also where
 * windings conduct in turn (flyback, centre tap). Leakage by the same field:
 *   L = mu0 N^2 turn_length / (width p^2) (sum of section heights / 3 + sum of insulation), p interfaces
 * source: W. Rogowski, 1909, as in E. C. Snelling, Soft Ferrites, 2nd ed. 1988, ch. 11 (from memory);
 * windings as wide as the window. */
#include <string.h>

#include "core_loss.h"
#include "gap.h"
#include "permeability_check.h"
#include "value_check.h"
#include "winding_field.h"
#include "winding_loss.h"

enum {
    INDUCTANCE,
    LEAKAGE,
    GAP,
    GAP_PLACE,
    PERMEABILITY,
    BUILD,
    INSULATION,
    WINDOW_DEPTH,
    OFFSET,
    WINDING,
    CORE = WINDING + WINDING_ROWS,
    PARAMETERS = CORE + CORE_ROWS
};

static const char *const gap_places[] = {"centre_leg", "outer_legs", "all_legs", NULL};

/* clang-format off */
static const hl_parameter parameters[PARAMETERS] = {
    {"inductance", "H", HL_NUMBER, 0, 0, 10e-9, 100, NULL, NULL, "magnetizing, seen from the first winding; from turns, core and gap when not stated", "LCR meter, others open"},
    {"leakage_inductance", "H", HL_NUMBER, 0, 0, 0, 1, NULL, NULL, "seen from the first winding; from the geometry of the first two when not stated", "LCR meter, others shorted"},
    {"gap", "m", HL_NUMBER, 0, 0, 0, 20e-3, NULL, NULL, "total length of the air gap, along the way of the flux: twice the spacer of a gap in all legs; from inductance, turns and core when not stated", "feeler gauge"},
    {"gap_place", "1", HL_CHOICE, 0, 0, 0, 0, NULL, gap_places, "legs the gap is in; centre_leg when not stated", "looking"},
    {"relative_permeability", "1", HL_NUMBER, 0, 0, 5, 200e3, NULL, NULL, "of the core material; 2000 when not stated", "material data sheet"},
    {"build", "1", HL_LIST, 0, 0, 1, 8, NULL, NULL, "winding plan: number of the winding (from 1) of each section, inner leg outwards", "winding plan, or unwinding one"},
    {"insulation_distance", "m", HL_NUMBER, 0, 0, 0, 20e-3, NULL, NULL, "between first and second winding; 0.2 mm when not stated", "tape layers"},
    {"window_depth", "m", HL_NUMBER, 0, 0, 0.5e-3, 0.5, NULL, NULL, "of the winding window, across the layers, from the inner leg to the outer; with it and build, the field in the whole window is found", "core drawing"},
    {"winding_offset", "m", HL_NUMBER, 0, 0, 0.1e-3, 50e-3, NULL, NULL, "from the inner leg to the middle of the first layer; 1 mm and half a layer when not stated", "bobbin drawing"},
    WINDING_TABLE(HL_LIST, HL_CHOICES),
    CORE_TABLE(HL_REQUIRED),
};
/* clang-format on */

typedef struct transformer {
    double inductance, leakage, window_area;
    harmonic_series series;
    magnetic_core core;
    field_mix mix;
    size_t n;
    coil winding[]; /* n */
} transformer;

static size_t windings_of(const hl_value *v)
{
    size_t n = entries_of(&v[WINDING + ROW_TURNS]);
    return n < HL_WINDINGS_MAX ? n : HL_WINDINGS_MAX;
}

static size_t state_size(const hl_value *values)
{
    return sizeof(transformer) + windings_of(values) * sizeof(coil);
}

static gapped_core gapped_core_here(const hl_value *v)
{
    return gapped_core_of(&v[CORE], &v[PERMEABILITY], &v[WINDING + ROW_WINDOW_WIDTH],
                          entry_of(&v[WINDING + ROW_TURNS], 0));
}

/* Share of the ampere-turns the field starts with at the inner leg, negative: all of them when the gap is
 * there, none when it is in the outer legs. Without a gap the ampere-turns balance and it matters little. */
static double start_share(const hl_value *v, double gap)
{
    const double share[] = {1.0, 0.0, 0.5};
    gapped_core core = gapped_core_here(v);
    if (!gap_matters(&core, gap) && !(core_number(&v[GAP], 0.0) > 0.0) && !v[GAP_PLACE].given) return 0.5;
    int place = v[GAP_PLACE].given ? (int)v[GAP_PLACE].number : 0;
    return place >= 0 && place < 3 ? share[place] : 0.5;
}

/* Of a gap in all legs, as a spacer makes it, half lies in the inner one, half in the way through the outer
 * ones. */
static void gap_mouths(const hl_value *v, double gap, winding_window *w)
{
    const double inner[] = {1.0, 0.0, 0.5};
    int place = v[GAP_PLACE].given ? (int)v[GAP_PLACE].number : 0;
    w->gap = (place >= 0 && place < 3 ? inner[place] : 0.5) * gap;
    w->outer_gap = gap - w->gap;
}

/* By the field in the whole window; false where it is not known, or the sections do not fit. */
static bool window_mix_of(transformer *t, const hl_value *v, double gap, const winding_plan *plan)
{
    winding_window w = {.n = 0};
    double first = core_number(&v[OFFSET], 1e-3 + 0.5 * t->winding[plan->section[0]].layer_pitch);
    for (size_t i = 0; i < t->n; i++)
        if (!(t->winding[i].breadth > 0.0 && t->winding[i].layer_pitch > 0.0)) return false;
    if (!v[WINDOW_DEPTH].given) return false;
    w.size = (window_size){v[WINDING + ROW_WINDOW_WIDTH].number, v[WINDOW_DEPTH].number};
    gap_mouths(v, gap, &w);
    if (!plan_lay(plan, t->winding, first, core_number(&v[INSULATION], 0.2e-3), &w)) return false;
    window_close(&w, entry_or(entry_of(&v[WINDING + ROW_TURN_LENGTH], 0), 0.0), t->winding[0].layer_pitch);
    window_share(&w, core_number(&v[CORE + CORE_AREA], 0.0), core_number(&v[CORE + CORE_PATH], 0.0),
                 core_number(&v[PERMEABILITY], 2000.0));
    window_mix(&w, t->winding, t->n, &t->mix);
    return true;
}

/* plan.n stays 0 when there is none. */
static bool read_plan(const transformer *t, const hl_value *v, double gap, winding_plan *plan,
                      hl_reason *reason)
{
    size_t n = entries_of(&v[BUILD]);
    *plan = (winding_plan){.n = 0, .start = start_share(v, gap)};
    for (size_t i = 0; i < n; i++) {
        double number = entry_of(&v[BUILD], i);
        if (!(number >= 1.0 && number <= (double)t->n && number == floor(number)) ||
            plan->n == PLAN_SECTIONS) {
            snprintf(reason->text, sizeof reason->text,
                     "build: section %zu is of winding %.4g; there are windings 1 to %zu, and room for %d "
                     "sections",
                     i + 1, number, t->n, (int)PLAN_SECTIONS);
            return false;
        }
        plan->section[plan->n++] = (int)number - 1;
    }
    for (size_t w = 0; n && w < t->n; w++)
        if (plan_sections_of(plan, w) == 0) return winding_refuse(reason, w, "build has no section of it");
    return true;
}

/* Every section of a plan is a layer at least. */
static winding_spec planned_spec(const hl_value *v, const winding_plan *plan, size_t w)
{
    winding_spec spec = winding_spec_of(&v[WINDING], w);
    if (!plan->n) return spec;
    spec.portions = plan_sections_of(plan, w);
    double outer = 0.0;
    winding_section(&spec, &outer);
    if (outer > 0.0)
        spec.layers = fmax(winding_layers(&spec, outer), spec.portions); /* else none are asked for */
    return spec;
}

static bool prepare_windings(transformer *t, const hl_value *v, hl_reason *reason)
{
    conductor wire[HL_WINDINGS_MAX];
    winding_plan plan;
    gapped_core core = gapped_core_here(v);
    double gap = gap_known(&core, &v[GAP], &v[INDUCTANCE]);
    if (!read_plan(t, v, gap, &plan, reason)) return false;
    for (size_t w = 0; w < t->n; w++) {
        winding_spec spec = planned_spec(v, &plan, w);
        memset(&t->winding[w], 0, sizeof t->winding[w]);
        if (!winding_prepare(&t->winding[w], &spec, w, &wire[w], reason)) return false;
    }
    bool in_window = plan.n && window_mix_of(t, v, gap, &plan);
    if (plan.n && !in_window) plan_mix(&plan, t->winding, t->n, &t->mix);
    bool fringe_left_out = !in_window && gap_matters(&core, gap);
    for (size_t w = 0; w < t->n; w++) {
        t->winding[w].rough |= fringe_left_out;
        double layers = t->winding[w].layers / t->winding[w].portions;
        if (!t->mix.shared) wire[w].along = winding_mean_square(&wire[w], layers);
        winding_tabulate(&t->winding[w], &wire[w]);
        winding_find_like(t->winding, w);
    }
    return true;
}

/* Of the first two windings; 0 where width, turn length or wire are not known. */
static double leakage_of(const transformer *t, const hl_value *v)
{
    double width = core_number(&v[WINDING + ROW_WINDOW_WIDTH], 0.0);
    double length = entry_or(entry_of(&v[WINDING + ROW_TURN_LENGTH], 0), 0.0), height = 0.0;
    double interfaces = fmax(t->winding[0].portions, t->winding[1].portions);
    for (size_t w = 0; w < 2; w++) height += t->winding[w].layers * t->winding[w].layer_pitch;
    if (!(width > 0.0 && length > 0.0 && height > 0.0)) return 0.0;
    double insulation = core_number(&v[INSULATION], 0.2e-3) * interfaces;
    return vacuum_permeability * t->core.turns * t->core.turns * length / (width * interfaces * interfaces) *
           (height / 3.0 + insulation);
}

/* One resistance is no more than one winding's: it stands for all of them only where they have equal turns.
 */
static bool resistances_fit(const transformer *t, const hl_value *v, hl_reason *reason)
{
    size_t stated = entries_of(&v[WINDING + ROW_RESISTANCE]);
    bool equal = true;
    for (size_t w = 1; w < t->n; w++)
        if (entry_of(&v[WINDING + ROW_TURNS], w) != entry_of(&v[WINDING + ROW_TURNS], 0)) equal = false;
    if (stated == 0 || (stated == 1 && equal) || (stated > 1 && stated <= t->n)) return true;
    snprintf(reason->text, sizeof reason->text,
             "dc_resistance lists %zu value%s for the %zu windings of turns; state one for each, in the same "
             "order",
             stated, stated == 1 ? "" : "s", t->n);
    return false;
}

static bool prepare(void *state, const hl_value *v, hl_reason *reason)
{
    transformer *t = state;
    memset(t, 0, sizeof *t);
    if (!values_finite(v, parameters, PARAMETERS, reason)) return false;
    t->n = windings_of(v);
    if (entries_of(&v[WINDING + ROW_TURNS]) > HL_WINDINGS_MAX || t->n < 2) {
        snprintf(reason->text, sizeof reason->text, "turns lists %zu windings; a transformer has 2 to %d",
                 entries_of(&v[WINDING + ROW_TURNS]), (int)HL_WINDINGS_MAX);
        return false;
    }
    if (!resistances_fit(t, v, reason) || !prepare_windings(t, v, reason)) return false;
    if (!core_read(&t->core, &v[CORE], t->winding[0].turns, reason)) return false;
    harmonic_series_prepare(&t->series, core_number(&v[WINDING + ROW_HARMONICS], 40.0), t->mix.shared);
    t->window_area = core_number(&v[WINDING + ROW_WINDOW_AREA], 0.0);
    t->leakage = v[LEAKAGE].given ? v[LEAKAGE].number : leakage_of(t, v);
    double window = core_number(&v[WINDING + ROW_WINDOW_WIDTH], 0.0);
    t->inductance = gapped_inductance(t->core.turns, t->core.area, t->core.path, core_number(&v[GAP], 0.0),
                                      core_number(&v[PERMEABILITY], 2000.0), window);
    if (v[INDUCTANCE].given) t->inductance = v[INDUCTANCE].number;
    double most = permeability_limit(&t->core, core_number(&v[PERMEABILITY], 0.0));
    if (v[INDUCTANCE].given && !permeability_fits(&t->core, "inductance", t->inductance, most, reason))
        return false;
    if (t->inductance > 0.0 && isfinite(t->inductance)) return true;
    snprintf(reason->text, sizeof reason->text,
             "state inductance, or gap or core_path_length to find it from turns and core_area");
    return false;
}

static void present(const void *state, double temperature, double voltage, hl_terminal *terminal)
{
    const transformer *t = state;
    (void)voltage;
    terminal->inductance = t->inductance;
    terminal->leakage = t->leakage;
    terminal->turns_ratio = t->winding[0].turns / t->winding[1].turns;
    terminal->windings = (double)t->n;
    for (size_t w = 0; w < t->n; w++)
        terminal->winding_resistance[w] =
            t->winding[w].resistance * copper_ratio(t->winding[w].coefficient, temperature);
    terminal->resistance = terminal->winding_resistance[0];
}

static void loss(const void *state, const hl_stress *stress, double temperature, hl_loss *out)
{
    const transformer *t = state;
    core_loss(&t->core, stress, temperature, out);
    windings_loss(t->winding, t->n, &t->mix, &t->series, false, stress, temperature, out);
    if (!t->core.has_loss && stress->flux_voltage) out->flags |= HL_FALLBACK;
}

static size_t limits(const void *state, const hl_stress *stress, double temperature, hl_limit limit[])
{
    const transformer *t = state;
    double copper = 0.0;
    for (size_t w = 0; w < t->n; w++) copper += t->winding[w].copper_area;
    size_t n = core_limit(&t->core, core_peak_linkage(stress), temperature, limit);
    return n + window_limit(copper, t->window_area, limit + n);
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
    .name = "transformer",
    .title = "transformer with up to eight windings",
    .source = "P. L. Dowell, Proc. IEE 113(8), 1966 (windings); K. Venkatachalam et al., COMPEL 2002 (core); "
              "E. C. Snelling, Soft Ferrites, 1988 (leakage)",
    .parameters = parameters,
    .n_parameters = PARAMETERS,
    .parameter_size = sizeof(hl_parameter),
    .device = &device,
};

HL_PLUGIN_TABLE("transformer", "0.1.0", "heatledger", "MIT", &model);
