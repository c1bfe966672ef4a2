/* part.c - one part: its model, then each value the model asks for. */
#include "catalogue/part.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "catalogue/colon.h"
#include "catalogue/estimate.h"
#include "catalogue/number.h"
#include "diagnostic/joined.h"
#include "heatledger/quantity.h"
#include "plugin/calling.h"
#include "quantity/excerpt.h"

enum { MODEL, DESCRIPTION, ORIGIN, KNOWN_BY, FIXED, NAME_MAX_LENGTH = 64 };
static const char *const fixed_words[FIXED] = {"model", "description", "origin", "known_by"};

/* A part being read: its fields in the order FIXED, parameters, commons, facts. */
typedef struct draft {
    value_reader *reader;
    const char *name;
    const hl_model *model;
    const node **found;
    const char **misread; /* NULL-ended: names that stand in it, but could not be read */
    size_t n_misread;
    hl_part *part;
    estimator sketch; /* what completes it */
    bool marked;      /* known by its marking: everything a rule can reach is estimated */
    bool good;
} draft;

static bool name_usable(const char *text, size_t length)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.";
    return length > 0 && length <= NAME_MAX_LENGTH && strspn(text, allowed) == length;
}

static const node *find_value(const node *mapping, const char *word)
{
    for (const node *key = mapping->first; key && key->next; key = key->next->next)
        if (key->kind == NODE_SCALAR && strcmp(key->text, word) == 0) return key->next;
    return NULL;
}

/* Why a part has no model: something was meant to be one, was told already, or nothing was. */
static void complain_of_no_model(value_reader *reader, const char *part, const node *name, const node *from)
{
    static const char *const words[] = {"model", NULL};
    char sentence[200];
    for (const node *key = from->first; key && key->next; key = key->next->next) {
        if (key->kind != NODE_SCALAR || key->next->kind == NODE_BROKEN) return;
        excerpt shown = excerpt_of(key->text, key->length);
        if (colon_lacks(key->text, key->length, words))
            colon_advice(key->text, key->length, sentence, sizeof sentence);
        else if (hl_nearest_word(shown.text, words))
            snprintf(sentence, sizeof sentence, "'%s' is not known here; did you mean 'model'?", shown.text);
        else
            continue;
        value_complain(reader, key, part, "%s", sentence);
        return;
    }
    value_complain(reader, name, part, "model: is missing; `heatledger models` lists them");
}

static const hl_model *find_model(value_reader *reader, const hl_host *host, const char *part,
                                  const node *name, const node *from)
{
    const node *at = find_value(from, fixed_words[MODEL]);
    if (!at) {
        complain_of_no_model(reader, part, name, from);
        return NULL;
    }
    if (at->kind == NODE_BROKEN) return NULL;
    if (at->kind != NODE_SCALAR) {
        value_complain(reader, at, part, "model: is one word; `heatledger models` lists them");
        return NULL;
    }
    const hl_model *model = hl_host_find(host, at->text);
    if (model && !model->device)
        value_complain(reader, at, part,
                       "'%s' is a stage; a part is a device, such as a switch or a capacitor", model->name);
    if (model) return model->device ? model : NULL;
    excerpt shown = excerpt_of(at->text, at->length);
    const char *near = hl_host_nearest(host, shown.text);
    if (near)
        value_complain(reader, at, part, "no model is named '%s'; did you mean '%s'?", shown.text, near);
    else
        value_complain(reader, at, part,
                       "no model is named '%s'; `heatledger models` lists them; one of a plugin of your own "
                       "comes with --plugins",
                       shown.text);
    return NULL;
}

