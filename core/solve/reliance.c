/* reliance.c - how much of the losses and temperatures of a solved point rests on estimates.
 *
 * Each value of a part is moved by one standard deviation of its band at the stress of the solved point; the
 * change of loss goes through the linearised network, feedback of temperature on loss included.  Values of
 * one group move together.  Variances add: law of propagation of uncertainty, JCGM 100:2008, eq. 10.  What
 * the change does to the waveforms is not followed here; `spread` solves each sample anew. */
#include "solve/feedback.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plugin/calling.h"
#include "quantity/float_state.h"
#include "thermal/repeat.h"

/* Standard deviation of a figure that is stated without a band, relative: what the same type differs by from
 * part to part, and bench instruments from each other. Common practice, no source. */
static const double plain_deviation = 0.05;

/* 1-sigma quantiles of the normal distribution. */
static const double sigma_below = 0.15865525393145705, sigma_above = 0.84134474606854295;

/* What moves together, and what that does to the loss of each item (W, all its parts). */
typedef struct mover {
    const char *group; /* NULL: alone */
    bool estimated;
    double *change; /* [items] */
} mover;

typedef struct survey {
    hl_workspace *work;
    mover *movers;
    size_t n, room;
    double *changes; /* room x items */
    double *row;     /* a curve or list, moved */
    double *kelvin;  /* [nodes] */
} survey;

static double watts_with(hl_workspace *work, size_t index)
{
    item_state *item = &work->items[index];
    const design_item *described = &work->design->items[index];
    const hl_device *device = described->set.model->device;
    hl_reason reason;
    hl_loss loss;
    memset(item->spare, 0, item->state_size);
    memset(&loss, 0, sizeof loss);
    loss.struct_size = sizeof loss;
    calling(described->set.model, "prepare", described->shown.name);
    bool fits = device->prepare(item->spare, item->set.values, &reason);
    calling(described->set.model, "loss", described->shown.name);
    if (fits) device->loss(item->spare, item->stress, item->temperature, &loss);
    called();
    return fits ? loss_watts(&loss) : NAN;
}

/* Loss with one value moved in proportion, or by an amount where it stands at zero. */
static double watts_moved(survey *s, size_t item, size_t index, double factor, double amount)
{
    hl_value *value = &s->work->items[item].set.values[index];
    const hl_value kept = *value;
    for (size_t k = 0; k < kept.curve.n; k++) s->row[k] = kept.curve.y[k] * factor;
    if (kept.curve.n) value->curve.y = s->row;
    value->number = factor * kept.number + amount;
    double watts = watts_with(s->work, item);
    *value = kept;
    return watts;
}

static mover *mover_of(survey *s, const hl_band *band)
{
    for (size_t i = 0; band->group && i < s->n; i++)
        if (s->movers[i].group && strcmp(s->movers[i].group, band->group) == 0) return &s->movers[i];
    mover *made = &s->movers[s->n];
    made->group = band->group;
    made->change = s->changes + s->n++ * s->work->design->n_items;
    return made;
}

/* Half the change of an item's loss between one deviation above and one below; 0 when the model refuses
 * either. */
static double change_of(survey *s, size_t item, size_t index, const hl_band *band)
{
    const hl_value *value = &s->work->items[item].set.values[index];
    double up = 1 + plain_deviation, down = 1 - plain_deviation, more = 0, less = 0;
    if (band->kind != HL_BAND_NONE) {
        double high = hl_band_quantile(band, sigma_above), low = hl_band_quantile(band, sigma_below);
        up = band->central != 0 ? high / band->central : 1;
        down = band->central != 0 ? low / band->central : 1;
        more = band->central != 0 ? 0 : high;
        less = band->central != 0 ? 0 : low;
    } else if (!(fabs(value->number) > 0)) {
        return 0;
    }
    double above = watts_moved(s, item, index, up, more);
    double below = watts_moved(s, item, index, down, less);
    double change = 0.5 * (above - below) * s->work->design->items[item].shown.count;
    return isfinite(change) ? change : 0;
}

static bool takes_part(const hl_parameter *parameter, const hl_value *value, const hl_band *band)
{
    if (!value->given || parameter->kind == HL_CHOICE || parameter->kind == HL_CHOICES) return false;
    if (band->kind != HL_BAND_NONE) return true;
    if (parameter->flags & HL_CONDITION) return false;
    bool temperature = parameter->dimension && strcmp(parameter->dimension, "degC") == 0;
    return parameter->kind == HL_NUMBER && !temperature && value->origin != HL_ORIGIN_ESTIMATE;
}

