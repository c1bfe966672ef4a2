/* bench_file.c - reading a bench file and checking it against the design. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "catalogue/number.h"
#include "catalogue/source.h"
#include "fit/bench.h"
#include "heatledger/quantity.h"
#include "quantity/difference.h"
#include "quantity/float_state.h"

static const char format_word[] = "bench/1";

typedef struct bench_reader {
    value_reader words;
    hl_bench *bench;
    bool good;
} bench_reader;

static bool refuse(bench_reader *r, const node *at, const char *label, const char *sentence)
{
    value_complain(&r->words, at, label, "%s", sentence);
    r->good = false;
    return false;
}

static hl_place place_of(const bench_reader *r, const node *at)
{
    /* the file's name must live as long as the bench */
    return (hl_place){r->words.file, at->line, at->column};
}

/* Fields of one entry of a list; false: it is no mapping or has unknown keys. */
static bool fields(bench_reader *r, const char *label, const node *from, const char *const *keys,
                   const node *found[], size_t n)
{
    memset(found, 0, n * sizeof *found);
    if (from->kind == NODE_BROKEN) return r->good = false;
    if (from->kind != NODE_MAPPING) return refuse(r, from, label, "wants a mapping");
    if (fields_read(&r->words, label, from, keys, found)) return true;
    return r->good = false;
}

/* A scalar as text that lives as long as the bench. */
static const char *text_of(bench_reader *r, const char *label, const node *from)
{
    if (from->kind != NODE_SCALAR) {
        refuse(r, from, label, "wants a text");
        return NULL;
    }
    const char *kept = arena_text(r->bench->memory, from->text, from->length);
    if (!kept) r->words.starved = true;
    return kept;
}

static bool quantity(bench_reader *r, const char *label, const node *from, const char *unit, double *value)
{
    char why[300];
    if (from->kind != NODE_SCALAR) return refuse(r, from, label, "wants a quantity");
    if (hl_quantity_read(from->text, from->length, unit, value, why, sizeof why)) return true;
    return refuse(r, from, label, why);
}

static bool difference(bench_reader *r, const node *from, const char *unit, double *value)
{
    char why[300];
    if (from->kind != NODE_SCALAR) return refuse(r, from, "uncertainty", "wants a quantity");
    if (quantity_difference(from->text, from->length, unit, value, why, sizeof why)) return true;
    return refuse(r, from, "uncertainty", why);
}

/* ------------------------------------------------------------ free values -- */