/* All words that may stand in a part of this model, NULL at the end. */
static const char **known_words(arena *memory, const hl_model *model, const estimator *sketch)
{
    size_t n = model->n_parameters;
    const char **words = arena_array(memory, FIXED + n + HL_COMMONS + sketch->n_facts + 1, sizeof *words);
    if (!words) return NULL;
    for (size_t i = 0; i < FIXED; i++) words[i] = fixed_words[i];
    for (size_t i = 0; i < n; i++) words[FIXED + i] = hl_model_parameter(model, i)->name;
    for (size_t i = 0; i < HL_COMMONS; i++) words[FIXED + n + i] = hl_common_parameter(i)->name;
    for (size_t i = 0; i < sketch->n_facts; i++)
        words[FIXED + n + HL_COMMONS + i] = sketch->facts[i]->parameter.name;
    return words;
}

static void read_description(draft *d)
{
    const node *from = d->found[DESCRIPTION];
    d->part->description = "";
    if (!from || from->kind == NODE_BROKEN) return;
    if (from->kind == NODE_SCALAR) {
        d->part->description = arena_text(d->reader->memory, from->text, from->length);
        if (!d->part->description) d->reader->starved = true;
        return;
    }
    value_complain(d->reader, from, d->name, "description: is plain text; put it in quotes");
    d->good = false;
}

static const hl_parameter *parameter_at(const draft *d, size_t index)
{
    size_t n = d->model->n_parameters;
    return index < n ? hl_model_parameter(d->model, index) : hl_common_parameter(index - n);
}

static hl_value *value_at(const draft *d, size_t index)
{
    size_t n = d->model->n_parameters;
    return index < n ? &d->part->values[index] : &d->part->commons[index - n];
}

static hl_band *band_at(const draft *d, size_t index)
{
    size_t n = d->model->n_parameters;
    return index < n ? &d->part->bands[index] : &d->part->common_bands[index - n];
}

static void read_value(draft *d, const hl_parameter *p, const node *from, hl_value *value, hl_band *band)
{
    if (value_read(d->reader, p, from, value, band)) return;
    d->misread[d->n_misread++] = p->name;
    d->good = false;
}

/* A misspelt name most likely stands for the one it resembles. */
static void note_misspelt(draft *d, const node *from, const char *const *words)
{
    for (const node *key = from->first; key && key->next; key = key->next->next) {
        if (key->kind != NODE_SCALAR || d->reader->complaints > COMPLAINTS_MAX) continue;
        const char *near = colon_lacks(key->text, key->length, words);
        if (!near) near = hl_nearest_word(excerpt_of(key->text, key->length).text, words);
        bool known = near && strcmp(near, key->text) == 0;
        if (near && !known) d->misread[d->n_misread++] = near;
    }
}

/* What the file says. */
static void read_stated(draft *d)
{
    size_t n = d->model->n_parameters;
    for (size_t i = 0; i < n + HL_COMMONS; i++) {
        const node *from = d->found[FIXED + i];
        if (!from) continue;
        if (i < n) d->part->value_places[i] = (hl_place){d->reader->file, from->line, from->column};
        read_value(d, parameter_at(d, i), from, value_at(d, i), band_at(d, i));
    }
    for (size_t i = 0; i < d->sketch.n_facts; i++) {
        const node *from = d->found[FIXED + n + HL_COMMONS + i];
        if (!from) continue;
        d->marked = true;
        read_value(d, &d->sketch.facts[i]->parameter, from, &d->sketch.fact_values[i],
                   &d->sketch.fact_bands[i]);
    }
    const hl_value *size = &d->part->commons[HL_COMMON_SIZE];
    const node *at = d->found[FIXED + n + HL_COMMON_SIZE];
    if (!at || !size->given || size->curve.n == 3) return;
    value_complain(d->reader, at, "size", "%zu values; length, width and height are wanted", size->curve.n);
    d->misread[d->n_misread++] = "size";
    d->good = false;
}

static void read_known_by(draft *d)
{
    static const char *const words[] = {"marking", "data", NULL};
    const node *from = d->found[KNOWN_BY];
    if (!from || from->kind == NODE_BROKEN) return;
    for (int i = 0; from->kind == NODE_SCALAR && words[i]; i++)
        if (strcmp(from->text, words[i]) == 0) {
            d->marked |= i == 0;
            return;
        }
    value_complain(d->reader, from, d->name,
                   "known_by: is marking (what is not stated is estimated) or data (the models' defaults)");
    d->good = false;
}