static void survey_item(survey *s, size_t item)
{
    const value_set *set = &s->work->design->items[item].set;
    if (!s->work->items[item].stress) return;
    for (size_t i = 0; i < set->n; i++) {
        hl_band band = {.kind = HL_BAND_NONE};
        if (set->setting[i] != SIZE_MAX) hl_design_band(s->work->design, set->setting[i], &band);
        const hl_value *value = &s->work->items[item].set.values[i];
        if (!takes_part(hl_model_parameter(set->model, i), value, &band)) continue;
        double change = change_of(s, item, i, &band);
        if (change == 0) continue;
        mover *m = mover_of(s, &band);
        m->estimated |= value->origin == HL_ORIGIN_ESTIMATE;
        m->change[item] += change;
    }
}

typedef struct variance {
    double loss, estimated_loss, temperature, estimated_temperature;
} variance;

static void add_squares(variance *v, double watts, double kelvin, bool estimated)
{
    v->loss += watts * watts;
    v->temperature += kelvin * kelvin;
    if (!estimated) return;
    v->estimated_loss += watts * watts;
    v->estimated_temperature += kelvin * kelvin;
}

/* One mover's share in every item's variance and in that of the whole (its temperature: the mean of all
 * parts). */
static void add_mover(const survey *s, const mover *m, bool network, variance items[], variance *whole)
{
    const hl_design *design = s->work->design;
    double *kelvin = s->kelvin, watts = 0, mean = 0;
    if (network) {
        memset(kelvin, 0, hl_design_nodes(design) * sizeof *kelvin);
        for (size_t i = 0; i < design->n_items; i++)
            if (design->items[i].shown.node >= 0) kelvin[design->items[i].shown.node] += m->change[i];
        network_rise(s->work->network, kelvin);
    }
    for (size_t i = 0; i < design->n_items; i++) {
        int node = design->items[i].shown.node;
        double rise = network && node >= 0 ? kelvin[node] : 0;
        add_squares(&items[i], m->change[i], rise, m->estimated);
        watts += m->change[i];
        mean += rise / (double)design->n_items;
    }
    add_squares(whole, watts, mean, m->estimated);
}

/* A condensed field has no matrix to ask how far temperatures move: not known, rather than not at all. */
static hl_reliance reliance_of(const variance *v, bool field)
{
    if (field)
        return (hl_reliance){sqrt(v->estimated_loss), NAN, v->loss > 0 ? v->estimated_loss / v->loss : 0,
                             NAN};
    return (hl_reliance){.loss = sqrt(v->estimated_loss),
                         .temperature = sqrt(v->estimated_temperature),
                         .loss_share = v->loss > 0 ? v->estimated_loss / v->loss : 0,
                         .temperature_share =
                             v->temperature > 0 ? v->estimated_temperature / v->temperature : 0};
}

hl_status hl_result_reliance(hl_workspace *workspace, hl_reliance items[], hl_reliance *total)
{
    PLAIN_FLOAT_STATE;
    const hl_design *design = workspace->design;
    survey s = {.work = workspace};
    (void)feedback_gain(workspace); /* the matrix it comes from is overwritten */
    size_t longest = 0;
    for (size_t i = 0; i < design->n_items; i++) {
        const value_set *set = &design->items[i].set;
        s.room += set->n;
        for (size_t k = 0; k < set->n; k++)
            if (set->values[k].curve.n > longest) longest = set->values[k].curve.n;
    }
    s.row = calloc(longest + 1, sizeof *s.row);
    s.kelvin = calloc(hl_design_nodes(design) + 1, sizeof *s.kelvin);
    s.movers = calloc(s.room + 1, sizeof *s.movers);
    s.changes = calloc((s.room + 1) * (design->n_items + 1), sizeof *s.changes);
    variance *of = calloc(design->n_items + 1, sizeof *of), whole = {0, 0, 0, 0};
    bool good = s.row && s.kelvin && s.movers && s.changes && of, field = workspace->field != NULL;
    if (good && workspace->outcome == HL_SOLVED) {
        for (size_t i = 0; i < design->n_items; i++) survey_item(&s, i);
        bool network = workspace->network && network_linearise(workspace->network, &workspace->surroundings,
                                                               workspace->temperature, workspace->slope);
        for (size_t m = 0; m < s.n; m++) add_mover(&s, &s.movers[m], network, of, &whole);
    }
    for (size_t i = 0; good && items && i < design->n_items; i++) items[i] = reliance_of(&of[i], field);
    if (good && total) *total = reliance_of(&whole, field);
    free(s.row);
    free(s.kelvin);
    free(s.movers);
    free(s.changes);
    free(of);
    return good ? HL_OK : HL_NO_MEMORY;
}
