/* marking.c - codes printed on parts: a letter stands where the point would be.
 *
 * source: IEC 60062, marking codes for resistors and capacitors: letters R K M G T for resistance, p n u m F
 * for capacitance, tolerance letters B to N (from memory of its tables).  L for milliohm, the three-figure
 * code (two figures and the number of zeros; in pF, or in uH for inductors) and the same letters on
 * inductors are common practice. */
#include "quantity/marking.h"

#include <stdio.h>
#include <string.h>

#include "quantity/decimal.h"
#include "quantity/excerpt.h"
#include "quantity/float_state.h"
#include "quantity/unit.h"

enum { CODE_MAX = 10 };

typedef enum what { RESISTANCE, CAPACITANCE, INDUCTANCE, WHATS } what;

typedef struct letter {
    const char *text;
    int exponent;
} letter;

/* clang-format off */
static const letter resistance[] = {
    {"R", 0}, {"K", 3}, {"k", 3}, {"M", 6}, {"G", 9}, {"T", 12}, {"L", -3}, {"m", -3},
    {"\xCE\xA9", 0}, {"\xE2\x84\xA6", 0}, {NULL, 0},
};
static const letter capacitance[] = {
    {"p", -12}, {"n", -9}, {"u", -6}, {"\xC2\xB5", -6}, {"\xCE\xBC", -6}, {"m", -3}, {"F", 0}, {NULL, 0},
};
/* On inductors R is the point of a value in microhenry. */
static const letter inductance[] = {
    {"R", -6}, {"n", -9}, {"N", -9}, {"u", -6}, {"\xC2\xB5", -6}, {"\xCE\xBC", -6}, {"m", -3}, {NULL, 0},
};
static const struct { char text; double relative; } tolerances[] = {
    {'B', 0.001}, {'C', 0.0025}, {'D', 0.005}, {'F', 0.01}, {'G', 0.02}, {'H', 0.03}, {'J', 0.05},
    {'K', 0.10}, {'M', 0.20}, {'N', 0.30},
};
static const struct {
    hl_dimension dimension;
    const letter *letters;
    int zeros_of; /* power of ten the three-figure code counts in */
    const char *examples;
} codes[WHATS] = {
    [RESISTANCE]  = {{1, 2, -3, -2, 0}, resistance, 0, "4R7, R15 or 4K7"},
    [CAPACITANCE] = {{-1, -2, 4, 2, 0}, capacitance, -12, "2n2, u47 or 473"},
    [INDUCTANCE]  = {{1, 2, -2, -2, 0}, inductance, -6, "4R7, 10u or 220"},
};
/* clang-format on */

typedef struct code {
    const char *text;
    size_t length;
    what kind;
    char *why;
    size_t size;
} code;

static bool refuse(const code *c, const char *sentence)
{
    excerpt shown = excerpt_of(c->text, c->length);
    snprintf(c->why, c->size, "'%s' %s", shown.text, sentence);
    return false;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static size_t count_digits(const char *text, size_t length)
{
    size_t n = 0;
    while (n < length && is_digit(text[n])) n++;
    return n;
}

static bool read_tolerance(char c, double *relative)
{
    for (size_t i = 0; i < sizeof tolerances / sizeof *tolerances; i++) {
        if (tolerances[i].text != c) continue;
        *relative = tolerances[i].relative;
        return true;
    }
    return false;
}

static const letter *letter_at(what kind, const char *text, size_t length)
{
    for (const letter *l = codes[kind].letters; l->text; l++) {
        size_t n = strlen(l->text);
        if (n <= length && memcmp(l->text, text, n) == 0) return l;
    }
    return NULL;
}

/* "4R7", "R15", "33n": figures, the letter in place of the point, figures. */
static bool read_letter_code(const code *c, size_t before, const letter *point, double *value)
{
    char digits[2 * CODE_MAX + 2];
    size_t skip = before + strlen(point->text), after = c->length - skip;
    if (before + after == 0) return refuse(c, "has no figures");
    int n = snprintf(digits, sizeof digits, "%.*s.%.*s", (int)before, c->text, (int)after, c->text + skip);
    decimal number;
    if (decimal_scan(digits, (size_t)n, &number) != (size_t)n) return refuse(c, "is not a marking code");
    *value = decimal_value(&number, point->exponent);
    return true;
}

/* "473": two figures and the number of zeros; 9 stands for one tenth on capacitors. */
static bool read_figures(const code *c, double *value)
{
    decimal number;
    if (c->kind == RESISTANCE)
        return refuse(c, "can mean two values: three figures may be two and the number of zeros; write "
                         "47R or 470R, or give value: with its unit");
    int zeros = c->length == 3 ? c->text[2] - '0' : 0;
    if (c->length > 3) return refuse(c, "is too long for the three-figure code; give value: with its unit");
    if (zeros == 9 && c->kind == CAPACITANCE) zeros = -1;
    if (zeros > 7) return refuse(c, "ends in a number of zeros that no part has");
    decimal_scan(c->text, c->length == 3 ? 2 : c->length, &number);
    *value = decimal_value(&number, codes[c->kind].zeros_of + zeros);
    return true;
}

static bool read_code(code *c, double *value, double *tolerance)
{
    char expected[128];
    snprintf(expected, sizeof expected, "is not a marking code here; expected is one like %s",
             codes[c->kind].examples);
    size_t before = count_digits(c->text, c->length);
    if (c->length > CODE_MAX || c->length == 0) return refuse(c, expected);
    if (before == c->length) return read_figures(c, value);
    const letter *point = letter_at(c->kind, c->text + before, c->length - before);
    size_t skip = point ? before + strlen(point->text) : before;
    size_t after = count_digits(c->text + skip, c->length - skip), end = skip + after;
    if (end + 1 == c->length && before + after > 0 && read_tolerance(c->text[end], tolerance))
        c->length = end;
    if (point && end == c->length) return read_letter_code(c, before, point, value);
    if (!point && before == c->length && before > 0) return read_figures(c, value);
    return refuse(c, expected);
}

/* The kind of part whose values have this dimension; WHATS when no code is in use for it. */
static what kind_of(hl_dimension dimension)
{
    what kind = 0;
    while (kind < WHATS && !dimension_equal(codes[kind].dimension, dimension)) kind++;
    return kind;
}

bool marking_code(const char *text, size_t length, const unit *wanted, double *value, double *tolerance,
                  char *why, size_t size)
{
    code c = {text, length, kind_of(wanted->dimension), why, size};
    *tolerance = 0.0;
    trim_blanks(&c.text, &c.length);
    return c.kind == WHATS ? refuse(&c, "is no code known for this unit") : read_code(&c, value, tolerance);
}

bool marking_read(const char *text, size_t length, const char *wanted, double *value, double *tolerance,
                  char *why, size_t size)
{
    unit u;
    char unread[8];
    *tolerance = 0.0;
    if (!text) text = "", length = 0;
    bool known = wanted && unit_parse(wanted, strlen(wanted), &u, NULL, NULL);
    if (!known || kind_of(u.dimension) == WHATS) /* "275 V" as printed on the body */
        return hl_quantity_read(text, length, wanted, value, why, size);
    if (size) why[0] = '\0';
    if (hl_quantity_read(text, length, wanted, value, unread, sizeof unread)) return true;
    return marking_code(text, length, &u, value, tolerance, why, size);
}

bool hl_marking_read(const char *text, size_t length, const char *wanted, double *value, char *why,
                     size_t size)
{
    PLAIN_FLOAT_STATE;
    double tolerance;
    return marking_read(text, length, wanted, value, &tolerance, why, size);
}
