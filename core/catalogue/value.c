/* value.c - one value of a part: which kind the parameter wants, and what stands there instead. */
#include "catalogue/value.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "catalogue/band.h"
#include "catalogue/number.h"
#include "catalogue/series.h"
#include "diagnostic/joined.h"
#include "heatledger/catalogue.h"
#include "heatledger/quantity.h"
#include "quantity/excerpt.h"
#include "quantity/float_state.h"
#include "quantity/unit.h"

void value_complain(value_reader *reader, const node *at, const char *label, const char *format, ...)
{
    char sentence[640];
    reader->complaints++;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    hl_place place = {reader->file, at->line, at->column};
    hl_diagnostics_add(reader->diagnostics, HL_ERROR, &place, "%s%s%s", label, *label ? ": " : "", sentence);
}

void words_listed(const char *const *words, char *text, size_t size)
{
    static const char more[] = ", …";
    text[0] = '\0';
    for (size_t i = 0; words && words[i]; i++) {
        if (strlen(text) + strlen(words[i]) + 2 + sizeof more > size) {
            join_word(text, size, "", more);
            return;
        }
        join_word(text, size, ", ", words[i]);
    }
}

static const char *const origin_words[] = {"estimate", "marking", "datasheet", "bench", "stated", NULL};

/* Index of a word, or -1 with the near ones named. */
static int read_word(value_reader *reader, const char *label, const node *from, const char *const *words)
{
    char all[256];
    words_listed(words, all, sizeof all);
    if (from->kind == NODE_BROKEN || reader->complaints > COMPLAINTS_MAX) return -1;
    if (from->kind != NODE_SCALAR || from->length == 0) {
        value_complain(reader, from, label, "one word is wanted here: %s", all);
        return -1;
    }
    for (int i = 0; words && words[i]; i++)
        if (strlen(words[i]) == from->length && memcmp(words[i], from->text, from->length) == 0) return i;
    excerpt shown = excerpt_of(from->text, from->length);
    const char *near = hl_nearest_word(shown.text, words);
    if (near)
        value_complain(reader, from, label, "'%s' is none of: %s; did you mean %s?", shown.text, all, near);
    else
        value_complain(reader, from, label, "'%s' is none of: %s", shown.text, all);
    return -1;
}

hl_origin origin_read(value_reader *reader, const char *label, const node *from)
{
    int index = read_word(reader, label, from, origin_words);
    return index < 0 ? HL_ORIGIN_ABSENT : (hl_origin)(HL_ORIGIN_ESTIMATE + index);
}

int choice_read(value_reader *reader, const hl_parameter *parameter, const node *from)
{
    return read_word(reader, parameter->name, from, parameter->choices);
}

static bool read_choice(value_reader *reader, const hl_parameter *parameter, const node *from,
                        hl_value *value)
{
    int index = choice_read(reader, parameter, from);
    if (index < 0) return false;
    value->number = value->minimum = value->maximum = index;
    return true;
}

static bool read_kind(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value,
                      hl_band *band)
{
    switch (parameter->kind) {
    case HL_NUMBER:
        return number_read(reader, parameter, from, value, band);
    case HL_CHOICE:
        return read_choice(reader, parameter, from, value);
    case HL_CURVE:
        return curve_read(reader, parameter, from, value, band);
    case HL_LIST:
        return list_read(reader, parameter, from, value);
    case HL_CHOICES:
        return choices_read(reader, parameter, from, value);
    }
    value_complain(reader, from, parameter->name,
                   "this model asks for a kind of value that is not known here");
    return false;
}

/* { value: ..., origin: bench, tolerance: 5 % } around a choice or a list: the inner node, NULL when refused.
 * Words have no band. */
static const node *unwrap(value_reader *reader, const hl_parameter *parameter, const node *from,
                          hl_origin *origin, hl_band *band)
{
    enum { VALUE, ORIGIN, SCALE, FIELDS = SCALE + SCALE_FIELDS };
    static const char *const list_keys[] = {"value", "origin", SCALE_WORDS, NULL};
    static const char *const word_keys[] = {"value", "origin", NULL};
    const node *found[FIELDS] = {NULL};
    bool list = parameter->kind == HL_LIST;
    if (!fields_read(reader, parameter->name, from, list ? list_keys : word_keys, found)) return NULL;
    if (found[ORIGIN] && (*origin = origin_read(reader, parameter->name, found[ORIGIN])) == HL_ORIGIN_ABSENT)
        return NULL;
    if (list && !scale_read(reader, parameter->name, found + SCALE, band)) return NULL;
    if (!found[VALUE]) value_complain(reader, from, parameter->name, "value: is missing here");
    return found[VALUE];
}

void band_finish(const hl_parameter *parameter, const hl_value *value, hl_band *band)
{
    bool whole = parameter->kind == HL_NUMBER;
    band->floor = whole ? parameter->low : 0;
    band->ceiling = whole ? parameter->high : 0;
    band->origin = value->origin;
    if (!whole && band->kind == HL_BAND_NONE) band->low = band->central = band->high = 1;
}

