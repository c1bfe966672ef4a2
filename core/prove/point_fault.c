/* point_fault.c - what can be wrong with an answer that claims to be a solution. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "heatledger/quantity.h"
#include "prove/point.h"

/* One sentence being looked for. */
typedef struct search {
    char *text;
    size_t size;
    const char *slot; /* whose stress is being looked at */
    bool infinite;    /* is allowed */
} search;

static bool bad(const search *s, const char *what, double value)
{
    bool fine = s->infinite ? !isnan(value) : isfinite(value);
    if (fine) return false;
    if (s->slot)
        snprintf(s->text, s->size, "%s of the stress in slot '%s' is %g", what, s->slot, value);
    else
        snprintf(s->text, s->size, "%s is %g", what, value);
    return true;
}

static bool side_bad(const search *s, const char *name, const hl_side *side)
{
    const struct {
        const char *name;
        double value;
    } figures[] = {{"voltage", side->voltage},
                   {"current", side->current},
                   {"power", side->power},
                   {"current_peak", side->current_peak},
                   {"voltage_peak", side->voltage_peak},
                   {"rms of the line current", hl_wave_rms(&side->line)}};
    char what[64];
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++) {
        snprintf(what, sizeof what, "%s %s", name, figures[i].name);
        if (bad(s, what, figures[i].value)) return true;
    }
    double sum = 0.0;
    for (size_t k = 0; side->wave && k < side->cycles; k++) {
        snprintf(what, sizeof what, "%s wave %zu", name, k + 1);
        if (bad(s, what, hl_wave_rms(&side->wave[k]))) return true;
        sum += side->weight ? side->weight[k] : 1.0 / (double)side->cycles;
    }
    if (!s->infinite && side->wave && side->cycles && !(fabs(sum - 1.0) <= 1e-9)) {
        snprintf(s->text, s->size, "the weights of the %s cycles sum to %.12g; 1 is wanted", name, sum);
        return true;
    }
    return false;
}

/* Angles are pure numbers to the unit table, but are better said. */
static bool unit_known(const char *unit)
{
    hl_dimension dimension;
    return unit && (!strcmp(unit, "rad") || hl_dimension_of(unit, &dimension));
}

static bool quantities_bad(const search *s, const hl_stage_output *out)
{
    if (out->quantities > HL_QUANTITIES_MAX) {
        snprintf(s->text, s->size, "%zu quantities are claimed; there is room for %d", out->quantities,
                 (int)HL_QUANTITIES_MAX);
        return true;
    }
    for (size_t i = 0; i < out->quantities; i++) {
        const hl_quantity *q = &out->quantity[i];
        if (!q->name || !q->name[0] || !unit_known(q->unit)) {
            snprintf(s->text, s->size, "quantity %zu '%.40s': '%.20s' is not a unit", i + 1,
                     q->name ? q->name : "", q->unit ? q->unit : "");
            return true;
        }
        for (size_t k = 0; k < i; k++)
            if (!strcmp(out->quantity[k].name, q->name)) {
                snprintf(s->text, s->size, "quantity '%.60s' is given twice", q->name);
                return true;
            }
        if (bad(s, q->name, q->value)) return true;
    }
    return false;
}

static bool cycles_bad(const search *s, const hl_stress *stress)
{
    const struct {
        const char *name;
        const double *array;
    } rows[] = {{"frequency", stress->frequency},
                {"current_average", stress->current_average},
                {"current_rms", stress->current_rms},
                {"current_peak", stress->current_peak},
                {"current_on", stress->current_on},
                {"current_off", stress->current_off},
                {"voltage_on", stress->voltage_on},
                {"voltage_off", stress->voltage_off},
                {"reverse_average", stress->reverse_average},
                {"reverse_rms", stress->reverse_rms},
                {"slope_off", stress->slope_off},
                {"charge_on", stress->charge_on},
                {"duty", stress->duty}};
    double sum = 0.0;
    for (size_t k = 0; k < stress->n; k++) {
        sum += hl_stress_at(stress->weight, k);
        for (size_t r = 0; r < sizeof rows / sizeof *rows; r++)
            if (bad(s, rows[r].name, hl_stress_at(rows[r].array, k))) return true;
        if (stress->flux_voltage && bad(s, "flux voltage", hl_wave_rms(&stress->flux_voltage[k])))
            return true;
        for (size_t w = 0; w < stress->windings && w < HL_WINDINGS_MAX; w++)
            if (stress->winding_current[w] &&
                bad(s, "winding current", hl_wave_rms(&stress->winding_current[w][k])))
                return true;
    }
    if (!s->infinite && stress->n && !(fabs(sum - 1.0) <= 1e-9)) {
        snprintf(s->text, s->size, "the weights of the stress in slot '%s' sum to %.12g; 1 is wanted",
                 s->slot, sum);
        return true;
    }
    return false;
}

static bool stress_bad(const search *s, const hl_stress *stress)
{
    if (cycles_bad(s, stress)) return true;
    for (size_t i = 0; stress->line_frequency && stress->line_rms_squared && i < stress->lines; i++)
        if (bad(s, "frequency of a line", stress->line_frequency[i]) ||
            bad(s, "mean square of a line", stress->line_rms_squared[i]))
            return true;
    return bad(s, "voltage_dc", stress->voltage_dc) || bad(s, "voltage_peak", stress->voltage_peak) ||
           bad(s, "flux_bias", stress->flux_bias) || bad(s, "total_rms", stress->total_rms) ||
           bad(s, "total_average", stress->total_average) || bad(s, "total_peak", stress->total_peak);
}

/* Heat goes to another slot that the stage has, or stays. */
static bool heats_bad(const search *s, const hl_stage *stage, const hl_stage_output *out)
{
    for (size_t i = 0; i < HL_SLOTS_MAX; i++) {
        unsigned to = out->heats[i];
        if (!to && !out->heats_by[i]) continue;
        const char *wrong = i >= stage->n_slots                      ? "is no slot of it"
                            : to < 1 || to > stage->n_slots          ? "sends heat to no slot of it"
                            : to == i + 1                            ? "sends heat to itself"
                            : out->heats_by[i] >> HL_MECHANISMS != 0 ? "sends heat of no mechanism"
                                                                     : NULL;
        if (!wrong) continue;
        snprintf(s->text, s->size, "slot %zu of heats %s: heats %u, heats_by %#x", i, wrong, to,
                 (unsigned)out->heats_by[i]);
        return true;
    }
    return false;
}

const char *point_fault(const point *p, const hl_stage *stage, bool infinite, char *text, size_t size)
{
    search s = {text, size, NULL, infinite};
    const hl_stage_output *out = &p->out;
    if (side_bad(&s, "input", &out->input) || (!stage->terminal && side_bad(&s, "output", &out->output)) ||
        bad(&s, "circuit_loss", out->circuit_loss) || bad(&s, "own_loss", out->own_loss) ||
        bad(&s, "headroom_value", out->headroom_value) || bad(&s, "headroom_limit", out->headroom_limit) ||
        quantities_bad(&s, out) || heats_bad(&s, stage, out))
        return text;
    for (size_t i = 0; i < stage->n_slots && i < HL_SLOTS_MAX; i++) {
        s.slot = hl_stage_slot(stage, i)->name;
        if (bad(&s, "node_loss", out->node_loss[i])) return text;
        if (p->in.slot[i].count && stress_bad(&s, &out->stress[i])) return text;
    }
    return NULL;
}