/* Rules complete a part known by its marking in all they reach, and another in what its model cannot do
 * without. */
static void complete(draft *d)
{
    size_t n = d->model->n_parameters;
    if (!d->sketch.sets) return;
    for (size_t i = 0; i < n; i++) {
        bool wanted = (parameter_at(d, i)->flags & HL_REQUIRED) && !value_at(d, i)->given;
        if (wanted && estimate_fill(&d->sketch, i)) d->marked = true;
    }
    for (size_t i = 0; d->marked && i < n + HL_COMMONS; i++) estimate_fill(&d->sketch, i);
}

/* The defaults of the model; `missing` collects the names of those that must be stated. */
static void fill_default(draft *d, size_t index, char *missing, size_t size)
{
    const hl_parameter *p = parameter_at(d, index);
    hl_value *value = value_at(d, index);
    bool stated = d->found[FIXED + index] != NULL;
    if (value->given || stated) return;
    if (!(p->flags & HL_REQUIRED)) {
        hl_band *band = band_at(d, index);
        if (!value_fallback(p, d->reader->memory, value, band) && (p->flags & HL_DEFAULT) &&
            p->kind == HL_CURVE)
            d->reader->starved = true;
        if (band->kind != HL_BAND_NONE) band->group = rules_together(d->sketch.sets, d->model, p->name);
        return;
    }
    if (!missing) return; /* what every model has is never required */
    d->good = false;
    if (estimate_in_doubt(&d->sketch, p->name)) return; /* what was misread is told already */
    join_word(missing, size, ", ", p->name);
}

/* What a rule would need to fill what is missing. */
static void advise(draft *d, char *text, size_t size)
{
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; d->sketch.sets && i < d->model->n_parameters && used < size; i++) {
        char wants[200];
        const hl_parameter *p = parameter_at(d, i);
        if (!(p->flags & HL_REQUIRED) || value_at(d, i)->given || d->found[FIXED + i]) continue;
        if (estimate_in_doubt(&d->sketch, p->name)) continue;
        estimate_wants(&d->sketch, p->name, wants, sizeof wants);
        if (*wants)
            used +=
                (size_t)snprintf(text + used, size - used, "; %s can be estimated from: %s", p->name, wants);
    }
}

static void fill_parameters(draft *d, const node *name)
{
    char missing[400] = "", advice[500] = "";
    for (size_t i = 0; i < d->model->n_parameters; i++) fill_default(d, i, missing, sizeof missing);
    if (!*missing) return;
    advise(d, advice, sizeof advice);
    value_complain(d->reader, name, d->name, "values are missing that %s cannot do without: %s%s",
                   d->model->name, missing, advice);
}

/* A model may have a parameter of the same name as a common one (its own rating, say): then it was read
 * there, and serves both. */
static void share_common(draft *d, size_t common)
{
    for (size_t k = 0; k < d->model->n_parameters; k++) {
        const hl_parameter *own = hl_model_parameter(d->model, k);
        if (strcmp(own->name, hl_common_parameter(common)->name) != 0 ||
            own->kind != hl_common_parameter(common)->kind)
            continue;
        d->part->commons[common] = d->part->values[k];
        d->part->common_bands[common] = d->part->bands[k];
        return;
    }
}

static void fill_commons(draft *d)
{
    for (size_t i = 0; i < HL_COMMONS; i++) {
        if (!d->part->commons[i].given) share_common(d, i);
        fill_default(d, d->model->n_parameters + i, NULL, 0);
    }
}

/* Where a sentence has a name as a word of its own, NULL: nowhere. */
static const char *named_in(const char *sentence, const char *name)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz0123456789_";
    size_t n = strlen(name);
    for (const char *at = sentence; (at = strstr(at, name)); at += n)
        if ((at == sentence || !strchr(letters, at[-1])) && (!at[n] || !strchr(letters, at[n]))) return at;
    return NULL;
}

