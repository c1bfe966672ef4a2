/* read.c - "150 mohm" to 0.150, or one sentence why not. */
#include "quantity/decimal.h"
#include "quantity/excerpt.h"
#include "quantity/float_state.h"
#include "quantity/marking.h"
#include "quantity/suggest.h"
#include "quantity/unit.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_MAX = 128 };

typedef struct reading {
    const char *text; /* trimmed */
    size_t length;
    const char *wanted; /* unit text */
    unit wanted_unit;
    char *why;
    size_t size;
} reading;

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* "a resistance in ohm" */
static void describe_wanted(const reading *r, char *text, size_t size)
{
    const char *name = dimension_name(r->wanted_unit.dimension);
    bool none = dimension_none(r->wanted_unit.dimension);
    if (none)
        snprintf(text, size, "a plain number or a percentage");
    else if (name)
        snprintf(text, size, "%s in %s", name, r->wanted);
    else
        snprintf(text, size, "a value in %s", r->wanted);
}

static bool refuse(const reading *r, const char *sentence)
{
    excerpt shown = excerpt_of(r->text, r->length);
    snprintf(r->why, r->size, "%s%s", shown.text, sentence);
    return false;
}

/* A marking where a quantity is wanted: the mistake names its own cure. */
static bool is_marking(const reading *r)
{
    char sentence[160];
    double value, tolerance;
    if (!marking_code(r->text, r->length, &r->wanted_unit, &value, &tolerance, sentence, sizeof sentence))
        return false;
    excerpt code = excerpt_of(r->text, r->length);
    snprintf(sentence, sizeof sentence, " looks like a marking code; write { marking: %s }", code.text);
    refuse(r, sentence);
    return true;
}

static bool no_number(const reading *r)
{
    char wanted[96], sentence[160];
    if (is_marking(r)) return false;
    describe_wanted(r, wanted, sizeof wanted);
    snprintf(sentence, sizeof sentence, " does not begin with a number; %s is wanted", wanted);
    if (r->length == 0) {
        snprintf(r->why, r->size, "empty; %s is wanted", wanted);
        return false;
    }
    return refuse(r, sentence);
}

/* What stands straight after the number tells the commonest slips apart. */
static bool check_after_number(const reading *r, size_t at)
{
    const char *rest = r->text + at;
    size_t left = r->length - at, blanks = 0, n;
    if (left >= 2 && rest[0] == ',' && is_digit(rest[1])) {
        excerpt whole = excerpt_of(r->text, at), part = excerpt_of(rest + 1, left - 1);
        char sentence[224];
        snprintf(sentence, sizeof sentence, ": a comma is not read; use a point: %s.%s", whole.text,
                 part.text);
        return refuse(r, sentence);
    }
    if (left >= 2 && (rest[0] == '\'' || rest[0] == '_' || rest[0] == '.') && is_digit(rest[1]))
        return refuse(r, ": digits are not read in groups; write them together, with one point");
    while (blanks < left && (n = space_at(rest + blanks, left - blanks)) > 0) blanks += n;
    rest += blanks;
    left -= blanks;
    bool inverse = left >= 2 && rest[0] == '1' && (rest[1] == '/' || rest[1] == ' ');
    if (left && is_digit(*rest) && !inverse)
        return refuse(r, ": digits are not read in groups; write them together");
    bool times = left >= 2 && memcmp(rest, "\xC3\x97", 2) == 0;
    if (times || (left >= 2 && *rest == 'x' && (is_digit(rest[1]) || space_at(rest + 1, left - 1))))
        return refuse(r, ": one value is wanted here, not several joined by x");
    if (left && (*rest == '-' || *rest == '~' || (left >= 3 && memcmp(rest, "…", 3) == 0)))
        return refuse(r, ": a range is not read here; state minimum: and maximum:");
    for (size_t i = 0; i + 2 <= left; i++)
        if (memcmp(rest + i, "\xC2\xB1", 2) == 0)
            return refuse(r, ": a tolerance is not read here; state tolerance: beside typical:");
    return true;
}