/* Settings that "name" stands for: one by its own name, or PART.parameter in every slot that PART fills. */
static bool find_settings(bench_reader *r, const node *at, const char *name, bench_value *value)
{
    const hl_design *design = r->bench->design;
    const char *near, *dot = strrchr(name, '.');
    char meant[200] = "";
    value->settings = arena_array(r->bench->memory, hl_design_items(design) + 1, sizeof *value->settings);
    if (!value->settings) {
        r->words.starved = true;
        return false;
    }
    size_t index = hl_design_find_setting(design, name, &near);
    if (index != SIZE_MAX) value->settings[value->n++] = index;
    for (size_t i = 0; index == SIZE_MAX && dot && i < hl_design_items(design); i++) {
        const hl_item *item = hl_design_item(design, i);
        const char *part = hl_part_name(item->part);
        if (strlen(part) != (size_t)(dot - name) || strncmp(part, name, strlen(part)) != 0) continue;
        char setting[200];
        snprintf(setting, sizeof setting, "%s%s", item->name, dot);
        const char *like; /* of this part, by the name of the place it stands in */
        size_t found = hl_design_find_setting(design, setting, &like);
        if (found != SIZE_MAX) value->settings[value->n++] = found;
        if (found == SIZE_MAX && like) snprintf(meant, sizeof meant, "%s%s", part, strrchr(like, '.'));
    }
    if (*meant) near = meant;
    if (value->n && hl_design_setting(design, value->settings[0])->kind == HL_NUMBER) return true;
    if (value->n) return refuse(r, at, name, "is a choice; only numbers can be fitted");
    char sentence[300];
    snprintf(sentence, sizeof sentence, "no setting and no part's value of this name%s%s%s",
             near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
    return refuse(r, at, name, sentence);
}

/* What is not said: start at the design's own value, bounds from its band or its plausible range. */
static void fill_bounds(const bench_reader *r, bench_value *value)
{
    const hl_parameter *parameter = hl_design_setting(r->bench->design, value->settings[0]);
    hl_band band;
    hl_design_band(r->bench->design, value->settings[0], &band);
    hl_fit_value *v = &value->fit;
    bool banded = band.kind != HL_BAND_NONE && hl_band_deviation(&band) > 0;
    if (isnan(v->low) && banded) v->low = hl_band_quantile(&band, 1e-3);
    if (isnan(v->high) && banded) v->high = hl_band_quantile(&band, 1 - 1e-3);
    value->open = isnan(v->low) || isnan(v->high);
    if (isnan(v->low) && parameter->low < parameter->high) v->low = parameter->low;
    if (isnan(v->high) && parameter->low < parameter->high) v->high = parameter->high;
    if (isnan(v->start)) v->start = r->bench->base[value->settings[0]];
    if (!(v->start >= v->low && v->start <= v->high)) v->start = 0.5 * (v->low + v->high);
}

/* prior: band, or { value: , uncertainty: } */
static void read_prior(bench_reader *r, const node *from, bench_value *value)
{
    static const char *const keys[] = {"value", "uncertainty", NULL};
    const node *found[2];
    hl_fit_value *v = &value->fit;
    if (from->kind == NODE_SCALAR && !strcmp(from->text, "band")) {
        hl_band band;
        hl_design_band(r->bench->design, value->settings[0], &band);
        v->prior = band.central;
        v->prior_u = hl_band_deviation(&band);
        if (!(v->prior_u > 0)) refuse(r, from, "prior", "the design states no band for this value");
        return;
    }
    if (!fields(r, "prior", from, keys, found, 2)) return;
    if (!found[0] || !found[1]) {
        refuse(r, from, "prior", "wants 'band', or value: and uncertainty:");
        return;
    }
    bool good = quantity(r, "value", found[0], value->unit, &v->prior);
    if (good && difference(r, found[1], value->unit, &v->prior_u) && !(v->prior_u > 0))
        refuse(r, found[1], "uncertainty", "is above zero");
}

static void read_value(bench_reader *r, const node *from)
{
    static const char *const keys[] = {"value", "low", "high", "start", "prior", NULL};
    enum { VALUE, LOW, HIGH, START, PRIOR, FIELDS };
    const node *found[FIELDS];
    if (!fields(r, "free", from, keys, found, FIELDS)) return;
    if (!found[VALUE]) {
        refuse(r, from, "free", "'value:' is missing: the name of what is free");
        return;
    }
    bench_value *value = &r->bench->values[r->bench->n_values];
    *value =
        (bench_value){.fit = {.low = NAN, .high = NAN, .start = NAN}, .place = place_of(r, found[VALUE])};
    value->fit.name = text_of(r, "value", found[VALUE]);
    if (!value->fit.name || !find_settings(r, found[VALUE], value->fit.name, value)) return;
    value->unit = hl_design_setting(r->bench->design, value->settings[0])->dimension;
    for (size_t k = 0; k < r->bench->n_values; k++)
        for (size_t a = 0; a < r->bench->values[k].n; a++)
            for (size_t b = 0; b < value->n; b++)
                if (r->bench->values[k].settings[a] == value->settings[b]) {
                    refuse(r, found[VALUE], value->fit.name, "is free already");
                    return;
                }
    if (found[LOW]) quantity(r, "low", found[LOW], value->unit, &value->fit.low);
    if (found[HIGH]) quantity(r, "high", found[HIGH], value->unit, &value->fit.high);
    if (found[START]) quantity(r, "start", found[START], value->unit, &value->fit.start);
    fill_bounds(r, value);
    if (!(value->fit.low < value->fit.high))
        refuse(r, from, value->fit.name, "say low: and high:, and low below high");
    if (found[PRIOR]) read_prior(r, found[PRIOR], value);
    r->bench->n_values++;
}

/* ----------------------------------------------------------------- points -- */

static void read_settings(bench_reader *r, const node *from, bench_point *point)
{
    if (from->kind != NODE_MAPPING) {
        if (from->kind != NODE_BROKEN) refuse(r, from, "settings", "wants a mapping from settings to values");
        r->good = false;
        return;
    }
    hl_bench *bench = r->bench;
    point->set = arena_array(bench->memory, from->n / 2 + 1, sizeof *point->set);
    point->to = arena_array(bench->memory, from->n / 2 + 1, sizeof *point->to);
    double *spare = arena_array(bench->memory, hl_design_settings(bench->design) + 1, sizeof *spare);
    if (!point->set || !point->to || !spare) {
        r->words.starved = true;
        return;
    }
    for (const node *key = from->first; key && key->next; key = key->next->next) {
        const node *value = key->next;
        hl_place place = place_of(r, key);
        if (key->kind != NODE_SCALAR || value->kind != NODE_SCALAR) {
            refuse(r, key, "settings", "wants name: value");
            continue;
        }
        if (hl_design_set(bench->design, spare, key->text, value->text, &place, r->words.diagnostics) !=
            HL_OK) {
            r->good = false;
            continue;
        }
        size_t index = hl_design_find_setting(bench->design, key->text, NULL);
        point->set[point->n_set] = index;
        point->to[point->n_set++] = spare[index];
    }
}

/* The figures' names come from a point that has a solution: the first that does. */
static bool find_figures(bench_reader *r, const bench_point *point, const node *at)
{
    hl_bench *bench = r->bench;
    if (bench->figures) return true;
    memcpy(bench->settings, bench->base, hl_design_settings(bench->design) * sizeof *bench->settings);
    for (size_t i = 0; i < point->n_set; i++) bench->settings[point->set[i]] = point->to[i];
    if (hl_solve(bench->workspace, bench->settings) != HL_OK ||
        hl_result_outcome(bench->workspace) != HL_SOLVED) {
        char sentence[600];
        snprintf(sentence, sizeof sentence, "this point has no solution: %s",
                 hl_result_reason(bench->workspace));
        return refuse(r, at, point->name, sentence);
    }
    bench->figures = hl_figures_create(bench->design, bench->workspace);
    bench->read = bench->figures
                      ? arena_array(bench->memory, hl_figures_count(bench->figures) + 1, sizeof *bench->read)
                      : NULL;
    if (bench->read) return true;
    r->words.starved = true;
    return false;
}

static bool find_figure(bench_reader *r, const node *of, bench_reading *reading)
{
    const char *near, *name = text_of(r, "of", of);
    if (!name) return false;
    reading->figure = hl_figures_find(r->bench->figures, name, &near);
    if (reading->figure == SIZE_MAX) {
        char sentence[300];
        snprintf(
            sentence, sizeof sentence,
            "the design has no such figure%s%s%s; power, a part, a node, a face or STAGE.quantity is meant",
            near ? "; did you mean '" : "", near ? near : "", near ? "'?" : "");
        return refuse(r, of, name, sentence);
    }
    const hl_figure *figure = hl_figures_get(r->bench->figures, reading->figure);
    reading->unit = figure->unit;
    reading->fit.name = figure->name;
    return true;
}

static void read_reading(bench_reader *r, const node *from)
{
    static const char *const keys[] = {"of", "value", "uncertainty", "by", NULL};
    enum { OF, VALUE, UNCERTAINTY, BY, FIELDS };
    const node *found[FIELDS];
    if (!fields(r, "readings", from, keys, found, FIELDS)) return;
    if (!found[OF] || !found[VALUE] || !found[UNCERTAINTY]) {
        refuse(r, from, "readings", "a reading says of:, value: and uncertainty: (one standard deviation)");
        return;
    }
    bench_reading *reading = &r->bench->readings[r->bench->n_readings];
    *reading = (bench_reading){.point = r->bench->n_points, .place = place_of(r, from)};
    if (!find_figure(r, found[OF], reading)) return;
    if (!quantity(r, reading->fit.name, found[VALUE], reading->unit, &reading->fit.value)) return;
    if (!difference(r, found[UNCERTAINTY], reading->unit, &reading->fit.u)) return;
    if (!(reading->fit.u > 0)) {
        refuse(r, found[UNCERTAINTY], "uncertainty", "is above zero; no reading is exact");
        return;
    }
    r->bench->n_readings++;
}

static void read_point(bench_reader *r, const node *from)
{
    static const char *const keys[] = {"name", "settings", "readings", NULL};
    enum { NAME, SETTINGS, READINGS, FIELDS };
    const node *found[FIELDS];
    if (!fields(r, "points", from, keys, found, FIELDS)) return;
    bench_point *point = &r->bench->points[r->bench->n_points];
    *point = (bench_point){.name = found[NAME] ? text_of(r, "name", found[NAME]) : "point"};
    if (!point->name) return;
    if (found[SETTINGS]) read_settings(r, found[SETTINGS], point);
    if (!found[READINGS] || found[READINGS]->kind != NODE_SEQUENCE) {
        refuse(r, from, point->name, "'readings:' is missing, a list of what was read at this point");
        return;
    }
    if (!find_figures(r, point, from)) return;
    for (const node *reading = found[READINGS]->first; reading && !r->words.starved; reading = reading->next)
        read_reading(r, reading);
    r->bench->n_points++;
}

/* ------------------------------------------------------------------- file -- */

static size_t count_readings(const node *points)
{
    size_t n = 0;
    for (const node *point = points->first; point; point = point->next)
        for (const node *part = point->kind == NODE_MAPPING ? point->first : NULL; part; part = part->next)
            n += part->n;
    return n;
}

static bool make_lists(bench_reader *r, const node *free_values, const node *points)
{
    hl_bench *bench = r->bench;
    bench->values = arena_array(bench->memory, free_values->n + 1, sizeof *bench->values);
    bench->points = arena_array(bench->memory, points->n + 1, sizeof *bench->points);
    bench->readings = arena_array(bench->memory, count_readings(points) + 1, sizeof *bench->readings);
    return bench->values && bench->points && bench->readings;
}

static void read_root(bench_reader *r, const node *root)
{
    static const char *const keys[] = {"heatledger", "free", "points", NULL};
    enum { FORMAT, FREE, POINTS, FIELDS };
    const node *found[FIELDS];
    if (!fields(r, "", root, keys, found, FIELDS)) return;
    if (!found[FORMAT] || found[FORMAT]->kind != NODE_SCALAR || strcmp(found[FORMAT]->text, format_word))
        refuse(r, found[FORMAT] ? found[FORMAT] : root, "heatledger",
               "a bench file begins with 'heatledger: bench/1'");
    if (!found[FREE] || found[FREE]->kind != NODE_SEQUENCE || !found[POINTS] ||
        found[POINTS]->kind != NODE_SEQUENCE) {
        refuse(r, root, "", "'free:' and 'points:' are lists, and both are wanted");
        return;
    }
    if (!make_lists(r, found[FREE], found[POINTS])) {
        r->words.starved = true;
        return;
    }
    for (const node *value = found[FREE]->first; value && !r->words.starved; value = value->next)
        read_value(r, value);
    for (const node *point = found[POINTS]->first; point && !r->words.starved; point = point->next)
        read_point(r, point);
    if (r->good && (!r->bench->n_values || !r->bench->n_readings))
        refuse(r, root, "", "at least one free value and one reading are wanted");
}

static hl_bench *create(const hl_design *design)
{
    hl_bench *bench = calloc(1, sizeof *bench);
    size_t n = hl_design_settings(design);
    if (!bench) return NULL;
    bench->design = design;
    bench->memory = arena_create();
    bench->workspace = hl_workspace_create(design);
    bench->base = bench->memory ? arena_array(bench->memory, n + 1, sizeof *bench->base) : NULL;
    bench->settings = bench->memory ? arena_array(bench->memory, n + 1, sizeof *bench->settings) : NULL;
    if (bench->workspace && bench->base && bench->settings) {
        hl_design_defaults(design, bench->base);
        return bench;
    }
    hl_bench_destroy(bench);
    return NULL;
}

hl_bench *hl_bench_read_text(const hl_design *design, const char *name, const char *text, size_t length,
                             hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    arena *scratch = arena_create();
    bench_reader r = {.bench = create(design), .good = true};
    node *root = NULL;
    hl_status status = HL_NO_MEMORY;
    const char *file = r.bench ? arena_copy(r.bench->memory, name) : NULL;
    if (scratch && file) {
        r.words = (value_reader){.memory = r.bench->memory,
                                 .scratch = scratch,
                                 .file = file,
                                 .diagnostics = diagnostics,
                                 .origin = HL_ORIGIN_BENCH};
        status = document_read(scratch, file, text, length, &root, diagnostics);
        if (status == HL_OK && root) read_root(&r, root);
        if (status == HL_OK && !root) {
            hl_place place = {file, 1, 1};
            hl_diagnostics_add(diagnostics, HL_ERROR, &place,
                               "empty; a bench file begins with 'heatledger: bench/1'");
            r.good = false;
        }
    }
    arena_destroy(scratch);
    if (status == HL_NO_MEMORY || r.words.starved)
        hl_diagnostics_add(diagnostics, HL_ERROR, NULL, "memory ran out; close other programs");
    if (status == HL_OK && r.good && !r.words.starved) return r.bench;
    hl_bench_destroy(r.bench);
    return NULL;
}

hl_bench *hl_bench_read_file(const hl_design *design, const char *path, hl_diagnostics *diagnostics)
{
    char *text = NULL;
    size_t length = 0;
    if (source_read(path, DOCUMENT_BYTES_MAX, &text, &length, diagnostics) != HL_OK) return NULL;
    hl_bench *bench = hl_bench_read_text(design, path, text, length, diagnostics);
    free(text);
    return bench;
}
