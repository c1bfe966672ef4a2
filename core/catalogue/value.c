/* value.c - one value of a part: which kind the parameter wants, and what stands there instead. */
#include "catalogue/value.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "catalogue/number.h"
#include "catalogue/series.h"
#include "heatledger/catalogue.h"
#include "heatledger/quantity.h"
#include "quantity/excerpt.h"
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
    size_t used = 0;
    text[0] = '\0';
    for (size_t i = 0; words && words[i]; i++) {
        size_t need = strlen(words[i]) + 2;
        if (used + need + sizeof more > size) {
            snprintf(text + used, size - used, "%s", more);
            return;
        }
        used += (size_t)snprintf(text + used, size - used, "%s%s", i ? ", " : "", words[i]);
    }
}

static const char *const origin_words[] = {"estimate", "marking", "datasheet", "bench", NULL};

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

static bool read_kind(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value)
{
    switch (parameter->kind) {
    case HL_NUMBER:
        return number_read(reader, parameter, from, value);
    case HL_CHOICE:
        return read_choice(reader, parameter, from, value);
    case HL_CURVE:
        return curve_read(reader, parameter, from, value);
    case HL_LIST:
        return list_read(reader, parameter, from, value);
    case HL_CHOICES:
        return choices_read(reader, parameter, from, value);
    }
    value_complain(reader, from, parameter->name,
                   "this model asks for a kind of value that is not known here");
    return false;
}

/* { value: ..., origin: bench } around a choice or a list: the inner node, NULL when refused. */
static const node *unwrap(value_reader *reader, const hl_parameter *parameter, const node *from,
                          hl_origin *origin)
{
    static const char *const keys[] = {"value", "origin", NULL};
    const node *found[2] = {NULL, NULL};
    if (!fields_read(reader, parameter->name, from, keys, found)) return NULL;
    if (found[1] && (*origin = origin_read(reader, parameter->name, found[1])) == HL_ORIGIN_ABSENT)
        return NULL;
    if (!found[0]) value_complain(reader, from, parameter->name, "value: is missing here");
    return found[0];
}

bool value_read(value_reader *reader, const hl_parameter *parameter, const node *from, hl_value *value)
{
    hl_value read = {.origin = reader->origin};
    bool plain = parameter->kind != HL_NUMBER && parameter->kind != HL_CURVE;
    if (from->kind == NODE_BROKEN) return false;
    if (plain && from->kind == NODE_MAPPING) from = unwrap(reader, parameter, from, &read.origin);
    if (!from || !read_kind(reader, parameter, from, &read)) return false;
    read.given = true;
    *value = read;
    return true;
}

/* How wide an estimate that nobody stated is taken to be, either way: common practice, no source. */
static const double estimate_band = 0.3;

bool value_fallback(const hl_parameter *parameter, arena *memory, hl_value *value)
{
    double number = parameter->fallback;
    if (!(parameter->flags & HL_DEFAULT) || parameter->kind == HL_LIST || parameter->kind == HL_CHOICES)
        return false;
    *value = (hl_value){.number = number, .minimum = number, .maximum = number};
    value->origin = HL_ORIGIN_ESTIMATE;
    value->given = true;
    unit u;
    bool temperature = parameter->dimension &&
                       unit_parse(parameter->dimension, strlen(parameter->dimension), &u, NULL, NULL) &&
                       u.celsius;
    if (parameter->kind == HL_NUMBER && !temperature) {
        double wide = estimate_band * fabs(number);
        bool ranged = parameter->low < parameter->high;
        value->minimum = ranged ? fmax(number - wide, parameter->low) : number - wide;
        value->maximum = ranged ? fmin(number + wide, parameter->high) : number + wide;
    }
    return parameter->kind != HL_CURVE || curve_flat(memory, number, value);
}

/* A lone text is a part file of one scalar. */
hl_status hl_value_read(const hl_parameter *parameter, const char *text, const hl_place *place,
                        hl_value *value, hl_diagnostics *diagnostics)
{
    value_reader reader = {.diagnostics = diagnostics, .origin = HL_ORIGIN_DATASHEET};
    node lone = {.kind = NODE_SCALAR, .closed = true, .text = text ? text : ""};
    lone.length = strlen(lone.text);
    if (place) {
        reader.file = place->file;
        lone.line = place->line;
        lone.column = place->column;
    }
    return value_read(&reader, parameter, &lone, value) ? HL_OK : HL_BAD_INPUT;
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
    value->origin = HL_ORIGIN_DATASHEET;
    value->given = true;
    return HL_OK;
}