static bool unknown_unit(const reading *r, size_t number, const char *rest, size_t left)
{
    char sentence[360], wanted[96], near[32];
    excerpt shown = excerpt_of(rest, left), digits = excerpt_of(r->text, number);
    if (is_marking(r)) return false;
    describe_wanted(r, wanted, sizeof wanted);
    if (suggest_unit(rest, left, &r->wanted_unit, true, near, sizeof near))
        snprintf(sentence, sizeof sentence, ": '%s' is not a unit known here; did you mean %s %s?",
                 shown.text, digits.text, near);
    else
        snprintf(sentence, sizeof sentence, ": '%s' is not a unit known here; %s is wanted", shown.text,
                 wanted);
    return refuse(r, sentence);
}

static bool wrong_dimension(const reading *r, size_t number, const unit *read, const char *rest, size_t left)
{
    char sentence[360], wanted[96], near[32];
    const char *name = dimension_name(read->dimension);
    if (is_marking(r)) return false;
    excerpt digits = excerpt_of(r->text, number);
    describe_wanted(r, wanted, sizeof wanted);
    const char *is = name ? name : "another kind of quantity";
    if (suggest_unit(rest, left, &r->wanted_unit, false, near, sizeof near))
        snprintf(sentence, sizeof sentence, " is %s; %s is wanted; did you mean %s %s?", is, wanted,
                 digits.text, near);
    else
        snprintf(sentence, sizeof sentence, " is %s; %s is wanted", is, wanted);
    return refuse(r, sentence);
}

static bool no_unit(const reading *r)
{
    char sentence[280], wanted[96], printed[130] = "", as_code[160];
    double value, tolerance;
    describe_wanted(r, wanted, sizeof wanted);
    /* 270 may be 270 uH forgotten or 27 uH as printed: only who wrote it knows */
    if (marking_code(r->text, r->length, &r->wanted_unit, &value, &tolerance, as_code, sizeof as_code))
        snprintf(printed, sizeof printed, "; where the part is printed so, write { marking: %s }",
                 excerpt_of(r->text, r->length).text);
    snprintf(sentence, sizeof sentence, " has no unit; %s is wanted%s", wanted, printed);
    return refuse(r, sentence);
}

/* Powers of ten up to 22 are exact doubles, so "1 in" is rounded once, to the double nearest to 0.0254. */
static double rescaled(double value, const unit *u)
{
    double above = u->multiple, below = u->divisor;
    for (int i = 0; i < abs(u->exponent); i++) *(u->exponent < 0 ? &below : &above) *= 10.0;
    return value * above / below;
}

static bool finish(const reading *r, const decimal *number, const unit *u, double *value)
{
    double read = u->multiple == 1.0 && u->divisor == 1.0 ? decimal_value(number, u->exponent)
                                                          : rescaled(decimal_value(number, 0), u);
    if (!isfinite(read)) return refuse(r, " is too large to compute with");
    if (read == 0.0 && number->digits[0] != '0') return refuse(r, " is too small to compute with");
    if (u->celsius) {
        read += 273.15;
        if (read < 0.0) return refuse(r, " is below absolute zero");
    }
    *value = read;
    return true;
}

static bool read_text(const reading *r, double *value)
{
    decimal number;
    if (r->length > TEXT_MAX) return refuse(r, " is too long for a quantity");
    size_t at = decimal_scan(r->text, r->length, &number);
    if (at == 0) return no_number(r);
    if (!check_after_number(r, at)) return false;
    const char *rest = r->text + at;
    size_t left = r->length - at;
    unit read = {.multiple = 1.0, .divisor = 1.0};
    trim_blanks(&rest, &left);
    if (left == 0) {
        if (!dimension_none(r->wanted_unit.dimension)) return no_unit(r);
    } else {
        if (!unit_parse(rest, left, &read, NULL, NULL)) return unknown_unit(r, at, rest, left);
        if (!dimension_equal(read.dimension, r->wanted_unit.dimension))
            return wrong_dimension(r, at, &read, rest, left);
    }
    return finish(r, &number, &read, value);
}

bool hl_quantity_read(const char *text, size_t length, const char *wanted, double *value, char *why,
                      size_t size)
{
    PLAIN_FLOAT_STATE;
    reading r = {
        .text = text ? text : "", .length = text ? length : 0, .wanted = wanted, .why = why, .size = size};
    if (size) why[0] = '\0';
    if (!wanted || !unit_parse(wanted, strlen(wanted), &r.wanted_unit, NULL, NULL)) {
        snprintf(why, size, "the unit asked for ('%s') is not one known here", wanted ? wanted : "");
        return false;
    }
    trim_blanks(&r.text, &r.length);
    return read_text(&r, value);
}