/* The model's own word on its values: whether they go together. */
static bool is_prepared(draft *d, hl_reason *reason)
{
    const hl_device *device = d->model->device;
    calling(d->model, "state_size", d->name);
    size_t size = device->state_size ? device->state_size(d->part->values) : 0;
    called();
    void *state = calloc(1, size ? size : 1);
    if (!state) {
        d->reader->starved = true;
        return false;
    }
    calling(d->model, "prepare", d->name);
    bool fits = device->prepare(state, d->part->values, reason);
    called();
    free(state);
    reason->text[sizeof reason->text - 1] = '\0';
    return fits;
}

/* As if the part had said that it is known by its marking. */
static void mark(draft *d)
{
    size_t n = d->model->n_parameters;
    d->marked = true;
    for (size_t i = 0; i < n; i++)
        if (!d->found[FIXED + i]) *value_at(d, i) = (hl_value){.given = false};
    complete(d);
    for (size_t i = 0; i < n; i++) fill_default(d, i, NULL, 0);
}

/* Does the sentence name something that was not stated, and that a rule has filled since? */
static bool names_filled(const draft *d, const char *sentence)
{
    for (size_t i = 0; i < d->model->n_parameters; i++)
        if (!d->found[FIXED + i] && d->part->by[i] && named_in(sentence, parameter_at(d, i)->name))
            return true;
    return false;
}

/* Of what a model names as it refuses, the first that a rule could fill, and from what. */
static void advise_refused(draft *d, const char *sentence, char *text, size_t size)
{
    static const char unmarked[] = "with known_by: marking ";
    const char *lead = d->marked ? "" : unmarked, *first = NULL;
    hl_reason again = {{0}};
    text[0] = '\0';
    if (!d->sketch.sets) return;
    if (!d->marked) mark(d);
    if (*lead && names_filled(d, sentence) && is_prepared(d, &again)) {
        snprintf(text, size, "; %swhat is missing is estimated", lead);
        return;
    }
    for (size_t i = 0; i < d->model->n_parameters; i++) {
        char wants[200];
        const char *name = parameter_at(d, i)->name, *at = named_in(sentence, name);
        if (!at || d->found[FIXED + i] || d->part->by[i] || (first && at > first)) continue;
        estimate_wants(&d->sketch, name, wants, sizeof wants);
        if (!*wants) continue;
        first = at;
        snprintf(text, size, "; %s%s can be estimated from: %s", lead, name, wants);
    }
}

static void try_prepare(draft *d, const node *name)
{
    hl_reason reason = {{0}};
    char advice[300];
    if (!d->good || !d->model->device->prepare || is_prepared(d, &reason) || d->reader->starved) return;
    d->good = false;
    advise_refused(d, reason.text, advice, sizeof advice);
    value_complain(d->reader, name, d->name, "%s%s", reason.text[0] ? reason.text : "refused by its model",
                   advice);
}

static bool begin_sketch(draft *d, const rule_set *rules)
{
    arena *scratch = d->reader->scratch;
    estimator *e = &d->sketch;
    size_t n = estimate_facts(rules, d->model, NULL, 0);
    *e = (estimator){.reader = d->reader, .sets = rules, .model = d->model, .part = d->name, .n_facts = n};
    e->facts = arena_array(scratch, n + 1, sizeof *e->facts);
    e->fact_values = arena_array(scratch, n + 1, sizeof *e->fact_values);
    e->fact_bands = arena_array(scratch, n + 1, sizeof *e->fact_bands);
    if (!e->facts || !e->fact_values || !e->fact_bands) return false;
    estimate_facts(rules, d->model, e->facts, n);
    return true;
}