bool value_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value,
                hl_band *band)
{
    hl_value read = {.origin = reader->origin};
    hl_band width = {.kind = HL_BAND_NONE};
    bool plain = parameter->kind != HL_NUMBER && parameter->kind != HL_CURVE;
    if (from->kind == NODE_BROKEN) return false;
    if (plain && from->kind == NODE_MAPPING) from = unwrap(reader, parameter, from, &read.origin, &width);
    if (!from || !read_kind(reader, parameter, from, &read, &width)) return false;
    read.given = true;
    band_finish(parameter, &read, &width);
    *value = read;
    *band = width;
    return true;
}

/* How wide an estimate that nobody stated is taken to be: 90 % within this factor either way. Common
 * practice, no source. */
static const double fallback_factor = 1.3;

bool value_fallback(const hl_parameter *parameter, arena *memory, hl_value *value, hl_band *band)
{
    double number = parameter->fallback;
    if (!(parameter->flags & HL_DEFAULT) || parameter->kind == HL_LIST || parameter->kind == HL_CHOICES)
        return false;
    *value = (hl_value){.number = number, .minimum = number, .maximum = number};
    value->origin = HL_ORIGIN_ESTIMATE;
    value->given = true;
    *band = band_exact(number);
    unit u;
    bool temperature = parameter->dimension &&
                       unit_parse(parameter->dimension, strlen(parameter->dimension), &u, NULL, NULL) &&
                       u.celsius;
    bool open = !(parameter->flags & HL_CONDITION) && !temperature;
    if (parameter->kind == HL_NUMBER && open && number > 0) {
        *band = band_factor(number, fallback_factor);
        bool ranged = parameter->low < parameter->high;
        value->minimum = ranged ? fmax(band->low, parameter->low) : band->low;
        value->maximum = ranged ? fmin(band->high, parameter->high) : band->high;
    }
    band_finish(parameter, value, band);
    return parameter->kind != HL_CURVE || curve_flat(memory, number, value);
}

hl_status hl_value_read(const hl_parameter *parameter, const char *text, const hl_place *place,
                        hl_value *value, hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    hl_band band;
    return hl_value_read_band(parameter, text, place, value, &band, NULL, 0, diagnostics);
}

/* Move a tree read from a lone text to the place the text stands at. */
static void move_tree(node *from, const hl_place *place)
{
    from->line = place ? place->line : 0;
    from->column = place ? place->column : 0;
    for (node *child = from->first; child; child = child->next) move_tree(child, place);
}

/* The name of the group outlives the tree it was read from. */
static void keep_group(hl_band *band, char *group, size_t size)
{
    if (!band->group) return;
    if (size) snprintf(group, size, "%s", band->group);
    band->group = size ? group : NULL;
}

static hl_status read_text(value_reader *reader, const hl_parameter *parameter, const char *text,
                           const hl_place *place, hl_value *value, hl_band *band)
{
    node lone = {.kind = NODE_SCALAR, .closed = true, .text = text}, *from = &lone;
    lone.length = strlen(text);
    if (text[strspn(text, " \t")] == '{') {
        hl_status status =
            document_read(reader->scratch, reader->file, text, lone.length, &from, reader->diagnostics);
        if (status != HL_OK) return status;
    }
    move_tree(from, place);
    if (value_read(reader, parameter, from, value, band)) return HL_OK;
    return reader->starved ? HL_NO_MEMORY : HL_BAD_INPUT;
}

/* A lone text is a part file of one value. */
hl_status hl_value_read_band(const hl_parameter *parameter, const char *text, const hl_place *place,
                             hl_value *value, hl_band *band, char *group, size_t size,
                             hl_diagnostics *diagnostics)
{
    PLAIN_FLOAT_STATE;
    value_reader reader = {.diagnostics = diagnostics, .origin = HL_ORIGIN_STATED};
    if (place) reader.file = place->file;
    *band = (hl_band){.kind = HL_BAND_NONE};
    bool mapping = text && text[strspn(text, " \t")] == '{';
    if (mapping && !(reader.scratch = arena_create())) return HL_NO_MEMORY;
    hl_status status = read_text(&reader, parameter, text ? text : "", place, value, band);
    keep_group(band, group, size);
    arena_destroy(reader.scratch);
    return status;
}

static bool number_fits(const hl_parameter *parameter, double number, char *why, size_t size)
{
    char text[64];
    if (parameter->kind == HL_CHOICE) {
        size_t n = 0;
        while (parameter->choices && parameter->choices[n]) n++;
        if (number >= 0 && number < (double)n && number == floor(number)) return true;
        words_listed(parameter->choices, text, sizeof text);
        snprintf(why, size, "one of these words is wanted, not a number: %s", text);
        return false;
    }
    if (parameter->kind != HL_NUMBER) {
        snprintf(why, size, "a list or a curve is wanted, not a number");
        return false;
    }
    hl_quantity_print(number, parameter->dimension, 6, text, sizeof text);
    return hl_quantity_plausible(text, strlen(text), number, parameter->dimension, parameter->low,
                                 parameter->high, why, size);
}

hl_status hl_value_from_number(const hl_parameter *parameter, double number, const hl_place *place,
                               hl_value *value, hl_diagnostics *diagnostics)
{
    char why[400];
    if (!number_fits(parameter, number, why, sizeof why)) {
        hl_diagnostics_add(diagnostics, HL_ERROR, place, "%s: %s", parameter->name, why);
        return HL_BAD_INPUT;
    }
    *value = (hl_value){.number = number, .minimum = number, .maximum = number};
    value->origin = HL_ORIGIN_STATED;
    value->given = true;
    return HL_OK;
}