static bool begin(draft *d, const rule_set *rules, const node *name, const node *from)
{
    value_reader *reader = d->reader;
    size_t n = d->model->n_parameters;
    if (!begin_sketch(d, rules)) {
        reader->starved = true;
        return false;
    }
    const char **words = known_words(reader->scratch, d->model, &d->sketch);
    d->found = arena_array(reader->scratch, FIXED + n + HL_COMMONS + d->sketch.n_facts, sizeof *d->found);
    d->misread = d->sketch.misread = arena_array(reader->scratch, from->n + 2, sizeof *d->misread);
    d->part = arena_take(reader->memory, sizeof *d->part);
    hl_value *values = arena_array(reader->memory, n + 1, sizeof *values);
    hl_band *bands = arena_array(reader->memory, n + 1, sizeof *bands);
    hl_place *places = arena_array(reader->memory, n + 1, sizeof *places);
    const char *kept = arena_copy(reader->memory, d->name);
    const rule **by = arena_array(reader->memory, n + HL_COMMONS, sizeof *by);
    if (!kept || !by || !words || !d->found || !d->misread || !d->part || !values || !bands || !places) {
        reader->starved = true;
        return false;
    }
    *d->part =
        (hl_part){.name = kept, .model = d->model, .values = values, .bands = bands, .value_places = places};
    d->part->by = d->sketch.by = by;
    d->sketch.values = values;
    d->sketch.bands = bands;
    d->sketch.commons = d->part->commons;
    d->sketch.common_bands = d->part->common_bands;
    d->part->place = (hl_place){reader->file, name->line, name->column};
    d->good = fields_read(reader, d->name, from, words, d->found);
    if (!d->good) note_misspelt(d, from, words);
    return true;
}

hl_part *part_read(value_reader *reader, const hl_host *host, const rule_set *rules, const node *name,
                   const node *from)
{
    if (name->kind == NODE_BROKEN || from->kind == NODE_BROKEN) return NULL;
    if (!name_usable(name->text, name->length)) {
        value_complain(reader, name, "",
                       "'%s' is no name for a part; use letters, digits, - _ . (at most 64)",
                       excerpt_of(name->text, name->length).text);
        return NULL;
    }
    if (from->kind != NODE_MAPPING) {
        const char *advice = from->length ? "each with a colon and a space" : "indented beneath its name";
        if (from->kind == NODE_SEQUENCE) advice = "not a list of them: no dash stands before them";
        value_complain(reader, from, name->text, "a part is a mapping: model: and its values, %s", advice);
        return NULL;
    }
    draft d = {.reader = reader, .name = name->text};
    d.model = find_model(reader, host, name->text, name, from);
    if (!d.model || !begin(&d, rules, name, from)) return NULL;
    hl_origin before = reader->origin;
    if (d.found[ORIGIN]) {
        hl_origin own = origin_read(reader, d.name, d.found[ORIGIN]);
        d.good &= own != HL_ORIGIN_ABSENT;
        if (own != HL_ORIGIN_ABSENT) reader->origin = own;
    }
    read_description(&d);
    read_known_by(&d);
    read_stated(&d);
    complete(&d);
    fill_parameters(&d, name);
    fill_commons(&d);
    reader->origin = before;
    try_prepare(&d, name);
    return d.good && !reader->starved ? d.part : NULL;
}

const char *hl_part_name(const hl_part *part)
{
    return part->name;
}

const char *hl_part_description(const hl_part *part)
{
    return part->description;
}

const hl_model *hl_part_model(const hl_part *part)
{
    return part->model;
}

const hl_value *hl_part_values(const hl_part *part)
{
    return part->values;
}

const hl_value *hl_part_commons(const hl_part *part)
{
    return part->commons;
}

const hl_band *hl_part_bands(const hl_part *part)
{
    return part->bands;
}

const hl_band *hl_part_common_bands(const hl_part *part)
{
    return part->common_bands;
}

const char *hl_part_value_rule(const hl_part *part, size_t index, hl_place *place)
{
    const rule *by = index < part->model->n_parameters + HL_COMMONS ? part->by[index] : NULL;
    if (by && place) *place = by->place;
    return by ? by->source : NULL;
}

hl_place hl_part_place(const hl_part *part)
{
    return part->place;
}

hl_place hl_part_value_place(const hl_part *part, size_t index)
{
    return index < part->model->n_parameters ? part->value_places[index] : (hl_place){part->place.file, 0, 0};
}
